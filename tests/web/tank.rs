//! Pages about tanks.

use crate::support::House;
use crate::support::served::Server;

const NAME: &str = "shelf <b>&\"'";
const ESCAPED: &str = "shelf &#60;b&#62;&#38;&#34;&#39;";

fn house() -> (House, Server, String) {
    let house = House::new();
    house.run(&["tank", "add", NAME, "--water", "fresh", "--volume", "60", "--animals", "6"]).touches(&["home/"]).go();
    let server = Server::start(&house, &[]);
    let home = server.get("/").text();
    let id = home.split("href=\"/tank/").nth(1).unwrap().split('"').next().unwrap().to_string();
    (house, server, id)
}

#[test]
fn a_tank_is_added_and_shown() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    assert!(server.get("/").text().contains("There is no tank yet."));
    assert!(!house.path("home").exists(), "looking makes nothing");
    // What cannot be meant comes back with all that was typed.
    let answer = server.post("/tank/new", &[("name", "hall"), ("water", "fresh"), ("volume", "a lot")]);
    assert_eq!(answer.status, 400);
    let text = answer.text();
    assert!(
        text.contains("value=\"hall\"") && text.contains("value=\"a lot\"") && text.contains("role=\"alert\""),
        "{text}"
    );
    let answer = server.post(
        "/tank/new",
        &[("name", "hall"), ("water", "marine"), ("volume", "60"), ("animals", "none"), ("zone", "Asia/Tokyo")],
    );
    assert_eq!(answer.status, 303, "{}", answer.text());
    let page = server.get(answer.header("location").unwrap()).text();
    assert!(page.contains("hall") && page.contains("no animals are logged"), "{page}");
    house.run(&["tank", "list"]).out_has("hall").out_has("marine").out_has("60").out_has("Asia/Tokyo").go();
    let answer = server.post("/tank/new", &[("name", "hall"), ("water", "fresh")]);
    assert_eq!(answer.status, 400, "a name is given once");
}

