//! The picture in grey and smaller, for finding markers: whole rows of integer sums over the stored order, turned
//! upright at the end, when there are few pixels left.

use super::{Photo, Samples};
use image::GrayImage;
use std::ops::AddAssign;

/// Weights of red, green and blue in 1/65536 (ITU-R BT.601-7, 0.299, 0.587, 0.114), applied to code values.
const WEIGHTS: [u64; 3] = [19595, 38470, 7471];

/// Means over `factor` × `factor` upright pixels; what does not fill a block is left out at the right and the bottom.
pub(super) fn luma(photo: &Photo, factor: u32) -> GrayImage {
    let grid = Blocks::new(photo, factor);
    let grey = match &photo.samples {
        // 16-bit sums hold 257 rows of bytes; narrow sums are half the work.
        Samples::Eight(v) if factor <= 257 => grid.means::<u8, u16>(v, 255),
        Samples::Eight(v) => grid.means::<u8, u32>(v, 255),
        Samples::Sixteen(v) => grid.means::<u16, u32>(v, 65535),
    };
    grid.upright(photo, grey)
}

/// Green of four pixels of each block.
pub(super) fn glance(photo: &Photo, factor: u32) -> GrayImage {
    let grid = Blocks::new(photo, factor);
    let grey = match &photo.samples {
        Samples::Eight(v) => grid.greens(v, 0),
        Samples::Sixteen(v) => grid.greens(v, 8),
    };
    grid.upright(photo, grey)
}

struct Blocks {
    width: usize,
    factor: usize,
    skip_x: usize,
    skip_y: usize,
    small: (u32, u32),
}

impl Blocks {
    fn new(photo: &Photo, factor: u32) -> Self {
        let factor = factor.max(1);
        let (w, h) = photo.turn.stored();
        // The part left out lies where the upright picture ends, which may be where the stored one begins.
        let (back_x, back_y) = photo.turn.reversed();
        let skip = |whole: u32, back: bool| if back { whole % factor } else { 0 } as usize;
        Self {
            width: w as usize,
            factor: factor as usize,
            skip_x: skip(w, back_x),
            skip_y: skip(h, back_y),
            small: (w / factor, h / factor),
        }
    }

    fn upright(&self, photo: &Photo, grey: Vec<u8>) -> GrayImage {
        let turn = photo.turn.of_size(self.small);
        let (w, h) = turn.upright();
        let grey = if turn.is_upright() { grey } else { turn.upright_values(&grey) };
        GrayImage::from_raw(w, h, grey).unwrap_or_else(|| GrayImage::new(w, h))
    }

    /// Means of the second channel at four places about the middle of each block, half a block apart: there they show least
    /// of what is too fine for the blocks. Code values are shifted down to 8 bits.
    fn greens<T: Copy + Into<u32>>(&self, samples: &[T], shift: u32) -> Vec<u8> {
        let n = self.factor;
        let (first, last) = ((n - 1) / 4, n - 1 - (n - 1) / 4);
        let length = self.small.0 as usize * n * 3;
        let mut out = Vec::with_capacity(self.small.0 as usize * self.small.1 as usize);
        for block in 0..self.small.1 as usize {
            let [a, b] = [first, last].map(|row| {
                let at = ((self.skip_y + block * n + row) * self.width + self.skip_x) * 3;
                samples[at..at + length].chunks_exact(n * 3)
            });
            out.extend(a.zip(b).map(|(a, b)| {
                let [i, k] = [first * 3 + 1, last * 3 + 1];
                let sum: u32 = a[i].into() + a[k].into() + b[i].into() + b[k].into();
                ((sum + 2) >> (2 + shift)) as u8
            }));
        }
        out
    }

    fn means<T, S>(&self, samples: &[T], top: u64) -> Vec<u8>
    where
        T: Copy + Into<S>,
        S: Copy + Default + AddAssign + Into<u64>,
    {
        match self.factor {
            // Fixed lengths for the factors that are used on large photos.
            1 => self.blocks::<T, S, 1>(samples, top),
            2 => self.blocks::<T, S, 2>(samples, top),
            4 => self.blocks::<T, S, 4>(samples, top),
            _ => self.blocks::<T, S, 0>(samples, top),
        }
    }

    /// `N` is the factor where it is known beforehand, else 0.
    fn blocks<T, S, const N: usize>(&self, samples: &[T], top: u64) -> Vec<u8>
    where
        T: Copy + Into<S>,
        S: Copy + Default + AddAssign + Into<u64>,
    {
        let n = if N > 0 { N } else { self.factor };
        // One division a block, as a multiplication: grey = sum × scale / 2^48, rounded.
        let scale = (255 << 48) / (((n * n) as u64 * top) << 16) + 1;
        let mut out = Vec::with_capacity(self.small.0 as usize * self.small.1 as usize);
        let mut sums = vec![S::default(); self.small.0 as usize * n * 3];
        for block in 0..self.small.1 as usize {
            let first = self.skip_y + block * n;
            for row in first..first + n {
                let at = (row * self.width + self.skip_x) * 3;
                let line = &samples[at..at + sums.len()];
                if row == first {
                    sums.iter_mut().zip(line).for_each(|(s, &v)| *s = v.into());
                } else {
                    sums.iter_mut().zip(line).for_each(|(s, &v)| *s += v.into());
                }
            }
            out.extend(sums.chunks_exact(n * 3).map(|block| {
                let mut rgb = [0u64; 3];
                for p in block.chunks_exact(3) {
                    (0..3).for_each(|c| rgb[c] += p[c].into());
                }
                let sum = WEIGHTS[0] * rgb[0] + WEIGHTS[1] * rgb[1] + WEIGHTS[2] * rgb[2];
                ((sum * scale + (1 << 47)) >> 48).min(255) as u8
            }));
        }
        out
    }
}
