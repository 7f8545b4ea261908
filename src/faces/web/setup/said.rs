//! Findings, steps and standards in words, for the pages of this part.

pub(super) use crate::faces::words::{Found, count};

use crate::curve::{Kit, Test};
use crate::intake::{Kept, Step};
use crate::store::content_hash;

/// How a kit stands in an address.
pub(super) fn key(name: &str) -> String {
    content_hash(name.as_bytes()).short().to_string()
}

/// A step with the page where it is done.
#[derive(Debug, Clone)]
pub(super) struct Todo {
    pub(super) words: String,
    pub(super) href: String,
    pub(super) press: String,
}

impl Todo {
    pub(super) fn of(kit: &Kept<Kit>, step: &Step) -> Self {
        let kit = key(&kit.name);
        let add = |test: &str, value: &str| address(&kit, "add", &[("test-B", test), ("value-B", value)]);
        let (href, press) = match step {
            Step::Enrol => ("/card/enrol".to_string(), "Enrol the card".to_string()),
            Step::Shades { test } => {
                (address(&kit, "shades", &[("test", test)]), format!("Photograph shades of {test}"))
            }
            Step::Zero { test } => (add(test, "0"), format!("Add the zero standard of {test}")),
            Step::Upper { test, value, .. } => (add(test, &value.to_string()), format!("Add a standard of {test}")),
        };
        Self { words: step.words(), href, press }
    }
}

/// `/kit/KEY/PAGE?name=value`.
pub(super) fn address(kit: &str, page: &str, query: &[(&str, &str)]) -> String {
    let query: String = form_urlencoded::Serializer::new(String::new()).extend_pairs(query).finish();
    format!("/kit/{kit}/{page}?{query}")
}

/// `mg/L NO2-: 0, 0.5, 1`.
pub(super) fn values(test: &Test) -> String {
    let values: Vec<String> = test.values().iter().map(f64::to_string).collect();
    match values.is_empty() {
        true => "no swatch yet".to_string(),
        false => format!("{} {}", values.join(", "), test.unit),
    }
}
