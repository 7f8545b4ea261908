//! How much, how many, how long; and the stop.

use crate::support::House;
use crate::support::served::{PATIENCE, Server};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Instant;

const FORM: &str = "application/x-www-form-urlencoded";

/// What comes until the server hangs up; false where it does not.
fn rest(stream: &mut TcpStream) -> (String, bool) {
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let since = Instant::now();
    let mut bytes = Vec::new();
    let _ = stream.read_to_end(&mut bytes);
    (String::from_utf8_lossy(&bytes).to_string(), since.elapsed() < PATIENCE)
}

#[test]
fn too_much_is_refused_and_the_server_goes_on() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let headers = [("Origin", server.address.as_str()), ("Content-Type", FORM)];
    // All of it is listened to, so that the answer is heard.
    for bytes in [70_000, 3_000_000, 20_000_000] {
        let answer = server.ask("POST", "/tank/new", &headers, &vec![b'a'; bytes]);
        assert_eq!(answer.status, 413, "{bytes} bytes: {}", answer.text());
        assert!(answer.text().contains("form-too-large"));
    }
    // One that is refused at the door is heard out as well.
    let foreign = [("Origin", "http://rebound.example"), ("Content-Type", FORM)];
    assert_eq!(server.ask("POST", "/tank/new", &foreign, &vec![b'a'; 3_000_000]).status, 403);
    // A length that is only said: nothing is set aside for it.
    let mut liar = TcpStream::connect(server.place()).unwrap();
    let head =
        format!("POST /tank/new HTTP/1.1\r\nHost: localhost\r\nOrigin: http://localhost\r\nContent-Type: {FORM}\r\n");
    write!(liar, "{head}Content-Length: 99999999999999\r\n\r\na=b").unwrap();
    // Headers without end.
    let mut long = TcpStream::connect(server.place()).unwrap();
    let _ = write!(long, "GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: {}\r\n\r\n", "a".repeat(2_000_000));
    assert!(!rest(&mut long).0.contains("200 OK"));
    assert_eq!(server.get("/").status, 200);
    assert!(!house.path("home").exists(), "nothing was done");
}

#[test]
fn one_who_connects_often_keeps_nobody_out_for_long() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    // More than one address may have: the last ones are hung up on at once.
    let mut silent: Vec<TcpStream> = (0..60).map(|_| TcpStream::connect(server.place()).unwrap()).collect();
    let (said, hung_up) = rest(silent.last_mut().unwrap());
    assert!(said.is_empty() && hung_up);
    // And those that say nothing after a while.
    let (said, hung_up) = rest(&mut silent[0]);
    assert!(hung_up, "still open");
    assert!(said.is_empty() || said.starts_with("HTTP/1.1 408"), "{said}");
    drop(silent);
    let since = Instant::now();
    while since.elapsed() < PATIENCE {
        let mut stream = TcpStream::connect(server.place()).unwrap();
        let _ = write!(stream, "GET / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
        if rest(&mut stream).0.starts_with("HTTP/1.1 200") {
            return;
        }
    }
    panic!("nobody is let in any more");
}

#[test]
fn who_falls_silent_is_hung_up_on() {
    let house = House::new();
    let server = Server::start(&house, &[]);
    let open = |said: &str| {
        let mut stream = TcpStream::connect(server.place()).unwrap();
        stream.write_all(said.as_bytes()).unwrap();
        stream
    };
    let form = format!("Host: localhost\r\nOrigin: http://localhost\r\nContent-Type: {FORM}\r\n");
    // In the middle of its wishes, of its form, of a form nobody lets it send; and after an answer.
    let mut asking = open("GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: ");
    let mut sending = open(&format!("POST /tank/new HTTP/1.1\r\n{form}Content-Length: 20\r\n\r\nname=she"));
    let mut refused = open("POST / HTTP/1.1\r\nHost: rebound.example\r\nContent-Length: 20\r\n\r\nname");
    let mut idle = open("GET /icon.svg HTTP/1.1\r\nHost: localhost\r\n\r\n");
    for (stream, answer) in
        [(&mut asking, ""), (&mut refused, "HTTP/1.1 421"), (&mut idle, "HTTP/1.1 200"), (&mut sending, "HTTP/1.1 400")]
    {
        let (said, hung_up) = rest(stream);
        assert!(hung_up, "still open after: {said}");
        assert!(said.starts_with(answer) && (said.is_empty() || !answer.is_empty()), "{answer}: {said}");
    }
    assert!(!house.path("home").exists(), "nothing was done");
}

#[cfg(unix)]
#[test]
fn a_stop_finishes_what_is_being_sent() {
    let house = House::new();
    let mut server = Server::start(&house, &[]);
    let mut sending = TcpStream::connect(server.place()).unwrap();
    let head =
        format!("POST /tank/new HTTP/1.1\r\nHost: localhost\r\nOrigin: http://localhost\r\nContent-Type: {FORM}\r\n");
    write!(sending, "{head}Content-Length: 22\r\n\r\nname=shelf").unwrap();
    // Until it is accepted: another request has been answered since.
    assert_eq!(server.get("/").status, 200);
    server.signal("TERM");
    let since = Instant::now();
    while TcpStream::connect(server.place()).is_ok() {
        assert!(since.elapsed() < PATIENCE, "others are still let in");
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    write!(sending, "&water=fresh").unwrap();
    assert!(rest(&mut sending).0.starts_with("HTTP/1.1 303"));
    assert_eq!(server.ended(), Some(0));
    house.run(&["tank", "list"]).out_has("shelf").go();
}

#[cfg(unix)]
#[test]
fn a_second_stop_ends_at_once() {
    let house = House::new();
    let mut server = Server::start(&house, &[]);
    let mut sending = TcpStream::connect(server.place()).unwrap();
    let head = "POST /tank/new HTTP/1.1\r\nHost: localhost\r\nOrigin: http://localhost\r\n";
    write!(sending, "{head}Content-Length: 20\r\n\r\nname").unwrap();
    assert_eq!(server.get("/").status, 200);
    server.signal("INT");
    std::thread::sleep(std::time::Duration::from_millis(300));
    server.signal("INT");
    assert_eq!(server.ended(), Some(130));
}

#[test]
fn a_port_that_is_taken_is_said() {
    let house = House::new();
    let server = Server::start(&house, &["--lan"]);
    let kept = std::fs::read(house.path("home/phones/paired.json")).unwrap();
    let port = server.place().rsplit_once(':').unwrap().1.to_string();
    house.run(&["serve", "--lan", "--port", &port]).exit(1).err_has("[serve-listen]").err_has("--port").go();
    assert_eq!(std::fs::read(house.path("home/phones/paired.json")).unwrap(), kept, "the code still serves");
}
