//! From a photo to the log by the page.

use super::phone::{Answer, Phone, now, own, parts, sending};
use crate::pictures::{exif, fixture, text};
use crate::support::stick::{Scene, friday, straight};
use ::exif::{Rational, Tag, Value};
use axum::body::Body;
use axum::http::{StatusCode, header};
use std::collections::BTreeSet;
use std::time::Duration;
use tintline::intake::{Incoming, Sent};
use tintline::log::{Names, NewTank, Origin, Status, TestKey, WaterKind};
use tintline::photo::Limits;
use tintline::water::Amount;

const KIT: (&str, &str) = ("kit", "demo-vials");

/// What the demo's photos show, from the program that made them: see the test of the demo.
const SATURDAY: [(&str, &str, f64, f64); 2] = [("A", "pH", 6.7161, 0.4), ("C", "nitrite", 1.4582, 0.8)];

fn demo(name: &str) -> Vec<u8> {
    fixture(&format!("photos/demo/{name}.jpg"))
}

/// The same picture without what the camera wrote.
fn silent(name: &str) -> Vec<u8> {
    Scene::of(&demo(name)).jpeg_with(None)
}

/// Files in `incoming/`, by their endings.
fn incoming(phone: &Phone) -> Vec<String> {
    let Ok(list) = std::fs::read_dir(phone.home.root().join("incoming")) else { return Vec::new() };
    let mut out: Vec<String> =
        list.map(|e| e.unwrap().path().extension().unwrap_or_default().to_string_lossy().to_string()).collect();
    out.sort();
    out
}

/// Sends one photo and gives the address of its page.
fn sent(phone: &Phone, fields: &[(&str, &str)], field: &str, photo: &[u8]) -> String {
    let answer = phone.send(fields, &[(field, "IMG_7.jpg", photo)]);
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let to = answer.to.unwrap();
    assert!(to.len() == 39 && to.starts_with("/photo/"), "{to}");
    to
}

/// The page of a photo once it is read.
fn read(phone: &Phone, page: &str) -> Answer {
    for _ in 0..60 {
        let answer = phone.page(page);
        if !answer.text().contains("data-again") {
            return answer;
        }
    }
    panic!("{page} is never read");
}

/// What the page says of a photo, for keeping it.
fn seen(page: &Answer) -> String {
    page.all("name=\"seen\" value=\"", "\"").first().expect("something to keep").clone()
}

