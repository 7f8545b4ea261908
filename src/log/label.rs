//! Cut-out labels: what a printed number means in this log.
//!
//! A number is given out once and never again, even when its label was retired: it may still be stuck somewhere. It means
//! something only in the log that gave it out. Logs that come together keep every label under its unique id; a number that
//! both had given out then stands twice, and is told apart by nobody until one of the two is retired.

use super::append::Writer;
use super::export::rows::{LabelRow, TankRow, TestRow};
use super::logged::test_key;
use super::new::TestKey;
use super::{Id, Log, LogError, amounts, store};
use crate::water::{Analyte, Quantity};
use rusqlite::Connection;

/// What a label names.
#[derive(Debug, Clone, PartialEq)]
pub enum Names {
    /// A test of a kit.
    Test(TestKey),
    /// A tank, by its entry.
    Tank(Id),
    /// The tap's water.
    Tap,
    /// Water made ready for a change.
    NewWater,
    /// A standard of known concentration, above zero.
    Standard(Analyte, Quantity),
    /// Pure water: the zero standard.
    Zero,
    /// A vial of the tank's water without reagent.
    Clear,
}

impl Names {
    /// Stable text form, without what it names.
    pub fn as_str(&self) -> &'static str {
        match self {
            Self::Test(_) => "test",
            Self::Tank(_) => "tank",
            Self::Tap => "tap",
            Self::NewWater => "new-water",
            Self::Standard(..) => "standard",
            Self::Zero => "zero",
            Self::Clear => "clear",
        }
    }

    /// Numbers for labels of its kind: markers of the family tag36h11.
    pub fn numbers(&self) -> std::ops::RangeInclusive<u32> {
        match self {
            Self::Test(_) => 16..=255,
            _ => 256..=511,
        }
    }
}

/// A label in the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Its entry.
    pub id: Id,
    /// The number of its marker.
    pub number: u32,
    /// What it names.
    pub names: Names,
    /// The words printed on it, as they are now.
    pub words: String,
    /// Whether it was retired, or the tank it names taken out.
    pub retired: bool,
}

impl Writer<'_> {
    /// The label of a thing: the one it has, or a new one with a number never used before. `words` are for a new one.
    pub fn label(&self, names: &Names, words: &str) -> Result<Label, LogError> {
        self.step(|| {
            let all = labels(self.conn())?;
            if let Some(own) = all.iter().find(|l| !l.retired && l.names == *names && alone(l, &all)) {
                return Ok(own.clone());
            }
            let words = plain(words)?;
            let used = |n: &u32| all.iter().any(|l| l.number == *n);
            let number = names.numbers().find(|n| !used(n)).ok_or(LogError::LabelsUsedUp { names: names.as_str() })?;
            let (test, tank) = match names {
                Names::Test(key) => (Some(self.test(key)?), None),
                Names::Tank(id) => {
                    self.check_target(&super::Target::Tank(*id))?;
                    (None, Some(*id))
                }
                _ => (None, None),
            };
            let standard = match names {
                Names::Standard(analyte, q) => {
                    Some((analyte.as_str().to_string(), q.value, q.unit.as_str().to_string()))
                }
                _ => None,
            };
            let id = self.insert(|id, recorded| LabelRow {
                id,
                recorded,
                number: i64::from(number),
                names: names.as_str().to_string(),
                test,
                tank,
                analyte: standard.as_ref().map(|s| s.0.clone()),
                value: standard.as_ref().map(|s| s.1),
                unit: standard.map(|s| s.2),
                words: words.clone(),
            })?;
            Ok(Label { id, number, names: names.clone(), words, retired: false })
        })
    }

    /// Gives a label other words, for its next print.
    pub fn rename_label(&self, label: Id, words: &str) -> Result<Id, LogError> {
        self.step(|| {
            self.check_kind(label, "label")?;
            self.check_living(label)?;
            self.rename(label, &plain(words)?)
        })
    }
}

impl Log {
    /// All labels, retired ones too, by number and then in the order of writing.
    pub fn labels(&self) -> Result<Vec<Label>, LogError> {
        self.read(labels)
    }
}

/// Whether no other living label has its number for something else.
fn alone(label: &Label, all: &[Label]) -> bool {
    all.iter().all(|l| l.retired || l.number != label.number || l.names == label.names)
}

pub(super) fn labels(conn: &Connection) -> Result<Vec<Label>, LogError> {
    let rows: Vec<LabelRow> = store::select(conn, "true", [])?;
    let mut out = rows.into_iter().map(|row| label(conn, row)).collect::<Result<Vec<_>, _>>()?;
    out.sort_by_key(|l| l.number);
    Ok(out)
}

fn label(conn: &Connection, row: LabelRow) -> Result<Label, LogError> {
    let gone = "SELECT ?1 IN (SELECT id FROM undone) OR ifnull(?2 IN (SELECT id FROM undone), 0)";
    let retired: bool = conn.prepare_cached(gone)?.query_row((row.id, row.tank), |r| r.get(0))?;
    let renamed = "SELECT label FROM revision WHERE subject = ?1 AND kind = 'rename'
        AND id NOT IN (SELECT id FROM undone) ORDER BY seq DESC LIMIT 1";
    let mut statement = conn.prepare_cached(renamed)?;
    let words: Option<Option<String>> = statement.query_map([row.id], |r| r.get(0))?.next().transpose()?;
    let number = u32::try_from(row.number).map_err(LogError::row)?;
    let names = names(conn, &row)?;
    Ok(Label { id: row.id, number, names, words: words.flatten().unwrap_or(row.words), retired })
}

fn names(conn: &Connection, row: &LabelRow) -> Result<Names, LogError> {
    let odd = || LogError::row(format!("a label that names '{}'", row.names));
    Ok(match (row.names.as_str(), row.test, row.tank) {
        ("test", Some(test), None) => {
            let found: Option<TestRow> = store::select(conn, "t.id = ?1", [test])?.pop();
            Names::Test(test_key(&found.ok_or_else(odd)?)?)
        }
        ("tank", None, Some(tank)) => {
            let found: Option<TankRow> = store::select(conn, "t.id = ?1", [tank])?.pop();
            Names::Tank(found.ok_or_else(odd)?.id)
        }
        ("tap", None, None) => Names::Tap,
        ("new-water", None, None) => Names::NewWater,
        ("zero", None, None) => Names::Zero,
        ("clear", None, None) => Names::Clear,
        ("standard", None, None) => match (&row.analyte, row.value, &row.unit) {
            (Some(analyte), Some(value), Some(unit)) if value > 0.0 => {
                let analyte = Analyte::parse(analyte).map_err(LogError::row)?;
                let unit = amounts::unit(unit, &analyte)?;
                Names::Standard(analyte, Quantity::new(value, unit))
            }
            _ => return Err(odd()),
        },
        _ => return Err(odd()),
    })
}

fn plain(words: &str) -> Result<String, LogError> {
    let text = words.split_whitespace().collect::<Vec<_>>().join(" ");
    match text.is_empty() || text.chars().any(char::is_control) {
        true => Err(LogError::Empty { what: "the label's text" }),
        false => Ok(text),
    }
}
