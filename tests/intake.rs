//! The room `intake` where the command line does not reach: strips, corrections, one transaction, which card serves.

use crate::pictures::{Extras, jpeg, scene};
use tintline::card::{Layout, layout::Patch};
use tintline::curve::{Kind, Kit, Matrix, Source, Swatch, Test};
use tintline::intake::{self, Bench, Capture, CardInUse, Fault, Home, Kept, Look, Named, Noted, Water};
use tintline::light::{Enrolment, Origin, PatchColour, Reference};
use tintline::log::{Filter, Log, NewTank, Tank, Target, WaterKind};
use tintline::moment::{Certainty, Moment, TimeSource};
use tintline::photo::Limits;
use tintline::reading::{Ask, Outcome, PhotoReading, SampleReading};
use tintline::water::{Amount, Analyte, Interval, Quantity, Species, Unit};

fn now() -> jiff::Timestamp {
    "2026-03-01T18:00:00Z".parse().unwrap()
}

/// A home with one tank, an open log and a photo in it.
struct Place {
    dir: tempfile::TempDir,
    home: Home,
    log: Log,
    tank: Tank,
}

impl Place {
    fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("p.jpg"), jpeg(&scene(64, 48), &Extras::default())).unwrap();
        let home = Home::at(dir.path().join("home"));
        let mut log = home.log().unwrap();
        log.write(now(), |w| w.add_tank(&NewTank::new("reef", "Europe/Berlin", WaterKind::Fresh))).unwrap();
        let tank = log.tank("reef").unwrap();
        Self { dir, home, log, tank }
    }

    /// A made-up reading of the photo by these tests at these places.
    fn look(&self, said: &[(&str, &str, f64)]) -> Look {
        let opened = intake::open(&self.dir.path().join("p.jpg"), &Limits::default()).unwrap();
        let standing = opened.standing(&self.log).unwrap();
        let asks = said.iter().map(|(station, test, _)| Ask {
            station: (*station).into(),
            test: (*test).into(),
            dilution: None,
        });
        let reading = PhotoReading {
            photo: opened.photo.id().into(),
            samples: said.iter().map(|(station, test, value)| sample(station, test, *value)).collect(),
            findings: Vec::new(),
            card: None,
            clear: None,
        };
        let (offset, certainty) = (jiff::tz::offset(1), Certainty::Sure);
        let moment = Moment { instant: now(), offset, source: TimeSource::Keeper, certainty };
        Look {
            named: Named::all_of(Target::Tank(self.tank.id), asks.collect()),
            capture: Capture { moment, finding: None },
            opened,
            reading,
            standing,
            of_sample: None,
        }
    }

    fn enter(&mut self, kit: &Kept<Kit>, look: &Look, again: bool) -> Result<Vec<Noted>, intake::IntakeError> {
        let card = nominal();
        let (layout, tank) = (Layout::first(), self.tank.clone());
        let tanks = self.log.tanks().unwrap();
        let bench = Bench { layout: &layout, kit, card: &card, tank: &tank, tanks: &tanks, starts: &[] };
        intake::enter(&mut self.log, look, &bench, again, now())
    }
}

fn nominal() -> CardInUse {
    CardInUse { name: None, reference: Reference::nominal(&Layout::first()), foreign: false }
}

fn sample(station: &str, test: &str, value: f64) -> SampleReading {
    let unit = Unit::mg_l(if test == "nitrite" { Species::Nitrite } else { Species::Nitrate });
    let amount = Amount::measured(Quantity::new(value, unit), Interval::new(value * 0.9, value * 1.1).unwrap());
    SampleReading {
        station: station.into(),
        test: test.into(),
        outcome: Outcome::Read(amount.unwrap()),
        detection_limit: None,
        findings: Vec::new(),
        dilution: None,
        lab: None,
        off_curve: None,
        light: None,
        outlines: Vec::new(),
    }
}

