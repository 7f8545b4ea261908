//! Whatever a keeper does, in whatever order: the journal only grows, no vial counts twice, an export holds it all.

use super::*;
use jiff::tz::Offset;
use proptest::prelude::*;
use tintline::moment::{Certainty, Moment, TimeSource};

/// Something a keeper does; numbers choose among what is there.
#[derive(Debug, Clone)]
enum Act {
    Photo { hash: u8, station: u8, kit: u8, value: f64, outcome: u8 },
    Eye { value: f64, text: String },
    Correct { which: usize, value: f64 },
    Undo { which: usize },
    UndoLast,
    UndoPhoto { hash: u8 },
    Move { which: usize, to: u8 },
    Retime { which: usize, micros: i64, offset: i32 },
    Note { which: usize, text: String },
    Event { text: String, number: f64 },
    Tank { name: u8 },
}

fn act() -> impl Strategy<Value = Act> {
    let value = prop_oneof![0.001..1000.0, Just(f64::MIN_POSITIVE), Just(0.1 + 0.2), Just(1e300)];
    let text = prop_oneof!["\\PC{0,12}", Just("a\u{0}b".to_string()), Just("\"quoted\", \\ \n'x'; --".to_string())];
    prop_oneof![
        6 => (0..3u8, 0..2u8, 0..3u8, value.clone(), 0..5u8)
            .prop_map(|(hash, station, kit, value, outcome)| Act::Photo { hash, station, kit, value, outcome }),
        2 => (value.clone(), text.clone()).prop_map(|(value, text)| Act::Eye { value, text }),
        2 => (any::<usize>(), value).prop_map(|(which, value)| Act::Correct { which, value }),
        4 => any::<usize>().prop_map(|which| Act::Undo { which }),
        2 => Just(Act::UndoLast),
        1 => (0..3u8).prop_map(|hash| Act::UndoPhoto { hash }),
        2 => (any::<usize>(), 0..4u8).prop_map(|(which, to)| Act::Move { which, to }),
        1 => (any::<usize>(), -5_000_000_000_000_000..5_000_000_000_000_000i64, -93_599..=93_599i32)
            .prop_map(|(which, micros, offset)| Act::Retime { which, micros, offset }),
        1 => (any::<usize>(), text.clone()).prop_map(|(which, text)| Act::Note { which, text }),
        1 => (text, any::<f64>()).prop_map(|(text, number)| Act::Event { text, number }),
        1 => (0..3u8).prop_map(|name| Act::Tank { name }),
    ]
}

