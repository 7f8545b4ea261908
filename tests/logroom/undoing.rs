//! Undoing, correcting, moving: nothing is lost on the way.

use super::*;

#[test]
fn undo_goes_back_step_by_step_and_can_be_undone() {
    let (mut log, hall) = fresh();
    let a = add(&mut log, hall, "2026-03-01T08:00:00Z", &by_eye(5.0));
    let b = add(&mut log, hall, "2026-03-01T09:00:00Z", &by_eye(10.0));
    let fix = log
        .write(at(NOW), |w| w.correct(a.id, &measured(7.0, 6.0, 8.0, &nitrate().unit), None, "wrong shade"))
        .unwrap();
    let event = log.write(at(NOW), |w| w.add_event(&NewEvent::new("feeding", Some(hall), moment(NOW)))).unwrap();
    let note = log.write(at(NOW), |w| w.note(b.id, "the strip was old")).unwrap();
    assert_eq!(values(&log), [7.0, 10.0]);

    let mut order = Vec::new();
    for _ in 0..6 {
        order.push(undo(&mut log, Undo::Last)[0].clone());
    }
    assert_eq!(order.iter().map(|u| u.subject).collect::<Vec<_>>(), [note, event, fix, b.id, a.id, hall]);
    assert_eq!(order[2].stands, Some(a.id));
    assert_eq!(undo_error(&mut log, Undo::Last), "undo-nothing");
    assert!(values(&log).is_empty() && log.tanks().unwrap().is_empty() && log.events(None).unwrap().is_empty());

    // Undoing the undos, newest first, brings everything back.
    for u in order.iter().rev() {
        let back = undo(&mut log, Undo::Entry(u.by));
        assert_eq!((back[0].subject, back[0].how), (u.subject, Turned::BroughtBack));
        assert_eq!(undo_error(&mut log, Undo::Entry(u.by)), "undo-overruled");
    }
    assert_eq!(values(&log), [7.0, 10.0]);
    assert_eq!((log.tanks().unwrap().len(), log.events(Some(hall)).unwrap()[0].id), (1, event));

    // Undo, undo the undo, undo that one: undone.
    let once = undo(&mut log, Undo::Entry(b.id));
    assert_eq!(undo_error(&mut log, Undo::Entry(b.id)), "undo-already");
    let twice = undo(&mut log, Undo::Entry(once[0].by));
    let thrice = undo(&mut log, Undo::Entry(twice[0].by));
    assert_eq!((thrice[0].subject, thrice[0].how), (b.id, Turned::Undone));
    assert_eq!(values(&log), [7.0]);

    let e = log.write(at(NOW), |w| w.undo(&Undo::Entry(a.id), "  ")).unwrap_err();
    assert_eq!(e.code(), "reason-missing");
    assert_eq!(values(&log), [7.0]);
}

#[test]
fn a_photo_or_a_sample_is_undone_as_a_whole() {
    let (mut log, hall) = fresh();
    let eye = add(&mut log, hall, NOW, &by_eye(5.0));
    let one = add(&mut log, hall, NOW, &from_photo(20.0, "p1", "A", "kit-1"));
    add(&mut log, hall, NOW, &from_photo(21.0, "p1", "A", "kit-2"));
    add(&mut log, hall, NOW, &from_photo(30.0, "p1", "C", "kit-1"));
    assert_eq!(values(&log), [5.0, 21.0, 30.0]);
    // The superseded one goes as well: nothing of the photo may come up again.
    assert_eq!(undo(&mut log, Undo::Photo("p1".into())).len(), 3);
    assert_eq!(values(&log), [5.0]);
    assert_eq!(undo_error(&mut log, Undo::Photo("p1".into())), "undo-nothing");

    undo(&mut log, Undo::Entry(eye.sample));
    assert!(values(&log).is_empty());
    assert_eq!(log.reading(eye.id).unwrap().standing, Standing::Undone);
    assert_eq!(
        log.write(at(NOW), |w| w.add_reading(Whose::Sample(eye.sample), &by_eye(1.0))).unwrap_err().code(),
        "undo-already"
    );
    let test = log.journal(100).unwrap().into_iter().find(|l| l.kind == "test").unwrap().id;
    assert_eq!(undo_error(&mut log, Undo::Entry(test)), "entry-kind");
    assert_eq!(
        log.write(at(NOW), |w| w.correct(one.sample, &measured(1.0, 1.0, 1.0, &nitrate().unit), None, "x"))
            .unwrap_err()
            .code(),
        "entry-kind"
    );
}

