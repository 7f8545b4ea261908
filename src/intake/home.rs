//! The home folder: where everything lies.

use super::IntakeError;
use crate::log::{Log, LogError, Tank};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The folder in which log, kits, cards and photos are kept. A value of this type touches nothing; each thing is made when it is
/// first written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Home {
    root: PathBuf,
}

impl Home {
    /// The home folder at `root`, which need not exist yet.
    pub fn at(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    /// The folder itself.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The log's file.
    pub fn log_path(&self) -> PathBuf {
        self.root.join("log.db")
    }

    /// The file of standing rules.
    pub fn rules(&self) -> PathBuf {
        self.root.join("rules.toml")
    }

    /// The folder of kits.
    pub fn kits(&self) -> PathBuf {
        self.root.join("kits")
    }

    /// The folder of enrolled cards.
    pub fn cards(&self) -> PathBuf {
        self.root.join("cards")
    }

    /// The folder of kept originals.
    pub fn photos(&self) -> PathBuf {
        self.root.join("photos")
    }

    /// Makes the folder if it is not there, open to its owner alone: photos tell where they were taken.
    pub fn make(&self) -> Result<(), IntakeError> {
        self.make_folder(&self.root)
    }

    pub(super) fn make_folder(&self, path: &Path) -> Result<(), IntakeError> {
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::DirBuilderExt;
            builder.mode(0o700);
        }
        builder.create(path).map_err(|source| IntakeError::Home { path: path.into(), source })
    }

    /// Opens the log, making it if there is none.
    pub fn log(&self) -> Result<Log, IntakeError> {
        self.make()?;
        Ok(Log::open(&self.log_path())?)
    }

    /// Opens the log if there is one: looking makes nothing. One that cannot be written is opened to be looked at.
    pub fn log_if_any(&self) -> Result<Option<Log>, IntakeError> {
        match fs::metadata(self.log_path()) {
            Ok(_) => Ok(Some(self.log_or_look()?)),
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(IntakeError::Home { path: self.root.clone(), source }),
        }
    }

    fn log_or_look(&self) -> Result<Log, LogError> {
        let path = self.log_path();
        match Log::open(&path) {
            // Where it cannot even be looked at, the first error tells more.
            Err(e @ LogError::Unwritable { .. }) => Log::open_to_look(&path).map_err(|_| e),
            other => other,
        }
    }

    /// The tank of a name; without one, the only tank.
    pub fn tank(&self, log: &Log, given: Option<&str>) -> Result<Tank, IntakeError> {
        let tanks = log.tanks()?;
        let names: Vec<String> = tanks.iter().map(|t| t.name.clone()).collect();
        match given {
            Some(name) => Ok(log.tank(name)?),
            None => {
                let i = the_only("tank", &names)?;
                Ok(tanks[i].clone())
            }
        }
    }
}

/// The place of the only name there is.
pub(super) fn the_only(what: &'static str, known: &[String]) -> Result<usize, IntakeError> {
    match known.len() {
        0 => Err(IntakeError::NoneYet { what }),
        1 => Ok(0),
        _ => Err(IntakeError::Which { what, known: known.to_vec() }),
    }
}
