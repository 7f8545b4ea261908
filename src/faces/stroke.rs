//! Lines that show on any ground: a dashed black core on an unbroken white band.

use crate::faces::lettering::blend;
use image::{Rgb, RgbImage};

/// Drawn and left-out lengths in multiples of the core's width; None draws all.
pub(super) type Dash = Option<[f32; 2]>;

/// Draws a line through `points` (pixel centres at whole numbers), `width` pixels wide at its core.
pub(super) fn stroke(picture: &mut RgbImage, points: &[[f32; 2]], closed: bool, width: f32, dash: Dash) {
    let white = (width * 2.4).max(width + 2.5);
    lay(picture, points, closed, white, None, Rgb([255; 3]));
    lay(picture, points, closed, width, dash.map(|d| d.map(|n| n * width)), Rgb([0; 3]));
}

/// The line alone, in one colour; `dash` in pixels.
pub(super) fn lay(picture: &mut RgbImage, points: &[[f32; 2]], closed: bool, width: f32, dash: Dash, colour: Rgb<u8>) {
    let reach = width / 2.0 + 1.0;
    let edge = |axis: usize, most: u32| {
        let (low, high) = points.iter().fold((f32::MAX, f32::MIN), |(l, h), p| (l.min(p[axis]), h.max(p[axis])));
        let clip = |v: f32| v.clamp(0.0, most as f32) as usize;
        (clip((low - reach).floor()), clip((high + reach).ceil() + 1.0))
    };
    if points.is_empty() || points.iter().flatten().any(|v| !v.is_finite()) {
        return;
    }
    let ((left, right), (top, foot)) = (edge(0, picture.width()), edge(1, picture.height()));
    // The greatest cover of any piece, so that corners are not laid on twice.
    let mut cover = vec![0.0f32; (right - left) * (foot - top)];
    let mut before = 0.0;
    let ends = points.len() - usize::from(!closed);
    for i in 0..ends {
        let (a, b) = (points[i], points[(i + 1) % points.len()]);
        let along = [b[0] - a[0], b[1] - a[1]];
        let length = along[0].hypot(along[1]);
        if length == 0.0 {
            continue;
        }
        let span = |axis: usize, low: usize, high: usize| {
            let from = (a[axis].min(b[axis]) - reach).floor().clamp(low as f32, high as f32) as usize;
            from..((a[axis].max(b[axis]) + reach).ceil() + 1.0).clamp(low as f32, high as f32) as usize
        };
        for y in span(1, top, foot) {
            for x in span(0, left, right) {
                let d = [x as f32 - a[0], y as f32 - a[1]];
                let t = ((d[0] * along[0] + d[1] * along[1]) / length).clamp(0.0, length);
                let away = (d[0] - along[0] / length * t).hypot(d[1] - along[1] / length * t);
                let mut c = (width / 2.0 + 0.5 - away).clamp(0.0, 1.0);
                if let Some([on, off]) = dash {
                    let place = (before + t) % (on + off);
                    c *= (place.min(on - place) + 0.5).clamp(0.0, 1.0);
                }
                let held = &mut cover[(y - top) * (right - left) + x - left];
                *held = held.max(c);
            }
        }
        before += length;
    }
    for (i, c) in cover.into_iter().enumerate().filter(|(_, c)| *c > 0.0) {
        let (x, y) = (left + i % (right - left), top + i / (right - left));
        blend(picture, x as i64, y as i64, colour, c);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn core_and_band_have_their_width_and_dashes_their_length() {
        let ground = Rgb([90, 140, 60]);
        let mut p = RgbImage::from_pixel(120, 40, ground);
        stroke(&mut p, &[[10.5, 20.0], [110.5, 20.0]], false, 3.0, Some([5.0, 2.0]));
        // Across the first dash: 3 pixels black in a band of 7.2 white.
        let column: Vec<u8> = (14..27).map(|y| p.get_pixel(12, y).0[0]).collect();
        assert_eq!(column[5..8], [0, 0, 0]);
        assert_eq!((column[4], column[8], column[2], column[0]), (255, 255, 107, 90));
        // Along the core: 15 black, 6 white.
        let black = |x: u32| p.get_pixel(x, 20).0[0] < 128;
        let gaps: Vec<u32> = (11..109).filter(|&x| black(x) != black(x + 1)).collect();
        assert_eq!(gaps[..4], [25, 31, 46, 52], "{gaps:?}");
    }

    #[test]
    fn lines_outside_or_broken_are_left_out() {
        let mut p = RgbImage::new(20, 20);
        stroke(&mut p, &[[-50.0, -50.0], [-40.0, -45.0]], true, 2.0, None);
        stroke(&mut p, &[[f32::NAN, 1.0], [5.0, 5.0]], true, 2.0, None);
        stroke(&mut p, &[], true, 2.0, None);
        assert!(p.pixels().all(|c| c.0 == [0; 3]));
        stroke(&mut p, &[[-50.0, 10.0], [1e6, 10.0]], false, 2.0, None);
        // A line from far outside to far outside still crosses the picture: core 2, band 4.8 pixels wide.
        assert!((0..20).all(|x| [6, 8, 10, 12, 14].map(|y| p.get_pixel(x, y).0[0]) == [0, 230, 0, 230, 0]));
    }
}
