use super::*;

fn start() -> Timestamp {
    "2026-03-01T12:00:00Z".parse().unwrap()
}

fn day(d: i64) -> Timestamp {
    start() + SignedDuration::from_hours(24 * d)
}

fn phones() -> (tempfile::TempDir, Phones) {
    let dir = tempfile::tempdir().unwrap();
    let phones = Phones::of(&Home::at(dir.path().join("home")));
    (dir, phones)
}

fn text(phones: &Phones) -> String {
    std::fs::read_to_string(phones.path()).unwrap()
}

#[test]
fn a_phone_is_known_until_it_is_forgotten_or_long_unused() {
    let (_dir, all) = phones();
    assert!(!all.knows("", day(0)).unwrap() && !all.path().exists(), "looking makes nothing");
    let [a, b] = ["kitchen", " "].map(|name| all.add(name, day(0)).unwrap());
    assert!(a != b && a.len() == 64);
    // The file opens nothing.
    assert!(!text(&all).contains(&a) && text(&all).contains(&hash(&a)) && text(&all).contains("phone 1"));
    for wrong in ["", &hash(&a), &a[1..], &a.to_uppercase()] {
        assert!(!all.knows(wrong, day(1)).unwrap(), "{wrong}");
    }
    // Each use keeps a phone for as long again, for a year at most.
    for (d, known) in [(89, true), (178, true), (267, true), (356, true), (364, true), (365, false)] {
        assert_eq!(all.knows(&a, day(d)).unwrap(), known, "day {d}");
    }
    let [c, d] = ["hall", "hall"].map(|name| all.add(name, day(0)).unwrap());
    assert!(all.knows(&c, day(89)).unwrap() && !all.knows(&b, day(90)).unwrap());
    let listed = all.list(Some(&c), day(100)).unwrap();
    assert_eq!(listed.iter().map(|p| (p.name.as_str(), p.own)).collect::<Vec<_>>(), [("hall", true)]);
    assert_eq!((listed[0].paired, listed[0].used), (day(0), day(89)));
    // Two of one name are told apart by their ids alone.
    assert_eq!(all.forget("hall").unwrap_err().code(), "phones-unknown");
    all.forget(&listed[0].id).unwrap();
    assert!(!all.knows(&c, day(0)).unwrap() && all.knows(&d, day(0)).unwrap());
    all.forget("hall").unwrap();
    assert!(!all.knows(&d, day(0)).unwrap());
}

#[test]
fn a_use_is_written_down_once_a_day() {
    let (_dir, all) = phones();
    let a = all.add("kitchen", day(0)).unwrap();
    let before = text(&all);
    assert!(all.knows(&a, day(1) - SignedDuration::from_secs(1)).unwrap());
    assert_eq!(text(&all), before);
    assert!(all.knows(&a, day(1)).unwrap());
    assert_ne!(text(&all), before);
}

#[test]
fn a_code_serves_for_an_hour_and_until_the_next() {
    let (_dir, all) = phones();
    let minute = |m: i64| start() + SignedDuration::from_mins(m);
    assert_eq!(all.fits("", minute(0)).unwrap(), Fit::Over);
    let code = all.new_code(minute(0)).unwrap();
    assert_eq!(code.until, minute(60));
    let plain = pairing::plain(&code.shown);
    assert!(!text(&all).contains(&plain) && !text(&all).contains(&code.shown));
    for typed in [&code.shown, &plain, &plain.to_lowercase(), &format!(" {plain} ")] {
        assert_eq!(all.fits(typed, minute(59)).unwrap(), Fit::Right, "{typed}");
    }
    for typed in ["", &plain[1..], &format!("{plain}2"), &hash(&plain)] {
        assert_eq!(all.fits(typed, minute(59)).unwrap(), Fit::Wrong, "{typed}");
    }
    assert_eq!(all.fits(&plain, minute(60)).unwrap(), Fit::Over);
    let next = all.new_code(minute(10)).unwrap();
    assert_eq!(all.fits(&plain, minute(10)).unwrap(), Fit::Wrong);
    let token = all.add("kitchen", minute(10)).unwrap();
    all.forget_all().unwrap();
    assert_eq!(all.fits(&next.shown, minute(10)).unwrap(), Fit::Over);
    assert!(!all.knows(&token, minute(10)).unwrap());
}

#[test]
fn the_fifty_first_is_refused() {
    let (_dir, all) = phones();
    (0..50).for_each(|_| drop(all.add("", day(0)).unwrap()));
    assert_eq!(all.add("", day(0)).unwrap_err().code(), "phones-many");
    assert_eq!(all.list(None, day(0)).unwrap().len(), 50);
    // Those that are over make room.
    all.add("", day(90)).unwrap();
    assert_eq!(all.list(None, day(90)).unwrap().len(), 1);
}

#[test]
fn a_file_of_another_kind_is_left_as_it_is() {
    let (_dir, all) = phones();
    all.add("kitchen", day(0)).unwrap();
    for (bytes, code) in [("{\"version\": 2, \"keys\": []}", "phones-newer"), ("[]", "phones-odd"), ("", "phones-odd")]
    {
        std::fs::write(all.path(), bytes).unwrap();
        assert_eq!(all.knows("x", day(0)).unwrap_err().code(), code);
        assert_eq!(all.add("hall", day(0)).unwrap_err().code(), code);
        assert_eq!(text(&all), bytes);
    }
}

#[cfg(unix)]
#[test]
fn the_file_is_its_owners_alone() {
    use std::os::unix::fs::PermissionsExt;
    let (_dir, all) = phones();
    all.add("x", day(0)).unwrap();
    let mode = std::fs::metadata(all.path()).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600, "{mode:o}");
}
