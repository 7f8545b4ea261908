use super::*;

fn c(t: f64) -> Celsius {
    Celsius::new(t).unwrap()
}

fn show(entry: Entry<'_>, typed: &str, analyte: &Analyte) -> String {
    entry.amount(typed, analyte).map_or_else(|e| e.code().to_string(), |a| a.to_string())
}

#[test]
fn number_and_unit_are_told_apart() {
    for (typed, number, unit) in [
        ("0.25 mg/L NO2-", "0.25", "mg/L NO2-"),
        ("0,25mg/L NO2-N", "0,25", "mg/L NO2-N"),
        ("< 0.25 ppm", "< 0.25", "ppm"),
        ("0.25 (0.1 to 0.5) mg/L NO3-", "0.25 (0.1 to 0.5)", "mg/L NO3-"),
        ("5 mg/L (as NO3)", "5", "mg/L (as NO3)"),
        ("0.25-0.5 mg/L NO2-", "0.25-0.5", "mg/L NO2-"),
        ("2 ± 0.5 dH", "2 ± 0.5", "dH"),
        ("78 °F", "78", "°F"),
        ("above 5 mg/L NO2-", "above 5", "mg/L NO2-"),
        ("5+ mg/L NO2-", "5+", "mg/L NO2-"),
        ("7.2", "7.2", ""),
        ("-2 mg/L NO2-", "-2", "mg/L NO2-"),
        ("trace", "trace", ""),
        ("Trace mg/L NO2-", "Trace", "mg/L NO2-"),
        ("not detected mg/L NO2-", "not detected", "mg/L NO2-"),
    ] {
        assert_eq!(split(typed), (number.to_string(), unit.to_string()), "{typed}");
    }
}

#[test]
fn fahrenheit_and_celsius() {
    let t = |typed| show(Entry::default(), typed, &Analyte::Temperature);
    // 78 °F are 25.556 °C, by definition; a thermometer is good for 1 °C.
    assert_eq!(t("78 °F"), "25.6 °C (24.5 to 26.6)");
    assert_eq!(t("25,5"), "25.5 °C (24.5 to 26.5)");
    assert_eq!(t("25.5 C"), "25.5 °C (24.5 to 26.5)");
    assert_eq!(t("78"), "amount-temperature-out-of-range");
    let e = Entry::default().amount("78", &Analyte::Temperature).unwrap_err();
    assert!(e.remedy().contains("°F"), "{}", e.remedy());
    assert_eq!(t("25 mg/L"), "unit-unknown");
    assert_eq!(t("25 g/kg"), "unit-other-analyte");
}

#[test]
fn salinity_by_three_instruments() {
    let s = |entry, typed| show(entry, typed, &Analyte::Salinity);
    let warm = Entry { temperature: Some(c(25.0)), printed: Some(c(25.0)), ..Entry::default() };
    assert_eq!(s(warm, "35 ppt"), "35.0 g/kg (34.0 to 36.0)");
    // Density of water of 35 g/kg at 25 °C over that of pure water, UNESCO 1981: 1023.343 / 997.047 = 1.02637.
    let Amount::Measured { value, interval95 } = warm.amount("1.0264 sg", &Analyte::Salinity).unwrap() else {
        panic!("no value")
    };
    assert!((value.value - 35.0).abs() < 0.05, "{value:?}");
    assert!((interval95.width() - 2.64).abs() < 0.05, "a thousandth either way is 1.32 g/kg: {interval95:?}");
    // Without the printed temperature every usual one is possible. Pure water of 15.6 °C weighs 999.0 kg/m³ (UNESCO 1981), so
    // that glass would mean water of 1.0264 · 999.0 = 1025.4 kg/m³, which is 2.7 g/kg more than 1023.3.
    let unsaid = Entry { printed: None, ..warm }.amount("1.0264 sg", &Analyte::Salinity).unwrap();
    let Amount::Measured { interval95: wide, .. } = unsaid else { panic!("no value") };
    assert!((wide.lower() - interval95.lower()).abs() < 1e-6, "{wide:?}");
    assert!((wide.upper() - interval95.upper() - 2.7).abs() < 0.1, "{wide:?}");
    // 53.06 mS/cm at 25 °C are 35 by the Practical Salinity Scale 1978.
    let Amount::Measured { value, .. } = warm.amount("53060 µS/cm", &Analyte::Salinity).unwrap() else {
        panic!("no value")
    };
    assert!((value.value - 35.0).abs() < 0.05, "{value:?}");
    assert_eq!(s(Entry::default(), "1.025 sg"), "entry-no-temperature");
    assert_eq!(s(Entry::default(), "53 mS/cm"), "entry-no-temperature");
    assert_eq!(s(Entry::default(), "1.025"), "entry-no-unit");
    assert_eq!(s(warm, "1.9 sg"), "water-out-of-range");
    assert_eq!(s(warm, "-35 g/kg"), "amount-negative");
    assert_eq!(show(warm, "450 µS/cm", &Analyte::Conductivity), "450 µS/cm (427 to 473)");
}

#[test]
fn by_the_shades_of_the_chart() {
    let shades = Shades::parse("0, 0.25, 0.5, 1, 2, 5").unwrap();
    let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
    let entry = Entry { unit: Some(&unit), shades: Some(&shades), ..Entry::default() };
    let n = |typed| show(entry, typed, &Analyte::Nitrite);
    assert_eq!(n("0"), "not detected (below 0.25 mg/L NO2-)");
    assert_eq!(n("none"), "not detected (below 0.25 mg/L NO2-)");
    assert_eq!(n("1"), "1.0 mg/L NO2- (0.5 to 2.0)");
    assert_eq!(n("0.25"), "0.25 mg/L NO2- (0 to 0.50)");
    assert_eq!(n("5"), "5.0 mg/L NO2- (2.0 to 8.0)");
    assert_eq!(n("1 ± 0.1"), "1.00 mg/L NO2- (0.90 to 1.10)");
    assert_eq!(n("trace"), "0.12 mg/L NO2- (0 to 0.25)");
    // The chart is in mg/L of the ion: its first shade is 0.076 mg/L as N.
    assert_eq!(n("0 mg/L NO2-N"), "not detected (below 0.077 mg/L NO2-N)");
    let dilution = Some(Dilution::parse("1+4").unwrap());
    assert_eq!(show(Entry { dilution, ..entry }, "0", &Analyte::Nitrite), "not detected (below 1.3 mg/L NO2-)");
    assert_eq!(show(Entry { shades: None, ..entry }, "0", &Analyte::Nitrite), "amount-bare-zero");
    assert_eq!(n("<0"), "amount-bare-zero");
    assert_eq!(n("-2"), "amount-negative");
    assert_eq!(show(Entry::default(), "15", &Analyte::Ph), "amount-ph-out-of-range");
    assert_eq!(show(Entry::default(), "2 mg/L", &Analyte::Nitrite), "unit-needs-basis");
    assert_eq!(show(Entry::default(), "2", &Analyte::Nitrite), "entry-no-unit");
    assert_eq!(show(Entry::default(), "2 mg/L NO3-", &Analyte::Nitrite), "unit-other-analyte");
    assert_eq!(show(Entry::default(), "3 meq/L", &Analyte::Alkalinity), "3.00 meq/L (2.64 to 3.36)");
    for bad in ["", "0", "a", "1, -1", "nan"] {
        assert_eq!(Shades::parse(bad).unwrap_err().code(), "entry-shades", "{bad}");
    }
    assert_eq!(Shades::parse("0; 0,25; 0,5"), Shades::parse("0, 0.25, 0.5"));
}
