//! Colour differences.

use super::Lab;
use palette::color_difference::Ciede2000;

/// CIEDE2000 with kL = kC = kH = 1 (CIE 142-2001; Sharma, Wu, Dalal, Color Res. Appl. 30, 21-30, 2005). Symmetric.
/// About 1 is the smallest difference an eye notices between large fields side by side.
pub fn delta_e_2000(one: Lab, other: Lab) -> f64 {
    palette_lab(one).difference(palette_lab(other))
}

/// The plain distance in CIELAB, ΔE*ab of 1976.
pub fn delta_e_76(one: Lab, other: Lab) -> f64 {
    let d = |i: usize| one.0[i] - other.0[i];
    (d(0).powi(2) + d(1).powi(2) + d(2).powi(2)).sqrt()
}

// The white is only a name here: the difference formula does not use it.
fn palette_lab(colour: Lab) -> palette::Lab<palette::white_point::D65, f64> {
    let [l, a, b] = colour.0;
    palette::Lab::new(l, a, b)
}
