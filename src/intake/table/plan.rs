//! From a table to what would be written, and writing it.

use super::dates::{self, Seen};
use super::{Column, Mapping, TableError};
use crate::curve::Test;
use crate::intake::hand::{self, placed, sample};
use crate::intake::{At, Beside, ByHand, Chart, HandError, IntakeError};
use crate::log::{Event, Filter, Happening, Id, Log, NewEvent, Reading, Show, Tank, Target, Whose};
use crate::moment::Moment;
use crate::water::{Analyte, EntryError, Shades, TypedError};
use jiff::Timestamp;

/// What one cell says.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A reading.
    Reading(Box<ByHand>),
    /// An event.
    Event(Box<NewEvent>),
}

/// One cell that would be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// Its column.
    pub column: String,
    /// What it says.
    pub item: Item,
    /// Whether the log, or an earlier line of the table, has it already.
    pub there: bool,
}

/// A row of the table that is understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its line, the header being line 1.
    pub line: u64,
    /// When.
    pub at: Moment,
    /// What it says.
    pub items: Vec<Planned>,
}

/// A cell that cannot be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Wrong {
    /// Its line.
    pub line: u64,
    /// Its column.
    pub column: String,
    /// What is wrong.
    pub why: HandError,
}

/// What a table would write.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Rows with something in them.
    pub rows: Vec<Row>,
    /// Cells that cannot be written.
    pub wrong: Vec<Wrong>,
}

/// A mapped column: its place and what its cells are.
struct Mapped<'m> {
    place: usize,
    column: &'m Column,
    event: Option<&'static str>,
    chart: Chart,
}

impl Mapped<'_> {
    /// A question about the whole column.
    fn asked(&self, why: HandError) -> TableError {
        let column = self.column.name.clone();
        match &why {
            HandError::Value { source, .. } if source.code() == "amount-bare-zero" => TableError::Zeros { column },
            _ => TableError::Column { column, source: Box::new(why) },
        }
    }
}

/// Whether what is wrong with a cell is wrong with its column: no unit, no limit.
fn of_column(why: &HandError) -> bool {
    match why {
        HandError::Value { source, .. } => match &**source {
            EntryError::Typed(e) => matches!(e, TypedError::BareZero { .. }),
            EntryError::NoUnit { .. } | EntryError::Unit(_) => true,
            _ => false,
        },
        _ => false,
    }
}

