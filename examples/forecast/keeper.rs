//! Invented keepers: what they dose, test, forget and mix up, and the log they leave.

use super::tank::{Form, Tank, about, normal};
use fastrand::Rng;
use jiff::{SignedDuration, Timestamp};
use tintline::advice::*;
use tintline::water::Span;

/// A log with what it does not hold.
#[derive(Debug, Clone)]
pub struct Log {
    pub book: Book,
    pub form: Form,
    /// The day on which a second dose in a row was truly gone a day later; `None` where it stalls.
    pub finished: Option<f64>,
    /// Every reading without error and every event: what nobody has.
    #[allow(dead_code, reason = "for the test that compares with the proofs")]
    pub whole: Book,
}

/// So many days after the beginning of every log.
pub fn at(day: f64) -> Timestamp {
    let begin = Timestamp::from_second(1_772_388_000).unwrap_or(Timestamp::UNIX_EPOCH);
    begin + SignedDuration::from_secs_f64(day * 86_400.0)
}

/// mg/L of the nitrite ion in 1 mg/L N.
const ION: f64 = 3.284;
/// First standards of the tests.
const FIRST: [f64; 2] = [0.25, 0.25];
pub const LAST_DAY: u32 = 110;

struct Habits {
    dose: f64,
    /// How far all doses are off, and each.
    biased: f64,
    /// Days from test to test before ammonia is gone for the first time.
    every: u32,
    noise: f64,
    /// Reads between two shades, instead of a value.
    shades: bool,
    top: [f64; 2],
    forgets: f64,
    buffers: bool,
}

impl Habits {
    fn new(random: &mut Rng) -> Self {
        Self {
            dose: [1.5, 2.0, 2.0, 3.0, 4.0][random.usize(..5)],
            biased: about(random, 0.08),
            every: 1 + random.u32(..3),
            noise: 0.08 + 0.12 * random.f64(),
            shades: random.f64() < 0.4,
            top: [if random.bool() { 4.0 } else { 8.0 }, if random.bool() { 5.0 } else { 20.0 }],
            forgets: 0.1,
            buffers: random.f64() < 0.85,
        }
    }

    /// What is logged of a value, as this keeper's test shows it.
    fn reads(&self, random: &mut Rng, kind: Kind, x: f64) -> (Span, Shown) {
        let i = usize::from(kind == Kind::Nitrite);
        let mut seen = x * about(random, self.noise) + 0.03 * normal(random);
        // A skipped bottle, mixed-up vials, a misread chart.
        match random.f64() {
            u if u < 0.01 => seen = 0.0,
            u if u < 0.02 => seen *= 2.0,
            _ => {}
        }
        if seen > self.top[i] {
            return (Span::between(self.top[i], f64::INFINITY), Shown::Above);
        }
        if seen < 0.5 * FIRST[i] {
            return (Span::between(0.0, 0.5 * FIRST[i]), Shown::None);
        }
        if self.shades {
            const SHADES: [f64; 9] = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 20.0];
            let above = SHADES.iter().position(|s| *s >= seen).unwrap_or(SHADES.len() - 1).max(1);
            return (Span::between(SHADES[above - 1].max(0.125), SHADES[above]), Shown::Some);
        }
        // The interval is that of the usual noise, whatever this keeper's is.
        let s = 0.13 * seen + 0.03;
        (Span { low: (seen - 1.96 * s).max(0.0), best: Some(seen), high: seen + 1.96 * s }, Shown::Some)
    }
}

fn put(book: &mut Book, day: f64, kind: Kind, (span, shown): (Span, Shown)) {
    let entry = format!("r{}", book.readings.len());
    book.readings.push(Measured::new(&entry, at(day), kind, span, shown));
}

fn happens(book: &mut Book, day: f64, what: Happened) {
    let entry = format!("e{}", book.events.len());
    book.events.push(Happening { entry, at: at(day), what, words: String::new() });
}

/// A whole cycle.
pub fn log(seed: u64) -> Log {
    let mut random = Rng::with_seed(seed);
    let seeded = random.f64() < 0.2;
    let mut tank = Tank::new(&mut random, seeded);
    let habits = Habits::new(&mut random);
    let facts =
        Facts { animals: Animals::None, litres: Some(100.0), planted: Some(false), ..Facts::new("tank", Water::Fresh) };
    let (mut book, mut whole) = (Book::new(facts.clone()), Book::new(facts));
    if seeded {
        happens(&mut book, -0.01, Happened::MediaMoved { into: true });
    }
    let measures = random.f64() < 0.7;
    let (mut cleared, mut proofs, mut dosed, mut finished) = (false, 0, None, None);
    let mut next = 0;
    let mut away = 0;
    for day in 0..LAST_DAY {
        let now = f64::from(day);
        if day > 0 {
            tank.day();
        }
        let none = tank.n[0] < FIRST[0] && tank.n[1] * ION < FIRST[1];
        for (kind, x) in
            [(Kind::Ammonia, tank.n[0]), (Kind::Nitrite, tank.n[1] * ION), (Kind::Nitrate, tank.n[2] * 4.427)]
        {
            let shown = if x < kind.first_standard() { Shown::None } else { Shown::Some };
            let span =
                if shown == Shown::None { Span::between(0.0, 0.9 * kind.first_standard()) } else { Span::exact(x) };
            put(&mut whole, now, kind, (span, shown));
        }
        if dosed == Some(day.wrapping_sub(1)) {
            proofs = if none { proofs + 1 } else { 0 };
        }
        if proofs == 2 && finished.is_none() {
            finished = Some(now);
            break;
        }
        // Days away: no test, no dose logged or given.
        if away == 0 && random.f64() < 0.015 {
            away = 3 + random.u32(..4);
        }
        let home = away == 0;
        away = away.saturating_sub(1);
        if home && day >= next {
            let pairs = [(Kind::Ammonia, tank.n[0]), (Kind::Nitrite, tank.n[1] * ION)];
            for (kind, x) in pairs {
                if random.f64() > 0.05 {
                    put(&mut book, now, kind, habits.reads(&mut random, kind, x));
                }
            }
            if measures && day % 6 == 0 {
                put(&mut book, now, Kind::Temperature, (Span::exact(tank.celsius()), Shown::Some));
                put(&mut book, now, Kind::Alkalinity, (Span::exact(tank.degrees.max(0.05)), Shown::Some));
            }
            next = day + if cleared { 1 } else { habits.every };
        }
        let gone = tank.n[0] < FIRST[0];
        cleared |= gone && day > 0;
        if home && (gone || day == 0) && tank.n[1] < 5.0 {
            let n = habits.dose * habits.biased * about(&mut random, 0.05);
            tank.n[0] += n;
            dosed = Some(day);
            happens(&mut whole, now + 0.005, Happened::Dosed(Some(habits.dose)));
            match random.f64() {
                u if u < habits.forgets && day > 0 => {}
                u if u < 1.5 * habits.forgets => happens(&mut book, now + 0.005, Happened::Dosed(None)),
                _ => happens(&mut book, now + 0.005, Happened::Dosed(Some(habits.dose))),
            }
        }
        if home && tank.n[1] > 6.0 && random.f64() < 0.2 {
            tank.change(0.5);
            happens(&mut whole, now + 0.01, Happened::Changed(Some(0.5)));
            if random.f64() > habits.forgets {
                happens(&mut book, now + 0.01, Happened::Changed(Some(0.5)));
            }
        }
        if habits.buffers && tank.degrees < 2.0 {
            tank.degrees += 4.0;
            happens(&mut book, now + 0.02, Happened::Buffer);
        }
    }
    Log { book, form: tank.form(), finished, whole }
}
