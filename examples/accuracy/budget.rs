//! Where the error of clean photos comes from: stage by stage the true quantity is put in the place of the measured one, or, where the
//! set has no truth for it, what the stage rests on is left out in turn; what then is left is shared out by what the curve expects.
//!
//! Everything here goes by the library's public rooms; nothing in the library knows of it.

use std::collections::BTreeMap;
use std::io::Write;

use tintline::card::{self, Card, Layout, Plane};
use tintline::curve::{Kind, Kit, Nuisance, Path, Scale, Seen, Test, Ways, invert};
use tintline::light::{Correction, Field, Pair, Reference, Scene, free};
use tintline::numeric::robust::quantile;
use tintline::photo::Photo;
use tintline::reading::beside::tints;
use tintline::reading::foreign;
use tintline::sample::{Colour, Sample, Samples, Vial, measure};

use super::run::{self, Making, Set};
use super::shares::{self, Told};
use super::truth::{self, Keeper, Truth};

/// Names of the stages, with how their part is found.
pub const CARD: &str = "card finding (true corners in its place)";
pub const REGION: &str = "sample region (true outline in its place)";
pub const DOSING: &str = "water and drops as they were, not as they were meant (true amounts)";
pub const PAPER: &str = "even light (paper left out in ten blocks)";
pub const PATCHES: &str = "correction (each patch left out in turn)";
pub const TOTAL: &str = "all together";

/// Prints the table, in Markdown, for the clean photos of vials of a set.
pub fn table(set: &Set, truth: &Truth, making: Making, out: &mut dyn Write) -> anyhow::Result<()> {
    let layout = Layout::first();
    let mut parts: BTreeMap<&'static str, Vec<f64>> = BTreeMap::new();
    for keeper in truth.keepers.iter().filter(|k| k.kit.kind == "vial") {
        let reference = run::enrol(set, truth, keeper, &layout)?;
        let kit = run::kit(set, truth, keeper, &layout, &reference, making)?;
        let tests = truth.photos.iter().filter(|p| p.keeper == keeper.keeper && p.role == "test");
        for photo in tests.filter(|p| p.hazards.is_empty()) {
            let stages = Stages { photo: set.open(&photo.file)?, truth: photo, layout: &layout, reference: &reference };
            stages.add(keeper, &kit, &mut parts);
        }
    }
    print(&parts, out)
}

fn print(parts: &BTreeMap<&'static str, Vec<f64>>, out: &mut dyn Write) -> anyhow::Result<()> {
    let of = |v: &[f64], p: f64| quantile(v, p).unwrap_or(f64::NAN);
    let mut rows: Vec<_> = parts.iter().map(|(name, v)| (*name, v.len(), of(v, 0.5), of(v, 0.95))).collect();
    rows.sort_by(|a, b| (b.0 == TOTAL).cmp(&(a.0 == TOTAL)).then(b.3.total_cmp(&a.3)));
    writeln!(out, "| part of the error, in steps | vials | median | 95 % |")?;
    writeln!(out, "| --- | --- | --- | --- |")?;
    for (name, n, median, high) in rows {
        writeln!(out, "| {name} | {n} | {median:.3} | {high:.2} |")?;
    }
    Ok(())
}

/// A photo with what is known of it.
struct Stages<'a> {
    photo: Photo,
    truth: &'a truth::Photo,
    layout: &'a Layout,
    reference: &'a Reference,
}

/// A test's curve as a photo's light shows it.
pub struct Curve<'a> {
    pub test: &'a Test,
    pub path: Path,
    pub foreign: f64,
}

impl Curve<'_> {
    /// Position of a colour.
    pub fn position(&self, seen: &Seen) -> f64 {
        invert(&self.path, seen, self.test.scale == Scale::Bounded).position
    }

    /// Position of a concentration.
    fn of(&self, value: f64) -> f64 {
        self.path.position(value)
    }
}

