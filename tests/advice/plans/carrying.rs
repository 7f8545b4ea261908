//! What a filter carries: capacity, stocking, seeding.

use super::*;
use proptest::prelude::*;
use tintline::advice::plan::*;
use tintline::advice::{Animals, Happened, Kind, Water};

/// A tank of 100 L without animals whose filter used 2 mg/L N up in 24 hours.
fn proven() -> Story {
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.read(1.0, Kind::Ammonia, 2.0);
    s.read(24.0, Kind::Ammonia, 0.0);
    s.read(24.0, Kind::Nitrite, 0.0);
    s.read(24.0, Kind::Nitrate, 10.0);
    s
}

fn food(grams: f64) -> Load {
    Load { food_g: Some(grams), protein: Some(0.45), ..Load::default() }
}

fn fish(number: u32, size_cm: f64) -> Load {
    Load { animals: vec![Group { number, size_cm: Some(size_cm), mass_g: None }], ..Load::default() }
}

/// mg N a day that [`proven`] has shown: what may be left, 0.125 of ammonia and 0.125 of nitrite (0.038 as N), is not counted.
const SHOWN: f64 = 100.0 * (2.0 - 0.125 - 0.125 * 14.007 / 46.005);

#[test]
fn a_cleared_dose_shows_what_the_filter_does_at_least() {
    let plan = capacity(&proven().book, &CapacityRequest::default(), at(25.0)).unwrap();
    near(plan.shown.low, SHOWN, 1e-6);
    assert!(plan.shown.is_open() && plan.load.is_none());
    sound(&plan.said);
    has(&plan.said, "no feedings with grams");
    assert!(plan.said.answer[0].rests_on.len() == 3, "the dose and both tests");
    // 1 g of food a day at 45 % is 41.4 mg N, ± 30 %.
    let request = CapacityRequest { load: Some(food(1.0)), ..CapacityRequest::default() };
    let plan = capacity(&proven().book, &request, at(25.0)).unwrap();
    near(plan.load.unwrap().best.unwrap(), 41.4, 1e-3);
    near(plan.margin.unwrap().low, SHOWN - 53.82, 1e-3);
    has(&plan.said, "It carries the load");
    let request = CapacityRequest { load: Some(food(5.0)), ..CapacityRequest::default() };
    let plan = capacity(&proven().book, &request, at(25.0)).unwrap();
    has(&plan.said, "It may not carry");
    // What food fits: even at 50 % protein and + 30 % it makes no more than was shown.
    has(&plan.said, &format!("Feed at most {}", tintline::water::significant(SHOWN / 1.3 / 46.0, 3)));
}

#[test]
fn a_dose_of_which_some_was_left_bounds_it_on_both_sides() {
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.range(24.0, Kind::Ammonia, 0.8, 1.2);
    s.read(24.0, Kind::Nitrite, 0.5);
    let plan = capacity(&s.book, &CapacityRequest::default(), at(25.0)).unwrap();
    let nitrite_n = 0.5 * 14.007 / 46.005;
    near(plan.shown.low, 100.0 * (2.0 - 1.2 - nitrite_n), 1e-6);
    near(plan.shown.high, 100.0 * (2.0 - 0.8 - nitrite_n), 1e-6);
    // A change of water in between took some out: then nothing is shown.
    s.happens(10.0, Happened::Changed(Some(0.5)));
    asked(&capacity(&s.book, &CapacityRequest::default(), at(25.0)).unwrap_err(), "plan-capacity-unknown");
}

#[test]
fn media_taken_out_or_rinsed_lower_it() {
    let left = |losses: Vec<Loss>| {
        let request = CapacityRequest { losses, load: Some(food(2.0)), ..CapacityRequest::default() };
        capacity(&proven().book, &request, at(25.0)).unwrap()
    };
    near(left(vec![Loss::Removed(0.5)]).left.low, SHOWN * 0.5, 1e-9);
    near(left(vec![Loss::RinsedInTankWater(1.0)]).left.low, SHOWN * 0.7, 1e-9);
    near(left(vec![Loss::Removed(0.5), Loss::RinsedInTankWater(0.5)]).left.low, SHOWN * 0.5 * 0.85, 1e-9);
    let plan = left(vec![Loss::RinsedInTapWater(1.0)]);
    assert_eq!(plan.left.low, 0.0);
    has(&plan.said, "perhaps nothing");
    has(&plan.said, "Feed nothing");
    let plan = left(vec![Loss::Removed(1.0)]);
    assert_eq!((plan.left.low, plan.left.high), (0.0, 0.0));
    has(&plan.said, "It does not carry");
    for share in [0.0, 1.5, f64::NAN] {
        let request = CapacityRequest { losses: vec![Loss::Removed(share)], ..CapacityRequest::default() };
        asked(&capacity(&proven().book, &request, at(25.0)).unwrap_err(), "plan-share");
    }
    // What happened to the filter since is said.
    let mut s = proven();
    s.happens(30.0, Happened::MediaRinsed);
    has(&capacity(&s.book, &CapacityRequest::default(), at(31.0)).unwrap().said, "since then there was");
}