fn kit(kind: Kind, note: &str) -> Kept<Kit> {
    let test = |name: &str, analyte, species| Test::new(name, analyte, Unit::mg_l(species), Matrix::Both);
    let mut kit = Kit { kind, note: Some(note.into()), ..Kit::new("home").unwrap() };
    kit.add_test(test("nitrite", Analyte::Nitrite, Species::Nitrite)).unwrap();
    kit.add_test(test("nitrate", Analyte::Nitrate, Species::Nitrate)).unwrap();
    Kept { name: "home".into(), revision: kit.revision(), value: kit }
}

fn added(noted: &Noted) -> tintline::log::Id {
    match noted {
        Noted::Added { id } => *id,
        other => panic!("{other:?}"),
    }
}

#[test]
fn vials_are_a_sample_each_and_a_strip_is_one() {
    for (kind, samples) in [(Kind::Vial, 2), (Kind::Strip, 1)] {
        let mut place = Place::new();
        let look = place.look(&[("A", "nitrite", 0.5), ("B", "nitrate", 20.0)]);
        place.enter(&kit(kind, "first"), &look, false).unwrap();
        let readings = place.log.readings(&Filter::default()).unwrap();
        let ids: std::collections::HashSet<_> = readings.iter().map(|r| r.sample.id).collect();
        assert_eq!((readings.len(), ids.len()), (2, samples), "{kind:?}");
        // Read again with another revision, they stay the samples they were.
        let look = place.look(&[("A", "nitrite", 0.6), ("B", "nitrate", 22.0)]);
        let noted = place.enter(&kit(kind, "second"), &look, true).unwrap();
        assert!(noted.iter().all(|n| matches!(n, Noted::Replaced { stands: true, .. })), "{noted:?}");
        let again = place.log.readings(&Filter::default()).unwrap();
        assert_eq!(again.iter().map(|r| r.sample.id).collect::<std::collections::HashSet<_>>(), ids);
    }
}

#[test]
fn samples_of_one_photo_go_to_their_own_waters_or_none_goes() {
    let mut place = Place::new();
    place.log.write(now(), |w| w.add_tank(&NewTank::new("hall", "UTC", WaterKind::Fresh))).unwrap();
    let hall = Target::Tank(place.log.tank("hall").unwrap().id);
    let mut look = place.look(&[("A", "nitrite", 0.5), ("B", "nitrate", 20.0), ("C", "nitrate", 5.0)]);
    look.named.waters[1] = Water::of(hall);
    look.named.waters[2] = Water { target: Target::Standard, label: Some("nitrate 5".into()) };
    look.named.labelled = true;
    // One that cannot be written keeps the others out, whatever tank they are of.
    let sound = look.reading.samples[2].outcome.clone();
    look.reading.samples[2].outcome = look.reading.samples[0].outcome.clone();
    assert_eq!(place.enter(&kit(Kind::Vial, "first"), &look, false).unwrap_err().code(), "entry-unfit");
    assert_eq!(place.log.readings(&Filter::default()).unwrap(), []);
    look.reading.samples[2].outcome = sound;
    place.enter(&kit(Kind::Vial, "first"), &look, false).unwrap();
    let got: Vec<_> = place
        .log
        .readings(&Filter::default())
        .unwrap()
        .into_iter()
        .map(|r| (r.station.unwrap(), r.sample.target, r.sample.label))
        .collect();
    let want = [
        ("A".to_string(), Target::Tank(place.tank.id), None),
        ("B".to_string(), hall, None),
        ("C".to_string(), Target::Standard, Some("nitrate 5".to_string())),
    ];
    assert_eq!(got, want);
}

#[test]
fn the_keepers_correction_stays() {
    let mut place = Place::new();
    let look = place.look(&[("A", "nitrite", 0.5)]);
    let id = added(&place.enter(&kit(Kind::Vial, "first"), &look, false).unwrap()[0]);
    let own = Amount::not_detected(Quantity::new(0.1, Unit::mg_l(Species::Nitrite))).unwrap();
    place.log.write(now(), |w| w.correct(id, &own, None, "read by eye")).unwrap();
    let look = place.look(&[("A", "nitrite", 0.6)]);
    let noted = place.enter(&kit(Kind::Vial, "second"), &look, true).unwrap();
    assert!(matches!(noted[0], Noted::Replaced { stands: false, .. }), "{noted:?}");
    let standing = place.log.readings(&Filter::default()).unwrap();
    assert_eq!((standing.len(), standing[0].amount.as_ref()), (1, Some(&own)));
}

