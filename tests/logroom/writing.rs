//! Whole or not at all, append-only, several programs at once.

use super::*;
use std::path::PathBuf;

#[test]
fn a_write_is_there_as_a_whole_or_not_at_all() {
    let (mut log, hall) = fresh();
    let sample = NewSample::new(Target::Tank(hall), moment(NOW));
    let before = log.journal(100).unwrap();
    let failed: Result<(), LogError> = log.write(at(NOW), |w| {
        w.add_reading(Whose::New(&sample), &by_eye(5.0))?;
        w.add_event(&NewEvent::new("", None, moment(NOW)))?;
        Ok(())
    });
    assert_eq!(failed.unwrap_err().code(), "entry-empty");
    assert_eq!(log.journal(100).unwrap(), before);
    // Going on after an error leaves out only what failed, whole: no sample without its reading.
    let bad = NewReading { entered: Some(" ".into()), ..by_eye(5.0) };
    log.write(at(NOW), |w| {
        assert!(w.add_reading(Whose::New(&sample), &bad).is_err());
        w.add_reading(Whose::New(&sample), &by_eye(6.0))
    })
    .unwrap();
    let kinds: Vec<String> = log.journal(100).unwrap().into_iter().skip(before.len()).map(|l| l.kind).collect();
    assert_eq!(kinds, ["test", "sample", "reading"]);
}

fn folder() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("log.db");
    (dir, path)
}

#[test]
fn rows_can_neither_be_changed_nor_deleted_nor_replaced() {
    let (_dir, path) = folder();
    let mut log = Log::open(&path).unwrap();
    let hall = tank(&mut log, "Hall");
    add(&mut log, hall, NOW, &from_photo(5.0, "p1", "A", "kit-1"));
    log.write(at(NOW), |w| w.add_event(&NewEvent::new("feeding", None, moment(NOW)))).unwrap();
    log.write(at(NOW), |w| w.note(hall, "new lamp")).unwrap();
    log.write(at(NOW), |w| w.label(&Names::Zero, "zero standard")).unwrap();
    // A connection of somebody else, without any of our settings.
    let raw = rusqlite::Connection::open(&path).unwrap();
    for table in ["entry", "tank", "test", "photo", "sample", "reading", "event", "label", "revision"] {
        let count = || -> i64 { raw.query_row(&format!("SELECT count(*) FROM {table}"), [], |r| r.get(0)).unwrap() };
        let before = count();
        assert!(before > 0, "{table} is empty");
        for sql in [
            format!("UPDATE {table} SET id = id"),
            format!("DELETE FROM {table}"),
            format!("INSERT OR REPLACE INTO {table} SELECT * FROM {table}"),
        ] {
            let e = raw.execute(&sql, []).unwrap_err().to_string();
            assert_eq!(e, "the log is append-only", "{sql}");
        }
        assert_eq!(count(), before);
    }
    let e =
        raw.execute("INSERT OR REPLACE INTO photo (seq, id, hash, format) SELECT 99, 'x', hash, 'png' FROM photo", []);
    assert_eq!(e.unwrap_err().to_string(), "the log is append-only");
}

#[test]
fn the_tables_themselves_refuse_a_bare_zero() {
    let (_dir, path) = folder();
    let mut log = Log::open(&path).unwrap();
    let hall = tank(&mut log, "Hall");
    add(&mut log, hall, NOW, &by_eye(5.0));
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.pragma_update(None, "foreign_keys", false).unwrap();
    let try_row = |status: &str, numbers: &str| {
        // Numbers: value, lower, upper, bound, the same for both units.
        let sql = format!(
            "INSERT INTO reading (seq, id, root, origin, sample, test, program, status, entered, unit, canonical_unit, refusal, findings,
               value, lower, upper, bound, canonical_value, canonical_lower, canonical_upper, canonical_bound)
             SELECT (SELECT max(seq) + 1 FROM reading), hex(randomblob(18)), root, origin, sample, test, program, '{status}', '0',
               unit, canonical_unit, '[]', '[]', {numbers}, {numbers} FROM reading LIMIT 1"
        );
        raw.execute(&sql, []).map_err(|e| e.to_string())
    };
    for (status, numbers) in [
        ("measured", "0, 0, 1, NULL"),
        ("measured", "1, NULL, 2, NULL"),
        ("measured", "1, 1, NULL, NULL"),
        ("measured", "NULL, 1, 2, NULL"),
        ("measured", "3, 1, 2, NULL"),
        ("measured", "1, -1, 2, NULL"),
        ("not-detected", "NULL, NULL, NULL, NULL"),
        ("not-detected", "0, NULL, NULL, 0.1"),
        ("not-detected", "NULL, NULL, NULL, 0"),
        ("above", "5, NULL, NULL, 5"),
        ("below", "NULL, NULL, NULL, NULL"),
        ("refused", "NULL, NULL, NULL, NULL"),
        ("zero", "NULL, NULL, NULL, 1"),
    ] {
        let e = try_row(status, numbers).unwrap_err();
        assert!(e.contains("CHECK constraint failed"), "{status} {numbers}: {e}");
    }
    assert_eq!(try_row("not-detected", "NULL, NULL, NULL, 0.1"), Ok(1));
    assert_eq!(try_row("measured", "1, 0, 2, NULL"), Ok(1));
}

