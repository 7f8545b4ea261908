//! Enrol, calibrate, read: the way a user takes, keeper by keeper.

use std::path::Path;
use std::time::Instant;

use anyhow::Context;
use tintline::card::Layout;
use tintline::curve::{Kind, Kit, Matrix, Test};
use tintline::finding::Finding;
use tintline::light::{Enrolment, Reference};
use tintline::photo::{Limits, Photo};
use tintline::reading::{Ask, Job, Standard, calibrate, read, shades as print_shades};
use tintline::water::{Analyte, Unit};

use super::rows::Row;
use super::strip;
use super::truth::{self, Keeper, Truth};

/// One sample with its truth, as read.
pub struct Sample {
    pub row: Row,
    pub truth: truth::Sample,
    /// True position on the series, and the series.
    pub position: f64,
    pub series: Vec<f64>,
    pub light: String,
    pub usual: bool,
    pub hazards: Vec<String>,
    /// Distance from the curve, standard deviations.
    pub off: Option<f64>,
    /// What was said in words, for the list of the worst.
    pub said: String,
}

/// Which standards of one's own join printed shades.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Anchor {
    /// None.
    None,
    /// The first of each test.
    Zero,
    /// The first and the fourth.
    #[value(name = "zero+one")]
    ZeroOne,
    /// All.
    All,
}

impl Anchor {
    fn takes(self, analyte: &truth::Analyte, concentration: f64) -> bool {
        match self {
            Self::None => false,
            Self::Zero => analyte.position(concentration) == 0.0,
            Self::ZeroOne => [0.0, 3.0].contains(&analyte.position(concentration)),
            Self::All => true,
        }
    }
}

/// A folder of photos, and by how much they are made smaller before they are read.
pub struct Set<'a> {
    pub folder: &'a Path,
    pub reduce: u32,
}

impl Set<'_> {
    fn open(&self, file: &str) -> anyhow::Result<Photo> {
        let photo = Photo::open(&self.folder.join(file), &Limits::default()).with_context(|| file.to_string())?;
        Ok(self.sized(photo))
    }

    fn sized(&self, photo: Photo) -> Photo {
        if self.reduce > 1 { photo.reduced(self.reduce) } else { photo }
    }
}

/// How many of the standards photographed make the kit: each costs reagent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Effort {
    /// All, at every place.
    Full,
    /// Each test's first, fourth and last, once.
    Three,
    /// Each test's first and fourth, once.
    #[value(name = "zero+one")]
    ZeroOne,
}

impl Effort {
    /// Whether a standard joins a kit that has those before it.
    fn takes(self, analyte: &truth::Analyte, concentration: f64, kit: &Kit, test: &str) -> bool {
        let position = analyte.position(concentration);
        let once = || kit.test(test).is_ok_and(|t| t.swatches.iter().all(|s| s.value != concentration));
        match self {
            Self::Full => true,
            Self::Three => once() && [0.0, 3.0, analyte.standards.len() as f64 - 1.0].contains(&position),
            Self::ZeroOne => once() && [0.0, 3.0].contains(&position),
        }
    }
}

/// What the kits are made of.
#[derive(Debug, Clone, Copy)]
pub struct Making {
    pub anchor: Anchor,
    pub effort: Effort,
}

pub fn run(set: &Set, truth: &Truth, making: Making) -> anyhow::Result<Vec<Sample>> {
    let layout = Layout::first();
    let mut out = Vec::new();
    for keeper in &truth.keepers {
        let reference = enrol(set, truth, keeper, &layout)?;
        let kit = kit(set, truth, keeper, &layout, &reference, making)?;
        for photo in truth.photos.iter().filter(|p| p.keeper == keeper.keeper && p.role == "test") {
            out.extend(test(set, photo, keeper, &layout, &reference, &kit)?);
        }
    }
    Ok(out)
}

fn enrol(set: &Set, truth: &Truth, keeper: &Keeper, layout: &Layout) -> anyhow::Result<Reference> {
    let photos = truth.photos.iter().filter(|p| p.keeper == keeper.keeper && p.role == "enrol");
    let photos: Vec<Photo> = photos.map(|p| set.open(&p.file)).collect::<Result<_, _>>()?;
    let (enrolment, findings) = Enrolment::from_photos(&photos, layout, None, jiff::civil::date(2024, 1, 1))
        .map_err(|why| anyhow::anyhow!("the card of keeper {} is not enrolled: {}", keeper.keeper, sentences(&why)))?;
    if !findings.is_empty() {
        eprintln!("keeper {}: {}", keeper.keeper, sentences(&findings));
    }
    Ok(enrolment.reference(layout)?)
}

fn sentences(findings: &[Finding]) -> String {
    findings.iter().map(|f| f.sentence.as_str()).collect::<Vec<_>>().join(" ")
}