#[test]
fn names_stay_words() {
    let (_house, server, id) = house();
    for path in ["/".to_string(), format!("/tank/{id}"), format!("/tank/{id}/history"), format!("/tank/{id}/event")] {
        let answer = server.get(&path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(answer.text().contains(ESCAPED) && !answer.text().contains("<b>"), "{path}");
    }
}

#[test]
fn what_is_not_there_is_not_found() {
    let (_house, server, id) = house();
    let other = "01890a5d-ac96-774b-bcce-b302099a8057";
    for path in [
        format!("/tank/{other}"),
        "/tank/..%2f..%2fetc".to_string(),
        format!("/tank/{other}/history"),
        format!("/reading/{other}"),
        "/reading/x".to_string(),
        format!("/reading/{id}/picture"),
        "/asset/../Cargo.toml".to_string(),
    ] {
        let answer = server.get(&path);
        assert_eq!(answer.status, 404, "{path}: {}", answer.text());
    }
    assert_eq!(server.get("/tank/%ff%fe").status, 400);
}

#[test]
fn events_are_logged_as_typed_or_asked_back() {
    let (house, server, id) = house();
    let event = format!("/tank/{id}/event");
    let form = server.get(&format!("{event}?kind=water-change")).text();
    assert!(form.contains("a share or a volume, such as 30%"), "{form}");
    assert_eq!(server.post(&event, &[("kind", "water-change"), ("words", "30%"), ("note", "warm")]).status, 303);
    // Twice within the hour is asked back, and can be meant.
    let again = server.post(&event, &[("kind", "water-change"), ("words", "30%"), ("note", "warm")]);
    assert_eq!(again.status, 400);
    assert!(again.text().contains("It happened again") && again.text().contains("value=\"warm\""));
    let meant = [("kind", "water-change"), ("words", "30%"), ("note", "warm"), ("again", "yes")];
    assert_eq!(server.post(&event, &meant).status, 303);
    // A number that could mean two things, a time to come, a kind that is none.
    for (kind, words, at, code) in [
        ("water-change", "30", "", "event-number-bare"),
        ("feeding", "30%", "", "event-number-misplaced"),
        ("feeding", "0.5 g", "2999-01-01 10:00", "time-future"),
    ] {
        let answer = server.post(&event, &[("kind", kind), ("words", words), ("at", at)]);
        assert_eq!(answer.status, 400, "{kind} {words} {at}");
        let text = answer.text();
        assert!(text.contains(code) && text.contains(&format!("value=\"{words}\"")), "{code} in {text}");
    }
    assert_eq!(server.post(&event, &[("kind", "magic")]).status, 400);
    let listed = house.run(&["event", "list"]).go().out;
    assert_eq!(listed.matches("water-change").count(), 2, "{listed}");
    assert!(!listed.contains("feeding"));
    // Taken back.
    let page = server.get(&event).text();
    let entry = page.split("name=\"entry\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_string();
    assert_eq!(server.post(&format!("/tank/{id}/undo"), &[("entry", &entry)]).status, 303);
    assert_eq!(house.run(&["event", "list"]).go().out.matches("water-change").count(), 1);
}

#[test]
fn first_help_waits_for_nothing() {
    let (house, server, id) = house();
    let help = server.get(&format!("/tank/{id}/trouble")).text();
    assert!(help.contains("Air first"), "{help}");
    assert!(!house.run(&["event", "list"]).go().out.contains("symptom"), "looking logs nothing");
    let answer = server.post(&format!("/tank/{id}/trouble"), &[("seen", "gasping at the surface")]);
    assert!(answer.status == 200 && answer.text().contains("Air first"), "{}", answer.text());
    house.run(&["event", "list"]).out_has("gasping at the surface").go();
    let now = server.get(&format!("/tank/{id}")).text();
    assert!(now.find("Air first").unwrap() < now.find("Danger").unwrap(), "first help stands first");
    assert_eq!(server.post(&format!("/tank/{id}/trouble/over"), &[]).status, 303);
    assert!(!server.get(&format!("/tank/{id}")).text().contains("Air first"));
}

#[test]
fn results_can_be_judged_anew_and_taken_back() {
    let (house, server, id) = house();
    house.run(&["log", "add", "nitrite=0.5 mg/L NO2-"]).touches(&["home/"]).go();
    let history = format!("/tank/{id}/history?span=all");
    let page = server.get(&history).text();
    assert!(page.contains("0.50 mg/L NO2-") && page.contains("<svg"), "{page}");
    assert!(!page.contains("<style") && !page.contains(" style="), "the policy would block it");
    let reading = page.split("href=\"/reading/").nth(1).unwrap().split('"').next().unwrap().to_string();
    let text = server.get(&format!("/reading/{reading}")).text();
    assert!(text.contains("by hand") || text.contains("hand"), "{text}");
    let bad = server.post(&format!("/reading/{reading}/correct"), &[("value", "pink"), ("reason", "chart")]);
    assert_eq!(bad.status, 400);
    assert!(bad.text().contains("value=\"pink\"") && bad.text().contains("value=\"chart\""));
    let done =
        server.post(&format!("/reading/{reading}/correct"), &[("value", "1 mg/L NO2-"), ("reason", "second look")]);
    assert_eq!(done.status, 303, "{}", done.text());
    let new = server.get(done.header("location").unwrap()).text();
    assert!(
        new.contains("1 mg/L NO2-") && new.contains("in place of 0.50 mg/L NO2-") && new.contains("second look"),
        "{new}"
    );
    let new_id = done.header("location").unwrap().strip_prefix("/reading/").unwrap().to_string();
    assert_eq!(server.post(&format!("/reading/{new_id}/undo"), &[]).status, 303);
    assert!(server.get(&history).text().contains("0.50 mg/L NO2-"), "what was before stands again");
    house.run(&["log", "history"]).out_has("second look").go();
    let page = server.get(&format!("/tank/{id}/report"));
    assert_eq!(page.header("content-disposition"), Some("attachment; filename=\"tank-report.html\""));
    assert!(page.text().contains("Estimate, not proof") && !page.text().contains(ESCAPED));
}

#[test]
fn a_started_test_counts_down() {
    let house = House::new();
    house.run(&["demo", "--into", "home"]);
    let (house, server, id) = house_with_kit(house);
    let wait = format!("/tank/{id}/wait");
    assert!(server.get(&wait).text().contains("nitrite, 5 min"));
    assert_eq!(server.post(&wait, &[("kit", "demo-vials")]).status, 400);
    assert_eq!(server.post(&wait, &[("kit", "demo-vials"), ("test", "magic")]).status, 400);
    let both = [("kit", "demo-vials"), ("test", "nitrite"), ("test", "pH")];
    assert_eq!(server.post(&wait, &both).status, 303);
    let page = server.get(&wait).text();
    // pH takes three minutes, nitrite five: the first to be photographed stands first.
    let [ph, nitrite] = ["<p class=\"what\">pH", "<p class=\"what\">nitrite"].map(|w| page.find(w).unwrap());
    assert!(
        ph < nitrite
            && page.contains("2:5")
            && page.contains("4:5")
            && page.contains("<noscript><meta http-equiv=\"refresh\""),
        "{page}"
    );
    assert!(server.get("/").text().contains("minutes to the photo"));
    let entry = page.split("name=\"entry\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_string();
    assert_eq!(server.post(&format!("/tank/{id}/wait/stop"), &[("entry", &entry)]).status, 303);
    assert!(!server.get(&wait).text().contains("<p class=\"what\">pH"));
    drop(house);
}

/// A house with the demo's kit.
fn house_with_kit(house: House) -> (House, Server, String) {
    let home = house.path("home");
    house.run(&["demo", "--into", home.to_str().unwrap()]).or_exit(3).touches(&["home/"]).go();
    let server = Server::start(&house, &[]);
    let page = server.get("/").text();
    let id = page.split("href=\"/tank/").nth(1).unwrap().split('"').next().unwrap().to_string();
    (house, server, id)
}

#[test]
fn card_and_labels_come_as_files() {
    let (_house, server, _) = house();
    let card = server.get("/print/card?as=pdf&paper=a4&number=7");
    assert!(card.body.starts_with(b"%PDF") && card.header("content-type") == Some("application/pdf"));
    let photo = server.get("/print/card?as=photo");
    assert_eq!(image::load_from_memory(&photo.body).unwrap().width(), 1800, "6 inches at 300 dots");
    assert_eq!(server.get("/print/card?number=76").status, 400);
    assert_eq!(server.get("/print/card?number=x").status, 400);
    let labels = server.post("/print/labels", &[("paper", "letter")]);
    assert!(labels.body.starts_with(b"%PDF"), "{}", labels.text());
}
