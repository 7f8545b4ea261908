//! The keeper's rules and the tables beside photos, checked before any photo is read.

use crate::card::Layout;
use crate::faces::cli::trouble::Trouble;
use crate::intake::{self, At, Candidate, Home, IntakeError, RuleError, Rules, Saying, Sidecar};
use crate::log::Log;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// What is said about photos, apart from labels and words typed.
#[derive(Debug, Default)]
pub(super) struct Said {
    rules: Rules,
    tables: HashMap<PathBuf, Sidecar>,
}

impl Said {
    /// All that concerns these files. A name that is not here is an error, with its line.
    pub(super) fn read(files: &[Candidate], home: &Home, log: &Log, layout: &Layout) -> Result<Self, Trouble> {
        let rules = Rules::read(&home.rules()).map_err(IntakeError::from)?;
        let mut tables = HashMap::new();
        for file in files {
            let folder = folder(&file.path);
            if !tables.contains_key(folder) {
                tables.insert(folder.to_path_buf(), Sidecar::of_folder(folder).map_err(IntakeError::from)?);
            }
        }
        for saying in rules.all() {
            check(saying, home, log, layout)?;
        }
        for saying in tables.values().flat_map(Sidecar::all) {
            check(saying, home, log, layout)?;
        }
        Ok(Self { rules, tables })
    }

    /// What is said about a photo: by the table beside it, else by the first rule that fits.
    pub(super) fn of(&self, photo: &Path) -> Option<&Saying> {
        let whole = std::path::absolute(photo).unwrap_or_else(|_| photo.to_path_buf());
        self.tables.get(folder(photo)).and_then(|t| t.of(photo)).or_else(|| self.rules.of(&whole))
    }
}

/// Where something is said, in words.
pub(super) fn place(saying: &Saying) -> String {
    format!("{} line {}", saying.place.display(), saying.line)
}

fn check(saying: &Saying, home: &Home, log: &Log, layout: &Layout) -> Result<(), Trouble> {
    let go = || -> Result<(), IntakeError> {
        if let Some(tank) = &saying.tank {
            log.tank(tank)?;
        }
        if !saying.stations.is_empty() {
            let kit = home.kit(saying.kit.as_deref())?;
            intake::asks(&saying.stations, &kit.value, layout)?;
        }
        saying.at.as_deref().map(At::parse).transpose().map(drop)
    };
    let says = |source| RuleError::Says { path: saying.place.clone(), line: saying.line, source: Box::new(source) };
    Ok(go().map_err(says).map_err(IntakeError::from)?)
}

fn folder(photo: &Path) -> &Path {
    photo.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
