//! Where photos that came are read: a queue, a few threads, and what came of each until the keeper has looked at it.
//!
//! What is accepted lies on the disk ([`Incoming`]); nothing here is lost with the program. Threads live only while there is
//! something to read; at most so many photos are decoded at once, of the heavy kind (HEIC) one.

use super::fail::Fail;
use super::seen::{self, Seen};
use crate::card::Layout;
use crate::intake::{Home, Incoming, IntakeError, PhotoKey, Ready, Sent};
use crate::log::Log;
use crate::photo::{self, Limits};
use jiff::Timestamp;
use std::collections::{HashMap, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// How long a page waits for its photo to be read.
const PATIENCE: Duration = Duration::from_secs(2);

/// See the module.
#[derive(Clone)]
pub(super) struct Desk {
    inner: Arc<Inner>,
}

struct Inner {
    home: Home,
    layout: Layout,
    incoming: Incoming,
    clock: fn() -> Timestamp,
    most: usize,
    board: Mutex<Board>,
    /// Told whenever the board changed.
    change: watch::Sender<()>,
    quiet: Condvar,
    /// Photos being decoded, for whatever purpose.
    busy: Mutex<usize>,
    room: Condvar,
    heavy: Mutex<()>,
}

#[derive(Default)]
struct Board {
    waiting: VecDeque<PhotoKey>,
    reading: Vec<PhotoKey>,
    done: HashMap<PhotoKey, Arc<Seen>>,
    workers: usize,
}

/// How a photo stands.
pub(super) enum State {
    /// So many come before it.
    Waiting(usize),
    Reading,
    Done(Arc<Seen>),
}

impl Desk {
    pub(super) fn of(home: &Home, layout: &Layout, clock: fn() -> Timestamp) -> Self {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let inner = Inner {
            home: home.clone(),
            layout: layout.clone(),
            incoming: Incoming::of(home),
            clock,
            // One core is left to answer.
            most: (cores - 1).max(1),
            board: Mutex::default(),
            change: watch::channel(()).0,
            quiet: Condvar::new(),
            busy: Mutex::new(0),
            room: Condvar::new(),
            heavy: Mutex::new(()),
        };
        Self { inner: Arc::new(inner) }
    }

    /// The photos that came.
    pub(super) fn incoming(&self) -> &Incoming {
        &self.inner.incoming
    }

    /// Takes up what was accepted before the program last ended.
    pub(super) fn start(&self) -> Result<(), IntakeError> {
        self.incoming().sweep((self.inner.clock)())?;
        for (key, sent) in self.incoming().list()? {
            if sent.kept.is_none() {
                self.put(&key);
            }
        }
        Ok(())
    }

    /// Waits until all that was accepted is read, at most so long; the rest is taken up by the next start.
    pub(super) fn finish(&self, most: Duration) {
        let end = Instant::now() + most;
        let mut board = lock(&self.inner.board);
        while board.workers > 0 {
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return;
            }
            board = self.inner.quiet.wait_timeout(board, left).unwrap_or_else(PoisonError::into_inner).0;
        }
    }

    /// Has a photo read, unless it is or is about to be.
    pub(super) fn put(&self, key: &PhotoKey) {
        let mut board = lock(&self.inner.board);
        if board.done.contains_key(key) || board.reading.contains(key) || board.waiting.contains(key) {
            return;
        }
        board.waiting.push_back(key.clone());
        self.hire(&mut board);
    }

    /// Has a photo read anew, of which something else is said now.
    pub(super) fn again(&self, key: &PhotoKey) {
        lock(&self.inner.board).done.remove(key);
        self.put(key);
    }

    /// Forgets what was read.
    pub(super) fn forget(&self, key: &PhotoKey) {
        let mut board = lock(&self.inner.board);
        board.done.remove(key);
        board.waiting.retain(|k| k != key);
    }

    /// How an accepted photo stands.
    pub(super) fn state(&self, key: &PhotoKey) -> State {
        self.put(key);
        let board = lock(&self.inner.board);
        match board.done.get(key) {
            Some(seen) => State::Done(Arc::clone(seen)),
            None => board.waiting.iter().position(|k| k == key).map_or(State::Reading, |i| {
                // Those being read come before it too.
                State::Waiting(i + board.reading.len())
            }),
        }
    }

    /// Waits a little for an accepted photo to be read.
    pub(super) async fn settle(&self, key: &PhotoKey) {
        let mut change = self.inner.change.subscribe();
        let wait = async { while !matches!(self.state(key), State::Done(_)) && change.changed().await.is_ok() {} };
        let _ = tokio::time::timeout(PATIENCE, wait).await;
    }

    /// Reads a photo and works with it while it is decoded.
    pub(super) fn with<T>(
        &self,
        key: &PhotoKey,
        sent: &Sent,
        work: impl FnOnce(&mut Log, &Ready) -> Result<T, Fail>,
    ) -> Result<T, Fail> {
        self.inner.with(key, sent, work)
    }

    fn hire(&self, board: &mut Board) {
        if board.workers >= self.inner.most {
            return;
        }
        let inner = Arc::clone(&self.inner);
        let work = std::thread::Builder::new().name("reader".to_string()).spawn(move || inner.work());
        // Without a thread it waits on the disk: for the next photo, or the next start.
        board.workers += usize::from(work.is_ok());
    }
}

