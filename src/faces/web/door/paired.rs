//! The phones that are paired, and the code that pairs the next one: `phones/paired.json` in the home folder, open to its
//! owner alone.
//! Tokens and code are kept as hashes, so that a copy of the file opens nothing for longer than the code lives.
//!
//! The file is read at each request and changed under a lock, so that another run of the program can show a new code or forget a
//! phone while the server runs.

mod error;

pub use error::PhonesError;

use super::pairing;
use crate::intake::Home;
use crate::store::{self, StoreError};
use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::io;
use std::path::PathBuf;
use subtle::ConstantTimeEq;

/// Days after its last use, and after its pairing, at which a phone is asked for a code again.
const IDLE_DAYS: i64 = 90;
pub(super) const WHOLE_DAYS: i64 = 365;
/// How often a use is written down.
const NOTED: SignedDuration = SignedDuration::from_hours(24);
/// Minutes for which a code serves, for all phones of a home.
pub(super) const CODE_MINUTES: i64 = 60;
const MOST: usize = 50;
const LONGEST_NAME: usize = 60;
const VERSION: u32 = 1;

/// The paired phones of a home folder. A value of this type touches nothing.
#[derive(Debug, Clone)]
pub struct Phones {
    home: Home,
}

/// A paired phone.
#[derive(Debug, Clone, PartialEq)]
pub struct Phone {
    /// By which it can be forgotten; opens nothing.
    pub id: String,
    /// What the keeper called it.
    pub name: String,
    /// When it was paired.
    pub paired: Timestamp,
    /// When it last came, to a day.
    pub used: Timestamp,
    /// Whether it is the one that asks.
    pub own: bool,
}

/// What is typed or photographed to pair a phone.
#[derive(Debug, Clone, PartialEq)]
pub struct Code {
    /// In two halves, as people read it.
    pub shown: String,
    /// From then on it pairs nobody.
    pub until: Timestamp,
}

/// What a typed code is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fit {
    Right,
    Wrong,
    /// There is none that serves now.
    Over,
}

