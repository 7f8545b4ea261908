use super::{Worst, path};
use nalgebra::{DMatrix, DVector};
use tintline::curve::limits::{Blank, Limits, Line, Risks};
use tintline::numeric::least_squares;
use tintline::numeric::stats::{detection_noncentrality, normal_quantile, t_quantile};
use toml::{Table, Value};

fn tables() -> Table {
    std::fs::read_to_string(path("calibration_statistics.toml")).unwrap().parse().unwrap()
}

fn section<'t>(tables: &'t Table, name: &str) -> &'t Table {
    tables[name].as_table().unwrap()
}

fn value(v: &Value) -> f64 {
    v.as_float().or(v.as_integer().map(|i| i as f64)).unwrap_or_else(|| panic!("{v} is no number"))
}

fn number(table: &Table, key: &str) -> f64 {
    value(table.get(key).unwrap_or_else(|| panic!("no {key}")))
}

fn list(table: &Table, key: &str) -> Vec<f64> {
    table[key].as_array().unwrap().iter().map(value).collect()
}

/// Tolerance of figures printed to that many digits: half a unit of the last, and nothing finer than 1e-9 of the value.
fn digits(published: f64, count: i32) -> f64 {
    let half = 0.5 * 10f64.powf(published.abs().log10().floor() - (count - 1) as f64);
    half.max(1e-9 * published.abs())
}

fn weights(table: &Table) -> Vec<f64> {
    list(table, "s_y").iter().map(|s| 1.0 / (s * s)).collect()
}

fn unknowns(worst: &mut Worst, line: &Line, table: &Table) {
    for unknown in table["unknown"].as_array().unwrap() {
        let unknown = unknown.as_table().unwrap();
        let readings = list(unknown, "y");
        let mean = readings.iter().sum::<f64>() / readings.len() as f64;
        let read = line.amount_at(mean, readings.len() as f64, 0.95).unwrap();
        let mut ten = |got: f64, published: f64, what: &str| worst.see(got, published, digits(published, 10), what);
        ten(read.amount, number(unknown, "x0"), "x0");
        ten(read.standard_error, number(unknown, "s_x0"), "s_x0");
        ten(t_quantile(0.975, line.n as f64 - 2.0).unwrap(), number(unknown, "t_975"), "t");
        for (ends, key) in [(read.delta, "ci95_delta"), (read.fieller.unwrap(), "ci95_fieller")] {
            let published = list(unknown, key);
            ten(ends.0, published[0], key);
            ten(ends.1, published[1], key);
        }
        let g = number(unknown, "fieller_g");
        worst.see(read.g, g, digits(g, 6), "g");
        if unknown.contains_key("published_x0") {
            let printed = number(unknown, "published_x0");
            // To the printed digits of the books, which round on the way.
            worst.see(read.amount, printed, if printed < 0.5 { 5e-4 } else { 5e-3 }, "published x0");
            let half = number(unknown, "published_half");
            let got = (read.delta.1 - read.delta.0) / 2.0;
            worst.see(got, half, if half < 0.1 { 5e-4 } else { 5e-3 }, "published interval");
        }
    }
}

#[test]
fn calibration_lines_of_two_textbooks() {
    let tables = tables();
    let mut worst = Worst::of("textbook lines");
    let mut printed = Worst::of("textbook lines as printed");
    for name in ["harvey_unweighted", "miller_fluorescein"] {
        let data = section(&tables, name);
        let line = Line::through(&list(data, "x"), &list(data, "y"), None).unwrap();
        let figures = [
            ("b0", line.intercept),
            ("b1", line.slope),
            ("s_b0", line.intercept_error),
            ("s_b1", line.slope_error),
            ("s_yx", line.spread),
            ("R2", line.explained),
            ("xbar", line.mean_amount),
            ("ybar", line.mean_signal),
            ("Sxx", line.sum_squares),
        ];
        for (key, got) in figures {
            let published = number(data, key);
            worst.see(got, published, 1e-9 * published.abs(), key);
        }
        unknowns(&mut worst, &line, data);
        // Both books round within the sums of the errors: a unit of the last printed digit.
        let rounding = if name == "harvey_unweighted" { 1e-3 } else { 1e-4 };
        printed.see(line.slope, number(data, "published_b1"), 5e-4, "b1");
        printed.see(line.intercept, number(data, "published_b0"), 5e-3, "b0");
        printed.see(line.spread, number(data, "published_s_yx"), rounding, "s_yx");
        printed.see(line.slope_error, number(data, "published_s_b1"), rounding, "s_b1");
        printed.see(line.intercept_error, number(data, "published_s_b0"), rounding, "s_b0");
    }
    let data = section(&tables, "miller_fluorescein");
    let line = Line::through(&list(data, "x"), &list(data, "y"), None).unwrap();
    let old = section(data, "lod_3s_blank");
    worst.see(line.intercept + 3.0 * line.spread, number(old, "y"), 5e-8, "signal at 3 s");
    let known = Limits::of_known_spread(line.spread, Risks::default()).unwrap();
    worst.see(known.quantification * 0.3 / line.slope, number(old, "x"), 5e-8, "amount at 3 s");
    worst.check(18 + 4 * 10 + 2);
    printed.check(10);
}

