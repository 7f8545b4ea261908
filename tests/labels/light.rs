//! Labels do not disturb the even light: readings with and without them.

use super::finding::PAIRS;
use crate::pictures::fixture;
use crate::support::stick::{Scene, Stuck, straight};
use tintline::card::Layout;
use tintline::curve::Kit;
use tintline::light::Enrolment;
use tintline::reading::{Ask, Job, Outcome, SampleReading, read};

fn samples(scene: &Scene, asks: &[Ask]) -> Vec<SampleReading> {
    let layout = Layout::first();
    let kit = Kit::from_toml(include_str!("../../calibration/kit/demo-vials.toml")).unwrap();
    let card = Enrolment::from_toml(include_str!("../../calibration/card/demo-print.toml")).unwrap();
    let (reference, photo) = (card.reference(&layout).unwrap(), scene.photo());
    read(&Job { photo: &photo, layout: &layout, reference: &reference, kit: &kit, asks, clear: None }).samples
}

#[test]
fn readings_are_the_same_with_labels_and_without() {
    let shown: [(&str, &[(&str, &str)]); 4] = [
        ("friday.jpg", &[("A", "pH"), ("B", "ammonia"), ("C", "nitrate"), ("D", "nitrite")]),
        ("saturday.jpg", &[("A", "pH"), ("C", "nitrite")]),
        ("sunday.jpg", &[("C", "ammonia")]),
        ("thursday.jpg", &[("A", "nitrite")]),
    ];
    let mut compared = 0;
    for (file, stations) in shown {
        let ask =
            |(station, test): &(&str, &str)| Ask { station: (*station).into(), test: (*test).into(), dilution: None };
        let asks: Vec<Ask> = stations.iter().map(ask).collect();
        let scene = || Scene::of(&fixture(&format!("photos/demo/{file}")));
        let without = samples(&scene(), &asks);
        for turned in [0.0, -15.0] {
            let own = PAIRS.iter().filter(|(s, _)| stations.iter().any(|(station, _)| station == s));
            let stuck: Vec<Stuck> = own.map(|(s, n)| Stuck { turned, ..straight(s, *n) }).collect();
            let with = samples(&scene().stick(&stuck), &asks);
            for (a, b) in without.iter().zip(&with) {
                let what = format!("{file} {} turned {turned}", a.station);
                let (p, q) = (a.lab.unwrap(), b.lab.unwrap());
                let off = (0..3).map(|c| (p[c] - q[c]).powi(2)).sum::<f64>().sqrt();
                // Where the paper under labels is lost, the light is known a little less: a fraction of what one photo
                // differs from the next.
                assert!(off < 0.5, "{what}: CIELAB {off:.2} apart");
                let codes = |s: &SampleReading| s.findings.iter().map(|f| f.code).collect::<Vec<_>>();
                assert_eq!(codes(a), codes(b), "{what}");
                let (Outcome::Read(x), Outcome::Read(y)) = (&a.outcome, &b.outcome) else { panic!("{what}: refused") };
                assert_eq!(x.kind(), y.kind(), "{what}");
                let (x, y) = (x.level().value, y.level().value);
                assert!((x - y).abs() < 0.03 * x, "{what}: {x} and {y}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 16);
}
