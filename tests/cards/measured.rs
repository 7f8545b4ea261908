//! Enrolling by an instrument's values in a CGATS text file.

use tintline::card::Layout;
use tintline::light::{CgatsError, Enrolment, Origin};

use super::{DAY, apart, codes, colours, nominal};

/// Linear sRGB to XYZ under D50, with Bradford: the colorant columns of sRGB profiles, as published by Lindbloom
/// (brucelindbloom.com, 'RGB/XYZ matrices', Bradford-adapted D50), seven decimals; from memory.
const TO_D50: [[f64; 3]; 3] =
    [[0.4360747, 0.3850649, 0.1430804], [0.2225045, 0.7168786, 0.0606169], [0.0139322, 0.0971045, 0.7141733]];
/// Linear sRGB to XYZ under D65 (IEC 61966-2-1, four decimals).
const TO_D65: [[f64; 3]; 3] = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];

fn times(m: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    [0, 1, 2].map(|i| (0..3).map(|j| m[i][j] * v[j]).sum())
}

/// CIELAB by its definition (CIE 15), white and colour alike scaled.
fn lab(xyz: [f64; 3], white: [f64; 3]) -> [f64; 3] {
    let f = [0, 1, 2].map(|i| {
        let t = xyz[i] / white[i];
        if t > (6.0f64 / 29.0).powi(3) { t.cbrt() } else { t / (3.0 * (6.0f64 / 29.0).powi(2)) + 4.0 / 29.0 }
    });
    [116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])]
}

fn d50() -> [f64; 3] {
    times(&TO_D50, [1.0; 3])
}

/// A file of these columns: every patch as `value` gives it from its linear light, and paper.
fn file(heading: &str, columns: &str, paper: Option<[f64; 3]>, value: impl Fn([f64; 3]) -> [f64; 3]) -> String {
    let layout = Layout::first();
    let mut rows: Vec<(String, [f64; 3])> =
        layout.patches.iter().zip(nominal()).map(|(p, c)| (p.name.to_uppercase(), value(c))).collect();
    rows.extend(paper.map(|p| ("Paper".to_string(), p)));
    let mut out =
        format!("CGATS.17\n{heading}NUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME {columns}\n");
    out += &format!("END_DATA_FORMAT\nNUMBER_OF_SETS {}\nBEGIN_DATA\n", rows.len());
    for (i, (name, v)) in rows.iter().enumerate() {
        out += &format!("{}\t\"{name}\"\t{:.5}\t{:.5}\t{:.5}\n", i + 1, v[0], v[1], v[2]);
    }
    out + "END_DATA\n"
}

const XYZ: &str = "XYZ_X XYZ_Y XYZ_Z";
const LAB: &str = "LAB_L LAB_A LAB_B";

fn read(text: &str) -> Result<(Enrolment, Vec<&'static str>), CgatsError> {
    Enrolment::from_cgats(text, &Layout::first(), DAY).map(|(card, notes)| (card, codes(&notes)))
}

fn xyz_file() -> String {
    file("", XYZ, Some(d50().map(|v| 85.0 * v)), |c| times(&TO_D50, c).map(|v| 85.0 * v))
}

#[test]
fn values_become_relative_to_paper_under_d65() {
    // Grey paper of 85 % and the nominal colours on it, in every form: the nominal colours must come back.
    let at = |scale: f64| move |c: [f64; 3]| times(&TO_D50, c).map(|v| scale * v);
    let in_lab = |to: &'static [[f64; 3]; 3], of: f64| move |c| lab(times(to, c).map(|v| of * v), times(to, [1.0; 3]));
    let d65 = "WEIGHTING_FUNCTION \"ILLUMINANT,D65\"\nWEIGHTING_FUNCTION \"OBSERVER,2 degree\"\n";
    let named = "WEIGHTING_FUNCTION \"ILLUMINANT,D50\"\n";
    let forms = [
        (xyz_file(), 0),
        (file("", XYZ, Some(at(0.85)([1.0; 3])), at(0.85)), 0),
        (file(named, LAB, Some(in_lab(&TO_D50, 0.85)([1.0; 3])), in_lab(&TO_D50, 0.85)), 0),
        (file(d65, LAB, Some(in_lab(&TO_D65, 0.85)([1.0; 3])), in_lab(&TO_D65, 0.85)), 0),
        (file("", LAB, None, in_lab(&TO_D50, 1.0)), 1),
    ];
    for (i, (text, notes)) in forms.iter().enumerate() {
        let (card, said) = read(text).unwrap();
        assert_eq!(said, vec!["enrol-no-paper"; *notes], "form {i}");
        assert_eq!((card.layout, card.origin, card.date, card.photos.len()), (1, Origin::Measured, DAY, 0));
        assert!(card.patches.iter().all(|p| p.scatter.is_none()));
        // Matrices of four decimals and whites that differ in the fifth.
        let (_, most) = apart(&colours(&card), &nominal());
        assert!(most < 0.03, "form {i}: ΔE00 {most:.3}");
        assert_eq!(card.paper.is_some(), *notes == 0);
        if let Some([l, a, b]) = card.paper {
            // Y = 0.85 is L* = 116 ∛0.85 − 16 = 93.88.
            assert!((l - 93.88).abs() < 0.01 && a.abs() < 0.05 && b.abs() < 0.05, "form {i}: {l} {a} {b}");
        }
        assert_eq!(Enrolment::from_toml(&card.to_toml()).unwrap(), card);
        assert!(card.reference(&Layout::first()).is_ok());
    }
}

