//! Four phones that send photos at once: how soon a page answers meanwhile, how soon all is read, peak memory, and whether any is lost.
//!
//! ```text
//! cargo bench --bench phones -- [PHOTOS [FILE]]
//! ```
//!
//! Each of four phones sends PHOTOS (10) copies of a shipped photo, or of FILE (JPEG or HEIC), each made another photo, one after the
//! other as fast as the server takes them, while a fifth opens the tank's page and the start page in turn every 50 ms until all are
//! read. Nothing is asserted about time: machines differ.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

const PHONES: usize = 4;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let each: usize = args.first().and_then(|n| n.parse().ok()).unwrap_or(10);
    let shipped = include_bytes!("../fixtures/photos/demo/sunday.jpg").to_vec();
    let photo = args.get(1).map_or(shipped, |path| std::fs::read(path).expect("the photo can be read"));
    let dir = tempfile::tempdir().expect("a folder");
    let home = dir.path().join("home");
    let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
    command.args(["demo", "--into"]).arg(&home).stdout(Stdio::null()).stderr(Stdio::null());
    assert!(command.status().expect("the program starts").success());
    let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
    command.args(["serve", "--port", "0", "--home"]).arg(&home).stdout(Stdio::piped());
    let mut child = command.spawn().expect("the server starts");
    let place = place(&mut child);
    let start = text(&ask(&place, "GET", "/", "text/plain", &[]));
    let tank = start.split("href=\"/tank/").nth(1).and_then(|t| t.split('"').next()).expect("a tank").to_string();
    println!("{PHONES} phones, {each} photos each, of {} kB", photo.len() / 1000);

    let begun = Instant::now();
    let done = AtomicBool::new(false);
    let (mut pages, mut waits) = (Vec::new(), Vec::new());
    let (mut sent, mut peak) = (Duration::ZERO, 0);
    std::thread::scope(|scope| {
        let (place, tank, photo, done) = (&place, &tank, &photo, &done);
        let phone = |n: usize| {
            scope.spawn(move || {
                let send = |i: usize| {
                    page_of(&ask(place, "POST", &format!("/tank/{tank}/read"), FORM, &form(photo, n * each + i)))
                };
                (0..each).map(send).collect::<Vec<_>>()
            })
        };
        let phones: Vec<_> = (0..PHONES).map(phone).collect();
        let looker = scope.spawn(move || {
            let mut waits = Vec::new();
            for path in [format!("/tank/{tank}"), "/".to_string()].iter().cycle() {
                if done.load(Ordering::SeqCst) {
                    return waits;
                }
                let since = Instant::now();
                assert!(text(&ask(place, "GET", path, "text/plain", &[])).starts_with("HTTP/1.1 200"));
                waits.push(since.elapsed());
                std::thread::sleep(Duration::from_millis(50));
            }
            waits
        });
        pages = phones.into_iter().flat_map(|p| p.join().expect("a phone")).flatten().collect();
        sent = begun.elapsed();
        while text(&ask(place, "GET", "/photo", "text/plain", &[])).contains("data-again") {
            std::thread::sleep(Duration::from_millis(100));
        }
        peak = peak_mb(child.id());
        done.store(true, Ordering::SeqCst);
        waits = looker.join().expect("the one who looks");
    });
    let took = begun.elapsed();
    let list = text(&ask(&place, "GET", "/photo", "text/plain", &[]));
    pages.sort();
    pages.dedup();
    let lost = PHONES * each - pages.iter().filter(|p| list.contains(&format!("href=\"{p}\""))).count();
    waits.sort();
    let at = |share: f64| waits[((waits.len() - 1) as f64 * share) as usize].as_secs_f64() * 1000.0;
    println!("sent after {:.1} s, read after {:.1} s, lost {lost}", sent.as_secs_f64(), took.as_secs_f64());
    println!(
        "{} pages meanwhile: median {:.0} ms, 95th percentile {:.0} ms, worst {:.0} ms; peak memory {peak} MB",
        waits.len(),
        at(0.5),
        at(0.95),
        at(1.0)
    );
    let _ = child.kill();
    let _ = child.wait();
}

const FORM: &str = "multipart/form-data; boundary=cut-here";

fn form(photo: &[u8], i: usize) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, value) in [("kit", "demo-vials"), ("station-C", "ammonia")] {
        let part = format!("--cut-here\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend(part.into_bytes());
    }
    let head = "--cut-here\r\nContent-Disposition: form-data; name=\"photos\"; filename=\"p\"\r\n\r\n";
    body.extend(head.bytes());
    body.extend(distinct(photo, i as u32));
    body.extend(b"\r\n--cut-here--\r\n");
    body
}

/// The same picture as another photo: a JPEG gets a table that no component uses, with the number in it; another container a box at its
/// end that readers skip (ISO/IEC 14496-12, `free`).
fn distinct(photo: &[u8], i: u32) -> Vec<u8> {
    if !photo.starts_with(&[0xff, 0xd8]) {
        return [photo, &12u32.to_be_bytes(), b"free", &i.to_be_bytes()].concat();
    }
    let mut table = [1u8; 64];
    for (k, byte) in i.to_be_bytes().into_iter().enumerate() {
        table[2 * k] = 1 + (byte >> 4);
        table[2 * k + 1] = 1 + (byte & 15);
    }
    [&photo[..2], &[0xff, 0xdb, 0, 67, 3], &table, &photo[2..]].concat()
}

/// Host and port of a server that starts.
fn place(child: &mut Child) -> String {
    let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines().map_while(Result::ok);
    let line = lines.find(|l| l.contains("http://")).expect("the server says where it is");
    std::thread::spawn(move || lines.for_each(drop));
    line.split("http://").nth(1).and_then(|l| l.split('/').next()).expect("an address").to_string()
}

fn ask(place: &str, method: &str, path: &str, kind: &str, body: &[u8]) -> Vec<u8> {
    let mut stream = TcpStream::connect(place).expect("the server listens");
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {place}\r\nOrigin: http://{place}\r\nContent-Type: {kind}\r\n\
         Content-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    stream.write_all(&[head.as_bytes(), body].concat()).expect("the server takes it");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("the server answers");
    answer
}

fn text(answer: &[u8]) -> String {
    String::from_utf8_lossy(answer).to_string()
}

/// Where a photo that was accepted is shown.
fn page_of(answer: &[u8]) -> Option<String> {
    text(answer).lines().find_map(|l| l.strip_prefix("location: ").map(String::from))
}

/// The most memory a program ever had, where the system tells it.
fn peak_mb(id: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let own = status.lines().find_map(|l| l.strip_prefix("VmHWM:")?.split_whitespace().next()?.parse::<u64>().ok());
    own.unwrap_or(0) / 1000
}
