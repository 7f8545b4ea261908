//! What is written comes back, and nothing counts twice.

use super::*;
use tintline::finding::{Code, Finding};
use tintline::water::Dilution;

#[test]
fn a_reading_comes_back_as_it_was_logged() {
    let (mut log, hall) = fresh();
    let test = key(&Analyte::Nitrate, "mg/L NO3-N");
    let doubt = Finding::doubt(Code::SampleNeighbour, "a red vial stands next to it");
    let reading = NewReading {
        outcome: Outcome::Read(measured(10.0, 8.5, 12.25, &test.unit)),
        entered: Some("10,0".into()),
        detection_limit: Some(Quantity::new(1.0, Unit::parse("mg/L NO3-", &Analyte::Nitrate).unwrap())),
        findings: vec![Finding::note(Code::SampleOffMark, "it stands 4 mm off the mark"), doubt],
        dilution: Some(Dilution::parse("1+4").unwrap()),
        lab: Some([61.25, 40.1, 33.333333333333336]),
        off_curve: Some(0.75),
        light: Some(vec![0.1, -0.2, 0.30000000000000004]),
        place: Some("kitchen window".into()),
        test,
        ..from_photo(1.0, "photo-1", "B", "kit-1")
    };
    let sample = NewSample {
        label: Some("after feeding".into()),
        station: Some("B".into()),
        note: Some("cloudy".into()),
        drawn: Some(moment("2026-03-01T10:00:00.123456789Z")),
        reagent: Some(Moment { source: TimeSource::File, ..moment("2026-03-01T10:01:00Z") }),
        photo: Some(Moment {
            source: TimeSource::TankZone,
            certainty: Certainty::Unsure,
            ..moment("2026-03-01T10:06:00Z")
        }),
        ..NewSample::new(Target::Tank(hall), moment(NOW))
    };
    let added = log.write(at(NOW), |w| w.add_reading(Whose::New(&sample), &reading)).unwrap();
    assert_eq!(added.how, How::New);

    let all = log.readings(&Filter::default()).unwrap();
    assert_eq!(all.len(), 1);
    let r = &all[0];
    assert_eq!(
        (r.id, r.root, r.recorded, r.standing, r.origin),
        (added.id, added.id, at(NOW), Standing::Current, Origin::Photo)
    );
    assert_eq!(r.amount.as_ref(), Some(&measured(10.0, 8.5, 12.25, &reading.test.unit)));
    assert_eq!(
        (r.test.clone(), r.entered.as_deref(), r.status),
        (reading.test.clone(), Some("10,0"), Status::Measured)
    );
    // 62.004 / 14.007 = 4.42664 g of nitrate for a gram of its nitrogen.
    let canonical = r.canonical.as_ref().unwrap();
    assert_eq!(canonical.unit().as_str(), "mg/L NO3-");
    assert!((canonical.level().value - 44.2664).abs() < 1e-4, "{canonical:?}");
    // The limit was given as nitrate and is kept in the reading's unit.
    let limit = r.detection_limit.as_ref().unwrap();
    assert_eq!(limit.unit.as_str(), "mg/L NO3-N");
    assert!((limit.value - 0.225905).abs() < 1e-6, "{limit:?}");
    assert_eq!(r.findings.len(), 2);
    assert_eq!(
        (r.findings[1].known(), r.findings[1].sentence.as_str()),
        (Some(Code::SampleNeighbour), "a red vial stands next to it")
    );
    assert!(r.is_doubtful() && r.refusal.is_empty());
    assert_eq!((r.dilution, r.lab, r.off_curve), (reading.dilution, reading.lab, reading.off_curve));
    assert_eq!((r.light.as_ref(), r.place.as_deref()), (reading.light.as_ref(), Some("kitchen window")));
    assert_eq!((r.photo.as_deref(), r.station.as_deref(), r.program.as_str()), (Some("photo-1"), Some("B"), "0.1.0"));
    assert_eq!((r.kit_revision.as_deref(), r.card_revision.as_deref()), (Some("kit-1"), Some("card-1")));
    let s = &r.sample;
    assert_eq!((s.id, s.target, s.tank.as_deref()), (added.sample, Target::Tank(hall), Some("Hall")));
    assert_eq!((&s.label, &s.station, &s.note), (&sample.label, &sample.station, &sample.note));
    assert_eq!((s.drawn, s.reagent, s.photo, s.entered), (sample.drawn, sample.reagent, sample.photo, sample.entered));
    assert_eq!(s.at(), &moment("2026-03-01T10:00:00.123456789Z"));
    assert_eq!(log.reading(added.id).unwrap(), *r);
}

