//! `plan standards`, and the kit that is made with what it says.

use super::furnished;
use super::wire::{Failed, KitShown, PlanStandards};
use crate::support::House;
use crate::support::shot::Shot;

fn plan(house: &House, args: &[&str]) -> PlanStandards {
    house.run(&[&["plan", "standards", "--json"], args].concat()).go().json()
}

fn refused(args: &[&str], code: &str) {
    let house = House::new();
    let run = house.run(&[&["plan", "standards", "--json"], args].concat()).exit(2).err_has(code).go();
    let error = run.json::<Failed>().error;
    assert_eq!(error.code, code, "{args:?}");
    assert!(error.remedy.len() > 20, "{args:?}: {}", error.remedy);
}

#[test]
fn a_plan_needs_no_kit_and_writes_nothing() {
    let house = House::new();
    let p = plan(&house, &["ammonia", "--unit", "mg/L NH3-N", "--values", "0,0.5,2"]);
    assert_eq!((p.kit, p.test.as_str(), p.unit.as_str(), p.water.as_str()), (None, "ammonia", "mg/L NH3-N", "pure"));
    assert_eq!(p.substance.unwrap().formula, "NH4Cl");
    let [zero, half, two] = &p.standards[..] else { panic!("three") };
    assert!((zero.value, zero.uncertainty) == (0.0, None) && zero.made.is_none());
    for s in [half, two] {
        let u = s.uncertainty.unwrap();
        let made = s.made.as_ref().unwrap();
        assert!((s.value / s.wanted - 1.0).abs() < 0.05 && (0.02..0.2).contains(&(u / s.value)), "{s:?}");
        assert!(u >= 2.0 * made.sd && u < 2.0 * made.sd * 1.11, "{s:?}");
        let (value, plus_minus) = s.command.split_once("'B=ammonia:").unwrap().1.split_once('±').unwrap();
        let said: [f64; 2] = [value, plus_minus.trim_end_matches('\'')].map(|x| x.parse().unwrap());
        assert_eq!(said, [s.value, u], "{}", s.command);
    }
    // Where harm is possible, that stands before what to do.
    let text = house.run(&["plan", "standards", "nitrite", "--unit", "mg/L NO2-"]).go().out;
    let at = |s: &str| text.find(s).unwrap_or_else(|| panic!("{s}: {text}"));
    assert!(at("bought standard") < at("POISONOUS") && at("POISONOUS") < at("Make, in this order"));
    let bleach =
        ["plan", "standards", "ammonia", "--unit", "mg/L NH3-N", "--of", "household ammonia", "--strength", "10%"];
    house.run(&bleach).out_has("NEVER with bleach").out_has("escapes").go();
    house.run(&["plan", "standards", "nitrate", "--unit", "mg/L NO3-N"]).out_has("An oxidiser").go();
    let buffers = plan(&house, &["ph"]);
    let ph: Vec<f64> = buffers.standards.iter().map(|s| s.value).collect();
    assert_eq!(ph, [6.86, 7.0, 9.18]);
    house.run(&["plan", "standards", "pH", "--marine"]).out_has("salt error").go();
}

#[test]
fn the_line_it_prints_adds_the_standard_with_its_uncertainty() {
    let house = furnished();
    let p = plan(&house, &["home", "nitrite", "--values", "4"]);
    let s = &p.standards[0];
    house.lay("PHOTO", Shot::new().dyed("B", 4.0).jpeg());
    let words: Vec<&str> = s.command.split_whitespace().skip(1).map(|w| w.trim_matches('\'')).collect();
    house.run(&words).touches(&["home/kits/home/", "home/photos/"]).out_has("1 swatch added").go();
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    let last = shown.swatches[0].swatches.last().unwrap();
    assert_eq!(last.value, s.value);
    assert!((last.value_sd.unwrap() - s.uncertainty.unwrap() / 2.0).abs() < 1e-9, "{last:?}");
}

#[test]
fn a_kits_tests_tell_unit_top_and_water() {
    let house = furnished();
    let p = plan(&house, &["nitrite"]);
    assert_eq!((p.kit.as_deref(), p.unit.as_str(), p.missing), (Some("home"), "mg/L NO2-", false));
    // Its standards end at 5 mg/L.
    assert_eq!(p.standards.iter().map(|s| s.wanted).collect::<Vec<_>>(), [0.0, 0.3125, 0.625, 1.25, 2.5, 5.0]);
    let p = plan(&house, &["nitrite", "--tank", "reef"]);
    assert_eq!((p.water.as_str(), p.salt_g_l), ("salt-mix", 35.0));
    let p = plan(&house, &["kh", "--unit", "dkh", "--marine"]);
    assert_eq!(p.water, "plain-salt");
}

#[test]
fn what_cannot_be_planned_is_said() {
    refused(&["ammonia"], "unit-needs-basis");
    refused(&["iron"], "standards-no-substance");
    refused(&["iron", "--values", "1"], "standards-no-substance");
    let a = |more: &[&'static str]| [&["ammonia", "--unit", "mg/L NH3-N"][..], more].concat();
    refused(&a(&["--of", "bleach"]), "standards-other-substance");
    refused(&a(&["--of", "household ammonia"]), "standards-no-strength");
    refused(&a(&["--of", "household ammonia", "--strength", "90%"]), "standards-strength");
    refused(&a(&["--purity", "10"]), "standards-purity");
    refused(&a(&["--scale", "10"]), "standards-coarse");
    refused(&a(&["--scale", "0"]), "standards-means");
    refused(&a(&["--syringe", "10"]), "standards-means");
    refused(&a(&["--container", "big"]), "standards-means");
    refused(&a(&["--values", "1e6"]), "amount-malformed");
    refused(&a(&["--values", "1000000"]), "standards-out-of-reach");
    refused(&["ph", "--values", "1,2"], "standards-no-buffer");
    refused(&["hall", "nitrite"], "name-unknown");
}
