//! Free ammonia over pH and temperature, for one total.

use super::super::book::{Book, Kind};
use super::super::danger::Level as Danger;
use super::super::rules::{FREE_AMMONIA, Rule};
use super::error::PlanError;
use super::level::{Given, Look};
use super::said::{Figure, Said, bounds, formulas};
use crate::water::{Celsius, Conditions, Known, Ph, Salinity, Span, free_ammonia, significant, total_at};
use jiff::Timestamp;

/// What is asked: total ammonia and salinity given, else as the log has them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TableRequest {
    /// Ammonia, salinity; pH and temperature for the answer about now.
    pub now: Given,
}

/// Free ammonia at one pH and temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// mg/L NH₃-N.
    pub free: Span,
    /// The level of its upper bound.
    pub level: Danger,
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct TablePlan {
    /// °C, a column each.
    pub temperatures: Vec<f64>,
    /// pH, a row each with a cell a column.
    pub rows: Vec<(f64, Vec<Cell>)>,
    /// The rest.
    pub said: Said,
}

/// Free ammonia over what tanks have of pH and temperature.
pub fn table(book: &Book, request: &TableRequest, now: Timestamp) -> Result<TablePlan, PlanError> {
    let look = Look::at(book, now);
    let total = look.tank(Kind::Ammonia, &request.now)?;
    if total.span.is_open() {
        let why = "the last result is above its scale; test a 1+4 dilution";
        return Err(PlanError::Level { kind: Kind::Ammonia, why });
    }
    let salinity = look.condition(Kind::Salinity, &request.now);
    let (ph, t) = (look.condition(Kind::Ph, &request.now), look.condition(Kind::Temperature, &request.now));
    let temperatures: Vec<f64> = (0..7).map(|i| 18.0 + 2.0 * f64::from(i)).collect();
    let rows = (0..=15)
        .map(|i| {
            let ph = 6.0 + 0.2 * f64::from(i);
            let cell = |t: &f64| -> Result<Cell, PlanError> {
                let at = Conditions {
                    ph: Known::Given(Span::exact(ph)),
                    temperature: Known::Given(Span::exact(*t)),
                    salinity: Known::Given(salinity.span),
                };
                let free = free_ammonia(&total.span, &at)?;
                Ok(Cell { free, level: Danger::of(free.high, FREE_AMMONIA) })
            };
            Ok(((ph * 10.0).round() / 10.0, temperatures.iter().map(cell).collect::<Result<_, _>>()?))
        })
        .collect::<Result<_, PlanError>>()?;
    let here = Conditions {
        ph: Known::Given(ph.span),
        temperature: Known::Given(t.span),
        salinity: Known::Given(salinity.span),
    };
    let free = free_ammonia(&total.span, &here)?;
    let mut said = Said {
        inputs: vec![
            total.figure("ammonia-present", "mg/L NH3-N"),
            ph.figure("pH-present", ""),
            t.figure("temperature-present", "°C"),
            salinity.figure("salinity-present", "g/kg"),
        ],
        results: vec![Figure::out("free-ammonia", free, "mg/L NH3-N")],
        formulas: vec![formulas::FREE],
        ..Said::default()
    };
    said.answer(
        Rule::FreeAmmonia,
        format!(
            "Of a total of {} mg/L N, {} mg/L N are free at the tank's pH and temperature; {} is a caution, {} a danger.",
            bounds(&total.span),
            bounds(&free),
            FREE_AMMONIA[0],
            FREE_AMMONIA[1]
        ),
    );
    // The least total that reaches the line anywhere in the bounds.
    if ph.span.high.is_finite() {
        let line = total_at(
            FREE_AMMONIA[0],
            Ph::new(ph.span.high)?,
            Celsius::new(t.span.high)?,
            Salinity::new(salinity.span.low)?,
        );
        said.results.push(Figure::out("total-at-caution", Span::exact(line), "mg/L NH3-N"));
        said.answer(
            Rule::FreeAmmonia,
            format!(
                "The caution begins at a total of {} mg/L N at the upper bounds of pH and temperature.",
                significant(line, 3)
            ),
        );
    }
    for (level, name) in [(&ph, "pH"), (&t, "temperature"), (&salinity, "salinity")] {
        if level.origin == super::said::Origin::Assumed {
            said.unknown(
                Rule::FreeAmmonia,
                format!("The tank's {name}: nobody measured it lately, so it goes in as a range."),
            );
        }
    }
    Ok(TablePlan { temperatures, rows, said })
}
