//! Making a kit, and adding a test to one.

use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::super::upload::blocking;
use super::kit::found;
use super::said::key;
use crate::curve::{Kind, Kit, Matrix, Strip, Test};
use crate::intake::{self, IntakeError};
use crate::water::{Analyte, Unit};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use std::sync::Arc;

/// What household kits measure; any other test can be added by its name.
const USUAL: [Analyte; 6] =
    [Analyte::Ammonia, Analyte::Nitrite, Analyte::Nitrate, Analyte::Ph, Analyte::Hardness, Analyte::Alkalinity];

/// The measures of a strip: field and what it is.
const MEASURES: [(&str, &str); 5] = [
    ("length", "From end to end"),
    ("width", "Across"),
    ("side", "Side of a pad"),
    ("pitch", "From the middle of a pad to the middle of the next"),
    ("end", "From the end held into the water to the middle of pad 1"),
];

#[derive(Template)]
#[template(path = "setup/kit-new.html", config = "src/faces/web/askama.toml")]
struct Form {
    frame: Frame,
    typed: Fields,
    wrong: Option<Fail>,
    usual: Vec<(String, Vec<String>)>,
    measures: [(&'static str, &'static str); 5],
}

impl Form {
    fn answer(typed: Fields, wrong: Option<Fail>) -> Response {
        let status = wrong.as_ref().map_or(StatusCode::OK, |w| w.status);
        let usual = USUAL.map(|a| (a.to_string(), if a == Analyte::Ph { Vec::new() } else { Unit::choices(&a) }));
        let frame = Frame::plain("Make a kit");
        (status, shown(&Self { frame, typed, wrong, usual: usual.to_vec(), measures: MEASURES })).into_response()
    }

    /// Whether a test is ticked.
    fn has(&self, test: &str) -> bool {
        ticked(&self.typed, test)
    }

    fn with(&self, field: &str, test: &str) -> &str {
        self.typed.one(&format!("{field}-{test}"))
    }

    /// Whether something was typed about its bottle or its wait.
    fn told(&self, test: &str) -> bool {
        ["wait", "lot", "opened", "expiry", "pad"].iter().any(|f| !self.with(f, test).is_empty())
    }
}

fn ticked(typed: &Fields, test: &str) -> bool {
    typed.all("test").iter().any(|t| t == test)
}

pub(super) async fn form() -> Response {
    Form::answer(Fields::default(), None)
}

fn wrong(code: &'static str, sentence: String, remedy: &str) -> Fail {
    Fail::new(StatusCode::BAD_REQUEST, code, sentence, remedy)
}

fn date(typed: &Fields, field: &str, what: &str) -> Result<Option<Date>, Fail> {
    let parse = |text: String| {
        let remedy = "Write the day as 2027-03-31.";
        text.parse().map_err(|_| wrong("date-malformed", format!("{what}: '{text}' is no day"), remedy))
    };
    typed.some(field).map(parse).transpose()
}

fn water(typed: &Fields) -> Matrix {
    match typed.one("water") {
        "marine" => Matrix::Marine,
        "both" => Matrix::Both,
        _ => Matrix::Fresh,
    }
}

/// A test as typed, its fields ending in `-END`.
fn test(typed: &Fields, name: &str, analyte: Option<&str>, end: &str) -> Result<Test, Fail> {
    let field = |f: &str| format!("{f}-{end}");
    let unit = typed.some(&field("unit"));
    let test = intake::new_test(name, analyte, unit.as_deref(), water(typed))?;
    let pad = typed.number(&field("pad"), &format!("Pad of {name}"))?;
    let whole = pad.filter(|p| p.fract() == 0.0 && (1.0..=255.0).contains(p));
    if pad.is_some() && whole.is_none() {
        return Err(wrong("number-malformed", format!("Pad of {name}: that is no pad"), "Write 1, 2, 3 …"));
    }
    Ok(Test {
        pad: whole.map(|p| p as u8),
        wait_minutes: typed.number(&field("wait"), &format!("Wait of {name}"))?,
        lot: typed.some(&field("lot")),
        opened: date(typed, &field("opened"), &format!("{name} opened"))?,
        expiry: date(typed, &field("expiry"), &format!("{name} good until"))?,
        ..test
    })
}

