//! More animals: what they make, whether the filter was shown to carry it, and in which steps they come.

use super::super::book::{Animals, Book};
use super::super::rules::Rule;
use super::capacity::tell_shown;
use super::error::PlanError;
use super::feed::{Load, fed};
use super::filter::shown;
use super::level::Look;
use super::said::{Figure, Said, bounds};
use crate::water::{Span, significant};
use jiff::Timestamp;

/// What is asked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StockRequest {
    /// Litres of water, else those of the tank.
    pub litres: Option<f64>,
    /// The animals to come, or the food they get.
    pub coming: Load,
    /// Animals that go when they come.
    pub leaving: Option<Load>,
    /// What lives there now, else the feedings of the log.
    pub present: Option<Load>,
}

/// Some animals on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    /// How many of them, where they were counted.
    pub number: Option<u32>,
    /// Their share of all that are to come, 0 to 1.
    pub share: f64,
    /// Days from today.
    pub day: u32,
    /// mg N a day afterwards, with what is there.
    pub load_after: Span,
}

/// The plan.
#[derive(Debug, Clone, PartialEq)]
pub struct StockPlan {
    /// mg N a day shown.
    pub shown: Span,
    /// mg N a day that is there now.
    pub present: Span,
    /// mg N a day that comes on top, those leaving taken off.
    pub coming: Span,
    /// The steps; none where nothing is shown to spare.
    pub batches: Vec<Batch>,
    /// The rest.
    pub said: Said,
}

const MG: &str = "mg N a day";
const DAYS_APART: u32 = 14;
const MOST_BATCHES: usize = 12;

/// The plan of more animals at `now`.
pub fn stock(book: &Book, request: &StockRequest, now: Timestamp) -> Result<StockPlan, PlanError> {
    let look = Look::at(book, now);
    let litres = look.litres(request.litres)?;
    let found = shown(&look, litres.span.middle());
    let found = found.ok_or_else(|| PlanError::Capacity { tank: look.book.facts.name.clone() })?;
    let mut said = Said { inputs: vec![litres.figure("water", "L")], ..Said::default() };
    tell_shown(&mut said, &found, now);
    let mut coming = request.coming.nitrogen(&mut said, "load-coming")?;
    let present = present(&look, request, &mut said)?;
    if let Some(leaving) = &request.leaving {
        // Its inputs would bear the same names as those of the ones to come.
        let gone = leaving.nitrogen(&mut Said::default(), "load-leaving")?;
        said.results.push(Figure::out("load-leaving", gone, MG));
        replaced(&request.coming, leaving, &mut said);
        coming = Span {
            low: (coming.low - gone.high).max(0.0),
            best: coming.best.zip(gone.best).map(|(c, g)| (c - g).max(0.0)),
            high: (coming.high - gone.low).max(0.0),
        };
        said.results.push(Figure::out("load-coming-on-top", coming, MG));
    }
    let plan = Steps { shown: found.span.low, present, coming, number: request.coming.number() };
    let batches = plan.batches();
    let total = plan.after(1.0);
    said.results.push(Figure::out("load-in-the-end", total, MG));
    speak(&mut said, &plan, &batches, &total);
    Ok(StockPlan { shown: found.span, present, coming, batches, said })
}

/// mg N a day now.
fn present(look: &Look, request: &StockRequest, said: &mut Said) -> Result<Span, PlanError> {
    if let Some(load) = &request.present {
        let span = load.nitrogen(&mut Said::default(), "load-present")?;
        said.inputs.extend(load.food_g.map(|g| Figure::given("feeding-now", g, "g a day")));
        said.results.push(Figure::out("load-present", span, MG));
        return Ok(span);
    }
    let (span, grams) = match (look.book.animals(look.now), fed(&look.book, look.now)) {
        (Animals::None, _) => (Span::exact(0.0), None),
        (_, Some((span, grams))) => (span, Some(grams)),
        _ => {
            let why =
                "no feedings with grams are logged over three days or more; give --feeding for what is in the tank now";
            return Err(PlanError::LoadUnknown { why });
        }
    };
    said.inputs.extend(grams.map(|g| Figure::out("food-logged", Span::exact(g), "g a day")));
    said.results.push(Figure::out("load-present", span, MG));
    Ok(span)
}

struct Steps {
    /// The least that was shown.
    shown: f64,
    present: Span,
    coming: Span,
    number: u32,
}

