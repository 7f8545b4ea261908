//! A test made for fresh water, read on a marine tank.

use super::furnished;
use super::wire::ReadDone;
use crate::support::shot::Shot;

#[test]
fn a_fresh_water_test_on_sea_water_is_wider_and_in_doubt_and_never_says_none() {
    let house = furnished();
    let read = |photo: &str, code: i32| {
        let args = ["read", photo, "B=nitrite", "--at", "2026-03-05 10:00", "--dry-run", "--json"];
        house.run(&args).exit(code).go().json::<ReadDone>()
    };
    house.lay("none.jpg", Shot::new().dyed("B", 0.0).jpeg());
    let of = |done: &ReadDone| {
        let s = &done.photos[0].samples[0];
        (s.value, s.lower, s.upper)
    };
    let args = ["read", "tank.jpg", "B=nitrite", "--dry-run", "--json"];
    let before = house.run(&args).go().json::<ReadDone>();
    let toml = house.run(&["kit", "show", "--toml"]).go().out.replace("matrix = \"both\"", "matrix = \"fresh\"");
    house.lay("fresh.toml", toml);
    house.run(&["kit", "import", "fresh.toml"]).touches(&["home/kits/home/"]).out_has("Changed").go();
    let after = read("tank.jpg", 0);
    let ((v, l, u), (w, m, n)) = (of(&before), of(&after));
    assert_eq!(v, w);
    let near = |a: Option<f64>, b: f64| assert!((a.unwrap() / b - 1.0).abs() < 1e-6, "{a:?} {b}");
    near(m, l.unwrap() * 0.75);
    near(n, u.unwrap() * 1.33);
    let findings = &after.photos[0].samples[0].findings;
    let matrix = findings.iter().find(|f| f.code == "kit-matrix").unwrap();
    assert!(matrix.severity == "doubt" && matrix.sentence.contains("fresh water"), "{matrix:?}");
    let none = read("none.jpg", 3);
    let sample = &none.photos[0].samples[0];
    assert!(sample.status != "not-detected" && sample.value.is_none_or(|v| v > 0.0), "{sample:?}");
}
