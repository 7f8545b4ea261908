//! Photos that were sent to be looked at before anything is made of them: kept apart, a few at a time, then forgotten.
//!
//! They lie in a folder of the system's for temporary files, open to this user alone, under numbers, never under a name that was sent. An
//! address names what was looked at by a number drawn at random, which finds it in memory only.

use super::super::door::random_token;
use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::site::Site;
use super::super::upload::{broken_off, pour, text, too_many};
use crate::curve::Kit;
use crate::intake::{EnrolSeen, IntakeError, PhotoStandards};
use crate::light::{CardCheck, Enrolment};
use crate::photo::{Limits, PhotoError};
use crate::store::Revision;
use axum::extract::multipart::{Field, Multipart};
use axum::http::StatusCode;
use jiff::{SignedDuration, Timestamp};
use std::fs::File;
use std::io::Write;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tempfile::TempDir;

/// Most photos sent at once, and most bytes of all of them with what was typed.
const MOST_PHOTOS: usize = 6;
pub(super) const MOST_BYTES: usize = 150_000_000;
/// Of what was sent before, no more than this is kept, and no longer.
const MOST_LOOKS: usize = 8;
const MOST_KEPT: u64 = 400_000_000;
const KEPT_FOR: SignedDuration = SignedDuration::from_hours(2);
/// Most of a typed field and of a file's name.
const LONGEST: usize = 1000;
const LONGEST_NAME: usize = 80;

/// Photos as they were sent. Dropped, they are gone.
#[derive(Debug)]
pub(super) struct Photos {
    dir: TempDir,
    /// The names they came with, to be shown.
    pub(super) names: Vec<String>,
    bytes: u64,
}

/// What was sent.
pub(super) struct Sent {
    pub(super) typed: Fields,
    /// Those sent now, or those that the form was sent with before.
    pub(super) photos: Option<Arc<Photos>>,
}

/// What was sent and what it showed.
pub(super) struct Look {
    /// What the look is for, such as the kit: a look answers at its own address only.
    pub(super) of: String,
    pub(super) typed: Fields,
    pub(super) photos: Arc<Photos>,
    pub(super) seen: Seen,
    at: Timestamp,
}

/// What photos showed.
pub(super) enum Seen {
    /// Nothing yet: what was typed has to be mended first.
    Nothing,
    Enrolment(EnrolSeen<Enrolment>),
    Checks(Vec<CardCheck>),
    /// Standards or printed shades for a kit, and the kit as it would be.
    Swatches {
        before: Revision,
        kit: Box<Kit>,
        photos: Vec<PhotoStandards>,
    },
}

/// All that was sent of late.
#[derive(Default)]
pub(in crate::faces::web) struct Tray {
    looks: Mutex<Vec<(String, Arc<Look>)>>,
    busy: Mutex<()>,
}

impl Tray {
    /// Lays a look down; under this key it is found again.
    pub(super) fn lay(
        &self,
        of: &str,
        typed: Fields,
        photos: Arc<Photos>,
        seen: Seen,
        now: Timestamp,
    ) -> Result<String, Fail> {
        let key = random_token::<16>().map_err(|_| Fail::broken())?;
        let look = Arc::new(Look { of: of.to_string(), typed, photos, seen, at: now });
        let mut all = self.swept(now);
        all.push((key.clone(), look));
        // Several looks may rest on the same photos; counting them anew each time errs to the safe side.
        while all.len() > MOST_LOOKS
            || all.len() > 1 && all.iter().map(|(_, l)| l.photos.bytes).sum::<u64>() > MOST_KEPT
        {
            all.remove(0);
        }
        Ok(key)
    }

    /// What was laid down for this.
    pub(super) fn find(&self, of: &str, key: &str, now: Timestamp) -> Result<Arc<Look>, Fail> {
        let found = self.swept(now).iter().find(|(k, l)| k == key && l.of == of).map(|(_, l)| Arc::clone(l));
        found.ok_or_else(|| {
            Fail::new(
                StatusCode::NOT_FOUND,
                "look-gone",
                "These photos are not here any more.",
                "Send them once more: what was sent and not accepted is kept for two hours at most, and not over a new start.",
            )
        })
    }

    /// Whoever holds it reads photos alone: a second one beside it would need as much memory again.
    pub(super) fn alone(&self) -> MutexGuard<'_, ()> {
        self.busy.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Forgets it.
    pub(super) fn forget(&self, key: &str, now: Timestamp) {
        self.swept(now).retain(|(k, _)| k != key);
    }

    fn swept(&self, now: Timestamp) -> MutexGuard<'_, Vec<(String, Arc<Look>)>> {
        let mut all = self.looks.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|(_, look)| now.duration_since(look.at) <= KEPT_FOR);
        all
    }
}

impl Photos {
    /// Their files.
    pub(super) fn paths(&self) -> Vec<PathBuf> {
        (1..=self.names.len()).map(|n| self.path(n)).collect()
    }

    fn path(&self, n: usize) -> PathBuf {
        self.dir.path().join(format!("photo {n}"))
    }

    /// Something that went wrong with them, which says their number and not where they lie.
    pub(super) fn fail(&self, e: IntakeError) -> Unread {
        let useless = matches!(e, IntakeError::Photo { .. });
        let folder = format!("{}{}", self.dir.path().display(), std::path::MAIN_SEPARATOR);
        let fail = Fail::from(e);
        Unread { fail: Fail { sentence: fail.sentence.replace(&folder, ""), ..fail }, useless }
    }
}

/// Why photos were not read.
pub(super) struct Unread {
    pub(super) fail: Fail,
    /// Whether one of them cannot be opened: they are of no use again.
    pub(super) useless: bool,
}