#[test]
fn food_that_leaves_nothing_shows_it_in_a_stocked_tank() {
    let mut s = Story::new(Water::Fresh, Animals::Present);
    for day in 0..10 {
        s.happens(24.0 * f64::from(day), Happened::Fed(Some(1.0)));
    }
    asked(&capacity(&s.book, &CapacityRequest::default(), at(240.0)).unwrap_err(), "plan-capacity-unknown");
    s.read(230.0, Kind::Ammonia, 0.0);
    s.read(230.0, Kind::Nitrite, 0.0);
    let plan = capacity(&s.book, &CapacityRequest::default(), at(240.0)).unwrap();
    // 10 g in 10 days: surely 1 g · 35 % · 92 mg less 30 %.
    near(plan.shown.low, 0.7 * 0.35 * 92.0, 1e-6);
    has(&plan.said, "food that left no ammonia");
    // Some nitrite in the week takes it back.
    s.read(200.0, Kind::Ammonia, 0.0);
    s.read(200.0, Kind::Nitrite, 1.0);
    asked(&capacity(&s.book, &CapacityRequest::default(), at(240.0)).unwrap_err(), "plan-capacity-unknown");
}

#[test]
fn many_fish_come_in_steps() {
    let request = |coming: Load| StockRequest { coming, ..StockRequest::default() };
    let all = |p: &StockPlan| p.batches.iter().map(|b| b.number.unwrap()).collect::<Vec<_>>();
    let plan = stock(&proven().book, &request(fish(10, 4.0)), at(25.0)).unwrap();
    assert_eq!(all(&plan), [10]);
    sound(&plan.said);
    // Ten of 8 cm weigh 0.025 · 512 · 10 = 128 g at most and eat 3 % of 50 % protein: 230 mg N a day with 30 % on top.
    let plan = stock(&proven().book, &request(fish(10, 8.0)), at(25.0)).unwrap();
    near(plan.coming.high, 0.025 * 512.0 * 10.0 * 0.03 * 0.5 * 92.0 * 1.3, 1e-9);
    assert_eq!(all(&plan), [7, 3]);
    assert_eq!(plan.batches[1].day, 14);
    assert!(plan.batches[0].load_after.high <= SHOWN);
    // Not one is covered: none comes.
    let plan = stock(&proven().book, &request(fish(2, 30.0)), at(25.0)).unwrap();
    assert!(plan.batches.is_empty());
    has(&plan.said, "Not yet");
    asked(
        &stock(&Story::new(Water::Fresh, Animals::None).book, &request(fish(1, 4.0)), at(1.0)).unwrap_err(),
        "plan-capacity-unknown",
    );
    let unsized_fish = Load { animals: vec![Group { number: 3, size_cm: None, mass_g: None }], ..Load::default() };
    asked(&stock(&proven().book, &request(unsized_fish), at(25.0)).unwrap_err(), "plan-load-unknown");
}

#[test]
fn a_much_larger_fish_in_place_of_a_small_one_is_no_even_swap() {
    let request = StockRequest { coming: fish(1, 20.0), leaving: Some(fish(1, 5.0)), ..StockRequest::default() };
    let plan = stock(&proven().book, &request, at(25.0)).unwrap();
    // Four times as long is 64 times as heavy; by the power of 0.8 27.9 times.
    let times = plan.said.result("times-the-load").unwrap().span;
    near(times.low, 27.86, 1e-3);
    near(times.high, 64.0, 1e-9);
    has(&plan.said, "The count stays and the load does not");
    let even = StockRequest { coming: fish(1, 5.0), leaving: Some(fish(1, 5.0)), ..StockRequest::default() };
    has_not(&stock(&proven().book, &even, at(25.0)).unwrap().said, "The count stays");
}