#[test]
fn tinted_paper_is_the_white() {
    let cream = times(&TO_D50, [0.90, 0.86, 0.74]);
    let text = file("", XYZ, Some(cream.map(|v| 100.0 * v)), |c| {
        // Greys as filters of the paper.
        if c[0] == c[1] && c[1] == c[2] { cream.map(|v| 100.0 * v * c[0]) } else { times(&TO_D50, c).map(|v| 85.0 * v) }
    });
    let (card, _) = read(&text).unwrap();
    for (p, own) in card.patches.iter().zip(nominal()).skip(16) {
        assert!((0..3).all(|i| (p.colour[i] - own[i]).abs() < 2e-4), "{}: {:?}, not {own:?}", p.name, p.colour);
    }
    // The cream is yellower than D50's white.
    assert!(card.paper.unwrap()[2] > 5.0);
}

#[test]
fn repeated_rows_are_averaged_with_their_scatter() {
    let good = xyz_file();
    let plain = read(&good).unwrap().0;
    // The first patch twice more, 4 % lighter and 4 % darker.
    let first = good.lines().find(|l| l.contains("\"C11\"")).unwrap();
    let values: Vec<f64> = first.split('\t').skip(2).map(|v| v.parse().unwrap()).collect();
    let row = |by: f64| format!("30\tc11\t{:.5}\t{:.5}\t{:.5}\n", by * values[0], by * values[1], by * values[2]);
    let more = format!("{}{}END_DATA\n", row(1.04), row(0.96));
    let card = read(&good.replace("NUMBER_OF_SETS 29\n", "").replace("END_DATA\n", &more)).unwrap().0;
    assert_eq!(card.patches[1..], plain.patches[1..]);
    assert!((0..3).all(|i| (card.patches[0].colour[i] - plain.patches[0].colour[i]).abs() < 2e-5));
    // L* is 85: 4 % of light are 1.3 in L*, which ΔE00 weighs by 1 / 1.52. One of three is at the mean.
    let scatter = card.patches[0].scatter.unwrap();
    assert!((scatter - 0.9).abs() < 0.1, "{scatter}");
}

#[test]
fn what_is_wrong_is_said_with_its_line() {
    let good = xyz_file();
    let line = |what: &str| 1 + good.lines().position(|l| l.contains(what)).unwrap();
    let edited = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        read(&good.replacen(from, to, 1)).unwrap_err()
    };
    let c13 = good.lines().find(|l| l.contains("\"C13\"")).unwrap();
    let cell = c13.split('\t').nth(3).unwrap();
    for (from, to, at, said) in [
        (cell.to_string(), "12,5".to_string(), line("\"C13\""), "'12,5' under XYZ_Y is no number"),
        (cell.to_string(), "nan".to_string(), line("\"C13\""), "'nan'"),
        (format!("\t{cell}"), String::new(), line("\"C13\""), "4 values stand here, the format names 5"),
        ("\"C13\"".to_string(), "\"C13".to_string(), line("\"C13\""), "quoted text"),
        ("NUMBER_OF_SETS 29".to_string(), "NUMBER_OF_SETS 30".to_string(), line("END_DATA_FORMAT") + 2, "29 rows"),
        ("END_DATA\n".to_string(), String::new(), line("END_DATA_FORMAT") + 2, "do not end"),
    ] {
        match edited(&from, &to) {
            CgatsError::Malformed { line, message } => {
                assert!(message.contains(said), "{to}: {message}");
                assert_eq!(line, at, "{to}: {message}");
            }
            e => panic!("{to}: {e}"),
        }
    }
    for (from, to, code, said) in [
        ("\"C13\"", "\"C99\"", "cgats-patch-missing", "'c13'"),
        ("SAMPLE_ID SAMPLE_NAME", "PLACE TEXT", "cgats-no-names", "SAMPLE_NAME"),
        ("XYZ_X XYZ_Y XYZ_Z", "RGB_R RGB_G RGB_B", "cgats-no-colours", "only RGB"),
        ("XYZ_X XYZ_Y XYZ_Z", "CMYK_C CMYK_M CMYK_Y", "cgats-no-colours", "neither"),
        ("CGATS.17\n", "CGATS.17\nWEIGHTING_FUNCTION \"ILLUMINANT,A\"\n", "cgats-light", "ILLUMINANT,A"),
        ("CGATS.17\n", "CGATS.17\nWEIGHTING_FUNCTION \"OBSERVER,10 degree\"\n", "cgats-light", "10 degree"),
        ("BEGIN_DATA\n", "", "cgats-not-cgats", "BEGIN_DATA"),
        (c13, "13\t\"C13\"\t400.0\t10.0\t10.0", "cgats-colour", "'c13'"),
    ] {
        let error = edited(from, to);
        assert_eq!(error.code(), code, "{error}");
        assert!(error.to_string().contains(said) && error.remedy().ends_with('.'), "{error}");
    }
    for text in ["", "a,b,c\n1,2,3\n", "format = 1\n"] {
        assert_eq!(read(text), Err(CgatsError::NotCgats), "{text:?}");
    }
    // Names in another order: the values are those of other patches.
    let mut names: Vec<String> = Layout::first().patches.iter().map(|p| p.name.to_uppercase()).collect();
    names.rotate_left(5);
    let mut shuffled = good.clone();
    for (i, name) in names.iter().enumerate() {
        shuffled = shuffled.replacen(
            &format!("\n{}\t\"{}\"", i + 1, Layout::first().patches[i].name.to_uppercase()),
            &format!("\n{}\t\"{name}\"", i + 1),
            1,
        );
    }
    assert_eq!(read(&shuffled).unwrap_err().code(), "cgats-not-this-card");
}