impl Stages<'_> {
    /// What every stage adds to every sample's error. Samples that are refused, or not told from an end of the scale, have none.
    fn add(&self, keeper: &Keeper, kit: &Kit, parts: &mut BTreeMap<&'static str, Vec<f64>>) {
        let Ok(card) = card::find(&self.photo, self.layout) else { return };
        let Ok(scene) = Scene::fit(&self.photo, self.layout, &card, self.reference) else { return };
        let samples = Samples::find(&self.photo, self.layout, &card, &scene);
        let (ways, light) = (Ways::of(kit), scene.signature());
        for wanted in self.truth.samples.iter().filter(|s| s.present && s.right_kit) {
            let Ok(sample) = samples.at(&wanted.place) else { continue };
            let Ok(test) = kit.test(&wanted.analyte) else { continue };
            let Ok(path) = Path::under(test, Nuisance::of(Kind::Vial), &ways, &light) else { continue };
            let curve = Curve { test, path, foreign: foreign(&light, kit) };
            let tint = tints(sample, &samples);
            let tint = [0, 1, 2].map(|r| [0, 1, 2].map(|c| tint[(r, c)]));
            let seen = |colour: &Colour, scene: &Scene| {
                let cov = sum(&[colour.cov, scene.correction.residual, tint]);
                Seen { lab: colour.lab, cov, foreign: curve.foreign }
            };
            let at = curve.position(&seen(&sample.colour, &scene));
            let series = &keeper.kit.analytes[&wanted.analyte];
            // Where the series ends a value says less than its error: such samples count in the report, not here.
            if at > curve.path.last() || wanted.expected != "read" {
                continue;
            }
            let mut put = |name, by: f64| parts.entry(name).or_default().push(by.abs());
            let effective = wanted.effective.unwrap_or(wanted.concentration);
            put(TOTAL, at - series.position(wanted.concentration));
            put(DOSING, series.position(effective) - series.position(wanted.concentration));
            let Some(vial) = vial_of(sample) else { continue };
            if let Some(by) = self.with_true_card(&card, &wanted.place, &seen).map(|s| curve.position(&s)) {
                put(CARD, by - at);
            }
            if let Some(true_vial) = self.true_vial(&card, &wanted.place, &vial)
                && let Some(colour) = measure(&self.photo, &card, &scene, &true_vial)
            {
                put(REGION, curve.position(&seen(&colour, &scene)) - at);
            }
            let measured = |scene: &Scene| {
                measure(&self.photo, &card, scene, &vial).map(|colour| curve.position(&seen(&colour, scene)))
            };
            put(PAPER, left_out(self.papers(&scene).iter().filter_map(measured)));
            put(PATCHES, left_out(self.corrections(&scene).iter().filter_map(measured)));
            let told = Told {
                seen: seen(&sample.colour, &scene),
                noise: sample.colour.cov,
                correction: scene.correction.residual,
                tint,
                truth: curve.of(effective),
            };
            shares::of(&curve, &told).into_iter().for_each(|(name, by)| put(name, by));
        }
    }

    /// A sample read on the card as it truly lies.
    fn with_true_card(&self, card: &Card, place: &str, seen: &impl Fn(&Colour, &Scene) -> Seen) -> Option<Seen> {
        let (w, h) = (self.layout.width, self.layout.height);
        let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
        let mut pairs: Vec<_> = corners.into_iter().zip(self.truth.geometry.card.iter().copied()).collect();
        for m in &self.layout.markers {
            let square = [[m.x, m.y], [m.x + m.edge, m.y], [m.x + m.edge, m.y + m.edge], [m.x, m.y + m.edge]];
            pairs.extend(square.into_iter().zip(self.truth.geometry.markers.get(&m.id.to_string())?.iter().copied()));
        }
        let card = Card { plane: Plane::fit(&pairs)?, ..card.clone() };
        let scene = Scene::fit(&self.photo, self.layout, &card, self.reference).ok()?;
        let samples = Samples::find(&self.photo, self.layout, &card, &scene);
        let sample = samples.at(place).ok()?;
        Some(seen(&sample.colour, &scene))
    }

    /// The vial as it truly stands; its glass, and how far the meniscus reaches down, as they were found.
    fn true_vial(&self, card: &Card, place: &str, found: &Vial) -> Option<Vial> {
        let outline = &self.truth.geometry.samples.get(place)?.liquid;
        let mut mm: Vec<[f64; 2]> = outline.iter().map(|p| card.plane.mm(*p)).collect();
        if mm.len() != 4 {
            return None;
        }
        mm.sort_by(|a, b| a[1].total_cmp(&b[1]));
        let middle = |a: [f64; 2], b: [f64; 2]| [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
        let (top, foot) = (middle(mm[0], mm[1]), middle(mm[2], mm[3]));
        Some(standing(top, foot, top[1] + found.calm - found.top, found.half, found.station.clone()))
    }

    /// The photo's light with a tenth of the paper left out, block by block of the card.
    fn papers(&self, scene: &Scene) -> Vec<Scene> {
        let block = |[x, y]: [f64; 2]| {
            let (i, j) = (5.0 * x / self.layout.width, 2.0 * y / self.layout.height);
            (i as usize).min(4) + 5 * (j as usize).min(1)
        };
        let without = |b: usize| {
            let paper: Vec<_> = scene.paper.iter().filter(|a| block(a.at) != b).copied().collect();
            let mut scene = scene.clone();
            scene.field = Field::fit(&paper, |a| free(self.layout, a))?;
            Some(scene)
        };
        (0..10).filter_map(without).collect()
    }

    /// The photo's light with a correction that does not know one of the patches.
    fn corrections(&self, scene: &Scene) -> Vec<Scene> {
        let pairs = |left: usize| -> Vec<Pair> {
            let pair = |i: usize| Pair {
                seen: scene.straight[i],
                truth: self.reference.colours[i],
                weight: if i == left { 0.0 } else { scene.trusted[i] },
            };
            (0..scene.straight.len()).map(pair).collect()
        };
        let counted = (0..scene.trusted.len()).filter(|i| scene.trusted[*i] > 0.0);
        let without = |i: usize| {
            let mut scene = scene.clone();
            scene.correction = Correction::fit(&pairs(i))?;
            Some(scene)
        };
        counted.filter_map(without).collect()
    }
}

