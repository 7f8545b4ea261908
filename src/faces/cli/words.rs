//! How things are said: aligned columns, findings with their remedies, numbers of things.

pub(super) use crate::faces::words::count;

use comfy_table::{Table, presets};
use std::io::{self, Write};

/// Columns aligned by spaces, each row indented.
pub(super) fn columns(out: &mut dyn Write, indent: &str, rows: Vec<Vec<String>>) -> io::Result<()> {
    if rows.is_empty() {
        return Ok(());
    }
    let mut table = Table::new();
    table.load_style(presets::NOTHING).add_rows(rows);
    for i in 0..table.column_count() {
        if let Some(column) = table.column_mut(i) {
            column.set_padding((0, 2));
        }
    }
    table.lines().try_for_each(|line| writeln!(out, "{indent}{}", line.trim_end()))
}

/// `4:05`.
pub(super) fn minutes_seconds(d: jiff::SignedDuration) -> String {
    // The last second counts until it is over.
    let seconds = d.as_millis().max(0).div_euclid(1000) + i128::from(d.as_millis().rem_euclid(1000) > 0);
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// A sentence without its full stop, for the middle of a line.
pub(super) fn bare(sentence: &str) -> &str {
    sentence.strip_suffix('.').unwrap_or(sentence)
}

/// The first twelve digits of a hash.
pub(super) fn short(hash: &str) -> &str {
    hash.get(..12).unwrap_or(hash)
}

/// A word as a shell takes it for one.
pub(super) fn quoted(word: &str) -> String {
    let plain = word.chars().all(|c| c.is_alphanumeric() || "-_./".contains(c));
    if plain && !word.is_empty() { word.to_string() } else { format!("'{}'", word.replace('\'', "'\\''")) }
}
