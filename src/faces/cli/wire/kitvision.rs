//! Which shades of a kit look alike, to whom.

use super::Document;
use super::kit::KitLine;
use crate::colour::{Deficiency, Lab};
use crate::curve::Kit;
use crate::curve::vision::{ALIKE, Pair, Shade};
use crate::faces::cli::words::columns;
use crate::intake::Kept;
use serde::Serialize;
use std::io::{self, Write};

/// `kit check --vision`.
#[derive(Debug, Serialize)]
pub struct KitVision {
    pub kit: KitLine,
    /// Shades nearer to one another than this (ΔE00) count as alike.
    pub alike_below: f64,
    pub tests: Vec<VisionOut>,
    /// The picture that was drawn.
    pub picture: Option<String>,
}

/// A test's shades.
#[derive(Debug, Serialize)]
pub struct VisionOut {
    pub test: String,
    pub unit: String,
    pub shades: Vec<ShadeOut>,
    /// All neighbours, and other shades that look alike to some.
    pub pairs: Vec<PairOut>,
}

/// A shade.
#[derive(Debug, Serialize)]
pub struct ShadeOut {
    pub value: f64,
    pub lab: [f64; 3],
    /// Its colour in words.
    pub colour: String,
}

/// Two shades: how far apart (ΔE00) to the usual eye and with each deficiency at its full strength.
#[derive(Debug, Serialize)]
pub struct PairOut {
    pub from: f64,
    pub to: f64,
    pub neighbours: bool,
    pub usual: f64,
    pub protan: f64,
    pub deutan: f64,
    pub tritan: f64,
    /// To whom they look alike: `usual`, `protan`, `deutan`, `tritan`.
    pub alike_to: Vec<&'static str>,
}

impl KitVision {
    pub(in crate::faces::cli) fn of(
        kit: &Kept<Kit>,
        seen: &[(Vec<Shade>, Vec<Pair>)],
        picture: Option<String>,
    ) -> Self {
        let test = |(test, (shades, pairs)): (&crate::curve::Test, &(Vec<Shade>, Vec<Pair>))| VisionOut {
            test: test.name.clone(),
            unit: test.unit.to_string(),
            shades: shades.iter().map(shade).collect(),
            pairs: pairs.iter().map(pair).collect(),
        };
        let tests = kit.value.tests.iter().zip(seen).map(test).collect();
        Self { kit: KitLine::of(kit), alike_below: ALIKE, tests, picture }
    }
}

fn shade(s: &Shade) -> ShadeOut {
    let Lab(lab) = s.lab;
    ShadeOut { value: s.value, lab, colour: s.words.clone() }
}

fn pair(p: &Pair) -> PairOut {
    let [protan, deutan, tritan] = p.seen;
    let eyes = [
        ("usual", None),
        ("protan", Some(Deficiency::Protan)),
        ("deutan", Some(Deficiency::Deutan)),
        ("tritan", Some(Deficiency::Tritan)),
    ];
    PairOut {
        from: p.from,
        to: p.to,
        neighbours: p.neighbours,
        usual: p.usual,
        protan,
        deutan,
        tritan,
        alike_to: eyes.into_iter().filter(|(_, kind)| p.alike(*kind)).map(|(name, _)| name).collect(),
    }
}

impl Document for KitVision {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        for t in &self.tests {
            writeln!(out, "{} ({})", t.test, t.unit)?;
            let row = |(i, s): (usize, &ShadeOut)| vec![format!("{}.", i + 1), s.value.to_string(), s.colour.clone()];
            columns(out, "  ", t.shades.iter().enumerate().map(row).collect())?;
            let whom = |p: &PairOut| match &p.alike_to[..] {
                [] => "told apart by all".to_string(),
                all if all.contains(&"usual") => "look alike to everybody".to_string(),
                some => format!("look alike to {} eyes", some.join(", ")),
            };
            let row = |p: &PairOut| {
                let apart = format!(
                    "usual {:.1}, protan {:.1}, deutan {:.1}, tritan {:.1}",
                    p.usual, p.protan, p.deutan, p.tritan
                );
                vec![format!("{} and {}", p.from, p.to), whom(p), apart]
            };
            columns(out, "  ", t.pairs.iter().map(row).collect())?;
            if t.shades.len() < 2 {
                writeln!(out, "  fewer than two shades yet")?;
            }
        }
        writeln!(
            out,
            "Numbers are differences in ΔE00 as each kind of eye sees them; what is less than {ALIKE} apart is not told apart \
             between a vial and its shade. The photo tells all of them apart: no step needs your eye."
        )?;
        self.picture.iter().try_for_each(|p| writeln!(out, "Picture: {p}"))
    }
}
