//! Who may in.

use crate::support::House;
use crate::support::served::{PATIENCE, Server};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Instant;

/// The code in what the server said.
fn code(server: &Server) -> String {
    let line = server.said.lines().find(|l| l.contains("for this code: ")).unwrap_or_else(|| panic!("{}", server.said));
    line.rsplit_once(": ").unwrap().1.trim().to_string()
}

#[test]
fn only_its_own_names_are_answered_to() {
    let house = House::new();
    let server = Server::start(&house, &["--name", "Aquarium.Home"]);
    let port = server.place().rsplit_once(':').unwrap().1;
    for own in ["localhost", "127.0.0.1", "[::1]", "192.0.2.7", "aquarium.home", "AQUARIUM.home"] {
        for host in [own.to_string(), format!("{own}:{port}")] {
            assert_eq!(server.ask("GET", "/", &[("Host", &host)], &[]).status, 200, "{host}");
        }
    }
    for other in ["rebound.example", "localhost.example", "127.0.0.1.example:80", "", "aquarium.home.example", "[::1"] {
        let answer = server.ask("GET", "/", &[("Host", other)], &[]);
        assert!([400, 421].contains(&answer.status), "{other}: {}", answer.status);
        assert!(answer.status == 400 || answer.text().contains("host-unknown"), "{other}: {}", answer.text());
    }
}

#[test]
fn what_changes_something_comes_from_its_own_pages() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let form = ("Content-Type", "application/x-www-form-urlencoded");
    let body = b"name=shelf&water=fresh";
    let foreign: &[&[(&str, &str)]] = &[
        &[],
        &[("Origin", "http://rebound.example")],
        &[("Origin", "null")],
        &[("Origin", "http://127.0.0.1:1")],
        &[("Sec-Fetch-Site", "cross-site"), ("Origin", &server.address)],
        &[("Sec-Fetch-Site", "same-site")],
        &[("Sec-Fetch-Site", "none")],
    ];
    for headers in foreign {
        let headers: Vec<_> = headers.iter().copied().chain([form]).collect();
        let answer = server.ask("POST", "/tank/new", &headers, body);
        assert_eq!(answer.status, 403, "{headers:?}");
        assert!(answer.text().contains("request-foreign"));
    }
    assert!(!house.path("home/log.db").exists(), "nothing was done");
    let answer = server.ask("POST", "/tank/new", &[form, ("Origin", &server.address)], body);
    assert_eq!(answer.status, 303, "{}", answer.text());
    assert!(house.path("home/log.db").exists());
}

#[test]
fn every_answer_carries_the_rules_for_the_browser() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    for (path, status) in [("/", 200), ("/nothing", 404), ("/style.css", 200), ("/tank/x", 400)] {
        let answer = server.get(path);
        assert_eq!(answer.status, status, "{path}");
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.starts_with("default-src 'none'; style-src 'self'; script-src 'self';"), "{policy}");
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(answer.header("access-control-allow-origin"), None);
        assert_eq!(answer.header("x-frame-options"), Some("DENY"));
    }
    assert_eq!(server.get("/").header("cache-control"), Some("no-store"));
}