impl Plan {
    /// Reads a table, writing nothing.
    pub fn of(
        text: &str,
        mapping: &Mapping,
        tests: &[Test],
        log: &Log,
        tank: &Tank,
        now: Timestamp,
    ) -> Result<Self, IntakeError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let malformed = |e: csv::Error| TableError::Malformed { cause: e.to_string() };
        let first = text.lines().next().unwrap_or_default();
        let apart = [b',', b';', b'\t'].into_iter().max_by_key(|d| first.bytes().filter(|b| b == d).count());
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(apart.unwrap_or(b','))
            .trim(csv::Trim::All)
            .flexible(true)
            .from_reader(text.as_bytes());
        let header: Vec<String> = reader.headers().map_err(malformed)?.iter().map(str::to_string).collect();
        let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().map_err(malformed)?;
        if rows.is_empty() {
            return Err(TableError::Empty.into());
        }
        let place = |name: &str| place(&header, name);
        let time = match &mapping.time {
            Some(name) => place(name)?,
            None => {
                let usual = ["date", "time", "when", "day", "datum"];
                let found = header.iter().position(|h| usual.contains(&h.to_lowercase().as_str()));
                found.ok_or_else(|| TableError::NoColumn { name: "Date".into(), known: header.clone() })?
            }
        };
        let clock = mapping.clock_column.as_deref().map(place).transpose()?;
        if mapping.columns.is_empty() {
            return Err(TableError::NoMapping { known: header }.into());
        }
        let columns = mapping.columns.iter().map(|c| mapped(c, place(&c.name)?, tests));
        let columns = columns.collect::<Result<Vec<_>, TableError>>()?;
        let cell = |row: &csv::StringRecord, i: usize| row.get(i).unwrap_or_default().to_string();
        let dates: Vec<&str> = rows.iter().filter_map(|r| r.get(time)).collect();
        let order = dates::order(&dates, mapping.order)?;
        let mut plan = Self { rows: Vec::new(), wrong: Vec::new() };
        for row in &rows {
            let line = row.position().map_or(0, csv::Position::line);
            if row.iter().all(str::is_empty) {
                continue;
            }
            let typed = cell(row, time);
            let at = match moment(&typed, clock.map(|i| cell(row, i)), order, mapping, tank, now)? {
                Ok(at) => at,
                Err(why) => {
                    plan.wrong.push(Wrong { line, column: header[time].clone(), why });
                    continue;
                }
            };
            let mut items = Vec::new();
            for c in &columns {
                let typed = cell(row, c.place);
                if typed.is_empty() || typed == "-" {
                    continue;
                }
                match item(c, &typed, tests, tank, at) {
                    Ok(item) => items.push(Planned { column: c.column.name.clone(), item, there: false }),
                    Err(why) if of_column(&why) => return Err(c.asked(why).into()),
                    Err(why) => plan.wrong.push(Wrong { line, column: c.column.name.clone(), why }),
                }
            }
            if !items.is_empty() {
                plan.rows.push(Row { line, at, items });
            }
        }
        plan.mark(log, tank)?;
        Ok(plan)
    }

    /// How many cells would be written.
    pub fn new_items(&self) -> usize {
        self.rows.iter().flat_map(|r| &r.items).filter(|i| !i.there).count()
    }

    /// How many cells are there already.
    pub fn there(&self) -> usize {
        self.rows.iter().flat_map(|r| &r.items).filter(|i| i.there).count()
    }

    /// Writes all that is new, in one transaction. Wrong rows are an error unless they are to be left out.
    pub fn write(&self, log: &mut Log, tank: &Tank, skip_wrong: bool, now: Timestamp) -> Result<Vec<Id>, IntakeError> {
        if !self.wrong.is_empty() && !skip_wrong {
            return Err(TableError::WrongRows { rows: self.wrong.len() }.into());
        }
        Ok(log.write(now, |w| {
            let mut ids = Vec::new();
            for row in &self.rows {
                for planned in row.items.iter().filter(|i| !i.there) {
                    ids.push(match &planned.item {
                        Item::Reading(r) => {
                            let sample = sample(tank, Target::Tank(tank.id), row.at, None, now);
                            w.add_reading(Whose::New(&sample), &r.reading())?.id
                        }
                        Item::Event(event) => w.add_event(event)?,
                    });
                }
            }
            Ok(ids)
        })?)
    }

    /// Marks what the log has, corrected ones too, and what stands twice in the table.
    fn mark(&mut self, log: &Log, tank: &Tank) -> Result<(), IntakeError> {
        let filter = Filter { tank: Some(tank.id), show: Show::History, ..Filter::default() };
        let mut readings = log.readings(&filter)?;
        readings.retain(|r| r.standing != crate::log::Standing::Undone);
        let events = log.events(Some(tank.id))?;
        let mut seen: Vec<(Timestamp, Item)> = Vec::new();
        for row in &mut self.rows {
            for planned in &mut row.items {
                let twice = seen.iter().any(|(at, item)| *at == row.at.instant && *item == planned.item);
                planned.there = twice
                    || match &planned.item {
                        Item::Reading(r) => readings.iter().any(|l| same_reading(l, r, &row.at)),
                        Item::Event(e) => events.iter().any(|l| same_event(l, e)),
                    };
                seen.push((row.at.instant, planned.item.clone()));
            }
        }
        Ok(())
    }
}

fn same_reading(logged: &Reading, new: &ByHand, at: &Moment) -> bool {
    let same = new.same(logged) || logged.entered.as_deref() == Some(new.typed.as_str());
    logged.test.analyte == new.key.analyte && logged.sample.at().instant == at.instant && same
}

fn same_event(logged: &Event, new: &NewEvent) -> bool {
    logged.at.instant == new.at.instant
        && logged.kind == new.kind
        && logged.payload == new.payload
        && logged.note == new.note
}

