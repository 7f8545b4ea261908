//! A book from the log.

use super::book::{Book, Facts, Happened, Happening, Kind, Measured, Shown, Timing, Water, Whose};
use super::rules::WINDOW_MINUTES;
use crate::log::happening::{Ammonia, Happening as Logged, PlantChange, Strength as Of, TankFacts};
use crate::log::{Event, Filter, Log, LogError, Reading, Status, Tank, Target, WaterKind};
use crate::water::{
    Amount, Analyte, Span, Species, Strength, Unit, ammonia_of_chloride, ammonia_of_solution, significant,
};

/// What a kit knows about a test, and the log does not.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TestFacts {
    /// Minutes from the last drop to the reading.
    pub wait_minutes: Option<f64>,
    /// The first standard above none, in the unit in which the analyte is compared.
    pub first_standard: Option<f64>,
}

impl TestFacts {
    /// Whether a colour is read in its time, so many minutes after the last drop.
    pub fn timing(&self, minutes: f64) -> Timing {
        match self.wait_minutes {
            None => Timing::Unknown,
            Some(wait) if minutes < wait => Timing::Early,
            Some(wait) if minutes > wait + WINDOW_MINUTES => Timing::Late,
            Some(_) => Timing::InTime,
        }
    }
}

impl Book {
    /// The book of a tank: its readings and events that stand, those of the tap, and those of the whole household. `facts` tells
    /// what the kit of a reading knows.
    pub fn of(log: &Log, tank: &Tank, facts: &dyn Fn(&Reading) -> TestFacts) -> Result<Self, LogError> {
        let mut book = Self::new(Facts::new(&tank.name, water(tank.water)));
        book.facts.litres = tank.volume_l;
        for reading in log.readings(&Filter::default())? {
            let whose = match reading.sample.target {
                Target::Tank(id) if id == tank.id => Whose::Tank,
                Target::Tap => Whose::Tap,
                _ => continue,
            };
            book.take(&reading, whose, facts);
        }
        // Facts first: a dose is counted in the volume of the tank.
        let events = log.events(None)?;
        let of_tank = |e: &&Event| e.tank.is_none_or(|id| id == tank.id) || e.other_tank() == Some(tank.id);
        for e in events.iter().filter(of_tank) {
            match e.happening() {
                Logged::TankDescribed { facts } => book.describe(&facts),
                Logged::DeclaredEstablished {} => book.facts.established = Some(e.at.instant),
                _ => {}
            }
        }
        for e in events.iter().filter(of_tank) {
            book.happens(e, tank);
        }
        Ok(book)
    }

    fn describe(&mut self, facts: &TankFacts) {
        let own = &mut self.facts;
        own.water = facts.water.map_or(own.water, water);
        own.litres = facts.volume_l.or(own.litres);
        own.planted = facts.planted.or(own.planted);
        // Kept at, not measured: half a degree and half a gram either way.
        let about = |x: f64| Span { low: (x - 0.5).max(0.0), best: Some(x), high: x + 0.5 };
        own.salinity = facts.salinity_g_kg.map(about).or(own.salinity);
        own.temperature = facts.celsius.map(about).or(own.temperature);
    }

    fn take(&mut self, reading: &Reading, whose: Whose, facts: &dyn Fn(&Reading) -> TestFacts) {
        let Some(kind) = kind(&reading.test.analyte) else { return };
        let at = reading.sample.at().instant;
        let may_alarm = reading.may_alarm();
        let Some((span, shown)) = reading.canonical.as_ref().and_then(|a| bounds(a, kind)).filter(|_| may_alarm) else {
            if (reading.status == Status::Refused || !may_alarm) && whose == Whose::Tank {
                self.refused.push((at, kind));
            }
            return;
        };
        let facts = facts(reading);
        let first = facts.first_standard.unwrap_or(kind.first_standard());
        let minutes = reading.sample.reagent.zip(reading.sample.photo);
        let minutes = minutes.map(|(r, p)| p.instant.duration_since(r.instant).as_secs_f64() / 60.0);
        self.readings.push(Measured {
            entry: reading.id.short(),
            at,
            kind,
            whose,
            span,
            shown,
            first_standard: first * reading.dilution.map_or(1.0, |d| d.factor()),
            doubtful: !reading.may_reassure(),
            timing: minutes.map_or(Timing::Unknown, |m| facts.timing(m)),
            words: reading.amount.as_ref().map(Amount::to_string).unwrap_or_default(),
            test: format!("{}/{}", reading.test.kit.as_deref().unwrap_or_default(), reading.test.name),
        });
    }

