//! Photos of standards and of printed shades: sent, looked at, taken into the kit or discarded.

use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::super::upload::blocking;
use super::card::no_photo;
use super::kit::{changed, found, lab};
use super::said::{Found, values};
use super::tray::{Photos, Seen, Sent, Unread, receive};
use crate::colour::{Lab, colour_words};
use crate::curve::{self, Kind, Kit, Nuisance, Swatch};
use crate::finding::Finding;
use crate::intake::{self, CardInUse, Keep, Kept, PhotoStandards};
use crate::reading::Standard;
use crate::water::{COVERAGE, Quantity, significant};
use askama::Template;
use axum::extract::{Multipart, Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;

/// What photos are to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Standards,
    Shades,
}

#[derive(Template)]
#[template(path = "setup/add.html", config = "src/faces/web/askama.toml")]
struct Form {
    frame: Frame,
    kit: String,
    name: String,
    shades: bool,
    strip: bool,
    places: Vec<Place>,
    tests: Vec<(String, String)>,
    cards: Vec<String>,
    typed: Fields,
    wrong: Option<Fail>,
    look: Option<(String, usize)>,
}

/// A station, or a pad with its test.
struct Place {
    name: String,
    test: Option<String>,
    unit: String,
}

impl Form {
    fn answer(
        site: &Site,
        (asked, kit): (String, &Kept<Kit>),
        way: Way,
        typed: Fields,
        wrong: Option<Fail>,
        look: Option<(String, usize)>,
    ) -> Result<Response, Fail> {
        let status = wrong.as_ref().map_or(StatusCode::OK, |w| w.status);
        let strip = kit.value.kind == Kind::Strip;
        let station = |name: &String| Place { name: name.clone(), test: None, unit: String::new() };
        let pad = |t: &curve::Test| {
            let name = format!("pad-{}", t.pad?);
            Some(Place { name, test: Some(t.name.clone()), unit: t.unit.to_string() })
        };
        let places = match strip {
            false => site.layout.stations.names.iter().map(station).collect(),
            true => kit.value.tests.iter().filter_map(pad).collect(),
        };
        let cards = site.home.card_names()?;
        let title = if way == Way::Shades { "Add printed shades" } else { "Add a standard" };
        let page = Self {
            frame: Frame::plain(title),
            kit: asked,
            name: kit.name.clone(),
            shades: way == Way::Shades,
            strip,
            places,
            tests: kit.value.tests.iter().map(|t| (t.name.clone(), values(t))).collect(),
            cards: if cards.len() > 1 { cards } else { Vec::new() },
            typed,
            wrong,
            look,
        };
        Ok((status, shown(&page)).into_response())
    }

    /// What was typed for a place.
    fn at(&self, field: &str, place: &str) -> &str {
        self.typed.one(&format!("{field}-{place}"))
    }
}

pub(super) async fn standards(site: State<Arc<Site>>, kit: Path<String>, query: RawQuery) -> Result<Response, Fail> {
    form(site, kit, query, Way::Standards).await
}

pub(super) async fn shades(site: State<Arc<Site>>, kit: Path<String>, query: RawQuery) -> Result<Response, Fail> {
    form(site, kit, query, Way::Shades).await
}

/// The form, filled with what the address says; with a look, as that was sent.
async fn form(
    State(site): State<Arc<Site>>,
    Path(asked): Path<String>,
    RawQuery(query): RawQuery,
    way: Way,
) -> Result<Response, Fail> {
    blocking(move || {
        let kit = found(&site, &asked)?;
        let mut typed = Fields::asked(query)?;
        let mut look = None;
        if let Some(key) = typed.some("look") {
            let before = site.tray.find(&about(way, &asked), &key, site.now())?;
            typed = before.typed.clone();
            look = Some((key, before.photos.names.len()));
        }
        Form::answer(&site, (asked, &kit), way, typed, None, look)
    })
    .await
}

fn about(way: Way, kit: &str) -> String {
    format!("{way:?} {kit}")
}

/// The words that the command line would be given: `A=ammonia:0.5`; none where labels say it.
fn words(typed: &Fields, kit: &Kit, stations: &[String]) -> Vec<String> {
    let pads = kit.tests.iter().filter_map(|t| Some((format!("pad-{}", t.pad?), t.name.clone())));
    let places: Vec<(String, Option<String>)> = match kit.kind {
        Kind::Strip => pads.map(|(pad, test)| (pad, Some(test))).collect(),
        Kind::Vial => stations.iter().map(|s| (s.clone(), typed.some(&format!("test-{s}")))).collect(),
    };
    let word = |(place, test): (String, Option<String>)| {
        let value = typed.some(&format!("value-{place}"));
        match (&value, kit.kind) {
            (None, Kind::Strip) => None,
            // What is half said goes through, to be answered as on the command line.
            _ if value.is_some() || test.is_some() => {
                Some(format!("{place}={}:{}", test.unwrap_or_default(), value.unwrap_or_default()))
            }
            _ => None,
        }
    };
    places.into_iter().filter_map(word).collect()
}