#[test]
fn samples_move_and_get_another_time() {
    let (mut log, hall) = fresh();
    let den = tank(&mut log, "Den");
    let pad = key(&Analyte::Hardness, "dH");
    let a = add(&mut log, hall, "2026-03-01T08:00:00Z", &by_eye(5.0));
    let second = NewReading::by_hand(pad.clone(), Outcome::Read(measured(6.0, 4.0, 8.0, &pad.unit)), None, "0.1.0");
    let b = log.write(at(NOW), |w| w.add_reading(Whose::Sample(a.sample), &second)).unwrap();
    assert_eq!(b.sample, a.sample);
    let of = |log: &Log, tank| log.readings(&Filter { tank: Some(tank), ..Filter::default() }).unwrap().len();
    assert_eq!((of(&log, hall), of(&log, den)), (2, 0));

    let moved = log.write(at(NOW), |w| w.move_sample(a.sample, Target::Tank(den), None, "wrong tank")).unwrap();
    assert_eq!((of(&log, hall), of(&log, den)), (0, 2));
    log.write(at(NOW), |w| w.move_sample(a.sample, Target::Standard, Some("5 mg/L"), "it was the standard")).unwrap();
    let s = log.reading(a.id).unwrap().sample;
    assert_eq!((s.target, s.tank.as_deref(), s.label.as_deref()), (Target::Standard, None, Some("5 mg/L")));
    assert_eq!(undo(&mut log, Undo::Last)[0].stands, None);
    assert_eq!((of(&log, hall), of(&log, den)), (0, 2));
    // A tank to which an undo would bring readings back cannot be gone.
    undo(&mut log, Undo::Entry(hall));
    assert_eq!(undo_error(&mut log, Undo::Entry(moved)), "tank-in-use");
    assert_eq!(undo_error(&mut log, Undo::Entry(den)), "tank-in-use");
    assert_eq!((of(&log, hall), of(&log, den)), (0, 2));
    assert_eq!(
        log.write(at(NOW), |w| w.move_sample(a.sample, Target::Tank(hall), None, "x")).unwrap_err().code(),
        "undo-already"
    );

    let new = Moment { certainty: Certainty::Unsure, ..moment("2026-02-01T08:00:00Z") };
    log.write(at(NOW), |w| w.retime_sample(a.sample, &new, "the phone's clock was wrong")).unwrap();
    let until = Filter { until: Some(at("2026-02-02T00:00:00Z")), ..Filter::default() };
    assert_eq!(log.readings(&until).unwrap().len(), 2);
    assert_eq!(log.reading(b.id).unwrap().sample.drawn, Some(new));
    undo(&mut log, Undo::Last);
    assert_eq!(log.readings(&until).unwrap().len(), 0);
    assert_eq!(log.reading(a.id).unwrap().sample.drawn, Some(moment("2026-03-01T08:00:00Z")));
    let changes: Vec<Change> = log.history(a.id).unwrap().into_iter().filter_map(|l| l.change).collect();
    assert_eq!(changes.iter().map(|c| c.kind.as_str()).collect::<Vec<_>>(), ["move", "move", "undo", "retime", "undo"]);
    assert_eq!((changes[0].target, changes[0].reason.as_deref()), (Some(Target::Tank(den)), Some("wrong tank")));
    assert_eq!(changes[3].drawn, Some(new));
}