#[test]
fn a_photo_is_sent_read_and_kept_once() {
    let phone = Phone::new();
    let form = phone.page(&format!("/tank/{}/read", phone.tank));
    form.has("<option value=\"nitrite\">").has("capture=\"environment\"").has("multiple");
    assert_eq!(form.all("type=\"file\"", ">").iter().filter(|i| i.contains("capture")).count(), 1);

    let photo = demo("saturday");
    let page = sent(&phone, &[KIT, ("station-A", "pH"), ("station-C", "nitrite")], "snap", &photo);
    let said = read(&phone, &page);
    // Numbers: the value large, its interval, and both on the drawn rule.
    let (values, ranges) = (said.all("class=\"value\">", "<"), said.all("class=\"range\">", "<"));
    let (mut checked, scales) = (0, said.all("aria-label=\"", "\""));
    for (i, (_, test, truth, widest)) in SATURDAY.into_iter().enumerate() {
        let number = |text: &str| text.split(' ').find_map(|w| w.parse::<f64>().ok()).unwrap();
        let value = number(&values[i]);
        let (low, high) = ranges[i].strip_prefix("95 %: ").unwrap().split_once(" to ").unwrap();
        let (low, high): (f64, f64) = (low.parse().unwrap(), high.parse().unwrap());
        assert!(low <= truth && truth <= high && high - low <= widest, "{test} is {truth}, found {low} to {high}");
        assert!(low <= value && value <= high);
        assert!(scales.iter().any(|s| s.contains(&format!("({low} to ")) || s.contains(&values[i])), "{scales:?}");
        checked += 1;
    }
    assert_eq!(checked, 2);
    // What it means is advice's word, with its sign.
    said.has("Nitrite 1.");
    let levels = said.all("class=\"level\">", "<");
    assert!(levels.iter().any(|l| l.starts_with('!')), "a sign that needs no colour: {levels:?}");

    let drawing = phone.page(&format!("{page}/overlay"));
    assert_eq!(drawing.kind, "image/jpeg");
    let drawn = image::load_from_memory(&drawing.bytes).unwrap();
    assert_eq!(drawn.width().max(drawn.height()), 1280);

    assert!(phone.readings().is_empty(), "nothing is logged before it is kept");
    assert_eq!(incoming(&phone), ["jpg", "json", "photo"]);
    for _ in 0..2 {
        let kept = phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
        assert_eq!((kept.status, kept.to.as_deref()), (StatusCode::SEE_OTHER, Some(page.as_str())));
        let logged = phone.readings();
        assert_eq!(logged.len(), 2, "twice is once");
        for r in &logged {
            let (_, _, truth, _) = SATURDAY.iter().find(|s| s.1 == r.test.name).unwrap();
            let Some(Amount::Measured { interval95, .. }) = &r.amount else { panic!("{r:?}") };
            assert!(interval95.contains(*truth));
            assert_eq!(r.sample.tank.as_deref(), Some("shelf"));
        }
    }
    let originals = phone.home.kept_photos().unwrap();
    assert_eq!(originals.len(), 1);
    assert_eq!(std::fs::read(&originals[0]).unwrap(), photo, "kept as it came");
    assert_eq!(incoming(&phone), ["jpg", "json"], "the photo itself lies among the originals now");
    let kept = phone.page(&page);
    kept.has("Kept.").has(&values[1]).has(&format!("/reading/{}", phone.readings()[0].id)).has_not("/keep\"");
    phone.page(&format!("{page}/overlay"));
    phone.page("/photo").has("kept").has("IMG_7.jpg");

    // Sent again it is known, by its pixels.
    let again = sent(&phone, &[KIT, ("station-A", "pH"), ("station-C", "nitrite")], "photos", &photo);
    read(&phone, &again).has("in the log already").has_not("/keep\"");
    phone.page("/photo").has("in the log already");
    assert_eq!(phone.readings().len(), 2);
    // The form remembers what the last photo showed.
    phone.page(&format!("/tank/{}/read", phone.tank)).has("<option value=\"nitrite\" selected>");
}

#[test]
fn a_discarded_photo_leaves_nothing() {
    let phone = Phone::new();
    let page = sent(&phone, &[KIT, ("station-C", "ammonia")], "snap", &demo("sunday"));
    read(&phone, &page);
    let gone = phone.post(&format!("{page}/discard"), &[]);
    assert_eq!(gone.to.as_deref(), Some(format!("/tank/{}/read", phone.tank).as_str()));
    assert!(incoming(&phone).is_empty() && phone.readings().is_empty());
    assert!(phone.home.kept_photos().unwrap().is_empty());
    let answer = phone.get(&page);
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
    answer.has("photo-unknown");
    assert_eq!(phone.get(&format!("{page}/overlay")).status, StatusCode::NOT_FOUND);
    assert_eq!(phone.post(&format!("{page}/keep"), &[("seen", "x")]).status, StatusCode::NOT_FOUND);
    assert_eq!(phone.post(&format!("{page}/discard"), &[]).status, StatusCode::SEE_OTHER, "twice is once");
}

