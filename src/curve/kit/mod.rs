//! A kit: tests with swatches made by the keeper (file formats 1 to 3, described in `calibration/kit/README.md`).
//!
//! A kit is a value; every change makes another revision, named by the hash of its text. See [`crate::store::Revisions`].

mod adopted;
mod check;
mod error;
mod file;
mod remembered;

use jiff::civil::Date;

pub use adopted::{Adopted, Adoption, Bottle, Camera};
pub use error::KitError;

use crate::store::{Revision, content_hash};
use crate::water::{Analyte, Unit};

/// A colour of known concentration, as one photo showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct Swatch {
    /// Concentration in the test's unit.
    pub value: f64,
    /// Standard deviation of `value`, in the same unit, where the standard's own uncertainty is known.
    pub value_sd: Option<f64>,
    /// What showed the colour.
    pub source: Source,
    /// CIELAB (D65, the card's own colour space).
    pub lab: [f64; 3],
    /// Covariance of `lab`: sampling noise and correction residual.
    pub cov: [[f64; 3]; 3],
    /// The photo's identity. Empty where there was none, such as values taken from elsewhere.
    pub photo: String,
    /// Where it stood.
    pub station: String,
    /// The light's signature, to know the place again (see the room light).
    pub light: Vec<f64>,
    /// RFC 3339 time of the photo, if known.
    pub taken: Option<String>,
    /// The clear vial that stood in the same photo, if one did: the standard's water without reagent.
    pub clear: Option<Clear>,
}

/// The colour of a clear vial: water without reagent, on which a photo is zeroed as a photometer is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clear {
    /// CIELAB (D65, the card's own colour space).
    pub lab: [f64; 3],
    /// Covariance of `lab`: sampling noise and tints from beside.
    pub cov: [[f64; 3]; 3],
}

/// What a swatch's colour was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Source {
    /// A vial or pad that held a standard of known concentration.
    #[default]
    Standard,
    /// A shade that the kit's maker printed to look like one. Ink is not dye.
    Print,
}

/// How a strip is made, in millimetres along it; its pads have one size and one spacing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// From end to end.
    pub length_mm: f64,
    /// Across.
    pub width_mm: f64,
    /// Side of a pad along the strip.
    pub pad_mm: f64,
    /// From one pad's middle to the next one's.
    pub pitch_mm: f64,
    /// From the end that is held into the water to the middle of pad 1. The other end is the handle.
    pub end_mm: f64,
}

/// Whether a scale starts from none or is bounded on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// A concentration: zero means none.
    FromZero,
    /// Like pH: no zero, no detection limit, no dilution.
    Bounded,
}

/// The water a test is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matrix {
    Fresh,
    Marine,
    Both,
}

/// How the tests of a kit show their colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Reagent in a glass vial.
    Vial,
    /// Pads on a strip.
    Strip,
}

/// One test of a kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Name, unique in the kit.
    pub name: String,
    /// What it measures.
    pub analyte: Analyte,
    /// Unit of all its numbers.
    pub unit: Unit,
    /// Scale.
    pub scale: Scale,
    /// Water.
    pub matrix: Matrix,
    /// Minutes from the last drop to the reading.
    pub wait_minutes: Option<f64>,
    /// Minutes after that in which the colour still counts.
    pub window_minutes: Option<f64>,
    /// Place on the strip, 1 nearest the end held into the water. Only in a kit of strips.
    pub pad: Option<u8>,
    /// Lot of the reagent.
    pub lot: Option<String>,
    /// When the reagent was opened.
    pub opened: Option<Date>,
    /// Until when the reagent is good.
    pub expiry: Option<Date>,
    /// The keeper's remark.
    pub note: Option<String>,
    /// Swatches in the order they were added.
    pub swatches: Vec<Swatch>,
    /// Bottles used before the present one, the first one first.
    pub earlier: Vec<Bottle>,
    /// Cards, phones and bottles that its curve was carried over to, the last one last.
    pub adopted: Vec<Adoption>,
}

/// A kit as calibrated on one card.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// The keeper's name for it; also the name of its folder.
    pub name: String,
    /// Vials or strips.
    pub kind: Kind,
    /// Revision of the card it was calibrated with.
    pub card: Option<String>,
    /// The keeper's remark.
    pub note: Option<String>,
    /// How its strips are made. Only in a kit of strips.
    pub strip: Option<Strip>,
    /// The phones that photos of its swatches name.
    pub cameras: Vec<Camera>,
    /// Tests.
    pub tests: Vec<Test>,
}

