//! Kits: all of them, and one with its swatches.

use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::super::upload::blocking;
use super::said::{Todo, address, key, values};
use crate::colour::{Lab, colour_words};
use crate::curve::{Kind, Kit, Source, Swatch, Test};
use crate::intake::{self, IntakeError, Kept};
use crate::water::{COVERAGE, significant};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{Redirect, Response};
use std::sync::Arc;

/// The kit of an address.
pub(super) fn found(site: &Site, asked: &str) -> Result<Kept<Kit>, Fail> {
    let known = site.home.kit_names()?;
    match known.iter().find(|name| key(name) == asked) {
        Some(name) => Ok(site.home.kit(Some(name))?),
        None => {
            let remedy = "Choose one from the list of kits.";
            Err(Fail::new(StatusCode::NOT_FOUND, "name-unknown", "There is no such kit.", remedy))
        }
    }
}

#[derive(Template)]
#[template(path = "setup/kits.html", config = "src/faces/web/askama.toml")]
struct Kits {
    frame: Frame,
    kits: Vec<(String, String, String)>,
}

pub(super) async fn kits(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    blocking(move || {
        let one = |name: String| {
            let kit = site.home.kit(Some(&name))?;
            let tests: Vec<&str> = kit.value.tests.iter().map(|t| t.name.as_str()).collect();
            let tests = if tests.is_empty() { "no tests yet".to_string() } else { tests.join(", ") };
            Ok((key(&name), name, tests))
        };
        let kits = site.home.kit_names()?.into_iter().map(one).collect::<Result<_, IntakeError>>()?;
        Ok(shown(&Kits { frame: Frame::plain("Kits"), kits }))
    })
    .await
}

#[derive(Template)]
#[template(path = "setup/kit.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    kit: String,
    revision: String,
    card: String,
    note: Option<String>,
    tests: Vec<TestPart>,
    steps: Vec<Todo>,
}

struct TestPart {
    name: String,
    values: String,
    facts: String,
    swatches: Vec<SwatchLine>,
    add: String,
    shades: String,
    standards: String,
}

struct SwatchLine {
    number: usize,
    value: String,
    printed: bool,
    colour: String,
    lab: String,
    station: String,
    taken: Option<String>,
}

impl SwatchLine {
    fn of(number: usize, s: &Swatch) -> Self {
        let value = match s.value_sd {
            Some(sd) => format!("{} ± {}", s.value, significant(COVERAGE * sd, 2)),
            None => s.value.to_string(),
        };
        Self {
            number,
            value,
            printed: s.source == Source::Print,
            colour: colour_words(Lab(s.lab)),
            lab: lab(s.lab),
            station: s.station.clone(),
            taken: s.taken.as_ref().and_then(|t| Some(t.get(..10)?.to_string())),
        }
    }
}

/// `L* 78.2, a* 12.0, b* 3.4`.
pub(super) fn lab([l, a, b]: [f64; 3]) -> String {
    format!("L* {l:.1}, a* {a:.1}, b* {b:.1}")
}

impl TestPart {
    fn of(kit: &str, kind: Kind, t: &Test) -> Self {
        let facts = [
            t.pad.map(|pad| format!("pad {pad}")),
            t.wait_minutes.map(|m| format!("wait {m} min")),
            t.lot.as_ref().map(|lot| format!("lot {lot}")),
            t.opened.map(|d| format!("opened {d}")),
            t.expiry.map(|d| format!("good until {d}")),
        ];
        let at = if kind == Kind::Vial { "test-B" } else { "test" };
        Self {
            name: t.name.clone(),
            values: values(t),
            facts: facts.into_iter().flatten().collect::<Vec<_>>().join(", "),
            swatches: t.swatches.iter().enumerate().map(|(i, s)| SwatchLine::of(i + 1, s)).collect(),
            add: address(kit, "add", &[(at, &t.name)]),
            shades: address(kit, "shades", &[("test", &t.name)]),
            standards: address(kit, "standards", &[("test", &t.name)]),
        }
    }
}

pub(super) async fn kit(State(site): State<Arc<Site>>, Path(asked): Path<String>) -> Result<Response, Fail> {
    blocking(move || {
        let kit = found(&site, &asked)?;
        let enrolled = !site.home.card_names()?.is_empty();
        let steps = intake::next_steps(&kit.value, enrolled);
        let card = match &kit.value.card {
            Some(revision) => format!("card revision {}", revision.chars().take(12).collect::<String>()),
            None => "no enrolled card".to_string(),
        };
        Ok(shown(&Page {
            frame: Frame::plain(format!("Kit {}", kit.name)),
            revision: kit.revision.short().to_string(),
            card,
            note: kit.value.note.clone(),
            tests: kit.value.tests.iter().map(|t| TestPart::of(&asked, kit.value.kind, t)).collect(),
            steps: steps.iter().map(|s| Todo::of(&kit, s)).collect(),
            kit: asked,
        }))
    })
    .await
}

/// Takes a swatch out again.
pub(super) async fn remove(
    State(site): State<Arc<Site>>,
    Path(asked): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    blocking(move || {
        let kit = found(&site, &asked)?;
        if kit.revision.short() != typed.one("revision") {
            return Err(changed());
        }
        let mut next = kit.value.clone();
        next.remove_swatch(typed.one("test"), typed.one("number").parse().unwrap_or(0)).map_err(IntakeError::from)?;
        site.home.changed_kit(&kit, next)?;
        Ok(Redirect::to(&format!("/kit/{asked}")))
    })
    .await
}

/// The kit is not any more what the page showed.
pub(super) fn changed() -> Fail {
    Fail::new(
        StatusCode::CONFLICT,
        "store-changed",
        "The kit was changed in the meantime; nothing was done.",
        "Look at the kit as it is now and make the change again.",
    )
}