#[test]
fn a_refused_photo_says_why_and_takes_an_eye_reading() {
    let phone = Phone::new();
    let fields = [KIT, ("station-B", "ammonia"), ("station-C", "pH")];
    let page = sent(&phone, &fields, "snap", &demo("thursday-blurred"));
    let said = read(&phone, &page);
    said.has("Not read")
        .has("nothing can be said about the amount")
        .has("retake the photo")
        .has("Discard and take another");
    assert_eq!(said.all("class=\"value\">", "<"), ["Not read", "Not read"]);
    phone.page(&format!("{page}/overlay"));
    phone.page("/photo").has("needs a look").has_not("/photo/keep");

    let eye = |station: &str, value: &str, seen: &str| {
        phone.post(&format!("{page}/eye"), &[("station", station), ("value", value), ("seen", seen)])
    };
    let token = seen(&said);
    for (station, value, code) in
        [("B", "much", "amount-malformed"), ("B", "", "amount-malformed"), ("D", "0.5", "station-unknown")]
    {
        let wrong = eye(station, value, &token);
        assert_eq!(wrong.status, StatusCode::BAD_REQUEST, "{station} {value}");
        wrong.has(code);
        assert!(phone.readings().is_empty(), "nothing is logged before what was typed is understood");
    }
    assert_eq!(eye("B", "0.6", "stale").to.unwrap(), format!("{page}?changed"));
    assert!(phone.readings().is_empty());

    for _ in 0..2 {
        assert_eq!(eye("B", "0.6", &token).to.as_deref(), Some(page.as_str()));
        let logged = phone.readings();
        assert_eq!(logged.len(), 2, "the pH stands refused, the ammonia by eye");
        let (own, other) = (logged.iter().find(|r| r.test.name == "ammonia").unwrap(), &logged);
        assert_eq!((own.origin, own.status), (Origin::Correction, Status::Measured));
        // Good for one standard either way: they stand at 0.2, 0.6, 1.2.
        assert_eq!(own.amount.as_ref().unwrap().to_string(), "0.6 mg/L NH3-N (0.2 to 1.2)");
        assert!(other.iter().any(|r| r.test.name == "pH" && r.status == Status::Refused));
        let before = phone.log().judged(own.id).unwrap().instead_of.unwrap();
        assert_eq!(before.status, Status::Refused, "what the photo said stays beside it");
        assert!(before.refusal[0].sentence.len() > 10);
    }
    assert_eq!(phone.home.kept_photos().unwrap().len(), 1, "the photo is kept with it");
    phone.page(&page).has("As you read it by eye").has("0.6 mg/L NH3-N").has("Read it by eye instead");
    assert_eq!(eye("C", "7.3", "").to.as_deref(), Some(page.as_str()), "the other one later");
    assert_eq!(phone.readings().iter().filter(|r| r.origin == Origin::Correction).count(), 2);
}

#[test]
fn what_is_no_photo_or_too_much_is_told() {
    let phone = Phone::new();
    let page = sent(&phone, &[KIT, ("station-A", "pH")], "photos", b"Dear diary, today the water was clear.");
    read(&phone, &page).has("photo-text").has("Discard").has_not("/keep\"");
    phone.post(&format!("{page}/discard"), &[]);
    let torn = &demo("sunday")[..90_000];
    let page = sent(&phone, &[KIT, ("station-C", "ammonia")], "photos", torn);
    read(&phone, &page).has("photo-torn");
    phone.post(&format!("{page}/discard"), &[]);

    let none = phone.send(&[KIT, ("station-A", "pH"), ("dilution-B", "1+4")], &[("snap", "", b"")]);
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    none.has("No photo was chosen").has("<option value=\"pH\" selected>").has("value=\"1+4\"");

    let many: Vec<(&str, &str, &[u8])> = (0..31).map(|_| ("photos", "p.jpg", &b"x"[..])).collect();
    let answer = phone.send(&[KIT], &many);
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    answer.has("upload-too-many");
    assert!(incoming(&phone).is_empty(), "all or none");

    // One byte more than a photo may have.
    let big = vec![0u8; Limits::default().bytes as usize + 1];
    let answer = phone.send(&[KIT], &[("snap", "big.jpg", &big)]);
    drop(big);
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    answer.has("photo-file-too-large");
    assert!(incoming(&phone).is_empty());

    // Broken off in the middle.
    let mut cut = parts(&[KIT], &[("snap", "p.jpg", &demo("sunday"))]);
    cut.truncate(100_000);
    let kind = "multipart/form-data; boundary=cut-here";
    let request = own(&format!("/tank/{}/read", phone.tank)).header(header::CONTENT_TYPE, kind);
    let answer = phone.ask(request.body(Body::from(cut)).unwrap());
    assert_eq!(answer.status, StatusCode::BAD_REQUEST);
    answer.has("upload-broken");
    assert!(incoming(&phone).is_empty());
    assert_eq!(phone.ask(sending("nowhere", &[], &[])).status, StatusCode::NOT_FOUND);
}

