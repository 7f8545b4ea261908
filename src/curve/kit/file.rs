//! The kit's file, formats 1 to 3: TOML read strictly, written in one canonical way. Formats 2 and 3 add keys; a kit that uses
//! none of them is written as format 1, so that it keeps its revision.

use std::fmt::Write;

use jiff::civil::Date;
use serde::Deserialize;
use toml::value::Datetime;

use super::remembered::{self, FileAdoption, FileBottle, FileCamera};
use super::{Clear, Kind, Kit, KitError, Matrix, Scale, Source, Strip, Swatch, Test};
use crate::water::{Analyte, Unit};

/// The newest format this version reads.
const FORMAT: i64 = 3;

const HEADING: &str = "\
# A kit of water tests, calibrated with photos of standards. Values are in the test's unit, colours in CIELAB (D65) as the
# card named below shows them. A revision is known by the hash of this text: do not edit a kept one, make a new one from it.
";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileKit {
    format: i64,
    name: String,
    kind: FileKind,
    card: Option<String>,
    note: Option<String>,
    strip: Option<FileStrip>,
    #[serde(default, rename = "camera")]
    cameras: Vec<FileCamera>,
    #[serde(default, rename = "test")]
    tests: Vec<FileTest>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileStrip {
    length_mm: f64,
    width_mm: f64,
    pad_mm: f64,
    pitch_mm: f64,
    end_mm: f64,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum FileKind {
    Vial,
    Strip,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileTest {
    name: String,
    analyte: String,
    unit: String,
    scale: FileScale,
    matrix: FileMatrix,
    wait_minutes: Option<f64>,
    window_minutes: Option<f64>,
    pad: Option<u8>,
    lot: Option<String>,
    opened: Option<Datetime>,
    expiry: Option<Datetime>,
    note: Option<String>,
    #[serde(default, rename = "swatch")]
    swatches: Vec<FileSwatch>,
    #[serde(default)]
    earlier: Vec<FileBottle>,
    #[serde(default)]
    adopted: Vec<FileAdoption>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum FileScale {
    FromZero,
    Bounded,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum FileMatrix {
    Fresh,
    Marine,
    Both,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum FileSource {
    Print,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileSwatch {
    value: f64,
    value_sd: Option<f64>,
    source: Option<FileSource>,
    lab: [f64; 3],
    cov: [[f64; 3]; 3],
    #[serde(default)]
    photo: String,
    #[serde(default)]
    station: String,
    #[serde(default)]
    light: Vec<f64>,
    taken: Option<String>,
    clear: Option<FileClear>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileClear {
    lab: [f64; 3],
    cov: [[f64; 3]; 3],
}

/// The kit of a text, not yet checked for soundness.
pub(super) fn read(text: &str) -> Result<Kit, KitError> {
    let malformed = |e: toml::de::Error| {
        let before = e.span().map_or("", |span| text.get(..span.start).unwrap_or(text));
        KitError::Malformed { line: 1 + before.matches('\n').count(), message: e.message().to_string() }
    };
    // The format first: a newer file may hold anything.
    let loose: toml::Table = toml::from_str(text).map_err(malformed)?;
    match loose.get("format").and_then(toml::Value::as_integer) {
        Some(1..=FORMAT) => {}
        Some(found) if found > FORMAT => return Err(KitError::Newer { found, known: FORMAT }),
        _ => return Err(KitError::NoFormat),
    }
    let kit: FileKit = toml::from_str(text).map_err(malformed)?;
    let said = kit.format;
    let kit = Kit {
        name: kit.name,
        kind: match kit.kind {
            FileKind::Vial => Kind::Vial,
            FileKind::Strip => Kind::Strip,
        },
        card: kit.card,
        note: kit.note,
        strip: kit.strip.map(|s| Strip {
            length_mm: s.length_mm,
            width_mm: s.width_mm,
            pad_mm: s.pad_mm,
            pitch_mm: s.pitch_mm,
            end_mm: s.end_mm,
        }),
        cameras: kit.cameras.into_iter().map(remembered::camera).collect(),
        tests: kit.tests.into_iter().map(|t| test(t, text)).collect::<Result<_, _>>()?,
    };
    if said < format(&kit) {
        let message = format!("a key of format {} in a file that says `format = {said}`", format(&kit));
        return Err(KitError::Malformed { line: 1, message });
    }
    Ok(kit)
}

/// The oldest format that can say all of a kit.
fn format(kit: &Kit) -> i64 {
    let newer = |t: &Test| {
        t.window_minutes.is_some() || t.swatches.iter().any(|s| s.value_sd.is_some() || s.source != Source::Standard)
    };
    let cleared = |t: &Test| t.swatches.iter().any(|s| s.clear.is_some());
    match kit.strip.is_some() || kit.tests.iter().any(newer) {
        _ if remembered::used(kit) || kit.tests.iter().any(cleared) => 3,
        true => 2,
        false => 1,
    }
}

fn test(t: FileTest, text: &str) -> Result<Test, KitError> {
    let of = |source| KitError::Unit { test: t.name.clone(), source };
    let analyte = Analyte::parse(&t.analyte).map_err(of)?;
    let unit = Unit::parse(&t.unit, &analyte).map_err(of)?;
    Ok(Test {
        analyte,
        unit,
        scale: match t.scale {
            FileScale::FromZero => Scale::FromZero,
            FileScale::Bounded => Scale::Bounded,
        },
        matrix: match t.matrix {
            FileMatrix::Fresh => Matrix::Fresh,
            FileMatrix::Marine => Matrix::Marine,
            FileMatrix::Both => Matrix::Both,
        },
        wait_minutes: t.wait_minutes,
        window_minutes: t.window_minutes,
        pad: t.pad,
        lot: t.lot,
        opened: date(t.opened, "opened", text)?,
        expiry: date(t.expiry, "expiry", text)?,
        note: t.note,
        swatches: t.swatches.into_iter().map(swatch).collect(),
        earlier: t.earlier.into_iter().map(|b| remembered::bottle(b, text)).collect::<Result<_, _>>()?,
        adopted: t.adopted.into_iter().map(|a| remembered::adoption(a, text)).collect::<Result<_, _>>()?,
        name: t.name,
    })
}

/// A plain date; a time of day has no place in a kit.
pub(super) fn date(d: Option<Datetime>, key: &str, text: &str) -> Result<Option<Date>, KitError> {
    let Some(d) = d else { return Ok(None) };
    let written = d.to_string();
    match written.parse::<Date>() {
        Ok(date) if d.time.is_none() && d.offset.is_none() => Ok(Some(date)),
        _ => {
            let line = text.lines().position(|l| l.trim_start().starts_with(key) && l.contains(&written));
            let message = format!("`{key}` is not a date such as 2026-03-01");
            Err(KitError::Malformed { line: 1 + line.unwrap_or(0), message })
        }
    }
}

fn swatch(s: FileSwatch) -> Swatch {
    let FileSwatch { value, value_sd, source, lab, cov, photo, station, light, taken, clear } = s;
    let source = match source {
        None => Source::Standard,
        Some(FileSource::Print) => Source::Print,
    };
    let clear = clear.map(|FileClear { lab, cov }| Clear { lab, cov });
    Swatch { value, value_sd, source, lab, cov, photo, station, light, taken, clear }
}

/// The canonical text of a kit.
pub(super) fn written(kit: &Kit) -> String {
    let mut out = Lines(format!("format = {}\n{HEADING}", format(kit)));
    out.text("name", &kit.name);
    out.text("kind", if kit.kind == Kind::Vial { "vial" } else { "strip" });
    out.some("card", kit.card.as_deref());
    out.some("note", kit.note.as_deref());
    if let Some(strip) = &kit.strip {
        out.raw("\n[strip]");
        let Strip { length_mm, width_mm, pad_mm, pitch_mm, end_mm } = *strip;
        for (key, mm) in
            [("length", length_mm), ("width", width_mm), ("pad", pad_mm), ("pitch", pitch_mm), ("end", end_mm)]
        {
            out.raw(&format!("{key}_mm = {}", number(mm)));
        }
    }
    remembered::cameras(kit, &mut out);
    for t in &kit.tests {
        out.raw("\n[[test]]");
        out.text("name", &t.name);
        out.text("analyte", t.analyte.as_str());
        out.text("unit", t.unit.as_str());
        out.text("scale", if t.scale == Scale::FromZero { "from-zero" } else { "bounded" });
        out.text(
            "matrix",
            match t.matrix {
                Matrix::Fresh => "fresh",
                Matrix::Marine => "marine",
                Matrix::Both => "both",
            },
        );
        if let Some(minutes) = t.wait_minutes {
            out.raw(&format!("wait_minutes = {}", number(minutes)));
        }
        if let Some(minutes) = t.window_minutes {
            out.raw(&format!("window_minutes = {}", number(minutes)));
        }
        if let Some(pad) = t.pad {
            out.raw(&format!("pad = {pad}"));
        }
        out.some("lot", t.lot.as_deref());
        for (key, date) in [("opened", t.opened), ("expiry", t.expiry)] {
            if let Some(date) = date {
                out.raw(&format!("{key} = {date}"));
            }
        }
        out.some("note", t.note.as_deref());
        remembered::bottles_and_adoptions(t, &mut out);
        for s in &t.swatches {
            out.raw("\n[[test.swatch]]");
            out.raw(&format!("value = {}", number(s.value)));
            if let Some(sd) = s.value_sd {
                out.raw(&format!("value_sd = {}", number(sd)));
            }
            if s.source == Source::Print {
                out.text("source", "print");
            }
            out.raw(&format!("lab = {}", row(&s.lab)));
            out.raw(&format!("cov = {}", rows(&s.cov)));
            out.some("photo", Some(s.photo.as_str()).filter(|p| !p.is_empty()));
            out.some("station", Some(s.station.as_str()).filter(|p| !p.is_empty()));
            if !s.light.is_empty() {
                out.raw(&format!("light = {}", row(&s.light)));
            }
            out.some("taken", s.taken.as_deref());
            if let Some(Clear { lab, cov }) = &s.clear {
                out.raw(&format!("clear = {{ lab = {}, cov = {} }}", row(lab), rows(cov)));
            }
        }
    }
    out.0
}

pub(super) struct Lines(String);

impl Lines {
    pub(super) fn raw(&mut self, line: &str) {
        self.0.push_str(line);
        self.0.push('\n');
    }

    pub(super) fn text(&mut self, key: &str, value: &str) {
        // The library knows how to quote.
        let _ = writeln!(self.0, "{key} = {}", toml::Value::String(value.to_string()));
    }

    pub(super) fn some(&mut self, key: &str, value: Option<&str>) {
        if let Some(value) = value {
            self.text(key, value);
        }
    }
}

/// The shortest form that reads back to the same number.
pub(super) fn number(x: f64) -> String {
    toml::Value::Float(x).to_string()
}

fn rows(cov: &[[f64; 3]; 3]) -> String {
    format!("[{}]", cov.iter().map(|r| row(r)).collect::<Vec<_>>().join(", "))
}

pub(super) fn row(xs: &[f64]) -> String {
    format!("[{}]", xs.iter().map(|x| number(*x)).collect::<Vec<_>>().join(", "))
}
