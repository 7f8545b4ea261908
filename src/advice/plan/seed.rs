//! Media of a running filter moved into another tank.

use super::super::book::{Book, Water};
use super::super::rules::Rule;
use super::capacity::tell_shown;
use super::error::{PlanError, share};
use super::feed::{Load, fed};
use super::filter::shown;
use super::level::Look;
use super::said::{Figure, Said, bounds};
use crate::water::{Span, significant};
use jiff::Timestamp;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct SeedRequest {
    /// The share of the giving tank's media that moves, 0 to 1.
    pub share: f64,
    /// Litres of the giving tank, else those it is logged with.
    pub from_litres: Option<f64>,
    /// Animals and food of the tank to be seeded, else its feedings in the log.
    pub load: Option<Load>,
}

/// What it covers.
#[derive(Debug, Clone, PartialEq)]
pub struct SeedPlan {
    /// mg N a day that moves.
    pub moved: Span,
    /// mg N a day that the tank to be seeded makes.
    pub need: Span,
    /// Share of the need covered; without an upper bound where what was shown has none.
    pub covers: Span,
    /// mg N a day that stays behind.
    pub stays: Span,
    /// The rest.
    pub said: Said,
}

const MG: &str = "mg N a day";
/// What of it works after the move: half to all. Common practice; it hangs on minutes, wetness and air.
const SURVIVES: (f64, f64) = (0.5, 1.0);

/// What moved media of one tank cover in another.
pub fn seed(from: &Book, to: &Book, request: &SeedRequest, now: Timestamp) -> Result<SeedPlan, PlanError> {
    let (giver, taker) = (Look::at(from, now), Look::at(to, now));
    let (a, b) = (giver.book.facts.water, taker.book.facts.water);
    if a != b {
        return Err(PlanError::OtherWater { from: sort(a), to: sort(b) });
    }
    let s = share("media", request.share)?;
    let litres = giver.litres(request.from_litres)?;
    let found = shown(&giver, litres.span.middle());
    let found = found.ok_or_else(|| PlanError::Capacity { tank: giver.book.facts.name.clone() })?;
    let mut said = Said {
        inputs: vec![
            litres.figure("water-of-the-giving-tank", "L"),
            Figure::given("media-moved", s * 100.0, "% of its media"),
        ],
        ..Said::default()
    };
    tell_shown(&mut said, &found, now);
    let need = match &request.load {
        Some(load) => load.nitrogen(&mut said, "need")?,
        None => {
            let why = "neither food nor animals of the tank to be seeded are given or logged";
            let (need, grams) = fed(&taker.book, now).ok_or(PlanError::LoadUnknown { why })?;
            said.inputs.push(Figure::out("food-logged", Span::exact(grams), "g a day"));
            said.results.push(Figure::out("need", need, MG));
            need
        }
    };
    let part = |kept: f64, x: f64| if kept == 0.0 { 0.0 } else { kept * x };
    let moved = Span { low: found.span.low * s * SURVIVES.0, best: None, high: part(s * SURVIVES.1, found.span.high) };
    let stays = Span { low: found.span.low * (1.0 - s), best: None, high: part(1.0 - s, found.span.high) };
    let covers = Span { low: moved.low / need.high.max(1e-12), best: None, high: moved.high / need.low.max(1e-12) };
    said.results.extend([
        Figure::out("capacity-moved", moved, MG),
        Figure::out("covers", covers.times(100.0), "% of the need"),
        Figure::out("capacity-staying", stays, MG),
    ]);
    let n = |x: f64| significant(x, 3);
    let at_least = |s: &Span| if s.is_open() { format!("at least {}", n(s.low)) } else { bounds(s) };
    let words = format!(
        "The moved media bring {} {MG}; the need is {}: they cover {} % of it. {}",
        at_least(&moved),
        bounds(&need),
        at_least(&covers.times(100.0)),
        if covers.low >= 1.0 {
            "That is enough by the bounds shown; test ammonia and nitrite daily for a week all the same."
        } else {
            "Until more is shown, stock and feed for that share only, and test ammonia and nitrite daily for a week."
        }
    );
    said.answer(Rule::MediaShare, words);
    if let Some((load, _)) = fed(&giver.book, now) {
        let words = if stays.low >= load.high {
            format!("The giving tank keeps {} {MG}, which carries its food.", at_least(&stays))
        } else {
            format!(
                "The giving tank keeps {} {MG}, and its food makes {}: feed it less and test it every two days for a week too.",
                at_least(&stays),
                bounds(&load)
            )
        };
        said.answer(Rule::MediaShare, words);
    } else {
        said.unknown(
            Rule::FoodLoad,
            "Whether what stays carries the giving tank: its feedings are not logged with grams.",
        );
    }
    said.caution(
        Rule::DiseaseCaution,
        "Media carry disease, snails and algae from tank to tank: only from a tank without illness or medicine for the last months, and \
         watch for two weeks.",
    );
    said.caution(
        Rule::FilterCaution,
        "Move media wet, in water of their own tank, within the hour; like temperature and pH; never through tap water.",
    );
    Ok(SeedPlan { moved, need, covers, stays, said })
}

fn sort(water: Water) -> &'static str {
    match water {
        Water::Fresh => "fresh-water",
        Water::Brackish => "brackish",
        Water::Marine => "marine",
    }
}
