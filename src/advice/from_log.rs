//! A book from the log.

use super::book::{Book, Facts, Happened, Happening, Kind, Measured, Shown, Timing, Water, Whose};
use crate::log::happening::{Ammonia, Happening as Logged, PlantChange, Strength as Of, TankFacts};
use crate::log::{
    Event, Filter, Log, LogError, Origin, Reading, ReadingTime, Status, Tank, Target, WINDOW_MINUTES, WaterKind,
};
use crate::water::{
    Amount, Analyte, Span, Species, Strength, Unit, ammonia_of_chloride, ammonia_of_solution, significant,
};
use std::cmp::Ordering;

/// What a kit knows about a test, and the log does not.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TestFacts {
    /// Minutes from the last drop to the reading.
    pub wait_minutes: Option<f64>,
    /// Minutes after that in which the colour still counts.
    pub window_minutes: Option<f64>,
    /// The first standard above none, in the unit in which the analyte is compared.
    pub first_standard: Option<f64>,
}

impl TestFacts {
    /// Whether a colour is read in its time, so many minutes after the last drop.
    pub fn timing(&self, minutes: f64) -> Timing {
        let Some(wait) = self.wait_minutes else { return Timing::Unknown };
        match (ReadingTime { wait, window: self.window_minutes.unwrap_or(WINDOW_MINUTES) }).judge(minutes) {
            Ordering::Less => Timing::Early,
            Ordering::Equal => Timing::InTime,
            Ordering::Greater => Timing::Late,
        }
    }
}

impl Book {
    /// The book of a tank: its readings and events that stand, those of the tap, and those of the whole household. `facts` tells
    /// what the kit of a reading knows.
    pub fn of(log: &Log, tank: &Tank, facts: &dyn Fn(&Reading) -> TestFacts) -> Result<Self, LogError> {
        let mut book = Self::new(Facts::new(&tank.name, water(tank.water)));
        book.facts.litres = tank.volume_l;
        for reading in log.samples(&Filter::default(), &|r| facts(r).window_minutes)? {
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

    pub(super) fn take(&mut self, reading: &Reading, whose: Whose, facts: &dyn Fn(&Reading) -> TestFacts) {
        let Some(kind) = Kind::of(&reading.test.analyte) else { return };
        let (reading, other) = overruled(reading, kind);
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
            other: other.and_then(|o| o.canonical.as_ref()).and_then(|a| bounds(a, kind)).map(|(span, _)| span),
            first_standard: first * reading.dilution.map_or(1.0, |d| d.factor()),
            doubtful: other.is_some() || !reading.may_reassure(),
            timing: minutes.map_or(Timing::Unknown, |m| facts.timing(m)),
            words: words_of(reading, other),
            test: format!("{}/{}", reading.test.kit.as_deref().unwrap_or_default(), reading.test.name),
        });
    }

    fn happens(&mut self, e: &Event, tank: &Tank) {
        let (entry, at) = (e.id.short(), e.at.instant);
        let logged = e.happening();
        if let Logged::WaterChange { new_water, .. } = &logged {
            for (analyte, amount) in &new_water.values {
                if let Some((k, span, shown)) = canonical(analyte, amount) {
                    let m = Measured::new(&entry, at, k, span, shown);
                    self.readings.push(Measured { whose: Whose::Tap, words: amount.to_string(), ..m });
                }
            }
        }
        let Some(what) = happened(&logged, tank, self.facts.litres) else { return };
        self.events.push(Happening { entry, at, what, words: words(&logged, what, e.note.as_deref()) });
    }
}

/// Which of a judgement of the keeper's own and what the photo said counts, and the other one. The keeper may say that it is worse;
/// that it is better is shown only by a new sample. What does harm by being much is worse the higher it is; of anything else the
/// photo counts, and the other is held beside it.
fn overruled(reading: &Reading, kind: Kind) -> (&Reading, Option<&Reading>) {
    let Some(before) = reading.instead_of.as_deref().filter(|b| b.canonical.is_some() && b.may_alarm()) else {
        return (reading, None);
    };
    let high = |r: &Reading| r.canonical.as_ref().map(|a| (Span::of(a).high, a.level().value));
    let harms = matches!(kind, Kind::Ammonia | Kind::Nitrite | Kind::Nitrate | Kind::Chlorine);
    if harms && high(reading) >= high(before) { (reading, Some(before)) } else { (before, Some(reading)) }
}

/// The amount in words, with what stands against it.
fn words_of(reading: &Reading, other: Option<&Reading>) -> String {
    let said = |r: &Reading| r.amount.as_ref().map(Amount::to_string).unwrap_or_default();
    match other {
        None => said(reading),
        Some(other) if other.origin == Origin::Correction => {
            format!(
                "{} before it was corrected by hand to {}, which a new sample must show",
                said(reading),
                said(other)
            )
        }
        Some(other) => format!("{} by hand, {} before", said(reading), said(other)),
    }
}

fn water(kind: WaterKind) -> Water {
    match kind {
        WaterKind::Fresh => Water::Fresh,
        WaterKind::Brackish => Water::Brackish,
        WaterKind::Marine => Water::Marine,
    }
}

/// What an amount of an analyte is in the book: its kind, its bounds in that kind's unit, its form. None for what no rule counts with.
pub(super) fn canonical(analyte: &Analyte, amount: &Amount) -> Option<(Kind, Span, Shown)> {
    let kind = Kind::of(analyte)?;
    let (span, shown) = bounds(&amount.canonical().ok()?, kind)?;
    Some((kind, span, shown))
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
