//! Writing readings as CSV.

use super::CSV_SCHEMA;
use crate::log::{Filter, Log, LogError, LoggedFinding, Reading};
use crate::moment::Moment;
use crate::water::Amount;
use std::io::Write;

impl Log {
    /// Writes the readings of a filter as CSV, one for each sample as [`Log::samples`] gives them; the columns are described at [`export`](super).
    pub fn export_csv(
        &self,
        filter: &Filter,
        window: &dyn Fn(&Reading) -> Option<f64>,
        out: &mut impl Write,
    ) -> Result<(), LogError> {
        let readings = self.samples(filter, window)?;
        write(&readings, out).map_err(|e| LogError::Export { cause: e.into() })
    }
}

fn write(readings: &[Reading], out: &mut impl Write) -> csv::Result<()> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(HEADER)?;
    for reading in readings {
        csv.write_record(line(reading))?;
    }
    csv.flush()?;
    Ok(())
}

const HEADER: [&str; 44] = [
    "schema",
    "id",
    "standing",
    "tank",
    "target",
    "label",
    "at",
    "at_source",
    "at_certainty",
    "recorded",
    "kit",
    "test",
    "analyte",
    "status",
    "value",
    "lower",
    "upper",
    "limit",
    "detection_limit",
    "unit",
    "entered",
    "canonical_value",
    "canonical_lower",
    "canonical_upper",
    "canonical_limit",
    "canonical_unit",
    "dilution_added",
    "refusal",
    "findings",
    "doubt",
    "lab_l",
    "lab_a",
    "lab_b",
    "off_curve",
    "place",
    "station",
    "photo",
    "kit_revision",
    "card_revision",
    "program",
    "sample",
    "origin",
    "photos",
    "instead_of",
];

fn line(r: &Reading) -> [String; 44] {
    let text = |t: &Option<String>| t.clone().unwrap_or_default();
    let [value, lower, upper, limit] = numbers(r.amount.as_ref());
    let [canonical_value, canonical_lower, canonical_upper, canonical_limit] = numbers(r.canonical.as_ref());
    let own_unit = r.amount.as_ref().map_or(&r.test.unit, Amount::unit);
    let [l, a, b] = r.lab.map_or([None; 3], |lab| lab.map(Some)).map(number);
    let at = r.sample.at();
    [
        CSV_SCHEMA.to_string(),
        r.id.to_string(),
        r.standing.as_str().to_string(),
        text(&r.sample.tank),
        r.sample.target.as_str().to_string(),
        text(&r.sample.label),
        local(at),
        at.source.as_str().to_string(),
        at.certainty.as_str().to_string(),
        r.recorded.to_string(),
        text(&r.test.kit),
        r.test.name.clone(),
        r.test.analyte.as_str().to_string(),
        r.status.as_str().to_string(),
        value,
        lower,
        upper,
        limit,
        number(r.detection_limit.as_ref().map(|q| q.value)),
        own_unit.as_str().to_string(),
        text(&r.entered),
        canonical_value,
        canonical_lower,
        canonical_upper,
        canonical_limit,
        own_unit.canonical().as_str().to_string(),
        number(r.dilution.map(|d| d.added())),
        codes(&r.refusal),
        codes(&r.findings),
        if r.is_doubtful() { "yes".to_string() } else { String::new() },
        l,
        a,
        b,
        number(r.off_curve),
        text(&r.place),
        text(&r.station),
        text(&r.photo),
        text(&r.kit_revision),
        text(&r.card_revision),
        r.program.clone(),
        r.sample.id.to_string(),
        r.origin.as_str().to_string(),
        r.photos.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
        r.instead_of
            .as_ref()
            .map(|b| b.amount.as_ref().map_or("refused".into(), Amount::to_string))
            .unwrap_or_default(),
    ]
}

/// Value, lower, upper, limit.
fn numbers(amount: Option<&Amount>) -> [String; 4] {
    match amount {
        Some(Amount::Measured { value, interval95: i }) => {
            [Some(value.value), Some(i.lower()), Some(i.upper()), None].map(number)
        }
        Some(other) => [None, None, None, Some(other.level().value)].map(number),
        None => [None; 4].map(number),
    }
}

fn number(x: Option<f64>) -> String {
    x.map(|x| x.to_string()).unwrap_or_default()
}

fn local(m: &Moment) -> String {
    m.instant.display_with_offset(m.offset).to_string()
}

fn codes(findings: &[LoggedFinding]) -> String {
    findings.iter().map(|f| f.code.as_str()).collect::<Vec<_>>().join(" ")
}
