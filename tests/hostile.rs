//! Hostile input: everything that takes bytes or words from outside is given thousands of changed ones. Each seed of the dice is a test
//! that can be run again; `cargo run --release --example hostile -- SECONDS` goes on for as long as wanted.

#[path = "hostile/mutate.rs"]
mod mutate;
#[path = "hostile/targets.rs"]
mod targets;

use mutate::{Dice, changed};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Every run of a target with its own seed; which seeds broke a promise.
fn broken(target: &targets::Target) -> Vec<u32> {
    let seeds = (target.seeds)();
    assert!(!seeds.is_empty() && seeds.iter().all(|s| !s.is_empty()), "{} has nothing to begin from", target.name);
    for whole in &seeds {
        (target.run)(whole);
    }
    let breaks = |n: &u32| {
        let bytes = changed(&seeds, &mut Dice::new(u64::from(*n)));
        catch_unwind(AssertUnwindSafe(|| (target.run)(&bytes))).is_err()
    };
    (1..=target.runs).filter(breaks).collect()
}

macro_rules! smoke {
    ($($test:ident $name:literal;)*) => {
        $(#[test]
        fn $test() {
            let target = targets::ALL.iter().find(|t| t.name == $name).unwrap();
            assert_eq!(broken(target), [0; 0], "runs that broke a promise");
        })*

        #[test]
        fn every_target_is_run() {
            let named = [$($name),*];
            assert_eq!(targets::ALL.iter().map(|t| t.name).collect::<Vec<_>>(), named);
        }
    };
}

smoke! {
    photos_of_any_format "photo";
    camera_data "exif";
    profiles "icc";
    photos_of_a_card "scene";
    kits "kit";
    cards "card";
    measured_cards "cgats";
    standing_rules "rules";
    tables "table";
    imports "import";
    log_files "log";
    words_as_typed "words";
}

#[test]
fn the_dice_are_the_same_on_every_machine() {
    let mut dice = Dice::new(7);
    assert_eq!((0..5).map(|_| dice.below(1000)).collect::<Vec<_>>(), [774, 460, 216, 200, 860]);
}