#[test]
fn moved_media_cover_a_share_of_the_need() {
    let (giver, mut taker) = (proven(), Story::new(Water::Fresh, Animals::None));
    let request = SeedRequest { share: 0.5, from_litres: None, load: Some(food(2.0)) };
    let plan = seed(&giver.book, &taker.book, &request, at(25.0)).unwrap();
    near(plan.moved.low, SHOWN * 0.25, 1e-9);
    near(plan.stays.low, SHOWN * 0.5, 1e-9);
    near(plan.covers.low, SHOWN * 0.25 / (82.8 * 1.3), 1e-3);
    assert!(plan.covers.is_open());
    sound(&plan.said);
    has(&plan.said, "carry disease");
    asked(
        &seed(&giver.book, &taker.book, &SeedRequest { load: None, ..request.clone() }, at(25.0)).unwrap_err(),
        "plan-load-unknown",
    );
    asked(
        &seed(&giver.book, &taker.book, &SeedRequest { share: 2.0, ..request.clone() }, at(25.0)).unwrap_err(),
        "plan-share",
    );
    taker.book.facts.water = Water::Marine;
    refused(&seed(&giver.book, &taker.book, &request, at(25.0)).unwrap_err(), "seed-other-water");
}

#[test]
fn the_table_grows_with_ph_and_temperature() {
    let s = Story::new(Water::Fresh, Animals::Present);
    let now = nothing().with(Kind::Ammonia, tintline::water::Span::exact(1.0));
    let plan = table(&s.book, &TableRequest { now }, at(0.0)).unwrap();
    assert_eq!((plan.rows.len(), plan.temperatures.len()), (16, 7));
    let cell = |ph: f64, t: f64| {
        let row = plan.rows.iter().find(|r| r.0 == ph).unwrap();
        row.1[plan.temperatures.iter().position(|x| *x == t).unwrap()]
    };
    // Acceptance row A32, after the worked example of the Florida extension: 1.0 mg/L at pH 8.0 and 24 °C.
    assert!((cell(8.0, 24.0).free.middle() - 0.0502).abs() < 1e-4);
    assert_eq!(cell(8.0, 24.0).level, tintline::advice::Level::Danger);
    assert_eq!(cell(6.0, 18.0).level, tintline::advice::Level::None);
    for (i, (_, row)) in plan.rows.iter().enumerate() {
        assert!(row.windows(2).all(|w| w[0].free.high < w[1].free.high));
        assert!(i == 0 || row[0].free.high > plan.rows[i - 1].1[0].free.high);
    }
    sound(&plan.said);
    has(&plan.said, "The tank's pH: nobody measured it lately");
    asked(&table(&s.book, &TableRequest::default(), at(0.0)).unwrap_err(), "plan-level-unknown");
}

proptest! {
    /// Never more in the first step than was shown; never more than half as much again later; all of them in the end or fewer.
    #[test]
    fn no_step_is_too_large(number in 1..60u32, size in 1.0..12.0f64, feeding in 0.0..3.0f64) {
        let present = Some(food(feeding));
        let request = StockRequest { coming: fish(number, size), present, ..StockRequest::default() };
        let plan = stock(&proven().book, &request, at(25.0)).unwrap();
        sound(&plan.said);
        let mut carried = plan.present.high;
        let one = plan.coming.high / f64::from(number);
        for (i, b) in plan.batches.iter().enumerate() {
            let more = b.load_after.high - carried;
            if i == 0 {
                prop_assert!(b.load_after.high <= SHOWN * (1.0 + 1e-9));
            } else {
                prop_assert!(more <= 0.5 * carried + 1e-6 || b.number == Some(1), "{more} on {carried}, one {one}");
            }
            carried = b.load_after.high;
        }
        let all: u32 = plan.batches.iter().filter_map(|b| b.number).sum();
        prop_assert!(all <= number);
        prop_assert!(plan.batches.len() == 12 || plan.batches.is_empty() || all == number);
    }

    /// What is taken out and what stays are all of it.
    #[test]
    fn media_are_not_made_of_nothing(share in 0.01..1.0f64) {
        let request = SeedRequest { share, from_litres: None, load: Some(food(1.0)) };
        let taker = Story::new(Water::Fresh, Animals::None);
        let plan = seed(&proven().book, &taker.book, &request, at(25.0)).unwrap();
        // Half of what moves is lost at worst.
        prop_assert!((2.0 * plan.moved.low + plan.stays.low - SHOWN).abs() < 1e-6);
    }
}