#[test]
fn every_kind_of_outcome_comes_back() {
    let (mut log, hall) = fresh();
    let q = |v: f64, unit: &Unit| Quantity::new(v, unit.clone());
    let (no2, ph) = (key(&Analyte::Nitrite, "mg/L NO2-"), key(&Analyte::Ph, "pH"));
    let own = key(&Analyte::parse("Silicate").unwrap(), "mg/L");
    let outcomes = [
        (no2.clone(), Outcome::Read(Amount::not_detected(q(0.05, &no2.unit)).unwrap()), Status::NotDetected),
        (no2.clone(), Outcome::Read(Amount::above(q(3.3, &no2.unit)).unwrap()), Status::Above),
        (ph.clone(), Outcome::Read(Amount::below(q(6.0, &ph.unit)).unwrap()), Status::Below),
        (own.clone(), Outcome::Read(measured(2.0, 0.0, 4.0, &own.unit)), Status::Measured),
        (
            no2.clone(),
            Outcome::Refused(vec![Finding::doubt(Code::PhotoBlurred, "edges are 9 px wide")]),
            Status::Refused,
        ),
    ];
    for (test, outcome, status) in outcomes {
        let reading = NewReading::by_hand(test.clone(), outcome.clone(), None, "0.1.0");
        let id = add(&mut log, hall, NOW, &reading).id;
        let back = log.reading(id).unwrap();
        assert_eq!((back.status, &back.test), (status, &test));
        match outcome {
            Outcome::Read(amount) => {
                assert_eq!(back.entered, Some(amount.level().value.to_string()));
                assert_eq!(back.amount, Some(amount));
                assert!(back.refusal.is_empty());
            }
            Outcome::Refused(why) => {
                assert_eq!((&back.amount, &back.canonical, &back.entered), (&None, &None, &None));
                assert_eq!(
                    (back.refusal[0].code.as_str(), &back.refusal[0].sentence),
                    ("photo-blurred", &why[0].sentence)
                );
            }
        }
    }
    assert_eq!(log.readings(&Filter { status: Some(Status::Refused), ..Filter::default() }).unwrap().len(), 1);
    assert_eq!(log.readings(&Filter::default()).unwrap().len(), 5);
}

#[test]
fn what_makes_no_sense_is_not_written() {
    let (mut log, hall) = fresh();
    let mmol = Unit::parse("mmol/L PO4", &Analyte::parse("phosphate").unwrap()).unwrap();
    let cases = [
        ("entry-empty", NewReading { outcome: Outcome::Refused(vec![]), ..by_eye(5.0) }),
        ("entry-empty", NewReading { entered: Some("  ".into()), ..by_eye(5.0) }),
        ("entry-empty", NewReading { program: String::new(), ..by_eye(5.0) }),
        ("entry-empty", NewReading { test: TestKey { name: " ".into(), ..nitrate() }, ..by_eye(5.0) }),
        ("entry-empty", NewReading { test: TestKey { kit: Some(String::new()), ..nitrate() }, ..by_eye(5.0) }),
        ("entry-empty", from_photo(5.0, "", "B", "kit-1")),
        ("entry-empty", from_photo(5.0, "p1", "", "kit-1")),
        ("entry-number", NewReading { lab: Some([50.0, f64::NAN, 0.0]), ..by_eye(5.0) }),
        ("entry-number", NewReading { off_curve: Some(f64::INFINITY), ..by_eye(5.0) }),
        ("entry-number", NewReading { detection_limit: Some(Quantity::new(0.0, nitrate().unit)), ..by_eye(5.0) }),
        ("entry-unfit", NewReading { detection_limit: Some(Quantity::new(1.0, mmol.clone())), ..by_eye(5.0) }),
        ("entry-unfit", NewReading { outcome: Outcome::Read(measured(1.0, 1.0, 1.0, &mmol)), ..by_eye(5.0) }),
        ("entry-unfit", NewReading { test: TestKey { unit: mmol, ..nitrate() }, ..by_eye(5.0) }),
    ];
    let before = log.journal(100).unwrap();
    for (code, reading) in cases {
        let sample = NewSample::new(Target::Tank(hall), moment(NOW));
        let e = log.write(at(NOW), |w| w.add_reading(Whose::New(&sample), &reading)).unwrap_err();
        assert_eq!(e.code(), code, "{e}");
        assert!(e.remedy().ends_with('.') && !e.to_string().is_empty());
    }
    let old = log.write(at("-000001-01-01T00:00:00Z"), |w| w.add_tank(&NewTank::new("B", "UTC", WaterKind::Marine)));
    assert_eq!(old.unwrap_err().code(), "entry-time");
    assert_eq!(log.journal(100).unwrap(), before);
}

