//! The phones that are paired. Their tokens are kept as hashes in `paired.json` in the home folder, so that a restart does not
//! ask again and a copy of the file opens nothing.

use crate::faces::web::fail::Fail;
use crate::intake::Home;
use crate::store;
use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::path::PathBuf;
use subtle::ConstantTimeEq;

/// Days after its last use at which a phone is forgotten.
pub(super) const KEPT_DAYS: i64 = 90;
/// How often a use is written down.
const NOTED: SignedDuration = SignedDuration::from_hours(24);
const MOST: usize = 50;

pub(super) struct Paired {
    path: PathBuf,
    all: Vec<Session>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Session {
    /// SHA-256 of the token, in hexadecimal.
    hash: String,
    /// What the keeper called it.
    name: String,
    paired: Timestamp,
    used: Timestamp,
}

/// A paired phone, as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::faces::web) struct Phone {
    /// By which it can be forgotten; opens nothing.
    pub(in crate::faces::web) id: String,
    pub(in crate::faces::web) name: String,
    pub(in crate::faces::web) paired: Timestamp,
    /// Whether it is the one that asks.
    pub(in crate::faces::web) own: bool,
}

fn hash(token: &str) -> String {
    format!("{:x}", Sha256::digest(token.as_bytes()))
}

impl Session {
    fn lives(&self, now: Timestamp) -> bool {
        now.duration_since(self.used) < SignedDuration::from_hours(24 * KEPT_DAYS)
    }

    fn is(&self, hash: &str) -> bool {
        self.hash.as_bytes().ct_eq(hash.as_bytes()).into()
    }
}

impl Paired {
    pub(super) fn of(home: &Home) -> Result<Self, Fail> {
        let path = home.root().join("paired.json");
        let all = match std::fs::read(&path) {
            // One that cannot be read pairs nobody: they are asked anew.
            Ok(bytes) => serde_json::from_slice(&bytes).unwrap_or_default(),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Vec::new(),
            Err(source) => {
                return Err(crate::intake::IntakeError::Home { path, source }.into());
            }
        };
        Ok(Self { path, all })
    }

    /// A token for a new phone.
    pub(super) fn add(&mut self, name: &str, now: Timestamp) -> Result<String, Fail> {
        let mut bytes = [0u8; 32];
        getrandom::fill(&mut bytes).map_err(|_| Fail::broken())?;
        let token: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
        let name = if name.trim().is_empty() { "a phone" } else { name.trim() };
        self.all.retain(|s| s.lives(now));
        if self.all.len() >= MOST {
            self.all.remove(0);
        }
        let name = name.chars().take(60).collect();
        self.all.push(Session { hash: hash(&token), name, paired: now, used: now });
        self.write()?;
        Ok(token)
    }

    pub(super) fn knows(&mut self, token: &str, now: Timestamp) -> bool {
        let hash = hash(token);
        let Some(session) = self.all.iter_mut().find(|s| s.is(&hash) && s.lives(now)) else { return false };
        if now.duration_since(session.used) >= NOTED {
            session.used = now;
            // A disk that is full shuts nobody out.
            let _ = self.write();
        }
        true
    }

    pub(super) fn list(&self, own: Option<&str>, now: Timestamp) -> Vec<Phone> {
        let own = own.map(hash);
        let living = self.all.iter().filter(|s| s.lives(now));
        let mut out: Vec<Phone> = living
            .map(|s| Phone {
                id: s.hash.chars().take(16).collect(),
                name: s.name.clone(),
                paired: s.paired,
                own: own.as_ref().is_some_and(|h| s.is(h)),
            })
            .collect();
        out.sort_by_key(|p| !p.own);
        out
    }

    /// Forgets one, or with `all` every phone.
    pub(super) fn forget(&mut self, which: &str) -> Result<(), Fail> {
        self.all.retain(|s| which != "all" && !(which.len() == 16 && s.hash.starts_with(which)));
        self.write()
    }

    fn write(&self) -> Result<(), Fail> {
        let text = serde_json::to_vec_pretty(&self.all).map_err(|_| Fail::broken())?;
        Ok(store::write_atomic(&self.path, &text)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phone_is_known_until_it_is_forgotten_or_long_unused() {
        let dir = tempfile::tempdir().unwrap();
        let home = Home::at(dir.path());
        let start: Timestamp = "2026-03-01T12:00:00Z".parse().unwrap();
        let day = |d: i64| start + SignedDuration::from_hours(24 * d);
        let mut all = Paired::of(&home).unwrap();
        let [a, b] = ["kitchen", ""].map(|name| all.add(name, start).unwrap());
        assert_ne!(a, b);
        // The file opens nothing.
        let text = std::fs::read_to_string(dir.path().join("paired.json")).unwrap();
        assert!(!text.contains(&a) && text.contains(&hash(&a)) && text.contains("a phone"), "{text}");
        // After a restart they are known, each use keeps a phone for as long again.
        let mut all = Paired::of(&home).unwrap();
        assert!(all.knows(&a, day(60)) && !all.knows("", day(1)) && !all.knows(&hash(&a), day(1)));
        let mut all = Paired::of(&home).unwrap();
        assert!(all.knows(&a, day(149)) && !all.knows(&b, day(91)));
        let listed = all.list(Some(&a), day(149));
        assert_eq!(listed.iter().map(|p| (p.name.as_str(), p.own)).collect::<Vec<_>>(), [("kitchen", true)]);
        all.forget(&listed[0].id).unwrap();
        assert!(!Paired::of(&home).unwrap().knows(&a, day(149)));
    }

    #[cfg(unix)]
    #[test]
    fn the_file_is_its_owners_alone() {
        use std::os::unix::fs::PermissionsExt;
        let dir = tempfile::tempdir().unwrap();
        Paired::of(&Home::at(dir.path())).unwrap().add("x", Timestamp::UNIX_EPOCH).unwrap();
        let mode = std::fs::metadata(dir.path().join("paired.json")).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0, "{mode:o}");
    }
}
