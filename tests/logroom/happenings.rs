//! Happenings in the log: both sides of a move, tanks as events tell them, kinds of later versions, any order of undoing.

use super::*;
use proptest::prelude::*;
use std::collections::BTreeMap;
use tintline::log::happening::{Stock, TankFacts};

fn happen(log: &mut Log, tank: Id, when: &str, what: &Happening) -> Id {
    let event = what.event(Some(tank), moment(when), None).unwrap();
    log.write(at(NOW), |w| w.add_event(&event)).unwrap()
}

#[test]
fn an_event_of_two_tanks_is_seen_from_both_and_holds_both() {
    let (mut log, hall) = fresh();
    let reef = tank(&mut log, "Reef");
    let other = tank(&mut log, "Other");
    let moved = Happening::MediaMoved { to: reef, litres: Some(1.0), share: None, media: Some("sponge".into()) };
    let id = happen(&mut log, hall, "2026-03-01T08:00:00Z", &moved);
    for (tank, events) in [(hall, 1), (reef, 1), (other, 0)] {
        let found = log.events(Some(tank)).unwrap();
        assert_eq!(found.len(), events);
        assert!(found.iter().all(|e| e.happening() == moved && e.other_tank() == Some(reef)));
    }
    assert_eq!(undo_error(&mut log, Undo::Entry(hall)), "tank-in-use");
    assert_eq!(undo_error(&mut log, Undo::Entry(reef)), "tank-in-use");
    undo(&mut log, Undo::Entry(other));
    let gone = Happening::MediaMoved { to: other, litres: None, share: None, media: None };
    let event = gone.event(Some(hall), moment(NOW), None).unwrap();
    assert_eq!(log.write(at(NOW), |w| w.add_event(&event)).unwrap_err().code(), "undo-already");
    undo(&mut log, Undo::Entry(id));
    undo(&mut log, Undo::Entry(reef));
}

#[test]
fn a_tank_is_as_its_events_tell_it() {
    let (mut log, hall) = fresh();
    let told = |facts| Happening::TankDescribed { facts };
    // Entered late, of an earlier time: the later one in the tank's time stands.
    let facts = TankFacts { volume_l: Some(60.0), planted: Some(true), ..TankFacts::default() };
    let later = happen(&mut log, hall, "2026-03-01T10:00:00Z", &told(facts));
    let facts = TankFacts { volume_l: Some(54.0), celsius: Some(25.0), ..TankFacts::default() };
    happen(&mut log, hall, "2026-02-01T10:00:00Z", &told(facts));
    let of = |log: &Log| log.tank("hall").map(|t| (t.volume_l, t.celsius, t.planted, t.inhabitants)).unwrap();
    assert_eq!(of(&log), (Some(60.0), Some(25.0), Some(true), Inhabitants::Unknown));
    let none = Happening::FishCounted { stock: Stock::of(Some(0), None) };
    happen(&mut log, hall, "2026-02-01T11:00:00Z", &none);
    undo(&mut log, Undo::Entry(later));
    assert_eq!(of(&log), (Some(54.0), Some(25.0), None, Inhabitants::None));
    // Nobody else's facts.
    tank(&mut log, "Reef");
    assert_eq!(log.tank("reef").unwrap().volume_l, None);
}

#[test]
fn known_kinds_must_be_readable_and_others_pass_through() {
    let (mut log, hall) = fresh();
    let event = |kind: &str, payload: serde_json::Value| NewEvent {
        payload: payload.as_object().unwrap().clone(),
        ..NewEvent::new(kind, Some(hall), moment(NOW))
    };
    let bad = event("power-cut", serde_json::json!({"hours": "two"}));
    assert_eq!(log.write(at(NOW), |w| w.add_event(&bad)).unwrap_err().code(), "entry-unfit");
    // A later version's kind, and a later version's field of a known kind.
    let later = event("moon-phase", serde_json::json!({"phase": [1, {"deep": 0.1}], "zero": 0}));
    let wider = event("power-cut", serde_json::json!({"hours": 2.0, "cause": "storm"}));
    log.write(at(NOW), |w| Ok((w.add_event(&later)?, w.add_event(&wider)?))).unwrap();
    let mut json = Vec::new();
    log.export_json(&mut json).unwrap();
    let mut other = Log::open_memory().unwrap();
    other.import_json(&mut json.as_slice()).unwrap();
    let events = other.events(Some(hall)).unwrap();
    assert_eq!((&events[0].payload, &events[1].payload), (&later.payload, &wider.payload));
    assert_eq!(events[0].happening().kind(), "moon-phase");
    assert_eq!(events[1].happening(), Happening::PowerCut { hours: Some(2.0) });
    let mut again = Vec::new();
    other.export_json(&mut again).unwrap();
    assert!(json == again, "the export differs after the way through another log");
    // One that an import brought and nobody can read is shown as it is, not as none.
    let text = String::from_utf8(json).unwrap().replace("\"hours\":2.0", "\"hours\":\"two\"");
    let mut third = Log::open_memory().unwrap();
    third.import_json(&mut text.as_bytes()).unwrap();
    let odd = third.events(Some(hall)).unwrap().remove(1).happening();
    assert!(matches!(&odd, Happening::Other { kind, payload } if kind == "power-cut" && payload["hours"] == "two"));
}