#[test]
fn a_time_is_never_guessed() {
    let phone = Phone::new();
    let photo = silent("sunday");
    // From the gallery, without a time: the keeper must say it.
    let page = sent(&phone, &[KIT, ("station-C", "ammonia")], "photos", &photo);
    let said = read(&phone, &page);
    said.has("does not say when it was taken").has("Say below when it was taken").has_not("/keep\"");
    let shows = |taken: &str| {
        let fields = [KIT, ("station-C", "ammonia"), ("taken", taken)];
        assert_eq!(phone.post(&format!("{page}/shows"), &fields).to.as_deref(), Some(page.as_str()));
        read(&phone, &page)
    };
    shows("soon").has("time-malformed").has("value=\"soon\"");
    let said = shows("2024-12-22 18:05");
    said.has("2024-12-22 18:05, as you said").has("NH3-N");
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
    assert_eq!(phone.readings()[0].sample.at().instant.to_string(), "2024-12-22T09:05:00Z");

    // Snapped just now, the camera silent: it was taken when it came, which is said, and not surely.
    let snap = silent("thursday");
    let page = sent(&phone, &[KIT, ("station-A", "nitrite")], "snap", &snap);
    let said = read(&phone, &page);
    said.has("2024-12-23 17:00, when it was sent, as the camera wrote no time").has("not detected");
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
    let logged = phone.readings();
    let own = logged.iter().find(|r| r.test.name == "nitrite").unwrap();
    let at = own.sample.photo.unwrap();
    assert_eq!((at.instant, at.source.as_str(), at.certainty.as_str()), (now(), "file", "unsure"));
    assert_eq!(own.status, Status::NotDetected);
}

#[test]
fn several_photos_are_kept_in_one_go() {
    let phone = Phone::new();
    let names = ["sunday", "saturday", "thursday-blurred"];
    let photos: Vec<Vec<u8>> = names.iter().map(|n| demo(n)).collect();
    let parts: Vec<(&str, &str, &[u8])> = names.iter().zip(&photos).map(|(n, p)| ("photos", *n, &p[..])).collect();
    // Sunday shows ammonia at C, saturday nitrite: read as ammonia its colour is on no place of that scale.
    let answer = phone.send(&[KIT, ("station-C", "ammonia")], &parts);
    assert_eq!(answer.to.as_deref(), Some("/photo"));
    let list = || {
        let ready = |a: &Answer| !a.text().contains("data-again");
        let all = (0..400).map(|_| {
            std::thread::sleep(Duration::from_millis(50));
            phone.page("/photo")
        });
        all.into_iter().find(ready).expect("all are read in the end")
    };
    let said = list();
    let states = said.all("class=\"state\">", "<");
    assert_eq!(states.iter().filter(|s| *s == "read").count(), 1, "{states:?}");
    assert_eq!(states.iter().filter(|s| *s == "needs a look").count(), 2, "{states:?}");
    let items = said.all("name=\"item\" value=\"", "\"");
    assert_eq!(items.len(), 1);
    let fields: Vec<(&str, &str)> = items.iter().map(|i| ("item", i.as_str())).collect();
    for _ in 0..2 {
        assert_eq!(phone.post("/photo/keep", &fields).to.as_deref(), Some("/photo"));
        assert_eq!(phone.readings().len(), 1);
    }
    let states = list().all("class=\"state\">", "<");
    assert_eq!(states.iter().filter(|s| *s == "kept").count(), 1, "{states:?}");

    // Saturday's is set right on its own page, and is kept then.
    let page = list().all("<a href=\"", "\"").into_iter().find(|a| {
        a.starts_with("/photo/") && read(&phone, a).text().contains("Keep that it was refused") && {
            phone.post(&format!("{a}/shows"), &[KIT, ("station-A", "pH"), ("station-C", "nitrite")]);
            read(&phone, a).text().contains("mg/L NO2-")
        }
    });
    let page = page.expect("saturday's page");
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&read(&phone, &page)))]);
    let tests: BTreeSet<String> = phone.readings().into_iter().map(|r| r.test.name).collect();
    assert_eq!(tests, BTreeSet::from(["ammonia", "nitrite", "pH"].map(String::from)));
}

