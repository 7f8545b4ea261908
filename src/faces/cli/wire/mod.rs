//! The documents of the command line: what `--json` writes, field by field, and the same as text.
//!
//! | verb | document |
//! | --- | --- |
//! | `read` | [`ReadDone`] |
//! | `log` | [`LogList`]; `undo`: [`LogUndone`]; `history`: [`LogHistory`]; `import`: [`LogImported`]; `merge`: [`LogMerged`]; `export` writes the log's own formats |
//! | `log add`, `log correct`, `log table` | [`LogAdded`], [`LogCorrected`], [`LogTable`] |
//! | `log place`, `name`, `forget` | [`PlaceList`], [`PlaceChanged`] |
//! | `log backup`, `log restore` | [`LogBackedUp`], [`LogRestored`] |
//! | `event add`, `event list` | [`EventAdded`], [`EventList`] |
//! | `tank add`, `change`, `list` | [`TankAdded`], [`TankChanged`], [`TankList`] |
//! | `status` | [`StatusShown`] |
//! | `chart` | [`ChartShown`] |
//! | `plan dose`, `change`, `change --every` | [`PlanDosed`], [`PlanChanged`], [`PlanRoutine`] |
//! | `plan stock`, `capacity`, `seed`, `ammonia` | [`PlanStocked`], [`PlanCapacity`], [`PlanSeeded`], [`PlanAmmonia`] |
//! | `plan due` | [`DueList`] |
//! | `plan forecast` | [`PlanForecast`] |
//! | `plan standards` | [`PlanStandards`] |
//! | `wait` | [`WaitDone`] |
//! | `serve` | [`Serving`]; `pair`: [`PairingCode`]; `phones`: [`PhoneList`]; `forget`: [`PhonesForgotten`] |
//! | `report --text`, `log --text` | [`Summary`]; `report --out`: [`ReportWritten`] |
//! | `kit new`, `add-test`, `remove`, `import` | [`KitChanged`]; `add`: [`KitAdded`]; `series`: [`KitSeries`]; `list`: [`KitList`]; `show`: [`KitShown`]; `check`: [`KitChecked`], with `--vision` [`KitVision`] |
//! | `kit lot` | [`KitChanged`]; `adopt`: [`KitAdopted`]; `control`: [`KitControlled`]; `remeasure`: [`KitRemeasured`] |
//! | `card print`, `enrol`, `check`, `list`, `show` | [`CardPrinted`], [`CardEnrolled`], [`CardsChecked`], [`CardList`], [`CardShown`] |
//! | `card labels print`, `list` | [`LabelsPrinted`], [`LabelList`]; `rename`, `retire`: [`LabelChanged`] |
//! | any, after an error that ends the run | [`Failed`] |

mod amount;
mod card;
mod chart;
mod check;
mod event;
mod forecast;
mod kit;
mod kitcheck;
mod kitcontrol;
mod kitkeep;
mod kitseries;
mod kitstart;
mod kitvision;
mod label;
mod log;
mod place;
mod plan;
mod read;
mod report;
mod serve;
mod status;
mod stored;
mod summary;
mod tank;
mod wait;