#[test]
fn on_the_home_network_a_phone_is_paired_once() {
    let house = House::new();
    house.run(&["tank", "add", "shelf", "--water", "fresh"]).touches(&["home/"]).go();
    let mut server = Server::start(&house, &["--lan"]);
    assert!(server.said.contains("plain HTTP"), "{}", server.said);
    let code_now = code(&server);
    // Unpaired, nothing but the way in is shown.
    let answer = server.get("/");
    assert_eq!((answer.status, answer.header("location")), (303, Some("/pair")));
    assert!(!server.get("/pair").text().contains("shelf"));
    assert_eq!(server.get("/tank/x/history").status, 303);
    assert_eq!(server.post("/tank/new", &[("name", "x"), ("water", "fresh")]).status, 401);
    assert_eq!(server.ask("GET", "/", &[("Cookie", "tintline=0000")], &[]).status, 303);
    let wrong = server.post("/pair", &[("code", "2222-2222"), ("name", "kitchen")]);
    assert_eq!((wrong.status, wrong.header("set-cookie")), (403, None));
    assert!(wrong.text().contains("kitchen"), "what was typed stays");
    let right = server.post("/pair", &[("code", &code_now.to_lowercase()), ("name", "kitchen")]);
    assert_eq!((right.status, right.header("location")), (303, Some("/")));
    let cookie = right.header("set-cookie").unwrap().to_string();
    for part in ["HttpOnly", "SameSite=Strict", "Max-Age=7776000", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    assert!(!cookie.contains("Secure"), "it could not come back over plain HTTP: {cookie}");
    let cookie = cookie.split(';').next().unwrap().to_string();
    let own = [("Cookie", cookie.as_str())];
    assert!(server.ask("GET", "/", &own, &[]).text().contains("shelf"));
    assert_eq!(server.stop(), Some(0));
    // A restart asks no paired phone again, though the code is another one.
    let mut server = Server::start(&house, &["--lan"]);
    assert_ne!(code(&server), code_now);
    assert_eq!(server.ask("GET", "/", &own, &[]).status, 200);
    let phones = server.ask("GET", "/phones", &own, &[]).text();
    assert!(phones.contains("kitchen, this phone"), "{phones}");
    let id = phones.split("name=\"phone\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    assert_eq!(server.post_with("/phones/forget", &[("phone", id)], &own).status, 303);
    assert_eq!(server.ask("GET", "/", &own, &[]).status, 303, "forgotten");
    let again = server.post("/pair", &[("code", &code(&server))]).header("set-cookie").unwrap().to_string();
    let again = [("Cookie", again.split(';').next().unwrap())];
    assert_eq!(server.ask("GET", "/", &again, &[]).status, 200);
    server.stop();
    let server = Server::start(&house, &["--lan", "--forget"]);
    assert_eq!(server.ask("GET", "/", &again, &[]).status, 303, "all are forgotten");
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

#[test]
fn too_much_is_refused_and_the_server_goes_on() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let headers = [("Origin", server.address.as_str()), ("Content-Type", "application/x-www-form-urlencoded")];
    let body = vec![b'a'; 3_000_000];
    let answer = server.ask("POST", "/tank/new", &headers, &body);
    assert_eq!(answer.status, 413, "{}", answer.text());
    assert!(answer.text().contains("form-too-large"));
    // Connections that say nothing keep nobody out.
    let idle: Vec<TcpStream> = (0..60).map(|_| TcpStream::connect(server.place()).unwrap()).collect();
    assert_eq!(server.get("/").status, 200);
    drop(idle);
}

#[test]
fn who_is_slow_to_ask_is_hung_up_on() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let mut slow = TcpStream::connect(server.place()).unwrap();
    slow.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: ").unwrap();
    slow.set_read_timeout(Some(PATIENCE)).unwrap();
    let since = Instant::now();
    let mut bytes = Vec::new();
    let _ = slow.read_to_end(&mut bytes);
    // It waits for a while, and not for ever.
    assert!(since.elapsed() < PATIENCE, "still open");
    assert!(!String::from_utf8_lossy(&bytes).contains("200 OK"));
}

#[test]
fn what_cannot_be_served_says_so() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let port = server.place().rsplit_once(':').unwrap().1.to_string();
    house.run(&["serve", "--port", &port]).exit(1).err_has("[serve-listen]").err_has("--port").go();
    house.lay("key.pem", "no key").lay("cert.pem", "no certificate");
    let (cert, key) = (house.path("desk/cert.pem"), house.path("desk/key.pem"));
    let run = |cert: &str, key: &str| {
        house.run(&["serve", "--port", "0", "--tls", cert, key]).exit(1).err_has("[serve-tls]").err_has("PEM").go();
    };
    run(cert.to_str().unwrap(), key.to_str().unwrap());
    run("desk/none.pem", "desk/none.pem");
    house.run(&["serve", "--forget"]).exit(2).err_has("--lan").go();
}
