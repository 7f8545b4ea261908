//! Dates and times as spreadsheets write them.

use super::TableError;
use jiff::civil::{Date, DateTime, Time};
use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;

/// Which of two numbers is the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 31/12/2026.
    DayMonth,
    /// 12/31/2026.
    MonthDay,
}

/// A date as it stands in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Seen {
    /// Nothing left to ask, with its offset if it has one.
    Sure(Date, Option<Time>, Option<Offset>),
    /// Two numbers of day and month, year, time.
    Either(i8, i8, i16, Option<Time>),
}

/// `2026-04-13`, `13.4.2026`, `13/4/2026`, `4-13-26`, each with a time of day or without.
pub(super) fn seen(cell: &str) -> Option<Seen> {
    let cell = cell.trim();
    if let Ok(pieces) = Pieces::parse(cell)
        && pieces.time_zone_annotation().is_none()
    {
        return Some(Seen::Sure(pieces.date(), pieces.time(), pieces.to_numeric_offset()));
    }
    let (date, time) = match cell.split_once([' ', 'T']) {
        Some((date, time)) => (date.trim_end_matches(','), Some(clock(time)?)),
        None => (cell, None),
    };
    let sign = date.chars().find(|c| !c.is_ascii_digit()).filter(|c| "./-".contains(*c))?;
    let parts: Vec<&str> = date.trim_end_matches('.').split(sign).collect();
    let [a, b, year] = parts[..] else { return None };
    if year.len() != 4 && year.len() != 2 {
        return None;
    }
    let (a, b): (i8, i8) = (a.parse().ok()?, b.parse().ok()?);
    let year: i16 = year.parse().ok().map(|y: i16| if year.len() == 2 { 2000 + y } else { y })?;
    if a < 1 || b < 1 || a > 31 || b > 31 || (a > 12 && b > 12) {
        return None;
    }
    match sign {
        // With full stops the day comes first, common practice.
        '.' => Date::new(year, b, a).ok().map(|d| Seen::Sure(d, time, None)),
        _ if a == b => Date::new(year, a, b).ok().map(|d| Seen::Sure(d, time, None)),
        _ => Some(Seen::Either(a, b, year, time)),
    }
}

/// `18:30`, `18:30:15`, `6:30 PM`.
pub(super) fn clock(cell: &str) -> Option<Time> {
    let lower = cell.trim().to_lowercase();
    let half = [(" am", 0), ("am", 0), (" pm", 12), ("pm", 12)];
    let (text, add) = match half.iter().find_map(|(end, add)| Some((lower.strip_suffix(end)?, Some(*add)))) {
        Some(found) => found,
        None => (lower.as_str(), None),
    };
    let mut parts = text.split(':');
    let mut next = |most: i8| parts.next().map(|p| p.trim().parse::<i8>().ok().filter(|x| (0..=most).contains(x)));
    let (hour, minute, second) = (next(23)??, next(59)??, next(59).unwrap_or(Some(0))?);
    if parts.next().is_some() {
        return None;
    }
    let hour = match add {
        None => hour,
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(add) => hour % 12 + add,
    };
    Time::new(hour, minute, second, 0).ok()
}

/// The order in which all dates of a table stand: the one said, else the one that a date of it proves, else asked.
pub(super) fn order(cells: &[&str], said: Option<DateOrder>) -> Result<Option<DateOrder>, TableError> {
    let either = |c: &&&str| matches!(seen(c), Some(Seen::Either(..)));
    let mut all = cells.iter().filter(either).peekable();
    if said.is_some() || all.peek().is_none() {
        return Ok(said);
    }
    let all: Vec<&&str> = all.collect();
    let proof = |day_first: bool| {
        all.iter().find(|c| matches!(seen(c), Some(Seen::Either(a, b, ..)) if if day_first { a > 12 } else { b > 12 }))
    };
    match (proof(true), proof(false)) {
        (Some(one), Some(other)) => Err(TableError::DateMixed { one: one.to_string(), other: other.to_string() }),
        (Some(_), None) => Ok(Some(DateOrder::DayMonth)),
        (None, Some(_)) => Ok(Some(DateOrder::MonthDay)),
        (None, None) => Err(TableError::DateOrder { typed: all[0].to_string() }),
    }
}

