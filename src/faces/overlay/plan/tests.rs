//! Plates, labels and leaders against each other, over many made-up readings.

use super::*;
use crate::finding::{Code, Finding};
use crate::reading::{Outcome, SampleReading};
use crate::water::{Amount, Interval, Quantity, Species, Unit};

fn sample(station: &str, outline: Option<[f64; 4]>, refused: bool) -> SampleReading {
    let value = Quantity::new(0.42, Unit::mg_l(Species::AmmoniaN));
    let reason = "Something bright lies over most of the liquid and nothing can be said about what is under it.";
    let around = |[x, y, w, h]: [f64; 4]| vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    SampleReading {
        station: station.into(),
        test: "ammonia, salicylate, the long way".into(),
        outcome: match refused {
            true => Outcome::Refused(vec![Finding::doubt(Code::SampleGlare, reason)]),
            false => Outcome::Read(Amount::measured(value, Interval::new(0.3, 0.55).unwrap()).unwrap()),
        },
        detection_limit: None,
        findings: vec![Finding::note(Code::SampleOffMark, "The vial stands 6 mm beside its mark.")],
        dilution: None,
        lab: None,
        off_curve: None,
        light: None,
        outlines: outline.map(|o| vec![around(o)]).unwrap_or_default(),
    }
}

fn reading(samples: Vec<SampleReading>) -> PhotoReading {
    let findings = vec![Finding::doubt(Code::LightTwo, "Two lights of different colour fall on the card.")];
    PhotoReading {
        photo: "p".into(),
        samples,
        findings,
        card: Some([[20.0, 20.0], [680.0, 30.0], [670.0, 460.0], [25.0, 450.0]]),
        clear: None,
    }
}

/// Everything a plan must keep, whatever the reading.
fn check(plan: &Plan, photo: (u32, u32), what: &str) {
    let whole = Area { x: 0, y: 0, w: plan.size.0, h: plan.size.1 };
    let bounds: Vec<Option<Area>> = plan.outlines.iter().map(|o| bound(o)).collect();
    let shown = Area { x: 0, y: 0, w: photo.0, h: photo.1 };
    for (i, p) in plan.plates.iter().enumerate() {
        let a = p.area;
        assert!(
            a.x >= 0 && a.right() <= whole.right() && a.foot() <= whole.foot(),
            "{what}: plate {a:?} leaves {whole:?}"
        );
        assert!(!a.meets(shown), "{what}: plate {a:?} covers the photo");
        assert!(plan.plates[..i].iter().all(|o| !o.area.meets(a)), "{what}: plates overlap at {a:?}");
        for l in &p.lines {
            let end = l.at.0 + lettering::width(&l.text, l.em, l.weight);
            assert!(l.at.0 >= a.x as f32 && end <= a.right() as f32, "{what}: '{}' leaves its plate", l.text);
            assert!(
                l.at.1 - l.em * 0.75 >= a.y as f32 && l.at.1 + l.em * 0.25 <= a.foot() as f32,
                "{what}: '{}'",
                l.text
            );
        }
        if let Some([a, b, c]) = p.leader {
            let own = bounds.iter().flatten().any(|o| {
                let on = |v: f32, low: i32, size: u32| (low as f32..=low as f32 + size as f32).contains(&v);
                on(a[0], o.x, o.w) && on(a[1], o.y, o.h)
            });
            assert!(own, "{what}: a leader starts in the open at {a:?}");
            assert!(a[0] == b[0] || a[1] == b[1], "{what}: straight over the photo");
            assert!((p.area.x as f32..=p.area.right() as f32).contains(&c[0]), "{what}: ends at its plate");
        }
    }
    for (i, t) in plan.tags.iter().enumerate() {
        assert!(!bounds.iter().flatten().any(|b| b.meets(t.at)), "{what}: label {} covers a sample", t.text);
        assert!(plan.tags[..i].iter().all(|o| !o.at.meets(t.at)), "{what}: labels overlap");
    }
    for e in &plan.legend {
        let end = e.at.0 + lettering::width(e.text, plan.em * 0.85, Weight::Regular);
        assert!(end <= plan.size.0 as f32 && e.at.1 + plan.em * 0.3 <= plan.size.1 as f32, "{what}: legend {e:?}");
        assert!(
            plan.plates.iter().all(|p| e.at.1 - plan.em > p.area.foot() as f32 - 1.0),
            "{what}: legend under plates"
        );
    }
}

