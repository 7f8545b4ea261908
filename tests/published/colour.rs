use super::{Row, Table, Worst};
use tintline::colour::*;

fn codes(row: &Row<'_>) -> Srgb {
    Srgb(row.three(["R8", "G8", "B8"]).map(|c| c / 255.0))
}

#[test]
fn ciede2000_all_pairs_in_both_orders() {
    // Printed to four decimals.
    const PRINTED: f64 = 5e-5;
    let table = Table::open("ciede2000_sharma2005.csv");
    let (mut de00, mut de76, mut checked) = (Worst::of("CIEDE2000"), Worst::of("dE76"), 0);
    for row in table.rows() {
        let one = Lab(row.three(["L1", "a1", "b1"]));
        let other = Lab(row.three(["L2", "a2", "b2"]));
        let published = row.number("dE00_published");
        let pair = row.text("pair");
        de00.see(delta_e_2000(one, other), published, PRINTED, pair);
        de00.see(delta_e_2000(other, one), published, PRINTED, pair);
        de76.see(delta_e_76(one, other), row.number("dE76"), 1e-8, pair);
        checked += 1;
    }
    assert_eq!(checked, 34, "pairs of the printed table");
    de00.check(68);
    de76.check(34);
}

#[test]
fn srgb_to_lab_and_back() {
    let table = Table::open("srgb_chain.csv");
    let to_d50 = Adaptation::new(Method::Bradford, White::D65, White::D50);
    let (mut linear, mut back) = (Worst::of("sRGB linear"), Worst::of("sRGB from Lab"));
    let (mut xyz, mut xyz50, mut lab) = (Worst::of("sRGB XYZ"), Worst::of("sRGB XYZ D50"), Worst::of("sRGB Lab"));
    let (mut chroma, mut hue) = (Worst::of("chroma"), Worst::of("hue"));
    let mut checked = 0;
    for row in table.rows() {
        let name = row.text("name");
        let code = codes(&row);
        let light = linear_from_srgb(code);
        let tristimulus = xyz_from_linear(light);
        let colour = lab_from_linear(light);
        linear.see_three(light.0, row.three(["lin_R", "lin_G", "lin_B"]), 1e-9, name);
        xyz.see_three(tristimulus.0, row.three(["Xf", "Yf", "Zf"]), 1e-8, name);
        xyz50.see_three(to_d50.apply(tristimulus).0, row.three(["X50", "Y50", "Z50"]), 1e-8, name);
        let printed = Lab(row.three(["Lf", "af", "bf"]));
        lab.see_three(colour.0, printed.0, 1e-5, name);
        // Back from the printed Lab: half a unit of its last digit is at most 3e-8 in code values.
        back.see_three(srgb_from_linear(linear_from_lab(printed)).0, code.0, 1e-7, name);
        chroma.see(colour.chroma(), row.number("Cf"), 1e-5, name);
        if !row.number("hf").is_nan() {
            hue.see(colour.hue().unwrap(), row.number("hf"), 1e-5, name);
        }
        checked += 1;
    }
    assert_eq!(checked, 25, "colours of the table");
    for figures in [linear, back, xyz, xyz50, lab] {
        figures.check(75);
    }
    chroma.check(25);
    hue.check(18);
}

#[test]
fn display_p3_to_lab_and_linear() {
    let table = Table::open("display_p3_chain.csv");
    let matrix = rgb_to_xyz_matrix(Primaries::DISPLAY_P3, White::D65);
    let (mut xyz, mut lab) = (Worst::of("P3 XYZ"), Worst::of("P3 Lab"));
    let (mut linear, mut back) = (Worst::of("P3 linear sRGB"), Worst::of("P3 linear sRGB from Lab"));
    let (mut checked, mut outside) = (0, 0);
    for row in table.rows() {
        let name = row.text("name");
        let p3 = codes(&row).0.map(decode_srgb);
        let tristimulus = Xyz(matrix.map(|r| r[0] * p3[0] + r[1] * p3[1] + r[2] * p3[2]));
        let light = linear_from_xyz(tristimulus);
        xyz.see_three(tristimulus.0, row.three(["X", "Y", "Z"]), 1e-8, name);
        lab.see_three(lab_from_linear(light).0, row.three(["L", "a", "b"]), 1e-5, name);
        let printed = row.three(["sRGBlin_R", "sRGBlin_G", "sRGBlin_B"]);
        linear.see_three(light.0, printed, 1e-9, name);
        back.see_three(linear_from_lab(Lab(row.three(["L", "a", "b"]))).0, printed, 2e-7, name);
        let out = light.0.iter().any(|c| !(-1e-9..=1.0 + 1e-9).contains(c));
        assert_eq!(out, row.text("out_of_srgb") == "1", "{name} inside or outside of sRGB");
        outside += usize::from(out);
        checked += 1;
    }
    assert_eq!((checked, outside), (23, 7), "colours of the table, and those outside of sRGB");
    for figures in [xyz, lab, linear, back] {
        figures.check(69);
    }
}

