//! Many photos at once: folders, order, rules, tables, copies, what came late.

use super::week::{PHOTOS, RULES, day, standing, week};
use super::wire::{LogHistory, LogList, ReadDone};
use crate::support::shot::Shot;

const NEW: [&str; 2] = ["home/log.db", "home/photos/"];

#[test]
fn a_folder_is_read_in_the_order_of_its_times_and_once() {
    let house = week();
    house.lay("week/notes.txt", "x").lay("week/.hidden.jpg", "x");
    let said = house.run(&["read", "week", "--workers", "3"]).touches(&NEW).go();
    assert_eq!(
        said.out,
        format!(
            "{PHOTOS} photos: {PHOTOS} read, 0 in the log before, {PHOTOS} readings logged.\n\
             1 file passed over that by the name are no photos.\n"
        )
    );
    let log = house.run(&["log", "--json"]).go().json::<LogList>().readings;
    let by_time: Vec<&str> = log.iter().map(|r| r.id.as_str()).collect();
    // Entered by time, though the names run the other way.
    let history = house.run(&["log", "history", "--last", "1000", "--json"]).go().json::<LogHistory>().entries;
    let written: Vec<&str> = history.iter().filter(|e| e.kind == "reading").map(|e| e.id.as_str()).collect();
    assert_eq!((by_time.len(), by_time), (PHOTOS, written));
    let again = house.run(&["read", "week", "--json"]).go().json::<ReadDone>();
    assert_eq!((again.summary.known, again.summary.read, again.summary.readings), (PHOTOS, 0, 0));
    assert!(again.photos.iter().all(|p| p.known && p.samples.is_empty() && p.tank.as_deref() == Some("reef")));
    // Renamed, and stripped of its metadata: the same photo.
    std::fs::rename(house.path("desk/week/p90.jpg"), house.path("desk/week/x.jpg")).unwrap();
    let bare = Shot::new().dyed("B", 2.0).jpeg();
    house.lay("week/stripped.jpg", bare);
    house.run(&["read", "week"]).out_has("9 photos: 0 read, 9 in the log before, 0 readings logged.").go();
}

#[test]
fn readings_are_the_same_however_many_workers() {
    let one = week();
    one.run(&["read", "week", "--workers", "1"]).touches(&NEW).go();
    let many = week();
    many.run(&["read", "week", "--workers", "8"]).touches(&NEW).go();
    let (one, many) = (standing(&one), standing(&many));
    assert_eq!((one.len(), &one), (PHOTOS, &many));
}

#[test]
fn nothing_is_guessed_where_nobody_says_what_a_photo_shows() {
    let house = week();
    std::fs::remove_file(house.path("home/rules.toml")).unwrap();
    let said = house.run(&["read", "week"]).exit(1).err_has("[photo-unsaid]").go();
    assert_eq!(said.err.lines().count(), PHOTOS, "one line a photo: {}", said.err);
    assert!(said.out.contains(&format!("{PHOTOS} × photo-unsaid: What does it show?")), "{}", said.out);
    // With the rule back, a photo without a time is set aside, and so is one without a card: a rule makes no test of a holiday.
    std::fs::write(house.path("home/rules.toml"), RULES).unwrap();
    house.lay("week/silent.jpg", Shot::new().dyed("B", 3.3).jpeg());
    house.lay("week/beach.jpg", Shot::bare().taken("2026:03:03 18:30:00", None).jpeg());
    let run = ["read", "week", "--json"];
    let said = house.run(&run).exit(3).err_has("[time-missing]").err_has("[card-missing]").touches(&NEW).go();
    let done = said.json::<ReadDone>();
    assert_eq!((done.summary.aside, done.summary.read, done.summary.refused), (2, PHOTOS, 0));
    let codes: Vec<&str> = done.summary.reasons.iter().map(|r| r.code.as_str()).collect();
    assert_eq!(codes, ["card-missing", "time-missing"]);
    assert_eq!(standing(&house).len(), PHOTOS);
}

#[test]
fn one_broken_photo_never_stops_the_others() {
    let house = week();
    let (_, whole) = day(0);
    house.lay("week/half.jpg", &whole[..whole.len() / 2]).lay("week/empty.jpg", "").lay("week/text.jpeg", "hello");
    std::os::unix::fs::symlink("nowhere", house.path("desk/week/link.jpg")).unwrap();
    let done = super::brokenoff::start(&house, &["read", "week"]).wait_with_output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    assert_eq!((done.status.code(), err.lines().count()), (Some(3), 4), "one line each: {err}");
    for says in ["half.jpg: ", "[photo-torn]", "[photo-empty]", "[photo-text]", "link.jpg could not be read"] {
        assert!(err.contains(says), "{says}: {err}");
    }
    assert!(out.contains("12 photos: 8 read, 0 in the log before, 8 readings logged, 4 photos set aside."), "{out}");
}