    fn happens(&mut self, e: &Event, tank: &Tank) {
        let (entry, at) = (e.id.short(), e.at.instant);
        let logged = e.happening();
        if let Logged::WaterChange { new_water, .. } = &logged {
            for (analyte, amount) in &new_water.values {
                let found = kind(analyte).zip(amount.canonical().ok());
                let found = found.and_then(|(k, a)| bounds(&a, k).map(|b| (k, b)));
                if let Some((k, (span, shown))) = found {
                    let m = Measured::new(&entry, at, k, span, shown);
                    self.readings.push(Measured { whose: Whose::Tap, words: amount.to_string(), ..m });
                }
            }
        }
        let Some(what) = happened(&logged, tank, self.facts.litres) else { return };
        self.events.push(Happening { entry, at, what, words: words(&logged, what, e.note.as_deref()) });
    }
}

fn water(kind: WaterKind) -> Water {
    match kind {
        WaterKind::Fresh => Water::Fresh,
        WaterKind::Brackish => Water::Brackish,
        WaterKind::Marine => Water::Marine,
    }
}

fn kind(analyte: &Analyte) -> Option<Kind> {
    Some(match analyte {
        Analyte::Ammonia => Kind::Ammonia,
        Analyte::Nitrite => Kind::Nitrite,
        Analyte::Nitrate => Kind::Nitrate,
        Analyte::Ph => Kind::Ph,
        Analyte::Alkalinity => Kind::Alkalinity,
        Analyte::Hardness => Kind::Hardness,
        Analyte::Temperature => Kind::Temperature,
        Analyte::Salinity => Kind::Salinity,
        Analyte::Other(name) if name == "chloride" => Kind::Chloride,
        Analyte::Other(name) if name == "chlorine" || name == "total chlorine" => Kind::Chlorine,
        _ => return None,
    })
}

/// Bounds in the unit of `kind`, from the unit in which the analyte is compared.
fn bounds(amount: &Amount, kind: Kind) -> Option<(Span, Shown)> {
    let amount = match kind {
        Kind::Alkalinity | Kind::Hardness => amount.to(&Unit::german_degree()).ok()?,
        _ => amount.clone(),
    };
    let shown = match amount {
        Amount::Measured { .. } => Shown::Some,
        Amount::NotDetected { .. } => Shown::None,
        Amount::Above { .. } => Shown::Above,
        Amount::Below { .. } => Shown::Below,
    };
    Some((Span::of(&amount), shown))
}

