//! The store: files whole or not at all, revisions that never change, names that are folders on every system.

use std::fs;
use std::path::Path;

use tintline::store::{Revisions, check_name, content_hash, names, write_atomic};

fn shelf() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn files(dir: &Path) -> Vec<String> {
    let mut out: Vec<String> = fs::read_dir(dir)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n != ".lock")
        .collect();
    out.sort();
    out
}

#[test]
fn hashes_are_those_of_the_standard() {
    // NIST FIPS 180-4 example values for SHA-256: the one-block message 'abc' and the empty message.
    let abc = content_hash(b"abc");
    assert_eq!(abc.as_str(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_eq!((abc.short(), abc.to_string().as_str()), ("ba7816bf8f01", "ba7816bf8f01"));
    assert_eq!(content_hash(b"").short(), "e3b0c44298fc");
}

#[test]
fn a_write_that_fails_leaves_the_old_file_and_no_other() {
    let dir = shelf();
    let path = dir.path().join("a.toml");
    write_atomic(&path, b"old").unwrap();
    write_atomic(&path, b"new").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"new");
    // A folder cannot be written over by a file.
    let folder = dir.path().join("folder");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("inside"), "x").unwrap();
    assert_eq!(write_atomic(&folder, b"text").unwrap_err().code(), "store-failed");
    let e = write_atomic(&dir.path().join("missing/a.toml"), b"text").unwrap_err();
    assert!(e.to_string().contains("missing"), "{e}");
    assert_eq!(write_atomic(&path.join("below a file"), b"text").unwrap_err().code(), "store-failed");
    assert_eq!(files(dir.path()), ["a.toml", "folder"]);
    assert_eq!(fs::read(&path).unwrap(), b"new");
}

#[cfg(unix)]
#[test]
fn a_written_file_is_as_readable_as_any_other() {
    use std::os::unix::fs::PermissionsExt;
    let dir = shelf();
    fs::write(dir.path().join("plain"), "x").unwrap();
    write_atomic(&dir.path().join("atomic"), b"x").unwrap();
    let mode = |name: &str| fs::metadata(dir.path().join(name)).unwrap().permissions().mode();
    assert_eq!(mode("atomic"), mode("plain"));
}

#[test]
fn readers_see_the_old_or_the_new_text_never_a_part() {
    let dir = shelf();
    let path = dir.path().join("text");
    let texts = ["a".repeat(300_000), "b".repeat(200_000)];
    write_atomic(&path, texts[0].as_bytes()).unwrap();
    std::thread::scope(|s| {
        let writer = s.spawn(|| (0..40).for_each(|i| write_atomic(&path, texts[i % 2].as_bytes()).unwrap()));
        let mut reads = 0;
        while !writer.is_finished() || reads < 10 {
            let seen = fs::read_to_string(&path).unwrap();
            assert!(texts.contains(&seen), "a text of {} bytes", seen.len());
            reads += 1;
        }
    });
    assert_eq!(files(dir.path()), ["text"]);
}

#[test]
fn revisions_are_kept_for_ever_and_the_last_put_is_current() {
    let dir = shelf();
    let kept = Revisions::of(dir.path(), "my kit").unwrap();
    assert_eq!(kept.current().unwrap_err().code(), "store-nothing-kept");
    assert_eq!(kept.list().unwrap(), Vec::<String>::new());
    let [a, b, c] = ["one", "two", "three"].map(|t| kept.put(t).unwrap());
    assert_eq!(kept.current().unwrap(), (c.clone(), "three".to_string()));
    assert_eq!(kept.list().unwrap(), [a.short(), b.short(), c.short()]);
    // Back to the first: the same revision, current again, no double.
    assert_eq!(kept.put("one").unwrap(), a);
    assert_eq!(kept.current().unwrap().1, "one");
    assert_eq!(kept.list().unwrap(), [b.short(), c.short(), a.short()]);
    assert_eq!(kept.get(b.short()).unwrap(), "two");
    assert_eq!(kept.get(b.as_str()).unwrap(), "two");
    assert_eq!(files(&dir.path().join("my kit")).len(), 4);
    assert_eq!(names(dir.path()).unwrap(), ["my kit"]);
    assert_eq!(names(&dir.path().join("none")).unwrap(), Vec::<String>::new());
}

