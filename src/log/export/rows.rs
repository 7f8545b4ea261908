//! The rows of the tables, schemas 1 and 2: what an INSERT binds, a SELECT gives back, and a JSON export holds, field by field.
//!
//! A later schema keeps these types for reading older exports and adds its own.

use super::cell::{Cell, Cells};
use crate::log::Id;
use jiff::Timestamp;
use rusqlite::types::Value;
use serde::{Deserialize, Serialize};

/// A table's row. Its columns bear the names of the fields; a moment takes four columns.
pub(in crate::log) trait Row: Sized {
    /// Table and word for the kind of entry.
    const TABLE: &'static str;
    fn id(&self) -> Id;
    fn recorded(&self) -> Timestamp;
    /// Columns after `seq` and `id`.
    fn columns() -> Vec<String>;
    fn put(&self, out: &mut Vec<Value>);
    fn take(id: Id, recorded: Timestamp, cells: &mut Cells<'_>) -> rusqlite::Result<Self>;
}

macro_rules! rows {
    ($($(#[$doc:meta])* $row:ident = $table:literal { $($(#[$attr:meta])* $field:ident: $type:ty,)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(in crate::log) struct $row {
            pub(in crate::log) id: Id,
            pub(in crate::log) recorded: Timestamp,
            $($(#[$attr])* pub(in crate::log) $field: $type,)*
        }

        impl Row for $row {
            const TABLE: &'static str = $table;

            fn id(&self) -> Id {
                self.id
            }

            fn recorded(&self) -> Timestamp {
                self.recorded
            }

            fn columns() -> Vec<String> {
                let mut out = Vec::new();
                $(<$type as Cell>::columns(stringify!($field), &mut out);)*
                out
            }

            fn put(&self, out: &mut Vec<Value>) {
                $(self.$field.put(out);)*
            }

            fn take(id: Id, recorded: Timestamp, cells: &mut Cells<'_>) -> rusqlite::Result<Self> {
                Ok(Self { id, recorded, $($field: Cell::take(cells)?,)* })
            }
        }
    )*};
}

rows! {
    TankRow = "tank" {
        name: String,
        name_key: String,
        zone: String,
        water: String,
        volume_l: Option<f64>,
        note: Option<String>,
    }

    TestRow = "test" {
        kit: Option<String>,
        name: String,
        analyte: String,
        unit: String,
    }

    PhotoRow = "photo" {
        hash: String,
        name: Option<String>,
        format: String,
        camera: Option<String>,
        taken: Option<MomentRow>,
    }

    SampleRow = "sample" {
        target: String,
        tank: Option<Id>,
        label: Option<String>,
        station: Option<String>,
        note: Option<String>,
        drawn: Option<MomentRow>,
        reagent: Option<MomentRow>,
        photo: Option<MomentRow>,
        entered: MomentRow,
    }

    ReadingRow = "reading" {
        root: Id,
        origin: String,
        sample: Id,
        test: Id,
        photo: Option<Id>,
        station: Option<String>,
        kit_revision: Option<String>,
        card_revision: Option<String>,
        program: String,
        status: String,
        entered: Option<String>,
        value: Option<f64>,
        lower: Option<f64>,
        upper: Option<f64>,
        #[serde(rename = "limit")]
        bound: Option<f64>,
        detection_limit: Option<f64>,
        unit: String,
        canonical_value: Option<f64>,
        canonical_lower: Option<f64>,
        canonical_upper: Option<f64>,
        #[serde(rename = "canonical_limit")]
        canonical_bound: Option<f64>,
        canonical_unit: String,
        dilution_added: Option<f64>,
        refusal: Vec<FindingRow>,
        findings: Vec<FindingRow>,
        lab: Option<[f64; 3]>,
        off_curve: Option<f64>,
        light: Option<Vec<f64>>,
        place: Option<String>,
    }

    EventRow = "event" {
        kind: String,
        tank: Option<Id>,
        note: Option<String>,
        payload: serde_json::Map<String, serde_json::Value>,
        at: MomentRow,
    }

    LabelRow = "label" {
        number: i64,
        names: String,
        test: Option<Id>,
        tank: Option<Id>,
        analyte: Option<String>,
        value: Option<f64>,
        unit: Option<String>,
        words: String,
    }

    RevisionRow = "revision" {
        kind: String,
        subject: Id,
        replaces: Option<Id>,
        reading: Option<Id>,
        target: Option<String>,
        tank: Option<Id>,
        label: Option<String>,
        reason: Option<String>,
        drawn: Option<MomentRow>,
    }
}

/// A time with what is known about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::log) struct MomentRow {
    pub(in crate::log) utc: Timestamp,
    pub(in crate::log) offset_seconds: i32,
    pub(in crate::log) source: String,
    pub(in crate::log) certainty: String,
}

/// A finding; `code` may be one that a later program knows and this one does not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::log) struct FindingRow {
    pub(in crate::log) code: String,
    pub(in crate::log) severity: String,
    pub(in crate::log) sentence: String,
}

/// One entry of an export, of any kind.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "entry", rename_all = "lowercase")]
pub(in crate::log) enum EntryRow {
    Tank(TankRow),
    Test(TestRow),
    Photo(PhotoRow),
    Sample(SampleRow),
    Reading(Box<ReadingRow>),
    Event(EventRow),
    Label(LabelRow),
    Revision(RevisionRow),
}