#[test]
fn a_photo_is_logged_whole_or_not_at_all() {
    let mut place = Place::new();
    let mut look = place.look(&[("A", "nitrite", 0.5), ("B", "nitrate", 20.0)]);
    // An amount of another analyte than its test's: the log refuses it.
    look.reading.samples[1].outcome = look.reading.samples[0].outcome.clone();
    let e = place.enter(&kit(Kind::Vial, "first"), &look, false).unwrap_err();
    assert_eq!((e.code(), e.fault()), ("entry-unfit", Fault::Asked));
    assert_eq!(place.log.readings(&Filter::default()).unwrap(), []);
    assert_eq!(place.log.journal(10).unwrap().len(), 1, "the tank alone");
}

#[test]
fn the_card_that_serves_is_the_kits() {
    let place = Place::new();
    let (home, layout) = (&place.home, Layout::first());
    let mut kit = kit(Kind::Vial, "first").value;
    let serves = |given, kit: &Kit| home.card_for(given, kit, &layout).map(|c| (c.name, c.foreign));
    let named = |name: &str, foreign| Ok((Some(name.to_string()), foreign));
    let code = |r: Result<_, intake::IntakeError>| r.map_err(|e| e.code());
    let enrolled = |name: &str, note: &str| {
        let colours = Reference::nominal(&layout).colours.into_iter();
        let patch = |(p, colour): (&Patch, _)| PatchColour { name: p.name.clone(), colour, scatter: None };
        let card = Enrolment {
            layout: layout.layout,
            number: None,
            date: "2026-01-01".parse().unwrap(),
            note: Some(note.to_string()),
            origin: Origin::Measured,
            photos: Vec::new(),
            paper: None,
            patches: layout.patches.iter().zip(colours).map(patch).collect(),
        };
        home.put_card(name, card).unwrap()
    };
    // Nothing enrolled, nothing calibrated: nominal colours, and no other card to be foreign to.
    assert_eq!(code(serves(None, &kit)), Ok((None, false)));
    let first = enrolled("first", "a");
    assert_eq!(code(serves(None, &kit)), named("first", false));
    enrolled("second", "b");
    assert_eq!(code(serves(None, &kit)), Err("name-ambiguous"));
    assert_eq!(code(serves(Some("second"), &kit)), named("second", false));
    // Calibrated: the colours are in its card's space.
    let nitrite = Swatch {
        value: 0.0,
        value_sd: None,
        source: Source::Standard,
        lab: [95.0, 0.0, 2.0],
        cov: [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]],
        photo: String::new(),
        station: String::new(),
        light: Vec::new(),
        taken: None,
        clear: None,
    };
    kit.add_swatches("nitrite", vec![nitrite]).unwrap();
    assert_eq!(code(serves(None, &kit)), Ok((None, false)), "calibrated without an enrolled card");
    assert_eq!(code(serves(Some("first"), &kit)), named("first", true));
    kit.card = Some(first.revision.as_str().to_string());
    assert_eq!(code(serves(None, &kit)), named("first", false));
    assert_eq!(code(serves(Some("second"), &kit)), named("second", true));
    // Enrolled anew, it is the same card.
    let anew = enrolled("first", "c");
    let now = home.card_for(None, &kit, &layout).unwrap();
    assert_eq!((now.reference.revision.as_deref(), now.foreign), (Some(anew.revision.as_str()), false));
    // Its card is not here.
    kit.card = Some("0".repeat(64));
    assert_eq!(code(serves(None, &kit)), Err("name-ambiguous"));
    assert_eq!(code(serves(Some("first"), &kit)), named("first", true));
}
