//! `chart` and `report --out`: what they say, what they write, what stays out of it.

use super::furnished;
use super::wire::{ChartShown, Failed, ReportWritten};
use crate::support::House;
use base64::Engine;
use roxmltree::Document;

/// With a photo's reading, readings by hand, and events with notes.
fn lived_in() -> House {
    let house = furnished();
    house.run(&["read", "tank.jpg", "B=nitrite"]).touches(&["home/log.db", "home/photos/"]).go();
    let log = |words: &[&str], at: &str| {
        let args = [&["log", "add", "--at", at], words].concat();
        house.run(&args).touches(&["home/log.db"]).go();
    };
    log(&["nitrite=<0.2 mg/L NO2-", "pH=8.1", "phosphate=0.3 mg/L PO4"], "2026-03-02 18:30");
    log(&["nitrite=>5 mg/L NO2-", "ammonia=0.5 mg/L NH3-N"], "2026-03-04 18:30");
    let note = "by <script>Robert</script> & co";
    let event = ["event", "add", "water-change", "30%", "--at", "2026-03-03 18:30", "--note", note];
    house.run(&event).touches(&["home/log.db"]).go();
    house
}

#[test]
fn a_chart_in_the_terminal_and_as_json() {
    let house = lived_in();
    // Nothing in the last sixty days is no error of the log, and the way out is named.
    house.run(&["chart"]).exit(1).err_has("[chart-empty]").err_has("--all").go();
    let said = house.run(&["chart", "--all"]).go().out;
    assert!(said.is_ascii(), "no letters beyond ASCII unless the locale has them: {said}");
    for words in
        ["nitrite mg/L NO2-", "ammonia, free mg/L NH3-N", "pH  ", "phosphate mg/L PO4", "last above 5 mg/L NO2-"]
    {
        assert!(said.contains(words), "no {words} in {said}");
    }
    house.run(&["chart", "--all"]).env("LANG", "de_DE.UTF-8").out_has("|▄^ ").go();
    let ascii = house.run(&["chart", "--all", "--ascii"]).env("LC_ALL", "C.UTF-8").go().out;
    assert_eq!(ascii, said);

    let chart = house.run(&["chart", "--all", "--json"]).go().json::<ChartShown>();
    let nitrite = chart.trends.iter().find(|t| t.test == "nitrite").unwrap();
    let all: Vec<(&str, Option<f64>, Option<f64>)> =
        nitrite.results.iter().map(|r| (r.status.as_str(), r.lower, r.upper)).collect();
    assert_eq!(all[1..], [("not-detected", None, Some(0.2)), ("above", Some(5.0), None)]);
    let photo = &nitrite.results[0];
    assert!(photo.value.is_some_and(|v| (2.0..4.5).contains(&v)) && photo.at.starts_with("2026-03-01T18:30:00+01:00"));
    assert_eq!(nitrite.limits.iter().map(|l| l.value).collect::<Vec<_>>(), [0.5, 5.0, 50.0], "sea water");
    assert_eq!((chart.events.len(), chart.events[0].text.as_str()), (1, "water change 30 %"));
    assert!(chart.file.is_none() && chart.tank == "reef");
}

#[test]
fn charts_as_files() {
    let house = lived_in();
    let write = |name: &str, more: &[&str]| {
        let args = [&["chart", "reef", "--all", "--out", name], more].concat();
        house.run(&args).touches(&[&format!("desk/{name}")]).out_has(&format!("Written: {name}")).go();
        std::fs::read(house.path("desk").join(name)).unwrap()
    };
    let svg = String::from_utf8(write("c.svg", &["--test", "NO2", "--test", "free-ammonia", "--notes"])).unwrap();
    let doc = Document::parse(&svg).unwrap();
    let bold: Vec<&str> =
        doc.descendants().filter(|n| n.attribute("font-weight") == Some("bold")).filter_map(|n| n.text()).collect();
    assert_eq!(bold, ["reef", "ammonia, free", "nitrite"]);
    assert!(svg.contains("by &lt;script&gt;Robert") && doc.descendants().all(|n| !n.has_tag_name("script")));
    let png = image::load_from_memory(&write("c.png", &["--width", "800"])).unwrap();
    assert_eq!(png.width(), 800);
    // Wrong input, told before anything is written.
    house.run(&["chart", "--all", "--out", "c.gif"]).exit(2).err_has("neither in .svg nor in .png").go();
    house
        .run(&["chart", "--all", "--test", "copper"])
        .exit(2)
        .err_has("no results of 'copper'")
        .err_has("free-ammonia")
        .go();
    house.run(&["chart", "hall"]).exit(2).err_has("[tank-unknown]").go();
    house.run(&["chart", "--all", "--days", "3"]).exit(2).err_has("cannot be used with").go();
    house.run(&["chart", "--all", "--out", "no/such/c.svg"]).exit(4).err_has("no/such").go();
    House::new().run(&["chart"]).exit(2).err_has("tank").go();
}

