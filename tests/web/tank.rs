//! Pages about tanks.

use crate::support::House;
use crate::support::served::Server;

const NAME: &str = "shelf <b>&\"'";
const ESCAPED: &str = "shelf &#60;b&#62;&#38;&#34;&#39;";

fn house() -> (House, Server, String) {
    let house = House::new();
    house.run(&["tank", "add", NAME, "--water", "fresh", "--volume", "60", "--animals", "6"]).touches(&["home/"]).go();
    let server = Server::start(&house, &[]);
    let id = first_tank(&server);
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
    // What is asked back is told in words of the page, not of the command line.
    assert!(again.text().contains("tick so below") && !again.text().contains("--again"));
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
    assert_eq!(answer.status, 303, "{}", answer.text());
    let logged = server.get(answer.header("location").unwrap()).text();
    assert!(logged.contains("Logged. Do this now") && logged.contains("Air first"), "{logged}");
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
    let taken = server.post(&format!("/reading/{new_id}/undo"), &[("undo-reason", "looked at the wrong vial")]);
    assert_eq!(taken.status, 303);
    assert!(server.get(&format!("/reading/{new_id}")).text().contains("looked at the wrong vial"));
    assert!(server.get(&history).text().contains("0.50 mg/L NO2-"), "what was before stands again");
    house.run(&["log", "history"]).out_has("second look").go();
    let page = server.get(&format!("/tank/{id}/report"));
    assert_eq!(page.header("content-disposition"), Some("attachment; filename=\"tank-report.html\""));
    assert!(page.text().contains("Estimate, not proof") && !page.text().contains(ESCAPED));
}

#[test]
fn a_started_test_counts_down() {
    let house = House::new();
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
            && ["<strong>2:", "<strong>3:00"].iter().any(|left| page.contains(left))
            && ["<strong>4:", "<strong>5:00"].iter().any(|left| page.contains(left))
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
    let id = first_tank(&server);
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
    let labels = server.post("/print/labels", &[("as", "photo")]);
    assert_eq!(image::load_from_memory(&labels.body).unwrap().width(), 1800);
    let labels = server.post("/print/labels", &[("paper", "letter")]);
    assert!(labels.body.starts_with(b"%PDF"), "{}", labels.text());
}

#[test]
fn the_window_of_the_history_can_be_chosen() {
    let house = House::new();
    house.run(&["tank", "add", "hall", "--water", "fresh", "--zone", "UTC"]).touches(&["home/"]).go();
    let now = jiff::Timestamp::now();
    for (days, value) in [(1, "0.1"), (40, "0.4"), (200, "0.7")] {
        let at = now.checked_sub(jiff::SignedDuration::from_hours(24 * days)).unwrap();
        let at = at.strftime("%Y-%m-%d %H:%M").to_string();
        house.run(&["log", "add", &format!("nitrite={value} mg/L NO2-"), "--at", &at]).touches(&["home/"]).go();
    }
    let server = Server::start(&house, &[]);
    let id = first_tank(&server);
    let listed = |span: &str| {
        let page = server.get(&format!("/tank/{id}/history{span}")).text();
        let results = page.split("<h2>Results</h2>").nth(1).unwrap().to_string();
        ["0.10", "0.40", "0.7"].map(|v| results.contains(&format!("{v} mg/L NO2-")))
    };
    assert_eq!(listed("?span=14"), [true, false, false]);
    assert_eq!(listed("?span=90"), [true, true, false]);
    assert_eq!(listed(""), [true, true, false], "three months unless chosen");
    assert_eq!(listed("?span=all"), [true, true, true]);
    assert_eq!(listed("?span=%3Cb%3E"), [true, true, false], "what is no window is as if not said");
}

