//! Invented tanks whose filters grow by other equations than those the forecast fits.
//!
//! Three forms, all with alkalinity that runs out, temperature that drifts and biomass with a yield of its own:
//! substrate inhibition after Haldane with a lag, logistic growth on a limited surface, and Tessier's exponential saturation with
//! diffusion (the root of the concentration). Explicit Euler steps of half an hour, far below the fastest change.

use fastrand::Rng;

/// How growth and use depend on the concentration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// S/(K + S + S²/I), free ammonia slows nitrite oxidisers, and a lag.
    Haldane,
    /// Growth stops as the surface fills; no decay.
    Logistic,
    /// 1 − exp(−√S/√K): a film with diffusion.
    Tessier,
}

/// One of the two groups.
#[derive(Debug, Clone, Copy)]
struct Group {
    growth: f64,
    half: f64,
    inhibition: f64,
    yields: f64,
    decay: f64,
    theta: f64,
    /// Most biomass the surface holds.
    most: f64,
}

/// A tank.
#[derive(Debug, Clone)]
pub struct Tank {
    form: Form,
    groups: [Group; 2],
    lag: f64,
    celsius: f64,
    drift: f64,
    phase: f64,
    ph: f64,
    /// mg/L N of ammonia, nitrite, nitrate.
    pub n: [f64; 3],
    biomass: [f64; 2],
    /// German degrees.
    pub degrees: f64,
    day: f64,
}

/// exp of a normal number with this deviation.
pub fn about(random: &mut Rng, deviation: f64) -> f64 {
    (deviation * normal(random)).exp()
}

/// Standard normal, by Box and Muller.
pub fn normal(random: &mut Rng) -> f64 {
    (-2.0 * (1.0 - random.f64()).ln()).sqrt() * (std::f64::consts::TAU * random.f64()).cos()
}

impl Tank {
    pub fn new(random: &mut Rng, seeded: bool) -> Self {
        let form = [Form::Haldane, Form::Logistic, Form::Tessier][random.usize(..3)];
        let group = |random: &mut Rng, growth: f64, half: f64, yields: f64| Group {
            growth: growth * about(random, 0.25),
            half: half * about(random, 0.4),
            inhibition: 8.0 * about(random, 0.5),
            yields: yields * about(random, 0.3),
            decay: if form == Form::Logistic { 0.0 } else { 0.06 * about(random, 0.4) },
            theta: 1.04 + 0.07 * random.f64(),
            most: 4.0 * about(random, 0.3) * yields / growth,
        };
        let groups = [group(random, 0.55, 0.5, 0.15), group(random, 0.60, 0.25, 0.06)];
        let begin = |random: &mut Rng, g: &Group| {
            let shift = if seeded { 4.5 } else { 0.0 };
            (g.yields * 1.5e-3 * (shift + 1.4 * normal(random)).exp()).min(0.3 * g.most)
        };
        let biomass = [begin(random, &groups[0]), begin(random, &groups[1])];
        Self {
            form,
            groups,
            lag: 3.0 * random.f64(),
            celsius: 21.0 + 7.0 * random.f64(),
            drift: 1.5 * random.f64(),
            phase: std::f64::consts::TAU * random.f64(),
            ph: 7.0 + 1.2 * random.f64(),
            n: [0.0; 3],
            biomass,
            degrees: 3.0 + 9.0 * random.f64(),
            day: 0.0,
        }
    }

    pub fn form(&self) -> Form {
        self.form
    }

    pub fn celsius(&self) -> f64 {
        self.celsius + self.drift * (self.phase + self.day / 4.0).sin()
    }

    /// A day on.
    pub fn day(&mut self) {
        for _ in 0..48 {
            self.step(1.0 / 48.0);
        }
    }

    fn step(&mut self, dt: f64) {
        let mut used = [0.0; 2];
        // Ammonia oxidisers make acid; near the end of the alkalinity they stop.
        let alkaline = (self.degrees / (self.degrees + 0.5)).clamp(0.0, 1.0);
        let free = self.n[0] * 10f64.powf(self.ph - 9.3);
        for (i, g) in self.groups.iter().enumerate() {
            let s = self.n[i].max(0.0);
            let saturation = match self.form {
                Form::Haldane => s / (g.half + s + s * s / g.inhibition),
                Form::Logistic => s / (g.half + s),
                Form::Tessier => 1.0 - (-(s / g.half).sqrt()).exp(),
            };
            let warm = g.theta.powf(self.celsius() - 24.0);
            let slowed = match (self.form, i) {
                (Form::Haldane, 1) => 1.0 / (1.0 + free / 0.5),
                _ => 1.0,
            };
            let started = if self.form == Form::Haldane { 1.0 - (-self.day / self.lag.max(0.1)).exp() } else { 1.0 };
            let activity = saturation * warm * slowed * started * if i == 0 { alkaline } else { 1.0 };
            used[i] = (g.growth / g.yields * activity * self.biomass[i] * dt).min(s);
            let room = if self.form == Form::Logistic { 1.0 - self.biomass[i] / g.most } else { 1.0 };
            self.biomass[i] += dt * self.biomass[i] * (g.growth * activity * room - g.decay);
        }
        // A little of the nitrogen goes into cells.
        self.n[0] -= used[0];
        self.n[1] += 0.98 * used[0] - used[1];
        self.n[2] += used[1];
        self.degrees = (self.degrees - 0.4 * used[0]).max(0.0);
        self.day += dt;
    }

    /// A water change; the tap's alkalinity comes with it.
    pub fn change(&mut self, share: f64) {
        self.n = self.n.map(|x| x * (1.0 - share));
        self.degrees += share * (6.0 - self.degrees);
    }
}