fn card(site: &Site, typed: &Fields, kit: &Kit) -> Result<CardInUse, Fail> {
    Ok(site.home.card_for(typed.some("card").as_deref(), kit, &site.layout)?)
}

/// What the photos would add.
fn looked(site: &Site, way: Way, kit: &Kept<Kit>, typed: &Fields, photos: &Photos) -> Result<Seen, Unread> {
    let (card, paths) = (card(site, typed, &kit.value)?, photos.paths());
    let seen = match way {
        Way::Standards => {
            let (words, clear) = (words(typed, &kit.value, &site.layout.stations.names), typed.some("clear"));
            intake::try_standards(&site.home, kit, &card, &paths, &words, clear.as_deref())
        }
        Way::Shades => {
            let values = [typed.one("values").to_string()];
            let seen = intake::try_shades(&site.home, kit, &card, &paths[0], typed.one("test"), &values);
            seen.map(|(next, photo)| (next, vec![photo]))
        }
    };
    let (next, seen) = seen.map_err(|e| photos.fail(e))?;
    Ok(Seen::Swatches { before: kit.revision.clone(), kit: Box::new(next), photos: seen })
}

pub(super) async fn send_standards(
    site: State<Arc<Site>>,
    kit: Path<String>,
    form: Multipart,
) -> Result<Response, Fail> {
    send(site, kit, form, Way::Standards).await
}

pub(super) async fn send_shades(site: State<Arc<Site>>, kit: Path<String>, form: Multipart) -> Result<Response, Fail> {
    send(site, kit, form, Way::Shades).await
}

async fn send(
    State(site): State<Arc<Site>>,
    Path(asked): Path<String>,
    form: Multipart,
    way: Way,
) -> Result<Response, Fail> {
    let about = about(way, &asked);
    let Sent { typed, photos } = receive(&site, &about, form).await?;
    blocking(move || {
        let kit = found(&site, &asked)?;
        let Some(photos) = photos else {
            return Form::answer(&site, (asked, &kit), way, typed, Some(no_photo()), None);
        };
        let alone = site.tray.alone();
        let seen = looked(&site, way, &kit, &typed, &photos);
        drop(alone);
        let lay = |seen| site.tray.lay(&about, typed.clone(), Arc::clone(&photos), seen, site.now());
        match seen {
            Ok(seen) => {
                let key = lay(seen)?;
                Ok(Redirect::to(&format!("/kit/{asked}/add/{key}{}", suffix(way))).into_response())
            }
            Err(Unread { fail: wrong, useless }) if wrong.status.is_client_error() => {
                let look = if useless { None } else { Some((lay(Seen::Nothing)?, photos.names.len())) };
                Form::answer(&site, (asked, &kit), way, typed, Some(wrong), look)
            }
            Err(unread) => Err(unread.into()),
        }
    })
    .await
}

/// Says in the address of a look what it is of.
fn suffix(way: Way) -> &'static str {
    if way == Way::Shades { "?of=shades" } else { "" }
}

fn way(query: &Option<String>) -> Way {
    // What is no text is not the word either.
    let of = Fields::of(query.as_deref().unwrap_or_default().as_bytes()).unwrap_or_default();
    if of.one("of") == "shades" { Way::Shades } else { Way::Standards }
}

#[derive(Template)]
#[template(path = "setup/added.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    kit: String,
    name: String,
    look: String,
    page: &'static str,
    suffix: &'static str,
    /// How many can be taken in, and whether some cannot.
    good: usize,
    stale: bool,
    photos: Vec<PhotoPart>,
    after: Vec<(String, Vec<Found>)>,
}

struct PhotoPart {
    name: String,
    standards: Vec<StandardPart>,
}

struct StandardPart {
    station: String,
    test: String,
    amount: String,
    /// Its colour in words and in numbers.
    colour: Option<(String, String)>,
    apart: Vec<String>,
    refusal: Vec<Found>,
}

