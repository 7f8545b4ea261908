//! Pairing phones, and forgetting them.

use crate::support::House;
use crate::support::served::{Answer, PATIENCE, Server, lines};
use serde::Deserialize;
use std::process::{Command, Stdio};

/// The code in what the server said.
fn code(server: &Server) -> String {
    let line = server.said.lines().find(|l| l.contains("for this code: ")).unwrap_or_else(|| panic!("{}", server.said));
    line.rsplit_once(": ").unwrap().1.trim().to_string()
}

fn cookie(answer: &Answer) -> String {
    answer.header("set-cookie").unwrap().split(';').next().unwrap().to_string()
}

fn with<'c>(server: &Server, cookie: &'c str, path: &str) -> (Answer, [(&'static str, &'c str); 1]) {
    let own = [("Cookie", cookie)];
    (server.ask("GET", path, &own, &[]), own)
}

#[test]
fn on_the_home_network_a_phone_is_paired_once() {
    let house = House::new();
    house.run(&["tank", "add", "shelf", "--water", "fresh"]).touches(&["home/"]).go();
    let mut server = Server::start(&house, &["--lan"]);
    assert!(server.said.contains("plain HTTP") && !server.said.contains('\u{1b}'), "{}", server.said);
    let code_now = code(&server);
    // Unpaired, nothing but the way in is shown.
    let answer = server.get("/");
    assert_eq!((answer.status, answer.header("location")), (303, Some("/pair")));
    assert!(!server.get("/pair").text().contains("shelf"));
    for path in ["/tank/x/history", "/phones", "/photo", "/nothing", "/upload.js"] {
        assert_eq!(server.get(path).status, 303, "{path}");
    }
    assert_eq!(server.get("/style.css").status, 200);
    let answer = server.post("/tank/new", &[("name", "x"), ("water", "fresh")]);
    assert!(answer.status == 401 && answer.text().contains("not-paired"), "{}", answer.text());
    assert_eq!(server.post("/phones/forget", &[("all", "1")]).status, 401);
    assert_eq!(with(&server, "tintline=0000", "/").0.status, 303);
    let wrong = server.post("/pair", &[("code", "2222-2222"), ("name", "kitchen")]);
    assert_eq!((wrong.status, wrong.header("set-cookie")), (403, None));
    assert!(wrong.text().contains("kitchen") && wrong.text().contains("pair-wrong"), "what was typed stays");
    let right = server.post("/pair", &[("code", &code_now.to_lowercase()), ("name", "kitchen")]);
    assert_eq!((right.status, right.header("location")), (303, Some("/")));
    let whole = right.header("set-cookie").unwrap();
    for part in ["tintline=", "HttpOnly", "SameSite=Lax", "Max-Age=31536000", "Path=/"] {
        assert!(whole.contains(part), "{whole}");
    }
    assert!(!whole.contains("Secure") && !whole.contains("Domain"), "it could not come back over plain HTTP: {whole}");
    let own = cookie(&right);
    assert!(with(&server, &own, "/").0.text().contains("shelf"));
    assert!(with(&server, &own, "/pair").0.text().contains("there is nothing to type"));
    // The code serves for another phone too, which gets a token of its own.
    let other = cookie(&server.post("/pair", &[("code", &code_now)]));
    assert_ne!(own, other);
    assert_eq!(server.stop(), Some(0));
    // A restart asks no paired phone again, though the code is another one.
    let server = Server::start(&house, &["--lan"]);
    assert_ne!(code(&server), code_now);
    assert_eq!(server.post("/pair", &[("code", &code_now)]).status, 403);
    let (phones, headers) = with(&server, &own, "/phones");
    let text = phones.text();
    assert!(text.contains("kitchen, this phone") && text.contains("phone 1"), "{text}");
    let id = text.split("name=\"phone\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    assert_eq!(server.post_with("/phones/forget", &[("phone", id)], &headers).status, 303);
    assert_eq!(with(&server, &own, "/").0.status, 303, "forgotten");
    let (still, headers) = with(&server, &other, "/");
    assert_eq!(still.status, 200);
    let answer = server.post_with("/phones/forget", &[("phone", "no-such")], &headers);
    assert!(answer.status == 404 && answer.text().contains("phones-unknown"), "{}", answer.text());
    assert_eq!(server.post_with("/phones/forget", &[("all", "1")], &headers).status, 303);
    assert_eq!(with(&server, &other, "/").0.status, 303);
}

#[test]
fn wrong_codes_are_few() {
    let house = House::new();
    let server = Server::start(&house, &["--lan"]);
    let statuses: Vec<u16> = (0..7).map(|_| server.post("/pair", &[("code", "2222-2222")]).status).collect();
    assert_eq!(statuses, [403, 403, 403, 403, 403, 429, 429]);
    let answer = server.post("/pair", &[("code", &code(&server))]);
    assert_eq!((answer.status, answer.header("set-cookie")), (429, None), "not even the right one is looked at");
    assert!(answer.text().contains("pair-too-many"));
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Code {
    code: String,
    until: jiff::Timestamp,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct List {
    phones: Vec<One>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct One {
    id: String,
    name: String,
    paired: jiff::Timestamp,
    used: jiff::Timestamp,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Forgotten {
    forgotten: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Serving {
    schema: u32,
    addresses: Vec<String>,
    code: Option<String>,
    code_until: Option<jiff::Timestamp>,
    private: bool,
}

#[test]
fn where_it_is_comes_as_json_as_soon_as_it_listens() {
    for (options, asked) in [(&["--lan"][..], true), (&[], false)] {
        let house = House::new();
        let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
        command.args(["serve", "--port", "0", "--json"]).args(options).env("TINTLINE_HOME", house.path("home"));
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let out = lines(child.stdout.take().unwrap());
        let mut text = String::new();
        while !text.ends_with("\n}") {
            text.push('\n');
            text.push_str(&out.recv_timeout(PATIENCE).expect("an answer while it runs"));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let said: Serving = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
        assert_eq!((said.schema, said.private), (1, !asked), "plain HTTP is private on this computer alone");
        assert_eq!((said.code.is_some(), said.code_until.is_some()), (asked, asked));
        assert!(said.addresses.last().unwrap().starts_with("http://127.0.0.1:"), "{:?}", said.addresses);
        assert!(asked || said.addresses.len() == 1, "{:?}", said.addresses);
    }
}

#[test]
fn a_server_nobody_sits_at_is_helped_from_another_window() {
    let house = House::new();
    let server = Server::start(&house, &["--lan"]);
    let first = code(&server);
    let said = house.run(&["serve", "pair", "--json"]).touches(&["home/phones/"]).go().json::<Code>();
    assert!(said.until > jiff::Timestamp::now());
    assert_eq!(server.post("/pair", &[("code", &first)]).status, 403, "there is one code at a time");
    let own = cookie(&server.post("/pair", &[("code", &said.code), ("name", "kitchen")]));
    let other = cookie(&server.post("/pair", &[("code", &said.code), ("name", "hall")]));
    let list = house.run(&["serve", "phones", "--json"]).go().json::<List>().phones;
    assert_eq!(list.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(), ["kitchen", "hall"]);
    assert!(list.iter().all(|p| p.paired == p.used && p.id.len() == 12));
    house.run(&["serve", "phones"]).out_has("kitchen, paired").out_has(&list[0].id).go();
    // The running server forgets at once.
    let forgotten = house.run(&["serve", "forget", "kitchen", "--json"]).touches(&["home/phones/"]).go();
    assert_eq!(forgotten.json::<Forgotten>().forgotten, ["kitchen"]);
    assert_eq!(with(&server, &own, "/").0.status, 303);
    assert_eq!(with(&server, &other, "/").0.status, 200);
    house.run(&["serve", "forget", "kitchen"]).exit(2).err_has("[phones-unknown]").err_has("serve phones").go();
    house.run(&["serve", "forget"]).exit(2).err_has("PHONES").go();
    house.run(&["serve", "forget", "--all"]).touches(&["home/phones/"]).out_has("Forgotten: hall.").go();
    assert_eq!(with(&server, &other, "/").0.status, 303);
    house.run(&["serve", "phones"]).out_has("No phone is paired.").go();
    house.run(&["serve", "--lan", "pair"]).exit(2).err_has("cannot be used with").go();
    // A copy of the log lets nobody in.
    house.run(&["tank", "add", "shelf", "--water", "fresh"]).touches(&["home/"]).go();
    house.run(&["log", "backup", "all.zip"]).touches(&["desk/all.zip"]).go();
    let zip = std::fs::read(house.path("desk/all.zip")).unwrap();
    let held = |name: &str| zip.windows(name.len()).any(|w| w == name.as_bytes());
    assert!(held("log.db") && !held("paired.json"));
}

#[test]
fn without_the_home_network_nobody_is_paired() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    assert!(!server.said.contains("code") && !server.said.contains("plain HTTP"), "{}", server.said);
    let answer = server.post("/pair", &[("code", "2222-2222")]);
    assert!(answer.status == 404 && answer.text().contains("pair-not-asked"), "{}", answer.text());
    assert_eq!(server.get("/phones").status, 200);
    assert!(!house.path("home").exists(), "looking makes nothing");
}

#[test]
fn a_list_of_phones_that_cannot_be_read_is_no_open_door() {
    let house = House::new();
    let server = Server::start(&house, &["--lan"]);
    let own = cookie(&server.post("/pair", &[("code", &code(&server))]));
    let file = house.path("home/phones/paired.json");
    for (text, fault) in [("{\"version\": 2}", "phones-newer"), ("{", "phones-odd")] {
        std::fs::write(&file, text).unwrap();
        let answer = with(&server, &own, "/").0;
        assert!(answer.status == 500 && answer.text().contains(fault), "{}", answer.text());
        house.run(&["serve", "--lan", "--port", "0"]).exit(4).err_has(&format!("[{fault}]")).go();
        assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
    }
}
