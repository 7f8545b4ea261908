//! How standards are made: what to weigh and to dilute, with its cautions.

use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::super::upload::blocking;
use super::kit::found;
use super::said::{address, values};
use crate::curve::{Kind, Kit};
use crate::intake::{self, IntakeError, Made, StandardsAsked, StandardsFor};
use crate::water::standards::{Means, Recipe, Solution, Syringe, Vessel, solution_name};
use crate::water::{COVERAGE, significant};
use askama::Template;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

#[derive(Template)]
#[template(path = "setup/recipe.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    kit: String,
    name: String,
    tests: Vec<(String, String)>,
    typed: Fields,
    wrong: Option<Fail>,
    plan: Option<Plan>,
}

/// A recipe, ready to be shown.
struct Plan {
    title: String,
    said: Vec<&'static str>,
    /// What it is called, how it is made, what it holds.
    solutions: Vec<(String, String, String)>,
    /// What it holds, how it is made, where its photo is added.
    standards: Vec<(String, String, String)>,
}

impl Plan {
    fn of(asked: &str, kit: &Kit, plan: &StandardsFor) -> Self {
        let test = plan.kit.as_ref().map_or_else(|| plan.wanted.analyte.to_string(), |(_, test)| test.clone());
        let unit = &plan.wanted.unit;
        let lacks = if plan.missing { ", those that the kit lacks" } else { "" };
        let pad = kit.test(&test).ok().and_then(|t| t.pad);
        let add = |value: &str| match (kit.kind, pad) {
            (Kind::Strip, Some(pad)) => address(asked, "add", &[(&format!("value-pad-{pad}"), value)]),
            _ => address(asked, "add", &[("test-B", &test), ("value-B", value)]),
        };
        let (mut solutions, mut standards) = (Vec::new(), Vec::new());
        match &plan.made {
            Made::Recipe(recipe) => {
                let one = |(i, s): (usize, &Solution)| (solution_name(i), recipe.how(s), held(s));
                solutions = recipe.solutions.iter().enumerate().map(one).collect();
                standards = recipe.standards.iter().map(|s| standard(recipe, s.made.as_ref(), &add)).collect();
            }
            Made::Buffers(buffers) => standards.extend(buffers.iter().map(|b| {
                let value = format!("{:.2}±{:.2}", b.ph, COVERAGE * b.sd);
                (value.replace('±', " ± "), "a ready buffer".to_string(), add(&value))
            })),
        }
        Self { title: format!("Standards of {test}, in {unit}{lacks}"), said: plan.said(), solutions, standards }
    }
}

fn held(s: &Solution) -> String {
    format!("{} ± {}", significant(s.value, 4), significant(COVERAGE * s.sd, 2))
}

fn standard(recipe: &Recipe, made: Option<&Solution>, add: &dyn Fn(&str) -> String) -> (String, String, String) {
    match made {
        None => ("0".to_string(), "the water itself, with the reagent".to_string(), add("0")),
        Some(made) => {
            let (value, uncertainty) = made.stated();
            (format!("{value} ± {uncertainty}"), recipe.how(made), add(&format!("{value}±{uncertainty}")))
        }
    }
}

/// What there is to weigh and measure with, as typed; the usual where nothing was.
fn means(typed: &Fields) -> Result<Means, Fail> {
    let usual = Means::default();
    let words = |field: &str| -> Vec<String> {
        typed.one(field).split([';', ' ']).filter(|w| !w.is_empty()).map(str::to_string).collect()
    };
    let syringes = words("syringes").iter().map(|s| Syringe::parse(s)).collect::<Result<Vec<_>, _>>();
    let vessels = words("vessels").iter().map(|s| Vessel::parse(s)).collect::<Result<Vec<_>, _>>();
    let (syringes, vessels) = (syringes.map_err(IntakeError::from)?, vessels.map_err(IntakeError::from)?);
    Ok(Means {
        scale_g: typed.number("scale", "What the scale shows")?.unwrap_or(usual.scale_g),
        syringes: if syringes.is_empty() { usual.syringes } else { syringes },
        vessels: if vessels.is_empty() { usual.vessels } else { vessels },
        weigh: typed.one("weigh") == "1",
    })
}

fn planned(site: &Site, kit: &str, typed: &Fields) -> Result<StandardsFor, Fail> {
    let asked = StandardsAsked {
        kit: Some(kit.to_string()),
        test: typed.one("test").to_string(),
        values: typed.some("values").into_iter().collect(),
        substance: typed.some("of"),
        strength: typed.some("strength"),
        purity: typed.number("purity", "Purity")?,
        marine: typed.one("marine") == "1",
        ..StandardsAsked::default()
    };
    Ok(intake::standards_for(&site.home, &asked, &means(typed)?)?)
}

pub(super) async fn recipe(
    State(site): State<Arc<Site>>,
    Path(asked): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fail> {
    blocking(move || {
        let kit = found(&site, &asked)?;
        let mut typed = Fields::asked(query)?;
        if let (None, [only]) = (typed.some("test"), &kit.value.tests[..]) {
            typed.push("test".into(), only.name.clone());
        }
        let plan = typed.some("test").map(|_| planned(&site, &kit.name, &typed)).transpose();
        let (plan, wrong) = match plan {
            Ok(plan) => (plan.map(|p| Plan::of(&asked, &kit.value, &p)), None),
            Err(wrong) if wrong.status.is_client_error() => (None, Some(wrong)),
            Err(wrong) => return Err(wrong),
        };
        let status = wrong.as_ref().map_or(StatusCode::OK, |w| w.status);
        let tests = kit.value.tests.iter().map(|t| (t.name.clone(), values(t))).collect();
        let frame = Frame::plain("Make standards");
        Ok((status, shown(&Page { frame, kit: asked, name: kit.name, tests, typed, wrong, plan })).into_response())
    })
    .await
}