#[test]
fn chromatic_adaptation_matrices_and_colours() {
    let whites = Table::open("illuminants_xy.csv");
    let white = |name: &str| {
        let row = whites.rows().find(|r| r.text("illuminant") == name).unwrap();
        White::from_xy(row.number("x"), row.number("y"))
    };
    assert_eq!((white("D65"), white("D50"), white("A")), (White::D65, White::D50, White::A));
    let table = Table::open("chromatic_adaptation.csv");
    let (mut elements, mut colours) = (Worst::of("adaptation matrix"), Worst::of("adapted colour"));
    let (mut whites_map, mut checked) = (Worst::of("white to white"), 0);
    for row in table.rows() {
        let place = format!("{} to {} {}", row.text("src"), row.text("dst"), row.text("cat"));
        let method = match row.text("cat") {
            "Bradford" => Method::Bradford,
            "CAT16" => Method::Cat16,
            other => panic!("{other}"),
        };
        let (from, to) = (white(row.text("src")), white(row.text("dst")));
        let adaptation = Adaptation::new(method, from, to);
        for (i, line) in adaptation.matrix().into_iter().enumerate() {
            for (j, element) in line.into_iter().enumerate() {
                elements.see(element, row.number(&format!("T{i}{j}")), 1e-8, &place);
            }
        }
        let adapted = adaptation.apply(Xyz(row.three(["X", "Y", "Z"])));
        colours.see_three(adapted.0, row.three(["Xd", "Yd", "Zd"]), 1e-8, &place);
        whites_map.see_three(adaptation.apply(from.xyz()).0, to.xyz().0, 1e-14, &place);
        checked += 1;
    }
    assert_eq!(checked, 64, "8 pairs of lamps, 2 methods, 4 colours");
    elements.check(576);
    colours.check(192);
    whites_map.check(192);
}

fn deficiency(name: &str) -> Deficiency {
    match name {
        "Protanomaly" => Deficiency::Protan,
        "Deuteranomaly" => Deficiency::Deutan,
        "Tritanomaly" => Deficiency::Tritan,
        other => panic!("{other}"),
    }
}

#[test]
fn machado_matrices_and_between_them() {
    let table = Table::open("cvd_machado2009_matrices.csv");
    let (mut elements, mut between, mut checked) = (Worst::of("Machado matrix"), Worst::of("Machado halfway"), 0);
    let mut before: Option<(Deficiency, f64, Matrix)> = None;
    for row in table.rows() {
        let (kind, severity) = (deficiency(row.text("deficiency")), row.number("severity"));
        let printed: Matrix = std::array::from_fn(|i| std::array::from_fn(|j| row.number(&format!("m{i}{j}"))));
        let place = format!("{kind:?} {severity}");
        let got = deficiency_matrix(kind, severity);
        for i in 0..3 {
            elements.see_three(got[i], printed[i], 1e-12, &place);
            if let Some((_, last, lower)) = before.filter(|(k, ..)| *k == kind) {
                let halfway: [f64; 3] = std::array::from_fn(|j| (lower[i][j] + printed[i][j]) / 2.0);
                between.see_three(deficiency_matrix(kind, (last + severity) / 2.0)[i], halfway, 1e-12, &place);
            }
        }
        before = Some((kind, severity, printed));
        checked += 1;
    }
    assert_eq!(checked, 33, "3 deficiencies, 11 severities");
    elements.check(297);
    between.check(270);
    assert_eq!(deficiency_matrix(Deficiency::Deutan, 7.0), deficiency_matrix(Deficiency::Deutan, 1.0));
}

#[test]
fn machado_worked_colours() {
    let table = Table::open("cvd_worked.csv");
    let (mut linear, mut checked) = (Worst::of("Machado colour"), 0);
    for row in table.rows() {
        let model: Vec<&str> = row.text("model").split('_').collect();
        let (kind, severity) = (deficiency(model[1]), model[2].parse().unwrap());
        let place = format!("{} {}", row.text("colour"), row.text("model"));
        let seen = seen_with(kind, severity, linear_from_srgb(codes(&row)));
        linear.see_three(seen.0, row.three(["out_R", "out_G", "out_B"]), 1e-7, &place);
        let eight = srgb_from_linear(LinRgb(seen.0.map(|c| c.clamp(0.0, 1.0)))).0.map(|c| (c * 255.0).round());
        assert_eq!(eight, row.three(["R8o", "G8o", "B8o"]), "{place}");
        checked += 1;
    }
    assert_eq!(checked, 28, "7 colours, 4 models");
    linear.check(84);
}

#[test]
fn dyes_chroma_hue_and_slopes() {
    let table = Table::open("colour_to_concentration.csv");
    let (mut chroma, mut hue) = (Worst::of("dye chroma"), Worst::of("dye hue"));
    let (mut length, mut slope) = (Worst::of("dye Lab slope"), Worst::of("dye CIEDE2000 slope"));
    let (mut percent, mut checked) = (Worst::of("dye error per unit"), 0);
    for row in table.rows() {
        let (dye, amount) = (row.text("dye"), row.number("A"));
        let place = format!("{dye} {amount}");
        let colour = Lab(row.three(["L", "a", "b"]));
        chroma.see(colour.chroma(), row.number("C"), 1e-4, &place);
        let direction = row.three(["dL", "da", "db"]);
        let step = |s: f64| Lab(std::array::from_fn(|i| colour.0[i] + s * direction[i]));
        let norm = delta_e_76(step(1.0), colour);
        length.see(norm, row.number("dLab_dA"), 1e-4, &place);
        // The table's slope is a forward difference over 0.001: CIEDE2000 itself bends within that.
        let published = row.number("dE00_dA");
        slope.see(delta_e_2000(step(1e-3), colour) / 1e-3, published, 1e-3 * published, &place);
        if amount > 0.0 {
            // Half a unit in the fourth decimal of a*, b* turns a colour of chroma C by this much.
            let turn = 1e-4 / colour.chroma();
            hue.see(colour.hue().unwrap(), row.number("h"), turn.to_degrees() + 5e-4, &place);
            let published = row.number("pct_per_dE");
            percent.see(100.0 / (amount * norm), published, 1e-3 * published, &place);
        }
        checked += 1;
    }
    assert_eq!(checked, 36, "3 dyes, 12 amounts");
    chroma.check(36);
    length.check(36);
    slope.check(36);
    hue.check(33);
    percent.check(33);
}
