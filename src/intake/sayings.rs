//! What stands written about photos, apart from labels and words typed: the keeper's rules and the tables beside photos, checked
//! before any photo is read.

use super::{At, Candidate, Home, IntakeError, RuleError, Rules, Saying, Sidecar, asks};
use crate::card::Layout;
use crate::log::Log;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// See the module. The default holds none.
#[derive(Debug, Default)]
pub struct Sayings {
    rules: Rules,
    tables: HashMap<PathBuf, Sidecar>,
}

impl Sayings {
    /// All that concerns these files. A name that is not here is an error, with its line.
    pub fn read(files: &[Candidate], home: &Home, log: &Log, layout: &Layout) -> Result<Self, IntakeError> {
        let rules = Rules::read(&home.rules())?;
        let mut tables = HashMap::new();
        for file in files {
            let folder = folder(&file.path);
            if !tables.contains_key(folder) {
                tables.insert(folder.to_path_buf(), Sidecar::of_folder(folder)?);
            }
        }
        for saying in rules.all().chain(tables.values().flat_map(Sidecar::all)) {
            check(saying, home, log, layout)?;
        }
        Ok(Self { rules, tables })
    }

    /// What is said about a photo: by the table beside it, else by the first rule that fits.
    pub fn of(&self, photo: &Path) -> Option<&Saying> {
        let whole = std::path::absolute(photo).unwrap_or_else(|_| photo.to_path_buf());
        self.tables.get(folder(photo)).and_then(|t| t.of(photo)).or_else(|| self.rules.of(&whole))
    }
}

impl Saying {
    /// Where it is written, in words.
    pub fn written(&self) -> String {
        format!("{} line {}", self.place.display(), self.line)
    }
}

fn check(saying: &Saying, home: &Home, log: &Log, layout: &Layout) -> Result<(), IntakeError> {
    let go = || -> Result<(), IntakeError> {
        if let Some(tank) = &saying.tank {
            log.tank(tank)?;
        }
        if !saying.stations.is_empty() {
            let kit = home.kit(saying.kit.as_deref())?;
            asks(&saying.stations, &kit.value, layout)?;
        }
        saying.at.as_deref().map(At::parse).transpose().map(drop)
    };
    let says = |source| RuleError::Says { path: saying.place.clone(), line: saying.line, source: Box::new(source) };
    Ok(go().map_err(says)?)
}

fn folder(photo: &Path) -> &Path {
    photo.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
