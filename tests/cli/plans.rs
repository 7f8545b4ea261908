//! `plan`: what is typed, what is said, what is refused. Nothing is ever written.

use super::wire::{
    Failed, Figure, PlanAmmonia, PlanCapacity, PlanChanged, PlanDosed, PlanRoutine, PlanSeeded, PlanStocked,
};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

/// A house with the fresh tank `hall` of 100 L without animals: a dose of 2 mg/L N was gone in 24 hours, tests of an hour ago.
fn proven() -> House {
    let house = House::new();
    let hall = ["tank", "add", "hall", "--water", "fresh", "--volume", "100", "--animals", "none"];
    house.run(&hall).touches(&LOG).go();
    let at = |h: i64| (jiff::Timestamp::now() - jiff::SignedDuration::from_hours(h)).to_string();
    let add = |args: &[&str], h: i64| {
        house.run(&[args, &["--at", &at(h)]].concat()).touches(&LOG).go();
    };
    add(&["event", "add", "ammonia-dosed", "2 mg/L NH3-N"], 25);
    add(&["log", "add", "ammonia=2 mg/L NH3-N"], 24);
    add(&["log", "add", "ammonia=<0.1 mg/L NH3-N", "nitrite=<0.1 mg/L NO2-", "nitrate=20-24 mg/L NO3-"], 1);
    house
}

fn figure<'f>(all: &'f [Figure], name: &str) -> &'f Figure {
    all.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no figure '{name}'"))
}

fn refused(house: &House, exit: i32, args: &[&str], code: &str) {
    let plan = &[&["plan"], args, &["--json"]].concat();
    let e = house.run(plan).exit(exit).err_has("error: ").go().json::<Failed>().error;
    assert_eq!(e.code, code, "{args:?}: {}", e.sentence);
    assert!(!e.remedy.is_empty());
}

#[test]
fn a_dose_repeats_what_went_in_and_says_what_comes_out() {
    let house = proven();
    let args = ["plan", "dose", "2 mg/L NH3-N", "--solution", "9.5% w/w", "--density", "0.963"];
    let plan = house.run(&[&args[..], &["--json"]].concat()).go().json::<PlanDosed>();
    // 2.6581 mL bring 2 mg/L N; at most 0.1 of it is there.
    assert!((plan.amount / 2.6581 - 0.95).abs() < 1e-4 && plan.unit == "mL", "{plan:?}");
    let input = |name| figure(&plan.inputs, name);
    assert_eq!((input("target").value, input("target").origin.as_str()), (Some(2.0), "given"));
    assert_eq!((input("water").value, input("water").origin.as_str()), (Some(100.0), "stated"));
    assert_eq!((input("strength").text.as_str(), input("density").value), ("9.5 % NH3 by weight", Some(0.963)));
    let present = input("ammonia-present");
    assert_eq!((present.value, present.upper, present.origin.as_str()), (None, Some(0.1), "log"));
    assert!(present.entry.is_some() && present.at.as_ref().is_some_and(|at| at.contains("+0")), "{present:?}");
    assert_eq!(figure(&plan.results, "ammonia-after").upper, Some(2.0));
    assert!(plan.cautions.iter().any(|c| c.rule == "ammonia-solution") && plan.formulas.len() == 2);
    let said = house.run(&args).go().out;
    for words in
        ["2.53 mL of ammonia solution of 9.5 % by weight", "From:", "as given", "Glasses, gloves", "Worked out by:"]
    {
        assert!(said.contains(words), "no '{words}' in:\n{said}");
    }
    let dry = [
        "plan",
        "dose",
        "2 mg/L NH3",
        "--chloride",
        "--now",
        "ammonia=<0.1 mg/L NH3-N",
        "--volume",
        "20 us gal",
        "--json",
    ];
    let plan = house.run(&dry).go().json::<PlanDosed>();
    // 2 mg/L as NH3 are 1.6449 as N; 1.5449 · 3.81873 · 75.7082 / 1000.
    assert!((plan.amount - 0.44664).abs() < 1e-4 && plan.unit == "g", "{}", plan.amount);
}

