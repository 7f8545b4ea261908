//! The server killed at any moment: no accepted photo is lost, none is doubled.

use super::phone::parts;
use crate::cli::week;
use crate::support::served::{Answer, Server};
use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;
use tintline::log::Log;

/// Kills a server after so long, while `work` goes on. SIGKILL, as a power cut: nothing is said to the program.
fn killed_after<T: Send>(server: Server, delay: Duration, work: impl FnOnce(&Server) -> T + Send) -> T {
    std::thread::scope(|scope| {
        let busy = scope.spawn(|| work(&server));
        std::thread::sleep(delay);
        crate::support::signal("KILL", server.id());
        busy.join().unwrap()
    })
}

fn post(server: &Server, path: &str, kind: &str, body: &[u8]) -> Option<Answer> {
    server.try_ask("POST", path, &[("Origin", &server.address), ("Content-Type", kind)], body)
}

fn between(text: &str, before: &str, after: &str) -> Vec<String> {
    text.split(before).skip(1).map(|s| s.split(after).next().unwrap().to_string()).collect()
}

/// The list, once all is read.
fn list(server: &Server) -> String {
    for _ in 0..600 {
        let page = server.get("/photo").text();
        if !page.contains("data-again") {
            return page;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("never read");
}

#[test]
fn no_accepted_photo_is_lost_and_none_is_doubled() {
    let house = week::week();
    let tank = Log::open(&house.path("home/log.db")).unwrap().tanks().unwrap()[0].id.to_string();
    let originals = || {
        let list = std::fs::read_dir(house.path("home/photos")).unwrap().map(|e| e.unwrap().file_name());
        list.filter(|n| !n.to_string_lossy().starts_with('.')).count()
    };
    let before = originals();
    let photos: Vec<Vec<u8>> = (0..week::PHOTOS).map(|i| week::day(i).1).collect();
    let form = |photo: &[u8]| parts(&[("kit", "home"), ("station-B", "nitrite")], &[("photos", "p.jpg", photo)]);
    let path = format!("/tank/{tank}/read");
    let kind = "multipart/form-data; boundary=cut-here";

    // Each photo is sent once or more, each time with a kill at another moment, until it is accepted.
    let (mut accepted, mut kills, mut unheard) = (BTreeMap::new(), 0, 0);
    for (i, photo) in photos.iter().enumerate() {
        for round in 0.. {
            let delay = Duration::from_millis((i as u64 * 3 + round * 5) % 60);
            let server = Server::start(&house, &[]);
            let answer = killed_after(server, delay, |s| post(s, &path, kind, &form(photo)));
            kills += 1;
            match answer.and_then(|a| a.header("location").map(str::to_string)) {
                Some(page) => {
                    accepted.insert(i, page);
                    break;
                }
                None => unheard += 1,
            }
        }
    }
    let server = Server::start(&house, &[]);
    let page = list(&server);
    let there: Vec<String> = between(&page, "<li><a href=\"", "\"");
    let set: BTreeSet<&String> = there.iter().collect();
    assert_eq!((there.len(), set.len()), (photos.len(), photos.len()), "each once, however often it was sent");
    for (i, own) in &accepted {
        assert!(set.contains(own), "photo {i} was accepted as {own}");
    }
    drop(server);
    kills += 1;

    // Kept in one go, killed on the way, until all are.
    let mut rounds = 0;
    loop {
        let server = Server::start(&house, &[]);
        let page = list(&server);
        let items = between(&page, "name=\"item\" value=\"", "\"");
        if items.is_empty() {
            break;
        }
        let body: Vec<String> = items.iter().map(|i| format!("item={}", i.replace(':', "%3A"))).collect();
        let delay = Duration::from_millis(40 + 60 * rounds);
        let form = "application/x-www-form-urlencoded";
        killed_after(server, delay, |s| post(s, "/photo/keep", form, body.join("&").as_bytes()));
        kills += 1;
        rounds += 1;
        assert!(rounds < 100, "it never comes to an end");
    }
    let log = Log::open(&house.path("home/log.db")).unwrap();
    let readings = log.readings(&Default::default()).unwrap();
    let of: BTreeSet<Option<String>> = readings.iter().map(|r| r.photo.clone()).collect();
    assert_eq!((readings.len(), of.len()), (photos.len(), photos.len()), "after {kills} kills, {unheard} unheard");
    let written = log.outlines().unwrap().len();
    assert_eq!(written, photos.len(), "nothing was written and taken back");
    assert_eq!(originals() - before, photos.len());
    let left = std::fs::read_dir(house.path("home/incoming")).unwrap().map(|e| e.unwrap().path());
    let photos_left = left.filter(|p| p.extension().is_some_and(|e| e == "photo")).count();
    assert_eq!(photos_left, 0, "what is kept lies among the originals");
}
