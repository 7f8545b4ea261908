//! Ammonia for a cycle without animals.

use super::super::book::{Animals, Book, Happened, Kind, hours};
use super::super::evidence::{Evidence, shows_some};
use super::super::rules::{LOW_ALKALINITY, MOST_AMMONIA, MOST_NITRITE, Rule};
use super::super::statement::{Statement, age};
use super::error::PlanError;
use super::level::{Given, Look};
use super::said::{Figure, Said, bounds, formulas};
use crate::water::{
    NitrogenSource, Quantity, Span, Species, Strength, Unit, ammonia_of_chloride, ammonia_of_solution,
    ammonia_solution_ml, ammonium_chloride_g, nitrified, significant, stock_ml,
};
use jiff::Timestamp;

/// What the per cent of an ammonia solution are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Percent {
    /// Grams NH₃ in 100 g.
    ByWeight,
    /// Grams NH₃ in 100 mL.
    ByVolume,
    /// The label does not say: counted as whichever brings more.
    NotSaid,
}

/// What ammonia is dosed with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Product {
    /// Ammonia in water, nothing else.
    Solution {
        /// The label's per cent.
        percent: f64,
        /// Of what.
        of: Percent,
        /// g/mL, where the label says it; else after printed tables.
        density: Option<f64>,
    },
    /// Dry ammonium chloride, to be weighed.
    Chloride,
    /// Ammonium chloride dissolved before, so many grams in a litre of the solution.
    Stock {
        /// g/L.
        g_l: f64,
    },
}

/// What to dose to.
#[derive(Debug, Clone, PartialEq)]
pub struct DoseRequest {
    /// What the tank shall have, in any unit of ammonia with its basis.
    pub target: Quantity,
    /// What with.
    pub product: Product,
    /// Litres of water, else those of the tank.
    pub litres: Option<f64>,
    /// What the tank has now, where the log shall not be asked.
    pub now: Given,
}

/// A dose.
#[derive(Debug, Clone, PartialEq)]
pub struct DosePlan {
    /// How much of the product.
    pub amount: f64,
    /// `mL` or `g`.
    pub unit: &'static str,
    /// mg/L NH₃-N that it brings.
    pub adds: Span,
    /// mg/L NH₃-N in the tank afterwards.
    pub after: Span,
    /// The rest.
    pub said: Said,
}

const N: &str = "mg/L NH3-N";

/// How much to dose now. The upper bound of what the tank has counts, so that the target is never passed. Refused with animals, with
/// animals nobody spoke of, above 5 mg/L NH₃-N, and while nitrite may be above 16.4 mg/L.
pub fn dose(book: &Book, request: &DoseRequest, now: Timestamp) -> Result<DosePlan, PlanError> {
    let look = Look::at(book, now);
    let tank = || look.book.facts.name.clone();
    match look.book.animals(now) {
        Animals::None => {}
        Animals::Present => return Err(PlanError::Animals { tank: tank() }),
        Animals::Unknown => return Err(PlanError::AnimalsUnknown { tank: tank() }),
    }
    let target = as_nitrogen(&request.target);
    if target > MOST_AMMONIA * (1.0 + 1e-9) {
        return Err(PlanError::TooMuch { asked_n: target });
    }
    let litres = look.litres(request.litres)?;
    let present = look.ammonia_after_doses(&request.now)?;
    if present.span.high >= target {
        return Err(PlanError::Enough { present_n: present.span.high, asked_n: target });
    }
    let nitrite = look.tank(Kind::Nitrite, &request.now);
    if let Ok(nitrite) = &nitrite
        && nitrite.span.high > MOST_NITRITE
    {
        return Err(PlanError::Nitrite { nitrite: nitrite.span.high.min(999.0) });
    }

    let volume = litres.span.middle();
    let add = target - present.span.high;
    let (amount, unit, adds) = measure(request.product, add, volume)?;
    let after = Span { low: present.span.low + adds.low, best: None, high: present.span.high + adds.high };
    let after = Span { best: present.span.best.zip(adds.best).map(|(p, a)| p + a), ..after };

    let inputs = vec![
        Figure::given("target", request.target.value, unit_text(&request.target.unit)),
        Figure::given("target-as-n", target, N),
        litres.figure("water", "L"),
        present.figure("ammonia-present", N),
    ];
    let mut said = Said { inputs, ..Said::default() };
    said.inputs.extend(product_figures(request.product)?);
    if let Ok(nitrite) = &nitrite {
        said.inputs.push(nitrite.figure("nitrite-present", "mg/L NO2-"));
    }
    said.results = vec![
        Figure::out("dose", Span::exact(amount), unit),
        Figure::out("adds", adds, N),
        Figure::out("adds-as-nh3", adds.times(per(Species::Ammonia)), "mg/L NH3"),
        Figure::out("adds-as-nh4", adds.times(per(Species::Ammonium)), "mg/L NH4+"),
        Figure::out("ammonia-after", after, N),
    ];
    said.formulas = match request.product {
        Product::Solution { .. } => vec![formulas::SOLUTION, formulas::NITRIFIED],
        _ => vec![formulas::CHLORIDE, formulas::NITRIFIED],
    };
    let of = named(request.product);
    said.answer(
        Rule::DoseRule,
        format!(
            "{} {unit} of {of} for {} L of water: it brings {} mg/L N, and the tank then has {} mg/L N. Test ammonia an hour later, when it is \
             mixed, to see that it arrived.",
            significant(amount, 3),
            significant(volume, 4),
            bounds(&adds),
            bounds(&after)
        ),
    );
    uses(&look, request, adds.high, &mut said);
    warn(&look, request, &nitrite, &mut said, now);
    Ok(DosePlan { amount, unit, adds, after, said })
}

