//! Finding readings, tanks, events and entries.

use super::*;

#[test]
fn readings_are_found_by_what_is_asked() {
    let (mut log, hall) = fresh();
    let den = tank(&mut log, "Den");
    let kh = key(&Analyte::Alkalinity, "dH");
    for (i, day) in ["03", "01", "02", "05", "04"].iter().enumerate() {
        add(
            &mut log,
            if i < 3 { hall } else { den },
            &format!("2026-03-{day}T08:00:00Z"),
            &by_eye(day.parse().unwrap()),
        );
    }
    let other = NewReading::by_hand(kh.clone(), Outcome::Read(measured(6.0, 4.0, 8.0, &kh.unit)), None, "0.1.0");
    add(&mut log, hall, "2026-03-06T08:00:00Z", &other);
    let ask = |filter: Filter| -> Vec<f64> {
        log.readings(&filter).unwrap().iter().map(|r| r.amount.as_ref().unwrap().level().value).collect()
    };
    assert_eq!(ask(Filter::default()), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    assert_eq!(ask(Filter { tank: Some(hall), ..Filter::default() }), [1.0, 2.0, 3.0, 6.0]);
    assert_eq!(ask(Filter { tank: Some(den), ..Filter::default() }), [4.0, 5.0]);
    assert_eq!(ask(Filter { test: Some("Alkalinity".into()), ..Filter::default() }), [6.0]);
    assert_eq!(ask(Filter { analyte: Some(Analyte::Nitrate), last: Some(2), ..Filter::default() }), [4.0, 5.0]);
    let (since, until) = (Some(at("2026-03-02T08:00:00Z")), Some(at("2026-03-05T08:00:00Z")));
    assert_eq!(ask(Filter { since, until, ..Filter::default() }), [2.0, 3.0, 4.0]);
    assert_eq!(ask(Filter { since, tank: Some(hall), last: Some(1), ..Filter::default() }), [6.0]);
    assert_eq!(ask(Filter { status: Some(Status::Above), ..Filter::default() }), [0.0; 0]);
    assert_eq!(ask(Filter { last: Some(0), ..Filter::default() }), [0.0; 0]);
}

#[test]
fn tanks_have_one_name_and_a_real_zone() {
    let (mut log, hall) = fresh();
    let add = |log: &mut Log, name: &str, zone: &str| {
        log.write(at(NOW), |w| w.add_tank(&NewTank::new(name, zone, WaterKind::Marine)))
    };
    for (name, zone, code) in [
        ("", "UTC", "tank-name"),
        (" \t", "UTC", "tank-name"),
        (&"x".repeat(61), "UTC", "tank-name"),
        ("a\u{7}b", "UTC", "tank-name"),
        ("HALL", "UTC", "tank-taken"),
        (" hall ", "UTC", "tank-taken"),
        ("Den", "", "zone-unknown"),
        ("Den", "Berlin", "zone-unknown"),
        ("Den", "Etc/Unknown", "zone-unknown"),
        ("Den", "+01:00", "zone-unknown"),
    ] {
        let e = add(&mut log, name, zone).unwrap_err();
        assert_eq!(e.code(), code, "{name:?} {zone}: {e}");
    }
    let volume = NewTank { volume_l: Some(0.0), ..NewTank::new("Den", "UTC", WaterKind::Fresh) };
    assert_eq!(log.write(at(NOW), |w| w.add_tank(&volume)).unwrap_err().code(), "tank-volume");
    assert_eq!(log.tanks().unwrap().len(), 1);

    add(&mut log, "  Big   den ", "america/new_york").unwrap();
    let full = NewTank {
        volume_l: Some(54.5),
        note: Some("by the door".into()),
        ..NewTank::new("ABC", "UTC", WaterKind::Brackish)
    };
    log.write(at(NOW), |w| w.add_tank(&full)).unwrap();
    let all = log.tanks().unwrap();
    assert_eq!(all.iter().map(|t| t.name.as_str()).collect::<Vec<_>>(), ["ABC", "Big den", "Hall"]);
    assert_eq!(
        (all[0].volume_l, all[0].note.as_deref(), all[0].water),
        (Some(54.5), Some("by the door"), WaterKind::Brackish)
    );
    assert_eq!((all[1].zone.as_str(), all[1].water), ("America/New_York", WaterKind::Marine));
    assert_eq!(log.tank(" BIG den").unwrap().id, all[1].id);
    let e = log.tank("Attic").unwrap_err();
    assert_eq!(e.to_string(), "there is no tank 'Attic'; there are: ABC, Big den, Hall");

    // A name is free again after an undo, and then the old tank cannot come back.
    let gone = undo(&mut log, Undo::Entry(hall));
    add(&mut log, "Hall", "UTC").unwrap();
    assert_eq!(undo_error(&mut log, Undo::Entry(gone[0].by)), "tank-taken");
    assert_eq!(log.tank("Hall").unwrap().zone, "UTC");
    let sample = NewSample::new(Target::Tank(hall), moment(NOW));
    assert_eq!(log.write(at(NOW), |w| w.add_sample(&sample)).unwrap_err().code(), "undo-already");
}

#[test]
fn events_keep_their_facts() {
    let (mut log, hall) = fresh();
    let facts = serde_json::json!({"litres": 12.5, "parts": ["a", 0.1], "z": null, "a": {"deep": true}});
    let change = NewEvent {
        note: Some("tap water".into()),
        payload: facts.as_object().unwrap().clone(),
        ..NewEvent::new(" water-change ", Some(hall), moment("2026-03-02T08:00:00Z"))
    };
    let home = NewEvent::new("power-cut", None, moment("2026-03-01T08:00:00Z"));
    let (a, b) = log.write(at(NOW), |w| Ok((w.add_event(&change)?, w.add_event(&home)?))).unwrap();
    let all = log.events(None).unwrap();
    assert_eq!(
        all.iter().map(|e| (e.id, e.kind.as_str())).collect::<Vec<_>>(),
        [(b, "power-cut"), (a, "water-change")]
    );
    assert_eq!((&all[1].payload, all[1].note.as_deref(), all[1].at), (&change.payload, Some("tap water"), change.at));
    assert_eq!(log.events(Some(hall)).unwrap().len(), 1);
    let mut deep = serde_json::json!(1);
    for _ in 0..200 {
        deep = serde_json::json!([deep]);
    }
    let deep = NewEvent { payload: [("deep".to_string(), deep)].into_iter().collect(), ..home.clone() };
    assert_eq!(log.write(at(NOW), |w| w.add_event(&deep)).unwrap_err().code(), "entry-unfit");
    assert_eq!(
        log.write(at(NOW), |w| w.add_event(&NewEvent::new(" ", None, moment(NOW)))).unwrap_err().code(),
        "entry-empty"
    );
}

#[test]
fn entries_are_found_by_the_end_of_their_id() {
    let (mut log, hall) = fresh();
    let a = add(&mut log, hall, NOW, &by_eye(5.0));
    assert_eq!(log.find(&a.id.short()).unwrap(), a.id);
    assert_eq!(log.find(&format!(" {} ", a.id.to_string().to_uppercase())).unwrap(), a.id);
    for bad in ["", "abc", "%%%%", "____", "ffffffff-0000"] {
        assert_eq!(log.find(bad).unwrap_err().code(), "entry-unknown", "{bad}");
    }
}
