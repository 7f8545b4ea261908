//! What every answer has: its numbers, its formulas, its words.

use super::super::rules::Rule;
use super::super::statement::Statement;
use crate::water::{Span, significant};
use jiff::Timestamp;

/// Where a number comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Origin {
    /// The request.
    Given,
    /// An entry of the log.
    Log {
        /// The entry.
        entry: String,
        /// When.
        at: Timestamp,
    },
    /// What was stated of the tank.
    Stated,
    /// Nobody said: the range that such tanks have.
    Assumed,
    /// The plan.
    Computed,
}

/// A number that went in or came out, with its bounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Stable text form, such as `ammonia-present`.
    pub name: &'static str,
    /// Bounds and best value.
    pub span: Span,
    /// Unit with its basis; empty for pH and counts.
    pub unit: &'static str,
    /// Where it comes from.
    pub origin: Origin,
}

impl Figure {
    pub(super) fn new(name: &'static str, span: Span, unit: &'static str, origin: Origin) -> Self {
        Self { name, span, unit, origin }
    }

    pub(super) fn given(name: &'static str, value: f64, unit: &'static str) -> Self {
        Self::new(name, Span::exact(value), unit, Origin::Given)
    }

    pub(super) fn out(name: &'static str, span: Span, unit: &'static str) -> Self {
        Self::new(name, span, unit, Origin::Computed)
    }

    /// The number with its bounds and unit, in words.
    pub fn words(&self) -> String {
        format!("{} {}", bounds(&self.span), self.unit).trim_end().to_string()
    }
}

/// Bounds in words: `1.8`, `1.8 (1.6 to 2)`, `at most 0.25`, `2 or more`.
pub(super) fn bounds(span: &Span) -> String {
    let n = |x: f64| significant(x, 3);
    match (span.best, span.is_open()) {
        (_, true) => format!("{} or more", n(span.low)),
        // What is alike in three digits is one number.
        (_, _) if n(span.low) == n(span.high) => n(span.middle()),
        (Some(b), _) => format!("{} ({} to {})", n(b), n(span.low), n(span.high)),
        (None, _) if span.low == 0.0 => format!("at most {}", n(span.high)),
        (None, _) => format!("{} to {}", n(span.low), n(span.high)),
    }
}

/// A formula that was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Formula {
    /// With its symbols explained.
    pub text: &'static str,
    /// Where it is from.
    pub source: &'static str,
}

/// What an answer says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Said {
    /// All that went in, repeated.
    pub inputs: Vec<Figure>,
    /// What comes out.
    pub results: Vec<Figure>,
    /// The answer in plain words, each sentence with its rule.
    pub answer: Vec<Statement>,
    /// What cannot be known from the log and the request.
    pub unknown: Vec<Statement>,
    /// Cautions.
    pub cautions: Vec<Statement>,
    /// How it was worked out.
    pub formulas: Vec<Formula>,
}

impl Said {
    pub(super) fn answer(&mut self, rule: Rule, words: impl Into<String>) {
        self.answer.push(Statement::new(rule, words));
    }

    pub(super) fn unknown(&mut self, rule: Rule, words: impl Into<String>) {
        self.unknown.push(Statement::new(rule, words));
    }

    pub(super) fn caution(&mut self, rule: Rule, words: impl Into<String>) {
        self.cautions.push(Statement::new(rule, words));
    }

    /// The result of a name.
    pub fn result(&self, name: &str) -> Option<&Figure> {
        self.results.iter().find(|f| f.name == name)
    }

    /// The input of a name.
    pub fn input(&self, name: &str) -> Option<&Figure> {
        self.inputs.iter().find(|f| f.name == name)
    }
}

/// The formulas, once each.
pub(super) mod formulas {
    use super::Formula;

    const MOLAR: &str = "molar masses from the standard atomic weights of IUPAC";

    pub(crate) const SOLUTION: Formula = Formula {
        text: "mL = c · (M(NH3) / M(basis)) · litres / (1000 · w · ρ): c mg/L to add, w share of NH3 by weight, ρ density in g/mL; \
               w · ρ is the label's share where it is by volume",
        source: "mass balance; molar masses from the standard atomic weights of IUPAC; density after printed tables",
    };
    pub(crate) const CHLORIDE: Formula = Formula {
        text: "g = c · (M(NH4Cl) / M(basis)) · litres / 1000: 3.819 mg NH4Cl for each mg N",
        source: MOLAR,
    };
    pub(crate) const NITRIFIED: Formula = Formula {
        text: "1 mg N oxidised uses 7.14 mg CaCO3 (0.40 German degree a mg/L) and 4.57 mg O2, and leaves 4.43 mg NO3-; ammonia \
               solution brings half of the alkalinity back",
        source: "stoichiometry of NH4+ → NO2- → NO3-, without growth of cells",
    };
    pub(crate) const CHANGE: Formula = Formula {
        text: "after = before · (1 − f) + new · f; share needed f = (before − target) / (before − new)",
        source: "mass balance",
    };
    pub(crate) const ROUTINE: Formula = Formula {
        text: "before each change new + P/f, after it new + P · (1 − f)/f: P rise between changes, f share changed",
        source: "mass balance, sum of a geometric series",
    };
    pub(crate) const FREE: Formula = Formula {
        text: "free = total / (1 + 10^(pKa − pH)), pKa = 0.09018 + 2729.92/T + 0.003071 · S: T in kelvin, S in g/kg",
        source: "Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379; salt term Bell et al. 2007, Environ. Chem. 4:183",
    };
    pub(crate) const PH: Formula = Formula {
        text: "pH after a change: alkalinity and dissolved carbon mix in proportion; hours later pH + log10(alkalinity after / before)",
        source: "carbonic acid, constants of Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011",
    };
    pub(crate) const CHLORAMINE: Formula =
        Formula { text: "0.1975 mg N for each mg/L of chloramine as Cl2", source: "stoichiometry of NH2Cl" };
    pub(crate) const FOOD: Formula = Formula {
        text: "mg N a day = 92 · grams of food a day · share of protein, ± 30 %",
        source: "Timmons & Ebeling, Recirculating Aquaculture (cited)",
    };
    pub(crate) const MASS: Formula = Formula {
        text: "grams of a fish = a · cm³, a 0.0134 (0.008 to 0.025)",
        source: "cube law, Froese 2006, J. Appl. Ichthyol. 22:241 (from memory)",
    };
    pub(crate) const SHOWN: Formula = Formula {
        text: "mg N a day shown ≥ (dose − what may be left of ammonia and nitrite, as N) · litres · 24 / hours",
        source: "mass balance of a dose that was tested",
    };
}