#[test]
fn a_dry_run_says_by_whose_word_and_writes_nothing() {
    let house = week();
    house.lay("week/tintline.csv", "file,tank,stations,at\np90.jpg,reef,B=nitrite:1+4,2026-03-01 07:15\n");
    let done = house.run(&["read", "week", "--dry-run", "--json"]).go().json::<ReadDone>();
    assert!(done.summary.dry_run && done.summary.readings == PHOTOS);
    let (first, second) = (&done.photos[0], &done.photos[1]);
    assert_eq!((first.file.as_str(), first.named_by.as_deref()), ("week/p90.jpg", Some("rule")));
    assert!(first.rule.as_ref().unwrap().ends_with("week/tintline.csv line 2"), "{:?}", first.rule);
    assert_eq!(first.taken.as_ref().unwrap().at, "2026-03-01T07:15:00+01:00");
    assert_eq!(first.samples[0].dilution_added, Some(4.0));
    assert!(second.rule.as_ref().unwrap().ends_with("rules.toml line 3"), "{:?}", second.rule);
    house.run(&["read", "week", "--dry-run"]).out_has("What it shows is said by week/tintline.csv line 2.").go();
    house.run(&["log"]).out_has("No readings").go();
}

#[test]
fn rules_that_cannot_be_meant_stop_it_before_anything_is_read() {
    for (rules, code, says) in [
        ("format = 1\n\n[[rule]]\nfolder = \"week\"\nstations = [\"B=nitrat\"]\n", "test-unknown", "line 3:"),
        (
            "format = 1\n[[rule]]\nfolder = \"week\"\ntank = \"pond\"\nstations = [\"B=nitrite\"]\n",
            "tank-unknown",
            "line 2:",
        ),
        ("format = 1\n[[rule]]\nfolders = \"week\"\nstations = [\"B=nitrite\"]\n", "rules-malformed", "line 3:"),
        ("format = 9\n", "rules-newer", "format 9"),
    ] {
        let house = week();
        std::fs::write(house.path("home/rules.toml"), rules).unwrap();
        house.run(&["read", "week"]).exit(2).err_has(&format!("[{code}]")).err_has(says).go();
    }
    let house = week();
    house.lay("week/tintline.csv", "file,tank\np90.jpg,pond\n");
    house.run(&["read", "week"]).exit(2).err_has("tintline.csv line 2: ").go();
}

#[test]
fn a_photo_saved_anew_is_asked_about() {
    let house = week();
    house.run(&["read", "week"]).touches(&NEW).go();
    // The same scene at the same second, coded anew.
    let picture = image::open(house.path("desk/week/p85.jpg")).unwrap().to_rgb8();
    let same = Shot::new().taken("2026:03:15 18:30:00", Some("+01:00")).jpeg_after(|_| picture);
    house.lay("week/sent.jpg", same);
    let said = house.run(&["read", "week"]).exit(3).err_has("[photo-twin]").err_has("--twins").go();
    assert!(
        said.out.contains("9 photos: 0 read, 8 in the log before, 0 readings logged, 1 photo set aside."),
        "{}",
        said.out
    );
    house.run(&["read", "week", "--twins"]).out_has("1 reading logged").touches(&NEW).go();
}

#[test]
fn what_was_taken_back_stays_so() {
    let house = week();
    house.run(&["read", "week"]).touches(&NEW).go();
    house.run(&["log", "undo", "--photo", "week/p90.jpg"]).out_has("Undone").touches(&["home/log.db"]).go();
    house.run(&["read", "week"]).out_has("week/p90.jpg: Its readings were taken back").go();
    assert_eq!(standing(&house).len(), PHOTOS - 1);
    // Named itself it is meant.
    house.run(&["read", "week/p90.jpg"]).touches(&["home/log.db"]).out_has("1 reading logged").go();
}

#[test]
fn what_came_late_is_told_and_the_newest_still_counts() {
    let house = week();
    std::fs::create_dir(house.path("desk/later")).unwrap();
    for name in ["p90.jpg", "p89.jpg"] {
        std::fs::rename(house.path("desk/week").join(name), house.path("desk/later").join(name)).unwrap();
    }
    house.run(&["read", "week"]).touches(&NEW).go();
    std::fs::rename(house.path("desk/later"), house.path("desk/week/later")).unwrap();
    let copy = house.copy();
    let done = house.run(&["read", "week", "--json"]).touches(&NEW).go().json::<ReadDone>();
    let late = &done.summary.late[..];
    assert_eq!(late.len(), 1);
    let one = &late[0];
    assert_eq!((one.tank.as_deref(), one.analyte.as_str(), one.readings, one.before), (Some("reef"), "nitrite", 2, 6));
    assert_eq!((one.from.as_str(), one.to.as_str()), ("2026-03-10T17:30:00Z", "2026-03-11T17:30:00Z"));
    let [moved] = &done.summary.moved[..] else { panic!("one tank") };
    assert!(moved.tank == "reef" && moved.changed.is_empty(), "{moved:?}");
    let newest = house.run(&["log", "--json"]).go().json::<LogList>().readings.pop().unwrap();
    assert_eq!((one.newest.as_str(), one.newest_text.as_str()), (newest.id.as_str(), newest.text.as_str()));
    copy.run(&["read", "week"])
        .touches(&NEW)
        .out_has("Late: reef, nitrite: 2 readings of 2026-03-10 to 2026-03-11 came after 6")
        .out_has("\n  reef: stage, danger and doubts are as they were.\n  Values of past days sound no alarm.")
        .go();
}

