//! The fiducial family tag36h11 as it is drawn on cards, and the numbers of prints.
//!
//! The bits come from the bundled AprilTag library itself (Wang, Olson 2016, 'AprilTag 2', IROS; family 36h11), so a
//! drawn marker and a detected one cannot drift apart. Cards show each marker turned by 180° against AprilTag's own
//! frame: seen so on the card, the detector's corners run top right, top left, bottom left, bottom right.

use super::layout::{Layout, Marker};
use apriltag_sys::{apriltag_to_image, image_u8_destroy, tag36h11_create, tag36h11_destroy};

/// Modules along one side of the black square, its border of one module included.
pub const MODULES: usize = 8;

/// Rows of a marker's black square as seen on the card, from its top left; `true` is white.
pub type Pattern = [[bool; MODULES]; MODULES];

/// The marker with this id, or None where the family has no such id (it has 0 to 586).
pub fn pattern(id: u32) -> Option<Pattern> {
    // SAFETY: both pointers are checked, used only while their owner lives, and freed exactly once. `apriltag_to_image`
    // asks for an id below `ncodes`; its picture is `total_width` squared with `stride` bytes a row, and the family's
    // black square of `width_at_border` modules lies in its middle.
    unsafe {
        let family = tag36h11_create();
        if family.is_null() {
            return None;
        }
        let (wide, square) = ((*family).total_width as usize, (*family).width_at_border as usize);
        let mut found = None;
        if id < (*family).ncodes && square == MODULES {
            let picture = apriltag_to_image(family, id);
            if !picture.is_null() {
                let (stride, first) = ((*picture).stride as usize, (wide - square) / 2);
                let white = |row: usize, column: usize| {
                    // Turned by 180°: the last row and column come first.
                    let (y, x) = (first + MODULES - 1 - row, first + MODULES - 1 - column);
                    *(*picture).buf.add(y * stride + x) > 127
                };
                found = Some(std::array::from_fn(|row| std::array::from_fn(|column| white(row, column))));
                image_u8_destroy(picture);
            }
        }
        tag36h11_destroy(family);
        found
    }
}

/// The number of a print, 1 to 75. Its fiducial has the id 512 + number − 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CardNumber(u32);

impl CardNumber {
    /// The highest number: its fiducial is the family's last.
    pub const MAX: u32 = 75;
    const FIRST_ID: u32 = 512;
    /// Edge of the fiducial's black square, in millimetres.
    const EDGE: f64 = 8.0;

    /// A number from 1 to [`CardNumber::MAX`].
    pub fn new(number: u32) -> Option<Self> {
        (1..=Self::MAX).contains(&number).then_some(Self(number))
    }

    /// The number a fiducial's id stands for.
    pub fn from_id(id: u32) -> Option<Self> {
        Self::new(id.checked_sub(Self::FIRST_ID - 1)?)
    }

    /// The number.
    pub fn get(self) -> u32 {
        self.0
    }

    /// The id of its fiducial.
    pub fn id(self) -> u32 {
        Self::FIRST_ID + self.0 - 1
    }

    /// Its fiducial in the bay's upper left corner, one module of white paper left on every side.
    pub fn marker(self, layout: &Layout) -> Marker {
        let quiet = Self::EDGE / MODULES as f64;
        Marker { id: self.id(), x: layout.bay.x + quiet, y: layout.bay.y + quiet, edge: Self::EDGE }
    }
}

impl std::fmt::Display for CardNumber {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "card {}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(id: u32) -> Vec<String> {
        let dot = |white: &bool| if *white { '.' } else { '#' };
        pattern(id).unwrap().iter().map(|r| r.iter().map(dot).collect()).collect()
    }

    #[test]
    fn the_cards_markers_have_their_modules() {
        // Read off the cards in use, which agree with the same family drawn by a general-purpose vision library
        // (its dictionary DICT_APRILTAG_36h11).
        let known = [
            (0, ["########", "###.####", "##..#.##", "####.#.#", "####..##", "#.#...##", "#.#.#..#", "########"]),
            (1, ["########", "#.##.###", "#.#..#.#", "####..##", "###....#", "#...#.##", "##..#..#", "########"]),
            (2, ["########", "##...###", "###.####", "#.##.###", "######.#", "##.##.##", "#...#..#", "########"]),
            (3, ["########", "####..##", "##.##..#", "#.##.#.#", "#...##.#", "#...####", "#.##...#", "########"]),
        ];
        for (id, expected) in known {
            assert_eq!(rows(id), expected, "id {id}");
        }
    }

    #[test]
    fn the_family_ends_and_keeps_its_distance() {
        assert_eq!(pattern(587), None);
        assert_eq!(pattern(u32::MAX), None);
        let last = pattern(586).unwrap();
        // 36h11: any two markers, however turned, differ in at least 11 modules.
        let mut turned = last;
        for _ in 0..4 {
            turned = std::array::from_fn(|r| std::array::from_fn(|c| turned[c][MODULES - 1 - r]));
            for id in 0..586 {
                let other = pattern(id).unwrap();
                let unlike = (0..64).filter(|i| other[i / 8][i % 8] != turned[i / 8][i % 8]).count();
                assert!(unlike >= 11, "{id} and 586 differ in {unlike}");
            }
        }
    }

    #[test]
    fn numbers_and_ids() {
        assert_eq!((CardNumber::new(0), CardNumber::new(76)), (None, None));
        assert_eq!(
            (CardNumber::from_id(511), CardNumber::from_id(587), CardNumber::from_id(u32::MAX)),
            (None, None, None)
        );
        for (number, id) in [(1, 512), (12, 523), (75, 586)] {
            let n = CardNumber::new(number).unwrap();
            assert_eq!((n.id(), n.get(), CardNumber::from_id(id)), (id, number, Some(n)));
            assert!(pattern(id).is_some());
        }
        let m = CardNumber::new(12).unwrap().marker(&Layout::first());
        assert_eq!((m.x, m.y, m.edge), (22.0, 32.0, 8.0));
    }
}
