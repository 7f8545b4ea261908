//! What all handlers share.

use super::desk::Desk;
use super::door::Door;
use super::fail::Fail;
use crate::card::Layout;
use crate::intake::{Home, IntakeError};
use crate::log::{Id, Log, LogError, Tank};
use jiff::Timestamp;
use std::sync::Arc;
use std::time::Duration;

/// A home folder as a web site.
pub struct Site {
    pub(super) home: Home,
    pub(super) layout: Layout,
    pub(super) desk: Desk,
    pub(super) door: Door,
    clock: fn() -> Timestamp,
}

impl Site {
    /// Of this home. Nothing is made or opened until a page asks for it.
    pub fn of(home: Home, clock: fn() -> Timestamp) -> Self {
        let layout = Layout::first();
        let desk = Desk::of(&home, &layout, clock);
        Self { home, layout, desk, door: Door::shut(), clock }
    }

    /// The same behind another door.
    pub(super) fn behind(self, door: Door) -> Self {
        Self { door, ..self }
    }

    /// Takes up the photos that were sent before the program last ended.
    pub fn start(&self) -> Result<(), IntakeError> {
        self.desk.start()
    }

    /// Waits until the photos that were sent are read, at most so long.
    pub fn finish(&self, most: Duration) {
        self.desk.finish(most);
    }

    /// The time.
    pub(super) fn now(&self) -> Timestamp {
        (self.clock)()
    }

    /// Works on the log on a thread that may wait for a disk. None where there is no log yet.
    pub(super) async fn if_log<T: Send + 'static>(
        self: Arc<Self>,
        work: impl FnOnce(&Self, Option<&mut Log>) -> Result<T, Fail> + Send + 'static,
    ) -> Result<T, Fail> {
        let done = tokio::task::spawn_blocking(move || {
            let mut log = self.home.log_if_any()?;
            work(&self, log.as_mut())
        });
        done.await.unwrap_or_else(|_| Err(Fail::broken()))
    }

    /// The same, where there must be one.
    pub(super) async fn log<T: Send + 'static>(
        self: Arc<Self>,
        work: impl FnOnce(&Self, &mut Log) -> Result<T, Fail> + Send + 'static,
    ) -> Result<T, Fail> {
        self.if_log(|site, log| match log {
            Some(log) => work(site, log),
            None => Err(IntakeError::NoneYet { what: "tank" }.into()),
        })
        .await
    }
}

/// The tank of an address.
pub(super) fn tank(log: &Log, id: &str) -> Result<Tank, Fail> {
    let tanks = log.tanks()?;
    let known = || tanks.iter().map(|t| t.name.clone()).collect();
    let own = Id::parse(id).and_then(|id| tanks.iter().find(|t| t.id == id).cloned());
    own.ok_or_else(|| LogError::TankUnknown { name: id.chars().take(40).collect(), known: known() }.into())
}