impl StandardPart {
    fn of(next: &Kit, (s, swatch): &(Standard, Result<Swatch, Vec<Finding>>)) -> Self {
        let test = next.test(&s.test).ok();
        let amount = test.map(|t| {
            let quantity = Quantity::new(s.value, t.unit.clone());
            match s.value_sd {
                Some(sd) => format!("{quantity} ± {}", significant(COVERAGE * sd, 2)),
                None => quantity.to_string(),
            }
        });
        let gaps = test.map(|t| curve::check(t, Nuisance::of(next.kind)).gaps).unwrap_or_default();
        let apart = gaps.iter().filter_map(|g| {
            let other = if g.from == s.value {
                g.to
            } else if g.to == s.value {
                g.from
            } else {
                return None;
            };
            Some(format!("ΔE00 {:.1} from {other}", g.delta_e))
        });
        Self {
            station: s.station.clone(),
            test: s.test.clone(),
            amount: amount.unwrap_or_default(),
            colour: swatch.as_ref().ok().map(|s| (colour_words(Lab(s.lab)), lab(s.lab))),
            apart: if swatch.is_ok() { apart.collect() } else { Vec::new() },
            refusal: swatch.as_ref().err().map(|f| Found::all(f)).unwrap_or_default(),
        }
    }
}

pub(super) async fn look(
    State(site): State<Arc<Site>>,
    Path((asked, key)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fail> {
    let way = way(&query);
    blocking(move || {
        let own = found(&site, &asked)?;
        let look = site.tray.find(&about(way, &asked), &key, site.now())?;
        let Seen::Swatches { before, kit, photos } = &look.seen else {
            let again = Some((key, look.photos.names.len()));
            return Form::answer(&site, (asked, &own), way, look.typed.clone(), None, again);
        };
        let part = |(i, photo): (usize, &PhotoStandards)| PhotoPart {
            name: match look.photos.names[i].as_str() {
                "" => format!("Photo {}", i + 1),
                name => format!("Photo {}, {name}", i + 1),
            },
            standards: photo.standards.iter().map(|s| StandardPart::of(kit, s)).collect(),
        };
        let all = || photos.iter().flat_map(|p| &p.standards);
        let touched = |t: &&curve::Test| all().any(|(s, swatch)| s.test == t.name && swatch.is_ok());
        let after = kit.tests.iter().filter(touched);
        let after = after.map(|t| (t.name.clone(), Found::all(&curve::check(t, Nuisance::of(kit.kind)).findings)));
        let good = all().filter(|(_, swatch)| swatch.is_ok()).count();
        let page = Page {
            frame: Frame::plain(if good > 0 { "Take it into the kit?" } else { "Not used" }),
            name: own.name.clone(),
            look: key,
            page: if way == Way::Shades { "shades" } else { "add" },
            suffix: suffix(way),
            good,
            stale: own.revision != *before,
            photos: photos.iter().enumerate().map(part).collect(),
            after: after.collect(),
            kit: asked,
        };
        Ok(shown(&page))
    })
    .await
}

/// Takes the swatches into the kit, from the photos again: what is written is what the command line writes.
pub(super) async fn keep(
    State(site): State<Arc<Site>>,
    Path((asked, key)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Result<Redirect, Fail> {
    let way = way(&query);
    blocking(move || {
        let kit = found(&site, &asked)?;
        let look = site.tray.find(&about(way, &asked), &key, site.now())?;
        let Seen::Swatches { before, photos: seen, .. } = &look.seen else { return Err(changed()) };
        if kit.revision != *before {
            return Err(changed());
        }
        if !seen.iter().any(PhotoStandards::any) {
            return Ok(Redirect::to(&format!("/kit/{asked}/add/{key}{}", suffix(way))));
        }
        let (typed, photos, paths) = (&look.typed, &look.photos, look.photos.paths());
        let (card, keep) = (card(&site, typed, &kit.value)?, Keep::default());
        let _alone = site.tray.alone();
        let added = match way {
            Way::Standards => {
                let (words, clear) = (words(typed, &kit.value, &site.layout.stations.names), typed.some("clear"));
                intake::add_standards(&site.home, &kit, &card, &paths, &words, clear.as_deref(), keep)
            }
            Way::Shades => {
                let values = [typed.one("values").to_string()];
                intake::add_shades(&site.home, &kit, &card, &paths[0], typed.one("test"), &values, keep)
            }
        };
        added.map_err(|e| photos.fail(e))?;
        site.tray.forget(&key, site.now());
        Ok(Redirect::to(&format!("/kit/{asked}")))
    })
    .await
}

pub(super) async fn discard(
    State(site): State<Arc<Site>>,
    Path((asked, key)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Redirect {
    site.tray.forget(&key, site.now());
    let page = if way(&query) == Way::Shades { "shades" } else { "add" };
    Redirect::to(&format!("/kit/{asked}/{page}"))
}
