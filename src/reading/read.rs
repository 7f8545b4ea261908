//! The two runs over a photo: reading samples with a kit, and making swatches of standards.

use super::beside::{moved, neighbours, tints};
use super::outcome::{Outcome, PhotoReading, SampleReading};
use super::place::Place;
use super::strip::{direction, shape};
use crate::card::{self, Card, Layout};
use crate::colour::Lab;
use crate::curve::{Kit, Nuisance, Path, Scale, Seen, Source, Swatch, Test, Ways, answer, order};
use crate::finding::{Code, Finding, Severity, worst};
use crate::light::{Agreement, Reference, Scene};
use crate::photo::Photo;
use crate::sample::{Sample, Samples};
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
            return PhotoReading { photo, samples, findings, card };
        }
    };
    let ways = Ways::of(job.kit);
    let samples = job.asks.iter().map(|ask| one(job, &look, &ways, ask)).collect();
    let corners = look.card.corners(job.layout);
    PhotoReading { photo, samples, findings: look.findings(), card: Some(corners) }
}

/// Makes a swatch of each standard, or says why not; in the order asked for. The kit tells whether they are vials or pads.
pub fn calibrate(
    photo: &Photo,
    layout: &Layout,
    reference: &Reference,
    kit: &Kit,
    standards: &[Standard],
) -> Vec<Result<Swatch, Vec<Finding>>> {
    let look = Look::on(photo, layout, reference, kit, card::find(photo, layout));
    let look = match look.and_then(|look| look.only(layout)) {
        Ok(look) => look,
        Err(unseen) => return standards.iter().map(|_| Err(unseen.findings.clone())).collect(),
    };
    let swatch = |s: &Standard| -> Result<Swatch, Vec<Finding>> {
        let sample = look.samples.at(&s.station)?;
        let (lab, cov) = look.measured(sample);
        Ok(Swatch {
            value: s.value,
            value_sd: None,
            source: Source::Standard,
            lab: lab.0,
            cov,
            photo: photo.id().to_string(),
            station: s.station.clone(),
            light: look.scene.signature(),
            taken: None,
        })
    };
    standards.iter().map(swatch).collect()
}

/// A photo with its card, light and samples found.
struct Look {
    card: Card,
    scene: Scene,
    samples: Samples,
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
        let correction = &self.scene.correction.residual;
        let tint = tints(sample, &self.samples);
        let cov = [0, 1, 2].map(|r| [0, 1, 2].map(|c| own[r][c] + correction[r][c] + tint[(r, c)]));
        (sample.colour.lab, cov)
    }
}

fn one(job: &Job, look: &Look, ways: &Ways, ask: &Ask) -> SampleReading {
    let sample = match look.samples.at(&ask.station) {
        Ok(sample) => sample,
        Err(findings) => return refused(ask, findings),
    };
    let outline = |points: &[[f64; 2]]| points.iter().map(|p| look.card.plane.px(*p)).collect();
    let mut reading = refused(ask, Vec::new());
    reading.outlines = vec![outline(&sample.outline), outline(&sample.colour.outline)];
    reading.lab = Some(sample.colour.lab.0);
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
    let (lab, cov) = look.measured(sample);
    let place = Place::of(&light, job.kit);
    let seen = Seen { lab, cov, foreign: place.foreign() };
    let tinted = match moved(sample, &neighbours(sample, &look.samples), &path, &seen, test.scale == Scale::Bounded) {
        Ok(tinted) => tinted,
        Err(finding) => return refuse(reading, vec![finding]),
    };
    let said = answer(test, &path, &seen);
    reading.off_curve = Some(said.found.off);
    let mut findings = look.findings();
    findings.extend(test.findings());
    findings.extend(order);
    findings.extend(place.finding());
    findings.extend(sample.findings.iter().cloned());
    findings.extend(tinted);
    findings.extend(look.samples.glare_beside(&ask.station));
    findings.extend(said.findings);
    let amount = said.amount.and_then(|a| diluted(a, ask.dilution));
    reading.detection_limit = said.detection_limit.map(|q| {
        let factor = ask.dilution.map_or(1.0, |d| d.factor());
        Quantity::new(q.value * factor, q.unit)
    });
    match amount {
        Err(reasons) => refuse(reading, reasons),
        Ok(amount) => {
            reading.outcome = Outcome::Read(amount);
            reading.findings = findings;
            reading
        }
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
        outlines: Vec::new(),
    }
}
