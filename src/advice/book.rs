//! A tank's book: what the log says of one tank, as bounded numbers and typed events. Made from the log or written by hand.

pub use super::kind::Kind;
use crate::water::{Celsius, Conditions, Known, Ph, Salinity, Span, unknown};
use jiff::Timestamp;

/// Kind of water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Water {
    Fresh,
    Brackish,
    Marine,
}

/// What lives in a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Animals {
    /// Nobody said: counts as present.
    Unknown,
    /// The keeper said so.
    None,
    /// Fish or other animals.
    Present,
}

/// What is known about the tank itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Its name.
    pub name: String,
    /// Its water.
    pub water: Water,
    /// Litres of water.
    pub litres: Option<f64>,
    /// g/kg, where it was stated.
    pub salinity: Option<Span>,
    /// °C it is usually kept at, where it was stated.
    pub temperature: Option<Span>,
    /// Whether plants grow in it.
    pub planted: Option<bool>,
    /// Animals before the first event that tells of them.
    pub animals: Animals,
    /// Since when the keeper declares it established.
    pub established: Option<Timestamp>,
}

impl Facts {
    /// A tank of which nothing else is known.
    pub fn new(name: &str, water: Water) -> Self {
        Self {
            name: name.to_string(),
            water,
            litres: None,
            salinity: None,
            temperature: None,
            planted: None,
            animals: Animals::Unknown,
            established: None,
        }
    }
}

/// Whose water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    Tank,
    Tap,
}

/// Which form the result had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// A value with its bounds.
    Some,
    /// Less than the test can see.
    None,
    /// More than the scale holds.
    Above,
    /// Less than a scale without zero holds.
    Below,
}

/// Whether the colour was read in its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Timing {
    /// Nobody said when the reagent went in.
    Unknown,
    InTime,
    /// Likely low.
    Early,
    /// Likely high.
    Late,
}

/// A reading as a bounded number.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Its entry in the log.
    pub entry: String,
    /// When the water was drawn.
    pub at: Timestamp,
    /// Of what.
    pub kind: Kind,
    /// Whose water.
    pub whose: Whose,
    /// Bounds, in the unit of `kind`.
    pub span: Span,
    /// Its form.
    pub shown: Shown,
    /// Bounds that somebody else sees in the same sample: the keeper in the place of the photo. They may make things worse.
    pub other: Option<Span>,
    /// The test's first standard above none.
    pub first_standard: f64,
    /// Whether a finding bars it from reassuring.
    pub doubtful: bool,
    /// Whether it was read in its time.
    pub timing: Timing,
    /// The amount in the words of the log, with its unit and basis.
    pub words: String,
    /// Which test: results of one test are compared with one another.
    pub test: String,
}

impl Measured {
    /// A reading of tank water by a test of the usual first standard.
    pub fn new(entry: &str, at: Timestamp, kind: Kind, span: Span, shown: Shown) -> Self {
        Self {
            entry: entry.to_string(),
            at,
            kind,
            whose: Whose::Tank,
            span,
            shown,
            other: None,
            first_standard: kind.first_standard(),
            doubtful: false,
            timing: Timing::Unknown,
            words: String::new(),
            test: kind.as_str().to_string(),
        }
    }
}

/// What happened to the tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Happened {
    /// Ammonia for a cycle without animals, mg/L NH₃-N where it is known.
    Dosed(Option<f64>),
    /// Food, grams.
    Fed(Option<f64>),
    AnimalsAdded(Option<u32>),
    AnimalsRemoved(Option<u32>),
    AnimalDied(Option<u32>),
    /// Animals counted: so many are there now.
    AnimalsCounted(u32),
    MediaAdded,
    MediaRemoved,
    MediaRinsed,
    /// Media moved in from another tank, or out to it.
    MediaMoved {
        into: bool,
    },
    DecorRemoved,
    /// Share of the water, where it is known.
    Changed(Option<f64>),
    ToppedUp,
    /// Whether it may bind ammonia; not said counts as yes.
    Conditioner {
        binds: bool,
    },
    Buffer,
    Salt,
    Medicine,
    /// Hours, where they are known.
    PowerCut(Option<f64>),
    FilterOff(Option<f64>),
    HeaterFault,
    Plants,
    /// Fish that look or behave wrong.
    Symptom,
    /// The symptom is over.
    SymptomOver,
    Other,
}

/// An event with its time.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// Its entry in the log.
    pub entry: String,
    /// When.
    pub at: Timestamp,
    /// What.
    pub what: Happened,
    /// The log's words for its kind, with the keeper's note.
    pub words: String,
}

impl Happening {
    /// The words without the keeper's note.
    pub fn plain_words(&self) -> &str {
        self.words.split(':').next().unwrap_or_default()
    }
}

/// One tank's facts, readings and events, oldest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Book {
    /// The tank.
    pub facts: Facts,
    /// Readings that stand, without refused ones.
    pub readings: Vec<Measured>,
    /// Events that stand.
    pub events: Vec<Happening>,
    /// When photos were refused, and of which kind.
    pub refused: Vec<(Timestamp, Kind)>,
}

/// `to` − `from` in hours.
pub(super) fn hours(from: Timestamp, to: Timestamp) -> f64 {
    to.duration_since(from).as_secs_f64() / 3600.0
}

/// Hours for which pH, temperature and salinity stand as they were measured, and for which they are used at all.
const FRESH_HOURS: f64 = 48.0;
const OLDEST_HOURS: f64 = 336.0;

