//! Standing rules: what photos of a folder or of a kind of name show, written once by the keeper.
//!
//! `rules.toml` in the home folder, format 1, read strictly:
//! ```toml
//! format = 1
//!
//! [[rule]]
//! folder = "shelf"            # a folder of that name, wherever it lies; or its whole path
//! file = "IMG_*"              # and this kind of file name: * any letters, ? one; either key may be left out
//! tank = "shelf"              # left out: the only tank
//! kit = "drops"               # left out: the only kit
//! stations = ["A=pH", "C=nitrite:1+4"]
//! ```
//! The first rule that fits a photo counts. For single photos a table beside them says it: see [`sidecar`](super::Sidecar).

use super::IntakeError;
use serde::Deserialize;
use std::io::ErrorKind;
use std::ops::Range;
use std::path::{Component, Path, PathBuf};
use toml::Spanned;

/// The newest form this version reads.
const FORMAT: i64 = 1;

/// What the keeper said about a photo, and where.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Saying {
    /// The tank's name.
    pub tank: Option<String>,
    /// The kit's name.
    pub kit: Option<String>,
    /// `STATION=TEST` or `STATION=TEST:1+4`.
    pub stations: Vec<String>,
    /// When it was taken, as typed.
    pub at: Option<String>,
    /// Where it is written.
    pub place: PathBuf,
    /// In which line.
    pub line: usize,
}

/// Why rules, or a table beside photos, cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RuleError {
    /// The file is there and cannot be read.
    #[error("{} cannot be read: {source}", path.display())]
    Unreadable { path: PathBuf, source: std::io::Error },
    /// Not in the form that is read.
    #[error("{} line {line}: {message}", path.display())]
    Malformed { path: PathBuf, line: usize, message: String },
    /// Written for a later program.
    #[error("{} has format {found}; this program knows {known}", path.display())]
    Newer { path: PathBuf, found: i64, known: i64 },
    /// It names something that is not here.
    #[error("{} line {line}: {source}", path.display())]
    Says { path: PathBuf, line: usize, source: Box<IntakeError> },
}

impl RuleError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Unreadable { .. } => "rules-unreadable",
            Self::Malformed { .. } => "rules-malformed",
            Self::Newer { .. } => "rules-newer",
            Self::Says { source, .. } => source.code(),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Unreadable { .. } => "Check that you may read it, or take it away.".into(),
            Self::Malformed { .. } => {
                "Mend that line; 'tintline read --dry-run' shows what is meant for each photo.".into()
            }
            Self::Newer { .. } => "Use a newer version of the program.".into(),
            Self::Says { source, .. } => format!("Mend that line. {}", source.remedy()),
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "format")]
    _format: i64,
    #[serde(default, rename = "rule")]
    rules: Vec<Spanned<FileRule>>,
}

#[derive(Deserialize)]
struct Head {
    format: i64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileRule {
    folder: Option<String>,
    file: Option<String>,
    tank: Option<String>,
    kit: Option<String>,
    stations: Vec<String>,
}

/// The rules of a home.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rules {
    rules: Vec<Rule>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Rule {
    folder: Option<PathBuf>,
    file: Option<String>,
    says: Saying,
}

impl Rules {
    /// Reads a file of rules. A file that is not there holds none.
    pub fn read(path: &Path) -> Result<Self, RuleError> {
        match std::fs::read_to_string(path) {
            Ok(text) => Self::parse(&text, path),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(Self::default()),
            Err(source) => Err(RuleError::Unreadable { path: path.into(), source }),
        }
    }

    /// Reads the text of such a file.
    pub fn parse(text: &str, path: &Path) -> Result<Self, RuleError> {
        let line = |span: Range<usize>| 1 + text[..span.start.min(text.len())].matches('\n').count();
        let malformed = |line, message: &str| RuleError::Malformed { path: path.into(), line, message: message.into() };
        let wrong = |e: toml::de::Error| malformed(line(e.span().unwrap_or(0..0)), e.message());
        let head: Head = toml::from_str(text).map_err(wrong)?;
        if head.format > FORMAT {
            return Err(RuleError::Newer { path: path.into(), found: head.format, known: FORMAT });
        }
        if head.format < 1 {
            return Err(malformed(1, "the format is a number from 1"));
        }
        let file: File = toml::from_str(text).map_err(wrong)?;
        let mut rules = Vec::new();
        for spanned in file.rules {
            let line = line(spanned.span());
            let rule = spanned.into_inner();
            if rule.folder.is_none() && rule.file.is_none() {
                return Err(malformed(line, "a rule names a folder, a kind of file, or both"));
            }
            if [&rule.folder, &rule.file].into_iter().flatten().any(|t| t.trim().is_empty()) {
                return Err(malformed(line, "a rule with an empty folder or file fits nothing"));
            }
            if rule.file.as_ref().is_some_and(|f| f.contains(['/', '\\'])) {
                return Err(malformed(line, "'file' is a name without folders"));
            }
            if rule.stations.is_empty() {
                return Err(malformed(line, "a rule says what stands at the stations, such as stations = [\"A=pH\"]"));
            }
            let (place, stations) = (path.to_path_buf(), rule.stations);
            let says = Saying { tank: rule.tank, kit: rule.kit, stations, at: None, place, line };
            rules.push(Rule { folder: rule.folder.map(PathBuf::from), file: rule.file, says });
        }
        Ok(Self { rules })
    }

