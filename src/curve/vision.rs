//! Which shades of a test look alike, to whom.

use super::kit::Test;
use crate::colour::{Deficiency, Lab, LinRgb, colour_words, delta_e_2000, lab_from_linear, linear_from_lab, seen_with};

/// Shades nearer to one another than this (ΔE00) count as not told apart by eye. Touching patches are told apart from about 1 on; but
/// a vial is held beside its shade across a gap, in glass, in the light of a home, and lies ΔE 5 and more off the printed shade of
/// its own concentration (computer-made kits). What is nearer than that is guessed.
pub const ALIKE: f64 = 5.0;

/// A shade of a test.
#[derive(Debug, Clone, PartialEq)]
pub struct Shade {
    /// Its concentration.
    pub value: f64,
    /// Mean colour of its swatches.
    pub lab: Lab,
    /// The same in words.
    pub words: String,
}

/// Two shades, and how far apart they look (ΔE00): to the usual eye, and with each kind of colour vision deficiency at its full
/// strength.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    pub from: f64,
    pub to: f64,
    /// Whether they are neighbours on the scale.
    pub neighbours: bool,
    pub usual: f64,
    /// In the order of [`Deficiency::ALL`].
    pub seen: [f64; 3],
}

impl Pair {
    /// Whether eyes of this kind cannot tell them apart; None for the usual eye.
    pub fn alike(&self, kind: Option<Deficiency>) -> bool {
        match kind {
            None => self.usual < ALIKE,
            Some(kind) => Deficiency::ALL.iter().zip(self.seen).any(|(k, apart)| *k == kind && apart < ALIKE),
        }
    }

    /// Whether anybody cannot tell them apart.
    pub fn alike_to_some(&self) -> bool {
        self.usual < ALIKE || self.seen.iter().any(|d| *d < ALIKE)
    }
}

/// The shades of a test, rising: of one's own standards where they make the curve, else as printed.
pub fn shades(test: &Test) -> Vec<Shade> {
    let series = test.series();
    let shade = |value: f64| {
        let lab = super::check::mean(&series, value);
        Shade { value, lab, words: colour_words(lab) }
    };
    series.values().into_iter().map(shade).collect()
}

/// A colour as such an eye sees it (Machado, Oliveira and Fernandes 2009, severity 1), within what a screen can show.
pub fn as_seen(kind: Deficiency, lab: Lab) -> Lab {
    let LinRgb(light) = seen_with(kind, 1.0, LinRgb(linear_from_lab(lab).0.map(within)));
    lab_from_linear(LinRgb(light.map(within)))
}

fn within(x: f64) -> f64 {
    x.clamp(0.0, 1.0)
}

/// All neighbouring shades, and of the others those that look alike to some.
pub fn pairs(shades: &[Shade]) -> Vec<Pair> {
    let mut out = Vec::new();
    for (i, a) in shades.iter().enumerate() {
        for (j, b) in shades.iter().enumerate().skip(i + 1) {
            let apart = |kind: Deficiency| delta_e_2000(as_seen(kind, a.lab), as_seen(kind, b.lab));
            let pair = Pair {
                from: a.value,
                to: b.value,
                neighbours: j == i + 1,
                usual: delta_e_2000(a.lab, b.lab),
                seen: Deficiency::ALL.map(apart),
            };
            if pair.neighbours || pair.alike_to_some() {
                out.push(pair);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Srgb, linear_from_srgb, srgb_from_linear};

    fn shade(value: f64, rgb: [u8; 3]) -> Shade {
        let lab = lab_from_linear(linear_from_srgb(Srgb(rgb.map(|c| f64::from(c) / 255.0))));
        Shade { value, lab, words: String::new() }
    }

    /// The worked rows of fixtures/published/cvd_worked.csv, to the 8-bit code.
    #[test]
    fn colours_are_seen_as_in_the_worked_examples() {
        let rows = [
            ([255, 0, 0], Deficiency::Protan, [109, 95, 0]),
            ([0, 160, 0], Deficiency::Tritan, [0, 155, 135]),
            ([226, 130, 175], Deficiency::Deutan, [165, 166, 173]),
            ([205, 214, 110], Deficiency::Protan, [227, 206, 101]),
        ];
        for (rgb, kind, seen) in rows {
            let Srgb(code) = srgb_from_linear(linear_from_lab(as_seen(kind, shade(0.0, rgb).lab)));
            assert_eq!(code.map(|c| (c * 255.0).round() as i32), seen, "{rgb:?} {kind:?}");
        }
    }

    #[test]
    fn yellow_green_and_orange_of_one_lightness_are_alike_to_some_only() {
        // Confusion along the red-green axis: told apart by usual and tritan eyes, hardly by deutan ones.
        let pairs = pairs(&[shade(0.0, [222, 180, 70]), shade(1.0, [180, 200, 66])]);
        let [pair] = &pairs[..] else { panic!("{pairs:?}") };
        assert!(pair.neighbours && pair.usual > 15.0 && !pair.alike(None), "{pair:?}");
        assert!(pair.alike(Some(Deficiency::Deutan)) && !pair.alike(Some(Deficiency::Tritan)), "{pair:?}");
    }

    #[test]
    fn shades_that_are_no_neighbours_are_named_only_where_alike() {
        let row = [shade(0.0, [250, 240, 150]), shade(1.0, [120, 40, 40]), shade(2.0, [250, 240, 150])];
        let found: Vec<_> = pairs(&row).iter().map(|p| (p.from, p.to, p.alike_to_some())).collect();
        assert_eq!(found, [(0.0, 1.0, false), (0.0, 2.0, true), (1.0, 2.0, false)]);
    }
}
