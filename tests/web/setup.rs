//! Setting up: what pages write is what the command line writes, and nothing before it is accepted.

use crate::cli::shades::{ROW, slip};
use crate::cli::wire::{CardShown, KitChecked, KitShown, PlanStandards};
use crate::pictures::fixture;
use crate::support::House;
use crate::support::served::{Answer, Server};
use crate::support::shot::Shot;
use std::path::Path;

/// A form with photos, as a browser sends it; nothing is chosen where there is no photo.
fn send(server: &Server, path: &str, fields: &[(&str, &str)], photos: &[(&str, &[u8])]) -> Answer {
    let bound = "----a-bound-of-parts";
    let mut body = Vec::new();
    for (name, value) in fields {
        let head = format!("--{bound}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend_from_slice(head.as_bytes());
    }
    let none: [(&str, &[u8]); 1] = [("", b"")];
    for (file, bytes) in if photos.is_empty() { &none[..] } else { photos } {
        let head = format!(
            "--{bound}\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"{file}\"\r\nContent-Type: image/jpeg\r\n\r\n"
        );
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(format!("--{bound}--\r\n").as_bytes());
    let kind = format!("multipart/form-data; boundary={bound}");
    server.ask("POST", path, &[("Origin", &server.address), ("Content-Type", &kind)], &body)
}

/// Where it leads.
fn to(answer: &Answer) -> String {
    assert_eq!(answer.status, 303, "{}", answer.text());
    answer.header("location").unwrap().to_string()
}

/// What stands between two words of a page.
fn between(text: &str, before: &str, after: &str) -> String {
    let rest = text.split_once(before).unwrap_or_else(|| panic!("no {before} in {text}")).1;
    rest.split_once(after).unwrap().0.to_string()
}

/// The form's action with this button in it.
fn action(text: &str, end: &str) -> String {
    let mut all = text.split("action=\"").skip(1).map(|rest| rest.split('"').next().unwrap().to_string());
    all.find(|a| a.contains(end)).unwrap_or_else(|| panic!("nothing leads to {end} in {text}"))
}

fn files(folder: &Path) -> Vec<String> {
    let Ok(all) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut all: Vec<String> = all.map(|e| e.unwrap().file_name().to_string_lossy().to_string()).collect();
    all.sort();
    all
}

fn empty(name: &str) -> Vec<u8> {
    fixture(&format!("photos/cards/{name}.jpg"))
}

#[test]
fn a_card_enrolled_on_the_page_is_that_of_the_command_line() {
    let (house, by_hand) = (House::new(), House::new());
    let (flat, upright) = (empty("print-a-flat"), empty("print-a-upright"));
    let server = Server::start(&house, &[]);
    let fields = [("name", "kitchen"), ("number", ""), ("note", "ink jet")];
    let sent = send(&server, "/card/enrol", &fields, &[("flat.jpg", &flat), ("upright.jpg", &upright)]);
    let look = to(&sent);
    let page = server.get(&look).text();
    assert!(!house.path("home").exists(), "nothing is written before it is accepted");
    assert!(page.contains("Photo 1, flat.jpg: <strong>accepted</strong>"), "{page}");
    assert!(page.contains("Photo 2, upright.jpg: <strong>accepted</strong>"), "{page}");
    assert_eq!(to(&server.post(&action(&page, "/keep"), &[])), "/setup");

    by_hand.lay("flat.jpg", &flat).lay("upright.jpg", &upright);
    let args = ["card", "enrol", "flat.jpg", "upright.jpg", "--name", "kitchen", "--note", "ink jet"];
    by_hand.run(&args).touches(&["home/cards/kitchen/", "home/photos/"]).go();
    let show = |house: &House| house.run(&["card", "show", "--json"]).go().json::<CardShown>();
    let (own, other) = (show(&house), show(&by_hand));
    assert_eq!((&own.card.revision, own.note.as_deref()), (&other.card.revision, Some("ink jet")));
    assert_eq!(files(&house.path("home/cards/kitchen")), files(&by_hand.path("home/cards/kitchen")));
    assert_eq!(files(&house.path("home/photos")).len(), 2, "originals are kept");
    // The figure on the page: the mean of what the command line says of each patch.
    let each: Vec<f64> = other.patches.iter().map(|p| p.scatter.unwrap()).collect();
    let mean = each.iter().sum::<f64>() / each.len() as f64;
    assert!(page.contains(&format!("within ΔE00 {mean:.2}")), "{mean} {page}");
    assert!(server.get("/card").text().contains(&own.card.revision[..12]));
    // Accepted, it is forgotten: once more is an error, not another revision.
    assert_eq!(server.post(&action(&page, "/keep"), &[]).status, 404);

    let checked = send(&server, "/card/check", &[], &[("flat.jpg", &flat)]);
    let page = server.get(&to(&checked)).text();
    assert!(page.contains("flat.jpg: good to read by") && page.contains("from the enrolled ones"), "{page}");
    let other = send(&server, "/card/check", &[], &[("b.jpg", &empty("print-b-flat"))]);
    let page = server.get(&to(&other)).text();
    assert!(page.contains("not good to read by") && page.contains("card-other"), "{page}");
}

#[test]
fn what_is_no_empty_card_is_refused_with_its_remedy() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let fields = [("name", "hall <b>")];
    let photos: [(&str, &[u8]); 2] = [("e.jpg", &empty("print-a-flat")), ("<i>v</i>.jpg", &empty("print-a-vial"))];
    // A name that cannot be: the photos stay, the rest is typed again.
    let answer = send(&server, "/card/enrol", &fields, &photos);
    let text = answer.text();
    assert_eq!(answer.status, 400, "{text}");
    assert!(text.contains("store-name") && text.contains("value=\"hall &#60;b&#62;\""), "{text}");
    assert!(text.contains("The 2 photos that you sent are") && text.contains("still here"), "{text}");
    let key = between(&text, "name=\"look\" value=\"", "\"");
    let answer = send(&server, "/card/enrol", &[("name", "hall"), ("number", "99"), ("look", &key)], &[]);
    assert_eq!(answer.status, 400);
    assert!(answer.text().contains("card-number") && answer.text().contains("value=\"99\""), "{}", answer.text());
    let look = to(&send(&server, "/card/enrol", &[("name", "hall"), ("look", &key)], &[]));
    let page = server.get(&look).text();
    assert!(page.contains("Not enrolled") && page.contains("enrol-not-empty"), "{page}");
    assert!(page.contains("Photo 1, e.jpg: <strong>nothing against it</strong>"), "{page}");
    assert!(page.contains("&#60;i&#62;v&#60;/i&#62;.jpg: <strong>refused</strong>") && !page.contains("<i>"), "{page}");
    assert!(page.contains("Photo 2: On 19 % of the bay"), "{page}");
    assert!(!page.contains("Enrol it"));
    // Asked for all the same, nothing is enrolled.
    assert_eq!(to(&server.post(&format!("{look}/keep"), &[])), look);
    assert!(!house.path("home").exists(), "nor is anything else written");
    assert_eq!(to(&server.post(&format!("{look}/discard"), &[])), "/card/enrol");
    assert_eq!(server.get(&look).status, 404);

    let answer = send(&server, "/card/enrol", &[("name", "hall")], &[]);
    assert_eq!(answer.status, 422);
    assert!(answer.text().contains("photo-missing") && answer.text().contains("value=\"hall\""));
    let torn = &empty("print-a-flat")[..3000];
    let answer = send(&server, "/card/enrol", &[("name", "hall")], &[("t.jpg", torn)]);
    let text = answer.text();
    assert_eq!(answer.status, 422, "{text}");
    assert!(text.contains("photo 1: ") && !text.contains("tintline-") && !text.contains("still here"), "{text}");
    let many: Vec<(&str, &[u8])> = vec![("x.jpg", torn); 7];
    let answer = send(&server, "/card/enrol", &[], &many);
    assert!(answer.status == 413 && answer.text().contains("upload-too-many"), "{}", answer.text());
    assert!(!house.path("home/cards").exists());
}

/// A house with an enrolled card, and in it the kit `drops` made on the page; another where the command line made it.
fn two_kits() -> (House, House, Server, String) {
    let by_hand = House::new();
    by_hand.lay("empty.jpg", Shot::new().jpeg()).lay("empty2.jpg", Shot::new().retake().jpeg());
    let enrol = ["card", "enrol", "empty.jpg", "empty2.jpg"];
    by_hand.run(&enrol).touches(&["home/cards/", "home/photos/"]).go();
    let house = by_hand.copy();
    let go = |args: &[&str]| by_hand.run(args).touches(&["home/kits/"]).go();
    go(&["kit", "new", "drops", "--note", "from the shelf"]);
    let unit = ["kit", "add-test", "nitrite", "--unit", "mg/L NO2-", "--water", "both"];
    go(&[&unit[..], &["--wait", "5", "--lot", "L 1", "--opened", "2026-01-02", "--expiry", "2030-01-31"]].concat());
    go(&["kit", "add-test", "pH", "--water", "both"]);
    let server = Server::start(&house, &[]);
    let fields = [
        ("name", "drops"),
        ("kind", "vial"),
        ("water", "both"),
        ("note", "from the shelf"),
        ("test", "pH"),
        ("test", "nitrite"),
        ("unit-nitrite", "mg/L NO2-"),
        ("unit-nitrate", "mg/L NO3-"),
        ("wait-nitrite", "5"),
        ("lot-nitrite", "L 1"),
        ("opened-nitrite", "2026-01-02"),
        ("expiry-nitrite", "2030-01-31"),
    ];
    let kit = to(&server.post("/kit/new", &fields));
    same(&house, &by_hand);
    (house, by_hand, server, kit)
}

/// The two kits' files are the same, letter by letter.
fn same(a: &House, b: &House) {
    let toml = |house: &House| house.run(&["kit", "show", "drops", "--toml"]).go().out;
    assert_eq!(toml(a), toml(b));
}

#[test]
fn a_kit_calibrated_on_the_page_is_that_of_the_command_line() {
    let (house, by_hand, server, kit) = two_kits();
    let shots = [
        (Shot::new().dyed("A", 0.0).dyed("C", 2.0), "0", "2"),
        (Shot::new().dyed("A", 1.0).dyed("C", 5.0).retake(), "1", "5±0.3"),
    ];
    for (shot, a, c) in shots {
        let jpeg = shot.jpeg();
        let fields = [("test-A", "nitrite"), ("value-A", a), ("test-C", "nitrite"), ("value-C", c), ("test-B", "")];
        let before = by_hand.run(&["kit", "show", "drops", "--toml"]).go().out;
        let look = to(&send(&server, &format!("{kit}/add"), &fields, &[("s.jpg", &jpeg)]));
        let page = server.get(&look).text();
        let now = house.run(&["kit", "show", "drops", "--toml"]).go().out;
        assert_eq!(now, before, "nothing is written before it is accepted");
        assert!(page.contains("L* ") && page.contains("Take into the kit"), "{page}");
        assert_eq!(to(&server.post(&action(&page, "/keep"), &[])), kit);
        by_hand.lay("s.jpg", &jpeg);
        let (a, c) = (format!("A=nitrite:{a}"), format!("C=nitrite:{c}"));
        let args = ["kit", "add", "--photo", "s.jpg", &a, &c];
        by_hand.run(&args).touches(&["home/kits/", "home/photos/"]).go();
        same(&house, &by_hand);
    }
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    let values: Vec<f64> =
        shown.swatches[1].swatches.iter().chain(&shown.swatches[0].swatches).map(|s| s.value).collect();
    assert_eq!(values, [0.0, 2.0, 1.0, 5.0]);

    // The last one, seen before it is taken in: its colour lies as far from its neighbours as the check then says.
    let fields = [("test-B", "nitrite"), ("value-B", "3")];
    let look = to(&send(&server, &format!("{kit}/add"), &fields, &[("s.jpg", &Shot::new().dyed("B", 3.0).jpeg())]));
    let page = server.get(&look).text();
    to(&server.post(&action(&page, "/keep"), &[]));
    let checked = house.run(&["kit", "check", "--json"]).or_exit(3).go().json::<KitChecked>();
    let test = checked.tests.iter().find(|t| t.test == "nitrite").unwrap();
    let check = server.get(&format!("{kit}/check")).text();
    let gaps: Vec<_> = test.gaps.iter().map(|g| (g.from, g.to, format!("{:.1}", g.delta_e))).collect();
    assert_eq!(gaps.iter().map(|g| (g.0, g.1)).collect::<Vec<_>>(), [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 5.0)]);
    for (from, to, apart) in &gaps {
        assert!(check.contains(&format!("<td>{from}</td><td>{to}</td><td>{apart}</td>")), "{check}");
    }
    assert!(
        page.contains(&format!("ΔE00 {} from 2", gaps[2].2)) && page.contains(&format!("ΔE00 {} from 5", gaps[3].2))
    );
    for finding in &test.findings {
        assert!(check.contains(&finding.code), "{} {check}", finding.code);
    }

    // Taken out again, by the page that shows it as it is.
    let fields = [("revision", "000000000000"), ("test", "nitrite"), ("number", "5")];
    assert_eq!(server.post(&format!("{kit}/remove"), &fields).status, 409);
    let text = server.get(&kit).text();
    let revision = between(&text, "name=\"revision\" value=\"", "\"");
    let fields = [("revision", revision.as_str()), ("test", "nitrite"), ("number", "5")];
    assert_eq!(to(&server.post(&format!("{kit}/remove"), &fields)), kit);
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    assert_eq!(shown.swatches[0].swatches.iter().map(|s| s.value).collect::<Vec<_>>(), [0.0, 2.0, 1.0, 5.0]);
}

