//! Who may name whom: every `crate::<room>` in a room's files must stand in the room's row.

use std::path::{Path, PathBuf};

/// Leaves open to all rooms.
const OPEN: &[&str] = &["finding", "moment", "store", "numeric", "trial"];

const MAY: &[(&str, &[&str])] = &[
    ("finding", &[]),
    ("moment", &[]),
    ("store", &[]),
    ("numeric", &[]),
    ("trial", &[]),
    ("colour", &[]),
    ("water", &[]),
    ("photo", &["colour"]),
    ("card", &["photo", "colour"]),
    ("light", &["photo", "card", "colour"]),
    ("sample", &["photo", "card", "light", "colour"]),
    ("curve", &["colour", "water"]),
    ("reading", &["photo", "card", "light", "sample", "curve", "colour", "water"]),
    ("log", &["reading", "curve", "water"]),
    ("advice", &["log", "water"]),
    ("intake", &["photo", "card", "light", "sample", "curve", "reading", "log", "colour", "water"]),
    ("faces", &["photo", "card", "light", "sample", "curve", "reading", "log", "advice", "intake", "colour", "water"]),
];

fn files(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).unwrap_or_else(|e| panic!("{}: {e}", dir.display())) {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, out);
        } else if path.extension().is_some_and(|x| x == "rs") {
            out.push(path);
        }
    }
}

#[test]
fn rooms_name_only_their_left() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    let (mut named, mut wrong) = (0, Vec::new());
    for file in &all {
        let rel = file.strip_prefix(&src).unwrap();
        let first = rel.components().next().unwrap().as_os_str().to_string_lossy().to_string();
        let room = first.trim_end_matches(".rs").to_string();
        if room == "lib" || room == "main" {
            continue;
        }
        let row = MAY.iter().find(|(r, _)| *r == room).unwrap_or_else(|| panic!("no row for the room {room}")).1;
        for (n, line) in std::fs::read_to_string(file).unwrap().lines().enumerate() {
            let code = line.split("//").next().unwrap();
            for rest in code.split("crate::").skip(1) {
                // `use crate::{a, b}` would hide names from this test.
                assert!(!rest.starts_with('{'), "{}:{}: name one room a `use`", rel.display(), n + 1);
                let other: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                named += 1;
                if other != room && !OPEN.contains(&other.as_str()) && !row.contains(&other.as_str()) {
                    wrong.push(format!("{}:{}: {room} may not name {other}", rel.display(), n + 1));
                }
            }
            // The clock and the environment enter at the face.
            if room != "faces" && (code.contains("::now()") || code.contains("env::var")) {
                wrong.push(format!("{}:{}: {room} may not ask the clock or the environment", rel.display(), n + 1));
            }
        }
    }
    assert!(named > 10, "found only {named} names: is the test looking at the right files?");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
