//! Starting tests: the last drop of reagent goes in.

use super::Entered;
use crate::finding::Finding;
use crate::intake::IntakeError;
use crate::log::{Id, Log, Start, Tank};
use jiff::Timestamp;

/// Starts with their entries in the log.
pub type Started = Vec<(Id, Start)>;

/// Records that tests of a kit were started, all or none; in their order. `zone` says in which time zone, `tank` of whose water:
/// none for that of any tank.
pub fn start_tests(
    log: &mut Log,
    zone: &Tank,
    tank: Option<Id>,
    (kit, tests): (&str, &[String]),
    when: Entered,
    now: Timestamp,
) -> Result<(Started, Option<Finding>), IntakeError> {
    let (at, finding) = when.moment(zone, now)?;
    let started = log.write(now, |w| {
        let one = |test: &String| {
            let start = Start { kit: kit.to_string(), test: test.clone(), tank, at };
            Ok((w.add_event(&start.event())?, start))
        };
        tests.iter().map(one).collect()
    })?;
    Ok((started, finding))
}