impl Seen {
    /// The date, in an order where it has two.
    pub(super) fn date(self, order: Option<DateOrder>) -> Option<Date> {
        match (self, order) {
            (Self::Sure(date, ..), _) => Some(date),
            (Self::Either(a, b, year, _), Some(DateOrder::DayMonth)) => Date::new(year, b, a).ok(),
            (Self::Either(a, b, year, _), Some(DateOrder::MonthDay)) => Date::new(year, a, b).ok(),
            _ => None,
        }
    }

    /// The time of day, if it has one.
    pub(super) fn time(self) -> Option<Time> {
        match self {
            Self::Sure(_, time, _) | Self::Either(.., time) => time,
        }
    }

    /// The offset from UTC, if it has one.
    pub(super) fn offset(self) -> Option<Offset> {
        match self {
            Self::Sure(_, _, offset) => offset,
            Self::Either(..) => None,
        }
    }
}

/// Date and time of day.
pub(super) fn at(date: Date, time: Time) -> DateTime {
    date.to_datetime(time)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(cell: &str, order: Option<DateOrder>) -> Option<String> {
        let seen = seen(cell)?;
        Some(format!("{} {}", seen.date(order)?, seen.time().map_or("-".into(), |t| t.to_string())))
    }

    #[test]
    fn dates_as_spreadsheets_write_them() {
        let (d, m) = (Some(DateOrder::DayMonth), Some(DateOrder::MonthDay));
        for (cell, order, want) in [
            ("2026-04-13", None, "2026-04-13 -"),
            ("2026-04-13 18:30", None, "2026-04-13 18:30:00"),
            ("2026-04-13T18:30:05Z", None, "2026-04-13 18:30:05"),
            ("3.4.2026", None, "2026-04-03 -"),
            ("03.04.26 7:05", None, "2026-04-03 07:05:00"),
            ("3/4/2026", d, "2026-04-03 -"),
            ("3/4/2026 6:30 PM", m, "2026-03-04 18:30:00"),
            ("4-13-26 12:05 am", m, "2026-04-13 00:05:00"),
            ("4/4/2026", None, "2026-04-04 -"),
        ] {
            assert_eq!(day(cell, order).as_deref(), Some(want), "{cell}");
        }
        for (cell, order) in [("3/4/2026", None), ("13/4/2026", m), ("31/2/2026", d)] {
            assert_eq!(day(cell, order), None, "{cell}");
        }
        for bad in ["", "soon", "13/13/2026", "0/4/2026", "3/4/126", "3.4.2026 25:00", "3/4/2026 13:00 pm", "3/4"] {
            assert_eq!(seen(bad), None, "{bad}");
        }
    }

    #[test]
    fn day_and_month_are_settled_or_asked() {
        let code = |cells: &[&str]| order(cells, None).map_err(|e| e.code());
        assert_eq!(code(&["3/4/2026", "13/4/2026"]), Ok(Some(DateOrder::DayMonth)));
        assert_eq!(code(&["3/4/2026", "4/13/2026"]), Ok(Some(DateOrder::MonthDay)));
        assert_eq!(code(&["3/4/2026", "4/4/2026"]), Err("table-date-order"));
        assert_eq!(code(&["13/4/2026", "4/13/2026"]), Err("table-date-mixed"));
        assert_eq!(code(&["2026-04-03", "3.4.2026", "4/4/2026"]), Ok(None));
        assert_eq!(order(&["3/4/2026"], Some(DateOrder::MonthDay)), Ok(Some(DateOrder::MonthDay)));
    }
}
