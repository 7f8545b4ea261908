//! A table beside photos that says what each of them shows.

use super::{RuleError, Saying};
use serde::Deserialize;
use std::collections::HashMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// The table's name, in the photos' own folder.
pub const SIDECAR: &str = "tintline.csv";

/// What a folder's table says: CSV with the columns `file`, `tank`, `kit`, `stations`, `at`, of which only `file` must be there.
/// Stations are parted by spaces, `A=pH C=nitrite`; `at` is a time as `--at` takes it, and overrules the camera.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sidecar {
    rows: HashMap<String, Saying>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    file: String,
    #[serde(default)]
    tank: Option<String>,
    #[serde(default)]
    kit: Option<String>,
    #[serde(default)]
    stations: Option<String>,
    #[serde(default)]
    at: Option<String>,
}

impl Sidecar {
    /// The table of a folder; one that is not there says nothing.
    pub fn of_folder(folder: &Path) -> Result<Self, RuleError> {
        let path = folder.join(SIDECAR);
        match std::fs::read(&path) {
            Ok(bytes) => Self::parse(&bytes, &path),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(Self::default()),
            Err(source) => Err(RuleError::Unreadable { path, source }),
        }
    }

    fn parse(bytes: &[u8], path: &Path) -> Result<Self, RuleError> {
        // Spreadsheets put a mark before the first column's name.
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let malformed = |line: usize, message: String| RuleError::Malformed { path: path.into(), line, message };
        let mut csv = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(bytes);
        let header = csv.headers().map_err(|e| malformed(1, e.to_string()))?.clone();
        let mut rows = HashMap::new();
        for record in csv.records() {
            let record = record.map_err(|e| malformed(e.position().map_or(1, |p| p.line() as usize), said(&e)))?;
            let line = record.position().map_or(1, |p| p.line() as usize);
            let row: Row = record.deserialize(Some(&header)).map_err(|e| malformed(line, said(&e)))?;
            if row.file.is_empty() || row.file.contains(['/', '\\']) {
                return Err(malformed(line, format!("'{}' is no name of a file in this folder", row.file)));
            }
            let full = |text: Option<String>| text.filter(|t| !t.is_empty());
            let stations = row.stations.unwrap_or_default().split_whitespace().map(str::to_string).collect();
            let (tank, kit, at, place) = (full(row.tank), full(row.kit), full(row.at), PathBuf::from(path));
            let says = Saying { tank, kit, stations, at, place, line };
            if let Some(before) = rows.insert(row.file.clone(), says) {
                return Err(malformed(line, format!("{} stands in line {} already", row.file, before.line)));
            }
        }
        Ok(Self { rows })
    }

    /// What is said about a photo.
    pub fn of(&self, photo: &Path) -> Option<&Saying> {
        self.rows.get(&photo.file_name()?.to_string_lossy().to_string())
    }

    /// All that is said, by line.
    pub fn all(&self) -> Vec<&Saying> {
        let mut all: Vec<&Saying> = self.rows.values().collect();
        all.sort_by_key(|s| s.line);
        all
    }
}

/// The cause, without the place, which is said already.
fn said(e: &csv::Error) -> String {
    match e.kind() {
        csv::ErrorKind::Deserialize { err, .. } => err.to_string(),
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            format!("{len} fields where the heading has {expected_len}")
        }
        _ => e.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Sidecar, RuleError> {
        Sidecar::parse(text.as_bytes(), Path::new("tintline.csv"))
    }

    #[test]
    fn a_row_says_what_its_photo_shows() {
        let table =
            parse("\u{feff}file,stations,tank,at\na.jpg, A=pH  C=NO2:1+4,reef,\nb.jpg,,,2026-03-01 18:30\n").unwrap();
        let a = table.of(Path::new("week/a.jpg")).unwrap();
        assert_eq!(
            (a.stations.join("|"), a.tank.as_deref(), a.at.as_deref()),
            ("A=pH|C=NO2:1+4".into(), Some("reef"), None)
        );
        let b = table.of(Path::new("b.jpg")).unwrap();
        assert_eq!(
            (b.stations.len(), b.tank.as_deref(), b.at.as_deref(), b.line),
            (0, None, Some("2026-03-01 18:30"), 3)
        );
        assert_eq!(table.of(Path::new("c.jpg")), None);
    }

    #[test]
    fn what_is_wrong_is_said_with_its_line() {
        for (text, line) in [
            ("file,tanks\na.jpg,reef\n", 2),
            ("tank\nreef\n", 2),
            ("file,tank\na.jpg,reef\nb.jpg\n", 3),
            ("file\na.jpg\nb.jpg\na.jpg\n", 4),
            ("file\nweek/a.jpg\n", 2),
        ] {
            let e = parse(text).unwrap_err();
            assert_eq!(e.code(), "rules-malformed");
            assert!(e.to_string().contains(&format!("tintline.csv line {line}:")), "{e}");
        }
    }
}