#[test]
fn revisions_that_are_not_there_or_were_changed_are_refused() {
    let dir = shelf();
    let kept = Revisions::of(dir.path(), "kit").unwrap();
    let a = kept.put("one").unwrap();
    let other_end = format!("{}{}", a.short(), "0".repeat(52));
    for id in ["", "0123456789ab", &a.as_str()[..11], &a.as_str().to_uppercase(), "../../etc/xx", &other_end] {
        assert_eq!(kept.get(id).unwrap_err().code(), "store-no-revision", "{id}");
    }
    let file = dir.path().join("kit").join(format!("{}.toml", a.short()));
    for damage in [&b"two"[..], b"", b"\xff\xfe"] {
        fs::write(&file, damage).unwrap();
        assert_eq!(kept.get(a.short()).unwrap_err().code(), "store-damaged");
        assert_eq!(kept.current().unwrap_err().code(), "store-damaged");
        assert_eq!(kept.put("one").unwrap_err().code(), "store-damaged");
        assert_eq!(fs::read(&file).unwrap(), damage, "a damaged file is left as it was found");
    }
    fs::write(dir.path().join("kit/current"), "../../secret\n").unwrap();
    assert_eq!(kept.current().unwrap_err().code(), "store-damaged");
}

#[test]
fn of_two_changes_to_one_revision_the_second_is_told() {
    let dir = shelf();
    let kept = Revisions::of(dir.path(), "kit").unwrap();
    let first = kept.put_after(None, "one").unwrap();
    assert_eq!(kept.put_after(None, "two").unwrap_err().code(), "store-changed");
    kept.put_after(Some(&first), "two").unwrap();
    assert_eq!(kept.put_after(Some(&first), "three").unwrap_err().code(), "store-changed");
    assert_eq!(kept.current().unwrap().1, "two");
    // Eight at once, each adding a line to what it saw: none is lost.
    kept.put("").unwrap();
    std::thread::scope(|s| {
        for i in 0..8 {
            let kept = &kept;
            s.spawn(move || {
                loop {
                    let (seen, text) = kept.current().unwrap();
                    match kept.put_after(Some(&seen), &format!("{text}{i}\n")) {
                        Ok(_) => break,
                        Err(e) => assert_eq!(e.code(), "store-changed"),
                    }
                }
            });
        }
    });
    let text = kept.current().unwrap().1;
    let mut lines: Vec<&str> = text.lines().collect();
    lines.sort_unstable();
    assert_eq!(lines, ["0", "1", "2", "3", "4", "5", "6", "7"]);
}

#[test]
fn names_are_folders_on_every_system() {
    for name in ["kit", "My kit 2", "größe-1", "v1.2", "a", &"x".repeat(64), "console", "com-tests"] {
        assert!(check_name(name).is_ok(), "{name}");
    }
    for name in [
        "",
        ".",
        "..",
        "...",
        "a/b",
        "a\\b",
        "c:",
        "/abs",
        "-x",
        " x",
        "x ",
        "x.",
        ".x",
        "a\nb",
        "a\0b",
        "a*b",
        "NUL",
        "com1",
        "Lpt9.txt",
        &"x".repeat(65),
        &"ü".repeat(33),
    ] {
        let e = check_name(name).unwrap_err();
        assert_eq!(e.code(), "store-name", "{name:?}");
        assert!(e.remedy().ends_with('.'));
    }
    let dir = shelf();
    Revisions::of(dir.path(), "Kit").unwrap().put("one").unwrap();
    assert_eq!(Revisions::of(dir.path(), "kit").unwrap_err().code(), "store-name-taken");
    assert!(Revisions::of(dir.path(), "Kit").is_ok());
}

#[test]
fn a_folder_that_cannot_be_made_is_told_with_its_path() {
    let dir = shelf();
    let file = dir.path().join("file");
    fs::write(&file, "x").unwrap();
    let e = Revisions::of(&file, "kit").unwrap_err();
    assert_eq!(e.code(), "store-failed");
    assert!(e.to_string().contains("file"), "{e}");
}
