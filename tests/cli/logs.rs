//! `log`.

use super::furnished;
use super::wire::{LogHistory, LogImported, LogList, LogUndone};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

fn two_readings() -> House {
    let house = furnished();
    let read = |args: &[&str]| house.run(&[&["read", "--no-keep"], args].concat()).touches(&LOG).go();
    read(&["tank.jpg", "B=nitrite"]);
    read(&["local.jpg", "B=nitrite:1+1"]);
    house
}

#[test]
fn an_empty_log_says_so_and_is_not_made() {
    let house = House::new();
    house.run(&["log"]).out_has("No readings.").go();
    house.run(&["log", "history"]).out_has("Nothing has been written yet.").go();
    house.run(&["log", "undo"]).exit(2).err_has("there is nothing left to undo [undo-nothing]").go();
    house.run(&["log", "history", "abcd1234"]).exit(2).err_has("[entry-unknown]").go();
    let csv = house.run(&["log", "export", "csv"]).go().out;
    assert!(csv.starts_with("schema,id,standing,tank,") && csv.lines().count() == 1, "{csv}");
}

#[test]
fn readings_are_filtered() {
    let house = two_readings();
    let count = |args: &[&str]| house.run(&[&["log", "--json"], args].concat()).go().json::<LogList>().readings.len();
    assert_eq!(count(&[]), 2);
    assert_eq!(count(&["--tank", "reef", "--test", "Nitrite", "--analyte", "NO2", "--status", "measured"]), 2);
    assert_eq!(count(&["--analyte", "nitrate"]), 0);
    assert_eq!(count(&["--since", "2026-03-02"]), 1);
    assert_eq!(count(&["--until", "2026-03-02"]), 1);
    assert_eq!(count(&["--since", "2026-03-01 18:30", "--until", "2026-03-01 18:31", "--tank", "reef"]), 1);
    assert_eq!(count(&["--last", "1"]), 1);
    assert_eq!(count(&["--status", "not-detected"]), 0);
    house
        .run(&["log", "--tank", "hall"])
        .exit(2)
        .err_has("there is no tank 'hall'; there are: reef [tank-unknown]")
        .go();
    house.run(&["log", "--since", "last week"]).exit(2).err_has("[time-malformed]").go();
    house.run(&["log", "--status", "odd"]).exit(2).err_has("not-detected").go();
}

#[test]
fn an_undo_is_recorded_and_can_be_undone() {
    let house = two_readings();
    let undone = house.run(&["log", "undo", "--reason", "wrong vial", "--json"]).touches(&LOG).go().json::<LogUndone>();
    assert_eq!((undone.undone.len(), undone.undone[0].did.as_str()), (1, "undone"));
    house.run(&["log"]).out_has("2026-03-01").go();
    let all = house.run(&["log", "--all"]).go().out;
    assert!(all.lines().count() == 2 && all.contains("  undone") && all.contains("  current"), "{all}");
    house.run(&["log", "undo", &undone.undone[0].entry]).exit(2).err_has("[undo-already]").go();
    let back = house.run(&["log", "undo", &undone.undone[0].by, "--json"]).touches(&LOG).go().json::<LogUndone>();
    assert_eq!((back.undone[0].did.as_str(), &back.undone[0].entry), ("brought-back", &undone.undone[0].entry));
    let history = house.run(&["log", "history", &undone.undone[0].entry, "--json"]).go().json::<LogHistory>();
    let changes: Vec<_> =
        history.entries.iter().filter_map(|e| Some((e.change.as_deref()?, e.reason.as_deref()?))).collect();
    assert_eq!(changes, [("undo", "wrong vial"), ("redo", "no reason given")]);
    // A photo by its file.
    house.run(&["log", "undo", "--photo", "local.jpg"]).touches(&LOG).out_has("Undone: ").go();
    house
        .run(&["log", "undo", "--photo", "silent.jpg"])
        .exit(1)
        .err_has("silent.jpg is not in the log [photo-not-logged]")
        .go();
    house.run(&["log", "undo", "--photo", "gone.jpg"]).exit(1).err_has("[photo-not-logged]").go();
    house.run(&["log", "undo", "zz"]).exit(2).err_has("[entry-unknown]").go();
}

#[test]
fn exports_hold_all_and_come_back() {
    let house = two_readings();
    let csv = house.run(&["log", "export", "csv", "--since", "2026-03-02"]).go().out;
    let mut rows = csv::Reader::from_reader(csv.as_bytes());
    let head = rows.headers().unwrap().clone();
    let row = rows.records().next().unwrap().unwrap();
    let cell = |name: &str| row.get(head.iter().position(|h| h == name).unwrap()).unwrap();
    assert_eq!(
        (cell("tank"), cell("at"), cell("status"), cell("dilution_added")),
        ("reef", "2026-03-02T18:30:00+01:00", "measured", "1")
    );
    house.run(&["log", "export", "json", "--out", "log.json"]).touches(&["desk/log.json"]).go();
    house.run(&["log", "export", "json", "--tank", "reef"]).exit(2).err_has("always of the whole log").go();
    house.run(&["log", "export", "csv", "--out", "no/log.csv"]).exit(4).err_has("[store-failed]").go();
    let json = std::fs::read(house.path("desk/log.json")).unwrap();
    let other = House::new();
    other.lay("log.json", &json);
    let done = other.run(&["log", "import", "log.json", "--json"]).touches(&LOG).go().json::<LogImported>();
    assert!(done.added >= 8 && done.present == 0, "{done:?}");
    assert_eq!(other.run(&["log"]).go().out, house.run(&["log"]).go().out);
    assert_eq!(other.run(&["log", "export", "json"]).go().out.as_bytes(), json);
    // A second time nothing is new, and nothing is written.
    other.run(&["log", "import", "log.json"]).out_has("0 entries added from log.json, ").go();
    other.lay("half.json", &json[..json.len() / 2]).lay("odd.json", "{}");
    other.run(&["log", "import", "half.json"]).exit(1).err_has("[import-format]").go();
    other.run(&["log", "import", "odd.json"]).exit(1).err_has("[import-format]").go();
    let later = String::from_utf8(json).unwrap().replacen("\"schema\":2", "\"schema\":3", 1);
    other.lay("later.json", later);
    other.run(&["log", "import", "later.json"]).exit(1).err_has("[import-newer]").go();
    other.run(&["log", "import", "gone.json"]).exit(1).err_has("[file-unusable]").go();
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let house = two_readings();
    for args in [&["log"][..], &["log", "export", "csv"], &["log", "export", "json"], &["kit", "list"], &["--help"]] {
        house.run(args).out_closed().go();
    }
    // The work is done to its end: both photos are in the log.
    let house = furnished();
    house.run(&["read", "tank.jpg", "local.jpg", "B=nitrite", "--no-keep"]).touches(&LOG).out_closed().go();
    assert_eq!(house.run(&["log", "--json"]).go().json::<LogList>().readings.len(), 2);
}