#[test]
fn the_table_has_a_line_for_everything() {
    let house = week();
    house.lay("week/empty.jpg", "");
    house.lay("week/beach.jpg", Shot::bare().taken("2026:03:03 18:30:00", None).jpeg());
    let touched = [&NEW[..], &["desk/all.csv"]].concat();
    house.run(&["read", "week", "--csv", "all.csv"]).exit(3).err_has("[photo-empty]").touches(&touched).go();
    let mut csv = csv::Reader::from_path(house.path("desk/all.csv")).unwrap();
    let at = |name: &str, header: &csv::StringRecord| header.iter().position(|h| h == name).unwrap();
    let header = csv.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = csv.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), PHOTOS + 2);
    let of = |outcome: &str| rows.iter().filter(|r| &r[at("outcome", &header)] == outcome).count();
    assert_eq!((of("added"), of("set-aside")), (PHOTOS, 2));
    let read = rows.iter().find(|r| &r[at("outcome", &header)] == "added").unwrap();
    assert!(read[at("value", &header)].parse::<f64>().unwrap() > 1.0 && &read[at("unit", &header)] == "mg/L NO2-");
    assert!(rows.iter().filter(|r| &r[at("outcome", &header)] != "added").all(|r| r[at("value", &header)].is_empty()));
}

#[test]
fn the_page_shows_the_week_and_asks_no_network() {
    let house = week();
    house.lay("week/<b>&.jpg", "");
    let touched = [&NEW[..], &["desk/page/"]].concat();
    house.run(&["read", "week", "--review", "page"]).exit(3).err_has("[photo-empty]").touches(&touched).go();
    let html = std::fs::read_to_string(house.path("desk/page/index.html")).unwrap();
    assert_eq!(html.matches("<article").count(), PHOTOS + 1);
    assert!(html.contains("week/&lt;b&gt;&amp;.jpg") && !html.contains("<b>&"), "names are text, never markup");
    for outside in ["http:", "https:", "//", "@import", "url("] {
        assert!(!html.contains(outside), "{outside} in the page");
    }
    // Every picture it names is there and can be read.
    let names: Vec<&str> = html.split("<img src=\"").skip(1).map(|s| s.split('"').next().unwrap()).collect();
    assert_eq!(names.len(), PHOTOS);
    for name in names {
        assert!(image::open(house.path("desk/page").join(name)).unwrap().width() <= 1280);
    }
    // The state of each is a word.
    assert_eq!(html.matches("<span class=state>set aside</span>").count(), 1);
    assert_eq!(html.matches("<span class=state>read</span>").count(), PHOTOS);
}

#[test]
fn what_appears_or_vanishes_meanwhile_gets_its_line() {
    let house = week();
    let log = tintline::log::Log::open(&house.path("home/log.db")).unwrap();
    house.lay("week/b.jpg", Shot::new().dyed("B", 3.1).jpeg());
    let (pipe, fresh) = (day(PHOTOS).1, day(PHOTOS + 1).1);
    // A pipe holds the one worker up between the photos with a time and the one without.
    assert!(std::process::Command::new("mkfifo").arg(house.path("desk/pipe.jpg")).status().unwrap().success());
    let args = ["read", "week", "pipe.jpg", "--workers", "1"];
    std::fs::write(house.path("home/rules.toml"), RULES.replace("folder = \"week\"", "file = \"*\"")).unwrap();
    let mut child = super::brokenoff::start(&house, &args);
    super::brokenoff::wait_for(|| log.readings(&Default::default()).unwrap().len() == PHOTOS, &mut child);
    std::fs::remove_file(house.path("desk/week/b.jpg")).unwrap();
    house.lay("week/a.jpg", fresh);
    house.lay("pipe.jpg", pipe);
    let done = child.wait_with_output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    assert_eq!(done.status.code(), Some(3), "{out}{err}");
    assert!(err.contains("b.jpg could not be read") && err.lines().count() == 1, "{err}");
    assert!(out.contains("11 photos: 10 read, 0 in the log before, 10 readings logged, 1 photo set aside."), "{out}");
}