/// The span, wider by what such a thing drifts in two weeks where it is older than two days: 0.3 pH, 2 °C, 1 g/kg. A result in
/// doubt may make things worse, not better: its upper end is that of `assumed`, if that is higher.
fn aged(m: &Measured, at: Timestamp, assumed: &Span) -> Span {
    let old = hours(m.at, at).abs() > FRESH_HOURS;
    let (by, range) = match m.kind {
        Kind::Ph => (0.3, Ph::RANGE),
        Kind::Temperature => (2.0, Celsius::RANGE),
        _ => (1.0, Salinity::RANGE),
    };
    let by = if old { by } else { 0.0 };
    let both = m.other.map_or(m.span, |o| Span { low: m.span.low.min(o.low), high: m.span.high.max(o.high), ..m.span });
    // An end of a scale stays without bound; what no formula holds for is brought to where they do.
    let held = |x: f64| if x.is_finite() { x.clamp(range.0, range.1) } else { x };
    let (low, best, high) = (held(both.low - by), both.best.map(held), held(both.high + by));
    if m.doubtful || m.timing == Timing::Early {
        return Span { low: low.min(assumed.low), best: None, high: high.max(assumed.high) };
    }
    Span { low, best, high }
}

impl Book {
    /// A book with nothing in it.
    pub fn new(facts: Facts) -> Self {
        Self { facts, readings: Vec::new(), events: Vec::new(), refused: Vec::new() }
    }

    /// As it stood at `now`: without what comes later, in order of time.
    pub fn until(&self, now: Timestamp) -> Self {
        let mut book = self.clone();
        book.readings.retain(|r| r.at <= now);
        book.events.retain(|e| e.at <= now);
        book.refused.retain(|r| r.0 <= now);
        book.readings.sort_by_key(|r| r.at);
        book.events.sort_by_key(|e| e.at);
        book
    }

    /// Readings of the tank of one kind, oldest first.
    pub(super) fn of_kind(&self, kind: Kind) -> impl DoubleEndedIterator<Item = &Measured> {
        self.readings.iter().filter(move |r| r.kind == kind && r.whose == Whose::Tank)
    }

    /// The last reading of the tap of one kind.
    pub(super) fn tap(&self, kind: Kind) -> Option<&Measured> {
        self.readings.iter().rfind(|r| r.kind == kind && r.whose == Whose::Tap)
    }

    /// Events in `from..=to`.
    pub(super) fn between(&self, from: Timestamp, to: Timestamp) -> impl DoubleEndedIterator<Item = &Happening> {
        self.events.iter().filter(move |e| from <= e.at && e.at <= to)
    }

    /// Animals at a time, after all events up to it.
    pub(super) fn animals(&self, at: Timestamp) -> Animals {
        let mut now = self.facts.animals;
        // A count is known only after the keeper said how many there are, or that there are none.
        let mut count = (now == Animals::None).then_some(0u32);
        for e in self.events.iter().filter(|e| e.at <= at) {
            match e.what {
                Happened::AnimalsAdded(n) => {
                    count = count.zip(n).map(|(c, n)| c.saturating_add(n));
                    now = Animals::Present;
                }
                Happened::AnimalsRemoved(n) | Happened::AnimalDied(n) => {
                    count = count.zip(n).and_then(|(c, n)| c.checked_sub(n));
                    now = if count == Some(0) { Animals::None } else { Animals::Present };
                }
                // A symptom is seen on an animal.
                Happened::Symptom => (now, count) = (Animals::Present, None),
                Happened::AnimalsCounted(n) => {
                    count = Some(n);
                    now = if n == 0 { Animals::None } else { Animals::Present };
                }
                _ => {}
            }
        }
        now
    }

    /// pH, temperature and salinity for a reading at `at`: measured within two days of it, else within two weeks and widened, else
    /// stated for the tank, else the range such tanks have.
    pub(super) fn conditions(&self, at: Timestamp) -> (Conditions, Vec<&Measured>) {
        let near = |kind| {
            self.of_kind(kind)
                .filter(|r| r.timing != Timing::Late && hours(r.at, at).abs() <= OLDEST_HOURS)
                .min_by(|a, b| hours(a.at, at).abs().total_cmp(&hours(b.at, at).abs()))
        };
        let (ph, t, s) = (near(Kind::Ph), near(Kind::Temperature), near(Kind::Salinity));
        let known = |m: Option<&Measured>, stated: Option<Span>, assumed: Span| match (m, stated) {
            (Some(m), _) => Known::Given(aged(m, at, &assumed)),
            (None, Some(stated)) => Known::Given(stated),
            (None, None) => Known::Assumed(assumed),
        };
        let fresh = self.facts.water == Water::Fresh;
        let salinity = match self.facts.water {
            Water::Fresh => Span::exact(0.0),
            Water::Brackish => unknown::SALINITY_BRACKISH,
            Water::Marine => unknown::SALINITY_MARINE,
        };
        let mut salinity = known(s, self.facts.salinity, salinity);
        if fresh && salinity.is_assumed() {
            salinity = Known::Given(Span::exact(0.0));
        }
        let ph_range = if fresh { unknown::PH_FRESH } else { unknown::PH_SALT };
        let conditions = Conditions {
            ph: known(ph, None, ph_range),
            temperature: known(t, self.facts.temperature, unknown::TEMPERATURE),
            salinity,
        };
        (conditions, [ph, t, s].into_iter().flatten().collect())
    }
}