#[test]
fn a_file_made_by_many_at_once_is_one_log() {
    const PROGRAMS: usize = 6;
    for round in 0..10 {
        let (_dir, path) = folder();
        let barrier = std::sync::Barrier::new(PROGRAMS);
        std::thread::scope(|scope| {
            for n in 0..PROGRAMS {
                let (path, barrier) = (&path, &barrier);
                scope.spawn(move || {
                    barrier.wait();
                    let mut log = Log::open(path).unwrap_or_else(|e| panic!("round {round}: {e}"));
                    tank(&mut log, &format!("Tank {n}"));
                });
            }
        });
        assert_eq!(Log::open(&path).unwrap().tanks().unwrap().len(), PROGRAMS);
    }
}

#[test]
fn writers_at_once_all_succeed() {
    const WRITERS: usize = 4;
    const EACH: usize = 50;
    let (_dir, path) = folder();
    // All of them meet a file that is not there yet, and one tank and one test that only one can add.
    let barrier = std::sync::Barrier::new(WRITERS);
    std::thread::scope(|scope| {
        for n in 0..WRITERS {
            let (path, barrier) = (&path, &barrier);
            scope.spawn(move || {
                barrier.wait();
                let mut log = Log::open(path).unwrap();
                let made = log.write(at(NOW), |w| w.add_tank(&NewTank::new("Hall", "UTC", WaterKind::Fresh)));
                let hall = match made {
                    Ok(id) => id,
                    Err(e) => {
                        assert_eq!(e.code(), "tank-taken", "{e}");
                        log.tank("Hall").unwrap().id
                    }
                };
                for i in 0..EACH {
                    add(&mut log, hall, NOW, &from_photo(1.0 + i as f64, &format!("p{n}-{i}"), "A", "kit-1"));
                    // And one photo that all of them read.
                    add(&mut log, hall, NOW, &from_photo(1.0 + i as f64, &format!("p-{i}"), "A", "kit-1"));
                }
            });
        }
    });
    let log = Log::open(&path).unwrap();
    let all = log.readings(&Filter { show: Show::History, ..Filter::default() }).unwrap();
    assert_eq!(all.len(), WRITERS * EACH + EACH);
    assert!(all.iter().all(|r| r.standing == Standing::Current));
    assert_eq!(log.tanks().unwrap().len(), 1);
    assert_eq!(log.journal(u32::MAX).unwrap().iter().filter(|l| l.kind == "test").count(), 1);
}

#[test]
fn a_reader_is_not_disturbed_by_a_writer() {
    let (_dir, path) = folder();
    let mut log = Log::open(&path).unwrap();
    let hall = tank(&mut log, "Hall");
    add(&mut log, hall, NOW, &by_eye(5.0));
    let reader = Log::open(&path).unwrap();
    log.write(at(NOW), |w| {
        w.add_reading(Whose::New(&NewSample::new(Target::Tank(hall), moment(NOW))), &by_eye(6.0))?;
        assert_eq!(values(&reader), [5.0]);
        Ok(())
    })
    .unwrap();
    assert_eq!(values(&reader), [5.0, 6.0]);
}