#[test]
fn printed_shades_come_in_by_the_page_too() {
    let (house, by_hand, server, kit) = two_kits();
    let jpeg = Shot::new().jpeg_after(slip(&ROW, 8.0));
    let text = server.get(&format!("{kit}/shades?test=nitrite")).text();
    assert!(text.contains("<option value=\"nitrite\" selected>"), "{text}");
    // One too few: refused as a whole, with the reason.
    let fields = [("test", "nitrite"), ("values", "0, 1, 2, 3")];
    let look = to(&send(&server, &format!("{kit}/shades"), &fields, &[("slip.jpg", &jpeg)]));
    let page = server.get(&look).text();
    assert!(page.contains("not used") && !page.contains("Take into the kit"), "{page}");
    // The photo need not be sent again.
    let form = server.get(&between(&page, "class=\"button plain\" href=\"", "\"")).text();
    assert!(form.contains("value=\"0, 1, 2, 3\"") && form.contains("still here"), "{form}");
    let key = between(&form, "name=\"look\" value=\"", "\"");
    let fields = [("test", "nitrite"), ("values", "0, 1, 2, 3, 5"), ("look", key.as_str())];
    let page = server.get(&to(&send(&server, &format!("{kit}/shades"), &fields, &[]))).text();
    assert!(page.contains("kit-from-print"), "{page}");
    assert_eq!(to(&server.post(&action(&page, "/keep"), &[])), kit);
    by_hand.lay("slip.jpg", &jpeg);
    let args = ["kit", "shades", "nitrite", "0,1,2,3,5", "--photo", "slip.jpg"];
    by_hand.run(&args).touches(&["home/kits/", "home/photos/"]).go();
    same(&house, &by_hand);
    // What comes next is what the command line says, with the page that does it.
    let text = server.get(&kit).text();
    let next = ["Add the zero standard of nitrite", "Add a standard of nitrite", "test-B=nitrite&#38;value-B=3"];
    assert!(next.iter().all(|n| text.contains(n)), "{text}");
    let text = server.get(&format!("{kit}/add?test-B=nitrite&value-B=3")).text();
    assert!(text.contains("name=\"value-B\" value=\"3\""), "{text}");
}

