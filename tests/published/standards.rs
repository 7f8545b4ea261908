//! Standard solutions against what laboratory practice weighs.

use super::{Table, Worst};
use tintline::water::standards::{Means, Source, Wanted, recipe};
use tintline::water::{Analyte, Unit};

#[test]
fn stocks_hold_what_laboratories_weigh_them_for() {
    let mut worst = Worst::of("mg of salt in a litre");
    for row in Table::open("water/standards.csv").rows() {
        let analyte = Analyte::parse(row.text("analyte")).unwrap();
        let unit = Unit::parse(row.text("unit"), &analyte).unwrap();
        let wanted = Wanted {
            analyte,
            unit,
            values: vec![row.number("value")],
            substance: Some(row.text("substance").to_string()),
            strength: None,
            purity: Some(100.0),
            marine: false,
        };
        let made = recipe(&wanted, &Means::default()).unwrap();
        let stock = &made.solutions[0];
        let Source::Weighed { grams } = stock.from else { panic!("{stock:?}") };
        // What the table's weight would hold, by the stock's.
        let got = stock.value / (grams * 1000.0 / (stock.vessel_ml / 1000.0)) * row.number("mg_l");
        worst.see(got, row.number("value"), 2e-4 * row.number("value"), row.text("substance"));
    }
    worst.check(11);
}
