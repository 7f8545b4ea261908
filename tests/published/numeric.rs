use super::{Table, Worst};
use tintline::numeric::{Pchip, Slopes};

fn curve(set: &str) -> Pchip {
    let (x, y): (&[f64], &[f64]) = match set {
        "RPN14" => (
            &[7.99, 8.09, 8.19, 8.7, 9.2, 10.0, 12.0, 15.0, 20.0],
            &[0.0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994],
        ),
        "Akima1970" => (
            &[0.0, 2.0, 3.0, 5.0, 6.0, 8.0, 9.0, 11.0, 12.0, 14.0, 15.0],
            &[10.0, 10.0, 10.0, 10.0, 10.0, 10.0, 10.5, 15.0, 50.0, 60.0, 85.0],
        ),
        "synthetic_saturating" => (&[0.0, 1.0, 2.0, 5.0, 10.0, 20.0, 40.0], &[0.0, 0.9, 1.6, 3.1, 4.6, 6.1, 7.0]),
        other => panic!("{other}"),
    };
    Pchip::new(x, y, Slopes::FritschButland).unwrap()
}

#[test]
fn pchip_values_and_slopes() {
    let table = Table::open("pchip.csv");
    let (mut values, mut slopes, mut checked) = (Worst::of("pchip value"), Worst::of("pchip slope"), 0);
    for row in table.rows() {
        let set = row.text("set").trim_end_matches("_knot");
        let x = row.number("x");
        let place = format!("{set} {x}");
        values.see(curve(set).value(x), row.number("pchip"), 1e-10, &place);
        slopes.see(curve(set).slope(x), row.number("slope"), 1e-10, &place);
        checked += 1;
    }
    assert_eq!(checked, 62, "rows of the table");
    values.check(62);
    slopes.check(62);
}

#[test]
fn pchip_read_backwards() {
    let table = Table::open("pchip_inverse.csv");
    let (mut places, mut slopes, mut checked) = (Worst::of("pchip inverse"), Worst::of("slope there"), 0);
    for row in table.rows() {
        let (set, y, published) = (row.text("set"), row.number("y"), row.number("x"));
        let place = format!("{set} {y}");
        // Half a unit of the tenth digit.
        let printed = |v: f64| 0.5 * 10f64.powf(v.abs().log10().floor() - 9.0);
        let x = curve(set).inverse(y).unwrap();
        places.see(x, published, printed(published).max(1e-10), &place);
        let published = row.number("slope");
        slopes.see(curve(set).slope(x), published, printed(published).max(1e-10), &place);
        checked += 1;
    }
    assert_eq!(checked, 11, "rows of the table");
    places.check(11);
    slopes.check(11);
}