fn place(header: &[String], name: &str) -> Result<usize, TableError> {
    let wanted = name.trim().to_lowercase();
    let mut found = header.iter().enumerate().filter(|(_, h)| h.to_lowercase() == wanted);
    match (found.next(), found.next()) {
        (Some((i, _)), None) => Ok(i),
        (Some(_), Some(_)) => Err(TableError::ColumnTwice { name: name.to_string() }),
        (None, _) => Err(TableError::NoColumn { name: name.to_string(), known: header.to_vec() }),
    }
}

/// What a column is: a test or analyte first, else a kind of event.
fn mapped<'m>(column: &'m Column, place: usize, tests: &[Test]) -> Result<Mapped<'m>, TableError> {
    let wrong = |source| TableError::Column { column: column.name.clone(), source: Box::new(source) };
    let what = column.what.to_lowercase();
    let test = tests.iter().any(|t| t.name.to_lowercase() == what);
    // Any word can be a keeper's own analyte, so a kind of event is looked for before those.
    let own = !test && matches!(Analyte::parse(&what), Ok(Analyte::Other(_)) | Err(_));
    let event = if own { hand::kind(&what).ok() } else { None };
    let shades = column.shades.as_deref().map(Shades::parse).transpose();
    let shades =
        shades.map_err(|source| wrong(HandError::Value { what: column.what.clone(), source: Box::new(source) }))?;
    Ok(Mapped { place, column, event, chart: Chart { shades, ..Chart::default() } })
}

/// When a row was. The outer error is one of the whole table, the inner of this row.
fn moment(
    typed: &str,
    clock: Option<String>,
    order: Option<super::DateOrder>,
    mapping: &Mapping,
    tank: &Tank,
    now: Timestamp,
) -> Result<Result<Moment, HandError>, TableError> {
    let no = || Ok(Err(HandError::Number { typed: typed.to_string(), why: "not a date" }));
    let Some(seen) = dates::seen(typed) else { return no() };
    let Some(date) = Seen::date(seen, order) else { return no() };
    let own = match clock.as_deref().map(str::trim).filter(|c| !c.is_empty()) {
        Some(text) => match dates::clock(text) {
            Some(time) => Some(time),
            None => return Ok(Err(HandError::Number { typed: text.to_string(), why: "not a time of day" })),
        },
        None => None,
    };
    let time = seen.time().or(own).or(mapping.clock);
    let time = time.ok_or_else(|| TableError::NoClock { typed: typed.to_string() })?;
    let local = dates::at(date, time);
    let at = match seen.offset().map(|o| (o.to_timestamp(local), o)) {
        Some((Ok(instant), offset)) => At::Exact(instant, offset),
        Some((Err(_), _)) => return no(),
        None => At::Local(local),
    };
    Ok(placed(at, &tank.zone, now).map(|(moment, _)| moment))
}

fn item(c: &Mapped<'_>, typed: &str, tests: &[Test], tank: &Tank, at: Moment) -> Result<Item, HandError> {
    // A bare number takes the column's unit.
    let bare =
        typed.trim_start_matches(['<', '>', '≤', '≥', ' ']).chars().all(|c| c.is_ascii_digit() || ".,+".contains(c));
    let with_unit = match &c.column.unit {
        Some(unit) if bare || c.event.is_none() && !typed.contains(unit.as_str()) => format!("{typed} {unit}"),
        _ => typed.to_string(),
    };
    let Some(kind) = c.event else {
        return Ok(Item::Reading(Box::new(ByHand::of(&c.column.what, &with_unit, None, tests, &c.chart)?)));
    };
    let (what, note) = hand::happening(kind, &with_unit, Beside::default())?;
    if let (Happening::WaterChange { litres: Some(litres), .. }, Some(volume)) = (&what, tank.volume_l)
        && *litres > volume
    {
        return Err(HandError::MoreThanTank { litres: *litres, volume });
    }
    Ok(Item::Event(Box::new(what.event(Some(tank.id), at, note)?)))
}
