//! What is due, for books written by hand.

use super::*;

/// What is due at an hour: key, tests, hours from then.
fn list(s: &Story, h: f64) -> Vec<(String, Vec<Kind>, f64)> {
    let all = due(&s.book, &s.review(h));
    let from = |d: &Due| (d.at.duration_since(at(h)).as_secs_f64() / 360.0).round() / 10.0;
    all.iter().map(|d| (d.key.clone(), d.tests.clone(), from(d))).collect()
}

fn keys(s: &Story, h: f64) -> Vec<String> {
    list(s, h).into_iter().map(|d| d.0).collect()
}

fn find(s: &Story, h: f64, key: &str) -> (Vec<Kind>, f64) {
    let all = list(s, h);
    let found = all.iter().find(|d| d.0 == key).unwrap_or_else(|| panic!("no '{key}' in {all:?}"));
    (found.1.clone(), found.2)
}

/// A running tank with animals, everything tested at hour 0, nothing wrong.
fn running() -> Story {
    let mut s = Story::new(Water::Fresh, Animals::Present).established();
    for (kind, value) in [(Kind::Ammonia, 0.0), (Kind::Nitrite, 0.0), (Kind::Nitrate, 10.0), (Kind::Ph, 7.2)] {
        s.read(0.0, kind, value);
    }
    s
}

#[test]
fn a_calm_tank_is_tested_every_two_weeks_in_one_go() {
    // Ammonia and nitrite after 336 hours, and with them nitrate and pH, due at the same hour.
    let all = list(&running(), 24.0);
    assert_eq!(all.len(), 1, "{all:?}");
    let (tests, hours) = find(&running(), 24.0, "tests");
    assert_eq!(hours, 312.0);
    for kind in [Kind::Ammonia, Kind::Nitrite, Kind::Nitrate, Kind::Ph] {
        assert!(tests.contains(&kind), "{tests:?}");
    }
    // Overdue it stays on the list, with the hours below zero.
    assert_eq!(find(&running(), 400.0, "tests").1, -64.0);
}

#[test]
fn slower_tests_have_their_own_time() {
    let mut s = running();
    // A pH of hour 200 is due two weeks later, long after the next test.
    s.read(200.0, Kind::Ph, 7.2);
    assert_eq!(find(&s, 210.0, "ph"), (vec![Kind::Ph], 200.0 + 336.0 - 210.0));
    assert!(!find(&s, 210.0, "tests").0.contains(&Kind::Ph));
    // Alkalinity is on the list once it was tested, salinity in sea water.
    assert!(!list(&s, 210.0).iter().any(|d| d.1.contains(&Kind::Alkalinity)));
    s.read(200.0, Kind::Alkalinity, 5.0);
    assert_eq!(find(&s, 210.0, "alkalinity").1, 326.0);
    let mut sea = Story::new(Water::Marine, Animals::Present).established();
    for (kind, value) in [(Kind::Ammonia, 0.0), (Kind::Nitrite, 0.0), (Kind::Nitrate, 5.0), (Kind::Ph, 8.2)] {
        sea.read(0.0, kind, value);
    }
    assert!(find(&sea, 201.0, "tests").0.contains(&Kind::Salinity), "never measured, so with the next test");
    sea.read(200.0, Kind::Salinity, 35.0);
    assert_eq!(find(&sea, 201.0, "salinity"), (vec![Kind::Salinity], 167.0));
}

#[test]
fn danger_and_doses_bring_tests_forward() {
    let mut s = running();
    s.read(10.0, Kind::Nitrite, 1.0);
    assert!(find(&s, 11.0, "tests").1 <= 2.0, "{:?}", list(&s, 11.0));
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, 0.0);
    s.happens(1.0, Happened::Dosed(Some(2.0)));
    // An hour after the dose, and the proof a day after it.
    assert_eq!(find(&s, 1.5, "arrived"), (vec![Kind::Ammonia], 0.5));
    assert_eq!(find(&s, 1.5, "tests").1, 23.5);
    // Doses use alkalinity up: it is tested though it never was.
    assert!(find(&s, 1.5, "tests").0.contains(&Kind::Alkalinity));
    s.read(2.0, Kind::Ammonia, 2.0);
    assert!(!keys(&s, 2.5).contains(&"arrived".to_string()));
    let mut late = Story::new(Water::Fresh, Animals::None);
    late.happens(1.0, Happened::Dosed(Some(2.0)));
    assert!(!keys(&late, 5.0).contains(&"arrived".to_string()));
}

#[test]
fn what_a_conditioner_bound_is_tested_when_it_is_free_again() {
    let mut s = running();
    s.happens(10.0, Happened::Conditioner { binds: true });
    s.read(20.0, Kind::Ammonia, 0.5);
    assert_eq!(find(&s, 21.0, "unbound"), (vec![Kind::Ammonia, Kind::Nitrite], 37.0));
    let mut plain = running();
    plain.happens(10.0, Happened::Conditioner { binds: false });
    plain.read(20.0, Kind::Ammonia, 0.5);
    assert!(!keys(&plain, 21.0).contains(&"unbound".to_string()));
    // Tested after the two days: nothing is bound any more.
    s.read(60.0, Kind::Ammonia, 0.5);
    assert!(!keys(&s, 61.0).contains(&"unbound".to_string()));
}

#[test]
fn the_tap_is_tested_where_water_is_changed() {
    let mut s = running();
    assert!(!keys(&s, 10.0).contains(&"tap".to_string()));
    s.happens(5.0, Happened::Changed(Some(0.3)));
    assert_eq!(find(&s, 10.0, "tap").1, 0.0);
    for kind in [Kind::Nitrate, Kind::Ph, Kind::Alkalinity, Kind::Ammonia] {
        s.tap(kind, 5.0);
    }
    // Ninety days after the tests of hour -1.
    assert_eq!(find(&s, 10.0, "tap").1, 2160.0 - 11.0);
}

#[test]
fn every_item_says_why_and_soonest_comes_first() {
    let mut s = running();
    s.happens(5.0, Happened::Changed(Some(0.3)));
    s.read(200.0, Kind::Ph, 7.2);
    let all = due(&s.book, &s.review(210.0));
    assert!(all.len() >= 3 && all.windows(2).all(|w| w[0].at <= w[1].at));
    for d in &all {
        assert!(d.why.words.ends_with('.') && !d.why.rule.source().is_empty() && d.what.starts_with("Test "), "{d:?}");
    }
    let keys: std::collections::BTreeSet<_> = all.iter().map(|d| &d.key).collect();
    assert_eq!(keys.len(), all.len(), "a key stands once");
}
