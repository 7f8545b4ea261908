//! A photo with fewer pixels.

use super::{Photo, Samples, turn::Turn};
use std::ops::AddAssign;

/// Means of code values over `factor` × `factor` pixels as stored; what does not fill a block is left out.
pub(super) fn reduced(photo: Photo, factor: u32) -> Photo {
    let factor = factor.max(1);
    let (w, h) = photo.turn.stored();
    let samples = match &photo.samples {
        Samples::Eight(v) => Samples::Eight(means::<u8>(v, w, h, factor).into()),
        Samples::Sixteen(v) => Samples::Sixteen(means::<u16>(v, w, h, factor)),
    };
    let turn: Turn = photo.turn.of_size((w / factor, h / factor));
    Photo { samples, turn, ..photo }
}

fn means<T: Copy + Into<u64> + TryFrom<u64> + Default>(samples: &[T], width: u32, height: u32, factor: u32) -> Vec<T> {
    let [width, height, n] = [width, height, factor].map(|v| v as usize);
    let (across, down) = (width / n, height / n);
    let mut out = Vec::with_capacity(across * down * 3);
    let mut sums = vec![0u64; across * 3];
    let count = (n * n) as u64;
    for block in 0..down {
        sums.fill(0);
        for row in block * n..(block + 1) * n {
            let line = &samples[row * width * 3..(row * width + across * n) * 3];
            for (sum, block) in sums.chunks_exact_mut(3).zip(line.chunks_exact(n * 3)) {
                for p in block.chunks_exact(3) {
                    (0..3).for_each(|c| sum[c].add_assign(p[c].into()));
                }
            }
        }
        // A mean of code values is a code value.
        out.extend(sums.iter().map(|s| T::try_from((s + count / 2) / count).unwrap_or_default()));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_become_their_means() {
        // Two blocks of 2 × 2 and a column that fills none; channels differ.
        let row = |r: u8| [[r, 0, 9], [r + 2, 0, 9], [10, 1, 9], [20, 4, 9], [99, 99, 99]].concat();
        let small = means::<u8>(&[row(0), row(4)].concat(), 5, 2, 2);
        assert_eq!(small, [3, 0, 9, 15, 3, 9], "means, halves rounded up");
    }
}
