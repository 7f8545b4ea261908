//! `log table`: a spreadsheet into the log.

use super::wire::{EventList, Failed, LogList, LogTable};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

const TABLE: &str = "Date;pH;NO2;NO3;Change;Fed;Remarks\n\
    1.3.2026 18:30;7,4;0;10;;;new lamp\n\
    2.3.2026 18:30;7,6;0,25;<5;30%;0,5;\n\
    3.3.2026 18:30;;5+;trace;20 L;-;\n";

const COLUMNS: &[&str] = &[
    "--column",
    "pH=pH",
    "--column",
    "NO2=nitrite mg/L NO2-",
    "--column",
    "NO3=nitrate mg/L NO3-",
    "--column",
    "Change=water-change",
    "--column",
    "Fed=feeding g",
    "--column",
    "Remarks=note",
];

fn hall(table: &str) -> House {
    let house = House::new();
    house.run(&["tank", "add", "hall", "--water", "fresh", "--volume", "60"]).touches(&LOG).go();
    house.lay("t.csv", table.as_bytes());
    house
}

fn failed(house: &House, args: &[&str], exit: i32) -> (String, String) {
    let said = house.run(&[&["log", "table", "t.csv", "--json"], args].concat()).exit(exit).err_has("error: ").go();
    let e = said.json::<Failed>().error;
    (e.code, e.remedy)
}

#[test]
fn a_table_is_shown_then_written_then_there_already() {
    let house = hall(TABLE);
    let limits = ["--first-shade", "NO2=0.25", "--first-shade", "NO3=0, 5, 10, 25, 50, 100"];
    let args = [&["log", "table", "t.csv"], COLUMNS, &limits].concat();
    let dry = house.run(&[&args[..], &["--json"]].concat()).go().json::<LogTable>();
    assert!(!dry.written && dry.wrong.is_empty());
    let cells: Vec<(u64, &str, &str)> = dry.cells.iter().map(|c| (c.line, c.what.as_str(), c.text.as_str())).collect();
    assert_eq!(
        cells,
        [
            (2, "pH", "pH 7.4 (6.9 to 7.9)"),
            (2, "nitrite", "not detected (below 0.25 mg/L NO2-)"),
            (2, "nitrate", "10 mg/L NO3- (5 to 25)"),
            (2, "note", "new lamp"),
            (3, "pH", "pH 7.6 (7.1 to 8.1)"),
            (3, "nitrite", "0.25 mg/L NO2- (0.12 to 0.50)"),
            (3, "nitrate", "not detected (below 5 mg/L NO3-)"),
            (3, "water-change", "share 0.3"),
            (3, "feeding", "grams 0.5"),
            (4, "nitrite", "above 5 mg/L NO2-"),
            (4, "nitrate", "2.5 mg/L NO3- (0 to 5.0)"),
            (4, "water-change", "litres 20.0"),
        ]
    );
    assert_eq!(dry.cells[0].at.at, "2026-03-01T18:30:00+01:00");
    house.run(&args).out_has("Nothing was written. 12 would be").go();
    house.run(&["log"]).out_has("No readings.").go();
    house.run(&[&args[..], &["--write"]].concat()).touches(&LOG).out_has("12 written for hall, 0 there already.").go();
    house.run(&[&args[..], &["--write"]].concat()).out_has("0 written for hall, 12 there already.").go();
    let readings = house.run(&["log", "--json"]).go().json::<LogList>().readings;
    assert_eq!(readings.len(), 8);
    let zero = readings.iter().find(|r| r.limit == Some(0.25)).unwrap();
    assert_eq!((zero.status.as_str(), zero.value, zero.origin.as_str()), ("not-detected", None, "hand"));
    assert_eq!(house.run(&["event", "list", "--json"]).go().json::<EventList>().events.len(), 4);
    // One reading taken back is new to a later import, and only that one.
    house.run(&["log", "undo", &readings[0].id]).touches(&LOG).go();
    house.run(&args).out_has("1 would be, for hall; 11 there already").go();
}