    /// What is said about a photo at this path, which is taken as it stands: make it absolute before.
    pub fn of(&self, photo: &Path) -> Option<&Saying> {
        self.rules.iter().find(|rule| rule.fits(photo)).map(|rule| &rule.says)
    }

    /// All that is said, in the order of the file.
    pub fn all(&self) -> impl Iterator<Item = &Saying> {
        self.rules.iter().map(|rule| &rule.says)
    }
}

impl Rule {
    fn fits(&self, photo: &Path) -> bool {
        let folder = photo.parent().unwrap_or(Path::new(""));
        let name = photo.file_name().map(|n| n.to_string_lossy().to_lowercase()).unwrap_or_default();
        self.folder.as_ref().is_none_or(|own| within(folder, own))
            && self.file.as_ref().is_none_or(|own| like(&own.to_lowercase(), &name))
    }
}

/// Whether a folder is `own` or lies below it; `own` that is no whole path may lie anywhere.
fn within(folder: &Path, own: &Path) -> bool {
    if own.is_absolute() {
        return folder.starts_with(own);
    }
    let names = |p: &Path| -> Vec<String> {
        p.components()
            .filter(|c| matches!(c, Component::Normal(_)))
            .map(|c| c.as_os_str().to_string_lossy().into())
            .collect()
    };
    let (all, own) = (names(folder), names(own));
    !own.is_empty() && all.windows(own.len()).any(|w| w == own)
}

/// Whether a name is like a pattern: `*` stands for any letters, also none, `?` for one.
fn like(pattern: &str, name: &str) -> bool {
    let (p, n): (Vec<char>, Vec<char>) = (pattern.chars().collect(), name.chars().collect());
    // Where the last star stood, and how much of the name it has taken: going back to it is enough.
    let (mut i, mut j, mut star) = (0, 0, None);
    while j < n.len() {
        if i < p.len() && p[i] == '*' {
            star = Some((i, j));
            i += 1;
        } else if i < p.len() && (p[i] == '?' || p[i] == n[j]) {
            (i, j) = (i + 1, j + 1);
        } else if let Some((at, taken)) = star {
            star = Some((at, taken + 1));
            (i, j) = (at + 1, taken + 1);
        } else {
            return false;
        }
    }
    p[i..].iter().all(|c| *c == '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    const TWO: &str = "format = 1\n\n[[rule]]\nfolder = \"shelf\"\nfile = \"img_*.jp?g\"\ntank = \"reef\"\nstations = [\"A=pH\"]\n\n\
        [[rule]]\nfolder = \"/data/sync\"\nstations = [\"B=NO2\"]\n";

    fn parse(text: &str) -> Result<Rules, RuleError> {
        Rules::parse(text, Path::new("rules.toml"))
    }

    #[test]
    fn the_first_rule_that_fits_counts() {
        let rules = parse(TWO).unwrap();
        let line = |path: &str| rules.of(Path::new(path)).map(|s| s.line);
        assert_eq!(line("/data/sync/shelf/IMG_1.jpeg"), Some(3));
        assert_eq!(line("/data/sync/shelf/deep/IMG_.jp2g"), Some(3));
        assert_eq!(line("/data/sync/shelf/IMG_1.jpg"), Some(9), "the ? stands for one letter");
        assert_eq!(line("/data/sync/a.jpg"), Some(9));
        assert_eq!(line("/data/sync2/a.jpg"), None, "a folder's name counts as a whole");
        assert_eq!(line("/home/shelf.old/IMG_1.jpeg"), None);
    }

    #[test]
    fn stars_and_question_marks() {
        for (pattern, name, fits) in [
            ("*", "", true),
            ("a*b*c", "axxbyybzc", true),
            ("a*b*c", "axxbyybz", false),
            ("?", "", false),
            ("??.jpg", "ab.jpg", true),
            ("*.jpg", "a.jpg.png", false),
            ("*ab", "aab", true),
        ] {
            assert_eq!(like(pattern, name), fits, "{pattern} {name}");
        }
    }

    #[test]
    fn what_is_wrong_is_said_with_its_line() {
        for (text, code, line) in [
            ("format = 2\nfuture = true\n", "rules-newer", 0),
            ("format = 1\n[[rule]]\nfolder = \"x\"\nstation = [\"A=pH\"]\n", "rules-malformed", 4),
            ("format = 1\n[[rule]]\nstations = [\"A=pH\"]\n", "rules-malformed", 2),
            ("format = 1\n\n[[rule]]\nfolder = \"x\"\nstations = []\n", "rules-malformed", 3),
            ("format = 1\n[[rule]]\nfile = \"a/b\"\nstations = [\"A=pH\"]\n", "rules-malformed", 2),
            ("format = 1\n[[rule]]\nfolder = \"\"\nstations = [\"A=pH\"]\n", "rules-malformed", 2),
            ("rule = 3\n", "rules-malformed", 1),
            ("format = 1\nfolder = \"x\n", "rules-malformed", 2),
        ] {
            let e = parse(text).unwrap_err();
            assert_eq!(e.code(), code, "{text}");
            if line > 0 {
                assert!(e.to_string().contains(&format!("rules.toml line {line}:")), "{e}");
            }
        }
    }
}
