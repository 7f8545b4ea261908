//! Measured patch values from a CGATS text file: the text form of ISO 28178 and of CGATS.17, which agree in what is read
//! here. One table: its columns between `BEGIN_DATA_FORMAT` and `END_DATA_FORMAT`, one sample a line between `BEGIN_DATA`
//! and `END_DATA`, texts with spaces in double quotes, `#` begins a comment.
//!
//! CIELAB and XYZ are those of ISO 13655: D50 and the 2° observer, unless the file says D65.

use super::cardfile::CardFileError;
use crate::colour::{Lab, White, Xyz, xyz_from_lab};

/// Why a file of measured values cannot enrol a card.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CgatsError {
    /// Nothing of the format was found.
    #[error("the file holds no table between BEGIN_DATA and END_DATA, so it is no CGATS text file")]
    NotCgats,
    /// A line that does not fit the format.
    #[error("line {line}: {message}")]
    Malformed { line: usize, message: String },
    /// No column says which patch a row is of.
    #[error("no column SAMPLE_NAME or SAMPLE_ID says which patch a row is of")]
    NoNames,
    /// No colour that an instrument would give.
    #[error("the file has neither LAB_L LAB_A LAB_B nor XYZ_X XYZ_Y XYZ_Z{}", if *rgb { ", only RGB of some device" } else { "" })]
    NoColours { rgb: bool },
    /// Another light or observer than the standard's.
    #[error("the values are for {found}, but D50 or D65 with the 2° observer is needed")]
    Light { found: String },
    /// Patches without a row.
    #[error("no row is named after the patch {}", listed(patches))]
    Missing { patches: Vec<String> },
    /// Values that are those of something else.
    #[error("the values lie ΔE00 {off:.0} on average from the colours meant by this layout")]
    NotThisCard { off: f64 },
    /// A value no print can have.
    #[error("'{name}' has no colour a print can have")]
    Colour { name: String },
    /// Sound values that a card file cannot hold.
    #[error(transparent)]
    Card(#[from] CardFileError),
}

impl CgatsError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NotCgats => "cgats-not-cgats",
            Self::Malformed { .. } => "cgats-malformed",
            Self::NoNames => "cgats-no-names",
            Self::NoColours { .. } => "cgats-no-colours",
            Self::Light { .. } => "cgats-light",
            Self::Missing { .. } => "cgats-patch-missing",
            Self::NotThisCard { .. } => "cgats-not-this-card",
            Self::Colour { .. } => "cgats-colour",
            Self::Card(e) => e.code(),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::NotCgats => "Export the measurement as CGATS or ISO 28178 text, not as a spreadsheet or XML.",
            Self::Malformed { .. } => "Mend that line, or export the measurement again.",
            Self::NoNames => "Name each row after its patch, c11 to c28, gl1 to gr6, in a column SAMPLE_NAME.",
            Self::NoColours { .. } => "Export the measurement with CIELAB or XYZ.",
            Self::Light { .. } => "Export the values for D50 and the 2° observer.",
            Self::Missing { .. } => "Measure every patch, and name each row after its patch.",
            Self::NotThisCard { .. } => "Check that each row is named after the patch it was measured on.",
            Self::Colour { .. } => "Measure this patch again.",
            Self::Card(e) => e.remedy(),
        }
    }
}

/// The first table of a file.
pub(super) struct Table {
    columns: Vec<String>,
    /// Each row with its line.
    rows: Vec<(usize, Vec<String>)>,
    /// White of its colours.
    pub white: White,
}

impl Table {
    pub fn read(text: &str) -> Result<Self, CgatsError> {
        #[derive(PartialEq)]
        enum At {
            Heading,
            Format,
            Data,
            End,
        }
        let (mut at, mut columns, mut rows, mut white) = (At::Heading, Vec::new(), Vec::new(), White::D50);
        let (mut sets, mut begun) = (None, 0);
        for (i, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
            let line_number = i + 1;
            let malformed = |message: String| CgatsError::Malformed { line: line_number, message };
            let words = words(line).map_err(|m| malformed(m.to_string()))?;
            let Some(first) = words.first().map(|w| w.to_ascii_uppercase()) else { continue };
            match (&at, first.as_str()) {
                (At::Heading, "BEGIN_DATA_FORMAT") => at = At::Format,
                (At::Format, "END_DATA_FORMAT") => at = At::Heading,
                (At::Format, _) => columns.extend(words.iter().map(|w| w.to_ascii_uppercase())),
                (At::Heading, "BEGIN_DATA") if columns.is_empty() => {
                    return Err(malformed("data begin before BEGIN_DATA_FORMAT named their columns".into()));
                }
                (At::Heading, "BEGIN_DATA") => (at, begun) = (At::Data, line_number),
                (At::Heading, "NUMBER_OF_SETS") => sets = words.get(1).and_then(|w| w.parse::<usize>().ok()),
                (At::Heading, key) => white = light(key, &words[1..], white)?,
                (At::Data, "END_DATA") => at = At::End,
                (At::Data, _) if words.len() != columns.len() => {
                    let message = format!("{} values stand here, the format names {}", words.len(), columns.len());
                    return Err(malformed(message));
                }
                (At::Data, _) => rows.push((line_number, words)),
                (At::End, _) => break, // further tables are passed over
            }
        }
        match at {
            At::End => {}
            At::Data => {
                return Err(CgatsError::Malformed {
                    line: begun,
                    message: "the data that begin here do not end".into(),
                });
            }
            _ => return Err(CgatsError::NotCgats),
        }
        if let Some(sets) = sets.filter(|s| *s != rows.len()) {
            let message = format!("NUMBER_OF_SETS says {sets}, but {} rows follow", rows.len());
            return Err(CgatsError::Malformed { line: begun, message });
        }
        Ok(Self { columns, rows, white })
    }

    fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|c| c == name)
    }

    /// Names and XYZ (the white's Y being 1) of every row.
    pub fn colours(&self) -> Result<Vec<(Vec<String>, Xyz)>, CgatsError> {
        let names: Vec<usize> = ["SAMPLE_NAME", "SAMPLE_ID"].iter().filter_map(|n| self.column(n)).collect();
        if names.is_empty() {
            return Err(CgatsError::NoNames);
        }
        let three = |n: [&str; 3]| Some([self.column(n[0])?, self.column(n[1])?, self.column(n[2])?]);
        let (lab, xyz) = (three(["LAB_L", "LAB_A", "LAB_B"]), three(["XYZ_X", "XYZ_Y", "XYZ_Z"]));
        let from = xyz.or(lab).ok_or_else(|| CgatsError::NoColours { rgb: self.column("RGB_R").is_some() })?;
        let mut out = Vec::with_capacity(self.rows.len());
        for (line, row) in &self.rows {
            let mut v = [0.0; 3];
            for (x, column) in v.iter_mut().zip(from) {
                *x = row[column].parse().ok().filter(|x: &f64| x.is_finite()).ok_or_else(|| CgatsError::Malformed {
                    line: *line,
                    message: format!("'{}' under {} is no number", row[column], self.columns[column]),
                })?;
            }
            let colour = if xyz.is_some() { Xyz(v) } else { self.xyz(Lab(v)) };
            out.push((names.iter().map(|n| row[*n].clone()).collect(), colour));
        }
        // XYZ are written with the white at 100, by some programs at 1. No card is darker than 1.5 % all over.
        let brightest = out.iter().map(|(_, c)| c.0[1]).fold(0.0, f64::max);
        if xyz.is_some() && brightest > 1.5 {
            out.iter_mut().for_each(|(_, c)| *c = Xyz(c.0.map(|v| v / 100.0)));
        }
        Ok(out)
    }

    /// CIELAB under the table's white. Its function has no white of its own, so that of D65 can be exchanged.
    fn xyz(&self, lab: Lab) -> Xyz {
        let (own, d65) = (self.white.xyz().0, White::D65.xyz().0);
        let under_d65 = xyz_from_lab(lab).0;
        Xyz([0, 1, 2].map(|i| under_d65[i] / d65[i] * own[i]))
    }
}

/// The white after a line of the heading: where it speaks of light or observer, it must be one that is understood.
fn light(key: &str, values: &[String], white: White) -> Result<White, CgatsError> {
    // The standard's keyword is the first; the others are common practice.
    const SPEAKS: [&str; 5] = ["WEIGHTING_FUNCTION", "ILLUMINANT", "ILLUMINATION_NAME", "OBSERVER", "OBSERVER_ANGLE"];
    if !SPEAKS.contains(&key) {
        return Ok(white);
    }
    let said = values.join(" ").to_ascii_uppercase();
    let parts: Vec<&str> = said.split(|c: char| !(c.is_ascii_alphanumeric() || c == '.')).collect();
    let has = |w: &str| parts.contains(&w);
    let of_light = key.starts_with("ILLUM") || has("ILLUMINANT");
    let other = Err(CgatsError::Light { found: values.join(" ") });
    let of_observer = key.starts_with("OBSERVER") || has("OBSERVER");
    if (of_observer && has("10")) || has("10DEG") || has("1964") {
        return other;
    }
    match (has("D50"), has("D65")) {
        (true, false) => Ok(White::D50),
        (false, true) => Ok(White::D65),
        _ if of_light => other,
        _ => Ok(white),
    }
}

/// Words of a line: parted by spaces or tabs, quoted where they hold some, a doubled quote standing for one.
fn words(line: &str) -> Result<Vec<String>, &'static str> {
    let (mut out, mut chars) = (Vec::new(), line.chars().peekable());
    while let Some(c) = chars.next() {
        match c {
            '#' => break,
            '"' => {
                let mut word = String::new();
                loop {
                    match chars.next() {
                        Some('"') if chars.peek() == Some(&'"') => word.extend(chars.next()),
                        Some('"') => break,
                        Some(c) => word.push(c),
                        None => return Err("a quoted text does not end on its line"),
                    }
                }
                out.push(word);
            }
            c if c.is_whitespace() => {}
            c => {
                let mut word = String::from(c);
                while let Some(c) = chars.next_if(|c| !c.is_whitespace()) {
                    word.push(c);
                }
                out.push(word);
            }
        }
    }
    Ok(out)
}

fn listed(patches: &[String]) -> String {
    match patches {
        [one] => format!("'{one}'"),
        [first, .., last] if patches.len() > 4 => format!("'{first}' and {} more up to '{last}'", patches.len() - 1),
        _ => patches.iter().map(|p| format!("'{p}'")).collect::<Vec<_>>().join(", "),
    }
}