impl Inner {
    fn work(&self) {
        while let Some(key) = self.next() {
            let done = catch_unwind(AssertUnwindSafe(|| self.read(&key)));
            let seen = done.unwrap_or_else(|_| Some(Seen::Wrong(Fail::broken())));
            let mut board = lock(&self.board);
            board.reading.retain(|k| *k != key);
            if let Some(seen) = seen {
                board.done.insert(key, Arc::new(seen));
            }
            drop(board);
            self.change.send_replace(());
        }
    }

    fn next(&self) -> Option<PhotoKey> {
        let mut board = lock(&self.board);
        match board.waiting.pop_front() {
            Some(key) => {
                board.reading.push(key.clone());
                Some(key)
            }
            None => {
                // Said under the lock, so that whoever puts a photo down hires anew.
                board.workers -= 1;
                self.quiet.notify_all();
                None
            }
        }
    }

    /// None for a photo that was discarded or kept meanwhile.
    fn read(&self, key: &PhotoKey) -> Option<Seen> {
        loop {
            let sent = match self.incoming.sent(key) {
                Ok(sent) => sent.filter(|s| s.kept.is_none())?,
                Err(e) => return Some(Seen::Wrong(e.into())),
            };
            let seen = self.with(key, &sent, |log, ready| {
                let drawn = seen::drawing(ready)?;
                let seen = seen::of(&self.home, &self.layout, log, ready, (self.clock)())?;
                // Not before: a discarded photo must leave nothing behind.
                if self.incoming.sent(key)?.is_some() {
                    self.incoming.draw(key, &drawn)?;
                }
                Ok(Seen::Read(Box::new(seen)))
            });
            // What was said about it may have changed under way.
            match self.incoming.sent(key) {
                Ok(None) => {
                    let _ = self.incoming.discard(key);
                    return None;
                }
                Ok(Some(now)) if now != sent => {}
                _ => return Some(seen.unwrap_or_else(Seen::Wrong)),
            }
        }
    }

    fn with<T>(
        &self,
        key: &PhotoKey,
        sent: &Sent,
        work: impl FnOnce(&mut Log, &Ready) -> Result<T, Fail>,
    ) -> Result<T, Fail> {
        let heavy = photo::peek(&self.incoming.photo(key), &Limits::default()).heavy;
        let _heavy = heavy.then(|| self.heavy.lock().unwrap_or_else(PoisonError::into_inner));
        let _place = self.place();
        let mut log = self.home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
        let ready = self.incoming.read(key, sent, &self.home, &log, &self.layout, (self.clock)())?;
        work(&mut log, &ready)
    }

    /// Waits for a place among those who decode.
    fn place(&self) -> Place<'_> {
        let mut busy = lock(&self.busy);
        while *busy >= self.most {
            busy = self.room.wait(busy).unwrap_or_else(PoisonError::into_inner);
        }
        *busy += 1;
        Place(self)
    }
}

struct Place<'i>(&'i Inner);

impl Drop for Place<'_> {
    fn drop(&mut self) {
        *lock(&self.0.busy) -= 1;
        self.0.room.notify_one();
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
