//! How a field lies in columns. Times are text in UTC with nine decimals, so that text order is time order; lists are JSON.

use super::rows::{FindingRow, MomentRow};
use crate::log::Id;
use jiff::Timestamp;
use rusqlite::types::{FromSqlError, Type, Value};
use serde::{Serialize, de::DeserializeOwned};

/// A field of a row, in one column or several.
pub(in crate::log) trait Cell: Sized {
    fn columns(field: &str, out: &mut Vec<String>) {
        out.push(field.to_string());
    }
    fn put(&self, out: &mut Vec<Value>);
    fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self>;
}

/// The columns of a result row, taken from left to right.
pub(in crate::log) struct Cells<'a> {
    row: &'a rusqlite::Row<'a>,
    at: usize,
}

impl<'a> Cells<'a> {
    pub(in crate::log) fn new(row: &'a rusqlite::Row<'a>) -> Self {
        Self { row, at: 0 }
    }

    fn next<T: rusqlite::types::FromSql>(&mut self) -> rusqlite::Result<T> {
        self.at += 1;
        self.row.get(self.at - 1)
    }

    fn wrong(&self, what: impl std::fmt::Display) -> rusqlite::Error {
        let e = FromSqlError::Other(what.to_string().into());
        rusqlite::Error::FromSqlConversionFailure(self.at.saturating_sub(1), Type::Text, Box::new(e))
    }

    fn json<T: DeserializeOwned>(&mut self) -> rusqlite::Result<Option<T>> {
        let text: Option<String> = self.next()?;
        text.map(|t| serde_json::from_str(&t).map_err(|e| self.wrong(e))).transpose()
    }
}

/// The text form of a time; `LogError::Time` keeps out years that would not sort.
pub(in crate::log) fn time_text(t: Timestamp) -> String {
    format!("{t:.9}")
}

fn json(value: &impl Serialize) -> Value {
    // Rows hold plain numbers and text under text keys, which always serialise.
    serde_json::to_string(value).map_or(Value::Null, Value::Text)
}

macro_rules! plain {
    ($($type:ty),*) => {$(
        impl Cell for $type {
            fn put(&self, out: &mut Vec<Value>) {
                out.push(Value::from(self.clone()));
            }

            fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
                cells.next()
            }
        }
    )*};
}

plain!(String, Option<String>, f64, Option<f64>, i64);

impl Cell for Id {
    fn put(&self, out: &mut Vec<Value>) {
        out.push(Value::Text(self.to_string()));
    }

    fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
        cells.next()
    }
}

impl Cell for Option<Id> {
    fn put(&self, out: &mut Vec<Value>) {
        out.push(self.map_or(Value::Null, |id| Value::Text(id.to_string())));
    }

    fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
        cells.next()
    }
}

impl Cell for Timestamp {
    fn put(&self, out: &mut Vec<Value>) {
        out.push(Value::Text(time_text(*self)));
    }

    fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
        let text: String = cells.next()?;
        text.parse().map_err(|e| cells.wrong(e))
    }
}

impl Cell for Option<MomentRow> {
    fn columns(field: &str, out: &mut Vec<String>) {
        out.extend(["utc", "offset", "source", "certainty"].map(|part| format!("{field}_{part}")));
    }

    fn put(&self, out: &mut Vec<Value>) {
        match self {
            Some(m) => {
                m.utc.put(out);
                out.push(Value::Integer(m.offset_seconds.into()));
                m.source.put(out);
                m.certainty.put(out);
            }
            None => out.extend(std::iter::repeat_n(Value::Null, 4)),
        }
    }

    fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
        let utc: Option<String> = cells.next()?;
        let (offset, source, certainty) = (cells.next()?, cells.next()?, cells.next()?);
        match (utc, offset, source, certainty) {
            (Some(utc), Some(offset_seconds), Some(source), Some(certainty)) => {
                let utc = utc.parse().map_err(|e| cells.wrong(e))?;
                Ok(Some(MomentRow { utc, offset_seconds, source, certainty }))
            }
            _ => Ok(None),
        }
    }
}

impl Cell for MomentRow {
    fn columns(field: &str, out: &mut Vec<String>) {
        <Option<MomentRow> as Cell>::columns(field, out);
    }

    fn put(&self, out: &mut Vec<Value>) {
        Some(self.clone()).put(out);
    }

    fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
        <Option<MomentRow> as Cell>::take(cells)?.ok_or_else(|| cells.wrong("a time is missing"))
    }
}

macro_rules! as_json {
    ($($type:ty),*) => {$(
        impl Cell for $type {
            fn put(&self, out: &mut Vec<Value>) {
                out.push(json(self));
            }

            fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
                cells.json()?.ok_or_else(|| cells.wrong("a list is missing"))
            }
        }
    )*};
}

as_json!(Vec<FindingRow>, serde_json::Map<String, serde_json::Value>);

macro_rules! as_optional_json {
    ($($type:ty),*) => {$(
        impl Cell for Option<$type> {
            fn put(&self, out: &mut Vec<Value>) {
                out.push(self.as_ref().map_or(Value::Null, json));
            }

            fn take(cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
                cells.json()
            }
        }
    )*};
}

as_optional_json!([f64; 3], Vec<f64>);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_order_is_time_order() {
        let times = [
            "2026-03-01T12:00:00Z",
            "2026-03-01T12:00:00.5Z",
            "2026-03-01T12:00:00.500000001Z",
            "2026-03-01T12:00:01Z",
        ];
        let texts: Vec<String> = times.iter().map(|t| time_text(t.parse().unwrap())).collect();
        assert!(texts.is_sorted_by(|a, b| a < b), "{texts:?}");
        assert_eq!(texts[1], "2026-03-01T12:00:00.500000000Z");
    }
}