impl From<Unread> for Fail {
    fn from(unread: Unread) -> Self {
        unread.fail
    }
}

impl From<Fail> for Unread {
    fn from(fail: Fail) -> Self {
        Self { fail, useless: false }
    }
}

/// Takes in a form with photos. Where none is chosen, those that the form was sent with before are used.
pub(super) async fn receive(site: &Site, of: &str, mut form: Multipart) -> Result<Sent, Fail> {
    let (mut typed, mut photos, mut wrong) = (Fields::default(), None::<Photos>, None);
    while let Some(mut field) = form.next_field().await.map_err(broken_off)? {
        let name = field.name().unwrap_or_default().to_string();
        if name != "photo" {
            typed.push(name, text(&mut field, LONGEST).await?);
            continue;
        }
        let file = field.file_name().map(|n| n.chars().take(LONGEST_NAME).collect::<String>()).unwrap_or_default();
        // After the first that is wrong the rest is only taken in, so that the answer is heard.
        match add(photos.take(), &mut field, file, wrong.is_some()).await? {
            Ok(more) => photos = more,
            Err(fail) => wrong = Some(fail),
        }
    }
    if let Some(fail) = wrong {
        return Err(fail);
    }
    let photos = match (photos, typed.some("look")) {
        (Some(photos), _) => Some(Arc::new(photos)),
        (None, Some(key)) => Some(Arc::clone(&site.tray.find(of, &key, site.now())?.photos)),
        (None, None) => None,
    };
    Ok(Sent { typed, photos })
}

/// One photo more; an empty field is none.
async fn add(
    photos: Option<Photos>,
    field: &mut Field<'_>,
    name: String,
    pass: bool,
) -> Result<Result<Option<Photos>, Fail>, Fail> {
    let write = move |(there, own, size): (Option<Photos>, Option<File>, u64), bytes: Vec<u8>| {
        let size = size + bytes.len() as u64;
        let mut photos = there.map_or_else(Photos::none, Ok)?;
        let mut file = match own {
            Some(file) => file,
            None => photos.begin(name.clone())?,
        };
        let limit = Limits::default().bytes;
        if size > limit {
            let path = photos.path(photos.names.len());
            return Err(photos.fail(IntakeError::Photo { path, source: PhotoError::FileTooLarge { limit } }).fail);
        }
        file.write_all(&bytes).map_err(unwritable)?;
        photos.bytes += bytes.len() as u64;
        Ok((Some(photos), Some(file), size))
    };
    Ok(pour(field, pass, (photos, None, 0), write).await?.map(|(photos, ..)| photos))
}

impl Photos {
    fn none() -> Result<Self, Fail> {
        let dir = tempfile::Builder::new().prefix("tintline-").tempdir().map_err(unwritable)?;
        Ok(Self { dir, names: Vec::new(), bytes: 0 })
    }

    fn begin(&mut self, name: String) -> Result<File, Fail> {
        if self.names.len() >= MOST_PHOTOS {
            return Err(too_many(MOST_PHOTOS));
        }
        self.names.push(name);
        File::create_new(self.path(self.names.len())).map_err(unwritable)
    }
}

fn unwritable(e: std::io::Error) -> Fail {
    let sentence = format!("The photo cannot be put aside: {e}.");
    Fail::new(
        StatusCode::INSUFFICIENT_STORAGE,
        "store-failed",
        sentence,
        "Free some space on the disk, then send it again.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn photos(bytes: u64) -> (Arc<Photos>, PathBuf) {
        let mut photos = Photos::none().expect("a folder");
        drop(photos.begin("a/../b.jpg".into()).expect("a file"));
        photos.bytes = bytes;
        let path = photos.paths().remove(0);
        assert!(path.exists());
        (Arc::new(photos), path)
    }

    fn at(minutes: i64) -> Timestamp {
        Timestamp::UNIX_EPOCH + SignedDuration::from_mins(minutes)
    }

    #[test]
    fn a_look_is_found_at_its_own_place_until_it_is_forgotten() {
        let (tray, (photos, path)) = (Tray::default(), photos(10));
        let key = tray.lay("kit a", Fields::default(), photos, Seen::Nothing, at(0)).expect("laid down");
        assert!(key.len() == 32 && tray.find("kit a", &key, at(120)).is_ok());
        assert_eq!(tray.find("kit b", &key, at(1)).err().map(|f| f.code), Some("look-gone"));
        assert!(tray.find("kit a", &key, at(121)).is_err() && !path.exists(), "after two hours it is gone");
    }

    #[test]
    fn what_is_kept_is_bounded_the_oldest_goes_first() {
        let tray = Tray::default();
        let lay = |bytes| {
            let (photos, path) = photos(bytes);
            (tray.lay("x", Fields::default(), photos, Seen::Nothing, at(0)).expect("laid down"), path)
        };
        let all: Vec<_> = (0..MOST_LOOKS + 1).map(|_| lay(1)).collect();
        let there: Vec<bool> =
            all.iter().map(|(key, path)| tray.find("x", key, at(0)).is_ok() && path.exists()).collect();
        assert!(!there[0] && there[1..].iter().all(|t| *t), "{there:?}");
        assert!(!all[0].1.exists());
        // One that is too large for all of them stays alone.
        let (key, large) = lay(MOST_KEPT + 1);
        assert!(large.exists() && tray.find("x", &key, at(0)).is_ok());
        assert!(all.iter().all(|(_, path)| !path.exists()));
        tray.forget(&key, at(0));
        assert!(!large.exists());
    }
}
