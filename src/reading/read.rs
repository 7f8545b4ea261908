//! The two runs over a photo: reading samples with a kit, and making swatches of standards.

use super::beside::{moved, neighbours, tints};
use super::clear::{Zeroed, Zeroing, beside_standards};
use super::outcome::{Outcome, PhotoReading, SampleReading};
use super::place::Place;
use super::strip::{direction, shape};
use crate::card::{self, Card, Layout};
use crate::colour::Lab;
use crate::curve::{Kit, Nuisance, Path, Scale, Seen, Source, Swatch, Taken, Test, Ways, answer, held, invert, order};
use crate::finding::{Code, Finding, Severity, worst};
use crate::light::{Agreement, Reference, Scene};
use crate::photo::Photo;
use crate::sample::{Sample, Samples};
use crate::trial::{Part, without};
use crate::water::{Amount, Dilution, Quantity};

/// A sample to read: which test of the kit, where it stands, how it was diluted.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// Station name, such as `B`.
    pub station: String,
    /// Name of the kit's test.
    pub test: String,
    /// Dilution of the tank water, if any.
    pub dilution: Option<Dilution>,
}

/// All that a reading needs.
pub struct Job<'a> {
    pub photo: &'a Photo,
    pub layout: &'a Layout,
    /// The card's colours, nominal or enrolled.
    pub reference: &'a Reference,
    pub kit: &'a Kit,
    pub asks: &'a [Ask],
    /// The clear vial to zero on, if there is one.
    pub clear: Option<&'a Zeroing>,
}

/// A vial or pad of known concentration to make a swatch of.
#[derive(Debug, Clone, PartialEq)]
pub struct Standard {
    /// Station name, such as `B` or `pad-3`.
    pub station: String,
    /// Name of the kit's test.
    pub test: String,
    /// Concentration in the test's unit.
    pub value: f64,
    /// Its standard deviation, where it is known.
    pub value_sd: Option<f64>,
}

/// Reads the samples asked for. A photo refused as a whole gives a refusal for each of them.
pub fn read(job: &Job) -> PhotoReading {
    read_on(job, card::find(job.photo, job.layout))
}

/// As [`read`], where the card has been looked for already.
pub fn read_on(job: &Job, card: Result<Card, Vec<Finding>>) -> PhotoReading {
    let photo = job.photo.id().to_string();
    let look = Look::on(job.photo, job.layout, job.reference, job.kit, card).and_then(|look| look.settled(job));
    let look = match look {
        Ok(look) => look,
        Err(Unseen { findings, card }) => {
            let samples = job.asks.iter().map(|a| refused(a, findings.clone())).collect();
            return PhotoReading { photo, samples, findings, card, clear: None };
        }
    };
    let zeroed = Zeroed::of(job.clear, &look);
    let ways = Ways::of(job.kit);
    let samples = job.asks.iter().map(|ask| one(job, &look, &zeroed, &ways, ask)).collect();
    let corners = look.card.corners(job.layout);
    PhotoReading { photo, samples, findings: look.findings(), card: Some(corners), clear: zeroed.shown() }
}

/// Makes a swatch of each standard, or says why not; in the order asked for. The kit tells whether they are vials or pads.
pub fn calibrate(
    photo: &Photo,
    layout: &Layout,
    reference: &Reference,
    kit: &Kit,
    standards: &[Standard],
) -> Vec<Result<Swatch, Vec<Finding>>> {
    calibrate_zeroed(photo, layout, reference, kit, standards, None)
}

