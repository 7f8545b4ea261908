use super::*;
use crate::curve::{Kit, Matrix, Source, Swatch, Test};
use crate::log::{Event, Id, Lit, happening};
use crate::moment::{Certainty, Moment, TimeSource};
use crate::water::{Analyte, Unit};
use serde_json::json;

/// A light whose matrix is `x` away from one.
fn light(x: f64) -> Vec<f64> {
    let mut l = vec![1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    l[0] += x;
    l
}

fn at(hour: i8) -> Timestamp {
    jiff::tz::Offset::UTC.to_timestamp(jiff::civil::date(2026, 3, 1).at(hour, 0, 0, 0)).unwrap()
}

fn kit(name: &str, lights: &[f64]) -> Kit {
    let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
    let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
    test.swatches = lights
        .iter()
        .enumerate()
        .map(|(i, x)| Swatch {
            value: i as f64,
            value_sd: None,
            source: Source::Standard,
            lab: [90.0 - 5.0 * i as f64, 5.0 * i as f64, 0.0],
            cov: [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]],
            photo: format!("{name}{i}"),
            station: "B".into(),
            light: light(*x),
            taken: Some(format!("2026-02-0{}T12:00:00Z", i + 1)),
            clear: None,
        })
        .collect();
    Kit { tests: vec![test], ..Kit::new(name).unwrap() }
}

fn read(photo: &str, x: f64, hour: i8) -> Lit {
    Lit { photo: photo.into(), light: light(x), kit: Some("drops".into()), recorded: at(hour), at: at(hour) }
}

fn said(kind: &str, name: Option<&str>, x: f64, hour: i8) -> Event {
    let moment = Moment {
        instant: at(hour),
        offset: jiff::tz::Offset::UTC,
        source: TimeSource::Keeper,
        certainty: Certainty::Sure,
    };
    let payload = json!({ "name": name, "lights": [light(x)] });
    Event {
        id: Id::parse("0195500e-0000-7000-8000-000000000001").unwrap(),
        recorded: at(hour),
        kind: kind.into(),
        tank: None,
        at: moment,
        note: None,
        payload: payload.as_object().unwrap().clone(),
    }
}

fn named(name: &str, x: f64, hour: i8) -> Event {
    said(happening::PLACE_NAMED, Some(name), x, hour)
}

/// Name, lights, swatches and photos of each place.
fn brief(places: &Places) -> Vec<(Option<&str>, usize, usize, usize)> {
    let one = |p: &'_ Place| (p.lights.len(), p.swatches.len(), p.seen.len());
    places.all.iter().map(|p| (p.name.as_deref(), one(p).0, one(p).1, one(p).2)).collect()
}

#[test]
fn swatches_and_readings_make_places() {
    let kits = [kit("drops", &[0.0, 0.05, 0.3]), kit("other", &[0.31])];
    let lits = [read("a", 0.11, 1), read("b", 0.2, 2), read("c", 0.21, 3), read("d", 0.35, 4), read("e", 0.275, 5)];
    let places = Places::learnt(&kits, &[], &lits);
    // 0.11 is near 0.05; 0.2 and 0.21 are near nothing; 0.35 and 0.275 are near the second place, of both kits.
    assert_eq!(brief(&places), [(None, 2, 2, 1), (None, 2, 2, 2), (None, 1, 0, 2)]);
    // What was merely read there makes a place no larger: 0.125 is near the reading at 0.11 alone.
    assert_eq!(places.at(&light(0.125)), None);
    assert_eq!(places.at(&light(0.13)).map(|(p, _)| (p.lights.len(), p.swatches.len())), Some((1, 0)));
    assert_eq!(places.at(&light(0.45)), None);
    assert_eq!((places.at(&[]), places.all[0].spread()), (None, light(0.05)[0] - 1.0));
    let days = |p: &Place, kit| p.days(kit).map(|(a, b)| (a.day(), b.day()));
    assert_eq!([days(&places.all[0], None), days(&places.all[1], Some("other"))], [Some((1, 2)), Some((1, 1))]);
}

