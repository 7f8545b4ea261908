//! Danger now, in three levels.

use super::book::{Animals, Book, Happened, Kind, Measured, Shown, Water, hours};
use super::doubt::number;
use super::evidence::{Evidence, Weight, looks_none};
use super::rules::*;
use super::statement::Statement;
use crate::water::{Span, after_change, chloramine_ammonia, free_ammonia};
use jiff::{SignedDuration, Timestamp};

/// How bad. Words and symbols, never colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Nothing above the limits was shown.
    None,
    Caution,
    Danger,
    Urgent,
}

impl Level {
    /// All levels.
    pub const ALL: [Self; 4] = [Self::None, Self::Caution, Self::Danger, Self::Urgent];

    /// Stable text form, and the word for people.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Caution => "caution",
            Self::Danger => "danger",
            Self::Urgent => "urgent",
        }
    }

    /// A symbol that needs no colour.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::None => "-",
            Self::Caution => "!",
            Self::Danger => "!!",
            Self::Urgent => "!!!",
        }
    }

    pub(super) fn of(x: f64, from: [f64; 3]) -> Self {
        Self::ALL[from.iter().filter(|f| x >= **f).count()]
    }

    fn lower(self) -> Self {
        Self::ALL[(self as usize).saturating_sub(1)]
    }
}

/// What may harm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hazard {
    FreeAmmonia,
    Nitrite,
    Nitrate,
    Ph,
    Temperature,
    Alkalinity,
}

impl Hazard {
    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::FreeAmmonia => "free-ammonia",
            Self::Nitrite => "nitrite",
            Self::Nitrate => "nitrate",
            Self::Ph => "pH",
            Self::Temperature => "temperature",
            Self::Alkalinity => "alkalinity",
        }
    }
}

/// One thing that may harm, as last shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What.
    pub hazard: Hazard,
    /// The level shown.
    pub level: Level,
    /// A worse level that the bounds do not exclude: act as for it, test now.
    pub may_be: Option<Level>,
    /// Since when nothing is known any more: the result is past its time, or in doubt.
    pub unknown_since: Option<Timestamp>,
    /// The numbers, and what they rest on.
    pub statement: Statement,
    /// Bounds, in the unit of the rule.
    pub span: Option<Span>,
}

impl Line {
    /// The level to act as for.
    pub fn act_as(&self) -> Level {
        self.may_be.unwrap_or(self.level)
    }

    /// Whether nothing worse than none was shown, and that not surely or too long ago.
    pub fn is_unknown(&self) -> bool {
        self.act_as() == Level::None && self.unknown_since.is_some()
    }

    /// Its sign: that of the level to act as for, or that nothing is known.
    pub fn symbol(&self) -> &'static str {
        if self.is_unknown() { "?" } else { self.act_as().symbol() }
    }

    /// The level in words.
    pub fn words(&self) -> String {
        let mut out = match self.may_be {
            _ if self.is_unknown() => "unknown".to_string(),
            None => self.level.as_str().to_string(),
            Some(may) => format!("{}, may be {}", self.level.as_str(), may.as_str()),
        };
        if self.level > Level::None && self.unknown_since.is_some() {
            out.push_str(", result out of date");
        }
        out
    }
}

/// All of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Danger {
    /// The worst level shown.
    pub level: Level,
    /// A worse one that is not excluded.
    pub may_be: Option<Level>,
    /// Since when something that must be known is not, the earliest.
    pub unknown_since: Option<Timestamp>,
    /// Whether ammonia or nitrite was never tested though animals are there or may be.
    pub untested: bool,
    /// Said where no animals are in the tank: then nothing is judged.
    pub no_animals: Option<Statement>,
    /// Each, worst first.
    pub lines: Vec<Line>,
}

impl Danger {
    /// Whether nothing worse than none was shown, and that not for all that must be known either.
    pub fn is_unknown(&self) -> bool {
        self.act_as() == Level::None && (self.untested || self.unknown_since.is_some())
    }