/// As [`calibrate`], with a clear vial in the photo: the standards' water without reagent, at the station named.
pub fn calibrate_zeroed(
    photo: &Photo,
    layout: &Layout,
    reference: &Reference,
    kit: &Kit,
    standards: &[Standard],
    clear: Option<&str>,
) -> Vec<Result<Swatch, Vec<Finding>>> {
    let look = Look::on(photo, layout, reference, kit, card::find(photo, layout));
    let look = match look.and_then(|look| look.only(layout)) {
        Ok(look) => look,
        Err(unseen) => return standards.iter().map(|_| Err(unseen.findings.clone())).collect(),
    };
    let tests: Vec<&Test> = standards.iter().filter_map(|s| kit.test(&s.test).ok()).collect();
    let clear = clear.map(|station| beside_standards(&look, kit, station, &tests)).transpose();
    let swatch = |s: &Standard| -> Result<Swatch, Vec<Finding>> {
        let clear = clear.clone()?;
        let sample = look.samples.at(&s.station)?;
        let (lab, cov) = look.measured(sample);
        Ok(Swatch {
            value: s.value,
            value_sd: s.value_sd,
            source: Source::Standard,
            lab: lab.0,
            cov,
            photo: photo.id().to_string(),
            station: s.station.clone(),
            light: look.scene.signature(),
            taken: None,
            clear,
        })
    };
    standards.iter().map(swatch).collect()
}

/// How foreign the light of a swatch is to a kit: 0 at a place where it was calibrated.
pub fn foreign(light: &[f64], kit: &Kit) -> f64 {
    if light.len() < 9 { 0.0 } else { Place::of(light, kit).foreign() }
}

/// A photo with its card, light and samples found.
pub(super) struct Look {
    card: Card,
    scene: Scene,
    pub(super) samples: Samples,
    /// A strip's pads were it to lie the other way round, where its edges do not tell.
    turned: Option<Samples>,
}

/// Why nothing can be read from a photo, and the card's corners where it was found.
pub(super) struct Unseen {
    pub(super) findings: Vec<Finding>,
    card: Option<[[f64; 2]; 4]>,
}

/// The card with its light fitted.
pub(super) fn light(
    photo: &Photo,
    layout: &Layout,
    reference: &Reference,
    card: Result<Card, Vec<Finding>>,
) -> Result<(Card, Scene), Unseen> {
    let card = card.map_err(|findings| Unseen { findings, card: None })?;
    let corners = Some(card.corners(layout));
    let mut scene =
        Scene::fit(photo, layout, &card, reference).map_err(|findings| Unseen { findings, card: corners })?;
    if reference.revision.is_none() {
        let sentence = "The card is not enrolled; its nominal colours are used.";
        scene.findings.push(Finding::note(Code::CardNotEnrolled, sentence));
    } else if worst(&scene.findings) != Some(Severity::Doubt) {
        scene.findings.extend(Agreement::of(&scene, layout, &card, reference).finding());
    }
    Ok((card, scene))
}

impl Look {
    fn on(
        photo: &Photo,
        layout: &Layout,
        reference: &Reference,
        kit: &Kit,
        card: Result<Card, Vec<Finding>>,
    ) -> Result<Self, Unseen> {
        let (card, scene) = light(photo, layout, reference, card)?;
        let corners = Some(card.corners(layout));
        let mut turned = None;
        let samples = match shape(kit).map_err(|f| Unseen { findings: vec![f], card: corners })? {
            None => Samples::find(photo, layout, &card, &scene),
            Some(shape) => {
                let mut either = Samples::strip(photo, layout, &card, &scene, &shape).into_iter();
                let first = either.next();
                turned = either.next();
                first.unwrap_or_else(|| Samples::find(photo, layout, &card, &scene))
            }
        };
        Ok(Self { card, scene, samples, turned })
    }

    /// With the strip's direction decided by the curves of its pads, where its edges do not tell it.
    fn settled(mut self, job: &Job) -> Result<Self, Unseen> {
        let Some(turned) = self.turned.take() else { return Ok(self) };
        let light = self.scene.signature();
        let foreign = Place::of(&light, job.kit).foreign();
        let off = |samples: &Samples| -> Vec<f64> {
            let one = |ask: &Ask| {
                let sample = samples.at(&ask.station).ok()?;
                let (test, path) = path(job.kit, &ask.test, &Ways::default(), &light).ok()?;
                let (lab, cov) = self.measured(sample);
                Some(answer(test, &path, &Seen { lab, cov, foreign }).found.off)
            };
            job.asks.iter().filter_map(one).collect()
        };
        match direction(&off(&self.samples), &off(&turned), job.asks.len()) {
            Some(true) => Ok(self),
            Some(false) => Ok(Self { samples: turned, ..self }),
            None => Err(self.either_way(job.layout)),
        }
    }