#[derive(Debug, Default, Serialize, Deserialize)]
struct Kept {
    version: u32,
    code: Option<Hidden>,
    phones: Vec<Session>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Hidden {
    hash: String,
    until: Timestamp,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Session {
    /// SHA-256 of the token, in hexadecimal.
    hash: String,
    name: String,
    paired: Timestamp,
    used: Timestamp,
}

impl Session {
    fn lives(&self, now: Timestamp) -> bool {
        let within = |since: Timestamp, days: i64| now.duration_since(since) < SignedDuration::from_hours(24 * days);
        within(self.used, IDLE_DAYS) && within(self.paired, WHOLE_DAYS)
    }

    fn id(&self) -> &str {
        self.hash.get(..12).unwrap_or(&self.hash)
    }
}

impl Phones {
    /// Those of this home.
    pub fn of(home: &Home) -> Self {
        Self { home: home.clone() }
    }

    /// Makes a code; the one before it serves no longer.
    pub fn new_code(&self, now: Timestamp) -> Result<Code, PhonesError> {
        let plain = pairing::code().map_err(|_| PhonesError::Random)?;
        let until = now + SignedDuration::from_mins(CODE_MINUTES);
        self.change(|kept| {
            kept.code = Some(Hidden { hash: hash(&plain), until });
            Ok(())
        })?;
        Ok(Code { shown: pairing::halves(&plain), until })
    }

    /// All that would be let in now, the one with this token first.
    pub fn list(&self, token: Option<&str>, now: Timestamp) -> Result<Vec<Phone>, PhonesError> {
        let own = token.map(hash);
        let phone = |s: &Session| Phone {
            id: s.id().to_string(),
            name: s.name.clone(),
            paired: s.paired,
            used: s.used,
            own: own.as_ref().is_some_and(|h| same(&s.hash, h)),
        };
        let mut out: Vec<Phone> = self.read()?.phones.iter().filter(|s| s.lives(now)).map(phone).collect();
        out.sort_by_key(|p| !p.own);
        Ok(out)
    }

    /// Forgets one: by its id, or by its name if it is the only one of that name.
    pub fn forget(&self, which: &str) -> Result<(), PhonesError> {
        self.change(|kept| {
            let named = kept.phones.iter().filter(|s| s.name == which).count();
            let before = kept.phones.len();
            kept.phones.retain(|s| s.id() != which && !(named == 1 && s.name == which));
            match kept.phones.len() < before {
                true => Ok(()),
                false => Err(PhonesError::Unknown { which: which.chars().take(LONGEST_NAME).collect() }),
            }
        })
    }

    /// Forgets all; the code that was shown serves no longer either.
    pub fn forget_all(&self) -> Result<(), PhonesError> {
        self.change(|kept| {
            (kept.phones, kept.code) = (Vec::new(), None);
            Ok(())
        })
    }

    /// Whether there is a code that serves.
    pub(super) fn has_code(&self, now: Timestamp) -> Result<bool, PhonesError> {
        Ok(self.read()?.code.is_some_and(|c| now < c.until))
    }

    pub(super) fn fits(&self, typed: &str, now: Timestamp) -> Result<Fit, PhonesError> {
        let Some(code) = self.read()?.code.filter(|c| now < c.until) else { return Ok(Fit::Over) };
        Ok(if same(&code.hash, &hash(&pairing::plain(typed))) { Fit::Right } else { Fit::Wrong })
    }

    /// A token for a new phone.
    pub(super) fn add(&self, name: &str, now: Timestamp) -> Result<String, PhonesError> {
        let token = pairing::token::<32>().map_err(|_| PhonesError::Random)?;
        let name: String = name.trim().chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
        self.change(|kept| {
            kept.phones.retain(|s| s.lives(now));
            if kept.phones.len() >= MOST {
                return Err(PhonesError::Many);
            }
            let free = |n: &usize| !kept.phones.iter().any(|s| s.name == format!("phone {n}"));
            let named = (1..).find(free).filter(|_| name.is_empty()).map(|n| format!("phone {n}"));
            let name = named.unwrap_or(name);
            kept.phones.push(Session { hash: hash(&token), name, paired: now, used: now });
            Ok(())
        })?;
        Ok(token)
    }

    pub(super) fn knows(&self, token: &str, now: Timestamp) -> Result<bool, PhonesError> {
        let hash = hash(token);
        let kept = self.read()?;
        // Every one is looked at, so that the time tells nothing of which it was.
        let own = kept.phones.iter().filter(|s| same(&s.hash, &hash)).rfind(|s| s.lives(now));
        let Some(session) = own else { return Ok(false) };
        if now.duration_since(session.used) >= NOTED {
            // A disk that is full shuts nobody out.
            let _ = self.change(|kept| {
                kept.phones.iter_mut().filter(|s| s.hash == hash).for_each(|s| s.used = now);
                Ok(())
            });
        }
        Ok(true)
    }

    fn folder(&self) -> PathBuf {
        self.home.root().join("phones")
    }

    fn path(&self) -> PathBuf {
        self.folder().join("paired.json")
    }

    fn read(&self) -> Result<Kept, PhonesError> {
        #[derive(Deserialize)]
        struct Form {
            version: u32,
        }
        let path = self.path();
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Kept { version: VERSION, ..Kept::default() }),
            Err(source) => return Err(StoreError::Io { doing: "read", path, source }.into()),
        };
        match serde_json::from_slice::<Form>(&bytes) {
            Ok(form) if form.version > VERSION => Err(PhonesError::Newer { path }),
            _ => serde_json::from_slice(&bytes).map_err(|_| PhonesError::Odd { path }),
        }
    }

    fn change(&self, change: impl FnOnce(&mut Kept) -> Result<(), PhonesError>) -> Result<(), PhonesError> {
        self.home.make()?;
        let folder = self.folder();
        std::fs::create_dir_all(&folder).map_err(|source| StoreError::Io {
            doing: "make the folder",
            path: folder.clone(),
            source,
        })?;
        let _lock = store::lock(&folder.join(".lock"))?;
        let mut kept = self.read()?;
        change(&mut kept)?;
        let text = serde_json::to_vec_pretty(&kept).map_err(|_| PhonesError::Odd { path: self.path() })?;
        Ok(store::write_private(&self.path(), &text)?)
    }
}

fn hash(text: &str) -> String {
    format!("{:x}", Sha256::digest(text.as_bytes()))
}

fn same(a: &str, b: &str) -> bool {
    a.as_bytes().ct_eq(b.as_bytes()).into()
}

#[cfg(test)]
mod tests;