#[test]
fn what_is_typed_wrong_comes_back_and_nothing_is_written() {
    let (house, by_hand, server, kit) = two_kits();
    let jpeg = Shot::new().dyed("B", 2.0).jpeg();
    let add = |fields: &[(&str, &str)], photos: &[(&str, &[u8])]| send(&server, &format!("{kit}/add"), fields, photos);
    let photo: [(&str, &[u8]); 1] = [("s.jpg", &jpeg)];
    for (fields, code) in [
        ([("test-B", "nitrite"), ("value-B", "3-5")], "amount-malformed"),
        ([("test-B", "nitrite"), ("value-B", "")], "amount-malformed"),
        ([("test-B", "iron"), ("value-B", "2")], "test-unknown"),
    ] {
        let answer = add(&fields, &photo);
        let text = answer.text();
        assert_eq!(answer.status, 400, "{text}");
        assert!(text.contains(code) && text.contains("The photo that you sent is"), "{code} {text}");
        assert!(text.contains(&format!("name=\"value-B\" value=\"{}\"", fields[1].1)), "{text}");
    }
    let answer = add(&[], &photo);
    assert!(answer.status == 400 && answer.text().contains("samples-missing"), "{}", answer.text());
    // No vial at D: seen, said, and not to be taken in.
    let page = server.get(&to(&add(&[("test-D", "nitrite"), ("value-D", "2")], &photo))).text();
    assert!(page.contains("not used") && page.contains("sample-missing"), "{page}");
    // Two looks at one revision: the second has to be looked at again.
    let look = |value| to(&add(&[("test-B", "nitrite"), ("value-B", value)], &photo));
    let (first, second) = (look("2"), look("3"));
    assert_eq!(to(&server.post(&format!("{first}/keep"), &[])), kit);
    assert!(server.get(&second).text().contains("was changed since"));
    let answer = server.post(&format!("{second}/keep"), &[]);
    assert!(answer.status == 409 && answer.text().contains("store-changed"), "{}", answer.text());
    by_hand.lay("s.jpg", &jpeg);
    by_hand.run(&["kit", "add", "--photo", "s.jpg", "B=nitrite:2"]).touches(&["home/kits/", "home/photos/"]).go();
    same(&house, &by_hand);
    // Looks belong to their kit; kits are found by their address alone.
    let other = to(&server.post("/kit/new", &[("name", "new"), ("test", "pH")]));
    assert_ne!(other, "/kit/new");
    assert_eq!(server.get(&second.replace(&kit, &other)).status, 404);
    for path in ["/kit/drops", "/kit/..%2f..%2fetc", "/kit/0123456789ab/add", "/kit/%00", "/card/enrol/..%2f..%2fx"] {
        assert_eq!(server.get(path).status, 404, "{path}");
    }
    for (fields, code) in [
        (vec![("name", "a/b"), ("test", "pH")], "store-name"),
        (vec![("name", "drops"), ("test", "pH")], "name-taken"),
        (vec![("name", "x")], "tests-missing"),
        (vec![("name", "x"), ("test", "ammonia")], "unit-missing"),
        (vec![("name", "x"), ("test", "ammonia"), ("unit-ammonia", "mg/L")], "unit-needs-basis"),
        (vec![("name", "x"), ("test", "pH"), ("wait-pH", "soon")], "number-malformed"),
        (vec![("name", "x"), ("test", "pH"), ("expiry-pH", "31.3.")], "date-malformed"),
        (vec![("name", "x"), ("test", "pH"), ("wait-pH", "999")], "kit-wait"),
        (vec![("name", "x"), ("test", "pH"), ("kind", "strip")], "strip-unmeasured"),
    ] {
        let answer = server.post("/kit/new", &fields);
        assert!(answer.status == 400 && answer.text().contains(code), "{code} {}", answer.text());
        for (name, value) in fields.iter().filter(|(name, _)| *name == "name" || name.starts_with("wait")) {
            assert!(answer.text().contains(&format!("name=\"{name}\" value=\"{value}\"")), "{name}");
        }
    }
    assert_eq!(files(&house.path("home/kits")), ["drops", "new"]);
}

