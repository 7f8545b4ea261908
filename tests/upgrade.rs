//! Opening files: new, old, too new, torn, somebody else's.

use super::logroom::{NOW, add, by_eye, from_photo, tank};
use super::roundtrip::export;
use std::path::{Path, PathBuf};
use tintline::log::*;

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/logs").join(name)
}

fn folder() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("log.db");
    (dir, path)
}

/// Names and contents of a folder.
fn contents(dir: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all: Vec<_> = std::fs::read_dir(dir)
        .unwrap()
        .map(|f| f.unwrap())
        .map(|f| (f.file_name().into_string().unwrap(), std::fs::read(f.path()).unwrap()))
        .collect();
    all.sort();
    all
}

fn open_error(path: &Path) -> LogError {
    match Log::open(path) {
        Ok(_) => panic!("{} was opened", path.display()),
        Err(e) => e,
    }
}

/// Writes a number into the header of a database, as <https://www.sqlite.org/fileformat.html> section 1.3 places it.
fn patch(path: &Path, offset: usize, number: i32) {
    let mut bytes = std::fs::read(path).unwrap();
    bytes[offset..offset + 4].copy_from_slice(&number.to_be_bytes());
    std::fs::write(path, bytes).unwrap();
}

const USER_VERSION: usize = 60;
const APPLICATION_ID: usize = 68;

#[test]
fn a_new_file_is_made_and_opened_again() {
    let (dir, path) = folder();
    let mut log = Log::open(&path).unwrap();
    assert_eq!(log.path(), path);
    let hall = tank(&mut log, "Hall");
    let id = add(&mut log, hall, NOW, &by_eye(5.0)).id;
    let before = export(&log);
    drop(log);
    // Closed, it is one file again.
    assert_eq!(contents(dir.path()).len(), 1);
    let log = Log::open(&path).unwrap();
    assert_eq!(log.reading(id).unwrap().sample.tank.as_deref(), Some("Hall"));
    assert_eq!(export(&log), before);
    let raw = rusqlite::Connection::open(&path).unwrap();
    let number = |sql: &str| raw.query_row(sql, [], |r| r.get::<_, i64>(0)).unwrap();
    assert_eq!(
        (number("PRAGMA user_version"), number("PRAGMA application_id")),
        (SCHEMA, i64::from(u32::from_be_bytes(*b"TINL")))
    );
    let mode: String = raw.query_row("PRAGMA journal_mode", [], |r| r.get(0)).unwrap();
    assert_eq!(mode, "wal");
    let tables =
        "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%'";
    assert_eq!(number(&format!("{tables} AND NOT strict")), 0);
    assert!(number(&format!("{tables} AND strict")) >= 9);
}

#[test]
fn an_empty_file_becomes_a_log() {
    let (_dir, path) = folder();
    std::fs::write(&path, b"").unwrap();
    tank(&mut Log::open(&path).unwrap(), "Hall");
    assert_eq!(Log::open(&path).unwrap().tanks().unwrap().len(), 1);
}

#[test]
fn a_log_of_schema_1_always_opens() {
    let (_dir, path) = folder();
    std::fs::copy(fixture("v1.db"), &path).unwrap();
    let mut log = Log::open(&path).unwrap();
    let tanks: Vec<_> = log.tanks().unwrap().into_iter().map(|t| (t.name, t.zone, t.water, t.volume_l)).collect();
    assert_eq!(
        tanks,
        [
            ("Hall".to_string(), "Europe/Berlin".to_string(), WaterKind::Fresh, Some(112.5)),
            ("Reef".to_string(), "America/New_York".to_string(), WaterKind::Marine, None),
        ]
    );
    let said = |filter: &Filter| -> Vec<String> {
        let text = |r: Reading| r.amount.as_ref().map_or_else(|| r.refusal[0].code.clone(), |a| a.to_string());
        log.readings(filter).unwrap().into_iter().map(text).collect()
    };
    assert_eq!(
        said(&Filter::default()),
        [
            "photo-blurred",
            "22.0 mg/L NO3- (19.8 to 24.2)",
            "not detected (below 0.05 mg/L NO2-)",
            "450 mg/L NO3- (400 to 500)",
            "below pH 6",
            "5.0 mg/L NO3- (4.5 to 5.5)",
        ]
    );
    assert_eq!(said(&Filter { show: Show::History, ..Filter::default() }).len(), 9);
    assert_eq!(log.journal(u32::MAX).unwrap().len(), 33);
    let event = &log.events(None).unwrap()[0];
    assert_eq!((event.kind.as_str(), event.payload["litres"].as_i64()), ("water-change", Some(30)));
    // The export of its time says the same.
    let mut imported = Log::open_memory().unwrap();
    imported.import_json(&mut std::fs::File::open(fixture("v1.json")).unwrap()).unwrap();
    assert_eq!(export(&log), export(&imported));
    // And it goes on.
    let hall = log.tank("Hall").unwrap().id;
    add(&mut log, hall, NOW, &from_photo(20.0, "new", "A", "kit-1"));
    assert_eq!(log.readings(&Filter::default()).unwrap().len(), 7);
}

