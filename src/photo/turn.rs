//! EXIF orientation: where an upright pixel lies in the picture as stored.

/// The eight ways a picture may be stored (CIPA DC-008, tag 0x0112), with the stored size.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turn {
    stored: (u32, u32),
    /// Stored index of the upright pixel (0, 0), and the steps to its neighbours right and below.
    origin: isize,
    right: isize,
    down: isize,
    /// Width and height change places.
    swaps: bool,
}

impl Turn {
    /// For a picture stored with this width and height. Orientations outside 1 to 8 count as 1.
    pub(super) fn new(stored: (u32, u32), orientation: u8) -> Self {
        let (w, h) = (stored.0 as isize, stored.1 as isize);
        let (last_x, last_y) = (w - 1, (h - 1) * w);
        let (origin, right, down) = match orientation {
            2 => (last_x, -1, w),
            3 => (last_y + last_x, -1, -w),
            4 => (last_y, 1, -w),
            5 => (0, w, 1),
            6 => (last_y, -w, 1),
            7 => (last_y + last_x, -w, -1),
            8 => (last_x, w, -1),
            _ => (0, 1, w),
        };
        Self { stored, origin, right, down, swaps: (5..=8).contains(&orientation) }
    }

    /// Width and height as stored.
    pub(super) fn stored(&self) -> (u32, u32) {
        self.stored
    }

    /// Width and height upright.
    #[inline]
    pub(super) fn upright(&self) -> (u32, u32) {
        if self.swaps { (self.stored.1, self.stored.0) } else { self.stored }
    }

    /// Index in the stored order of the upright pixel (x, y). Panics outside the picture.
    #[inline]
    pub(super) fn index(&self, x: u32, y: u32) -> usize {
        let (w, h) = self.upright();
        assert!(x < w && y < h, "pixel ({x}, {y}) of a picture of {w} × {h}");
        (self.origin + x as isize * self.right + y as isize * self.down) as usize
    }

    /// Index in the stored order of the pixel nearest to a place in upright pixels; beyond the border, of that on it. The
    /// picture is not empty.
    #[inline]
    pub(super) fn nearest(&self, [x, y]: [f64; 2]) -> usize {
        let (w, h) = self.upright();
        // A conversion to integers takes what lies before the first pixel to it.
        let (x, y) = (((x + 0.5) as u32).min(w - 1), ((y + 0.5) as u32).min(h - 1));
        (self.origin + x as isize * self.right + y as isize * self.down) as usize
    }

    /// All pixels' values as seen upright, from the stored order.
    pub(super) fn upright_values<T: Copy>(&self, stored: &[T]) -> Vec<T> {
        let (w, h) = self.upright();
        let mut out = Vec::with_capacity(stored.len());
        for y in 0..h as isize {
            let first = self.origin + y * self.down;
            out.extend((0..w as isize).map(|x| stored[(first + x * self.right) as usize]));
        }
        out
    }

    /// Whether stored rows are columns of the upright picture.
    #[inline]
    pub(super) fn on_its_side(&self) -> bool {
        self.swaps
    }

    /// Whether the stored columns run against the upright picture, and whether the rows do.
    pub(super) fn reversed(&self) -> (bool, bool) {
        let (along_x, along_y) = if self.swaps { (self.down, self.right) } else { (self.right, self.down) };
        (along_x < 0, along_y < 0)
    }

    /// Whether the picture is stored upright.
    pub(super) fn is_upright(&self) -> bool {
        !self.swaps && self.reversed() == (false, false)
    }

    /// The same turn for a picture of another stored size.
    pub(super) fn of_size(&self, stored: (u32, u32)) -> Self {
        let orientation = match (self.swaps, self.reversed()) {
            (false, (false, false)) => 1,
            (false, (true, false)) => 2,
            (false, (true, true)) => 3,
            (false, (false, true)) => 4,
            (true, (false, false)) => 5,
            (true, (false, true)) => 6,
            (true, (true, true)) => 7,
            (true, (true, false)) => 8,
        };
        Self::new(stored, orientation)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_orientations() {
        let mut checked = 0;
        for line in include_str!("../../fixtures/published/exif_orientation.csv").lines() {
            let cells: Vec<&str> = line.split(',').collect();
            let Ok(orientation) = cells[0].parse::<u8>() else { continue };
            let stored: Vec<u32> = (1..=6).collect();
            for turn in [Turn::new((3, 2), orientation), Turn::new((9, 9), orientation).of_size((3, 2))] {
                let (w, h) = turn.upright();
                let row = |y| (0..w).map(|x| stored[turn.index(x, y)].to_string()).collect::<Vec<_>>().join(" ");
                let upright = (0..h).map(row).collect::<Vec<_>>().join("|");
                assert_eq!(upright, cells[4], "orientation {orientation}");
                assert_eq!((w, h) == (2, 3), cells[5] == "yes");
            }
            checked += 1;
        }
        assert_eq!(checked, 8, "orientations in the table");
    }

    #[test]
    #[should_panic(expected = "pixel (3, 0)")]
    fn outside_is_no_pixel() {
        Turn::new((3, 2), 1).index(3, 0);
    }
}
