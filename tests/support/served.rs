//! A running server of the program, and what it answers.

use super::House;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// Longer than anything takes, on a busy machine too.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// A running `tintline serve` on the home of a house.
pub struct Server {
    child: Child,
    /// Such as `http://127.0.0.1:34567`.
    pub address: String,
    /// What it printed before it was ready.
    pub said: String,
}

impl Server {
    pub fn start(house: &House, options: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
        command.args(["serve", "--port", "0"]).args(options).current_dir(house.path("desk"));
        command.env("TINTLINE_HOME", house.path("home")).env("TZ", "Europe/Berlin");
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let out = lines(child.stdout.take().unwrap());
        let mut said = String::new();
        while !said.contains("Ctrl-C stops it.") {
            let line = out.recv_timeout(PATIENCE).unwrap_or_else(|_| {
                let _ = child.kill();
                let mut why = String::new();
                child.stderr.take().unwrap().read_to_string(&mut why).unwrap();
                panic!("no address: {said} {why}")
            });
            said.push_str(&line);
            said.push('\n');
        }
        let own = said.split_whitespace().find(|w| w.contains("://127.0.0.1:")).unwrap();
        let address = own.trim_end_matches('/').to_string();
        Self { child, address, said }
    }

    /// Its process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Ends it as a keeper would; its exit code.
    #[cfg(unix)]
    pub fn stop(&mut self) -> Option<i32> {
        self.signal("INT");
        self.ended()
    }

    /// Sends it a signal, such as `TERM`.
    #[cfg(unix)]
    pub fn signal(&self, which: &str) {
        super::signal(which, self.child.id());
    }

    /// Waits for its end; its exit code.
    #[cfg(unix)]
    pub fn ended(&mut self) -> Option<i32> {
        let since = Instant::now();
        while since.elapsed() < PATIENCE {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.code();
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!("it does not stop");
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What a server answered.
#[derive(Debug, Clone)]
pub struct Answer {
    pub status: u16,
    /// Names in small letters.
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    /// The page's text, signs of HTML as they stand.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).to_string()
    }

    fn of(bytes: &[u8]) -> Self {
        let head = bytes.windows(4).position(|w| w == b"\r\n\r\n").unwrap_or_else(|| panic!("no answer: {bytes:?}"));
        let text = String::from_utf8_lossy(&bytes[..head]).to_string();
        let mut lines = text.lines();
        let status = lines.next().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
        let headers = lines.filter_map(|l| l.split_once(": ")).map(|(n, v)| (n.to_lowercase(), v.to_string()));
        Self { status, headers: headers.collect(), body: bytes[head + 4..].to_vec() }
    }
}

impl Server {
    /// Host and port.
    pub fn place(&self) -> &str {
        self.address.split_once("://").unwrap().1
    }

    /// Asks with exactly these headers beside `Host`, unless that is among them.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        self.try_ask(method, path, headers, body).unwrap_or_else(|| panic!("no answer to {method} {path}"))
    }

    /// The same of a server that may be killed meanwhile.
    pub fn try_ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Option<Answer> {
        let mut stream = TcpStream::connect(self.place()).ok()?;
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        if !headers.iter().any(|(n, _)| n.eq_ignore_ascii_case("host")) {
            head.push_str(&format!("Host: {}\r\n", self.place()));
        }
        for (name, value) in headers {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
        head.push_str(&format!("Content-Length: {}\r\n\r\n", body.len()));
        stream.write_all(head.as_bytes()).ok()?;
        // A server that refuses may hang up before it has read all.
        let _ = stream.write_all(body);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        bytes.windows(4).any(|w| w == b"\r\n\r\n").then(|| Answer::of(&bytes))
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], &[])
    }

    /// A form as a page of this server sends it.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.post_with(path, fields, &[])
    }

    pub fn post_with(&self, path: &str, fields: &[(&str, &str)], more: &[(&str, &str)]) -> Answer {
        let body: String = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let origin = self.address.clone();
        let mut headers = vec![("Origin", origin.as_str()), ("Content-Type", "application/x-www-form-urlencoded")];
        headers.extend(more);
        self.ask("POST", path, &headers, body.as_bytes())
    }
}

/// Lines as they come, read away so that the writer never waits.
pub fn lines(from: impl Read + Send + 'static) -> mpsc::Receiver<String> {
    let (give, given) = mpsc::channel();
    std::thread::spawn(move || {
        for line in BufReader::new(from).lines().map_while(Result::ok) {
            // Nobody listens any more: go on reading all the same.
            let _ = give.send(line);
        }
    });
    given
}
