//! Any book: no panic, and nothing said that the book cannot carry.

use super::*;
use proptest::prelude::*;

fn reading() -> impl Strategy<Value = (f64, usize, f64, u8)> {
    (0.0..400.0f64, 0..Kind::ALL.len(), 0.0..60.0f64, 0..6u8)
}

fn event() -> impl Strategy<Value = (f64, u8)> {
    (0.0..400.0f64, 0..14u8)
}

fn happened(n: u8) -> Happened {
    match n {
        0..=3 => Happened::Dosed(Some(2.0)),
        4 => Happened::Dosed(None),
        5 => Happened::Changed(Some(0.3)),
        6 => Happened::Changed(None),
        7 => Happened::AnimalsAdded(Some(3)),
        8 => Happened::AnimalsCounted(0),
        9 => Happened::Medicine,
        10 => Happened::Conditioner { binds: true },
        11 => Happened::PowerCut(None),
        12 => Happened::Symptom,
        _ => Happened::Fed(Some(1.0)),
    }
}

fn write(readings: &[(f64, usize, f64, u8)], events: &[(f64, u8)]) -> Story {
    let mut s = Story::new(Water::Fresh, Animals::Unknown);
    for (h, kind, value, form) in readings {
        let kind = Kind::ALL[*kind];
        // pH and temperature never show none.
        let scaled = if kind == Kind::Ph { 4.0 + value / 10.0 } else { *value };
        match form {
            0 if kind != Kind::Ph => s.read(*h, kind, 0.0),
            1 => s.above(*h, kind, scaled),
            2 => s.range(*h, kind, scaled / 2.0, scaled),
            3 => {
                let m = s.read(*h, kind, scaled.max(0.01));
                m.doubtful = true;
                m
            }
            4 => {
                let m = s.read(*h, kind, scaled.max(0.01));
                m.timing = Timing::Late;
                m
            }
            _ => s.read(*h, kind, scaled.max(0.01)),
        };
    }
    events.iter().for_each(|(h, n)| s.happens(*h, happened(*n)));
    s
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn every_book_has_an_answer_it_can_carry(
        readings in proptest::collection::vec(reading(), 0..40),
        events in proptest::collection::vec(event(), 0..20),
        now in 0.0..500.0f64,
    ) {
        let s = write(&readings, &events);
        let r = s.review(now);
        let doses = s.book.events.iter().filter(|e| e.at <= r.now && matches!(e.what, Happened::Dosed(Some(_)))).count();
        if r.stage.stage >= Stage::ProofOnce {
            prop_assert!(doses >= 1 && r.stage.proofs >= 1);
        }
        if r.stage.stage == Stage::Cycled {
            prop_assert!(r.stage.proofs >= 1 && !r.stage.declared);
        }
        // Calm is said only where ammonia and nitrite were tested, or no animals are in.
        if r.danger.act_as() == Level::None && r.danger.no_animals.is_none() && !r.danger.is_unknown() {
            for hazard in [Hazard::FreeAmmonia, Hazard::Nitrite] {
                prop_assert!(r.danger.line(hazard).is_some_and(|l| l.unknown_since.is_none()));
            }
        }
        // Nothing rests on what lies in the future, and a number never prints as not-a-number.
        let all = r.today.iter().chain(&r.cautions).chain(&r.doubts).chain(&r.stage.statements);
        let all = all.chain(r.danger.lines.iter().map(|l| &l.statement));
        for st in all {
            prop_assert!(st.rests_on.iter().all(|b| b.at <= r.now), "{st:?}");
            prop_assert!(!st.words.contains("NaN") && !st.words.contains("inf "), "{}", st.words);
        }
        prop_assert!(!summary(&s.book, &r).contains("NaN"));
        // An animal in the tank, or one nobody denied, forbids a dose.
        if r.danger.no_animals.is_none() {
            prop_assert!(r.today.iter().all(|s| !s.words.starts_with("Dose ammonia to")), "{:?}", r.today);
        }
    }
}
