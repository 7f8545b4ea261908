//! Free ammonia over pH and temperature.

use super::{SaidOut, SpanOut, at};
use crate::advice::plan::TablePlan;
use crate::faces::cli::wire::Document;
use crate::faces::cli::words::columns;
use crate::log::Tank;
use crate::water::significant;
use jiff::Timestamp;
use serde::Serialize;
use std::io::{self, Write};

/// `plan ammonia`.
#[derive(Debug, Serialize)]
pub struct PlanAmmonia {
    pub tank: String,
    /// °C, a column each.
    pub temperatures: Vec<f64>,
    /// A row for each pH.
    pub rows: Vec<RowOut>,
    #[serde(flatten)]
    pub said: SaidOut,
}

/// Free ammonia at one pH.
#[derive(Debug, Serialize)]
pub struct RowOut {
    pub ph: f64,
    /// A cell for each temperature.
    pub cells: Vec<CellOut>,
}

/// Free ammonia, mg/L NH3-N.
#[derive(Debug, Serialize)]
pub struct CellOut {
    pub free_ammonia: SpanOut,
    /// Level of the upper bound: `none`, `caution`, `danger`, `urgent`.
    pub level: &'static str,
    #[serde(skip)]
    text: String,
}

impl PlanAmmonia {
    pub(in crate::faces::cli) fn of(tank: &Tank, plan: &TablePlan, now: Timestamp) -> Self {
        let cell = |c: &crate::advice::plan::Cell| CellOut {
            free_ammonia: (&c.free).into(),
            level: c.level.as_str(),
            text: format!("{} {}", significant(c.free.high, 2), c.level.symbol()).trim_end_matches(" -").to_string(),
        };
        let row = |(ph, cells): &(f64, Vec<crate::advice::plan::Cell>)| RowOut {
            ph: *ph,
            cells: cells.iter().map(cell).collect(),
        };
        Self {
            tank: tank.name.clone(),
            temperatures: plan.temperatures.clone(),
            rows: plan.rows.iter().map(row).collect(),
            said: at(tank, now, |clock| SaidOut::of(&plan.said, clock)),
        }
    }

    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "Free ammonia, mg/L NH3-N, by the upper bound (! caution, !! danger, !!! urgent):")?;
        let mut rows = vec![vec!["pH".to_string()]];
        rows[0].extend(self.temperatures.iter().map(|t| format!("{t} °C")));
        for r in &self.rows {
            let mut row = vec![format!("{:.1}", r.ph)];
            row.extend(r.cells.iter().map(|c| c.text.clone()));
            rows.push(row);
        }
        columns(out, "  ", rows)
    }
}

impl Document for PlanAmmonia {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|out| self.table(out))
    }
}
