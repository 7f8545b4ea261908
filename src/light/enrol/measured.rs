//! A print's colours as measured with an instrument.

use jiff::civil::Date;

use super::{Enrolment, Origin, PatchColour, digits, lab_of, mean_and_scatter};
use crate::card::Layout;
use crate::colour::{Adaptation, Method, Srgb, White, Xyz};
use crate::colour::{delta_e_2000, lab_from_linear, lab_from_xyz, linear_from_srgb, linear_from_xyz};
use crate::finding::{Code, Finding};
use crate::light::cgats::{CgatsError, Table};

/// Prints in trials lie ΔE00 1 to 6 from the nominal colours, relative to their paper; patches in another order 30 and more.
const NOT_THIS_CARD: f64 = 18.0;

/// See [`Enrolment::from_cgats`].
pub(super) fn enrol(text: &str, layout: &Layout, date: Date) -> Result<(Enrolment, Vec<Finding>), CgatsError> {
    let table = Table::read(text)?;
    let rows = table.colours()?;
    let of = |wanted: &dyn Fn(&str) -> bool| -> Vec<Xyz> {
        rows.iter().filter(|(names, _)| names.iter().any(|n| wanted(n))).map(|(_, c)| *c).collect()
    };
    let papers = of(&|n| ["paper", "white", "substrate"].iter().any(|p| n.eq_ignore_ascii_case(p)));
    let mut notes = Vec::new();
    let paper = mean(&papers);
    if paper.is_none() {
        let sentence = "No row is named after the bare paper; the values are taken as relative to it already.";
        notes.push(Finding::note(Code::EnrolNoPaper, sentence));
    }
    if paper.is_some_and(|p| !(p.0.iter().all(|v| *v > 0.05) && p.0[1] < 1.5)) {
        return Err(CgatsError::Colour { name: "paper".into() });
    }
    let white = paper.unwrap_or(table.white.xyz());
    let [x, y, z] = white.0;
    let sum = x + y + z;
    let adapt = Adaptation::new(Method::Bradford, White::from_xy(x / sum, y / sum), White::D65);
    let relative = |c: Xyz| linear_from_xyz(adapt.apply(Xyz(c.0.map(|v| v / y)))).0;

    let (mut patches, mut missing) = (Vec::new(), Vec::new());
    for p in &layout.patches {
        let seen: Vec<[f64; 3]> = of(&|n| n.eq_ignore_ascii_case(&p.name)).into_iter().map(relative).collect();
        if seen.is_empty() {
            missing.push(p.name.clone());
            continue;
        }
        if !seen.iter().flatten().all(|v| (-0.5..=2.0).contains(v)) {
            return Err(CgatsError::Colour { name: p.name.clone() });
        }
        let (colour, scatter) = mean_and_scatter(&seen);
        patches.push(PatchColour { name: p.name.clone(), colour: colour.map(digits), scatter });
    }
    if !missing.is_empty() {
        return Err(CgatsError::Missing { patches: missing });
    }
    let off = layout.patches.iter().zip(&patches).map(|(p, own)| {
        let nominal = linear_from_srgb(Srgb(p.srgb.map(|v| f64::from(v) / 255.0)));
        delta_e_2000(lab_from_linear(nominal), lab_of(own.colour))
    });
    let off = off.sum::<f64>() / layout.patches.len() as f64;
    if off > NOT_THIS_CARD {
        return Err(CgatsError::NotThisCard { off });
    }
    let to_d65 = Adaptation::new(Method::Bradford, table.white, White::D65);
    let paper = paper.map(|p| lab_from_xyz(to_d65.apply(p)).0.map(digits));
    let (number, note, origin, photos) = (None, None, Origin::Measured, Vec::new());
    let card = Enrolment { layout: layout.layout, number, date, note, origin, photos, paper, patches };
    card.reference(layout)?;
    Ok((card, notes))
}

fn mean(colours: &[Xyz]) -> Option<Xyz> {
    let n = colours.len() as f64;
    (n > 0.0).then(|| Xyz([0, 1, 2].map(|i| colours.iter().map(|c| c.0[i]).sum::<f64>() / n)))
}