#[test]
fn a_kit_of_strips_is_made_and_a_test_added() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let mm = [("length", "70.5"), ("width", "6"), ("side", "5"), ("pitch", "7,4"), ("end", "4.5")];
    let rest = [
        ("name", "strips"),
        ("kind", "strip"),
        ("test", "nitrate"),
        ("unit-nitrate", "mg/L NO3-"),
        ("pad-nitrate", "1"),
    ];
    let kit = to(&server.post("/kit/new", &[&mm[..], &rest].concat()));
    let fields = [("name", "hard water"), ("analyte", "GH"), ("unit-new", "dH"), ("water", "fresh"), ("pad-new", "2")];
    assert_eq!(to(&server.post(&format!("{kit}/test"), &fields)), kit);
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    assert!(toml.contains("pitch_mm = 7.4") && toml.contains("pad = 2") && toml.contains("unit = \"dH\""), "{toml}");
    let answer = server.post(&format!("{kit}/test"), &fields);
    assert!(answer.status == 400 && answer.text().contains("kit-test-twice"), "{}", answer.text());
    assert!(answer.text().contains("value=\"hard water\""));
    let text = server.get(&format!("{kit}/add")).text();
    assert!(text.contains("name=\"value-pad-1\"") && text.contains("mg/L NO3-"), "{text}");
}