fn play(log: &mut Log, act: &Act, n: i64) -> Result<(), LogError> {
    let now = jiff::Timestamp::from_millisecond(1_772_366_400_000 + n).unwrap();
    let lines = log.journal(u32::MAX)?;
    let pick = |which: usize, kind: &str| {
        let of: Vec<Id> = lines.iter().filter(|l| kind.is_empty() || l.kind == kind).map(|l| l.id).collect();
        if of.is_empty() { None } else { Some(of[which % of.len()]) }
    };
    let hall = log.tank("Tank 0").map(|t| Target::Tank(t.id)).unwrap_or(Target::Other);
    let sample = NewSample::new(hall, moment(NOW));
    let unit = nitrate().unit;
    let reason = "as played";
    log.write(now, |w| {
        match act {
            Act::Photo { hash, station, kit, value, outcome } => {
                let q = Quantity::new(*value, unit.clone());
                let outcome = match outcome {
                    0 => Outcome::Refused(vec![Finding::doubt(Code::SampleMissing, "no vial")]),
                    1 => Outcome::Read(Amount::not_detected(q).unwrap()),
                    2 => Outcome::Read(Amount::above(q).unwrap()),
                    _ => Outcome::Read(measured(*value, 0.0, value * 3.0, &unit)),
                };
                let reading = from_photo(1.0, &format!("p{hash}"), &format!("S{station}"), &format!("k{kit}"));
                w.add_reading(Whose::New(&sample), &NewReading { outcome, ..reading })?;
            }
            Act::Eye { value, text } => {
                let said = Outcome::Read(measured(*value, *value, *value, &unit));
                let reading =
                    NewReading { place: Some(text.clone()), ..NewReading::by_hand(nitrate(), said, None, "0.1.0") };
                w.add_reading(Whose::New(&NewSample { note: Some(text.clone()), ..sample.clone() }), &reading)?;
            }
            Act::Correct { which, value } => {
                let Some(id) = pick(*which, "reading") else { return Ok(()) };
                w.correct(id, &measured(*value, *value, *value, &unit), None, reason)?;
            }
            Act::Undo { which } => {
                let Some(id) = pick(*which, "") else { return Ok(()) };
                w.undo(&Undo::Entry(id), reason)?;
            }
            Act::UndoLast => drop(w.undo(&Undo::Last, reason)?),
            Act::UndoPhoto { hash } => drop(w.undo(&Undo::Photo(format!("p{hash}")), reason)?),
            Act::Move { which, to } => {
                let (Some(id), Some(tank)) = (pick(*which, "sample"), pick(*to as usize, "tank")) else {
                    return Ok(());
                };
                let to = [Target::Tank(tank), Target::Tap, Target::Standard, Target::Other][*to as usize];
                w.move_sample(id, to, Some("moved"), reason)?;
            }
            Act::Retime { which, micros, offset } => {
                let Some(id) = pick(*which, "sample") else { return Ok(()) };
                let drawn = Moment {
                    instant: jiff::Timestamp::from_microsecond(*micros).unwrap(),
                    offset: Offset::from_seconds(*offset).unwrap(),
                    source: TimeSource::ExifOffset,
                    certainty: Certainty::Unsure,
                };
                w.retime_sample(id, &drawn, reason)?;
            }
            Act::Note { which, text } => {
                let Some(id) = pick(*which, "") else { return Ok(()) };
                w.note(id, text)?;
            }
            Act::Event { text, number } => {
                let payload = serde_json::json!({ text.as_str(): number, "text": text });
                let payload = payload.as_object().unwrap().clone();
                w.add_event(&NewEvent { payload, ..NewEvent::new("fed", hall.tank(), moment(NOW)) })?;
            }
            Act::Tank { name } => drop(w.add_tank(&NewTank::new(&format!("Tank {name}"), "UTC", WaterKind::Fresh))?),
        }
        Ok(())
    })
}

/// What may go wrong in a play; anything else is a fault of the log.
const REFUSALS: &[&str] =
    &["undo-nothing", "undo-already", "undo-overruled", "entry-kind", "tank-taken", "tank-in-use", "reason-missing"];

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_was_done_comes_through(acts in prop::collection::vec(act(), 1..40)) {
        let mut log = Log::open_memory().unwrap();
        for (n, act) in acts.iter().enumerate() {
            let before = log.journal(u32::MAX).unwrap();
            if let Err(e) = play(&mut log, act, n as i64) {
                prop_assert!(REFUSALS.contains(&e.code()), "{}: {e}", e.code());
                prop_assert_eq!(&log.journal(u32::MAX).unwrap(), &before);
            }
            // The journal only grows.
            let after = log.journal(u32::MAX).unwrap();
            prop_assert!(after.len() >= before.len());
            prop_assert!(after.iter().zip(&before).all(|(a, b)| (a.id, &a.change) == (b.id, &b.change)));
        }
        // One vial of one photo counts once.
        let current = log.readings(&Filter::default()).unwrap();
        let mut vials: Vec<_> = current.iter().filter_map(|r| r.photo.clone().zip(r.station.clone())).collect();
        vials.sort();
        let counted = vials.len();
        vials.dedup();
        prop_assert_eq!(vials.len(), counted);

        let text = export(&log);
        let mut copy = Log::open_memory().unwrap();
        import(&mut copy, &text).unwrap();
        prop_assert_eq!(export(&copy), text.clone());
        same(&log, &copy);
        prop_assert_eq!(import(&mut log, &text).unwrap().added, 0);
    }
}
