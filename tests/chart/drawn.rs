//! The drawings, read back by an XML parser and a PNG decoder.

use super::*;
use roxmltree::{Document, Node};
use tintline::faces::chart::{ChartError, Skin};

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).unwrap_or_else(|| panic!("no {name} at {node:?}")).parse().unwrap()
}

fn corners(node: Node) -> Vec<[f64; 2]> {
    let pair = |p: &str| {
        let (x, y) = p.split_once(',').unwrap();
        [x.parse().unwrap(), y.parse().unwrap()]
    };
    node.attribute("points").unwrap().split(' ').map(pair).collect()
}

/// The group that shows an entry.
fn shown<'a>(doc: &'a Document, entry: &str) -> Node<'a, 'a> {
    let mut all = doc.descendants().filter(|n| n.attribute("data-entry") == Some(entry));
    let one = all.next().unwrap_or_else(|| panic!("nothing shows {entry}"));
    assert!(all.next().is_none(), "{entry} is shown once");
    one
}

fn find<'a>(group: Node<'a, 'a>, tag: &str) -> Vec<Node<'a, 'a>> {
    group.children().filter(|n| n.has_tag_name(tag)).collect()
}

/// A line through the ticks' numbers left of a panel: from a value to its height, taken from what a reader of the drawing sees. Texts
/// stand 3.6 below the middle of their line.
fn height(doc: &Document, panel: f64) -> impl Fn(f64) -> f64 {
    let ticks: Vec<(f64, f64)> = doc
        .descendants()
        .filter(|n| n.has_tag_name("text") && n.attribute("text-anchor") == Some("end") && number(*n, "x") < 46.0)
        .filter(|n| (panel..panel + 140.0).contains(&number(*n, "y")))
        .map(|n| (n.text().unwrap().parse().unwrap(), number(n, "y") - 3.6))
        .collect();
    assert!(ticks.len() >= 3, "{ticks:?}");
    let ((v0, y0), (v1, y1)) = (ticks[0], ticks[ticks.len() - 1]);
    move |value| y0 + (value - v0) / (v1 - v0) * (y1 - y0)
}

fn near(a: f64, b: f64) {
    // Coordinates are written to a hundredth.
    assert!((a - b).abs() < 0.03, "{a} for {b}");
}

#[test]
fn every_result_stands_at_its_value_and_time() {
    let chart = chart(false);
    let svg = chart.svg_of(&chart.trends[0], Skin::Paper);
    let doc = Document::parse(&svg).unwrap();
    let y = height(&doc, 0.0);
    // The window is 31 days and a margin of 2 %; the plot runs from 46 to 610.
    let x = |days: f64| 46.0 + (31.0 - days) / 31.0 * 0.98 * (760.0 - 150.0 - 46.0);
    let some = shown(&doc, "some");
    let disc = find(some, "circle")[0];
    near(number(disc, "cx"), x(20.0));
    near(number(disc, "cy"), y(0.5));
    assert_eq!(disc.attribute("fill"), Some("#000"), "full: it counts");
    let whisker = corners(find(some, "polyline")[0]);
    near(whisker[0][1], y(0.4));
    near(whisker[1][1], y(0.7));
    assert_eq!(find(some, "polyline").len(), 3, "a whisker and two caps");

    let none = find(shown(&doc, "none"), "polygon");
    let bar = corners(none[0]);
    assert_eq!((none.len(), none[0].attribute("fill")), (1, Some("#fff")), "an open bar");
    near(bar[0][1], y(0.0));
    near(bar[1][1], y(0.2));
    near((bar[0][0] + bar[3][0]) / 2.0, x(30.0));

    let over = shown(&doc, "over");
    let open = corners(find(over, "polyline")[0]);
    near(open[1][1], y(5.0));
    near(open[0][1], 20.0);
    assert_eq!((open.len(), open[0][1], open[3][1]), (4, 20.0, 20.0), "open at the plot's top");
    assert!(find(over, "circle").is_empty(), "no value is known");

    let odd = shown(&doc, "odd");
    assert_eq!(find(odd, "circle")[0].attribute("fill"), Some("#fff"), "hollow: in doubt");
    assert!(find(odd, "polyline")[0].attribute("stroke-dasharray").is_some());
    let title = find(odd, "title")[0].text().unwrap();
    assert_eq!(title, "nitrite 0.3 mg/L NO2- (0.2 to 0.4), in doubt, 26 Mar 2026 13:00");
}