#[test]
fn a_newer_file_is_left_as_it_is() {
    for wal in [false, true] {
        let (dir, path) = folder();
        std::fs::copy(fixture("v1.db"), &path).unwrap();
        if wal {
            drop(Log::open(&path).unwrap());
        }
        patch(&path, USER_VERSION, SCHEMA as i32 + 1);
        let before = contents(dir.path());
        let e = open_error(&path);
        assert_eq!(e.code(), "log-newer");
        assert!(
            e.to_string().ends_with(&format!("is of schema {}; this program knows schemas up to {SCHEMA}", SCHEMA + 1)),
            "{e}"
        );
        assert!(e.remedy().contains("newer version"));
        assert!(contents(dir.path()) == before, "the file or its folder changed");
    }
}

#[test]
fn a_version_that_stands_only_in_the_write_ahead_file_counts() {
    // A newer program brought the file up and was killed: the header still shows the old version.
    let (dir, path) = folder();
    tank(&mut Log::open(&path).unwrap(), "Hall");
    let newer = rusqlite::Connection::open(&path).unwrap();
    newer.execute_batch("PRAGMA wal_autocheckpoint = 0; CREATE TABLE later (x); PRAGMA user_version = 9").unwrap();
    let killed = dir.path().join("killed.db");
    let (wal, killed_wal) = (dir.path().join("log.db-wal"), dir.path().join("killed.db-wal"));
    std::fs::copy(&path, &killed).unwrap();
    std::fs::copy(&wal, &killed_wal).unwrap();
    let (file, ahead) = (std::fs::read(&killed).unwrap(), std::fs::read(&killed_wal).unwrap());
    assert_eq!(file[USER_VERSION..USER_VERSION + 4], [0, 0, 0, SCHEMA as u8]);
    assert_eq!(open_error(&killed).code(), "log-newer");
    assert!(std::fs::read(&killed).unwrap() == file && std::fs::read(&killed_wal).unwrap() == ahead);
}

#[test]
fn what_was_committed_survives_a_kill() {
    let (dir, path) = folder();
    let mut log = Log::open(&path).unwrap();
    let hall = tank(&mut log, "Hall");
    // The files as they lie while the program runs are what a killed one leaves behind.
    for i in 1..=20 {
        add(&mut log, hall, NOW, &by_eye(f64::from(i)));
        let killed = dir.path().join(format!("killed-{i}.db"));
        std::fs::copy(&path, &killed).unwrap();
        std::fs::copy(dir.path().join("log.db-wal"), dir.path().join(format!("killed-{i}.db-wal"))).unwrap();
        assert_eq!(Log::open(&killed).unwrap().readings(&Filter::default()).unwrap().len(), i as usize);
    }
}

#[test]
fn what_is_no_log_is_left_as_it_is() {
    let sqlite = |sql: &str| {
        let (dir, path) = folder();
        rusqlite::Connection::open(&path).unwrap().execute_batch(sql).unwrap();
        (dir, path)
    };
    let plain = |bytes: &[u8]| {
        let (dir, path) = folder();
        std::fs::write(&path, bytes).unwrap();
        (dir, path)
    };
    let renumbered = |offset, number| {
        let (dir, path) = folder();
        std::fs::copy(fixture("v1.db"), &path).unwrap();
        patch(&path, offset, number);
        (dir, path)
    };
    let cases = [
        ("log-damaged", plain(b"tank,value\nHall,0.1\n")),
        ("log-damaged", plain(&[0xff, 0xd8, 0xff, 0xe0].repeat(500))),
        ("log-damaged", plain(b"SQLite format 3\0")),
        ("log-foreign", sqlite("CREATE TABLE recipe (name)")),
        ("log-foreign", sqlite("CREATE TABLE recipe (name); PRAGMA user_version = 1")),
        ("log-foreign", sqlite("PRAGMA application_id = 77; CREATE TABLE recipe (name)")),
        ("log-foreign", renumbered(APPLICATION_ID, 77)),
        ("log-foreign", renumbered(USER_VERSION, 0)),
        ("log-foreign", renumbered(USER_VERSION, -1)),
    ];
    for (i, (code, (dir, path))) in cases.iter().enumerate() {
        let before = contents(dir.path());
        let e = open_error(path);
        assert_eq!(e.code(), *code, "case {i}: {e}");
        assert!(e.to_string().contains("log.db") && e.remedy().ends_with('.'), "{e}");
        let after = contents(dir.path());
        assert!(after[0] == before[0], "case {i}: the file changed");
    }
}

