//! What each part of the reading buys: the whole set read with one part left out at a time.

use std::io::Write;

use tintline::trial::{Part, leave_out};

use super::report::{Group, groups};
use super::run::{Making, Set, run};
use super::truth::Truth;

/// Prints a table in Markdown, a row for the whole and one for each part left out: clean photos at usual places, or all clean ones where
/// the set has no usual place.
pub fn table(set: &Set, truth: &Truth, making: Making, out: &mut dyn Write) -> anyhow::Result<()> {
    writeln!(out, "| without | read of | error in steps: median / 95 % / worst | covered | interval | doubts |")?;
    writeln!(out, "| --- | --- | --- | --- | --- | --- |")?;
    leave_out(&[]);
    row("(nothing left out)", &run_groups(set, truth, making)?, out)?;
    for part in Part::ALL {
        leave_out(&[*part]);
        match run_groups(set, truth, making) {
            Ok(group) => row(part.text(), &group, out)?,
            // Without some parts no card can be enrolled, or no kit made.
            Err(why) => writeln!(out, "| {} | none: {why} | | | | |", part.text())?,
        }
    }
    leave_out(&[]);
    Ok(())
}

/// The first group with samples: usual places, else elsewhere.
fn run_groups(set: &Set, truth: &Truth, making: Making) -> anyhow::Result<Group> {
    let all = groups(&run(set, truth, making)?);
    all.into_iter().find(|g| g.samples > 0).ok_or_else(|| anyhow::anyhow!("the set has no clean photos"))
}

fn row(name: &str, g: &Group, out: &mut dyn Write) -> anyhow::Result<()> {
    let [median, high, worst] = g.error_steps.unwrap_or([f64::NAN; 3]);
    let percent = |share: Option<f64>| share.map_or("-".into(), |s| format!("{:.0} %", 100.0 * s));
    let (covered, width) = (percent(g.coverage.map(|c| c[0])), g.width_steps.unwrap_or(f64::NAN));
    writeln!(
        out,
        "| {name} | {} of {} | {median:.3} / {high:.2} / {worst:.2} | {covered} | {width:.2} | {} |",
        g.read,
        g.samples,
        percent(g.doubts),
    )?;
    Ok(out.flush()?)
}