fn kit(
    set: &Set,
    truth: &Truth,
    keeper: &Keeper,
    layout: &Layout,
    reference: &Reference,
    Making { anchor, effort }: Making,
) -> anyhow::Result<Kit> {
    let mut kit = Kit::new(keeper.kit.name.as_str())?;
    if keeper.kit.kind == "strip" {
        kit.kind = Kind::Strip;
        kit.strip = Some(strip::measures(set.folder, truth, keeper, layout)?);
    }
    for (name, a) in &keeper.kit.analytes {
        let analyte = Analyte::parse(name)?;
        let unit = Unit::parse(&a.unit, &analyte)?;
        let pad = keeper.kit.pad_order.iter().position(|p| p == name).map(|i| i as u8 + 1);
        kit.add_test(Test { pad, ..Test::new(name.as_str(), analyte, unit, Matrix::Fresh) })?;
    }
    let own = truth.photos.iter().filter(|p| p.keeper == keeper.keeper);
    for photo in own.filter(|p| p.role == "calibrate" || (p.role == "standard" && anchor != Anchor::None)) {
        if photo.samples.iter().any(|s| s.source == "shades") {
            let mut shades: Vec<&truth::Sample> = photo.samples.iter().collect();
            shades.sort_by_key(|s| s.place.trim_start_matches("shade-").parse::<u32>().unwrap_or(0));
            let values: Vec<f64> = shades.iter().map(|s| s.concentration).collect();
            let test = kit.test(&shades[0].analyte)?.clone();
            match print_shades(&set.open(&photo.file)?, layout, reference, &test, &values) {
                Ok(swatches) => kit.add_swatches(&test.name, swatches)?,
                Err(why) => eprintln!("{}: no shades: {}", photo.file, sentences(&why)),
            }
            continue;
        }
        let takes = |s: &&truth::Sample| {
            let analyte = &keeper.kit.analytes[&s.analyte];
            match photo.role.as_str() {
                "calibrate" => effort.takes(analyte, s.concentration, &kit, &s.analyte),
                _ => anchor.takes(analyte, s.concentration),
            }
        };
        let standards: Vec<Standard> = photo
            .samples
            .iter()
            .filter(takes)
            .map(|s| Standard {
                station: s.place.clone(),
                test: s.analyte.clone(),
                value: s.concentration,
                value_sd: None,
            })
            .collect();
        let swatches = calibrate(&set.open(&photo.file)?, layout, reference, &kit, &standards);
        for (s, swatch) in standards.iter().zip(swatches) {
            match swatch {
                Ok(swatch) => kit.add_swatches(&s.test, vec![swatch])?,
                Err(why) => eprintln!("{} {}: no swatch: {}", photo.file, s.station, sentences(&why)),
            }
        }
    }
    Ok(kit)
}

fn test(
    set: &Set,
    photo: &truth::Photo,
    keeper: &Keeper,
    layout: &Layout,
    reference: &Reference,
    kit: &Kit,
) -> anyhow::Result<Vec<Sample>> {
    let asks: Vec<Ask> = photo
        .samples
        .iter()
        .map(|s| Ask { station: s.place.clone(), test: s.analyte.clone(), dilution: None })
        .collect();
    let bytes = std::fs::read(set.folder.join(&photo.file))?;
    let start = Instant::now();
    let opened = Photo::from_bytes(&bytes, &Limits::default()).map(|p| set.sized(p));
    let reading = opened.as_ref().map(|p| read(&Job { photo: p, layout, reference, kit, asks: &asks, clear: None }));
    let photo_ms = start.elapsed().as_secs_f64() * 1e3;
    let samples = photo.samples.iter().enumerate().map(|(i, s)| {
        let analyte = &keeper.kit.analytes[&s.analyte];
        let (row, off, said) = match &reading {
            Ok(r) => {
                let one = &r.samples[i];
                let said = format!("{:?}", one.findings.iter().map(|f| f.sentence.as_str()).collect::<Vec<_>>());
                (Row::new(&photo.file, &s.analyte, &s.unit, one, photo_ms), one.off_curve, said)
            }
            Err(e) => {
                let row = Row::unopened(&photo.file, &s.place, &s.analyte, &s.unit, e.code(), photo_ms);
                (row, None, e.to_string())
            }
        };
        sample(photo, s, analyte, row, off, said)
    });
    Ok(samples.collect())
}

fn sample(
    photo: &truth::Photo,
    s: &truth::Sample,
    analyte: &truth::Analyte,
    row: Row,
    off: Option<f64>,
    said: String,
) -> Sample {
    Sample {
        row,
        truth: s.clone(),
        position: analyte.position(s.concentration),
        series: analyte.standards.clone(),
        light: photo.hidden.light(),
        usual: photo.hidden.usual_spot == Some(true),
        hazards: photo.hazards.clone(),
        off,
        said,
    }
}