pub use amount::{AmountOut, TimeOut};
pub use card::{CardEnrolled, CardLine, CardList, CardPrinted, CardShown};
pub use chart::{ChartShown, LimitOut, MarkOut, ResultOut, TrendOut};
pub use check::{CardsChecked, PhotoChecked};
pub use event::{EventAdded, EventList, EventOut};
pub use forecast::{FinishOut, NitrateOut, PlanForecast, ReachedOut};
pub use kit::{KitAdded, KitChanged, KitLine, KitList, KitShown};
pub use kitcheck::KitChecked;
pub use kitcontrol::KitControlled;
pub use kitkeep::{KitAdopted, KitRemeasured};
pub use kitseries::KitSeries;
pub use kitstart::KitStarted;
pub use kitvision::KitVision;
pub use label::{LabelChanged, LabelList, LabelOut, LabelsPrinted};
pub use log::{LogAdded, LogCorrected, LogHistory, LogImported, LogList, LogMerged, LogUndone};
pub(in crate::faces::cli) use place::other_name;
pub use place::{PlaceChanged, PlaceList, PlaceOut};
pub use plan::{
    BatchOut, DueList, DueOut, FigureOut, FormulaOut, FreeOut, PlanAmmonia, PlanCapacity, PlanChanged, PlanDosed,
    PlanRoutine, PlanSeeded, PlanStandards, PlanStocked, RowOut, SaidOut, SpanOut, StepOut, WaterOut,
};
pub use read::{PhotoOut, ReadDone, SampleOut};
pub use report::ReportWritten;
pub use serve::{PairingCode, PhoneList, PhoneOut, PhonesForgotten, Serving};
pub use status::{StatusShown, Summary, TankStatus};
pub use stored::{CellOut, LogBackedUp, LogRestored, LogTable, WrongCell};
pub use summary::{LateOut, MovedOut, ReasonOut, SummaryOut};
pub use tank::{TankAdded, TankChanged, TankList, TankOut};
pub use wait::{WaitDone, WaitingOut};

use super::trouble::Trouble;
use crate::finding::{Finding, Severity};
use crate::log::LoggedFinding;
use serde::Serialize;
use std::io::{self, Write};

/// Something to show, as text or as JSON.
pub(super) trait Document: Serialize {
    /// As text for people.
    fn text(&self, out: &mut dyn Write) -> io::Result<()>;
}

/// What ends a run.
#[derive(Debug, Serialize)]
pub struct Failed {
    pub error: Wrong,
}

impl Document for Failed {
    /// Standard error has said it.
    fn text(&self, _: &mut dyn Write) -> io::Result<()> {
        Ok(())
    }
}

/// Something that went wrong.
#[derive(Debug, Clone, Serialize)]
pub struct Wrong {
    /// Stable text form.
    pub code: String,
    pub sentence: String,
    /// What to do about it.
    pub remedy: String,
}

impl Wrong {
    pub(super) fn of(trouble: &Trouble) -> Self {
        Self { code: trouble.code().to_string(), sentence: trouble.to_string(), remedy: trouble.remedy() }
    }
}

/// Something noticed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingOut {
    /// Stable text form.
    pub code: String,
    /// `note` or `doubt`.
    pub severity: &'static str,
    pub sentence: String,
    /// What to do about it; null for a code of a later version.
    pub remedy: Option<String>,
}

impl FindingOut {
    pub(super) fn all(findings: &[Finding]) -> Vec<Self> {
        let one = |f: &Finding| Self {
            code: f.code.as_str().to_string(),
            severity: severity(f.severity),
            sentence: f.sentence.clone(),
            remedy: Some(f.remedy().to_string()),
        };
        findings.iter().map(one).collect()
    }

    pub(super) fn logged(findings: &[LoggedFinding]) -> Vec<Self> {
        let one = |f: &LoggedFinding| Self {
            code: f.code.clone(),
            severity: severity(f.severity),
            sentence: f.sentence.clone(),
            remedy: f.remedy().map(str::to_string),
        };
        findings.iter().map(one).collect()
    }

    /// The sentence after `head`, the remedy below it. A note that needs nothing done is a sentence all the same.
    pub(super) fn text(&self, out: &mut dyn Write, indent: &str, head: &str) -> io::Result<()> {
        writeln!(out, "{indent}{head}{} [{}]", self.sentence, self.code)?;
        match &self.remedy {
            Some(remedy) => writeln!(out, "{indent}  {remedy}"),
            None => Ok(()),
        }
    }

    /// How a finding begins that stands beside a value.
    pub(super) fn word(&self) -> &'static str {
        if self.severity == "doubt" { "Doubt: " } else { "Note: " }
    }
}

fn severity(s: Severity) -> &'static str {
    match s {
        Severity::Note => "note",
        Severity::Doubt => "doubt",
    }
}
