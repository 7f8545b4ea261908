//! `fixtures/published/water/acceptance.csv`, row by row: the expected figures are taken from the table. The rows about stages and
//! evidence (A55 to A58) are asked in `tests/advice`.

use super::Table;
use tintline::water::*;

fn fresh(p: f64, t: f64) -> f64 {
    sea(p, t, 0.0)
}

fn sea(p: f64, t: f64, s: f64) -> f64 {
    free_fraction(Ph::new(p).unwrap(), Celsius::new(t).unwrap(), Salinity::new(s).unwrap())
}

fn conditions(ph: Span, t: f64) -> Conditions {
    Conditions {
        ph: Known::Given(ph),
        temperature: Known::Given(Span::exact(t)),
        salinity: Known::Given(Span::exact(0.0)),
    }
}

fn convert(value: f64, from: Species, to: Species) -> f64 {
    Quantity::new(value, Unit::mg_l(from)).to(&Unit::mg_l(to)).unwrap().value
}

fn alkalinity(from: &str, to: &str) -> f64 {
    let unit = |text: &str| Unit::parse(text, &Analyte::Alkalinity).unwrap();
    Quantity::new(1.0, unit(from)).to(&unit(to)).unwrap().value
}

/// What the library gives for a row, in the order in which the row names its figures.
fn given(id: &str) -> Vec<f64> {
    use Species::*;
    let by_weight = Strength::ByWeight { percent: 9.5, density: 0.963 };
    let range = |total, ph, t| {
        let free = free_ammonia(&total, &conditions(ph, t)).unwrap();
        vec![free.low, free.high]
    };
    let one = match id {
        "A01" => fresh(7.0, 25.0),
        "A02" => fresh(7.4, 24.0),
        "A03" => fresh(8.0, 20.0),
        "A04" => fresh(8.0, 25.0),
        "A05" => fresh(8.0, 24.0),
        "A06" => fresh(8.2, 26.0),
        "A07" => fresh(8.4, 28.0),
        "A08" => fresh(6.5, 25.0),
        "A09" => fresh(9.0, 30.0),
        "A10" => fresh(7.6, 10.0),
        "A12" => fresh(8.0, Celsius::from_fahrenheit(77.0).unwrap().value()),
        "A13" => sea(8.0, 25.0, 35.0),
        "A14" => sea(8.2, 25.0, 35.0),
        "A15" => sea(8.2, 26.0, 33.0),
        "A16" => sea(8.0, 20.0, 15.0),
        "A20" => convert(1.0, AmmoniaN, Ammonia),
        "A21" => convert(1.0, AmmoniaN, Ammonium),
        "A22" => convert(1.0, NitriteN, Nitrite),
        "A23" => convert(1.0, NitrateN, Nitrate),
        "A24" => convert(50.0, Nitrate, NitrateN),
        "A25" => alkalinity("dKH", "mg/L CaCO3"),
        "A26" => alkalinity("dKH", "meq/L"),
        "A27" => alkalinity("meq/L", "dKH"),
        "A28" => 20.0 * volume::US_GALLON,
        "A29" => 10.0 * volume::IMPERIAL_GALLON,
        "A31" => {
            let of = |c| epa2013(c, Ph::new(7.0).unwrap(), Celsius::new(20.0).unwrap());
            return vec![of(Criterion::Chronic), of(Criterion::AcuteSalmonid)];
        }
        "A32" => {
            let n = fresh(8.0, 24.0);
            return vec![n, convert(n, AmmoniaN, Ammonia)];
        }
        "A33" => total_at(0.02, Ph::new(7.0).unwrap(), Celsius::new(25.0).unwrap(), Salinity::FRESH),
        "A34" => {
            let used = nitrified(4.0, NitrogenSource::AmmoniumSalt);
            return vec![-used.alkalinity_degrees, -used.alkalinity, used.oxygen.1, used.nitrate];
        }
        "A35" => -nitrified(4.0, NitrogenSource::AmmoniaWater).alkalinity_degrees,
        "A36" => {
            let mg = ammonia_of_food(1.0, 0.45).unwrap();
            let (daily, weekly) = rise(mg, 100.0).unwrap();
            return vec![mg, daily, weekly];
        }
        "A37" => ammonia_solution_ml(2.0, AmmoniaN, 100.0, by_weight).unwrap(),
        "A38" => ammonium_chloride_g(2.0, AmmoniaN, 100.0).unwrap(),
        "A39" => ammonia_solution_ml(2.0, Ammonia, 100.0, by_weight).unwrap(),
        "A40" => bicarbonate_g(1.0, 100.0).unwrap(),
        "A41" => after_change(40.0, 5.0, 0.25).unwrap(),
        "A42" => after_changes(80.0, 10.0, 0.5, 3).unwrap(),
        "A43" => change_needed(60.0, 10.0, 20.0).unwrap() * 100.0,
        "A45" => {
            let (peak, trough) = steady_state(10.0, 5.0, 0.25).unwrap();
            return vec![peak, trough];
        }
        "A46" => after_change(0.0, chloramine_ammonia(3.0), 0.5).unwrap(),
        "A47" => Dilution::parse("1+4").unwrap().tank(3.0, 0.0).unwrap(),
        "A48" => Dilution::parse("1+1").unwrap().tank(25.0, 10.0).unwrap(),
        "A49" => nitrite_read_as_nitrate(5.0),
        "A50" => {
            let (chloride, salt) = chloride_wanting(6.0, 15.0);
            return vec![chloride_of_salt(1.0), chloride, salt];
        }
        "A51" => return range(Span::between(0.0, 0.25), Span::exact(7.0), 25.0),
        "A52" => return range(Span::between(0.0, 0.25), Span::exact(8.4), 28.0),
        "A53" => return range(Span::exact(1.0), Span { low: 7.8, best: Some(8.0), high: 8.2 }, 25.0),
        "A54" => {
            let after = after_change(4.0, 0.0, 0.5).unwrap() * fresh(7.8, 25.0);
            let before = 4.0 * fresh(6.4, 25.0);
            return vec![before, after, after / before];
        }
        _ => return Vec::new(),
    };
    vec![one]
}