#[test]
fn a_name_holds_for_its_light_whatever_comes_first() {
    let kits = [kit("drops", &[0.0])];
    let lits = [read("a", 0.2, 1), read("b", 0.26, 2), read("c", 0.33, 3)];
    // The place founded by a reading is named by another light near it; two lights may have one name.
    let events = [named("Desk", 0.22, 4), named("desk", 0.0, 5)];
    let places = Places::learnt(&kits, &events, &lits);
    assert_eq!(brief(&places), [(Some("desk"), 2, 1, 2), (None, 1, 0, 1)]);
    let mut turned = lits.clone();
    turned.reverse();
    let again = Places::learnt(&kits, &events, &turned);
    assert_eq!(brief(&again)[0], (Some("desk"), 2, 1, 2));
    // The last word counts, in whatever order events come.
    let renamed = [named("sink", 0.22, 6), named("Desk", 0.22, 4)];
    assert_eq!(brief(&Places::learnt(&kits, &renamed, &lits))[1], (Some("sink"), 1, 0, 2));
}

#[test]
fn what_is_forgotten_is_counted_from_then_on() {
    let kits = [kit("drops", &[0.0])];
    let lits = [read("a", 0.2, 1), read("b", 0.21, 2), read("c", 0.2, 8), read("d", 0.01, 2)];
    let forget = |x| said(happening::PLACE_FORGOTTEN, None, x, 5);
    let events = [named("desk", 0.2, 3), named("window", 0.0, 3), forget(0.2), forget(0.0)];
    // One photo since; the swatch stays.
    assert_eq!(brief(&Places::learnt(&kits, &events, &lits)), [(None, 1, 1, 0), (None, 1, 0, 1)]);
    assert_eq!(brief(&Places::learnt(&kits, &events, &lits[..2])), [(None, 1, 1, 0)]);
    // Named again after that it has a name again, and a name alone is a place.
    let events = [events.to_vec(), vec![named("lamp", 0.2, 6)]].concat();
    assert_eq!(brief(&Places::learnt(&kits, &events, &[])), [(None, 1, 1, 0), (Some("lamp"), 1, 0, 0)]);
}

#[test]
fn an_event_that_says_nothing_changes_nothing() {
    let mut events = vec![named("desk", 0.0, 1); 4];
    events[0].payload.remove("lights");
    events[1].payload.insert("lights".into(), json!([["x"]]));
    events[2].payload.insert("name".into(), json!(7));
    events[3].kind = "place-moved".into();
    let kits = [kit("drops", &[0.0])];
    assert_eq!(brief(&Places::learnt(&kits, &events, &[])), [(None, 1, 1, 0)]);
}

#[test]
fn a_photo_is_counted_once_and_never_for_itself() {
    let kits = [kit("drops", &[0.0])];
    let mut places = Places::learnt(&kits, &[], &[read("a", 0.2, 1)]);
    for photo in ["a", "b", "b"] {
        places.visit(&light(0.21), Some("drops"), photo, at(2));
    }
    places.visit(&[], Some("drops"), "c", at(2));
    assert_eq!(brief(&places), [(None, 1, 1, 0), (None, 1, 0, 2)]);
    let of = |photo: &str| places.placed(&light(0.2), &kits[0], photo).unwrap();
    assert_eq!((of("a").seen, of("z").seen), (1, 2));
    assert!(of("z").text.contains("seen 2 times besides; a standard photographed there"), "{}", of("z").text);
}

#[test]
fn what_a_kit_does_not_tell_is_not_said() {
    let mut dark = kit("drops", &[0.0]);
    dark.tests[0].swatches[0].light.clear();
    let none = Places::learnt(std::slice::from_ref(&dark), &[], &[read("a", 0.2, 1)]);
    assert_eq!(none.placed(&light(0.2), &dark, ""), None);
    let desk = Places::learnt(std::slice::from_ref(&dark), &[named("desk", 0.2, 1)], &[]);
    let placed = desk.placed(&light(0.21), &dark, "").unwrap();
    assert_eq!((placed.kit_off, placed.calibrated), (None, false));
    assert_eq!(placed.text, "desk; the kit's swatches do not tell their light.");
    // Another kit's swatches lend their name, not their narrowness.
    let kits = [kit("drops", &[0.0]), kit("other", &[0.2])];
    let placed = Places::learnt(&kits, &[], &[]).placed(&light(0.2), &kits[0], "").unwrap();
    assert_eq!((placed.calibrated, placed.swatches), (false, 0));
    assert!(placed.text.starts_with("the place of the swatches of the kit 'other' of 2026-02-01 (light 0.20 off"));
}
