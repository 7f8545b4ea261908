use super::*;
use crate::water::{Species, Unit};
use proptest::prelude::*;

fn unit() -> Unit {
    Unit::mg_l(Species::Nitrite)
}

fn some(value: f64, lower: f64, upper: f64) -> Amount {
    Amount::measured(Quantity::new(value, unit()), Interval::new(lower, upper).unwrap()).unwrap()
}

fn none(below: f64) -> Amount {
    Amount::not_detected(Quantity::new(below, unit())).unwrap()
}

fn above(limit: f64) -> Amount {
    Amount::above(Quantity::new(limit, unit())).unwrap()
}

const WINDOW: [f64; 9] = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0];
const LAMP: [f64; 9] = [1.1, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.85];

fn word<'a>(amount: &'a Amount, light: &'a [f64]) -> Word<'a> {
    Word { amount, light: Some(light), doubtful: false }
}

fn ends_of(amount: &Amount) -> (f64, f64, f64) {
    let Amount::Measured { value, interval95: i } = amount else { panic!("{amount:?}") };
    (value.value, i.lower(), i.upper())
}

#[test]
fn the_same_light_twice_narrows_by_the_noise_alone() {
    let a = some(1.0, 0.8, 1.2);
    let b = some(1.1, 0.9, 1.3);
    let both = combine(&[word(&a, &WINDOW), word(&b, &WINDOW)]).unwrap();
    let (v, l, u) = ends_of(&both.amount);
    // Half of the variance of each is what it was, half of it times 0.9: 0.2 × √((1 + 0.9) / 2) = 0.19494.
    assert!((v - 1.05).abs() < 1e-9 && (u - v - 0.194_936).abs() < 1e-6 && (v - l - 0.194_936).abs() < 1e-6);
    assert_eq!((both.used, both.odd), (vec![0, 1], vec![]));
    // Another light is more of a second word: 0.2 × √((1 + 0.6) / 2) = 0.17889; never 0.2 / √2 = 0.141.
    let both = combine(&[word(&a, &WINDOW), word(&b, &LAMP)]).unwrap();
    let (v, _, u) = ends_of(&both.amount);
    assert!((u - v - 0.178_885).abs() < 1e-6, "{u} {v}");
    // A hundred photos of the same shadow are still no more than 0.9 of its variance.
    let many: Vec<Word> = (0..100).map(|_| word(&a, &WINDOW)).collect();
    let (v, _, u) = ends_of(&combine(&many).unwrap().amount);
    assert!((u - v - 0.2 * (0.9f64 + 0.1 / 100.0).sqrt()).abs() < 1e-9);
    // Without a signature it counts as the same light.
    let bare = |amount| Word { amount, light: None, doubtful: false };
    let (v, _, u) = ends_of(&combine(&[bare(&a), bare(&b)]).unwrap().amount);
    assert!((u - v - 0.194_936).abs() < 1e-6);
}

#[test]
fn the_surer_photo_weighs_more() {
    let (a, b) = (some(1.0, 0.9, 1.1), some(1.3, 1.0, 1.6));
    let both = combine(&[word(&a, &WINDOW), word(&b, &LAMP)]).unwrap();
    // Weights 9 to 1.
    let (v, ..) = ends_of(&both.amount);
    assert!((v - 1.03).abs() < 1e-9, "{v}");
}

#[test]
fn an_outlier_is_named_and_the_interval_reaches_to_it() {
    let (a, b, c) = (some(1.0, 0.8, 1.2), some(1.05, 0.85, 1.25), some(2.5, 2.2, 2.8));
    let all = combine(&[word(&a, &WINDOW), word(&c, &WINDOW), word(&b, &WINDOW)]).unwrap();
    assert_eq!((all.odd.clone(), all.used.clone()), (vec![1], vec![0, 2]));
    let (v, _, u) = ends_of(&all.amount);
    assert!((v - 1.025).abs() < 1e-9 && u == 2.8, "an alarm of one photo is not averaged away: {v} {u}");
    // Of two, nobody knows which; both are named.
    let two = combine(&[word(&a, &WINDOW), word(&c, &WINDOW)]).unwrap();
    assert_eq!(two.odd, [0, 1]);
    let (_, l, u) = ends_of(&two.amount);
    assert!(l <= 1.0 && u == 2.8, "{l} {u}");
    // A third of the interval apart is what repeats do.
    let near = some(1.12, 0.92, 1.32);
    assert!(combine(&[word(&a, &WINDOW), word(&near, &WINDOW)]).unwrap().odd.is_empty());
}