fn as_nitrogen(q: &Quantity) -> f64 {
    // A unit of ammonia always has a fixed factor to nitrogen.
    q.to(&Unit::mg_l(Species::AmmoniaN)).map_or(f64::INFINITY, |n| n.value)
}

fn per(to: Species) -> f64 {
    to.molar_mass() / Species::AmmoniaN.molar_mass()
}

/// The unit as a text that outlives the request; an unusual one is told by its nitrogen beside it.
fn unit_text(unit: &Unit) -> &'static str {
    ["mg/L NH3-N", "mg/L NH3", "mg/L NH4+"].into_iter().find(|t| *t == unit.as_str()).unwrap_or("as typed")
}

/// The strengths a label can mean, the strongest first.
fn strengths(percent: f64, of: Percent, density: Option<f64>) -> Result<Vec<Strength>, PlanError> {
    let by_weight = match density {
        Some(density) => Strength::ByWeight { percent, density },
        None => Strength::by_weight(percent)?,
    };
    let by_volume = Strength::ByVolume { percent };
    Ok(match of {
        Percent::ByWeight => vec![by_weight],
        Percent::ByVolume => vec![by_volume],
        // Ammonia solutions are lighter than water, so by volume is the stronger.
        Percent::NotSaid => vec![by_volume, by_weight],
    })
}

/// How much of the product brings `add` mg/L N at most, its unit, and what it brings.
fn measure(product: Product, add: f64, litres: f64) -> Result<(f64, &'static str, Span), PlanError> {
    Ok(match product {
        Product::Solution { percent, of, density } => {
            let all = strengths(percent, of, density)?;
            let brings = |ml: f64, s: Strength| ammonia_of_solution(ml, litres, s);
            let ml = ammonia_solution_ml(add, Species::AmmoniaN, litres, all[0])?;
            let least = brings(ml, all[all.len() - 1])?;
            (ml, "mL", Span { low: least, best: (all.len() == 1).then_some(add), high: brings(ml, all[0])? })
        }
        Product::Chloride => {
            let g = ammonium_chloride_g(add, Species::AmmoniaN, litres)?;
            (g, "g", Span::exact(ammonia_of_chloride(g, litres)?))
        }
        Product::Stock { g_l } => {
            let ml = stock_ml(ammonium_chloride_g(add, Species::AmmoniaN, litres)?, g_l)?;
            (ml, "mL", Span::exact(add))
        }
    })
}

fn named(product: Product) -> String {
    match product {
        Product::Solution { percent, of, .. } => {
            let of = match of {
                Percent::ByWeight => " by weight",
                Percent::ByVolume => " by volume",
                Percent::NotSaid => "",
            };
            format!("ammonia solution of {} %{of}", significant(percent, 3))
        }
        Product::Chloride => "ammonium chloride".to_string(),
        Product::Stock { g_l } => format!("ammonium chloride solution of {} g/L", significant(g_l, 4)),
    }
}