    /// Only if a strip cannot lie the other way round: before there are curves, nothing but edges tells.
    fn only(self, layout: &Layout) -> Result<Self, Unseen> {
        if self.turned.is_some() { Err(self.either_way(layout)) } else { Ok(self) }
    }

    fn either_way(&self, layout: &Layout) -> Unseen {
        let sentence = "The strip may lie either way round: neither its ends nor the colours of its pads tell.";
        let findings = vec![Finding::doubt(Code::StripDirection, sentence)];
        Unseen { findings, card: Some(self.card.corners(layout)) }
    }

    /// What was noticed about the photo as a whole.
    fn findings(&self) -> Vec<Finding> {
        self.card.findings.iter().chain(&self.scene.findings).cloned().collect()
    }

    /// A sample's colour with the covariance of its noise, of the correction and of tints from beside.
    fn measured(&self, sample: &Sample) -> (Lab, [[f64; 3]; 3]) {
        let own = &sample.colour.cov;
        let correction = if without(Part::Residual) { [[0.0; 3]; 3] } else { self.scene.correction.residual };
        let tint = tints(sample, &self.samples);
        let cov = [0, 1, 2].map(|r| [0, 1, 2].map(|c| own[r][c] + correction[r][c] + tint[(r, c)]));
        (sample.colour.lab, cov)
    }

    /// The same without the uncertainty of the correction: that of a colour near paper's, to which the correction is tied.
    pub(super) fn alone(&self, sample: &Sample) -> (Lab, [[f64; 3]; 3]) {
        let own = &sample.colour.cov;
        let tint = tints(sample, &self.samples);
        (sample.colour.lab, [0, 1, 2].map(|r| [0, 1, 2].map(|c| own[r][c] + tint[(r, c)])))
    }

    /// An outline on the card's plane, in upright photo pixels.
    pub(super) fn outline(&self, mm: &[[f64; 2]]) -> Vec<[f64; 2]> {
        mm.iter().map(|p| self.card.plane.px(*p)).collect()
    }
}

fn one(job: &Job, look: &Look, zeroed: &Zeroed, ways: &Ways, ask: &Ask) -> SampleReading {
    let sample = match look.samples.at(&ask.station) {
        Ok(sample) => sample,
        Err(findings) => return refused(ask, findings),
    };
    let mut reading = refused(ask, Vec::new());
    reading.outlines = vec![look.outline(&sample.outline), look.outline(&sample.colour.outline)];
    reading.lab = Some(sample.colour.lab.0);
    reading.light = Some(look.scene.signature());
    let refuse = |mut reading: SampleReading, findings: Vec<Finding>| {
        reading.outcome = Outcome::Refused(findings.clone());
        reading.findings = findings;
        reading
    };
    let light = look.scene.signature();
    let (test, path) = match path(job.kit, &ask.test, ways, &light) {
        Ok(found) => found,
        Err(finding) => return refuse(reading, vec![finding]),
    };
    let order = order(test);
    let held = held(job.kit, test, &taken(job));
    let path = path.widened(held.extra);
    let (lab, cov) = look.measured(sample);
    let place = Place::of(&light, job.kit);
    let seen = Seen { lab, cov, foreign: place.foreign() };
    let made = |test: &Test, nuisance| {
        Path::under(test, nuisance, ways, &light).map_err(|e| Finding::doubt(Code::CurveThin, format!("{e}.")))
    };
    let (path, seen, zero) = match zeroed.take_off(ask, test, path, seen, made) {
        Ok(found) => found,
        Err(findings) => return refuse(reading, findings),
    };
    let tinted = match moved(sample, &neighbours(sample, &look.samples), &path, &seen, test.scale == Scale::Bounded) {
        Ok(tinted) => tinted,
        Err(finding) => return refuse(reading, vec![finding]),
    };
    let said = answer(test, &path, &seen);
    reading.off_curve = Some(said.found.off);
    let mut findings = look.findings();
    findings.extend(test.findings());
    findings.extend(order);
    findings.extend(held.findings);
    findings.extend(place.finding());
    findings.extend(sample.findings.iter().cloned());
    findings.extend(tinted);
    findings.extend(zero);
    findings.extend(look.samples.glare_beside(&ask.station));
    findings.extend(said.findings);
    let amount = said.amount.and_then(|a| diluted(a, ask.dilution));
    reading.detection_limit = said.detection_limit.map(|q| {
        let factor = ask.dilution.map_or(1.0, |d| d.factor());
        Quantity::new(q.value * factor, q.unit)
    });
    match amount {
        Err(reasons) => refuse(reading, fitting(job.kit, test, &seen, reasons)),
        Ok(amount) => {
            reading.outcome = Outcome::Read(amount);
            reading.findings = findings;
            reading
        }
    }
}