#[test]
fn weighted_lines() {
    let tables = tables();
    let mut worst = Worst::of("weighted lines");
    for name in ["harvey_weighted", "miller_weighted"] {
        let data = section(&tables, name);
        let line = Line::through(&list(data, "x"), &list(data, "y"), Some(&weights(data))).unwrap();
        let figures = [
            ("b0", line.intercept),
            ("b1", line.slope),
            ("xbar_w", line.mean_amount),
            ("ybar_w", line.mean_signal),
            ("s_yx_w", line.spread),
        ];
        for (key, got) in figures {
            let published = number(data, key);
            worst.see(got, published, digits(published, 10), key);
        }
    }
    let data = section(&tables, "miller_weighted");
    let (x, y) = (list(data, "x"), list(data, "y"));
    let weighted = Line::through(&x, &y, Some(&weights(data))).unwrap();
    let plain = Line::through(&x, &y, None).unwrap();
    for (key, got) in [("unweighted_b0", plain.intercept), ("unweighted_b1", plain.slope)] {
        worst.see(got, number(data, key), digits(number(data, key), 10), key);
    }
    worst.see(weighted.slope, number(data, "published_b1"), 5e-5, "published b1");
    worst.see(weighted.intercept, number(data, "published_b0"), 5e-5, "published b0");
    for (key, line) in
        [("low", &weighted), ("high", &weighted), ("unweighted_low", &plain), ("unweighted_high", &plain)]
    {
        let case = section(data, key);
        let weight = case.get("w0").map_or(1.0, value);
        let read = line.amount_at(number(case, "y"), weight, 0.95).unwrap();
        let half = (read.delta.1 - read.delta.0) / 2.0;
        worst.see(read.amount, number(case, "x0"), 5e-7, key);
        worst.see(read.standard_error, number(case, "s_x0"), 5e-7, key);
        worst.see(half, number(case, "ci95_half"), 5e-7, key);
    }
    worst.check(10 + 4 + 12);
}

#[test]
fn nist_norris_certified_digits() {
    let tables = tables();
    let data = section(&tables, "nist_norris");
    let (x, y) = (list(data, "x"), list(data, "y"));
    assert_eq!(x.len(), 36);
    let line = Line::through(&x, &y, None).unwrap();
    let mut worst = Worst::of("NIST Norris, relative");
    let figures = [
        ("certified_b0", line.intercept),
        ("certified_b1", line.slope),
        ("certified_s_b0", line.intercept_error),
        ("certified_s_b1", line.slope_error),
        ("certified_s_yx", line.spread),
        ("certified_R2", line.explained),
    ];
    for (key, got) in figures {
        worst.see(got / number(data, key), 1.0, 1e-12, key);
    }
    worst.check(6);
    let mut unknown = Worst::of("readings put to Norris");
    unknowns(&mut unknown, &line, data);
    unknown.check(8);
}

#[test]
fn nist_pontius_certified_digits() {
    let tables = tables();
    let data = section(&tables, "nist_pontius");
    let (x, y) = (list(data, "x"), list(data, "y"));
    assert_eq!(x.len(), 40);
    let rows = DMatrix::from_fn(40, 3, |i, j| x[i].powi(j as i32));
    let fit = least_squares(&rows, &DVector::from_vec(y), None).unwrap();
    let mut worst = Worst::of("NIST Pontius, relative");
    let (coef, sd) = (list(data, "certified_B"), list(data, "certified_sd"));
    for j in 0..3 {
        worst.see(fit.coef[j] / coef[j], 1.0, 1e-11, "B");
        worst.see(fit.standard_error(j) / sd[j], 1.0, 1e-11, "sd of B");
    }
    worst.see(fit.scale / number(data, "certified_s"), 1.0, 1e-11, "s");
    worst.check(7);
}

