//! What a photo shows: which test and which water stand at which station.

use crate::curve::Kit;
use crate::finding::Code;
use crate::log::{Reading, Target};
use crate::reading::{Ask, clear_station};

/// What a photo shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// What stands where, each station once.
    pub asks: Vec<Ask>,
    /// The water of each of `asks`, in their order.
    pub waters: Vec<Water>,
    /// The station of the clear vial: the samples' own water without reagent, on which they are zeroed.
    pub clear: Option<String>,
    /// Whether labels said which water stands where: then a photo may show several tanks.
    pub labelled: bool,
}

/// Which water a sample is of.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// Whose it is.
    pub target: Target,
    /// Which standard, which other water.
    pub label: Option<String>,
}

impl Water {
    /// A water that needs no more words.
    pub fn of(target: Target) -> Self {
        Self { target, label: None }
    }
}

impl Named {
    /// Samples all of one water.
    pub fn all_of(target: Target, asks: Vec<Ask>) -> Self {
        let waters = asks.iter().map(|_| Water::of(target)).collect();
        Self { asks, waters, clear: None, labelled: false }
    }

    /// The water at a station. What no ask names, such as a strip's further pads, is of the first ask's water.
    pub fn water(&self, station: &str) -> Option<&Water> {
        let here = self.asks.iter().position(|a| a.station == station).unwrap_or(0);
        self.waters.get(here)
    }

    /// The one water of all samples; None where there are several.
    pub fn target(&self) -> Option<Target> {
        let first = self.waters.first()?.target;
        self.waters.iter().all(|w| w.target == first).then_some(first)
    }

    /// What the log says about a photo: the readings of it that stand. A test that the kit no longer has is left out.
    pub(super) fn logged(standing: &[Reading], kit: &Kit) -> Option<Self> {
        let ask = |r: &Reading| {
            let own = kit.tests.iter().find(|t| t.name == r.test.name);
            let test = own.or_else(|| kit.tests.iter().find(|t| t.analyte == r.test.analyte))?;
            let ask = Ask { station: r.station.clone()?, test: test.name.clone(), dilution: r.dilution };
            Some((ask, Water { target: r.sample.target, label: r.sample.label.clone() }))
        };
        let (asks, waters): (Vec<Ask>, Vec<Water>) = standing.iter().filter_map(ask).unzip();
        let several = waters.windows(2).any(|w| w[0].target != w[1].target);
        let used = standing.iter().flat_map(|r| &r.findings).filter(|f| f.known() == Some(Code::ClearUsed));
        let clear = used.filter_map(|f| clear_station(&f.sentence)).next().map(str::to_string);
        if asks.is_empty() { None } else { Some(Self { asks, waters, clear, labelled: several }) }
    }

    /// A station whose logged water is another one, with that reading. A photo without target labels is of one water.
    pub(super) fn contradicted<'r>(&self, standing: &'r [Reading]) -> Option<&'r Reading> {
        let differs = |r: &&Reading| {
            let named = r.station.as_ref().and_then(|s| self.asks.iter().position(|a| a.station == *s));
            match named {
                Some(i) => self.waters[i].target != r.sample.target,
                None => !self.labelled && self.waters.iter().any(|w| w.target != r.sample.target),
            }
        };
        standing.iter().find(differs)
    }
}