#[test]
fn a_photo_read_twice_is_one_reading() {
    let (mut log, hall) = fresh();
    let first = add(&mut log, hall, NOW, &from_photo(20.0, "p1", "B", "kit-1"));
    let lines = log.journal(1000).unwrap().len();
    let again = add(&mut log, hall, NOW, &from_photo(20.0, "p1", "B", "kit-1"));
    assert_eq!((again.id, again.sample, again.how), (first.id, first.sample, How::Same));
    assert_eq!(log.journal(1000).unwrap().len(), lines);

    // Another station, another photo, another test of the same photo are readings of their own.
    let other = NewReading {
        outcome: Outcome::Read(
            Amount::not_detected(Quantity::new(0.1, key(&Analyte::Nitrite, "mg/L NO2-").unit)).unwrap(),
        ),
        test: key(&Analyte::Nitrite, "mg/L NO2-"),
        ..from_photo(1.0, "p1", "B", "kit-1")
    };
    for reading in [from_photo(21.0, "p1", "C", "kit-1"), from_photo(22.0, "p2", "B", "kit-1"), other] {
        assert_eq!(add(&mut log, hall, NOW, &reading).how, How::New);
    }
    assert_eq!(log.readings(&Filter::default()).unwrap().len(), 4);
    assert_eq!(log.readings(&Filter { photo: Some("p1".into()), ..Filter::default() }).unwrap().len(), 3);
}

#[test]
fn another_kit_card_or_program_makes_a_rereading() {
    let (mut log, hall) = fresh();
    let first = add(&mut log, hall, NOW, &from_photo(20.0, "p1", "B", "kit-1"));
    let mut other_card = from_photo(22.0, "p1", "B", "kit-2");
    other_card.shown.as_mut().unwrap().card_revision = None;
    let other_kit = TestKey { kit: Some("New drops".into()), name: "NO3".into(), ..nitrate() };
    let steps = [
        from_photo(21.0, "p1", "B", "kit-2"),
        other_card,
        NewReading { program: "0.2.0".into(), ..from_photo(23.0, "p1", "B", "kit-2") },
        NewReading { test: other_kit, ..from_photo(24.0, "p1", "B", "kit-3") },
    ];
    let mut replaced = first.id;
    for (i, reading) in steps.iter().enumerate() {
        let added = add(&mut log, hall, NOW, reading);
        assert_eq!(added.how, How::Reread { replaces: replaced, stands: true });
        assert_eq!(added.sample, first.sample, "the vial is the same");
        assert_eq!(values(&log), [21.0 + i as f64]);
        replaced = added.id;
    }
    // The first reading again: it is there, superseded, and stays so.
    assert_eq!(add(&mut log, hall, NOW, &from_photo(20.0, "p1", "B", "kit-1")).how, How::Same);
    assert_eq!(values(&log), [24.0]);
    let history = log.readings(&Filter { show: Show::History, ..Filter::default() }).unwrap();
    assert_eq!(
        history.iter().map(|r| r.standing).collect::<Vec<_>>(),
        [[Standing::Superseded; 4].as_slice(), &[Standing::Current]].concat()
    );
    assert!(history.iter().all(|r| r.root == first.id));
    let kinds: Vec<String> =
        log.history(first.id).unwrap().into_iter().map(|l| l.change.map_or(l.kind, |c| c.kind)).collect();
    assert_eq!(kinds.join(" "), "sample reading reading reread reading reread reading reread reading reread");
}

#[test]
fn the_keepers_correction_stands_over_rereadings() {
    let (mut log, hall) = fresh();
    let first = add(&mut log, hall, NOW, &from_photo(20.0, "p1", "B", "kit-1"));
    let amount = measured(10.0, 5.0, 20.0, &nitrate().unit);
    let fix = log.write(at(NOW), |w| w.correct(first.id, &amount, Some("10"), "read by eye again")).unwrap();
    assert_eq!(values(&log), [10.0]);
    let reread = add(&mut log, hall, NOW, &from_photo(21.0, "p1", "B", "kit-2"));
    assert_eq!(reread.how, How::Reread { replaces: fix, stands: false });
    assert_eq!(values(&log), [10.0]);
    let back = log.reading(fix).unwrap();
    assert_eq!(
        (back.origin, back.entered.as_deref(), back.photo.as_deref()),
        (Origin::Correction, Some("10"), Some("p1"))
    );

    // Without the correction the newest reading of the photo stands.
    let undone = undo(&mut log, Undo::Entry(fix));
    assert_eq!((undone[0].subject, undone[0].how, undone[0].stands), (fix, Turned::Undone, Some(reread.id)));
    assert_eq!(values(&log), [21.0]);
    undo(&mut log, Undo::Entry(reread.id));
    assert_eq!(values(&log), [20.0]);
    let undone = undo(&mut log, Undo::Entry(first.id));
    assert_eq!(undone[0].stands, None);
    let e = log.write(at(NOW), |w| w.correct(first.id, &amount, None, "late")).unwrap_err();
    assert_eq!(e.code(), "undo-already");
    // Read once more after all was undone: a new reading, not 'the same'.
    assert_eq!(add(&mut log, hall, NOW, &from_photo(20.5, "p1", "B", "kit-1")).how, How::New);
    assert_eq!(values(&log), [20.5]);
    // And bringing the first one back makes no double.
    let by = log
        .history(first.id)
        .unwrap()
        .into_iter()
        .rfind(|l| l.change.as_ref().is_some_and(|c| c.kind == "undo" && c.subject == first.id));
    undo(&mut log, Undo::Entry(by.unwrap().id));
    assert_eq!(values(&log), [20.5]);
}