/// Where the region that is measured begins below the calm of the liquid, mm.
const BELOW: f64 = 0.8;

/// The vial of a sample, from its outlines.
fn vial_of(sample: &Sample) -> Option<Vial> {
    let [a, b, c, d] = sample.outline[..] else { return None };
    let middle = |p: [f64; 2], q: [f64; 2]| [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])];
    let calm = sample.colour.outline.first()?[1] - BELOW;
    Some(standing(middle(a, b), middle(c, d), calm, 0.5 * (b[0] - a[0]), sample.station.clone()))
}

/// A vial with its axis from the middle of the liquid's surface to the middle of its foot.
fn standing(top: [f64; 2], foot: [f64; 2], calm: f64, half: f64, station: String) -> Vial {
    let lean = (foot[0] - top[0]) / (foot[1] - top[1]);
    let mut vial = Vial { station, x: 0.0, lean, half, top: top[1], calm, foot: foot[1], walls: 1.0, surface: 1.0 };
    vial.x = top[0] - vial.axis(top[1]);
    vial
}

fn sum(parts: &[[[f64; 3]; 3]]) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|r| [0, 1, 2].map(|c| parts.iter().map(|p| p[r][c]).sum()))
}

/// Standard deviation of a position from what it becomes with parts left out in turn (jackknife: Efron and Stein 1981, Ann. Stat.
/// 9:586).
fn left_out(positions: impl Iterator<Item = f64>) -> f64 {
    let positions: Vec<f64> = positions.collect();
    let n = positions.len() as f64;
    let mean = positions.iter().sum::<f64>() / n;
    ((n - 1.0) / n * positions.iter().map(|p| (p - mean).powi(2)).sum::<f64>()).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leaving_out_gives_the_standard_error_of_a_mean() {
        let seen = [1.0, 4.0, 2.0, 7.0, 3.5];
        let n = seen.len() as f64;
        let total: f64 = seen.iter().sum();
        let means = seen.iter().map(|s| (total - s) / (n - 1.0));
        // Of means it is s / √n exactly.
        let mean = total / n;
        let s = (seen.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        assert!((left_out(means) - s / n.sqrt()).abs() < 1e-12);
    }
}
