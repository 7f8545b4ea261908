//! A browser that looks at a page. A missing browser fails the test.

use crate::support::served::{PATIENCE, Server, lines};
use fantoccini::{Client, ClientBuilder, Locator};
use serde_json::{Value, json};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A browser without a window, 360 pixels wide, with a profile of its own.
pub struct Browser {
    driver: Child,
    pub client: Client,
    _profile: tempfile::TempDir,
}

/// How the browser is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum With {
    Script,
    /// The driver cannot press or type there, only look: forms without script are sent in `web`.
    NoScript,
    Dark,
}

impl Browser {
    pub async fn open(with: With) -> Self {
        let missing =
            "chromedriver cannot be run: install chromium and chromium-driver (Debian's names), as tests/run does";
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect(missing);
        let out = lines(driver.stdout.take().unwrap());
        let port = loop {
            let line = out.recv_timeout(PATIENCE).expect("chromedriver says its port");
            if let Some((_, port)) = line.split_once("started successfully on port ") {
                break port.trim_end_matches('.').to_string();
            }
        };
        let profile = tempfile::tempdir().unwrap();
        let mut args = vec![
            "--headless=new".to_string(),
            "--disable-gpu".into(),
            "--disable-dev-shm-usage".into(),
            "--disable-background-networking".into(),
            "--no-first-run".into(),
            format!("--user-data-dir={}", profile.path().display()),
        ];
        // Its sandbox does not work for root.
        if is_root() {
            args.push("--no-sandbox".into());
        }
        if with == With::NoScript {
            args.push("--blink-settings=scriptEnabled=false".into());
        }
        if with == With::Dark {
            args.push("--force-dark-mode".into());
        }
        let capabilities = json!({
            "browserName": "chrome",
            // Whether a page is there is asked by a script, which is not answered where scripts are forbidden.
            "pageLoadStrategy": if with == With::NoScript { "none" } else { "normal" },
            "goog:chromeOptions": {
                "args": args,
                // A phone of 360 by 740 points.
                "mobileEmulation": { "deviceMetrics": { "width": 360, "height": 740, "pixelRatio": 2.0, "touch": true } },
            },
        });
        let Value::Object(capabilities) = capabilities else { unreachable!() };
        let mut builder = ClientBuilder::new(hyper_connector());
        let client = builder.capabilities(capabilities).connect(&format!("http://127.0.0.1:{port}")).await;
        let client = client.expect("chromium starts: is it installed, and of chromedriver's version?");
        Self { driver, client, _profile: profile }
    }

    pub async fn go(&self, server: &Server, path: &str) {
        self.client.goto(&format!("{}{path}", server.address)).await.unwrap();
    }

    /// The words of the whole page as shown.
    pub async fn words(&self) -> String {
        self.client.find(Locator::Css("body")).await.unwrap().text().await.unwrap()
    }

    /// Waits until the page shows these words; all its words.
    pub async fn until(&self, words: &str) -> String {
        let since = Instant::now();
        let mut last = String::new();
        while since.elapsed() < PATIENCE {
            // A page that is being replaced has no body for a moment.
            if let Ok(body) = self.client.find(Locator::Css("body")).await {
                last = body.text().await.unwrap_or_default();
                if last.contains(words) {
                    return last;
                }
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("'{words}' never stood on the page: {last}");
    }

    /// Presses the link or button of this name.
    pub async fn press(&self, name: &str) {
        let path = format!(
            "//a[normalize-space()='{name}'] | //button[normalize-space()='{name}'] | //label[normalize-space()='{name}']"
        );
        // A page that is shown anew when a photo was read has its buttons anew.
        let since = Instant::now();
        loop {
            let found = self.client.find(Locator::XPath(&path)).await;
            let pressed = match found {
                Ok(element) => element.click().await,
                Err(e) => Err(e),
            };
            match pressed {
                Ok(()) => return,
                Err(e) if since.elapsed() > PATIENCE / 4 => {
                    panic!("nothing is called '{name}': {e}; {}", self.words().await)
                }
                Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
            }
        }
    }

    /// Types into the field of this name.
    pub async fn fill(&self, field: &str, words: &str) {
        let field = self.client.find(Locator::Css(&format!("[name='{field}']:not([type=hidden])"))).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(words).await.unwrap();
    }

    /// Chooses from a list.
    pub async fn choose(&self, list: &str, value: &str) {
        let list = self.client.find(Locator::Css(&format!("select[name='{list}']"))).await.unwrap();
        list.select_by_value(value).await.unwrap();
    }

    /// Gives a photo to the file input of this name.
    pub async fn give(&self, input: &str, photo: &Path) {
        let path = std::fs::canonicalize(photo).unwrap();
        let input = self.client.find(Locator::Css(&format!("input[type=file][name='{input}']"))).await.unwrap();
        input.send_keys(path.to_str().unwrap()).await.unwrap();
    }

    /// No part of the page is wider than the phone.
    pub async fn fits(&self) {
        let wide = self
            .client
            .execute("return [document.documentElement.scrollWidth, window.innerWidth]", vec![])
            .await
            .unwrap();
        let [page, window] = [0, 1].map(|i| wide[i].as_f64().unwrap());
        assert_eq!(window, 360.0, "the phone's width");
        assert!(page <= window, "{} is {page} wide", self.client.current_url().await.unwrap());
        let shot = self.client.screenshot().await.unwrap();
        let picture = image::load_from_memory(&shot).unwrap();
        assert_eq!(picture.width(), 720);
    }

    pub async fn close(mut self) {
        let _ = self.client.clone().close().await;
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

fn hyper_connector() -> hyper_util::client::legacy::connect::HttpConnector {
    hyper_util::client::legacy::connect::HttpConnector::new()
}

fn is_root() -> bool {
    let said = Command::new("id").arg("-u").output().unwrap().stdout;
    String::from_utf8_lossy(&said).trim() == "0"
}

/// A test in a runtime of its own.
pub fn run(test: impl Future<Output = ()>) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    // A browser that does not answer must not hold up the tests for ever.
    runtime.block_on(async { tokio::time::timeout(PATIENCE * 3 / 2, test).await.expect("the browser answers") });
}
