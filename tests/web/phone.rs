//! A phone that asks the pages in-process.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use jiff::Timestamp;
use std::sync::Arc;
use tempfile::TempDir;
use tintline::curve::Kit;
use tintline::faces::web::{Site, router};
use tintline::intake::Home;
use tintline::light::Enrolment;
use tintline::log::{Log, NewTank, Reading, WaterKind};
use tokio::runtime::Runtime;
use tower::ServiceExt;

const CARD: &str = include_str!("../../calibration/card/demo-print.toml");
const KIT: &str = include_str!("../../calibration/kit/demo-vials.toml");

/// The time by the server's clock: a day after the last of the demo's photos.
pub fn now() -> Timestamp {
    "2024-12-23T08:00:00Z".parse().unwrap()
}

/// A home with the demo's card and kit and the tank `shelf`, and a phone that asks its pages.
pub struct Phone {
    pub home: Home,
    pub tank: String,
    pub site: Arc<Site>,
    runtime: Runtime,
    router: Router,
    _dir: TempDir,
}

/// What came back.
pub struct Answer {
    pub status: StatusCode,
    /// Where to go on.
    pub to: Option<String>,
    pub kind: String,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).unwrap()
    }

    /// The text behind every `before` up to the next `after`.
    pub fn all(&self, before: &str, after: &str) -> Vec<String> {
        let text = self.text();
        text.split(before).skip(1).map(|s| s.split(after).next().unwrap().to_string()).collect()
    }

    pub fn has(&self, wanted: &str) -> &Self {
        assert!(self.text().contains(wanted), "no '{wanted}' in {}", self.text());
        self
    }

    pub fn has_not(&self, unwanted: &str) -> &Self {
        assert!(!self.text().contains(unwanted), "'{unwanted}' in {}", self.text());
        self
    }
}

impl Phone {
    pub fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let home = Home::at(dir.path().join("home"));
        home.put_card("demo-print", Enrolment::from_toml(CARD).unwrap()).unwrap();
        home.new_kit(Kit::from_toml(KIT).unwrap()).unwrap();
        let tank = NewTank::new("shelf", "Asia/Tokyo", WaterKind::Fresh);
        let tank = home.log().unwrap().write(now(), |w| w.add_tank(&tank)).unwrap().to_string();
        let site = Arc::new(Site::of(home.clone(), now));
        let router = router(Arc::clone(&site));
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        Self { home, tank, site, runtime, router, _dir: dir }
    }

    /// The server ends and is started again.
    pub fn restart(&mut self) {
        self.site = Arc::new(Site::of(self.home.clone(), now));
        self.router = router(Arc::clone(&self.site));
        self.site.start().unwrap();
    }

    pub fn log(&self) -> Log {
        self.home.log().unwrap()
    }

    pub fn readings(&self) -> Vec<Reading> {
        self.log().readings(&Default::default()).unwrap()
    }

    pub fn ask(&self, request: Request<Body>) -> Answer {
        self.runtime.block_on(async {
            let answer = self.router.clone().oneshot(request).await.unwrap();
            let text = |name| answer.headers().get(name).map(|v| v.to_str().unwrap().to_string());
            let (status, to, kind) = (answer.status(), text(header::LOCATION), text(header::CONTENT_TYPE));
            let bytes = to_bytes(answer.into_body(), 1 << 26).await.unwrap().to_vec();
            Answer { status, to, kind: kind.unwrap_or_default(), bytes }
        })
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask(Request::get(path).header(header::HOST, "localhost").body(Body::empty()).unwrap())
    }

    /// The page at this address, which must be there.
    pub fn page(&self, path: &str) -> Answer {
        let answer = self.get(path);
        assert_eq!(answer.status, StatusCode::OK, "{path}: {}", answer.text());
        answer
    }

    /// Sends a form.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let code = |s: &str| s.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
        let body: Vec<String> = fields.iter().map(|(k, v)| format!("{}={}", code(k), code(v))).collect();
        let kind = "application/x-www-form-urlencoded";
        self.ask(own(path).header(header::CONTENT_TYPE, kind).body(Body::from(body.join("&"))).unwrap())
    }

    /// Sends a form with photos: the field they are in, their names and bytes.
    pub fn send(&self, fields: &[(&str, &str)], photos: &[(&str, &str, &[u8])]) -> Answer {
        self.ask(sending(&self.tank, fields, photos))
    }
}

/// A request from a page of this server that changes something.
pub fn own(path: &str) -> axum::http::request::Builder {
    Request::post(path).header(header::HOST, "localhost").header(header::ORIGIN, "http://localhost")
}

/// The request that a tank's form makes.
pub fn sending(tank: &str, fields: &[(&str, &str)], photos: &[(&str, &str, &[u8])]) -> Request<Body> {
    let kind = "multipart/form-data; boundary=cut-here";
    let body = Body::from(parts(fields, photos));
    own(&format!("/tank/{tank}/read")).header(header::CONTENT_TYPE, kind).body(body).unwrap()
}

/// Fields and photos as RFC 7578 has them.
pub fn parts(fields: &[(&str, &str)], photos: &[(&str, &str, &[u8])]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, value) in fields {
        let part = format!("--cut-here\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend(part.into_bytes());
    }
    for (field, file, bytes) in photos {
        let head = format!(
            "--cut-here\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{file}\"\r\n\
             Content-Type: image/jpeg\r\n\r\n"
        );
        body.extend(head.into_bytes());
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(b"--cut-here--\r\n");
    body
}
