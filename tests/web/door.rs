//! Who may in.

use crate::support::House;
use crate::support::served::Server;

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
fn what_another_site_wants_without_being_led_here_is_refused() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let ask = |method: &str, site: &str, mode: &str| {
        server.ask(method, "/", &[("Sec-Fetch-Site", site), ("Sec-Fetch-Mode", mode)], &[]).status
    };
    assert_eq!([ask("GET", "cross-site", "navigate"), ask("GET", "none", "navigate")], [200, 200]);
    assert_eq!([ask("GET", "cross-site", "no-cors"), ask("HEAD", "same-site", "cors")], [403, 403]);
}

#[test]
fn other_methods_are_answered_with_a_page() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let head = server.ask("HEAD", "/", &[], &[]);
    assert_eq!((head.status, head.body.len()), (200, 0));
    assert!(head.header("content-length").unwrap().parse::<usize>().unwrap() > 500);
    // A browser that asks before it sends something from elsewhere is given no leave.
    let asked = server.ask("OPTIONS", "/tank/new", &[("Origin", "http://rebound.example")], &[]);
    assert_eq!((asked.status, asked.header("allow")), (405, Some("GET,HEAD,POST")));
    assert!(asked.headers.iter().all(|(name, _)| !name.starts_with("access-control")), "{:?}", asked.headers);
    let own = [("Origin", server.address.as_str())];
    for (method, path, status) in
        [("PUT", "/tank/new", 405), ("DELETE", "/", 405), ("POST", "/", 405), ("TRACE", "/", 405)]
    {
        let answer = server.ask(method, path, &own, &[]);
        assert_eq!(answer.status, status, "{method} {path}");
        assert!(answer.text().contains("request-odd") && answer.text().contains("<h1>"), "{}", answer.text());
    }
    // What is no text in an address.
    let answer = server.get("/tank/%ff");
    assert!(answer.status == 400 && answer.text().contains("<h1>"), "{}", answer.text());
}
