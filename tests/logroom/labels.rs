//! Labels: numbers given out once, meaning something in one log only.

use super::{NOW, at, fresh, key, nitrate, tank};
use tintline::log::*;
use tintline::water::{Analyte, Quantity};

fn label(log: &mut Log, names: &Names, words: &str) -> Label {
    log.write(at(NOW), |w| w.label(names, words)).unwrap()
}

fn export(log: &Log) -> String {
    let mut out = Vec::new();
    log.export_json(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn a_thing_has_one_number_and_a_number_one_thing() {
    let (mut log, hall) = fresh();
    let reef = tank(&mut log, "Reef");
    let five = Names::Standard(Analyte::Nitrate, Quantity::new(5.0, nitrate().unit));
    let all = [
        (Names::Tank(hall), 256),
        (Names::Tank(reef), 257),
        (five.clone(), 258),
        (Names::Zero, 259),
        (Names::Clear, 260),
        (Names::Test(nitrate()), 16),
        (Names::Test(key(&Analyte::Nitrite, "mg/L NO2-")), 17),
        (Names::Tap, 261),
        (Names::NewWater, 262),
    ];
    for (names, number) in &all {
        let made = label(&mut log, names, "words");
        assert_eq!((made.number, &made.names, made.retired), (*number, names, false));
    }
    // A second time they are found, and nothing is written.
    let before = log.journal(u32::MAX).unwrap().len();
    for (names, number) in &all {
        assert_eq!(label(&mut log, names, "other words").number, *number);
    }
    assert_eq!(log.journal(u32::MAX).unwrap().len(), before);
    let listed: Vec<u32> = log.labels().unwrap().iter().map(|l| l.number).collect();
    assert_eq!(listed, [16, 17, 256, 257, 258, 259, 260, 261, 262]);
    assert_eq!(log.labels().unwrap()[4].names, five);
}

#[test]
fn a_retired_number_is_not_given_out_again() {
    let (mut log, hall) = fresh();
    let first = label(&mut log, &Names::Tank(hall), "Hall");
    log.write(at(NOW), |w| w.undo(&Undo::Entry(first.id), "lost")).unwrap();
    assert!(log.labels().unwrap()[0].retired);
    let second = label(&mut log, &Names::Tank(hall), "Hall");
    assert_eq!((first.number, second.number), (256, 257));
    // Undoing takes readings, events and tanks back, not labels that may have been printed.
    assert_eq!(log.write(at(NOW), |w| w.undo(&Undo::Last, "x")).unwrap()[0].subject, hall);
    assert!(log.labels().unwrap().iter().all(|l| l.retired), "the label of a tank that is gone");
}

#[test]
fn words_change_and_numbers_stay() {
    let (mut log, hall) = fresh();
    let made = label(&mut log, &Names::Tank(hall), "  Hall \n by the door ");
    assert_eq!(made.words, "Hall by the door");
    log.write(at(NOW), |w| w.rename_label(made.id, "Hall, left")).unwrap();
    let renamed = log.write(at(NOW), |w| w.rename_label(made.id, "Hall, right")).unwrap();
    let words = |log: &Log| log.labels().unwrap()[0].words.clone();
    assert_eq!((words(&log).as_str(), log.labels().unwrap()[0].number), ("Hall, right", made.number));
    assert_eq!(log.write(at(NOW), |w| w.undo(&Undo::Last, "no")).unwrap()[0].subject, renamed);
    assert_eq!(words(&log), "Hall, left");
    let wrong = |log: &mut Log, id, words: &str| log.write(at(NOW), |w| w.rename_label(id, words)).unwrap_err().code();
    assert_eq!(wrong(&mut log, made.id, "  "), "entry-empty");
    assert_eq!(wrong(&mut log, hall, "x"), "entry-kind");
}

#[test]
fn two_homes_come_together_by_id_and_never_by_number() {
    let (mut here, hall) = fresh();
    label(&mut here, &Names::Tank(hall), "Hall");
    label(&mut here, &Names::Test(nitrate()), "nitrate");
    let mut there = Log::open_memory().unwrap();
    let den = tank(&mut there, "Den");
    label(&mut there, &Names::Test(key(&Analyte::Nitrite, "mg/L NO2-")), "nitrite");
    label(&mut there, &Names::Test(nitrate()), "nitrate");
    label(&mut there, &Names::Tank(den), "Den");
    let text = export(&there);
    here.import_json(&mut text.as_bytes()).unwrap();
    let found: Vec<(u32, Names)> = here.labels().unwrap().into_iter().map(|l| (l.number, l.names)).collect();
    let (no3, no2) = (Names::Test(nitrate()), Names::Test(key(&Analyte::Nitrite, "mg/L NO2-")));
    let both = [(16, no3.clone()), (16, no2), (17, no3), (256, Names::Tank(hall)), (256, Names::Tank(den))];
    assert_eq!(found, both, "both keep what they name; the test both know is one test");
    assert_eq!(here.import_json(&mut text.as_bytes()).unwrap().added, 0);
    // A number that stands twice serves nobody: the next print has one of its own.
    assert_eq!(label(&mut here, &Names::Tank(hall), "Hall").number, 257);
    assert_eq!(label(&mut here, &Names::Test(nitrate()), "nitrate").number, 17, "the other home's number is as good");
    // Into an empty log an export brings everything back as it was.
    let mut copy = Log::open_memory().unwrap();
    copy.import_json(&mut export(&here).as_bytes()).unwrap();
    assert_eq!((copy.labels().unwrap(), export(&copy)), (here.labels().unwrap(), export(&here)));
}

#[test]
fn an_export_with_a_bent_label_is_refused() {
    let (mut log, hall) = fresh();
    label(&mut log, &Names::Tank(hall), "Hall");
    let text = export(&log);
    let edits = [
        ("\"number\":256", "\"number\":16", "import-conflict"),
        ("\"number\":256", "\"number\":512", "import-conflict"),
        ("\"names\":\"tank\"", "\"names\":\"pond\"", "import-conflict"),
        ("\"names\":\"tank\"", "\"names\":\"tap\"", "import-conflict"),
        ("\"value\":null", "\"value\":1.5", "import-conflict"),
        ("\"words\":\"Hall\"", "\"words\":\"\"", "import-conflict"),
    ];
    for (from, to, code) in edits {
        assert!(text.contains(from), "{from}");
        let mut empty = Log::open_memory().unwrap();
        let e = empty.import_json(&mut text.replace(from, to).as_bytes()).unwrap_err();
        assert_eq!(e.code(), code, "{to}: {e}");
        assert_eq!(empty.journal(5).unwrap(), []);
    }
}

#[test]
fn numbers_run_out_and_say_so() {
    let mut log = Log::open_memory().unwrap();
    let q = |i: u32| Quantity::new(f64::from(i + 1) / 8.0, nitrate().unit);
    log.write(at(NOW), |w| {
        (0..256).try_for_each(|i| w.label(&Names::Standard(Analyte::Nitrate, q(i)), "standard").map(drop))
    })
    .unwrap();
    assert_eq!(log.labels().unwrap().last().unwrap().number, 511);
    let e = log.write(at(NOW), |w| w.label(&Names::Zero, "zero")).unwrap_err();
    assert_eq!(e.code(), "labels-used-up");
}