#[test]
fn a_mapping_from_a_file() {
    let house = hall("Day,Clock,NO2\n3/4/2026,7:05 pm,0.5\n");
    let map = "time = \"Day\"\nclock_column = \"Clock\"\ndate_order = \"month-day\"\n\n[[column]]\nname = \"NO2\"\n\
        what = \"nitrite\"\nunit = \"mg/L NO2-\"\nshades = \"0, 0.25, 0.5, 1\"\n";
    house.lay("map.toml", map.as_bytes());
    let done = house.run(&["log", "table", "t.csv", "--map", "map.toml", "--json"]).go().json::<LogTable>();
    assert_eq!(done.cells[0].at.at, "2026-03-04T19:05:00+01:00");
    assert_eq!(done.cells[0].text, "0.50 mg/L NO2- (0.25 to 1.00)");
    let other = ["log", "table", "t.csv", "--map", "map.toml", "--date-order", "day-month", "--json"];
    let done = house.run(&other).go().json::<LogTable>();
    assert_eq!(done.cells[0].at.at, "2026-04-03T19:05:00+02:00");
    house.lay("bad.toml", b"tank = 1");
    house.run(&["log", "table", "t.csv", "--map", "bad.toml"]).exit(2).err_has("[table-mapping-file]").go();
}

#[test]
fn what_a_table_leaves_open_is_asked() {
    let ph = &["--column", "pH=pH"][..];
    let no2 = &["--column", "NO2=nitrite mg/L NO2-"][..];
    for (table, args, exit, code, names) in [
        ("Date,pH\n3/4/2026 18:30,7\n", ph, 2, "table-date-order", "--date-order"),
        ("Date,pH\n13/4/2026 18:30,7\n4/13/2026 18:30,7\n", ph, 1, "table-date-mixed", "2026-04-13"),
        ("Date,pH\n2026-03-01,7\n", ph, 2, "table-no-clock", "--clock"),
        ("Date,NO2\n2026-03-01 18:30,0\n2026-03-02 18:30,0.25\n", no2, 2, "table-zeros", "--first-shade 'NO2="),
        ("Date,NO2\n2026-03-01 18:30,0\n", &["--column", "NO2=nitrite"], 2, "entry-no-unit", "mg/L NO2-"),
        ("Date,NO2\n2026-03-01 18:30,1\n", &["--column", "NO2=nitrite mg/L"], 2, "unit-needs-basis", "mg/L NO2-N"),
        ("Date,pH\n2026-03-01 18:30,7\n", &["--column", "PO4=phosphate"], 2, "table-no-column", "first line"),
        ("Date,pH\n2026-03-01 18:30,7\n", &[], 2, "table-no-mapping", "--column"),
        ("Tag,pH\n2026-03-01 18:30,7\n", ph, 2, "table-no-column", "first line"),
        ("Date,pH,pH\n2026-03-01 18:30,7,8\n", ph, 2, "table-column-twice", "Rename"),
        ("Date,pH\n", ph, 1, "table-empty", "header"),
        ("Date,pH\n2026-03-01 18:30,7\n", &["--column", "pH"], 2, "table-mapping", "COLUMN=WHAT"),
    ] {
        let house = hall(table);
        let (found, remedy) = failed(&house, args, exit);
        assert_eq!(found, code, "{table}");
        assert!(remedy.contains(names), "{table}: {remedy}");
    }
    hall("Date,pH\n2026-03-01,7\n").run(&["log", "table", "t.csv", "--column", "pH=pH", "--clock", "18:00"]).go();
}

#[test]
fn wrong_rows_are_named_and_keep_all_from_being_written() {
    let house = hall(
        "Date,pH,Change\n2026-03-01 18:30,7,\n2026-03-02 18:30,15,30%\nsoon,7,\n2999-01-01 18:30,7,\n2026-03-03 18:30,7.2,80 L\n",
    );
    let args = ["log", "table", "t.csv", "--column", "pH=pH", "--column", "Change=wc"];
    let done = house.run(&[&args[..], &["--json"]].concat()).exit(3).go().json::<LogTable>();
    let wrong: Vec<(u64, &str, &str)> =
        done.wrong.iter().map(|w| (w.line, w.column.as_str(), w.why.code.as_str())).collect();
    assert_eq!(
        wrong,
        [
            (3, "pH", "amount-ph-out-of-range"),
            (4, "Date", "event-number"),
            (5, "Date", "time-future"),
            (6, "Change", "change-more-than-tank"),
        ]
    );
    house.run(&[&args[..], &["--write"]].concat()).exit(1).err_has("[table-wrong-rows]").out_has("line 3, pH").go();
    house.run(&["log"]).out_has("No readings.").go();
    let skip = [&args[..], &["--write", "--skip-wrong"]].concat();
    house.run(&skip).exit(3).touches(&LOG).out_has("3 written").go();
    house.run(&["log", "table", "gone.csv"]).exit(1).err_has("[file-unusable]").go();
}