#[test]
fn what_is_asked_of_a_dose_wrongly_is_asked_back_or_refused() {
    let house = proven();
    let solution = ["--solution", "9.5% w/w"];
    let dose = |exit, args: &[&str], code: &str| refused(&house, exit, &[&["dose"], args].concat(), code);
    dose(3, &[&["6 mg/L NH3-N"], &solution[..]].concat(), "dose-too-much");
    dose(3, &[&["0.1 mg/L NH3-N"], &solution[..]].concat(), "dose-enough");
    dose(2, &[&["2 mg/L"], &solution[..]].concat(), "unit-needs-basis");
    dose(2, &[&["2"], &solution[..]].concat(), "event-number-bare");
    dose(2, &["2 mg/L NH3-N", "--solution", "strong"], "event-number");
    dose(2, &["2 mg/L NH3-N", "--solution", "60%"], "water-out-of-range");
    dose(2, &["2 mg/L NH3-N", "--chloride", "--volume", "10 gal"], "volume-gallons");
    dose(2, &["2 mg/L NH3-N", "--chloride", "--volume", "0"], "water-not-positive");
    dose(2, &["2 mg/L NH3-N", "--chloride", "--now", "ammonia=0 mg/L NH3-N"], "amount-bare-zero");
    dose(2, &["2 mg/L NH3-N", "--chloride", "--now", "iron=1 mg/L"], "usage");
    house.run(&["plan", "dose", "2 mg/L NH3-N"]).exit(2).err_has("--solution").go();
    house
        .run(&["plan", "dose", "2 mg/L NH3-N", "--chloride", "--stock", "10"])
        .exit(2)
        .err_has("cannot be used with")
        .go();
    house.run(&["event", "add", "fish-added", "3", "tetras", "--tank", "hall"]).touches(&LOG).go();
    dose(3, &[&["2 mg/L NH3-N"], &solution[..]].concat(), "dose-animals");
    let empty = House::new();
    refused(&empty, 2, &["dose", "2 mg/L NH3-N", "--chloride"], "name-none-yet");
    empty.run(&["tank", "add", "new", "--water", "fresh"]).touches(&LOG).go();
    refused(&empty, 3, &["dose", "2 mg/L NH3-N", "--chloride"], "dose-animals-unknown");
}

#[test]
fn a_change_is_shown_with_the_water_before_and_after() {
    let house = proven();
    let tap = ["--new-water", "nitrate=10 (10 to 10) mg/L NO3-", "--new-water", "pH=7.4 (7.4 to 7.4)"];
    let now = ["--now", "nitrate=60 (60 to 60) mg/L NO3-", "--now", "pH=7.4 (7.4 to 7.4)"];
    let args = [&["plan", "change", "nitrate=20 mg/L NO3-"], &tap[..], &now[..]].concat();
    let plan = house.run(&[&args[..], &["--json"]].concat()).go().json::<PlanChanged>();
    assert_eq!((plan.verdict.as_str(), plan.steps.len()), ("split", 3));
    assert!((plan.at_once.unwrap().share - 0.8).abs() < 1e-9);
    let last = plan.steps.last().unwrap();
    assert!((last.after.asked.as_ref().unwrap().value.unwrap() - 20.0).abs() < 1e-9);
    assert_eq!(last.after.ph.lower, Some(7.4));
    assert!(last.after.free_ammonia.as_ref().unwrap().upper.is_some() && plan.steps[0].litres == Some(50.0));
    assert!(plan.unknown.iter().any(|s| s.text.contains("temperature")), "{:?}", plan.unknown);
    let said = house.run(&args).go().out;
    for words in
        ["Change 2 times 50 %, then 20 %", "after 50 % = 50 L", "free NH3-N", "KH, dH", "Conditioner for 120 L"]
    {
        assert!(said.contains(words), "no '{words}' in:\n{said}");
    }
    refused(
        &house,
        3,
        &["change", "nitrate=5 mg/L NO3-", "--new-water", "nitrate=10 mg/L NO3-"],
        "change-tap-above-target",
    );
    refused(&house, 2, &["change", "nitrate=5"], "entry-no-unit");
    refused(&house, 2, &["change", "pH=7"], "plan-not-by-change");
    refused(&house, 2, &["change", "nitrate"], "reading-malformed");
    refused(&house, 2, &["change", "--share", "130%"], "plan-share");
    refused(&house, 2, &["change", "--share", "30 L"], "event-number");
    refused(&house, 2, &["change", "KH=3 dKH"], "plan-level-unknown");
    refused(&house, 2, &["change", "nitrate=5 mg/L NO3-", "--share", "20%"], "usage");
    house.run(&["plan", "change"]).exit(2).err_has("WHAT=VALUE").go();
}

#[test]
fn a_change_that_would_poison_is_refused_with_its_numbers() {
    let house = proven();
    house.run(&["tank", "change", "--animals", "6 barbs"]).touches(&LOG).go();
    let args = [
        "plan",
        "change",
        "--share",
        "50%",
        "--now",
        "ammonia=4 mg/L NH3-N",
        "--now",
        "pH=6.4",
        "--new-water",
        "pH=7.8",
    ];
    let plan = house.run(&[&args[..], &["--json"]].concat()).exit(3).go().json::<PlanChanged>();
    assert_eq!((plan.verdict.as_str(), plan.steps.len()), ("refused", 0));
    let once = plan.at_once.unwrap();
    assert!(once.after.free_ammonia.unwrap().upper > once.before.free_ammonia.unwrap().upper);
    house.run(&args).exit(3).out_has("Not with this water as it is").out_has("Measure pH and alkalinity").go();
}