#[test]
fn one_step_after_the_other() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let next = || between(&server.get("/setup").text(), "<h2 id=\"next\">", "</section>");
    assert!(next().contains("href=\"/tank/new\""));
    assert!(!house.path("home").exists(), "looking makes nothing");
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&["home/"]).go();
    assert!(next().contains("href=\"/card/enrol\"") && next().contains("href=\"/print\""));
    house.lay("e.jpg", Shot::new().jpeg());
    house.run(&["card", "enrol", "e.jpg"]).out_has("enrol-few-photos").touches(&["home/"]).go();
    assert!(next().contains("href=\"/kit/new\""));
    house.run(&["kit", "start", "drops", "nitrite=mg/L NO2-"]).touches(&["home/kits/"]).go();
    assert!(next().contains("/shades?test=nitrite") && next().contains("printed shades of nitrite"));
    // Every drawing says in words what it shows.
    let text = server.get("/setup").text();
    let id = between(&text, "<svg class=\"place\"", ">");
    let id = between(&id, "aria-labelledby=\"", "\"");
    assert!(between(&text, &format!("<figcaption id=\"{id}\">"), "</figcaption>").len() > 150);
}

#[test]
fn standards_are_made_as_the_command_line_says() {
    let (house, _, server, kit) = two_kits();
    let plan =
        house.run(&["plan", "standards", "nitrite", "--values", "0,0.5,2", "--json"]).go().json::<PlanStandards>();
    let text = server.get(&format!("{kit}/standards?test=nitrite&values=0,0.5,2")).text();
    let plain = text.replace("&#39;", "'").replace("&#38;", "&").replace("&#34;", "\"");
    for said in &plan.said {
        assert!(plain.contains(said), "{said} {plain}");
    }
    for s in plan.standards.iter().filter(|s| s.uncertainty.is_some()) {
        let holds = between(&s.command, "'B=nitrite:", "'").replace('±', " ± ");
        assert!(plain.contains(&format!("<th scope=\"row\">{holds}</th>")), "{holds} {plain}");
    }
    let shown = house.run(&["plan", "standards", "nitrite", "--values", "0,0.5,2"]).go().out;
    assert_eq!(shown.matches("filled up to").count(), plan.solutions.len() + 2, "{shown}");
    assert_eq!(plain.matches("filled up to").count(), plan.solutions.len() + 2);
    assert!(plain.contains("value-B=0\"") && plain.contains("aria-label=\"Add the photo of 0\""), "{plain}");
    let answer = server.get(&format!("{kit}/standards?test=nitrite&of=sugar&values=1"));
    assert!(answer.status == 400 && answer.text().contains("value=\"sugar\""), "{}", answer.text());
    let answer = server.get(&format!("{kit}/standards?test=nitrite&scale=x"));
    assert!(answer.status == 400 && answer.text().contains("number-malformed"));
}
