//! Nitrate while nitrite is high.

use super::book::{Kind, hours};
use super::doubt::number;
use super::evidence::Evidence;
use super::rules::{NITRITE_SPOILS_NITRATE, Rule, SAME_DAY_HOURS};
use super::statement::Statement;
use crate::water::nitrite_read_as_nitrate;

/// That the last nitrate result is unreliable, with the largest share nitrite can explain.
pub(super) fn spoilt_nitrate(evidence: &Evidence<'_>) -> Option<Statement> {
    let nitrate = evidence.of_kind(Kind::Nitrate).next_back()?;
    let nitrite = evidence.of_kind(Kind::Nitrite).rfind(|r| hours(r.at, nitrate.at).abs() <= SAME_DAY_HOURS)?;
    if nitrite.span.middle() < NITRITE_SPOILS_NITRATE {
        return None;
    }
    let words = if nitrite.span.is_open() {
        "The nitrate result is unreliable: the test reads nitrite too, and nitrite is above its scale. All of it may be nitrite."
            .to_string()
    } else {
        format!(
            "The nitrate result is unreliable: up to {} mg/L of it can be nitrite, more with some reagents.",
            number(nitrite_read_as_nitrate(nitrite.span.high))
        )
    };
    Some(Statement::new(Rule::NitrateReadsNitrite, words).on(nitrate).on(nitrite))
}