#[test]
fn nothing_overlaps_however_many_samples() {
    let mut plans = 0;
    for (photo, scale) in [((1600, 1200), 2.0), ((900, 1600), 1.0), ((700, 467), 0.9), ((500, 700), 0.7)] {
        for n in 0..=12usize {
            for refused in [false, true] {
                // Side by side, one above the other, and on a slope.
                for (dx, dy) in [(50.0, 0.0), (0.0, 34.0), (40.0, 25.0)] {
                    let at = |i: usize| [30.0 + dx * i as f64, 40.0 + dy * i as f64, 30.0, 28.0];
                    let samples = (0..n).map(|i| sample(&format!("pad-{}", i + 1), Some(at(i)), refused)).collect();
                    let plan = Plan::new(photo, scale, &reading(samples), &[]);
                    check(&plan, photo, &format!("{n} samples by {dx}, {dy} on {photo:?}"));
                    assert_eq!(plan.plates.len(), n + 1, "one a sample and one for the photo");
                    assert_eq!(plan.plates.iter().filter(|p| p.urgent).count(), if refused { n + 1 } else { 1 });
                    plans += 1;
                }
            }
        }
    }
    assert_eq!(plans, 4 * 13 * 2 * 3);
}

#[test]
fn vials_get_plates_below_in_their_order_with_uncrossed_leaders() {
    // Named out of order on purpose.
    let places = [("C", 700.0), ("A", 150.0), ("D", 980.0), ("B", 400.0)];
    let samples = places.iter().map(|(s, x)| sample(s, Some([*x, 500.0, 90.0, 160.0]), false)).collect();
    let plan = Plan::new((1200, 900), 1.0, &reading(samples), &[]);
    check(&plan, (1200, 900), "vials");
    let tags: Vec<_> = plan.plates.iter().filter_map(|p| p.tag.as_deref()).collect();
    assert_eq!(tags, ["A", "B", "C", "D"]);
    let leaders: Vec<_> = plan.plates.iter().filter_map(|p| p.leader).collect();
    assert_eq!(leaders.len(), 4);
    assert!(leaders.windows(2).all(|l| l[0][1][0] < l[1][1][0] && l[0][2][0] < l[1][2][0]));
    assert_eq!(leaders[0][0], [195.0, 661.0]);
    assert_eq!(plan.tags.len(), 4);
}

#[test]
fn a_strip_upright_gets_plates_to_its_right() {
    let samples =
        (0..5).map(|i| sample(&format!("pad-{i}"), Some([400.0, 200.0 + 90.0 * f64::from(i), 40.0, 40.0]), false));
    let plan = Plan::new((1200, 900), 1.0, &reading(samples.collect()), &[]);
    check(&plan, (1200, 900), "strip");
    assert!(plan.plates[..5].iter().all(|p| p.area.x > 1200 && p.leader.is_some()));
}

#[test]
fn a_sample_that_was_not_found_has_a_plate_and_no_leader() {
    let samples = vec![sample("A", None, true), sample("B", Some([300.0, 200.0, 80.0, 80.0]), false)];
    let plan = Plan::new((700, 500), 1.0, &reading(samples), &[]);
    check(&plan, (700, 500), "one missing");
    let ways: Vec<_> = plan.plates.iter().map(|p| (p.tag.as_deref(), p.leader.is_some())).collect();
    assert_eq!(ways, [(Some("B"), true), (Some("A"), false), (None, false)]);
}

#[test]
fn outlines_follow_the_scale_by_pixel_centres() {
    let plan = Plan::new((800, 600), 0.5, &reading(vec![sample("A", Some([99.5, 199.5, 100.0, 50.0]), false)]), &[]);
    assert_eq!(plan.outlines[0][0][..2], [[49.5, 99.5], [99.5, 99.5]]);
    assert_eq!(plan.card.unwrap()[0], [9.75, 9.75]);
}

#[test]
fn labels_stand_at_their_stations_plate_and_have_an_outline() {
    let label = |station: &str, words: &str, x: f64| Shown {
        station: station.into(),
        words: words.into(),
        outline: [[x, 10.0], [x + 40.0, 10.0], [x + 40.0, 60.0], [x, 60.0]],
    };
    let labels = [label("B", "nitrite", 99.5), label("B", "shelf 60", 199.5)];
    let places = [("A", 150.0), ("B", 600.0)];
    let samples = places.iter().map(|(s, x)| sample(s, Some([*x, 300.0, 90.0, 160.0]), false)).collect();
    let plan = Plan::new((1200, 900), 0.5, &reading(samples), &labels);
    let said = |plate: &Plate| plate.lines.iter().map(|l| l.text.as_str()).collect::<Vec<_>>().join(" ");
    assert!(said(&plan.plates[1]).contains("by its labels: nitrite, shelf 60"), "{}", said(&plan.plates[1]));
    assert!(!said(&plan.plates[0]).contains("label"), "{}", said(&plan.plates[0]));
    assert_eq!(plan.labels[0][..2], [[49.5, 4.75], [69.5, 4.75]]);
    assert!(plan.legend.iter().any(|e| e.kind == Outline::Label && e.text == "labels"));
}
