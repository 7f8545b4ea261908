//! A colour in plain words, for whoever cannot trust their eyes with it: lightness, strength, hue.

use super::Lab;

/// Hue names up to these CIELAB hue angles, in degrees. Our own division; the primaries of sRGB lie at 40 (red), 103 (yellow),
/// 136 (green), 196 (cyan), 306 (blue) and 328 (magenta).
const HUES: [(f64, &str); 12] = [
    (18.0, "pink"),
    (50.0, "red"),
    (75.0, "orange"),
    (88.0, "orange-yellow"),
    (106.0, "yellow"),
    (125.0, "yellow-green"),
    (168.0, "green"),
    (215.0, "blue-green"),
    (298.0, "blue"),
    (318.0, "violet"),
    (342.0, "purple"),
    (360.0, "pink"),
];

/// Below this chroma a colour has no hue worth naming; below the second it is greyish, above the third strong.
const CHROMA: [f64; 3] = [5.0, 16.0, 55.0];

/// The colour's name, such as `light greyish yellow` or `dark strong blue-green`.
pub fn colour_words(Lab([l, a, b]): Lab) -> String {
    let chroma = a.hypot(b);
    if chroma < CHROMA[0] {
        return match l {
            _ if l > 93.0 => "white",
            _ if l > 70.0 => "light grey",
            _ if l > 40.0 => "grey",
            _ if l > 15.0 => "dark grey",
            _ => "black",
        }
        .to_string();
    }
    let angle = b.atan2(a).to_degrees().rem_euclid(360.0);
    let hue = HUES.iter().find(|(end, _)| angle < *end).map_or("pink", |h| h.1);
    // Dark orange is called brown, dark pink and purple keep their names.
    let (hue, brown) = match hue {
        "orange" | "orange-yellow" if l < 50.0 => ("brown", true),
        other => (other, false),
    };
    let lightness = match l {
        _ if l > 85.0 => "very light",
        _ if l > 70.0 => "light",
        _ if l > 45.0 || brown && l > 30.0 => "",
        _ if l > 25.0 => "dark",
        _ => "very dark",
    };
    let strength = match chroma {
        _ if chroma < CHROMA[1] => "greyish",
        _ if chroma > CHROMA[2] && !brown => "strong",
        _ => "",
    };
    [lightness, strength, hue].into_iter().filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Srgb, lab_from_linear, linear_from_srgb};

    #[test]
    fn well_known_colours_have_their_names() {
        let named = [
            ([255, 0, 0], "strong red"),
            ([255, 255, 0], "very light strong yellow"),
            ([0, 160, 0], "strong green"),
            ([0, 255, 255], "very light blue-green"),
            ([0, 0, 255], "dark strong violet"),
            ([0, 90, 200], "dark strong blue"),
            ([255, 0, 255], "strong purple"),
            ([255, 150, 180], "light pink"),
            ([120, 70, 30], "brown"),
            ([255, 140, 0], "strong orange"),
            ([205, 214, 110], "light yellow-green"),
            ([255, 255, 255], "white"),
            ([128, 128, 128], "grey"),
            ([10, 10, 10], "black"),
            ([200, 195, 180], "light greyish yellow"),
        ];
        for (rgb, name) in named {
            let lab = lab_from_linear(linear_from_srgb(Srgb(rgb.map(|c| f64::from(c) / 255.0))));
            assert_eq!(colour_words(lab), name, "{rgb:?} {lab:?}");
        }
    }
}
