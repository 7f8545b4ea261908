//! Readings that came late: what they change in what is said now, and that they sound no alarm.

use super::*;

/// A dose in the evening, none of both a day later: proofs on two days, a week ago.
fn two_proofs() -> Story {
    let mut s = Story::new(Water::Fresh, Animals::None);
    for start in [0.0, 24.0] {
        s.happens(start, Happened::Dosed(Some(2.0)));
        s.read(start + 0.8, Kind::Ammonia, 2.0);
        s.read(start + 23.0, Kind::Ammonia, 0.0);
        s.read(start + 23.0, Kind::Nitrite, 0.0);
    }
    s
}

fn of_hour(s: &Story, h: f64) -> Vec<String> {
    s.book.readings.iter().filter(|r| r.at == at(h)).map(|r| r.entry.clone()).collect()
}

#[test]
fn a_proof_that_came_late_changes_the_stage() {
    let s = two_proofs();
    let late = of_hour(&s, 47.0);
    assert_eq!(late.len(), 2);
    let said = moved_by(&s.book, &late, at(48.0));
    let first = &said[0];
    assert_eq!(first, "Stage of the cycle was 'proof passed once', is now 'cycled'.", "{said:?}");
    assert!(!said.iter().any(|w| w.starts_with("Danger")), "{said:?}");
    // Nothing late, nothing moved.
    assert!(moved_by(&s.book, &[], at(200.0)).is_empty());
}

#[test]
fn last_weeks_bad_value_moves_no_danger_of_today() {
    let mut s = Story::new(Water::Fresh, Animals::Present).established();
    for (kind, value) in [(Kind::Ammonia, 0.0), (Kind::Nitrite, 0.0), (Kind::Nitrate, 10.0), (Kind::Ph, 7.0)] {
        s.read(168.0, kind, value);
    }
    s.read(0.0, Kind::Nitrite, 5.0);
    let late = of_hour(&s, 0.0);
    let now = at(169.0);
    let said = moved_by(&s.book, &late, now);
    assert!(!said.iter().any(|w| w.starts_with("Danger")), "{said:?}");
    let danger = &review(&s.book, now).danger;
    assert_eq!((danger.level, danger.may_be), (Level::None, None));
    // The same value of today would.
    s.read(168.5, Kind::Nitrite, 5.0);
    let said = moved_by(&s.book, &of_hour(&s, 168.5), now);
    let words = "Danger now was 'nothing above the limits was shown', is now '";
    assert!(said.iter().any(|w| w.starts_with(words)), "{said:?}");
}

#[test]
fn doubts_that_come_and_go_are_told() {
    // A dose no test saw: the late reading an hour after it is what tells.
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.read(1.0, Kind::Ammonia, 0.0);
    s.read(30.0, Kind::Ammonia, 0.0);
    let said = moved_by(&s.book, &of_hour(&s, 1.0), at(31.0));
    let doubt = said.iter().find(|w| w.starts_with("Now in doubt: Ammonia: 2 mg/L N was dosed"));
    assert!(doubt.is_some(), "{said:?}");
    let (with, without) = (review(&s.book, at(31.0)), review(&Book::new(s.book.facts.clone()), at(31.0)));
    assert!(moved(&with, &without).iter().any(|w| w.starts_with("No longer in doubt: Ammonia:")));
}
