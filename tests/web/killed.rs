//! The server killed at any moment: no accepted photo is lost, none is doubled.

use super::parts;
use crate::cli::week;
use crate::support::House;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tintline::log::Log;

/// A server of a house's home.
struct Server {
    child: Child,
    at: String,
}

impl Server {
    fn start(house: &House) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
        command.args(["serve", "--port", "0"]).env("TINTLINE_HOME", house.path("home"));
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let at = loop {
            let line = lines.next().expect("the server says where it is").unwrap();
            if let Some((_, rest)) = line.split_once("http://") {
                break rest.split('/').next().unwrap().to_string();
            }
        };
        // Its further words go nowhere, but must be taken.
        std::thread::spawn(move || lines.for_each(drop));
        Self { child, at }
    }

    /// What it answers; none if it was killed meanwhile.
    fn ask(&self, method: &str, path: &str, kind: &str, body: &[u8]) -> Option<String> {
        let mut to = TcpStream::connect(&self.at).ok()?;
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {at}\r\nOrigin: http://{at}\r\nContent-Type: {kind}\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n",
            body.len(),
            at = self.at
        );
        to.write_all(head.as_bytes()).ok()?;
        to.write_all(body).ok()?;
        let mut answer = Vec::new();
        to.read_to_end(&mut answer).ok()?;
        Some(String::from_utf8_lossy(&answer).to_string()).filter(|a| a.contains("\r\n\r\n"))
    }

    fn get(&self, path: &str) -> Option<String> {
        self.ask("GET", path, "text/plain", b"")
    }

    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Kills it after so long, while `work` goes on.
    fn killed_after<T: Send>(self, delay: Duration, work: impl FnOnce(&Self) -> T + Send) -> T {
        let mut own = self;
        let id = own.child.id();
        let out = std::thread::scope(|scope| {
            let busy = scope.spawn(|| work(&own));
            std::thread::sleep(delay);
            // SIGKILL, as a power cut: nothing is said to the program.
            let done = Command::new("kill").args(["-9", &id.to_string()]).status().unwrap();
            assert!(done.success());
            busy.join().unwrap()
        });
        own.child.wait().unwrap();
        out
    }
}

fn location(answer: &str) -> Option<String> {
    let line = answer.lines().find(|l| l.to_ascii_lowercase().starts_with("location: "))?;
    Some(line.split_once(": ")?.1.trim().to_string())
}

fn between(text: &str, before: &str, after: &str) -> Vec<String> {
    text.split(before).skip(1).map(|s| s.split(after).next().unwrap().to_string()).collect()
}

/// The list, once all is read.
fn list(server: &Server) -> String {
    for _ in 0..600 {
        let page = server.get("/photo").unwrap();
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
            let server = Server::start(&house);
            let answer = server.killed_after(delay, |s| s.ask("POST", &path, kind, &form(photo)));
            kills += 1;
            match answer.as_deref().and_then(location) {
                Some(page) => {
                    accepted.insert(i, page);
                    break;
                }
                None => unheard += 1,
            }
        }
    }
    let server = Server::start(&house);
    let page = list(&server);
    let there: Vec<String> = between(&page, "<li><a href=\"", "\"");
    let set: BTreeSet<&String> = there.iter().collect();
    assert_eq!((there.len(), set.len()), (photos.len(), photos.len()), "each once, however often it was sent");
    for (i, own) in &accepted {
        assert!(set.contains(own), "photo {i} was accepted as {own}");
    }
    server.kill();
    kills += 1;

    // Kept in one go, killed on the way, until all are.
    let mut rounds = 0;
    loop {
        let server = Server::start(&house);
        let page = list(&server);
        let items = between(&page, "name=\"item\" value=\"", "\"");
        if items.is_empty() {
            break server.kill();
        }
        let body: Vec<String> = items.iter().map(|i| format!("item={}", i.replace(':', "%3A"))).collect();
        let delay = Duration::from_millis(40 + 60 * rounds);
        let form = "application/x-www-form-urlencoded";
        server.killed_after(delay, |s| s.ask("POST", "/photo/keep", form, body.join("&").as_bytes()));
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
