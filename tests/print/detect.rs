//! The AprilTag library's own detector on a drawn card, as the independent judge of markers.

use apriltag_sys as tag;
use image::GrayImage;
use tintline::card::layout::Marker;

pub(super) struct Found {
    pub id: u32,
    /// As the detector gives them, in pixels from the picture's top left corner.
    pub corners: [[f64; 2]; 4],
}

/// All markers of the family 36h11 without a wrong bit, by id.
pub(super) fn detect(picture: &GrayImage) -> Vec<Found> {
    let mut found = Vec::new();
    // SAFETY: plain use of the C interface; each object is freed once, detections before their family.
    unsafe {
        let family = tag::tag36h11_create();
        let detector = tag::apriltag_detector_create();
        tag::apriltag_detector_add_family_bits(detector, family, 0);
        (*detector).quad_decimate = 1.0;
        let image = tag::image_u8_create(picture.width(), picture.height());
        for (y, row) in picture.rows().enumerate() {
            for (x, pixel) in row.enumerate() {
                *(*image).buf.add(y * (*image).stride as usize + x) = pixel.0[0];
            }
        }
        let detections = tag::apriltag_detector_detect(detector, image);
        for i in 0..(*detections).size as usize {
            let one = *(*detections).data.add(i * (*detections).el_sz).cast::<*mut tag::apriltag_detection>();
            found.push(Found { id: (*one).id as u32, corners: (*one).p });
        }
        tag::apriltag_detections_destroy(detections);
        tag::image_u8_destroy(image);
        tag::apriltag_detector_destroy(detector);
        tag::tag36h11_destroy(family);
    }
    found.sort_by_key(|f| f.id);
    found
}

/// Demands exactly these markers, upright on the card, with corners where `place` puts their millimetres, to 0.1 pixel.
pub(super) fn demand(picture: &GrayImage, markers: &[Marker], place: impl Fn(f64, f64) -> [f64; 2], what: &str) {
    let found = detect(picture);
    let ids = |m: &[Marker]| m.iter().map(|m| m.id).collect::<Vec<_>>();
    assert_eq!(found.iter().map(|f| f.id).collect::<Vec<_>>(), ids(markers), "{what}");
    for (f, m) in found.iter().zip(markers) {
        let (left, top, right, foot) = (m.x, m.y, m.x + m.edge, m.y + m.edge);
        // The detector's order on a card: top right, top left, bottom left, bottom right. Any other order would be a
        // marker turned on the card.
        for (corner, (x, y)) in f.corners.iter().zip([(right, top), (left, top), (left, foot), (right, foot)]) {
            let expected = place(x, y);
            let off = (corner[0] - expected[0]).hypot(corner[1] - expected[1]);
            assert!(off <= 0.1, "{what}: marker {} has a corner at {corner:?}, not {expected:?}", m.id);
        }
    }
}