#[test]
fn noncentrality_at_the_detection_limit() {
    let tables = tables();
    let data = section(&tables, "noncentral_t_delta");
    let (mut t, mut delta) = (Worst::of("t(0.95)"), Worst::of("delta(nu)"));
    let (ts, deltas) = (list(data, "t_95"), list(data, "delta"));
    for (i, nu) in list(data, "nu").into_iter().enumerate() {
        t.see(t_quantile(0.95, nu).unwrap(), ts[i], 5.0001e-7, &format!("{nu}"));
        delta.see(detection_noncentrality(nu, 0.05, 0.05).unwrap(), deltas[i], 5.0001e-6, &format!("{nu}"));
    }
    let infinite = 2.0 * normal_quantile(0.95).unwrap();
    delta.see(infinite, number(data, "delta_infinite"), 5e-6, "infinite");
    let four = detection_noncentrality(4.0, 0.05, 0.05).unwrap();
    delta.see(four, number(data, "published_nu_4"), 5e-4, "as printed");
    t.check(16);
    delta.check(18);
}

#[test]
fn limits_from_a_line_after_iso_11843() {
    let tables = tables();
    let line = section(&tables, "harvey_unweighted");
    let line = Line::through(&list(line, "x"), &list(line, "y"), None).unwrap();
    let data = section(&tables, "iso11843_2_worked");
    let k = number(data, "K") as usize;
    let limits = line.limits(k, Risks::default()).unwrap();
    let mut worst = Worst::of("ISO 11843-2");
    let figures = [
        ("y_c", line.decision_signal(k, Risks::default()).unwrap()),
        ("x_c", limits.decision),
        ("x_d", limits.detection),
        ("t_95", limits.decision / limits.quantification * 10.0),
        ("delta", limits.detection / limits.quantification * 10.0),
    ];
    for (key, got) in figures {
        let published = number(data, key);
        worst.see(got, published, digits(published, if key == "delta" { 7 } else { 9 }), key);
    }
    worst.check(5);
}

#[test]
fn limits_from_blanks_after_currie() {
    let tables = tables();
    let data = section(&tables, "currie_blank_worked");
    let blank = Blank::from_readings(&list(data, "blank"), 1, Risks::default()).unwrap();
    assert_eq!(blank.freedom as f64, number(data, "nu"));
    let amounts = blank.limits.as_amounts(number(data, "sensitivity")).unwrap();
    let mut worst = Worst::of("Currie 1995");
    let figures = [
        ("mean_blank", blank.mean),
        ("s_B", blank.sd),
        ("s0", blank.net_sd),
        ("L_C_signal", blank.limits.decision),
        ("L_D_signal", blank.limits.detection),
        ("L_Q_signal", blank.limits.quantification),
        ("x_C", amounts.decision),
        ("x_D", amounts.detection),
        ("x_Q", amounts.quantification),
    ];
    for (key, got) in figures {
        let published = number(data, key);
        worst.see(got, published, digits(published, 10), key);
    }
    worst.check(9);

    let data = section(&tables, "currie_1968_counting");
    let b = number(data, "B");
    let paired = Limits::of_known_spread((2.0 * b).sqrt(), Risks::default()).unwrap();
    let z = normal_quantile(0.95).unwrap();
    let mut worst = Worst::of("Currie 1968");
    worst.see(paired.decision, number(data, "exact_paired_L_C"), 5e-7, "L_C");
    // A sum of rounded addends: a unit of its last digit.
    worst.see(z * z + 2.0 * paired.decision, number(data, "exact_paired_L_D"), 1e-6, "L_D");
    worst.see(paired.decision, number(data, "published_paired_L_C"), 0.05, "L_C as printed");
    worst.see(z * z + paired.detection, number(data, "published_paired_L_D"), 0.05, "L_D as printed");
    worst.check(4);
}

/// The detection limit of a dye in plain CIELAB for a blank of standard deviation 0.5: 3.29 × 0.5 / slope.
#[test]
fn dye_detection_limits_from_a_known_spread() {
    let table = super::Table::open("colour_to_concentration.csv");
    let mut worst = Worst::of("dye detection limit");
    for row in table.rows().filter(|r| r.number("A") == 0.0) {
        let limits = Limits::of_known_spread(0.5, Risks::default()).unwrap();
        let got = limits.as_amounts(row.number("dLab_dA")).unwrap().detection;
        worst.see(got, row.number("A_LOD"), 1e-3 * got, row.text("dye"));
    }
    worst.check(3);
}