fn kit(typed: &Fields) -> Result<Kit, Fail> {
    let strips = typed.one("kind") == "strip";
    let (kind, strip) = match strips {
        false => (Kind::Vial, None),
        true => {
            let mut mm = [0.0; 5];
            for ((field, what), mm) in MEASURES.iter().zip(&mut mm) {
                let missing =
                    || wrong("strip-unmeasured", format!("{what}: not said"), "Measure a strip in millimetres.");
                *mm = typed.number(field, what)?.ok_or_else(missing)?;
            }
            let [length_mm, width_mm, pad_mm, pitch_mm, end_mm] = mm;
            (Kind::Strip, Some(Strip { length_mm, width_mm, pad_mm, pitch_mm, end_mm }))
        }
    };
    let mut kit =
        Kit { kind, strip, note: typed.some("note"), ..Kit::new(typed.one("name")).map_err(IntakeError::from)? };
    kit.validate().map_err(IntakeError::from)?;
    let names = USUAL.iter().map(ToString::to_string).filter(|name| ticked(typed, name));
    for name in names {
        kit.add_test(test(typed, &name, None, &name)?).map_err(IntakeError::from)?;
    }
    match kit.tests.is_empty() {
        true => Err(wrong("tests-missing", "It was not said which tests the kit has".into(), "Tick at least one.")),
        false => Ok(kit),
    }
}

pub(super) async fn make(State(site): State<Arc<Site>>, typed: Fields) -> Result<Response, Fail> {
    blocking(move || {
        let made = kit(&typed).and_then(|kit| Ok(site.home.new_kit(kit)?));
        match made {
            Ok(kit) => Ok(Redirect::to(&format!("/kit/{}", key(&kit.name))).into_response()),
            Err(wrong) if wrong.status.is_client_error() => Ok(Form::answer(typed, Some(wrong))),
            Err(wrong) => Err(wrong),
        }
    })
    .await
}

#[derive(Template)]
#[template(path = "setup/test-new.html", config = "src/faces/web/askama.toml")]
struct TestForm {
    frame: Frame,
    kit: String,
    name: String,
    strip: bool,
    typed: Fields,
    wrong: Option<Fail>,
}

impl TestForm {
    fn answer(site: &Site, kit: String, typed: Fields, wrong: Option<Fail>) -> Result<Response, Fail> {
        let own = found(site, &kit)?;
        let status = wrong.as_ref().map_or(StatusCode::OK, |w| w.status);
        let strip = own.value.kind == Kind::Strip;
        let page = Self { frame: Frame::plain("Add a test"), kit, name: own.name, strip, typed, wrong };
        Ok((status, shown(&page)).into_response())
    }
}

pub(super) async fn test_form(State(site): State<Arc<Site>>, Path(kit): Path<String>) -> Result<Response, Fail> {
    blocking(move || TestForm::answer(&site, kit, Fields::default(), None)).await
}

pub(super) async fn add_test(
    State(site): State<Arc<Site>>,
    Path(asked): Path<String>,
    typed: Fields,
) -> Result<Response, Fail> {
    blocking(move || {
        let kit = found(&site, &asked)?;
        let write = || -> Result<(), Fail> {
            let mut next = kit.value.clone();
            let analyte = typed.some("analyte");
            let test = test(&typed, typed.one("name"), analyte.as_deref(), "new")?;
            next.add_test(test).map_err(IntakeError::from)?;
            site.home.changed_kit(&kit, next)?;
            Ok(())
        };
        match write() {
            Ok(()) => Ok(Redirect::to(&format!("/kit/{asked}")).into_response()),
            Err(wrong) if wrong.status.is_client_error() => TestForm::answer(&site, asked, typed, Some(wrong)),
            Err(wrong) => Err(wrong),
        }
    })
    .await
}