#[test]
fn two_photos_of_one_sample_are_told_together() {
    let phone = Phone::new();
    let fields = [KIT, ("station-C", "ammonia"), ("taken", "2024-12-22 18:05")];
    let first = Scene::of(&demo("sunday"));
    let second = first.jpeg_with(Some(exif(&[(Tag::Software, text("edited"))])));
    let mut other = Scene::of(&demo("sunday"));
    // Another photo of the same vial: moved by a few pixels.
    other.picture =
        image::imageops::crop_imm(&other.picture, 5, 3, other.picture.width() - 5, other.picture.height() - 3)
            .to_image();
    let mut pages = Vec::new();
    for photo in [first.jpeg_with(None), other.jpeg_with(None)] {
        let page = sent(&phone, &fields, "photos", &photo);
        let said = read(&phone, &page);
        phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
        pages.push(page);
    }
    assert_eq!(phone.readings().len(), 2);
    let combined = phone.log().samples(&Default::default(), &|_| None).unwrap();
    let [one] = &combined[..] else { panic!("{} samples", combined.len()) };
    assert_eq!(one.photos.len(), 2);
    let words = format!("2 photos of this sample together: {}.", one.amount.as_ref().unwrap());
    for page in &pages {
        phone.page(page).has(&words);
    }
    // The first with other metadata is the first.
    let again = sent(&phone, &fields, "photos", &second);
    read(&phone, &again).has("in the log already");
}

#[test]
fn labels_say_which_tanks_water_it_is() {
    let phone = Phone::new();
    let mut log = phone.log();
    let kit = phone.home.kit(None).unwrap();
    let labels = log.write(now(), |w| {
        let hall = w.add_tank(&NewTank::new("hall", "Asia/Tokyo", WaterKind::Fresh))?;
        let test = |name: &str| {
            let test = kit.value.test(name).unwrap();
            let (analyte, unit) = (test.analyte.clone(), test.unit.clone());
            Names::Test(TestKey { kit: Some(kit.name.clone()), name: name.into(), analyte, unit })
        };
        let shelf = tintline::log::Id::parse(&phone.tank).unwrap();
        let all = [test("pH"), test("nitrite"), Names::Tank(shelf), Names::Tank(hall)];
        all.iter().map(|n| Ok(w.label(n, &format!("{n:?}"))?.number)).collect::<Result<Vec<_>, _>>()
    });
    let labels = labels.unwrap();
    let stuck = [("A", labels[0]), ("A", labels[2]), ("D", labels[1]), ("D", labels[3])];
    let photo = friday().stick(&stuck.map(|(s, n)| straight(s, n))).jpeg_with(None);
    // Nothing typed: labels say all of it, and of two tanks.
    let fields = [KIT, ("taken", "2024-12-22 18:05")];
    let page = sent(&phone, &fields, "photos", &photo);
    let said = read(&phone, &page);
    said.has("labels say what stands where")
        .has("<span class=\"fine\">shelf</span>")
        .has("<span class=\"fine\">hall</span>");
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
    let of: BTreeSet<(String, String)> =
        phone.readings().into_iter().map(|r| (r.test.name, r.sample.tank.unwrap())).collect();
    assert_eq!(of, BTreeSet::from([("pH", "shelf"), ("nitrite", "hall")].map(|(a, b)| (a.to_string(), b.to_string()))));

    // Typed against a label: nothing is read until one of the two is taken back.
    let mut scene = friday().stick(&stuck.map(|(s, n)| straight(s, n)));
    scene.picture =
        image::imageops::crop_imm(&scene.picture, 3, 3, scene.picture.width() - 3, scene.picture.height() - 3)
            .to_image();
    let typed = [KIT, ("station-A", "nitrate"), ("taken", "2024-12-22 20:05")];
    let page = sent(&phone, &typed, "photos", &scene.jpeg_with(None));
    read(&phone, &page).has("label-against").has("Correct below what was said").has_not("/keep\"");
}