impl Steps {
    fn after(&self, share: f64) -> Span {
        let at = |a: f64, b: f64| a + b * share;
        Span {
            low: at(self.present.low, self.coming.low),
            best: self.present.best.zip(self.coming.best).map(|(a, b)| at(a, b)),
            high: at(self.present.high, self.coming.high),
        }
    }

    /// Whole animals where they were counted, never more than `share`.
    fn whole(&self, share: f64) -> f64 {
        match self.number {
            0 => share,
            n => (share * f64::from(n) + 1e-9).floor() / f64::from(n),
        }
    }

    /// First what the shown capacity covers, by upper bounds; then at most half of what is carried on top. None where not even one animal
    /// is covered.
    fn batches(&self) -> Vec<Batch> {
        let mut out: Vec<Batch> = Vec::new();
        let room = self.shown - self.present.high;
        let first = if self.coming.high <= 0.0 { 1.0 } else { (room / self.coming.high).clamp(0.0, 1.0) };
        let (mut done, mut next) = (0.0, self.whole(first));
        while next > 0.0 && done < 1.0 - 1e-9 && out.len() < MOST_BATCHES {
            done = (done + next).min(1.0);
            out.push(Batch {
                number: (self.number > 0).then(|| (next * f64::from(self.number)).round() as u32),
                share: next,
                day: out.len() as u32 * DAYS_APART,
                load_after: self.after(done),
            });
            let half = 0.5 * self.after(done).high / self.coming.high.max(1e-12);
            let one = if self.number > 0 { 1.0 / f64::from(self.number) } else { 0.1 };
            // One animal at a time at least: half of a single one cannot come.
            next = self.whole(half).max(one).min(1.0 - done);
        }
        out
    }
}

fn speak(said: &mut Said, plan: &Steps, batches: &[Batch], total: &Span) {
    let n = |x: f64| significant(x, 3);
    let of = |b: &Batch| match b.number {
        Some(number) => number.to_string(),
        None => format!("{} %", n(b.share * 100.0)),
    };
    let words = match batches {
        [] => format!(
            "Not yet: what was shown, {} {MG}, does not cover one of them beside what is there, {}. Without animals, prove a larger \
             dose first; with animals, wait until a month of none has passed, or choose smaller or fewer ones.",
            n(plan.shown),
            bounds(&plan.present)
        ),
        [_] => {
            format!("All at once is covered by what was shown: {} {MG} in the end, by the upper bound.", n(total.high))
        }
        many => {
            let steps: Vec<String> = many
                .iter()
                .map(|b| if b.day == 0 { format!("{} now", of(b)) } else { format!("{} on day {}", of(b), b.day) })
                .collect();
            format!(
                "In {} steps: {}. Before each further step, two results of none for ammonia and nitrite, days apart; if anything shows, \
                 wait and feed less.",
                many.len(),
                steps.join(", ")
            )
        }
    };
    said.answer(Rule::StockSteps, words);
    let left: f64 = 1.0 - batches.iter().map(|b| b.share).sum::<f64>();
    if !batches.is_empty() && left > 1e-9 {
        said.answer(Rule::StockSteps, "That is not all of them: plan the rest when these are carried.");
    }
    said.answer(
        Rule::RetestRule,
        "After each step test ammonia and nitrite every two days for a week, and feed little in the first days.",
    );
    said.unknown(
        Rule::FoodLoad,
        "What they really eat and make: food, its protein and the animals' mass are known to a factor only. Log feedings with their \
         grams. Room, company and water that suit the animals are no matter of this sum.",
    );
    said.caution(
        Rule::DiseaseCaution,
        "Animals bring disease: a tank of their own for some weeks first, and watch for two weeks after. Local rules on keeping come \
         first, and animals are never released.",
    );
}

/// How much more a replacement makes than what it replaces.
fn replaced(coming: &Load, leaving: &Load, said: &mut Said) {
    let (Ok(new), Ok(old)) = (coming.mass(), leaving.mass()) else { return };
    let (Some(new), Some(old)) = (new.best, old.best) else { return };
    if old <= 0.0 || new <= 0.0 {
        return;
    }
    let ratio = new / old;
    // Food grows with the mass to the power of 0.8 or so, not quite in proportion: common in feeding tables, from memory.
    let least = ratio.powf(0.8).min(ratio);
    let span = Span { low: least, best: None, high: ratio.max(ratio.powf(0.8)) };
    said.results.push(Figure::out("times-the-load", span, "times that of the animals leaving"));
    if ratio > 2.0 {
        said.answer(
            Rule::FoodLoad,
            format!(
                "The count stays and the load does not: by their mass those that come make {} times as much as those that go.",
                bounds(&span)
            ),
        );
    }
}
