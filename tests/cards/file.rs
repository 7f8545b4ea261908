//! The card file: read strictly, written in one way, known by its content.

use tintline::card::{CardNumber, Layout};
use tintline::light::{CardFileError, Enrolment, Origin};
use tintline::store::content_hash;

use super::{DAY, FORMAT_1, enrol};

const FORMAT_1_REVISION: &str = "2559b78a4dfc0dbffa6721a4fc0849498a55b9955f170097f957f8731e714133";

/// The text of a sound file with one thing replaced.
fn edited(from: &str, to: &str) -> CardFileError {
    assert_eq!(FORMAT_1.matches(from).count(), 1, "'{from}' must stand once in the fixture");
    Enrolment::from_toml(&FORMAT_1.replace(from, to)).expect_err(to)
}

#[test]
fn the_kept_file_of_format_1_still_reads() {
    let card = Enrolment::from_toml(FORMAT_1).unwrap();
    assert_eq!(card.to_toml(), FORMAT_1);
    assert_eq!(card.revision().as_str(), FORMAT_1_REVISION);
    assert_eq!((card.layout, card.number, card.date), (1, CardNumber::new(12), DAY));
    assert_eq!((card.origin, card.note.as_deref()), (Origin::Photos, Some("photo paper \"matt\", second tray")));
    assert_eq!(card.photos.len(), 2);
    assert!(card.photos[0].starts_with("d16453b8a9f9") && card.photos[1].starts_with("695ff52774d7"));
    assert_eq!(card.paper, Some([94.2, -0.31, 2.05]));
    assert_eq!(card.patches.len(), 28);
    let first = &card.patches[0];
    assert_eq!((first.name.as_str(), first.colour, first.scatter), ("c11", [0.88148, 0.61399, 0.71573], Some(0.22)));
    assert_eq!((card.patches[3].name.as_str(), card.patches[3].scatter), ("c14", None));

    let reference = card.reference(&Layout::first()).unwrap();
    assert_eq!(reference.revision.as_deref(), Some(FORMAT_1_REVISION));
    assert_eq!(reference.colours[0], first.colour);
}

#[test]
fn an_enrolment_reads_back_byte_for_byte() {
    let (card, _) = enrol(&["print-a-flat", "print-a-upright"]).unwrap();
    let text = card.to_toml();
    let back = Enrolment::from_toml(&text).unwrap();
    assert_eq!(back, card);
    assert_eq!(back.to_toml(), text);
    assert_eq!(card.revision(), content_hash(text.as_bytes()));
    let longest = text.lines().map(|l| l.chars().count()).max();
    assert!(longest <= Some(120), "{longest:?}");

    let noted = card.clone().with_note("second print").unwrap();
    assert_ne!(noted.revision(), card.revision());
    for note in ["", " ", "two\nlines", &"x".repeat(401)] {
        assert_eq!(card.clone().with_note(note), Err(CardFileError::Note { most: 400 }));
    }
    // Comments and order of keys do not make another revision; any number does.
    let spoken = text.replacen("layout = 1\n", "# mine\nlayout = 1\n", 1);
    assert_eq!(Enrolment::from_toml(&spoken).unwrap().revision(), card.revision());
}

#[test]
fn a_newer_or_foreign_file_is_refused_before_anything_else_is_read() {
    let newer = Enrolment::from_toml("format = 2\nanything = [1, 2]\n[other]\n").unwrap_err();
    assert_eq!(newer, CardFileError::Newer { found: 2, known: 1 });
    assert_eq!(newer.code(), "card-file-newer");
    assert!(newer.remedy().contains("left as it is"));
    for text in ["", "layout = 1", "format = '1'", "format = 0", "format = -1", "format = 1.0"] {
        assert_eq!(Enrolment::from_toml(text), Err(CardFileError::NoFormat), "{text:?}");
    }
    assert_eq!(Enrolment::from_toml("format = 1\n").unwrap_err().code(), "card-file-malformed");
}

