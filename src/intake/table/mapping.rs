//! What the columns of a table are.

use super::{DateOrder, TableError};
use jiff::civil::Time;
use serde::Deserialize;

/// A column that is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Column {
    /// Its name in the table.
    pub name: String,
    /// An analyte, the name of one of the kit's tests, or a kind of event.
    pub what: String,
    /// The unit of its bare numbers.
    pub unit: Option<String>,
    /// The test's lowest shade above none, or all its shades, as typed.
    pub shades: Option<String>,
}

/// What the columns are, and what the table leaves open.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mapping {
    /// The column with the date, and often the time of day. Without it `Date`, `Time` or `When` is looked for.
    pub time: Option<String>,
    /// The column with the time of day, if it has its own.
    pub clock_column: Option<String>,
    /// The time of day where a row has none.
    pub clock: Option<Time>,
    /// Which of two numbers is the day.
    pub order: Option<DateOrder>,
    /// What is read.
    pub columns: Vec<Column>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    time: Option<String>,
    clock_column: Option<String>,
    clock: Option<String>,
    date_order: Option<String>,
    #[serde(default)]
    column: Vec<FileColumn>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileColumn {
    name: String,
    what: String,
    unit: Option<String>,
    shades: Option<String>,
}

impl DateOrder {
    /// Of a stable text form: `day-month`, `month-day`.
    pub fn parse(text: &str) -> Option<Self> {
        match text {
            "day-month" => Some(Self::DayMonth),
            "month-day" => Some(Self::MonthDay),
            _ => None,
        }
    }
}

impl Column {
    /// `COLUMN=WHAT UNIT`, such as `NO2=nitrite mg/L NO2-`.
    pub fn typed(typed: &str) -> Result<Self, TableError> {
        let wrong = || TableError::Mapping { typed: typed.to_string() };
        // From the right: a column may be called 'a=b', an analyte may not.
        let (name, rest) = typed.rsplit_once('=').ok_or_else(wrong)?;
        let mut words = rest.split_whitespace();
        let what = words.next().ok_or_else(wrong)?.to_string();
        let unit = words.collect::<Vec<_>>().join(" ");
        if name.trim().is_empty() {
            return Err(wrong());
        }
        Ok(Self { name: name.trim().to_string(), what, unit: Some(unit).filter(|u| !u.is_empty()), shades: None })
    }
}

impl Mapping {
    /// From a TOML file: `time`, `clock_column`, `clock` (`18:00`), `date_order` (`day-month`, `month-day`), and for each column
    /// a table `[[column]]` with `name`, `what`, and if need be `unit` and `shades` (`0.25`, or `0, 0.25, 0.5, 1`).
    pub fn from_toml(text: &str) -> Result<Self, TableError> {
        let wrong = |cause: String| TableError::MappingFile { cause };
        let file: File = toml::from_str(text).map_err(|e| wrong(e.to_string()))?;
        let order = |t: &String| DateOrder::parse(t).ok_or_else(|| wrong(format!("no date_order '{t}'")));
        let clock = |t: &String| super::dates::clock(t).ok_or_else(|| wrong(format!("no clock '{t}'")));
        let column = |c: FileColumn| Column { name: c.name, what: c.what, unit: c.unit, shades: c.shades };
        Ok(Self {
            order: file.date_order.as_ref().map(order).transpose()?,
            clock: file.clock.as_ref().map(clock).transpose()?,
            time: file.time,
            clock_column: file.clock_column,
            columns: file.column.into_iter().map(column).collect(),
        })
    }

    /// `COLUMN=SHADES`: the lowest shade above none, or all shades, of a column that is mapped.
    pub fn add_shades(&mut self, typed: &str) -> Result<(), TableError> {
        let (name, shades) = typed.rsplit_once('=').ok_or_else(|| TableError::Mapping { typed: typed.to_string() })?;
        let known = self.columns.iter().map(|c| c.name.clone()).collect();
        let column = self.columns.iter_mut().find(|c| c.name == name.trim());
        let column = column.ok_or_else(|| TableError::NoColumn { name: name.trim().to_string(), known })?;
        column.shades = Some(shades.trim().to_string());
        Ok(())
    }

    /// The time of day of a text.
    pub fn set_clock(&mut self, typed: &str) -> Result<(), TableError> {
        let wrong = || TableError::NoClock { typed: typed.to_string() };
        self.clock = Some(super::dates::clock(typed).ok_or_else(wrong)?);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mappings_are_read() {
        let column = Column::typed("NO2 (test)=nitrite mg/L NO2-").unwrap();
        assert_eq!((column.name.as_str(), column.what.as_str()), ("NO2 (test)", "nitrite"));
        assert_eq!(column.unit.as_deref(), Some("mg/L NO2-"));
        assert_eq!(Column::typed("pH=pH").unwrap().unit, None);
        for bad in ["", "pH", "=pH", "pH="] {
            assert_eq!(Column::typed(bad).unwrap_err().code(), "table-mapping", "{bad}");
        }
        let text = "time = \"Day\"\nclock = \"18:00\"\ndate_order = \"day-month\"\n[[column]]\nname = \"NO2\"\n\
            what = \"nitrite\"\nunit = \"mg/L NO2-\"\nshades = \"0.25\"\n";
        let mapping = Mapping::from_toml(text).unwrap();
        assert_eq!((mapping.order, mapping.columns.len()), (Some(DateOrder::DayMonth), 1));
        for bad in ["x = 1", "clock = \"25:00\"", "date_order = \"d/m\"", "[[column]]\nname = \"a\""] {
            assert_eq!(Mapping::from_toml(bad).unwrap_err().code(), "table-mapping-file", "{bad}");
        }
    }
}