#[test]
fn where_nothing_can_be_written_nothing_is_said_to_be() {
    let (dir, path) = folder();
    std::fs::write(&path, b"x").unwrap();
    std::fs::create_dir(dir.path().join("sub")).unwrap();
    for (path, code) in [
        (dir.path().join("missing/log.db"), "log-unwritable"),
        (dir.path().join("sub"), "log-unwritable"),
        (path.join("log.db"), "log-unwritable"),
        (PathBuf::from(""), "log-unwritable"),
    ] {
        let e = open_error(&path);
        assert_eq!(e.code(), code, "{e}");
        assert!(e.remedy().contains("may write there"));
    }
    assert!(!dir.path().join("missing").exists());
}

#[test]
fn a_cut_file_is_never_a_shorter_log() {
    let whole = std::fs::read(fixture("v1.db")).unwrap();
    let page = usize::from(u16::from_be_bytes([whole[16], whole[17]]));
    let pages = whole.len() / page;
    assert!(pages > 20 && whole.len().is_multiple_of(page));
    // Forty places all over the file and every page's edge.
    let cuts = (1..=40).map(|i| whole.len() * i / 41).chain((1..pages).map(|p| p * page));
    let mut cut = 0;
    for len in cuts {
        let (_dir, path) = folder();
        std::fs::write(&path, &whole[..len]).unwrap();
        let e = open_error(&path);
        assert_eq!(e.code(), "log-damaged", "cut to {len}: {e}");
        cut += 1;
    }
    assert_eq!(cut, 40 + pages - 1);
}

#[test]
fn a_page_of_rubbish_is_an_error_not_a_panic() {
    let whole = std::fs::read(fixture("v1.db")).unwrap();
    let page = usize::from(u16::from_be_bytes([whole[16], whole[17]]));
    let all = Filter { show: Show::History, ..Filter::default() };
    let mut noticed = 0;
    for p in 1..whole.len() / page {
        let (_dir, path) = folder();
        let mut bytes = whole.clone();
        bytes[p * page..(p + 1) * page].fill(0xa5);
        std::fs::write(&path, bytes).unwrap();
        let asked = Log::open(&path).and_then(|log| {
            let readings = log.readings(&all)?;
            log.export_json(&mut Vec::new())?;
            Ok((readings.len(), log.tanks()?.len(), log.events(None)?.len(), log.journal(u32::MAX)?.len()))
        });
        match asked {
            // A page that none of these questions needs, such as an index.
            Ok(counts) => assert_eq!(counts, (9, 2, 1, 33), "page {p}"),
            Err(e) => {
                assert_eq!(e.code(), "log-damaged", "page {p}: {e}");
                noticed += 1;
            }
        }
    }
    assert!(noticed > 10, "only {noticed} pages were missed");
}

#[test]
fn a_copy_is_a_whole_log_in_one_file() {
    let (dir, path) = folder();
    let mut log = Log::open(&path).unwrap();
    let hall = tank(&mut log, "Hall");
    add(&mut log, hall, NOW, &by_eye(5.0));
    let copy = dir.path().join("copy.db");
    log.copy_to(&copy).unwrap();
    assert_eq!(export(&Log::open(&copy).unwrap()), export(&log));
    assert_eq!(log.copy_to(&copy).unwrap_err().code(), "log-unwritable");
    assert_eq!(log.copy_to(&dir.path().join("no/copy.db")).unwrap_err().code(), "log-unwritable");
    let memory = Log::open_memory().unwrap();
    memory.copy_to(&dir.path().join("empty.db")).unwrap();
    assert_eq!(Log::open(&dir.path().join("empty.db")).unwrap().tanks().unwrap(), []);
}

/// A log of an older schema, brought up to date: beside it lies the log as it was, whole.
#[test]
fn before_an_upgrade_the_log_is_copied() {
    let (dir, path) = folder();
    std::fs::copy(fixture("v1.db"), &path).unwrap();
    let entries = Log::open(&path).unwrap().journal(u32::MAX).unwrap().len();
    let copy = dir.path().join("log-schema-1.db");
    if SCHEMA == 1 {
        assert!(!copy.exists(), "there was nothing to bring up to date");
        return;
    }
    let raw = rusqlite::Connection::open(&copy).unwrap();
    let number = |sql: &str| raw.query_row(sql, [], |r| r.get::<_, i64>(0)).unwrap();
    assert_eq!(number("PRAGMA user_version"), 1);
    assert_eq!(number("SELECT count(*) FROM entry"), entries as i64);
    // Once is enough: an up-to-date log is not copied again.
    Log::open(&path).unwrap();
    assert!(!dir.path().join("log-schema-1-2.db").exists());
}