/// The reasons of a refusal, with the kit's test whose scale a colour lies on that lies off this one's.
fn fitting(kit: &Kit, test: &Test, seen: &Seen, mut reasons: Vec<Finding>) -> Vec<Finding> {
    let Some(reason) = reasons.iter_mut().find(|f| f.code == Code::ColourOffScale) else { return reasons };
    let off = |other: &Test| {
        let (other, path) = path(kit, &other.name, &Ways::default(), &[]).ok()?;
        Some((invert(&path, seen, other.scale == Scale::Bounded).off, &other.name))
    };
    let others = kit.tests.iter().filter(|t| t.name != test.name).filter_map(off);
    let best = others.filter(|(off, _)| *off < FITS).min_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, other)) = best {
        reason.sentence.push_str(&format!(" It fits {other} better than {}.", test.name));
    }
    reasons
}

/// Nearer to another test's curve than this (standard deviations) a colour fits it: two in three good samples lie there.
const FITS: f64 = 1.9;

/// With what the photo was taken.
fn taken<'a>(job: &Job<'a>) -> Taken<'a> {
    let facts = job.photo.facts();
    Taken {
        card: job.reference.revision.as_deref(),
        camera: facts.camera.as_deref(),
        on: facts.taken.map(|t| t.local.date()),
    }
}

fn diluted(amount: Amount, dilution: Option<Dilution>) -> Result<Amount, Vec<Finding>> {
    let Some(dilution) = dilution else { return Ok(amount) };
    amount
        .diluted(dilution)
        .map_err(|e| vec![Finding::doubt(Code::ColourOffScale, format!("The dilution does not apply: {e}."))])
}

/// A test of the kit with its path under a light.
fn path<'k>(kit: &'k Kit, name: &str, ways: &Ways, light: &[f64]) -> Result<(&'k Test, Path), Finding> {
    let test = kit.test(name).map_err(|e| Finding::doubt(Code::CurveThin, format!("{e}.")))?;
    let path = Path::under(test, Nuisance::of(kit.kind), ways, light)
        .map_err(|e| Finding::doubt(Code::CurveThin, format!("{e}.")))?;
    Ok((test, path))
}

fn refused(ask: &Ask, findings: Vec<Finding>) -> SampleReading {
    SampleReading {
        station: ask.station.clone(),
        test: ask.test.clone(),
        outcome: Outcome::Refused(findings.clone()),
        detection_limit: None,
        findings,
        dilution: ask.dilution,
        lab: None,
        off_curve: None,
        light: None,
        outlines: Vec::new(),
    }
}
