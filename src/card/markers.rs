//! Finds AprilTag 36h11 markers in a grey picture: a safe wrapper around the reference C library.

use apriltag_sys as c;
use image::GrayImage;

/// One marker as seen. Corners are pixels of the picture searched, the centre of the first pixel at (0, 0), in the order
/// top left, top right, bottom right, bottom left *of the marker as printed on the card*.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Number within the family.
    pub id: u32,
    /// Corners of the black square.
    pub corners: [[f64; 2]; 4],
    /// Bits that had to be mended to reach a valid code.
    pub mended: u32,
    /// How clearly black and white bits differ, in code values.
    pub margin: f32,
}

/// How thoroughly a picture is searched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// Squares are sought at 1/`decimate` of the picture's size; 1.5 and whole numbers. Their sides are then drawn at full size.
    pub decimate: f32,
    /// Code values by which black and white differ at least; what is flatter is passed over. Most of a room is.
    pub contrast: u8,
}

/// Fewer boundary pixels than this make no marker.
const LEAST_BOUNDARY: i32 = 24;
/// So many bends of a boundary are tried as corners; the library's own 10 finds no more markers, only more to try.
const BENDS: i32 = 6;

/// A detector and its buffers; makes no threads of its own.
pub struct Detector {
    raw: *mut c::apriltag_detector_t,
    family: *mut c::apriltag_family_t,
}

impl Detector {
    /// A detector.
    pub fn new() -> Self {
        // SAFETY: both constructors return owned, initialised objects, freed in `drop`.
        unsafe {
            let raw = c::apriltag_detector_create();
            let family = c::tag36h11_create();
            // One mended bit keeps false markers out; two or more are seen by chance in wood and cloth.
            c::apriltag_detector_add_family_bits(raw, family, 1);
            (*raw).nthreads = 1;
            (*raw).quad_sigma = 0.0;
            (*raw).refine_edges = true;
            (*raw).qtp.min_cluster_pixels = LEAST_BOUNDARY;
            (*raw).qtp.max_nmaxima = BENDS;
            Self { raw, family }
        }
    }

    /// All markers in the picture, clearest first.
    pub fn detect(&mut self, picture: &GrayImage, effort: Effort) -> Vec<Seen> {
        let (w, h) = picture.dimensions();
        if w < 16 || h < 16 {
            return Vec::new();
        }
        let mut buffer = picture.as_raw().clone();
        let mut out = Vec::new();
        // SAFETY: `raw` lives as long as `self`; the view borrows `buffer` for the call only; the array and its detections
        // are read within their sizes and destroyed once.
        unsafe {
            (*self.raw).quad_decimate = effort.decimate;
            (*self.raw).qtp.min_white_black_diff = i32::from(effort.contrast);
            let mut view =
                c::image_u8 { width: w as i32, height: h as i32, stride: w as i32, buf: buffer.as_mut_ptr() };
            let found = c::apriltag_detector_detect(self.raw, &mut view);
            for i in 0..(*found).size as usize {
                let det = *((*found).data as *const *const c::apriltag_detection).add(i);
                // The library counts pixel centres at +0.5, and its frame is turned half round against the printed
                // marker: p = top right, top left, bottom left, bottom right of the print.
                let p = (*det).p.map(|[x, y]| [x - 0.5, y - 0.5]);
                out.push(Seen {
                    id: (*det).id as u32,
                    corners: [p[1], p[0], p[3], p[2]],
                    mended: (*det).hamming as u32,
                    margin: (*det).decision_margin,
                });
            }
            c::apriltag_detections_destroy(found);
        }
        out.sort_by(|a, b| b.margin.total_cmp(&a.margin));
        out
    }
}

impl Default for Detector {
    fn default() -> Self {
        Self::new()
    }
}

impl Drop for Detector {
    fn drop(&mut self) {
        // SAFETY: created together in `new`, freed once here, the detector before the family it refers to.
        unsafe {
            c::apriltag_detector_destroy(self.raw);
            c::tag36h11_destroy(self.family);
        }
    }
}
