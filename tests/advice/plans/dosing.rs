//! Ammonia for a cycle without animals.

use super::*;
use proptest::prelude::*;
use tintline::advice::plan::{DoseRequest, Percent, Product, dose};
use tintline::advice::{Animals, Happened, Kind, Water};
use tintline::water::{Quantity, Span, Species, Strength, Unit, ammonia_of_solution};

fn solution(percent: f64, of: Percent) -> Product {
    Product::Solution { percent, of, density: None }
}

fn to(mg_l: f64, basis: Species, product: Product) -> DoseRequest {
    DoseRequest { target: Quantity::new(mg_l, Unit::mg_l(basis)), product, litres: None, now: nothing() }
}

fn to_n(mg_l: f64) -> DoseRequest {
    to(mg_l, Species::AmmoniaN, solution(9.5, Percent::ByWeight))
}

/// No animals, ammonia and nitrite tested an hour ago and none seen.
fn ready() -> Story {
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, 0.0);
    s
}

#[test]
fn what_the_tank_has_is_left_out_of_the_dose_by_its_upper_bound() {
    let s = ready();
    // None was seen below 0.125, so at most 1.875 go in: 1.875 · 17.031/14.007 · 100 L / (1000 · 0.095 · 0.9624 g/mL).
    let plan = dose(&s.book, &to_n(2.0), at(1.0)).unwrap();
    near(plan.amount, 2.4937, 1e-3);
    assert_eq!(plan.unit, "mL");
    near(plan.after.high, 2.0, 1e-12);
    near(plan.after.low, 1.875, 1e-12);
    sound(&plan.said);
    has(&plan.said, "Glasses, gloves, an open window");
    has_not(&plan.said, "was not tested in the last three days");
}

#[test]
fn animals_that_are_there_or_may_be_forbid_it() {
    for (animals, code) in [(Animals::Present, "dose-animals"), (Animals::Unknown, "dose-animals-unknown")] {
        let mut s = Story::new(Water::Fresh, animals);
        s.read(0.0, Kind::Ammonia, 0.0);
        refused(&dose(&s.book, &to_n(1.0), at(1.0)).unwrap_err(), code);
    }
    // A symptom is seen on an animal, whatever was said before.
    let mut s = ready();
    s.happens(0.5, Happened::Symptom);
    refused(&dose(&s.book, &to_n(1.0), at(1.0)).unwrap_err(), "dose-animals");
}

#[test]
fn five_is_the_most_in_whatever_basis() {
    let s = ready();
    assert!(dose(&s.book, &to_n(5.0), at(1.0)).is_ok());
    refused(&dose(&s.book, &to_n(5.01), at(1.0)).unwrap_err(), "dose-too-much");
    // 6 mg/L as NH3 are 4.93 as N, 6.5 as NH4+ are 5.05.
    assert!(dose(&s.book, &to(6.0, Species::Ammonia, Product::Chloride), at(1.0)).is_ok());
    refused(&dose(&s.book, &to(6.5, Species::Ammonium, Product::Chloride), at(1.0)).unwrap_err(), "dose-too-much");
}

#[test]
fn what_is_not_known_is_asked_for() {
    let mut s = Story::new(Water::Fresh, Animals::None);
    asked(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap_err(), "plan-level-unknown");
    s.read(0.0, Kind::Ammonia, 0.0);
    let plan = dose(&s.book, &to_n(2.0), at(1.0)).unwrap();
    has(&plan.said, "Whether nitrite allows it");
    // Four days later the result says nothing any more.
    asked(&dose(&s.book, &to_n(2.0), at(96.0)).unwrap_err(), "plan-level-unknown");
    s.book.facts.litres = None;
    asked(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap_err(), "plan-volume-unknown");
    // None in doubt is not known; some in doubt is some.
    let mut s = ready();
    s.read(0.5, Kind::Ammonia, 0.0).doubtful = true;
    asked(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap_err(), "plan-level-unknown");
    s.read(0.6, Kind::Ammonia, 1.0).doubtful = true;
    assert!(dose(&s.book, &to_n(2.0), at(1.0)).is_ok());
    let mut s = ready();
    s.happens(0.5, Happened::Dosed(None));
    asked(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap_err(), "plan-dose-unknown");
}

