//! Four phones that send at once: nothing is lost, nothing doubled, and the pages are there meanwhile. Counts only; for times see the
//! bench `phones`.

use crate::pictures::fixture;
use crate::support::House;
use crate::support::served::{Answer, PATIENCE, Server};
use std::collections::BTreeSet;
use std::time::{Duration, Instant};

const PHONES: usize = 4;
const EACH: usize = 3;

/// The same picture as another photo: the number in a quantisation table that no component uses.
fn distinct(jpeg: &[u8], i: usize) -> Vec<u8> {
    let mut table = [1u8; 64];
    table[0] = 1 + i as u8;
    [&jpeg[..2], &[0xff, 0xdb, 0, 67, 3], &table, &jpeg[2..]].concat()
}

fn send(server: &Server, tank: &str, photo: &[u8]) -> Answer {
    let part = |head: &str| format!("--cut-here\r\nContent-Disposition: form-data; name={head}\r\n");
    let mut body = Vec::new();
    for (name, value) in [("kit", "demo-vials"), ("station-C", "ammonia")] {
        body.extend(format!("{}\r\n{value}\r\n", part(&format!("\"{name}\""))).into_bytes());
    }
    let head = part("\"photos\"; filename=\"p.jpg\"");
    body.extend(format!("{head}Content-Type: image/jpeg\r\n\r\n").into_bytes());
    body.extend_from_slice(photo);
    body.extend_from_slice(b"\r\n--cut-here--\r\n");
    let headers = [("Origin", server.address.as_str()), ("Content-Type", "multipart/form-data; boundary=cut-here")];
    server.ask("POST", &format!("/tank/{tank}/read"), &headers, &body)
}

#[test]
fn four_phones_at_once_lose_nothing() {
    let house = House::new();
    house.run(&["demo", "--into", "../home"]).touches(&["home/"]).go();
    let mut server = Server::start(&house, &[]);
    let home = server.get("/").text();
    let tank = home.split("href=\"/tank/").nth(1).unwrap().split('"').next().unwrap().to_string();
    let photo = fixture("photos/demo/sunday.jpg");
    let before = server.get("/photo").text().matches("<li><a href=\"/photo/").count();
    let (server_now, tank, photo) = (&server, &tank, &photo);
    let pages: BTreeSet<String> = std::thread::scope(|scope| {
        let phone = |n: usize| {
            scope.spawn(move || {
                let one = |i: usize| {
                    let answer = send(server_now, tank, &distinct(photo, n * EACH + i));
                    assert_eq!(answer.status, 303, "{}", answer.text());
                    // The pages are there meanwhile.
                    assert_eq!(server_now.get(&format!("/tank/{tank}")).status, 200);
                    answer.header("location").unwrap().to_string()
                };
                (0..EACH).map(one).collect::<Vec<_>>()
            })
        };
        let phones: Vec<_> = (0..PHONES).map(phone).collect();
        phones.into_iter().flat_map(|p| p.join().unwrap()).collect()
    });
    assert_eq!(pages.len(), PHONES * EACH, "each photo has a page of its own");
    // Some are still being read: a stop reads them, or leaves them for the next start.
    assert_eq!(server.stop(), Some(0));
    let server = Server::start(&house, &[]);
    let since = Instant::now();
    for page in &pages {
        let text = loop {
            let answer = server.get(page);
            assert_eq!(answer.status, 200, "{page}: {}", answer.text());
            if !answer.text().contains("data-again") {
                break answer.text();
            }
            assert!(since.elapsed() < PATIENCE, "{page} is never read");
            std::thread::sleep(Duration::from_millis(50));
        };
        assert!(text.contains("mmonia"), "{text}");
    }
    let there = server.get("/photo").text().matches("<li><a href=\"/photo/").count();
    assert_eq!(there - before, PHONES * EACH, "none lost, none doubled");
}
