//! Running the program from outside, strictly: what a test does not mention must not happen.

pub mod served;
pub mod shot;
pub mod stick;

use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Sends a signal, such as `INT`, to a process: by the shell's own word, as a bare system has no program for it.
pub fn signal(name: &str, id: u32) {
    let sent = Command::new("sh").args(["-c", &format!("kill -{name} {id}")]).status().unwrap();
    assert!(sent.success(), "{name} to {id}");
}

/// A place for the program to live in: the folder `home`, not yet made, and the folder `desk`, where it runs.
pub struct House {
    dir: tempfile::TempDir,
}

impl House {
    pub fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir(dir.path().join("desk")).unwrap();
        Self { dir }
    }

    /// A path in the house, such as `desk/photo.jpg`.
    pub fn path(&self, rel: &str) -> PathBuf {
        self.dir.path().join(rel)
    }

    /// Another house with the same in it.
    pub fn copy(&self) -> Self {
        fn all(from: &Path, to: &Path) {
            std::fs::create_dir_all(to).unwrap();
            for entry in std::fs::read_dir(from).unwrap() {
                let (path, to) = (entry.as_ref().unwrap().path(), to.join(entry.unwrap().file_name()));
                if path.is_dir() {
                    all(&path, &to);
                } else {
                    std::fs::copy(&path, &to).unwrap();
                }
            }
        }
        let dir = tempfile::tempdir().unwrap();
        all(self.dir.path(), dir.path());
        Self { dir }
    }

    /// Lays a file on the desk.
    pub fn lay(&self, name: &str, bytes: impl AsRef<[u8]>) -> &Self {
        std::fs::write(self.path("desk").join(name), bytes).unwrap();
        self
    }

    /// Runs the program there. Nothing happens before [`Run::go`].
    pub fn run<'a>(&'a self, args: &[&str]) -> Run<'a> {
        Run {
            house: self,
            args: args.iter().map(|a| a.to_string()).collect(),
            exit: 0,
            or: None,
            out: Vec::new(),
            err: Vec::new(),
            touches: Vec::new(),
            env: vec![
                ("TINTLINE_HOME".to_string(), self.path("home").display().to_string()),
                ("TZ".to_string(), "Europe/Berlin".to_string()),
            ],
            closed: false,
        }
    }

    /// Every file with the hash of its content.
    fn files(&self) -> BTreeMap<String, String> {
        fn walk(root: &Path, dir: &Path, out: &mut BTreeMap<String, String>) {
            for entry in std::fs::read_dir(dir).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    walk(root, &path, out);
                } else {
                    let hash = format!("{:x}", Sha256::digest(std::fs::read(&path).unwrap()));
                    out.insert(path.strip_prefix(root).unwrap().display().to_string(), hash);
                }
            }
        }
        let mut out = BTreeMap::new();
        walk(self.dir.path(), self.dir.path(), &mut out);
        out
    }
}

/// One run and what must come of it: exit code 0, nothing on standard error, no file made or changed, unless said otherwise.
#[must_use = "nothing happens before go()"]
pub struct Run<'a> {
    house: &'a House,
    args: Vec<String>,
    exit: i32,
    or: Option<i32>,
    out: Vec<String>,
    err: Vec<String>,
    touches: Vec<String>,
    env: Vec<(String, String)>,
    closed: bool,
}

impl Run<'_> {
    /// It must end with this exit code.
    pub fn exit(mut self, code: i32) -> Self {
        self.exit = code;
        self
    }

    /// Or with this one, where it is not the point which of the two.
    pub fn or_exit(mut self, code: i32) -> Self {
        self.or = Some(code);
        self
    }

    /// Standard output must have this in it.
    pub fn out_has(mut self, text: &str) -> Self {
        self.out.push(text.to_string());
        self
    }

    /// Standard error must have this in it.
    pub fn err_has(mut self, text: &str) -> Self {
        self.err.push(text.to_string());
        self
    }

    /// These files, or something in these folders (`home/kits/`), must be made or changed; no others may.
    pub fn touches(mut self, files: &[&str]) -> Self {
        self.touches.extend(files.iter().map(|f| f.to_string()));
        self
    }

    pub fn env(mut self, key: &str, value: &str) -> Self {
        self.env.push((key.to_string(), value.to_string()));
        self
    }

    /// Without a variable that a house sets.
    pub fn no_env(mut self, key: &str) -> Self {
        self.env.retain(|(k, _)| k != key);
        self
    }

    /// The reader of standard output goes away before anything is written.
    pub fn out_closed(mut self) -> Self {
        self.closed = true;
        self
    }

    pub fn go(self) -> Said {
        let before = self.house.files();
        let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
        command.args(&self.args).current_dir(self.house.path("desk")).stdin(Stdio::null());
        command.env_clear().envs(self.env.iter().cloned()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        if self.closed {
            drop(child.stdout.take());
        }
        let done = child.wait_with_output().unwrap();
        let said = Said {
            out: String::from_utf8(done.stdout).unwrap_or_else(|e| format!("{} bytes, no text", e.as_bytes().len())),
            err: String::from_utf8(done.stderr).unwrap(),
        };
        let what = format!("tintline {}\n--- out\n{}--- err\n{}", self.args.join(" "), said.out, said.err);
        let code = done.status.code();
        assert!(code == Some(self.exit) || self.or.is_some() && code == self.or, "exit code {code:?} of {what}");
        for text in &self.out {
            assert!(said.out.contains(text), "no '{text}' on standard output of {what}");
        }
        for text in &self.err {
            assert!(said.err.contains(text), "no '{text}' on standard error of {what}");
        }
        assert!(!self.err.is_empty() || said.err.is_empty(), "unexpected standard error of {what}");
        let after = self.house.files();
        let all = before.keys().chain(after.keys());
        let touched: Vec<&String> = all.filter(|f| before.get(*f) != after.get(*f)).collect();
        let fits =
            |file: &String, said: &String| file == said || (said.ends_with('/') && file.starts_with(said.as_str()));
        for file in &touched {
            assert!(self.touches.iter().any(|t| fits(file, t)), "{file} was made or changed by {what}");
        }
        for said in &self.touches {
            assert!(touched.iter().any(|f| fits(f, said)), "{said} was neither made nor changed by {what}");
        }
        said
    }
}

/// What a run said.
pub struct Said {
    pub out: String,
    pub err: String,
}

impl Said {
    /// Standard output as the JSON document of schema 1, decoded strictly.
    pub fn json<T: DeserializeOwned>(&self) -> T {
        let whole: serde_json::Value = serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {}", self.out));
        let mut fields = whole.as_object().expect("one object").clone();
        assert_eq!(fields.remove("schema"), Some(1.into()), "{}", self.out);
        serde_json::from_value(fields.into()).unwrap_or_else(|e| panic!("{e}: {}", self.out))
    }
}