#[test]
fn doses_since_the_last_test_count_as_still_there() {
    let mut s = ready();
    s.happens(1.0, Happened::Dosed(Some(1.5)));
    let plan = dose(&s.book, &to_n(2.0), at(10.0)).unwrap();
    near(plan.adds.high, 0.375, 1e-9);
    has(&plan.said, "The last dose was 9 h ago");
    s.happens(2.0, Happened::Dosed(Some(0.5)));
    refused(&dose(&s.book, &to_n(2.0), at(10.0)).unwrap_err(), "dose-enough");
    // A day later the same is said of none.
    let mut s = ready();
    s.happens(-30.0, Happened::Dosed(Some(1.5)));
    has_not(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap().said, "The last dose was");
}

#[test]
fn high_nitrite_forbids_it_and_ammonia_that_shows_is_said() {
    let mut s = ready();
    s.read(0.5, Kind::Nitrite, 17.0);
    refused(&dose(&s.book, &to_n(1.0), at(1.0)).unwrap_err(), "dose-nitrite");
    s.above(0.6, Kind::Nitrite, 5.0);
    refused(&dose(&s.book, &to_n(1.0), at(1.0)).unwrap_err(), "dose-nitrite");
    let mut s = ready();
    s.read(0.5, Kind::Ammonia, 0.5);
    has(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap().said, "The last dose still shows");
}

#[test]
fn a_label_that_does_not_say_of_what_is_counted_as_the_stronger() {
    let s = ready();
    let amount = |of| dose(&s.book, &to(2.0, Species::AmmoniaN, solution(25.0, of)), at(1.0)).unwrap();
    let (weight, volume, open) = (amount(Percent::ByWeight), amount(Percent::ByVolume), amount(Percent::NotSaid));
    near(weight.amount / volume.amount, 1.0 / 0.91, 1e-9);
    assert_eq!(open.amount, volume.amount);
    assert!(open.adds.low < open.adds.high && open.adds.high <= 2.0 - 0.125 + 1e-9);
    near(open.adds.low / open.adds.high, 0.91, 1e-9);
    has(&open.said, "by weight (w/w) or by volume (w/v)");
    for percent in [0.0, 40.0, -1.0] {
        let e = dose(&s.book, &to(2.0, Species::AmmoniaN, solution(percent, Percent::ByWeight)), at(1.0)).unwrap_err();
        asked(&e, "water-out-of-range");
    }
}

#[test]
fn alkalinity_that_the_dose_uses_up_is_said() {
    let mut s = ready();
    s.read(0.0, Kind::Alkalinity, 3.2);
    // 1.875 mg/L N from ammonia solution use 0.375 degree.
    has(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap().said, "alkalinity may be down to 2.8");
    let mut s = ready();
    s.read(0.0, Kind::Alkalinity, 8.0);
    has_not(&dose(&s.book, &to_n(2.0), at(1.0)).unwrap().said, "alkalinity");
}

proptest! {
    /// Whatever the tank may hold, the dose brings it at most to the target, and the target at most to 5.
    #[test]
    fn no_dose_passes_its_target(
        low in 0.0..3.0f64,
        more in 0.0..3.0f64,
        target in 0.1..5.0f64,
        percent in 1.0..30.0f64,
        litres in 5.0..2000.0f64,
    ) {
        let s = Story::new(Water::Fresh, Animals::None);
        let present = Span::between(low, low + more);
        let request = DoseRequest {
            litres: Some(litres),
            now: nothing().with(Kind::Ammonia, present),
            ..to(target, Species::AmmoniaN, solution(percent, Percent::NotSaid))
        };
        match dose(&s.book, &request, at(0.0)) {
            Ok(plan) => {
                // Measured out by either reading of the label.
                for strength in [Strength::by_weight(percent).unwrap(), Strength::ByVolume { percent }] {
                    let brings = ammonia_of_solution(plan.amount, litres, strength).unwrap();
                    prop_assert!(present.high + brings <= target * (1.0 + 1e-9));
                    prop_assert!(plan.after.low <= present.low + brings + 1e-9);
                    prop_assert!(present.high + brings <= plan.after.high + 1e-9);
                }
                sound(&plan.said);
            }
            Err(e) => {
                prop_assert!(present.high >= target);
                refused(&e, "dose-enough");
            }
        }
    }
}