#[test]
fn doubtful_photos_narrow_nothing_and_hide_behind_no_clean_one() {
    let a = some(1.0, 0.8, 1.2);
    let doubt = |amount| Word { amount, light: Some(&LAMP), doubtful: true };
    let (v, l, u) = ends_of(&combine(&[doubt(&a), doubt(&a), doubt(&a)]).unwrap().amount);
    assert!(v == 1.0 && (l - 0.8).abs() < 1e-9 && (u - 1.2).abs() < 1e-9, "{l} {u}");
    // A clean one stands in their place.
    let clean = some(1.05, 0.9, 1.2);
    let both = combine(&[doubt(&a), word(&clean, &WINDOW)]).unwrap();
    assert_eq!((both.used, both.odd, both.amount), (vec![1], vec![], clean));
    // But one that saw far more is not forgotten.
    let (nothing, much) = (none(0.1), some(2.0, 1.7, 2.3));
    let both = combine(&[word(&nothing, &WINDOW), doubt(&much)]).unwrap();
    assert_eq!((both.odd, both.amount), (vec![1], much));
}

#[test]
fn limits_combine_to_the_careful_side() {
    let (a, b, seen) = (none(0.05), none(0.08), some(0.06, 0.01, 0.12));
    assert_eq!(combine(&[word(&a, &WINDOW), word(&b, &WINDOW)]).unwrap().amount, b);
    // A value within the limit stands, unharmed.
    let both = combine(&[word(&b, &WINDOW), word(&seen, &WINDOW)]).unwrap();
    assert_eq!((both.amount, both.used, both.odd), (seen, vec![1], vec![]));
    // A value beyond it is odd beside it.
    let much = some(1.0, 0.8, 1.2);
    let both = combine(&[word(&b, &WINDOW), word(&much, &WINDOW)]).unwrap();
    assert_eq!((both.odd, ends_of(&both.amount)), (vec![0], (1.0, 0.0, 1.2)));
    // The end of the scale goes before a value, which is odd where it does not reach there.
    let end = above(5.0);
    assert_eq!(combine(&[word(&much, &WINDOW), word(&end, &WINDOW)]).unwrap().odd, [0]);
    assert_eq!(combine(&[word(&much, &WINDOW), word(&end, &WINDOW)]).unwrap().amount, end);
    assert!(combine(&[]).is_none());
}

proptest! {
    /// Whatever the order, the same; never narrower than independent repeats would make it; the value within all.
    #[test]
    fn order_does_not_matter(values in prop::collection::vec((0.1f64..3.0, 0.05f64..0.5, any::<bool>(), any::<bool>()), 1..6)) {
        let amounts: Vec<Amount> = values.iter().map(|(v, w, ..)| some(*v, (v - w).max(0.0), v + w)).collect();
        let words: Vec<Word> = amounts.iter().zip(&values).map(|(a, (.., lamp, doubtful))| Word {
            amount: a, light: Some(if *lamp { &LAMP } else { &WINDOW }), doubtful: *doubtful }).collect();
        let forth = combine(&words).unwrap();
        let back: Vec<Word> = words.iter().rev().copied().collect();
        let back = combine(&back).unwrap();
        let (a, b) = (ends_of(&forth.amount), ends_of(&back.amount));
        prop_assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9 && (a.2 - b.2).abs() < 1e-9);
        prop_assert_eq!(forth.odd.len(), back.odd.len());
        let least = values.iter().map(|v| v.1).fold(f64::MAX, f64::min);
        prop_assert!(a.2 - a.0 >= least / (values.len() as f64).sqrt() - 1e-9);
        let (low, high) = values.iter().fold((f64::MAX, 0f64), |(l, h), v| (l.min(v.0), h.max(v.0)));
        prop_assert!(low - 1e-9 <= a.0 && a.0 <= high + 1e-9);
    }
}
