//! The planners against the tables of doses and water changes: the same figures must come out of a whole plan.

use super::{Table, Worst};
use jiff::Timestamp;
use tintline::advice::plan::*;
use tintline::advice::{Animals, Book, Facts, Kind, Water};
use tintline::water::{Quantity, Span, Species, Unit};

fn now() -> Timestamp {
    "2026-03-01T18:00:00Z".parse().unwrap()
}

/// A tank without animals, of which nothing is measured.
fn empty(litres: f64) -> Book {
    Book::new(Facts { animals: Animals::None, litres: Some(litres), ..Facts::new("tank", Water::Fresh) })
}

/// As if nothing were in the water: the tables count from none.
fn none() -> Given {
    Given::default().with(Kind::Ammonia, Span::exact(0.0))
}

#[test]
fn doses() {
    let mut worst = Worst::of("dose of ammonia");
    for row in Table::open("water/dosing.csv").rows() {
        let basis = if row.text("basis") == "N" { Species::AmmoniaN } else { Species::Ammonia };
        let product = match row.text("kind") {
            "ammonia_solution" => Product::Solution {
                percent: row.number("percent_w_w"),
                of: Percent::ByWeight,
                density: Some(row.number("density_g_ml")),
            },
            "ammonium_chloride" => Product::Chloride,
            _ => Product::Stock { g_l: 10.0 },
        };
        let target = Quantity::new(row.number("target_mg_l"), Unit::mg_l(basis));
        let request = DoseRequest { target, product, litres: Some(row.number("tank_l")), now: none() };
        let plan = dose(&empty(1.0), &request, now()).unwrap();
        let unit = if product == Product::Chloride { "g" } else { "mL" };
        assert_eq!(plan.unit, unit, "{}", row.text("kind"));
        // The table gives 4 to 5 digits; its heading allows 1 %.
        let want = row.number("dose");
        worst.see(plan.amount, want, 1e-3 * want, row.text("kind"));
        // All that was typed is repeated.
        for (name, want) in [("target", row.number("target_mg_l")), ("water", row.number("tank_l"))] {
            assert_eq!(plan.said.input(name).unwrap().span, Span::exact(want));
        }
    }
    worst.check(11);
}

#[test]
fn water_changes() {
    let mut worst = Worst::of("plan of a water change");
    let mut refused = 0;
    for row in Table::open("water/water_change.csv").rows() {
        let case = row.text("case");
        if !["single", "fraction_needed", "steady_state"].contains(&case) {
            continue;
        }
        let (c0, tap) = (row.number("c0"), row.number("ctap"));
        let given = |x| Given::default().with(Kind::Nitrate, Span::exact(x));
        let ask = |aim| ChangeRequest { aim, litres: None, now: given(c0), new: given(tap) };
        let want = row.text("result").parse::<f64>();
        let tolerance = 1e-3 * want.clone().unwrap_or(1.0);
        match case {
            "single" => {
                // The table's result as the target must ask for the table's change, and be reached by it.
                let (target, share) = (want.unwrap(), row.number("fraction"));
                let plan = change(&empty(100.0), &ask(Aim::To { kind: Kind::Nitrate, target }), now()).unwrap();
                assert_eq!((plan.verdict, plan.steps.len()), (Verdict::Once, 1));
                worst.see(plan.steps[0].share, share, 1e-3 * share, case);
                worst.see(plan.steps[0].after.asked.unwrap().middle(), target, tolerance, case);
            }
            "fraction_needed" => {
                // The target stands in the note: `target 20`, `target 20 below tap …`.
                let note = row.text("note");
                let target = note.split_whitespace().nth(1).unwrap().parse().unwrap();
                let plan = change(&empty(100.0), &ask(Aim::To { kind: Kind::Nitrate, target }), now());
                match want {
                    Ok(want) => worst.see(plan.unwrap().at_once.unwrap().share, want, tolerance, case),
                    Err(_) => {
                        let e = plan.unwrap_err();
                        assert!(e.code() == "change-tap-above-target" && e.is_refusal(), "{e}");
                        refused += 1;
                    }
                }
            }
            _ => {
                let routine_of = Routine {
                    kind: Kind::Nitrate,
                    share: row.number("fraction"),
                    every_days: 7.0,
                    rise: Some(c0),
                    new: given(tap),
                };
                let plan = routine(&empty(100.0), &routine_of, now()).unwrap();
                worst.see(plan.before.middle(), want.unwrap(), tolerance, case);
                let trough: f64 = row.text("note").rsplit(' ').next().unwrap().parse().unwrap();
                worst.see(plan.after.middle(), trough, 1e-3 * trough, case);
            }
        }
    }
    assert_eq!(refused, 1, "the target below the tap");
    worst.check(24);
}

#[test]
fn the_total_at_which_free_ammonia_is_a_caution() {
    let mut worst = Worst::of("total ammonia at 0.02 free");
    for row in Table::open("water/total_ammonia_at_0p02_nh3.csv").rows() {
        let now_has = Given::default()
            .with(Kind::Ammonia, Span::exact(1.0))
            .with(Kind::Ph, Span::exact(row.number("pH")))
            .with(Kind::Temperature, Span::exact(row.number("temp_c")));
        let plan = table(&empty(100.0), &TableRequest { now: now_has }, now()).unwrap();
        let want = row.number("equation_total");
        let got = plan.said.result("total-at-caution").unwrap().span.middle();
        worst.see(got, want, 1e-3 * want, row.text("pH"));
        // One mg/L of total then holds this much free.
        worst.see(plan.said.result("free-ammonia").unwrap().span.middle(), 0.02 / want, 1e-3 * 0.02 / want, "free");
    }
    worst.check(60);
}
