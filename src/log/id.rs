//! Names of entries: unique over all logs, so that two logs can be brought together.

use jiff::Timestamp;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use uuid::Uuid;

/// The id of an entry: a UUID version 7 (RFC 9562), shown with hyphens.
///
/// Its time part is the `now` of the write that made it; the rest is the operating system's randomness, asked by the crate
/// `uuid`. The order of entries does not rest on ids (a clock may jump) but on the journal of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Id(Uuid);

impl Id {
    pub(super) fn new(now: Timestamp) -> Self {
        // Version 7 has no place for times before 1970.
        let millis = u64::try_from(now.as_millisecond()).unwrap_or(0);
        let (secs, nanos) = (millis / 1000, (millis % 1000) as u32 * 1_000_000);
        Self(Uuid::new_v7(uuid::Timestamp::from_unix(uuid::NoContext, secs, nanos)))
    }

    /// The id of its full text form.
    pub fn parse(text: &str) -> Option<Self> {
        // Uuid also takes forms without hyphens, in braces and in capitals; one form is enough.
        Uuid::try_parse(text).ok().map(Self).filter(|id| id.to_string() == text)
    }

    /// The last eight digits: random, so they tell entries of one minute apart. Enough for a list to show.
    pub fn short(&self) -> String {
        let text = self.to_string();
        text[text.len() - 8..].to_string()
    }
}

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.hyphenated().fmt(f)
    }
}

impl ToSql for Id {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::from(self.to_string()))
    }
}

impl FromSql for Id {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let text = value.as_str()?;
        Self::parse(text).ok_or_else(|| FromSqlError::Other(format!("'{text}' is no id").into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_part_is_the_writers_now() {
        let now: Timestamp = "2026-03-01T12:00:00.123Z".parse().unwrap();
        let (a, b) = (Id::new(now), Id::new(now));
        assert_ne!(a, b);
        // 1772366400123 ms since 1970 are 0x19ca9450a7b; computed apart from this program.
        assert!(a.to_string().starts_with("019ca945-0a7b-7"), "{a}");
        assert_eq!(a.short().len(), 8);
        assert_eq!(Id::new("1900-01-01T00:00:00Z".parse().unwrap()).to_string()[..13], *"00000000-0000");
    }

    #[test]
    fn only_the_one_text_form_is_read() {
        let id = Id::new(Timestamp::UNIX_EPOCH);
        assert_eq!(Id::parse(&id.to_string()), Some(id));
        for bad in ["", "x", &id.to_string().to_uppercase(), &id.to_string().replace('-', ""), &format!("{{{id}}}")] {
            assert_eq!(Id::parse(bad), None, "{bad}");
        }
    }
}