/// The figures a row expects, and its tolerance as a share or an absolute.
fn expected(id: &str, text: &str, tolerance: &str) -> (Vec<f64>, f64, f64) {
    let numbers = |s: &str| -> Vec<f64> {
        // A hyphen between two numbers is a range; one before a number that begins a word is a sign.
        let s = s.replace("0-0.", "0 0.").replace(" - ", " ").replace(['(', ')', ';', ':', '+', '=', '/'], " ");
        s.split_whitespace().filter_map(|w| w.parse().ok()).collect()
    };
    let wanted = match id {
        // The row names units and a rounding with digits in them.
        "A31" => vec![1.887, 16.76],
        "A34" => vec![-1.60, -28.6, 18.3, 17.7],
        "A50" => vec![607.0, 45.0, 74.2],
        _ => numbers(&text.replace("NH3", "").replace("CaCO3", "")),
    };
    let first = tolerance.split_whitespace().find_map(|w| w.parse::<f64>().ok()).unwrap_or(0.0);
    let first = if tolerance.contains('%') && !tolerance.contains("e-") { first / 100.0 } else { first };
    if tolerance.starts_with("abs") { (wanted, 0.0, first) } else { (wanted, first, 1e-9) }
}

#[test]
fn every_figure_of_the_table() {
    let table = Table::open("water/acceptance.csv");
    let (mut rows, mut figures) = (0, 0);
    for row in table.rows() {
        let id = row.text("id");
        let got = given(id);
        if got.is_empty() {
            continue;
        }
        let (want, relative, absolute) = expected(id, row.text("expected"), row.text("tolerance"));
        assert_eq!(got.len(), want.len(), "{id}: {got:?} for {want:?}");
        for (g, w) in got.iter().zip(&want) {
            // A row that prints fewer digits than its tolerance is held to what it prints.
            let printed = 0.5 * 10f64.powi(-(w.to_string().split('.').nth(1).map_or(0, str::len) as i32));
            let allowed = (relative * w.abs() + absolute).max(if relative < 2e-3 { printed } else { 0.0 });
            assert!((g - w).abs() <= allowed, "{id}: {g} for {w}, allowed {allowed}");
            figures += 1;
        }
        rows += 1;
    }
    assert_eq!((rows, figures), (48, 63));
}

#[test]
fn what_the_table_refuses_is_refused() {
    let e = change_needed(40.0, 25.0, 20.0).unwrap_err();
    assert_eq!(e.code(), "change-tap-above-target"); // A44
    assert!(e.to_string().contains("25"), "{e}");
    // A60
    assert!(Celsius::new(-0.1).is_err() && Celsius::new(50.1).is_err());
    assert!(Ph::new(3.9).is_err() && Ph::new(11.1).is_err());
    assert!(Salinity::new(-0.1).is_err() && Salinity::new(45.1).is_err());
    // 400 % of a tank cannot be changed.
    assert_eq!(after_change(10.0, 0.0, 4.0).unwrap_err().code(), "change-not-a-share");
    assert!(after_change(10.0, 0.0, -0.1).is_err() && after_change(10.0, 0.0, f64::NAN).is_err());
    assert!(steady_state(10.0, 0.0, 0.0).is_err() && after_drip(1.0, 0.0, -1.0).is_err());
    assert!(ammonia_solution_ml(-2.0, Species::AmmoniaN, 100.0, Strength::ByVolume { percent: 9.0 }).is_err());
    assert!(ammonia_solution_ml(2.0, Species::AmmoniaN, 0.0, Strength::ByVolume { percent: 9.0 }).is_err());
    // A strength given as a share instead of per cent is caught: 0.095 would be a hundred times the dose.
    assert!(ammonia_solution_ml(2.0, Species::AmmoniaN, 100.0, Strength::ByVolume { percent: 0.095 }).is_err());
    assert!(Strength::by_weight(60.0).is_err());
    assert_eq!(Dilution::parse("1+1").unwrap().tank(3.0, 10.0), None);
}

/// A59: an unknown temperature is a range, and an open end of the pH scale a bound.
#[test]
fn what_is_not_known_stays_a_range() {
    let total = Span::exact(0.5);
    let mut at = conditions(Span::exact(8.0), 25.0);
    at.temperature = Known::Assumed(Span::between(22.0, 28.0));
    let free = free_ammonia(&total, &at).unwrap();
    assert!((free.low - 0.0219).abs() < 5e-5 && (free.high - 0.0327).abs() < 5e-5, "{free:?}");
    assert_eq!(free.best, None);
    // pH above 7.6: at least so much, and at most all of it.
    let above = conditions(Span::between(7.6, f64::INFINITY), 26.0);
    let free = free_ammonia(&Span::exact(1.0), &above).unwrap();
    assert!((free.low - 0.0237).abs() < 5e-5, "{free:?}");
    assert_eq!((free.best, free.high), (None, 1.0));
    // pH below 6: at most so much.
    let below = conditions(Span::between(f64::NEG_INFINITY, 6.0), 26.0);
    let free = free_ammonia(&Span::exact(1.0), &below).unwrap();
    assert!(free.low == 0.0 && free.high < 0.0007, "{free:?}");
    // Ammonia above the scale: no upper bound, however little of it is free.
    let free = free_ammonia(&Span::between(5.0, f64::INFINITY), &below).unwrap();
    assert!(free.high.is_infinite());
}
