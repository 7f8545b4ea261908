//! The page as a whole.

use super::Report;
use super::parts;
use crate::advice;
use crate::faces::chart::{Chart, Skin};
use crate::faces::markup::escape;
use crate::faces::words::capital;
use std::fmt::Write;

pub(super) fn html(report: &Report) -> String {
    let mut out = String::from(HEAD);
    let (review, chart) = (report.review, report.chart);
    let zone = &chart.zone;
    let now = zone.to_datetime(review.now).strftime("%-d %B %Y, %H:%M");
    let name = if report.names { format!(" “{}”", review.tank) } else { String::new() };
    let about = capital(&advice::tank_words(report.book, review.now));
    let day = |t| zone.to_datetime(t).strftime("%-d %b %Y").to_string();
    // Writing to a String cannot fail.
    let _ = write!(
        out,
        "<header><h1>Report on a tank{}</h1>\n<p>{}.<br>State of {now}; charts, events and results from {} on.</p>\n\
         <p class=mind><strong>Estimate, not proof.</strong> Colour tests, most of them read from photos, each with its 95 % interval. \
         ‘Not detected’ means less than the limit beside it, not zero. A dead reagent shows a perfect zero.</p></header>\n<main>\n",
        escape(&name),
        escape(&about),
        day(chart.window.0),
    );
    parts::statements(&mut out, "First", &review.trouble, review.now);
    parts::glance(&mut out, review, zone);
    parts::statements(&mut out, "To do today", &review.today, review.now);
    parts::statements(&mut out, "In doubt", &review.doubts, review.now);
    charts(&mut out, chart);
    parts::events(&mut out, chart);
    parts::results(&mut out, report);
    parts::crops(&mut out, report);
    parts::statements(&mut out, "Mind", &review.cautions, review.now);
    parts::sources(&mut out, review, chart);
    let _ =
        write!(out, "</main>\n<footer>{CAUTIONS}<p>Made with tintline {}.</p></footer>\n</body></html>\n", version());
    out
}

fn version() -> &'static str {
    env!("CARGO_PKG_VERSION")
}

fn charts(out: &mut String, chart: &Chart) {
    out.push_str("<section class=long><h2>Course</h2>\n");
    if chart.trends.is_empty() {
        out.push_str("<p>No results in this time.</p>\n");
    } else {
        let _ = writeln!(out, "<figure class=legend>{}</figure>", Chart::legend(Skin::Page));
    }
    for trend in &chart.trends {
        let _ = writeln!(out, "<figure>{}</figure>", chart.svg_of(trend, Skin::Page));
    }
    out.push_str("</section>\n");
}

const HEAD: &str = "<!doctype html>
<html lang=en><head><meta charset=utf-8><meta name=viewport content=\"width=device-width, initial-scale=1\">
<meta http-equiv=Content-Security-Policy content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">
<meta name=referrer content=no-referrer><title>Report on a tank</title>
<style>
:root { color-scheme: light dark; --ground: #fff; --ink: #111; --soft: #777; }
@media (prefers-color-scheme: dark) { :root { --ground: #16181a; --ink: #e6e6e2; --soft: #8d8f90; } }
body { background: var(--ground); color: var(--ink); font: 1rem/1.45 system-ui, sans-serif; margin: 0 auto; max-width: 50rem; padding: 1rem; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; overflow-wrap: anywhere; }
h2 { border-top: 2px solid; font-size: 1.1rem; margin: 1.6rem 0 .5rem; padding-top: .3rem; }
.mind { border: 1px solid; border-left-width: 6px; padding: .4rem .7rem; }
dl { display: grid; gap: .3rem 1rem; grid-template-columns: max-content 1fr; margin: 0; }
dt { font-weight: bold; } dd { margin: 0; overflow-wrap: anywhere; }
.level { border: 1px solid; border-radius: .2rem; display: inline-block; font-weight: bold; min-width: 2.2em; text-align: center; }
ul { margin: .3rem 0; padding-left: 1.3rem; } li { margin: .2rem 0; overflow-wrap: anywhere; }
small, .rule { color: var(--soft); font-size: .8rem; } .rule { white-space: nowrap; }
table { border-collapse: collapse; font-size: .9rem; width: 100%; }
th, td { border-bottom: 1px solid var(--soft); padding: .2rem .8rem .2rem 0; text-align: left; vertical-align: top; overflow-wrap: break-word; }
td.n { text-align: right; width: 2rem; } td.at { white-space: nowrap; }
figure { break-inside: avoid; margin: .2rem 0 .6rem; } .chart { display: block; height: auto; max-width: 100%; }
.crops { display: flex; flex-wrap: wrap; gap: 1rem; } .crops figure { width: 11rem; } .crops img { height: auto; max-width: 100%; }
figcaption { font-size: .8rem; }
section, tr, li { break-inside: avoid; } section.long { break-inside: auto; }
footer { border-top: 2px solid; font-size: .85rem; margin-top: 1.6rem; }
@page { size: A4; margin: 14mm; }
@media print {
:root { color-scheme: light; --ground: #fff; --ink: #000; --soft: #666; }
body { font-size: 10pt; max-width: none; padding: 0; } table { font-size: 8.5pt; }
h2 { break-after: avoid; } thead { display: table-header-group; }
}
</style></head><body>
";

const CAUTIONS: &str = "<p>This is about water. A sick animal is a matter for an aquatic vet: if fish gasp, lie still or show spots, act and ask \
now. Labels of reagents, medicines and conditioners and local rules come first. Never mix reagents; ammonia and bleach never come together. \
Nothing here is about drinking water.</p>";
