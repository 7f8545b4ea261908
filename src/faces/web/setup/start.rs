//! Where setting up stands, and the one thing to do next.

use super::super::fail::Fail;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::said::{Todo, count, key, values};
use crate::curve::Kit;
use crate::intake::{Kept, Next, Setup, Step};
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "setup/start.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    next: Todo,
    /// Which drawing belongs to it: `shade`, `flat`, `upright` or none.
    picture: &'static str,
    /// Whether the card has to be printed first.
    print: bool,
    lines: Vec<Line>,
    kits: Vec<KitLine>,
}

/// One thing and whether it is there.
struct Line {
    what: &'static str,
    there: bool,
    words: String,
    href: &'static str,
    press: &'static str,
}

struct KitLine {
    name: String,
    key: String,
    tests: Vec<TestLine>,
    left: Vec<Todo>,
}

struct TestLine {
    name: String,
    swatches: String,
    values: String,
}

impl KitLine {
    fn of(kit: &Kept<Kit>, steps: &[Step]) -> Self {
        let test = |t: &crate::curve::Test| TestLine {
            name: t.name.clone(),
            swatches: if t.swatches.is_empty() {
                String::new()
            } else {
                count(t.swatches.len(), "photographed colour")
            },
            values: values(t),
        };
        Self {
            name: kit.name.clone(),
            key: key(&kit.name),
            tests: kit.value.tests.iter().map(test).collect(),
            left: steps.iter().map(|s| Todo::of(kit, s)).collect(),
        }
    }
}

pub(super) async fn start(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    let setup = site.if_log(|site, log| Ok(Setup::of(&site.home, log.as_deref())?)).await?;
    let next = setup.next();
    let go = |href: &str, press: &str| Todo { words: next.words(), href: href.into(), press: press.into() };
    let todo = match next {
        Next::Tank => go("/tank/new", "Add a tank"),
        Next::Card => go("/card/enrol", "Enrol the card"),
        Next::Kit => go("/kit/new", "Make a kit"),
        Next::Step(kit, step) => Todo::of(kit, step),
        Next::Read => go("/", "To the tanks"),
    };
    let picture = match next {
        Next::Card => "shade",
        Next::Step(_, Step::Shades { .. }) => "slip",
        Next::Step(..) => "upright",
        _ => "",
    };
    let named = |names: &[String], none: &str| if names.is_empty() { none.to_string() } else { names.join(", ") };
    let kits: Vec<String> = setup.kits.iter().map(|(k, _)| k.name.clone()).collect();
    let print = matches!(next, Next::Card);
    let line = |what, names: &[String], none, (href, press)| Line {
        what,
        there: !names.is_empty(),
        words: named(names, none),
        href,
        press,
    };
    let lines = vec![
        line("Tank", &setup.tanks, "none yet", ("/tank/new", "Add a tank")),
        line("Printed card, enrolled", &setup.cards, "none yet", ("/card", "Cards")),
        line("Kit", &kits, "none yet", ("/kit", "Kits")),
    ];
    let kits = setup.kits.iter().map(|(kit, steps)| KitLine::of(kit, steps)).collect();
    Ok(shown(&Page { frame: Frame::plain("Set up"), next: todo, picture, print, lines, kits }))
}