/// What it is to the rules; none for what says nothing about the tank's water.
fn happened(logged: &Logged, tank: &Tank, litres: Option<f64>) -> Option<Happened> {
    Some(match logged {
        Logged::FishAdded { stock } => Happened::AnimalsAdded(stock.number),
        Logged::FishRemoved { stock } => Happened::AnimalsRemoved(stock.number),
        Logged::FishDied { stock } => Happened::AnimalDied(stock.number),
        Logged::FishCounted { stock } => match (stock.number, &stock.species) {
            (Some(n), None) => Happened::AnimalsCounted(n),
            // None of one kind says nothing of the others.
            (Some(0), Some(_)) => return None,
            _ => Happened::AnimalsAdded(None),
        },
        Logged::Feeding { grams, .. } => Happened::Fed(*grams),
        Logged::MediaAdded { .. } => Happened::MediaAdded,
        Logged::MediaRemoved { .. } => Happened::MediaRemoved,
        Logged::MediaRinsed { .. } => Happened::MediaRinsed,
        Logged::MediaMoved { to, .. } => Happened::MediaMoved { into: *to == tank.id },
        Logged::DecorRemoved { .. } => Happened::DecorRemoved,
        Logged::WaterChange { litres: changed, share, .. } => {
            Happened::Changed(share.or(changed.zip(litres).map(|(c, l)| c / l)).filter(|s| (0.0..=1.0).contains(s)))
        }
        Logged::TopUp { .. } => Happened::ToppedUp,
        Logged::AmmoniaDosed { dose } => Happened::Dosed(dosed(dose, litres)),
        Logged::Conditioner { binds_ammonia, .. } => Happened::Conditioner { binds: binds_ammonia.unwrap_or(true) },
        Logged::Buffer { .. } => Happened::Buffer,
        Logged::Salt { .. } => Happened::Salt,
        Logged::Medicine { .. } => Happened::Medicine,
        Logged::PowerCut { hours } => Happened::PowerCut(*hours),
        Logged::FilterOff { hours } => Happened::FilterOff(*hours),
        Logged::HeaterFault { .. } => Happened::HeaterFault,
        Logged::Plants { change: Some(PlantChange::Removed | PlantChange::Trimmed), .. } => Happened::Other,
        Logged::Plants { .. } => Happened::Plants,
        Logged::Symptom { .. } => Happened::Symptom,
        Logged::SymptomOver {} => Happened::SymptomOver,
        Logged::Note {} => Happened::Other,
        Logged::DeclaredEstablished {} | Logged::TankDescribed { .. } | Logged::Other { .. } => return None,
    })
}

/// mg/L NH₃-N that a dose makes, where that can be told.
fn dosed(dose: &Ammonia, litres: Option<f64>) -> Option<f64> {
    match dose {
        Ammonia::Solution { ml, percent, strength } => {
            let percent = (*percent)?;
            // Not said is by weight: labels mostly are, and at household strengths the two differ by 4 %.
            let strength = match strength {
                Some(Of::ByVolume) => Strength::ByVolume { percent },
                Some(Of::ByWeight) | None => Strength::by_weight(percent).ok()?,
            };
            ammonia_of_solution(*ml, litres?, strength).ok()
        }
        Ammonia::Chloride { grams } => ammonia_of_chloride(*grams, litres?).ok(),
        Ammonia::Concentration { value, unit } => {
            let q = crate::water::Quantity::new(*value, unit.clone());
            q.to(&Unit::mg_l(Species::AmmoniaN)).ok().map(|q| q.value)
        }
        Ammonia::Unknown => None,
    }
}

/// The kind in plain words with its number, and the keeper's note behind a colon.
fn words(logged: &Logged, what: Happened, note: Option<&str>) -> String {
    let mut out = logged.kind().replace('-', " ");
    let n = |x: f64| significant(x, 3);
    match what {
        Happened::Dosed(Some(x)) => out.push_str(&format!(" {} mg/L N", n(x))),
        Happened::Changed(Some(share)) => out.push_str(&format!(" {} %", n(share * 100.0))),
        Happened::Fed(Some(g)) => out.push_str(&format!(" {} g", n(g))),
        Happened::PowerCut(Some(h)) | Happened::FilterOff(Some(h)) => out.push_str(&format!(" {} h", n(h))),
        Happened::AnimalsAdded(Some(x)) | Happened::AnimalsRemoved(Some(x)) | Happened::AnimalDied(Some(x)) => {
            out.push_str(&format!(" {x}"));
        }
        Happened::AnimalsCounted(x) => out.push_str(&format!(" {x}")),
        _ => {}
    }
    match (logged, note) {
        (_, Some(note)) => format!("{out}: {note}"),
        (Logged::Symptom { seen: Some(seen) }, None) => format!("{out}: {seen}"),
        _ => out,
    }
}