#[test]
fn what_was_accepted_is_taken_up_after_a_restart() {
    let mut phone = Phone::new();
    // Accepted by a program that ended before it read them.
    let box_ = Incoming::of(&phone.home);
    let tank = tintline::log::Id::parse(&phone.tank).unwrap();
    let mut keys = Vec::new();
    for name in ["sunday", "saturday"] {
        let mut photo = box_.begin(&Limits::default()).unwrap();
        photo.add(&demo(name)).unwrap();
        let mut words = Sent::new(tank, now());
        (words.kit, words.stations) = (Some("demo-vials".into()), vec!["C=ammonia".into()]);
        keys.push(photo.accept(&words).unwrap());
    }
    phone.restart();
    phone.site.finish(Duration::from_secs(120));
    phone.page("/photo").has_not("data-again").has("C ammonia: 0.");
    let page = format!("/photo/{}", keys[0]);
    let said = phone.page(&page);
    said.has("NH3-N");
    // What the page says is the same after another restart, and can still be kept.
    phone.restart();
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
    assert_eq!(phone.readings().len(), 1);
    phone.restart();
    phone.page(&page).has("Kept.");
}

#[test]
fn what_has_changed_since_it_was_seen_is_not_kept() {
    let phone = Phone::new();
    let page = sent(&phone, &[KIT, ("station-C", "ammonia")], "snap", &demo("sunday"));
    let token = seen(&read(&phone, &page));
    let kit = phone.home.kit(None).unwrap();
    let mut changed = kit.value.clone();
    changed.note = Some("a swatch was corrected".into());
    phone.home.changed_kit(&kit, changed).unwrap();
    let answer = phone.post(&format!("{page}/keep"), &[("seen", &token)]);
    assert_eq!(answer.to.as_deref(), Some(format!("{page}?changed").as_str()));
    assert!(phone.readings().is_empty());
    let said = read(&phone, &format!("{page}?changed"));
    said.has("has changed since the page was made");
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
    assert_eq!(phone.readings().len(), 1);
}

#[test]
fn names_become_no_paths_and_places_are_not_shown() {
    let phone = Phone::new();
    let degrees = |d| Value::Rational(vec![(d, 1), (51, 1), (29, 1)].into_iter().map(Rational::from).collect());
    let gps = exif(&[
        (Tag::DateTimeOriginal, text("2024:12:22 10:19:33")),
        (Tag::GPSLatitudeRef, text("N")),
        (Tag::GPSLatitude, degrees(48)),
        (Tag::GPSLongitudeRef, text("E")),
        (Tag::GPSLongitude, degrees(137)),
    ]);
    let photo = Scene::of(&demo("sunday")).jpeg_with(Some(gps));
    let answer = phone.send(&[KIT, ("station-C", "ammonia")], &[("photos", "../../../home/log.db<b>", &photo)]);
    let page = answer.to.unwrap();
    let said = read(&phone, &page);
    for place in ["48", "137", "51", "GPS", "latitude", "°"] {
        said.has_not(&format!("{place}°")).has_not(&format!(">{place}<"));
    }
    said.has_not("<b>");
    phone.page("/photo").has("../../../home/log.db&#60;b&#62;");
    let drawing = phone.page(&format!("{page}/overlay")).bytes;
    assert!(!drawing.windows(4).any(|w| w == b"Exif"), "the drawing holds pixels alone");
    phone.post(&format!("{page}/keep"), &[("seen", &seen(&said))]);
    let top: BTreeSet<String> = std::fs::read_dir(phone.home.root())
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().to_string())
        .filter(|n| !n.starts_with("log.db"))
        .collect();
    assert_eq!(top, BTreeSet::from(["cards", "incoming", "kits", "photos"].map(String::from)));
    assert!(phone.home.kept_photos().unwrap()[0].to_string_lossy().ends_with(".jpeg"));
    for bad in ["..", "%2e%2e%2flog", "A2B297DA3289F2F39D1B1ADF90AC1AFB", &"0".repeat(31), &"g".repeat(32)] {
        assert_eq!(phone.get(&format!("/photo/{bad}/overlay")).status, StatusCode::NOT_FOUND, "{bad}");
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |p: &std::path::Path| std::fs::metadata(p).unwrap().permissions().mode() & 0o777;
        let folder = phone.home.root().join("incoming");
        assert_eq!(mode(&folder), 0o700);
        let mut files = 0;
        for entry in std::fs::read_dir(&folder).unwrap() {
            assert_eq!(mode(&entry.unwrap().path()), 0o600);
            files += 1;
        }
        assert_eq!(files, 2);
    }
}