#[test]
fn a_reading_moves_to_the_tank_it_was_of() {
    let house = House::new();
    for name in ["hall", "loft"] {
        house.run(&["tank", "add", name, "--water", "fresh"]).touches(&["home/"]).go();
    }
    house.run(&["log", "add", "nitrite=0.5 mg/L NO2-", "--tank", "hall"]).touches(&["home/"]).go();
    let server = Server::start(&house, &[]);
    let home = server.get("/").text();
    let ids: Vec<&str> = home.split("<li><a href=\"/tank/").skip(1).map(|t| t.split('"').next().unwrap()).collect();
    let at = |name: &str| home.find(&format!("<strong>{name}</strong>")).unwrap();
    let (hall, loft) = if at("hall") < at("loft") { (ids[0], ids[1]) } else { (ids[1], ids[0]) };
    let has = |id: &str| server.get(&format!("/tank/{id}/history?span=all")).text().contains("0.50 mg/L NO2-");
    assert_eq!([has(hall), has(loft)], [true, false]);
    let page = server.get(&format!("/tank/{hall}/history?span=all")).text();
    let reading = page.split("href=\"/reading/").nth(1).unwrap().split('"').next().unwrap();
    let form = server.get(&format!("/reading/{reading}")).text();
    assert!(form.contains(&format!("<option value=\"{loft}\">loft")) && !form.contains(&format!("value=\"{hall}\"")));
    let to = format!("/reading/{reading}/move");
    assert_eq!(server.post(&to, &[("to", reading)]).status, 404, "no tank");
    assert_eq!([has(hall), has(loft)], [true, false]);
    assert_eq!(server.post(&to, &[("to", loft), ("move-reason", "wrong label")]).status, 303);
    assert_eq!([has(hall), has(loft)], [false, true]);
    assert!(server.get(&format!("/reading/{reading}")).text().contains("wrong label"));
}

#[test]
fn what_is_known_of_a_tank_changes() {
    let (house, server, id) = house();
    let facts = format!("/tank/{id}/facts");
    let before = server.get(&facts).text();
    assert!(before.contains("<dt>As filled</dt><dd>60 L</dd>") && !before.contains("°C</dd>"), "{before}");
    for (fields, code) in [
        (vec![("volume", "a lot"), ("temperature", "25")], "value=\"a lot\""),
        (vec![("volume", "")], "facts-none"),
        (vec![("volume", "70"), ("at", "2999-01-01 10:00")], "time-future"),
    ] {
        let answer = server.post(&facts, &fields);
        assert_eq!(answer.status, 400);
        assert!(answer.text().contains(code), "{code} in {}", answer.text());
    }
    assert_eq!(server.get(&facts).text(), before, "what was wrong changed nothing");
    let fields = [("volume", "20 us gal"), ("temperature", "78 °F"), ("planted", "yes")];
    assert_eq!(server.post(&facts, &fields).status, 303);
    let page = server.get(&facts).text();
    // 20 US gallons of 3.785411784 L; (78 - 32) / 1.8 degrees.
    for known in ["75.71 L", "25.56 °C", "planted"] {
        assert!(page.contains(&format!("<dd>{known}</dd>")), "{known} in {page}");
    }
    house.run(&["tank", "list"]).out_has("75.7").go();
}

#[test]
fn what_is_no_text_is_refused() {
    let (house, server, id) = house();
    let event = format!("/tank/{id}/event");
    for odd in ["\0", "\u{7}", "\u{fffd}"] {
        let answer = server.post(&event, &[("kind", "note"), ("words", odd)]);
        assert!(answer.status == 400 && answer.text().contains("form-not-text"), "{odd:?}");
    }
    for query in ["kind=%ff%fe", "kind=note&words=%c3"] {
        let answer = server.get(&format!("{event}?{query}"));
        assert!(answer.status == 400 && answer.text().contains("form-not-text"), "{query}");
    }
    assert!(!house.run(&["event", "list"]).go().out.contains("note"));
}

#[test]
fn the_start_page_puts_the_worst_first_with_what_is_due() {
    let house = House::new();
    for name in ["calm", "wild"] {
        house.run(&["tank", "add", name, "--water", "fresh", "--animals", "6"]).touches(&["home/"]).go();
    }
    let calm = ["log", "add", "ammonia=<0.25 mg/L NH3-N", "nitrite=<0.25 mg/L NO2-", "pH=7", "--tank", "calm"];
    house.run(&calm).touches(&["home/"]).go();
    let wild = ["log", "add", "nitrite=20 mg/L NO2-", "--tank", "wild"];
    house.run(&wild).touches(&["home/"]).go();
    let server = Server::start(&house, &[]);
    let home = server.get("/").text();
    let at = |words: &str| home.find(words).unwrap_or_else(|| panic!("{words} in {home}"));
    assert!(at("<strong>wild</strong>") < at("<strong>calm</strong>"), "{home}");
    let status = house.run(&["status", "wild"]).go().out;
    let symbol = ["!!!", "!!", "!"].into_iter().find(|s| status.contains(s)).unwrap();
    assert!(home.contains(&format!("aria-hidden=\"true\">{symbol}</span><strong>wild</strong>")), "{home}\n{status}");
    assert!(at("Test ") > at("<strong>wild</strong>"), "what is due stands with its tank: {home}");
}

/// The id of the tank that the start page names first.
fn first_tank(server: &Server) -> String {
    server.get("/").text().split("href=\"/tank/").nth(1).unwrap().split('"').next().unwrap().to_string()
}