    /// As [`Line::symbol`].
    pub fn symbol(&self) -> &'static str {
        if self.is_unknown() { "?" } else { self.act_as().symbol() }
    }

    /// In words.
    pub fn words(&self) -> String {
        if self.no_animals.is_some() {
            return "none: no animals are logged to be in the tank".to_string();
        }
        let mut out = match (self.level, self.may_be) {
            (Level::None, None) if self.is_unknown() => "unknown".to_string(),
            (Level::None, None) => "nothing above the limits was shown".to_string(),
            (level, None) => level.as_str().to_string(),
            (Level::None, Some(may)) => format!("may be {}", may.as_str()),
            (level, Some(may)) => format!("{}, may be {}", level.as_str(), may.as_str()),
        };
        if self.level > Level::None && self.unknown_since.is_some() {
            out.push_str(", results out of date");
        }
        out
    }

    /// The level to act as for.
    pub fn act_as(&self) -> Level {
        self.may_be.unwrap_or(self.level)
    }

    /// The line of one hazard.
    pub fn line(&self, hazard: Hazard) -> Option<&Line> {
        self.lines.iter().find(|l| l.hazard == hazard)
    }
}

/// Danger at `now`; `useful` is for how many hours a result of ammonia or nitrite is of use at this stage.
pub(super) fn danger(book: &Book, evidence: &Evidence<'_>, useful: f64, now: Timestamp) -> Danger {
    let animals = book.animals(now);
    if animals == Animals::None {
        let none = Statement::new(Rule::NoAnimals, "No animals are logged to be in the tank.");
        let count =
            book.events.iter().rfind(|e| matches!(e.what, Happened::AnimalsCounted(_) | Happened::AnimalsRemoved(_)));
        return Danger {
            level: Level::None,
            may_be: None,
            unknown_since: None,
            untested: false,
            no_animals: Some(none.on_all(count)),
            lines: Vec::new(),
        };
    }
    let look = Look { book, evidence, useful, now };
    let mut lines: Vec<Line> =
        [look.ammonia(), look.nitrite(), look.nitrate(), look.ph(), look.temperature(), look.alkalinity()]
            .into_iter()
            .flatten()
            .collect();
    lines.sort_by_key(|l| std::cmp::Reverse((l.act_as(), l.level)));
    let level = lines.iter().map(|l| l.level).max().unwrap_or(Level::None);
    let may_be = lines.iter().filter_map(|l| l.may_be).max().filter(|m| *m > level);
    let must = |l: &&Line| matches!(l.hazard, Hazard::FreeAmmonia | Hazard::Nitrite);
    let unknown_since = lines.iter().filter(must).filter_map(|l| l.unknown_since).min();
    let untested = lines.iter().filter(must).count() < 2;
    Danger { level, may_be, unknown_since, untested, no_animals: None, lines }
}

struct Look<'b> {
    book: &'b Book,
    evidence: &'b Evidence<'b>,
    useful: f64,
    now: Timestamp,
}

/// Levels of bounds: the best value decides, the upper bound makes at least a caution, and what it does not exclude 'may be'.
fn judge(span: &Span, from: [f64; 3]) -> (Level, Option<Level>) {
    let best = Level::of(span.best.unwrap_or(span.low), from);
    let high = Level::of(span.high, from);
    let level = best.max(high.min(Level::Caution));
    (level, Some(high).filter(|h| *h > level))
}

/// Bounds in words.
pub(super) fn bounds(span: &Span, unit: &str) -> String {
    let n = |x: f64| crate::water::significant(x, 2);
    match (span.best, span.is_open()) {
        (_, true) => format!("{} {unit} or more", n(span.low)),
        (Some(b), _) if span.low == span.high => format!("{} {unit}", n(b)),
        (Some(b), _) => format!("{} {unit} ({} to {})", n(b), n(span.low), n(span.high)),
        (None, _) if span.low == 0.0 => format!("at most {} {unit}", n(span.high)),
        (None, _) => format!("{} to {} {unit}", n(span.low), n(span.high)),
    }
}

