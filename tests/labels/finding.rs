//! Labels are found, bound to their stations, and missed with a word.

use crate::support::stick::{Scene, Stuck, friday, place, straight};
use tintline::card::{self, Labels, Layout};

/// Two labels above each station.
pub const PAIRS: [(&str, u32); 8] =
    [("A", 16), ("A", 256), ("B", 17), ("B", 300), ("C", 255), ("C", 511), ("D", 100), ("D", 400)];

fn found(scene: &Scene) -> Labels {
    let (photo, layout) = (scene.photo(), Layout::first());
    let card = card::find(&photo, &layout).unwrap();
    card::labels(&photo, &layout, &card)
}

fn read(labels: &Labels) -> Vec<(&str, u32)> {
    labels.read.iter().map(|l| (l.station.as_deref().unwrap_or("-"), l.number)).collect()
}

fn all(change: impl Fn(Stuck) -> Stuck) -> Vec<Stuck> {
    PAIRS.iter().map(|(s, n)| change(straight(s, *n))).collect()
}

#[test]
fn four_pairs_are_read_down_to_the_least_that_a_card_is_read_with() {
    // Pixels a millimetre, which are pixels a module: 7.7 as taken, then down to 3.2; below, the card itself is refused.
    for factor in [1.0, 0.6, 0.5, 0.42] {
        let labels = found(&friday().scaled(factor).stick(&all(|s| s)));
        assert_eq!((read(&labels).as_slice(), labels.unreadable.as_slice()), (&PAIRS[..], &[][..]), "{factor}");
    }
}

#[test]
fn four_crooked_pairs_are_read_at_every_size() {
    for factor in [1.0, 0.42] {
        for turned in [-15.0, 15.0] {
            let crooked = all(|s| Stuck { turned, at: [s.at[0] + 0.7, s.at[1]], ..s });
            let labels = found(&friday().scaled(factor).stick(&crooked));
            assert_eq!((read(&labels).as_slice(), labels.unreadable.as_slice()), (&PAIRS[..], &[][..]), "{turned}");
        }
        // Upside down it is the same label.
        assert_eq!(read(&found(&friday().scaled(factor).stick(&all(|s| Stuck { turned: 180.0, ..s })))), PAIRS);
    }
}

#[test]
fn a_label_half_covered_is_missed_with_a_word() {
    for (factor, covered) in [(1.0, 0.5), (1.0, 0.25), (0.42, 0.5), (0.42, 0.25)] {
        let stuck = [straight("A", 16), straight("A", 256), Stuck { covered, ..straight("C", 300) }, straight("D", 17)];
        let labels = found(&friday().scaled(factor).stick(&stuck));
        assert_eq!(read(&labels), [("A", 16), ("A", 256), ("D", 17)], "{covered}");
        assert_eq!(labels.unreadable, ["C"], "{covered} at {factor}");
    }
}

#[test]
fn photos_without_labels_have_none_and_nothing_that_looks_like_one() {
    // Caps, a strip, a print's number, a leaning vial: none of them is a label.
    for file in ["demo/friday.jpg", "demo/saturday.jpg", "demo/thursday.jpg", "cards/slanted.jpg", "cards/turned.jpg"] {
        let scene = Scene::of(&crate::pictures::fixture(&format!("photos/{file}")));
        assert_eq!(found(&scene), Labels::default(), "{file}");
    }
    let numbered = Scene::of(&crate::support::shot::Shot::new().number(12).dyed("A", 2.0).jpeg());
    assert_eq!(found(&numbered), Labels::default());
}

#[test]
fn labels_bind_to_the_station_below_or_to_none() {
    let at = |x: f64, number| Stuck { at: [x, place("B", number)[1]], ..straight("B", number) };
    // Six millimetres astray they are still B's (61.5 mm), half way they are nobody's.
    let labels = found(&friday().stick(&[at(61.5 - 11.5, 20), at(61.5 + 13.5, 270)]));
    assert_eq!(read(&labels), [("B", 20), ("-", 270)]);
    // One that lies beside the card is a spare.
    let scene = friday();
    let beside = scene.plane().px([75.0, -20.0]);
    assert!(beside[1] > 100.0, "on the photo");
    assert_eq!(
        found(&scene.stick(&[straight("A", 16), Stuck { at: [75.0, -20.0], ..straight("A", 17) }])).read.len(),
        1
    );
}

#[test]
fn blur_that_the_card_is_read_with_leaves_labels_readable() {
    // A standard deviation of 0.25 mm on top of the photo's own blur; from 0.33 mm on the photo is refused.
    for factor in [1.0, 0.42] {
        let mut scene = friday().scaled(factor).stick(&all(|s| s));
        scene.picture = image::imageops::blur(&scene.picture, (0.25 * 7.72 * factor) as f32);
        let labels = found(&scene);
        assert_eq!((read(&labels).as_slice(), labels.unreadable.as_slice()), (&PAIRS[..], &[][..]), "{factor}");
    }
}
