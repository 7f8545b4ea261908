//! All that photos said, as a table.

use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::{PhotoOut, SampleOut};
use crate::store;
use std::path::Path;

/// A line a sample, and one for every photo without samples. Empty means not known; no number is ever 0 in the place of 'not
/// detected': then `value` is empty and `limit` says below what.
const HEADER: [&str; 25] = [
    "schema",
    "file",
    "photo",
    "outcome",
    "named_by",
    "rule",
    "taken",
    "taken_certainty",
    "station",
    "target",
    "tank",
    "label",
    "kit",
    "test",
    "status",
    "value",
    "lower",
    "upper",
    "limit",
    "detection_limit",
    "unit",
    "doubt",
    "findings",
    "entry",
    "said",
];

/// Writes the table, whole or not at all.
pub(super) fn write(path: &Path, photos: &[PhotoOut]) -> Result<(), Trouble> {
    let mut csv = csv::Writer::from_writer(Vec::new());
    let failed = |source: std::io::Error| Trouble::File { doing: "write", path: path.into(), source };
    let mut put = |fields: Vec<String>| csv.write_record(fields).map_err(|e| failed(e.into()));
    put(HEADER.map(str::to_string).to_vec())?;
    for photo in photos {
        if photo.samples.is_empty() {
            put(line(photo, None))?;
        }
        for sample in &photo.samples {
            put(line(photo, Some(sample)))?;
        }
    }
    let bytes = csv.into_inner().map_err(|e| failed(e.into_error()))?;
    Ok(store::write_atomic(path, &bytes)?)
}

fn line(p: &PhotoOut, s: Option<&SampleOut>) -> Vec<String> {
    let text = |t: Option<&String>| t.cloned().unwrap_or_default();
    let number = |pick: fn(&SampleOut) -> Option<f64>| s.and_then(pick).map(|x| x.to_string()).unwrap_or_default();
    let of = |pick: fn(&SampleOut) -> &str| s.map(pick).unwrap_or_default().to_string();
    let outcome = match (&p.error, s) {
        (Some(_), _) => "set-aside",
        (None, None) => "known",
        (None, Some(s)) => s.log.did,
    };
    let codes = match (&p.error, s) {
        (Some(e), _) => e.code.clone(),
        (None, Some(s)) => s.refusal.iter().chain(&s.findings).map(|f| f.code.as_str()).collect::<Vec<_>>().join(" "),
        _ => String::new(),
    };
    let doubt = s.is_some_and(|s| s.findings.iter().any(|f| f.severity == "doubt"));
    let said = match (&p.error, s) {
        (Some(e), _) => e.sentence.clone(),
        (None, Some(s)) => s.amount.text.clone(),
        _ => "in the log already".to_string(),
    };
    vec![
        "1".to_string(),
        p.file.clone(),
        text(p.photo.as_ref()),
        outcome.to_string(),
        p.named_by.unwrap_or_default().to_string(),
        text(p.rule.as_ref()),
        p.taken.as_ref().map(|t| t.at.clone()).unwrap_or_default(),
        p.taken.as_ref().map(|t| t.certainty.to_string()).unwrap_or_default(),
        of(|s| &s.station),
        of(|s| s.target),
        text(s.map_or(p.tank.as_ref(), |s| s.tank.as_ref())),
        text(s.and_then(|s| s.label.as_ref())),
        p.kit.as_ref().map(|k| k.name.clone()).unwrap_or_default(),
        of(|s| &s.test),
        of(|s| s.amount.status),
        number(|s| s.amount.value),
        number(|s| s.amount.lower),
        number(|s| s.amount.upper),
        number(|s| s.amount.limit),
        number(|s| s.amount.detection_limit),
        of(|s| &s.amount.unit),
        if doubt { "yes".to_string() } else { String::new() },
        codes,
        of(|s| &s.log.entry),
        said,
    ]
}