impl Test {
    /// A test without swatches, its scale from the analyte: bounded for pH, from zero for all others.
    pub fn new(name: impl Into<String>, analyte: Analyte, unit: Unit, matrix: Matrix) -> Self {
        let scale = if unit.has_zero() { Scale::FromZero } else { Scale::Bounded };
        Self {
            name: name.into(),
            analyte,
            unit,
            scale,
            matrix,
            wait_minutes: None,
            window_minutes: None,
            pad: None,
            lot: None,
            opened: None,
            expiry: None,
            note: None,
            swatches: Vec::new(),
            earlier: Vec::new(),
            adopted: Vec::new(),
        }
    }

    /// The concentrations of its swatches, ascending, each once.
    pub fn values(&self) -> Vec<f64> {
        let mut out: Vec<f64> = self.swatches.iter().map(|s| s.value).collect();
        out.sort_by(f64::total_cmp);
        out.dedup();
        out
    }
}

impl Kit {
    /// A kit of vials without tests.
    pub fn new(name: impl Into<String>) -> Result<Self, KitError> {
        let kit = Self {
            name: name.into(),
            kind: Kind::Vial,
            card: None,
            note: None,
            strip: None,
            cameras: Vec::new(),
            tests: Vec::new(),
        };
        kit.validate()?;
        Ok(kit)
    }

    /// The kit of a file's text. Strict: a key that the format does not have is an error, and so is a newer format.
    pub fn from_toml(text: &str) -> Result<Self, KitError> {
        let kit = file::read(text)?;
        kit.validate()?;
        Ok(kit)
    }

    /// The canonical text; [`Kit::from_toml`] reads it back to the same kit.
    pub fn to_toml(&self) -> String {
        file::written(self)
    }

    /// What this kit is, by the content of its canonical text.
    pub fn revision(&self) -> Revision {
        content_hash(self.to_toml().as_bytes())
    }

    /// The test of this name, upper and lower case alike.
    pub fn test(&self, name: &str) -> Result<&Test, KitError> {
        self.position(name).map(|i| &self.tests[i])
    }

    /// Adds a test, with its swatches if it has any.
    pub fn add_test(&mut self, test: Test) -> Result<(), KitError> {
        self.changed(|kit| {
            kit.tests.push(test);
            Ok(())
        })
    }

    /// Takes a test out, swatches and all.
    pub fn remove_test(&mut self, name: &str) -> Result<Test, KitError> {
        let i = self.position(name)?;
        Ok(self.tests.remove(i))
    }

    /// Adds swatches to a test: all of them, or none if one is wrong. Their colours are kept to 0.0001 in CIELAB, far below what
    /// a photo can tell, so that the file stays readable.
    pub fn add_swatches(&mut self, test: &str, swatches: Vec<Swatch>) -> Result<(), KitError> {
        let i = self.position(test)?;
        self.changed(|kit| {
            kit.tests[i].swatches.extend(swatches.into_iter().map(shortened));
            Ok(())
        })
    }

    /// Takes a swatch out of a test, by its number as listed: the first is 1.
    pub fn remove_swatch(&mut self, test: &str, number: usize) -> Result<Swatch, KitError> {
        let i = self.position(test)?;
        let test = &mut self.tests[i];
        let (name, count) = (test.name.clone(), test.swatches.len());
        match number.checked_sub(1).filter(|n| *n < count) {
            Some(n) => Ok(test.swatches.remove(n)),
            None => Err(KitError::NoSwatch { test: name, number, count }),
        }
    }

    /// A change that is taken back if the kit is not sound after it.
    fn changed(&mut self, change: impl FnOnce(&mut Self) -> Result<(), KitError>) -> Result<(), KitError> {
        let mut next = self.clone();
        change(&mut next)?;
        next.validate()?;
        *self = next;
        Ok(())
    }

    fn position(&self, name: &str) -> Result<usize, KitError> {
        let found = self.tests.iter().position(|t| t.name.to_lowercase() == name.trim().to_lowercase());
        found.ok_or_else(|| KitError::NoTest {
            name: name.to_string(),
            known: self.tests.iter().map(|t| t.name.clone()).collect(),
        })
    }
}

/// CIELAB to 0.0001, covariance to six significant digits (both sides of its diagonal alike), the light to 0.00001.
fn shortened(mut s: Swatch) -> Swatch {
    let to = |x: f64, grid: f64| (x * grid).round() / grid;
    let significant = |x: f64| format!("{x:.5e}").parse().unwrap_or(x);
    s.lab = s.lab.map(|x| to(x, 1e4));
    s.cov = s.cov.map(|row| row.map(significant));
    s.light.iter_mut().for_each(|x| *x = to(*x, 1e5));
    if let Some(clear) = &mut s.clear {
        clear.lab = clear.lab.map(|x| to(x, 1e4));
        clear.cov = clear.cov.map(|row| row.map(significant));
    }
    s
}
