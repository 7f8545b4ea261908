//! What photos of the empty card say about its print.

use jiff::civil::Date;

use super::{Enrolment, Origin, PatchColour, digits, lab_of, mean_and_scatter};
use crate::card::{self, CardNumber, Layout};
use crate::colour::delta_e_2000;
use crate::finding::{Code, Finding, Severity};
use crate::light::scene::{Reference, Scene};
use crate::light::solve::median;
use crate::photo::Photo;

/// Share of the bay's paper that may lie off the even light on an empty card. Empty cards in trials: none at all; the
/// narrowest thing that matters, a strip, covers 4 %, a vial 18 %.
const OCCUPIED: f64 = 0.01;
/// How far (ln units) such paper is off: shadows and tints of vials are farther, grain and ripples nearer.
const OFF_LIGHT: f64 = 0.06;
/// Light may fall this much (ln units) over the card. In open shade it is below 0.1, beside a window 0.2.
const SLOPE: f64 = 0.35;
/// Mean ΔE00 of left-out patches against the nominal colours above which it is no print of this layout in plain light:
/// poor printers in trials reach 4, two lights of different colour 7 to 10.
const NOT_THIS_CARD: f64 = 6.0;
/// Photos of one card agree within 0.3 to 0.6 (mean ΔE00) in trials; more than this is another card, or not shade.
const DISAGREE: f64 = 1.5;
/// A patch this far (ΔE00) from the middle of three or more photos was hidden or glared in that one.
const ASTRAY: f64 = 3.0;

/// See [`Enrolment::from_photos`].
pub(super) fn enrol(
    photos: &[Photo],
    layout: &Layout,
    number: Option<CardNumber>,
    date: Date,
) -> Result<(Enrolment, Vec<Finding>), Vec<Finding>> {
    let (mut views, mut notes, mut refused) = (Vec::<View>::new(), Vec::new(), Vec::new());
    for (i, photo) in photos.iter().enumerate() {
        if let Some(first) = views.iter().find(|v| v.id == photo.id()) {
            let sentence = format!("Photo {} is the same as photo {}; it counts once.", i + 1, first.place);
            notes.push(Finding::note(Code::EnrolFewPhotos, sentence));
            continue;
        }
        match View::of(photo, layout, i + 1) {
            Ok((view, seen)) => {
                views.push(view);
                notes.extend(seen);
            }
            Err(why) => refused.extend(why),
        }
    }
    let number = match one_number(&views, number) {
        Ok(number) => number,
        Err(why) => {
            refused.push(why);
            None
        }
    };
    if photos.is_empty() {
        refused.push(Finding::doubt(Code::EnrolFewPhotos, "No photo of the card was given."));
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    notes.extend(agreement(&mut views));
    let patches: Vec<PatchColour> = layout
        .patches
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let seen: Vec<[f64; 3]> = views.iter().map(|v| v.colours[i]).collect();
            let (colour, scatter) = middle(&seen);
            PatchColour { name: p.name.clone(), colour: colour.map(digits), scatter }
        })
        .collect();
    let photos = views.iter().map(|v| v.id.clone()).collect();
    let card = Enrolment {
        layout: layout.layout,
        number,
        date,
        note: None,
        origin: Origin::Photos,
        photos,
        paper: None,
        patches,
    };
    // A colour that no print has (a grey without light, say) would make a file that cannot be read.
    if let Err(e) = card.reference(layout).and_then(|_| Enrolment::from_toml(&card.to_toml())) {
        return Err(vec![Finding::doubt(Code::LightPatchesOdd, format!("{}.", capital(&e.to_string())))]);
    }
    Ok((card, notes))
}

/// What one photo says about the card.
struct View {
    place: usize,
    id: String,
    number: Option<u32>,
    colours: Vec<[f64; 3]>,
}

impl View {
    fn of(photo: &Photo, layout: &Layout, place: usize) -> Result<(Self, Vec<Finding>), Vec<Finding>> {
        let named = |mut f: Finding| {
            f.sentence = format!("Photo {place}: {}", f.sentence);
            f
        };
        let all = |v: Vec<Finding>| v.into_iter().map(named).collect::<Vec<_>>();
        let card = card::find(photo, layout).map_err(all)?;
        let scene = Scene::fit(photo, layout, &card, &Reference::nominal(layout)).map_err(all)?;
        let mut seen: Vec<Finding> = card.findings.iter().chain(&scene.findings).cloned().collect();
        // A reading does without a clipped patch; an enrolment is to know every one.
        let clipped =
            |f: &mut Finding| f.severity = if f.code == Code::LightClipped { Severity::Doubt } else { f.severity };
        seen.iter_mut().for_each(clipped);
        seen.extend(unfit(&scene, layout, &card));
        if seen.iter().any(|f| f.severity == Severity::Doubt) {
            seen.retain(|f| f.severity == Severity::Doubt);
            return Err(all(seen));
        }
        let colours = scene.straight.iter().map(|s| scene.correction.apply(*s).0).collect();
        Ok((Self { place, id: photo.id().to_string(), number: card.number(), colours }, all(seen)))
    }
}

