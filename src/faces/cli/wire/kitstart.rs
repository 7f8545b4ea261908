//! What a kit needs next.

use super::Document;
use super::kit::KitLine;
use crate::curve::Kit;
use crate::faces::cli::words::short;
use crate::intake::{Kept, Step};
use serde::Serialize;
use std::io::{self, Write};

/// `kit start`.
#[derive(Debug, Serialize)]
pub struct KitStarted {
    pub kit: KitLine,
    /// First things first; empty when the kit needs nothing more.
    pub steps: Vec<StepOut>,
    #[serde(skip)]
    made: bool,
}

/// One step.
#[derive(Debug, Serialize)]
pub struct StepOut {
    /// `enrol`, `shades`, `zero` or `standard`.
    pub step: &'static str,
    /// The test; null for the card.
    pub test: Option<String>,
    /// What to do.
    pub sentence: String,
    /// What to type then.
    pub command: String,
}

impl KitStarted {
    pub(in crate::faces::cli) fn of(kit: &Kept<Kit>, steps: &[Step], made: bool) -> Self {
        let name = &kit.name;
        let out = |step: &Step| match step {
            Step::Enrol => StepOut {
                step: "enrol",
                test: None,
                sentence: "Print the card and photograph it empty in open shade, two or three times. Do it before the \
                           shades: colours in a kit belong to a card. (Without it the card's nominal colours serve.)"
                    .into(),
                command: "tintline card enrol PHOTO PHOTO".into(),
            },
            Step::Shades { test } => StepOut {
                step: "shades",
                test: Some(test.clone()),
                sentence: format!(
                    "Lay the card flat and the maker's printed shades of {test} alone in its bay, take a photo from above, \
                     and name their numbers from left to right as they lie."
                ),
                command: format!("tintline kit shades {name} '{test}' 0,1,2 --photo PHOTO"),
            },
            Step::Zero { test } => StepOut {
                step: "zero",
                test: Some(test.clone()),
                sentence: format!(
                    "Do the test {test} with de-ionised water, stand the vial at B and take a photo. Until then 'not detected' \
                     is never said."
                ),
                command: format!("tintline kit add {name} 'B={test}:0' --photo PHOTO"),
            },
            Step::Upper { test, value, unit } => StepOut {
                step: "standard",
                test: Some(test.clone()),
                sentence: format!(
                    "If you can get one standard of {test}, about {value} {unit} serves best: intervals get much narrower."
                ),
                command: format!("tintline kit add {name} 'B={test}:{value}' --photo PHOTO"),
            },
        };
        Self { kit: KitLine::of(kit), steps: steps.iter().map(out).collect(), made }
    }
}

impl Document for KitStarted {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let name = &self.kit.name;
        let tests: Vec<&str> = self.kit.tests.iter().map(|t| t.name.as_str()).collect();
        let did = if self.made { "Made the kit" } else { "The kit" };
        writeln!(out, "{did} '{name}' ({}). Revision {}.", tests.join(", "), short(&self.kit.revision))?;
        if self.steps.is_empty() {
            return writeln!(
                out,
                "It needs nothing more. More standards make it better; check it: tintline kit check {name}\n\
                 Read with it: tintline read PHOTO 'B={}'",
                tests.first().copied().unwrap_or("TEST")
            );
        }
        writeln!(out, "Next, in this order:")?;
        for (i, step) in self.steps.iter().enumerate() {
            writeln!(out, "  {}. {}\n     {}", i + 1, step.sentence, step.command)?;
        }
        writeln!(out, "What is left: tintline kit start {name}")
    }
}