#[test]
fn limits_stand_at_their_values_each_with_dashes_of_its_own() {
    let chart = chart(false);
    let svg = chart.svg_of(&chart.trends[0], Skin::Paper);
    let doc = Document::parse(&svg).unwrap();
    let y = height(&doc, 0.0);
    let limits: Vec<Node> = doc.descendants().filter(|n| n.attribute("class") == Some("limit")).collect();
    let mut dashes = Vec::new();
    for (words, value) in [("!!! urgent from 2", 2.0), ("!! danger from 0.5", 0.5), ("! caution from 0.25", 0.25)] {
        let group = limits.iter().find(|g| find(**g, "title")[0].text() == Some(words)).unwrap();
        let line = find(*group, "polyline")[0];
        near(corners(line)[0][1], y(value));
        assert_eq!(find(*group, "text")[0].text(), Some(words));
        dashes.push(line.attribute("stroke-dasharray").unwrap());
    }
    dashes.sort_unstable();
    dashes.dedup();
    assert_eq!(dashes.len(), 3, "told apart without colour");
    // Words are at least a line apart, so none covers another.
    let mut feet: Vec<f64> = limits.iter().map(|g| number(find(*g, "text")[0], "y")).collect();
    feet.sort_by(f64::total_cmp);
    assert!(feet.windows(2).all(|p| p[1] - p[0] >= 11.0), "{feet:?}");
    // The pH has a limit on either side, the far one in words.
    let svg = chart.svg_of(&chart.trends[1], Skin::Paper);
    assert!(svg.contains("! caution below 6.5"), "{svg}");
}

#[test]
fn all_is_black_white_or_grey() {
    let svg = chart(true).svg(Skin::Paper).unwrap();
    let doc = Document::parse(&svg).unwrap();
    let colours: std::collections::BTreeSet<&str> =
        doc.descendants().flat_map(|n| ["fill", "stroke"].map(|a| n.attribute(a))).flatten().collect();
    assert_eq!(colours.into_iter().collect::<Vec<_>>(), ["#000", "#777", "#fff", "none"]);
    // On a page the page's own colours, for light and dark.
    let page = chart(true).svg(Skin::Page).unwrap();
    assert!(!page.contains("\"#") && page.contains("currentColor"), "{page}");
}

#[test]
fn hostile_words_stay_words() {
    let svg = chart(true).svg(Skin::Paper).unwrap();
    let doc = Document::parse(&svg).unwrap();
    assert!(doc.descendants().all(|n| !n.has_tag_name("script") && !n.has_tag_name("b")));
    let texts: String = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    assert!(texts.contains("<b>hose</b> & care") && texts.contains("note: <script>alert(1)</script>"), "{texts}");
    // Without notes the keeper's words stay out.
    let plain = chart(false).svg(Skin::Paper).unwrap();
    assert!(!plain.contains("Anna") && !plain.contains("alert") && plain.contains("water change 30 %"));
    // A title with signs that XML forbids.
    let mut odd = chart(false);
    odd.title = "a\u{1}<&\"'\u{ffff}".into();
    let svg = odd.svg(Skin::Paper).unwrap();
    let doc = Document::parse(&svg).unwrap();
    assert!(find(doc.root_element(), "title")[0].text().unwrap().starts_with("a<&\"', 28 Feb 2026"));
}

#[test]
fn the_png_shows_the_same_places() {
    let chart = chart(false);
    let whole = chart.svg(Skin::Paper).unwrap();
    let doc = Document::parse(&whole).unwrap();
    let bytes = chart.png(1520).unwrap();
    let picture = image::load_from_memory(&bytes).unwrap().to_rgb8();
    let height = number(doc.root_element(), "height");
    assert_eq!((picture.width(), picture.height()), (1520, (2.0 * height).ceil() as u32));
    let at = |x: f64, y: f64| picture.get_pixel((2.0 * x) as u32, (2.0 * y) as u32).0;
    let place = |entry: &str, tag: &str| find(shown(&doc, entry), tag)[0];
    let disc = |entry: &str| {
        let c = place(entry, "circle");
        at(number(c, "cx"), number(c, "cy"))
    };
    assert_eq!(disc("some"), [0; 3], "a full disc");
    assert_eq!(disc("odd"), [255; 3], "a hollow one");
    let bar = corners(place("none", "polygon"));
    let (left, top, foot) = (bar[1][0], bar[1][1], bar[0][1]);
    assert!(at(left, (top + foot) / 2.0)[0] < 60, "the bar's side");
    assert_eq!(at(left + 4.0, (top + foot) / 2.0), [255; 3], "and its open inside");
    assert!(picture.pixels().all(|p| p.0[0] == p.0[1] && p.0[1] == p.0[2]), "no colour");
}

#[test]
fn an_empty_window_is_said_not_drawn() {
    let book = book();
    let trends = tintline::advice::trends(&book, now());
    let chart = Chart::new("shelf", zone(), (ago(4.0), now()), trends, &book.events, false);
    let e = chart.svg(Skin::Paper).unwrap_err();
    assert!(matches!(e, ChartError::Empty { .. }) && e.code() == "chart-empty");
    assert_eq!(e.to_string(), "there is no result from 27 Mar 2026 to 31 Mar 2026 to draw");
    assert!(chart.png(800).is_err() && chart.events.len() == 1);
}
