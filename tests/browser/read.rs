//! The main path, as a keeper walks it: pair, send a photo, see the reading, keep it, find it again.

use super::access;
use super::drive::{Browser, With, run};
use crate::support::House;
use crate::support::served::Server;
use std::path::PathBuf;

/// The demo's card and kit, and a tank without readings.
fn house() -> House {
    let house = House::new();
    let home = house.path("home");
    house.run(&["demo", "--into", home.to_str().unwrap()]).or_exit(3).touches(&["home/"]).go();
    for file in ["log.db", "log.db-wal", "log.db-shm"] {
        let _ = std::fs::remove_file(home.join(file));
    }
    house.run(&["tank", "add", "kitchen", "--water", "fresh", "--zone", "Europe/Berlin"]).touches(&["home/"]).go();
    house
}

fn photo(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/demo").join(name)
}

fn tank(house: &House) -> String {
    let log = rusqlite::Connection::open(house.path("home/log.db")).unwrap();
    log.query_row("SELECT id FROM tank", [], |row| row.get::<_, String>(0)).unwrap()
}

/// Test, lower and upper bound of every reading that stands.
fn logged(house: &House) -> Vec<(String, Option<f64>, Option<f64>)> {
    let text = house.run(&["log", "--json"]).go().out;
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let one =
        |r: &serde_json::Value| (r["test"].as_str().unwrap().to_string(), r["lower"].as_f64(), r["upper"].as_f64());
    value["readings"].as_array().unwrap().iter().map(one).collect()
}

#[test]
fn pair_send_see_keep_and_find_again() {
    let house = house();
    let server = Server::start(&house, &["--lan"]);
    let line = server.said.lines().find(|l| l.contains("for this code: ")).unwrap();
    let code = line.rsplit_once(": ").unwrap().1.to_string();
    run(async {
        let browser = Browser::open(With::Script).await;
        // The square that is photographed has the code behind the address.
        browser.go(&server, &format!("/pair#{code}")).await;
        browser.until("Pair this phone").await;
        let filled =
            browser.client.execute("return [document.getElementById('code').value, location.hash]", vec![]).await;
        assert_eq!(filled.unwrap(), serde_json::json!([code, ""]), "filled in, and gone from the address");
        browser.press("Pair").await;
        browser.until("kitchen").await;
        browser.press("Read a photo").await;
        browser.until("What stands where").await;
        browser.fits().await;
        access::pass(&browser).await;
        browser.choose("station-A", "pH").await;
        browser.choose("station-C", "nitrite").await;
        browser.give("snap", &photo("saturday.jpg")).await;
        browser.press("Send and read").await;
        let text = browser.until("What the photo says").await;
        let text = if text.contains("mg/L NO2-") { text } else { browser.until("mg/L NO2-").await };
        assert!(text.contains("95 %:"), "{text}");
        browser.until("Keep").await;
        browser.fits().await;
        access::pass(&browser).await;
        assert_eq!(logged(&house), [], "nothing is logged before it is kept");
        browser.press("Keep").await;
        browser.until("Kept.").await;
        browser.go(&server, &format!("/tank/{}/history?span=all", tank(&house))).await;
        let history = browser.until("mg/L NO2-").await;
        assert!(history.contains("30 Nov 2024"), "{history}");
        browser.fits().await;
        browser.close().await;
    });
    let all = logged(&house);
    // What the vials held, from the program that made the photo.
    for (test, truth) in [("pH", 6.72), ("nitrite", 1.46)] {
        let (_, low, high) = all.iter().find(|(t, ..)| t == test).unwrap();
        assert!(low.unwrap() <= truth && truth <= high.unwrap(), "{test}: {all:?}");
    }
    assert_eq!(all.len(), 2);
}

#[test]
fn a_blurred_photo_is_refused_with_its_reason_and_another_is_read() {
    let house = house();
    let server = Server::start(&house, &[]);
    run(async {
        let browser = Browser::open(With::Script).await;
        browser.go(&server, &format!("/tank/{}/read", tank(&house))).await;
        browser.until("What stands where").await;
        browser.choose("station-C", "ammonia").await;
        browser.give("photos", &photo("thursday-blurred.jpg")).await;
        browser.press("Send and read").await;
        let text = browser.until("Not read").await;
        assert!(text.contains("retake the photo") && text.contains("Read it by eye instead"), "{text}");
        browser.press("Discard and take another").await;
        browser.go(&server, &format!("/tank/{}/read", tank(&house))).await;
        browser.until("What stands where").await;
        browser.choose("station-A", "pH").await;
        browser.choose("station-C", "nitrite").await;
        browser.give("photos", &photo("saturday.jpg")).await;
        browser.press("Send and read").await;
        browser.until("mg/L NO2-").await;
        browser.press("Keep").await;
        browser.until("Kept.").await;
        browser.close().await;
    });
    assert_eq!(logged(&house).len(), 2);
}

#[test]
fn several_photos_each_have_their_state() {
    let house = house();
    let server = Server::start(&house, &[]);
    run(async {
        let browser = Browser::open(With::Script).await;
        browser.go(&server, &format!("/tank/{}/read", tank(&house))).await;
        browser.until("What stands where").await;
        browser.choose("station-A", "pH").await;
        browser.choose("station-C", "nitrite").await;
        browser.give("photos", &photo("saturday.jpg")).await;
        browser.give("photos", &photo("thursday-blurred.jpg")).await;
        browser.press("Send and read").await;
        browser.until("Photos").await;
        browser.until("needs a look").await;
        let text = browser.until("Keep the one that was read well").await;
        assert!(text.contains("saturday.jpg") && text.contains("thursday-blurred.jpg"), "{text}");
        browser.fits().await;
        access::pass(&browser).await;
        browser.press("Keep the one that was read well").await;
        browser.until("needs a look").await;
        browser.close().await;
    });
    assert_eq!(logged(&house).iter().map(|(t, ..)| t.as_str()).collect::<Vec<_>>(), ["pH", "nitrite"]);
}
