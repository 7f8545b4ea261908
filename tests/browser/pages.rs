//! Every page about tanks: it fits a phone, passes the accessibility checks, in light and dark, with and without script.

use super::access;
use super::drive::{Browser, With, run};
use crate::support::House;
use crate::support::served::Server;

fn demo() -> (House, Server) {
    let house = House::new();
    let home = house.path("home");
    house.run(&["demo", "--into", home.to_str().unwrap()]).or_exit(3).touches(&["home/"]).go();
    house.run(&["event", "add", "water-change", "30%"]).touches(&["home/"]).go();
    house.run(&["wait", "nitrite", "--no-wait"]).touches(&["home/"]).go();
    let server = Server::start(&house, &[]);
    (house, server)
}

/// The addresses of all pages of the only tank, and of its newest reading.
fn pages(server: &Server) -> Vec<String> {
    let after = |text: &str, from: &str| text.split(from).nth(1).unwrap().split('"').next().unwrap().to_string();
    let id = after(&server.get("/").text(), "href=\"/tank/");
    let reading = after(&server.get(&format!("/tank/{id}/history?span=all")).text(), "href=\"/reading/");
    let own = ["", "/history?span=all", "/event", "/event?kind=media-moved", "/wait", "/trouble", "/facts", "/read"];
    let own = own.iter().map(|part| format!("/tank/{id}{part}"));
    let setup = ["/setup", "/card", "/card/enrol", "/card/check", "/kit", "/kit/new"].map(String::from);
    let kit = after(&server.get("/kit").text(), "href=\"/kit/").split('/').next().unwrap().to_string();
    let kit = ["", "/add", "/shades", "/check", "/standards"].map(|part| format!("/kit/{kit}{part}"));
    let more = ["/photo", "/", "/tank/new", "/print", "/pair", "/phones", "/nothing-here"].map(String::from);
    own.chain([format!("/reading/{reading}")]).chain(setup).chain(kit).chain(more).collect()
}

#[test]
fn every_page_fits_and_is_accessible() {
    let (_house, server) = demo();
    let pages = pages(&server);
    assert!(pages.len() >= 27);
    run(async {
        for with in [With::Script, With::Dark] {
            let browser = Browser::open(with).await;
            for page in &pages {
                browser.go(&server, page).await;
                browser.fits().await;
                access::pass(&browser).await;
            }
            browser.close().await;
        }
    });
}

#[test]
fn dark_is_dark() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    run(async {
        let mut grounds = Vec::new();
        for with in [With::Script, With::Dark] {
            let browser = Browser::open(with).await;
            browser.go(&server, "/").await;
            let ground = browser.client.execute("return getComputedStyle(document.body).backgroundColor", vec![]).await;
            grounds.push(ground.unwrap().as_str().unwrap().to_string());
            browser.close().await;
        }
        assert_eq!(grounds, ["rgb(247, 245, 240)", "rgb(17, 22, 20)"]);
    });
}

#[test]
fn a_timer_counts_down_without_and_with_script() {
    let (_house, server) = demo();
    let id = server.get("/").text().split("href=\"/tank/").nth(1).unwrap().split('"').next().unwrap().to_string();
    run(async {
        for with in [With::NoScript, With::Script] {
            let browser = Browser::open(with).await;
            browser.go(&server, &format!("/tank/{id}/wait")).await;
            let text = browser.until("minutes to the photo").await;
            assert!(text.contains("nitrite"), "{text}");
            if with == With::Script {
                let shown = |t: &str| t.lines().find(|l| l.contains("minutes to the photo")).map(str::to_string);
                let first = shown(&text);
                tokio::time::sleep(std::time::Duration::from_millis(2500)).await;
                assert_ne!(first, shown(&browser.words().await), "it goes on by itself");
            }
            browser.close().await;
        }
    });
}

#[test]
fn an_event_is_logged_step_by_step() {
    let (house, server) = demo();
    let id = server.get("/").text().split("href=\"/tank/").nth(1).unwrap().split('"').next().unwrap().to_string();
    run(async {
        let browser = Browser::open(With::Script).await;
        browser.go(&server, &format!("/tank/{id}")).await;
        browser.until("Next test").await;
        browser.press("Log").await;
        browser.until("What happened?").await;
        browser.press("Feeding").await;
        browser.until("grams, such as").await;
        browser.fill("words", "0.5 g flakes").await;
        browser.press("Log it").await;
        browser.until("feeding").await;
        browser.close().await;
    });
    house.run(&["event", "list"]).out_has("0.5 g, flakes").go();
}