/// One thing a keeper does to a log of readings and events.
#[derive(Debug, Clone)]
enum Step {
    Feed(u8),
    Test(u8),
    /// Corrects one of the readings.
    Correct(usize, u8),
    /// Undoes one of all entries: readings, events, corrections, undos.
    Undo(usize),
    UndoLast,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        (1..50u8).prop_map(Step::Feed),
        (1..50u8).prop_map(Step::Test),
        (any::<usize>(), 1..50u8).prop_map(|(i, v)| Step::Correct(i, v)),
        any::<usize>().prop_map(Step::Undo),
        Just(Step::UndoLast),
    ]
}

/// What should be there, kept in plain lists.
#[derive(Default)]
struct Model {
    /// Events and readings with corrections: value, and whether it is undone.
    food: BTreeMap<Id, (f64, bool)>,
    /// The readings that replace one another, oldest first; the first was not a correction.
    tests: Vec<Vec<(Id, f64, bool)>>,
}

impl Model {
    fn set(&mut self, id: Id, undone: bool) {
        if let Some(food) = self.food.get_mut(&id) {
            food.1 = undone;
        }
        for r in self.tests.iter_mut().flatten().filter(|r| r.0 == id) {
            r.2 = undone;
        }
    }

    fn standing(&self) -> (Vec<f64>, Vec<f64>) {
        let food = self.food.values().filter(|f| !f.1).map(|f| f.0);
        // A correction stands over what was read; of several the newest that is not undone.
        let tests = self.tests.iter().filter_map(|all| all.iter().rev().find(|r| !r.2).map(|r| r.1));
        (sorted(food.collect()), sorted(tests.collect()))
    }
}

fn sorted(mut all: Vec<f64>) -> Vec<f64> {
    all.sort_by(f64::total_cmp);
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_order_of_corrections_and_undos_leaves_what_was_meant(steps in proptest::collection::vec(step(), 1..30)) {
        let (mut log, hall) = fresh();
        let mut model = Model::default();
        let mut entries: Vec<Id> = Vec::new();
        for step in steps {
            match step {
                Step::Feed(grams) => {
                    let what = Happening::Feeding { grams: Some(grams.into()), protein: None, food: None };
                    let id = happen(&mut log, hall, NOW, &what);
                    model.food.insert(id, (grams.into(), false));
                    entries.push(id);
                }
                Step::Test(value) => {
                    let id = add(&mut log, hall, NOW, &by_eye(value.into())).id;
                    model.tests.push(vec![(id, value.into(), false)]);
                    entries.push(id);
                }
                Step::Correct(i, value) if !model.tests.is_empty() => {
                    let which = i % model.tests.len();
                    let (id, ..) = model.tests[which][0];
                    let amount = measured(value.into(), 0.5, 100.0, &nitrate().unit);
                    let living = model.tests[which].iter().any(|r| !r.2);
                    match log.write(at(NOW), |w| w.correct(id, &amount, None, "misread")) {
                        Ok(new) => {
                            prop_assert!(living);
                            model.tests[which].push((new, value.into(), false));
                            entries.push(new);
                        }
                        Err(e) => {
                            prop_assert_eq!(e.code(), "undo-already");
                            prop_assert!(!living);
                        }
                    }
                }
                Step::Correct(..) => {}
                Step::Undo(i) if !entries.is_empty() => {
                    let id = entries[i % entries.len()];
                    match log.write(at(NOW), |w| w.undo(&Undo::Entry(id), "a mistake")) {
                        Ok(done) => {
                            prop_assert_eq!(done.len(), 1);
                            model.set(done[0].subject, done[0].how == Turned::Undone);
                            entries.push(done[0].by);
                        }
                        Err(e) => prop_assert!(["undo-already", "undo-overruled"].contains(&e.code()), "{}", e),
                    }
                }
                Step::Undo(_) => {}
                Step::UndoLast => match log.write(at(NOW), |w| w.undo(&Undo::Last, "a mistake")) {
                    Ok(done) => {
                        prop_assert_eq!(done[0].how, Turned::Undone);
                        // Only the tank is left to take back: then put it back.
                        if done[0].subject == hall {
                            let by = done[0].by;
                            log.write(at(NOW), |w| w.undo(&Undo::Entry(by), "still needed")).unwrap();
                        }
                        model.set(done[0].subject, true);
                        entries.push(done[0].by);
                    }
                    Err(e) => prop_assert_eq!(e.code(), "undo-nothing"),
                },
            }
            let food = log.events(Some(hall)).unwrap().into_iter().map(|e| match e.happening() {
                Happening::Feeding { grams: Some(grams), .. } => grams,
                other => panic!("{other:?}"),
            });
            let found = (sorted(food.collect()), sorted(values(&log)));
            prop_assert_eq!(found, model.standing());
        }
        // Nothing was lost on the way: another log that takes it in stands the same.
        let mut json = Vec::new();
        log.export_json(&mut json).unwrap();
        let mut other = Log::open_memory().unwrap();
        other.import_json(&mut json.as_slice()).unwrap();
        prop_assert_eq!(sorted(values(&other)), model.standing().1);
    }
}