/// What bars an enrolment though a reading might live with it.
fn unfit(scene: &Scene, layout: &Layout, card: &card::Card) -> Vec<Finding> {
    let mut out = Vec::new();
    let bay = layout.bay;
    let inside = |[x, y]: [f64; 2]| bay.x < x && x < bay.x + bay.w && bay.y < y && y < bay.y + bay.h;
    let off: Vec<bool> = scene
        .paper
        .iter()
        .filter(|a| inside(a.at))
        .map(|a| !a.rgb.iter().all(|v| *v > 1e-4) || scene.field.distance(a) > OFF_LIGHT)
        .collect();
    let share = off.iter().filter(|o| **o).count() as f64 / off.len().max(1) as f64;
    let labels = card.others.iter().filter(|s| CardNumber::from_id(s.id).is_none()).count();
    if share > OCCUPIED || labels > 0 {
        let sentence = if labels > 0 {
            "A label lies on the card.".to_string()
        } else {
            format!("On {:.0} % of the bay the paper is hidden, tinted or shaded.", (100.0 * share).max(1.0))
        };
        out.push(Finding::doubt(Code::EnrolNotEmpty, sentence));
    }
    let slope = scene.field.slopes().iter().flatten().fold(0.0f64, |a, s| a.max(s.abs()));
    if slope > SLOPE {
        let sentence = format!("The light falls by {:.0} % from one edge of the card to the other.", fall(slope));
        out.push(Finding::doubt(Code::LightUneven, sentence));
    }
    if scene.correction.left_out > NOT_THIS_CARD {
        let sentence = format!("The patches lie ΔE00 {:.1} off the colours of this layout.", scene.correction.left_out);
        out.push(Finding::doubt(Code::LightPatchesOdd, sentence));
    }
    out
}

/// Per cent lost over a slope of ln units.
fn fall(slope: f64) -> f64 {
    100.0 * (1.0 - (-slope).exp())
}

/// The print's number as given and as seen, if they are one.
fn one_number(views: &[View], given: Option<CardNumber>) -> Result<Option<CardNumber>, Finding> {
    let mut known = given.map(|n| (n.get(), "The number given is".to_string()));
    for v in views {
        match (&known, v.number) {
            (Some((n, said)), Some(seen)) if *n != seen => {
                let sentence = format!("{said} {n}, but photo {} shows card {seen}.", v.place);
                return Err(Finding::doubt(Code::CardNumberOther, sentence));
            }
            (None, Some(seen)) => known = Some((seen, format!("Photo {} shows card", v.place))),
            _ => {}
        }
    }
    Ok(known.and_then(|(n, _)| CardNumber::new(n)))
}

/// Mean of one patch over the photos and the standard deviation of one photo about it, ΔE00. With three or more, a photo
/// that is far from the middle does not count.
fn middle(seen: &[[f64; 3]]) -> ([f64; 3], Option<f64>) {
    let mut kept: Vec<[f64; 3]> = seen.to_vec();
    if seen.len() >= 3 {
        let centre = [0, 1, 2].map(|c| median(&seen.iter().map(|s| s[c]).collect::<Vec<_>>()));
        kept.retain(|s| delta_e_2000(lab_of(*s), lab_of(centre)) <= ASTRAY);
        if kept.len() < 2 {
            kept = vec![centre];
        }
    }
    mean_and_scatter(&kept)
}

/// Whether there are enough photos to tell and whether they agree. While two others are left, one that disagrees is taken out.
fn agreement(views: &mut Vec<View>) -> Vec<Finding> {
    if views.len() < 2 {
        let sentence = "One photo enrolled the card; whether it is right cannot be seen without a second one.";
        return vec![Finding::note(Code::EnrolFewPhotos, sentence)];
    }
    let mut out = Vec::new();
    loop {
        let off: Vec<f64> = views.iter().map(|v| apart(v, views)).collect();
        let worst = (0..off.len()).max_by(|a, b| off[*a].total_cmp(&off[*b])).unwrap_or(0);
        if off[worst] <= DISAGREE {
            return out;
        }
        let (place, by) = (views[worst].place, off[worst]);
        if views.len() == 2 {
            let sentence = format!("Two photos disagree by ΔE00 {by:.1} on average, and nothing tells which is right.");
            out.push(Finding::doubt(Code::EnrolDisagree, sentence));
            return out;
        }
        let sentence = format!("Photo {place} disagrees with the others by ΔE00 {by:.1} on average and was left out.");
        out.push(Finding::note(Code::EnrolDisagree, sentence));
        views.remove(worst);
    }
}

/// Mean ΔE00 of a photo's patches from the middle of the others.
fn apart(one: &View, all: &[View]) -> f64 {
    let others: Vec<&View> = all.iter().filter(|v| v.place != one.place).collect();
    let each = one.colours.iter().enumerate().map(|(i, c)| {
        let rest = [0, 1, 2].map(|k| others.iter().map(|v| v.colours[i][k]).sum::<f64>() / others.len() as f64);
        delta_e_2000(lab_of(*c), lab_of(rest))
    });
    each.sum::<f64>() / one.colours.len().max(1) as f64
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}