fn page(house: &House, more: &[&str]) -> (ReportWritten, String) {
    let args = [&["report", "--all", "--out", "r.html", "--json"], more].concat();
    let done = house.run(&args).touches(&["desk/r.html"]).go().json::<ReportWritten>();
    (done, std::fs::read_to_string(house.path("desk/r.html")).unwrap())
}

#[test]
fn the_page_holds_what_helps_and_nothing_from_outside() {
    let house = lived_in();
    let (done, html) = page(&house, &[]);
    assert_eq!((done.charts, done.events, done.results, done.photos), (5, 1, 6, 0));
    for words in [
        "<meta http-equiv=Content-Security-Policy content=\"default-src 'none'",
        "Estimate, not proof",
        "<p>Sea water",
        "Stage of the cycle",
        "above 5 mg/L NO2-",
        "not detected (below 0.2 mg/L NO2-)",
        "water change 30 %",
        "<td>photo<td>",
        "<td>by hand<td>",
        "aquatic vet",
        "Nothing here is about drinking water",
        "<dt>nitrite-level<dd>",
        "@page { size: A4",
        "prefers-color-scheme: dark",
    ] {
        assert!(html.contains(words), "no {words}");
    }
    // Nothing is fetched: no address but the name of SVG, no script, no link.
    assert_eq!(
        html.matches("http").count() - html.matches("http://www.w3.org/2000/svg").count(),
        1,
        "http-equiv alone"
    );
    for never in ["<script", "<link", "href=", "url(", "@import", "src="] {
        assert!(!html.contains(never), "{never}");
    }
    // No names, no notes, no paths.
    for never in ["reef", "Robert", "home", "tank.jpg", "Berlin"] {
        assert!(!html.contains(never), "{never}");
    }
    let charts: Vec<&str> = html.split("<svg").skip(1).map(|s| s.split("</svg>").next().unwrap()).collect();
    assert_eq!(charts.len(), 6, "a legend and five trends");
    for chart in charts {
        Document::parse(&format!("<svg{chart}</svg>")).unwrap();
    }
}

#[test]
fn photos_and_names_only_where_asked_for() {
    let house = lived_in();
    let (done, html) = page(&house, &["--photos", "--names"]);
    assert_eq!((done.photos, done.names, done.tank.as_str()), (1, true, "reef"));
    assert!(html.contains("Report on a tank “reef”") && html.contains("kit ‘home’"));
    assert!(html.contains("by &lt;script&gt;Robert&lt;/script&gt; &amp; co") && !html.contains("<script"));
    let data = html.split("data:image/jpeg;base64,").nth(1).unwrap().split('"').next().unwrap();
    let bytes = base64::engine::general_purpose::STANDARD.decode(data).unwrap();
    // The original holds a time, the crop no block of camera data at all.
    let original = std::fs::read(house.path("desk/tank.jpg")).unwrap();
    let holds = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).any(|w| w == what);
    assert!(holds(&original, b"Exif") && !holds(&bytes, b"Exif") && !holds(&bytes, b"2026"));
    let crop = image::load_from_memory(&bytes).unwrap().to_rgb8();
    let (w, h) = crop.dimensions();
    assert!(w.max(h) <= 240 && w.min(h) >= 20, "{w} × {h}");
    // The liquid of 3 mg/L is deep pink in the middle of the crop, against white paper at its upper corners.
    let [r, g, b] = crop.get_pixel(w / 2, h / 2).0.map(i32::from);
    assert!(r > g + 30 && b > g, "pink: {r} {g} {b}");
    // Thrown away, the original is missing, not an error.
    std::fs::remove_dir_all(house.path("home/photos")).unwrap();
    assert_eq!(page(&house, &["--photos"]).0.photos, 0);
}

#[test]
fn what_cannot_be_meant_is_refused() {
    let house = lived_in();
    house.run(&["report"]).exit(2).err_has("--out").go();
    house.run(&["report", "--out", "r.pdf"]).exit(2).err_has(".html").go();
    house.run(&["report", "--text", "--out", "r.html"]).exit(2).err_has("cannot be used with").go();
    house.run(&["report", "--text", "--photos"]).exit(2).err_has("cannot be used with").go();
    let said = house.run(&["report", "hall", "--out", "r.html", "--json"]).exit(2).err_has("[tank-unknown]").go();
    assert_eq!(said.json::<Failed>().error.code, "tank-unknown");
    // An empty time is a page all the same: stage and danger stand in it.
    let args = ["report", "--out", "r.html", "--days", "1"];
    house.run(&args).touches(&["desk/r.html"]).out_has("0 charts, 0 events, 0 results").out_has("no names").go();
    let html = std::fs::read_to_string(house.path("desk/r.html")).unwrap();
    assert!(html.contains("No results in this time.") && html.contains("Out of date or in doubt."));
}