fn product_figures(product: Product) -> Result<Vec<Figure>, PlanError> {
    Ok(match product {
        Product::Solution { percent, of, density } => {
            let unit = match of {
                Percent::ByWeight => "% NH3 by weight",
                Percent::ByVolume => "% NH3 by volume",
                Percent::NotSaid => "% NH3, by weight or by volume",
            };
            let mut out = vec![Figure::given("strength", percent, unit)];
            if of != Percent::ByVolume {
                out.push(match density {
                    Some(d) => Figure::given("density", d, "g/mL"),
                    None => Figure::out("density", Span::exact(crate::water::ammonia_density(percent)?), "g/mL"),
                });
            }
            out
        }
        Product::Chloride => Vec::new(),
        Product::Stock { g_l } => vec![Figure::given("stock-solution", g_l, "g/L NH4Cl")],
    })
}

/// What the dose uses up and leaves.
fn uses(look: &Look, request: &DoseRequest, n: f64, said: &mut Said) {
    let source = match request.product {
        Product::Solution { .. } => NitrogenSource::AmmoniaWater,
        _ => NitrogenSource::AmmoniumSalt,
    };
    let used = nitrified(n, source);
    said.results.push(Figure::out("alkalinity-used", Span::exact(used.alkalinity_degrees), "dH"));
    said.results.push(Figure::out("oxygen-used", Span::exact(used.oxygen.1), "mg/L O2"));
    said.results.push(Figure::out("nitrate-left", Span::exact(used.nitrate), "mg/L NO3-"));
    match look.tank(Kind::Alkalinity, &request.now) {
        Ok(kh) => {
            said.inputs.push(kh.figure("alkalinity-present", "dH"));
            let left = kh.span.low - used.alkalinity_degrees;
            if left < LOW_ALKALINITY {
                said.caution(
                    Rule::AlkalinityLow,
                    format!(
                        "When this dose is oxidised the alkalinity may be down to {} German degrees, and below {LOW_ALKALINITY} the \
                         filter slows and the pH can fall: raise it first, which does no harm while no animals are in.",
                        significant(left.max(0.0), 2)
                    ),
                );
            }
        }
        Err(_) => said.unknown(
            Rule::AlkalinityLow,
            format!(
                "How long the alkalinity lasts: it was not tested lately. This dose uses {} German degrees.",
                significant(used.alkalinity_degrees, 2)
            ),
        ),
    }
}

fn warn(
    look: &Look,
    request: &DoseRequest,
    nitrite: &Result<super::level::Level, PlanError>,
    said: &mut Said,
    now: Timestamp,
) {
    let recent = look.book.events.iter().rfind(|e| matches!(e.what, Happened::Dosed(_)) && hours(e.at, now) < 24.0);
    if let Some(e) = recent {
        let words = format!(
            "The last dose was {} ago. Dose once a day at most, and not before both ammonia and nitrite read none: what the filter \
             has not used piles up.",
            age(e.at, now)
        );
        said.cautions.push(Statement::new(Rule::DoseRule, words).on(e));
    }
    let evidence = Evidence::of(&look.book);
    let last = evidence.of_kind(Kind::Ammonia).next_back().filter(|r| shows_some(r));
    if let Some(r) = last.filter(|_| request.now.get(Kind::Ammonia).is_none()) {
        let words = "The last dose still shows. This tops it up; the better way is to wait until ammonia reads none.";
        said.cautions.push(Statement::new(Rule::DoseRule, words).on(r));
    }
    if nitrite.is_err() {
        said.unknown(
            Rule::DoseRule,
            format!("Whether nitrite allows it: it was not tested in the last three days. No dose above {MOST_NITRITE} mg/L NO2-."),
        );
    }
    if matches!(request.product, Product::Solution { of: Percent::NotSaid, .. }) {
        said.unknown(
            Rule::DoseRule,
            "Whether the per cent are by weight (w/w) or by volume (w/v): counted as by volume, which needs fewer mL, so that the \
             target is not passed.",
        );
    }
    said.unknown(
        Rule::DoseRule,
        "How much water there really is: gravel, stones and the space below the rim take 10 to 20 % of a tank's size, common practice. \
         The test an hour later tells.",
    );
    let words = match request.product {
        Product::Solution { .. } => {
            "Only plain ammonia in water, without scent, colour or anything that foams. Glasses, gloves, an open window; never \
             with or after bleach; the bottle labelled and locked away. The label and local rules come first."
        }
        _ => {
            "Ammonium chloride irritates eyes, and gives off ammonia with bases: glasses, no dust, locked away; never with bleach. \
             The label and local rules come first."
        }
    };
    said.caution(Rule::AmmoniaCaution, words);
    said.caution(Rule::NoAnimals, "Only while nothing lives in the tank: shrimps and snails are animals too.");
}