impl Look<'_> {
    /// When a result stops being of use, if that is past; at once where it shows none but is in doubt.
    fn unknown(&self, r: &Measured, level: Level) -> Option<Timestamp> {
        let useful = match level {
            Level::None => self.useful,
            Level::Urgent => self.useful.min(retest::URGENT),
            _ => self.useful.min(retest::DANGER),
        };
        let until = r.at.checked_add(SignedDuration::from_secs_f64(useful * 3600.0)).unwrap_or(r.at);
        if self.evidence.weight(r) < Weight::Full && (level == Level::None || looks_none(r)) {
            return Some(r.at);
        }
        (until < self.now).then_some(until)
    }

    fn last(&self, kind: Kind) -> Option<&Measured> {
        self.evidence.of_kind(kind).next_back()
    }

    fn line(&self, r: &Measured, hazard: Hazard, span: Span, judged: (Level, Option<Level>), said: Statement) -> Line {
        let unknown_since = self.unknown(r, judged.0);
        Line { hazard, level: judged.0, may_be: judged.1, unknown_since, statement: said, span: Some(span) }
    }

    fn ammonia(&self) -> Option<Line> {
        let r = self.last(Kind::Ammonia)?;
        let (conditions, with) = self.book.conditions(r.at);
        let free = free_ammonia(&r.span, &conditions).ok()?;
        let mut judged = judge(&free, FREE_AMMONIA);
        let open_ph = conditions.ph.span().is_open();
        let mut words = if open_ph {
            format!("Free ammonia at least {} mg/L NH3-N: ", crate::water::significant(free.low, 2))
        } else {
            format!("Free ammonia {}: ", bounds(&free, "mg/L NH3-N"))
        };
        words.push_str(&format!("total {}", r.words));
        if let Some(rule) = self.evidence.doubt(r).filter(|_| looks_none(r)) {
            words.push_str(&format!("; {} [{}]", super::doubt::WORDS, rule.code()));
        }
        words.push('.');
        let missing: Vec<&str> =
            [(conditions.ph, "pH"), (conditions.temperature, "temperature"), (conditions.salinity, "salinity")]
                .iter()
                .filter(|(k, _)| k.is_assumed())
                .map(|(_, name)| *name)
                .collect();
        if !missing.is_empty() {
            words.push_str(&format!(" A range because nobody measured {}: measure it.", missing.join(", ")));
        }
        if open_ph {
            words.push_str(" The pH is above its scale: read it with a test of a higher range.");
        }
        let bound = self.conditioner(r.at);
        if bound.is_some() {
            words.push_str(
                " It may be bound by the conditioner: do not add more on this result alone, watch nitrite, test again \
                 when 24 to 48 hours have passed.",
            );
        }
        let tap = self.tap_explains(r);
        if let Some((expected, _)) = tap {
            words.push_str(&format!(
                " Explained by the tap: chloramine in the new water brings {} mg/L N. It is ammonia all the same.",
                number(expected)
            ));
        }
        // In doubt it may alarm; none in doubt is unknown, see `unknown`.
        if r.shown == Shown::Above {
            judged.1 = judged.1.or(Some(Level::Urgent).filter(|u| *u > judged.0));
        }
        let rule = if bound.is_some() { Rule::BoundAmmonia } else { Rule::FreeAmmonia };
        let said = Statement::new(rule, words).on(r).on_all(with).on_all(bound).on_all(tap.map(|t| t.1));
        Some(self.line(r, Hazard::FreeAmmonia, free, judged, said))
    }

    /// A conditioner in the two days before.
    fn conditioner(&self, at: Timestamp) -> Option<&super::book::Happening> {
        let recent = |e: &&super::book::Happening| (0.0..=BOUND_HOURS).contains(&hours(e.at, at));
        self.book.events.iter().rfind(|e| matches!(e.what, Happened::Conditioner { binds: true }) && recent(e))
    }

    /// mg/L N that a water change of the last day brought as chloramine, where that explains the reading.
    fn tap_explains(&self, r: &Measured) -> Option<(f64, &super::book::Happening)> {
        let tap = self.book.tap(Kind::Chlorine)?;
        let change = self
            .book
            .events
            .iter()
            .rfind(|e| matches!(e.what, Happened::Changed(Some(_))) && (0.0..=24.0).contains(&hours(e.at, r.at)))?;
        let Happened::Changed(Some(share)) = change.what else { return None };
        let expected = after_change(0.0, chloramine_ammonia(tap.span.middle()), share).ok()?;
        // Within half of what is expected, the error of a colour test.
        (r.span.low <= expected * 1.5 && expected > 0.02 && !looks_none(r)).then_some((expected, change))
    }

    fn nitrite(&self) -> Option<Line> {
        let r = self.last(Kind::Nitrite)?;
        let from = if self.book.facts.water == Water::Marine { NITRITE_MARINE } else { NITRITE_FRESH };
        let (mut level, mut may_be) = judge(&r.span, from);
        if looks_none(r) {
            (level, may_be) = (Level::None, None);
        }
        let mut words = format!("Nitrite {}.", r.words);
        let chloride = self.last(Kind::Chloride).filter(|_| self.book.facts.water == Water::Fresh);
        let held = chloride.filter(|c| level > Level::None && c.span.low >= 10.0 * r.span.high);
        if let Some(c) = held {
            let ratio = c.span.middle() / r.span.middle();
            (level, may_be) = (level.lower(), may_be.map(Level::lower).filter(|m| *m > level.lower()));
            words.push_str(&format!(
                " One level lower because of chloride: {} mg for each mg of nitrite, at least 10 hold it off fish.",
                number(ratio)
            ));
        }
        if let Some(rule) = self.evidence.doubt(r).filter(|_| looks_none(r)) {
            words.push_str(&format!(" Nitrite: {} [{}].", super::doubt::WORDS, rule.code()));
        }
        let said = Statement::new(Rule::NitriteLevel, words).on(r).on_all(held);
        Some(self.line(r, Hazard::Nitrite, r.span, (level, may_be), said))
    }

    fn nitrate(&self) -> Option<Line> {
        let r = self.last(Kind::Nitrate)?;
        let from = if self.book.facts.water == Water::Marine { NITRATE_MARINE } else { NITRATE_FRESH };
        let x = r.span.middle();
        // The first line is for notice; nitrate harms slowly, so nothing here is urgent.
        let level = match Level::of(x, from) {
            Level::None | Level::Caution => Level::None,
            Level::Danger => Level::Caution,
            Level::Urgent => Level::Danger,
        };
        let words = format!("Nitrate {}; usually kept below {} mg/L.", r.words, number(from[1]));
        let mut line =
            self.line(r, Hazard::Nitrate, r.span, (level, None), Statement::new(Rule::NitrateLevel, words).on(r));
        let until = r.at + SignedDuration::from_hours(retest::ESTABLISHED as i64 * 2);
        line.unknown_since = (until < self.now).then_some(until);
        Some(line)
    }

    fn ph(&self) -> Option<Line> {
        let r = self.last(Kind::Ph)?;
        let usual = usual_ph(self.book.facts.water);
        let beyond = |s: &Span| s.high < usual.0 || s.low > usual.1;
        let out = beyond(&r.span) || r.other.as_ref().is_some_and(beyond);
        let level = if out { Level::Caution } else { Level::None };
        let words = format!("{}; usual are {} to {}. Change it slowly or not at all.", r.words, usual.0, usual.1);
        out.then(|| self.line(r, Hazard::Ph, r.span, (level, None), Statement::new(Rule::PhRange, words).on(r)))
    }

    fn temperature(&self) -> Option<Line> {
        let r = self.last(Kind::Temperature)?;
        let before = self.evidence.of_kind(Kind::Temperature).rfind(|b| b.at < r.at && hours(b.at, r.at) <= 24.0)?;
        let (rise, fall) = (r.span.low - before.span.high, before.span.low - r.span.high);
        (rise > 2.0 || fall > 1.0).then(|| {
            let by = number(rise.max(fall));
            let way = if rise > fall { "rose" } else { "fell" };
            let words = format!("Temperature {way} by at least {by} °C within a day: check heater and thermometer.");
            let said = Statement::new(Rule::TemperatureSwing, words).on(before).on(r);
            self.line(r, Hazard::Temperature, r.span, (Level::Caution, None), said)
        })
    }

    fn alkalinity(&self) -> Option<Line> {
        let of: Vec<&Measured> = self.evidence.of_kind(Kind::Alkalinity).collect();
        let r = *of.last()?;
        let before = of.iter().rev().nth(1).filter(|b| b.span.low > r.span.high && hours(b.at, r.at) <= 28.0 * 24.0);
        let low = r.span.middle() < LOW_ALKALINITY;
        (low || (before.is_some() && r.span.middle() < LOW_ALKALINITY + 1.0)).then(|| {
            let fell = before.map_or(String::new(), |b| format!(", down from {}", b.words));
            let words = format!("Alkalinity {}{fell}: the pH can fall suddenly. Change water in small steps.", r.words);
            let said = Statement::new(Rule::AlkalinityLow, words).on_all(before.copied()).on(r);
            self.line(r, Hazard::Alkalinity, r.span, (Level::Caution, None), said)
        })
    }
}