#[test]
fn a_routine_says_what_it_leads_to() {
    let house = proven();
    let tap = ["--new-water", "nitrate=5 (5 to 5) mg/L NO3-"];
    let args =
        [&["plan", "change", "nitrate", "--share", "25%", "--every", "week", "--rise", "10 mg/L NO3-"], &tap[..]]
            .concat();
    let plan = house.run(&[&args[..], &["--json"]].concat()).go().json::<PlanRoutine>();
    assert_eq!(plan.changes, 9);
    assert_eq!(figure(&plan.results, "before-each-change").value, Some(45.0));
    assert_eq!(figure(&plan.results, "after-each-change").value, Some(35.0));
    house.run(&args).out_has("25 % every 7 days leads to 45 mg/L NO3-").go();
    let without = |args: &[&str], code: &str| refused(&house, 2, &[&["change", "nitrate"], args].concat(), code);
    without(&["--share", "25%", "--every", "week"], "plan-rise-unknown");
    without(&["--share", "25%", "--every", "soon"], "event-number");
    without(&["--share", "25%", "--every", "0", "--rise", "1 mg/L NO3-"], "water-not-positive");
    without(&["--share", "25%", "--every", "7", "--rise", "1 mg/L NO2-"], "unit-other-analyte");
}

#[test]
fn a_filter_is_known_by_what_it_did() {
    let house = proven();
    let shown = 100.0 * (2.0 - 0.1 - 0.1 * 14.007 / 46.005);
    let json = |args: &[&str], exit: i32| {
        house.run(&[&["plan"], args, &["--tank", "hall", "--json"]].concat()).exit(exit).go()
    };
    let plan = json(&["capacity", "--removed", "50%", "--food", "1 g", "--protein", "45%"], 0).json::<PlanCapacity>();
    let left = figure(&plan.results, "capacity-left");
    // The commands of the house were typed seconds apart: 1e-4 of 24 hours are 9.
    assert!((left.lower.unwrap() / (0.5 * shown) - 1.0).abs() < 1e-4 && left.upper.is_none(), "{left:?}");
    assert_eq!(plan.carries, Some(true));
    assert_eq!(plan.answer[0].rests_on.len(), 3);
    let plan = json(&["stock", "10", "barbs", "8", "cm"], 0).json::<PlanStocked>();
    assert_eq!(plan.batches.iter().map(|b| (b.number, b.day)).collect::<Vec<_>>(), [(Some(8), 0), (Some(2), 14)]);
    let plan = json(&["stock", "1 catfish 40 cm", "--instead-of", "1 catfish 5 cm"], 3).json::<PlanStocked>();
    assert!(plan.batches.is_empty() && plan.answer.iter().any(|s| s.text.contains("The count stays")));
    house.run(&["plan", "stock", "10 barbs 8 cm"]).out_has("In 2 steps: 8 now, 2 on day 14").go();
    house.run(&["tank", "add", "small", "--water", "fresh", "--volume", "40"]).touches(&LOG).go();
    let seed = ["plan", "seed", "half", "--from", "hall", "--to", "small", "--food", "1"];
    let plan = house.run(&[&seed[..], &["--json"]].concat()).go().json::<PlanSeeded>();
    assert!((plan.covers.lower.unwrap() - 0.25 * shown / (46.0 * 1.3)).abs() < 1e-3, "{:?}", plan.covers);
    assert_eq!((plan.tank.as_str(), plan.from.as_str(), plan.covers.upper), ("small", "hall", None));
    house.run(&seed).out_has("Media carry disease").go();
    refused(&house, 2, &["seed", "half", "--from", "hall", "--to", "hall", "--food", "1"], "usage");
    refused(&house, 2, &["seed", "half", "--from", "small", "--to", "hall", "--food", "1"], "plan-capacity-unknown");
    refused(&house, 2, &["seed", "half", "--from", "hall", "--to", "small"], "plan-load-unknown");
    refused(&house, 2, &["capacity"], "name-ambiguous");
    refused(&house, 2, &["capacity", "--tank", "hall", "--removed", "200%"], "plan-share");
    refused(&house, 2, &["stock", "6 barbs", "--tank", "hall"], "plan-load-unknown");
    refused(&house, 2, &["stock", "6 barbs 4 L", "--tank", "hall"], "event-number-misplaced");
    refused(&house, 2, &["stock", "6 barbs 4 cm", "--food", "much", "--tank", "hall"], "event-number");
}

#[test]
fn the_table_of_free_ammonia_has_words_and_signs() {
    let house = proven();
    let args = ["plan", "ammonia", "ammonia=1 (1 to 1) mg/L NH3-N", "pH=8 (8 to 8)", "temperature=24 (24 to 24)"];
    let plan = house.run(&[&args[..], &["--json"]].concat()).go().json::<PlanAmmonia>();
    let free = figure(&plan.results, "free-ammonia").value.unwrap();
    // Acceptance row A32, after the worked example of the Florida extension.
    assert!((free - 0.0502).abs() < 1e-4, "{free}");
    let row = plan.rows.iter().find(|r| r.ph == 8.0).unwrap();
    let column = plan.temperatures.iter().position(|t| *t == 24.0).unwrap();
    assert_eq!(row.cells[column].level, "danger");
    assert!((row.cells[column].free_ammonia.value.unwrap() - free).abs() < 1e-9);
    house.run(&args).out_has("! caution, !! danger, !!! urgent").out_has("0.05 !!").go();
    refused(&house, 2, &["ammonia", "ammonia=>8 mg/L NH3-N"], "plan-level-unknown");
    refused(&house, 2, &["ammonia", "ammonia=1 mg/L NH3-N", "pH=20"], "amount-ph-out-of-range");
}