#[test]
fn what_is_not_sound_names_its_line() {
    let stands = |what: &str| 1 + FORMAT_1.lines().position(|l| l.contains(what)).unwrap();
    let ids = [
        "d16453b8a9f99f1a262cac03a4b90ce7f404cce63aa15dbd034082ac274248e9",
        "695ff52774d752bb68bb12b4281738471ccbab14d977c1bfb0aa75490e082255",
    ];
    for (from, to, place, said) in [
        ("date = 2026-03-01", "date = 2026-03-01T10:00:00", "date =", "date"),
        ("date = 2026-03-01", "date = \"2026-03-01\"", "date =", ""),
        ("date = 2026-03-01", "day = 2026-03-01", "date =", "day"),
        ("number = 12", "number = 76", "number =", "1 to 75"),
        ("number = 12", "number = 0", "number =", "1 to 75"),
        ("layout = 1", "layout = -1", "layout =", ""),
        ("origin = \"photos\"", "origin = \"film\"", "origin =", "film"),
        (ids[1], ids[0], ids[1], "twice"),
        (ids[1], "../other", ids[1], "identity"),
        ("second tray'", "second tray", "note =", ""),
        ("[94.2, -0.31, 2.05]", "[9.2, -0.31, 2.05]", "paper_lab", "paper"),
        ("[94.2, -0.31, 2.05]", "[94.2, -0.31]", "paper_lab", ""),
        ("name = \"c12\"", "name = \"c11\"", "\"c12\"", "'c11' stands twice"),
        ("name = \"c12\"", "name = \"\"", "\"c12\"", "name"),
        ("[0.88148, 0.61399, 0.71573]", "[88.148, 61.399, 71.573]", "0.88148", "'c11'"),
        ("[0.88148, 0.61399, 0.71573]", "[0.88148, nan, 0.71573]", "0.88148", "'c11'"),
        ("[0.88148, 0.61399, 0.71573]", "\"pink\"", "0.88148", ""),
        (
            "scatter = 0.22\n\n[[patch]]\nname = \"c12\"",
            "scatter = -0.22\n\n[[patch]]\nname = \"c12\"",
            "scatter = 0.22",
            "scatter",
        ),
    ] {
        match edited(from, to) {
            CardFileError::Malformed { line, message } => {
                assert_eq!(line, stands(place), "{to}: {message}");
                assert!(message.contains(said), "{to}: {message}");
            }
            e => panic!("{to}: {e}"),
        }
    }
}

#[test]
fn a_file_cut_anywhere_is_never_read_as_a_whole_card() {
    let layout = Layout::first();
    let whole = Enrolment::from_toml(FORMAT_1).unwrap();
    let mut smaller = 0;
    for cut in 0..FORMAT_1.trim_end().len() {
        let Ok(card) = Enrolment::from_toml(&FORMAT_1[..cut]) else { continue };
        // Only whole patches are missing, or the last one's scatter or its last digits.
        smaller += 1;
        if card.patches.len() < whole.patches.len() {
            assert!(matches!(card.reference(&layout), Err(CardFileError::PatchMissing { .. })), "cut at {cut}");
        } else {
            assert_eq!(card.reference(&layout).unwrap().colours, whole.reference(&layout).unwrap().colours);
        }
    }
    assert!(smaller > 27, "{smaller} readable stumps");
}

#[test]
fn another_layout_is_an_error() {
    let card = Enrolment::from_toml(FORMAT_1).unwrap();
    let mut other = Layout::first();
    other.layout = 2;
    assert_eq!(card.reference(&other), Err(CardFileError::Layout { found: 1, wanted: 2 }));

    let mut more = Layout::first();
    more.patches[4].name = "c99".into();
    assert_eq!(card.reference(&more), Err(CardFileError::PatchUnknown { patch: "c15".into() }));
    let mut fewer = card.clone();
    fewer.patches.remove(7);
    assert_eq!(fewer.reference(&Layout::first()), Err(CardFileError::PatchMissing { patch: "c18".into() }));

    // The order of patches in the file does not matter.
    let mut turned = card.clone();
    turned.patches.reverse();
    assert_eq!(turned.reference(&Layout::first()).unwrap().colours, card.reference(&Layout::first()).unwrap().colours);

    let mut black = card;
    black.patches.iter_mut().find(|p| p.name == "gr1").unwrap().colour[2] = 0.0;
    let error = black.reference(&Layout::first()).unwrap_err();
    assert_eq!((error.code(), error.to_string().contains("gr1")), ("card-file-grey", true));
}
