//! The page's sections.

use super::Report;
use crate::advice::{self, Review, Statement};
use crate::faces::chart::Chart;
use crate::faces::cropped;
use crate::faces::markup::escape;
use crate::finding::Severity;
use crate::log::{Origin, Reading, Status};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Results listed one by one.
const LISTED: usize = 60;

/// Sentences with the age of what they rest on, and their rule.
pub(super) fn statements(out: &mut String, title: &str, all: &[Statement], now: Timestamp) {
    if all.is_empty() {
        return;
    }
    let _ = write!(out, "<section><h2>{title}</h2><ul>");
    all.iter().for_each(|s| item(out, s, now));
    out.push_str("</ul></section>\n");
}

fn item(out: &mut String, s: &Statement, now: Timestamp) {
    let age = s.newest().map_or(String::new(), |t| format!(", {} ago", advice::age(t, now)));
    let _ = write!(out, "<li>{} <span class=rule>[{}{age}]</span>", escape(&s.words), s.rule.code());
}

/// Danger, stage and next test.
pub(super) fn glance(out: &mut String, review: &Review, zone: &TimeZone) {
    let (danger, stage, next) = (&review.danger, &review.stage, &review.next);
    let symbol = danger.symbol();
    let since = danger.unknown_since.map_or(String::new(), |t| format!(", since {}", moment(zone, t)));
    let tested = stage.as_of.map_or(String::new(), |t| format!(", last tested {} ago", advice::age(t, review.now)));
    let tests: Vec<&str> = next.tests.iter().map(|k| k.as_str()).collect();
    let due = if next.at <= review.now { "due now".to_string() } else { moment(zone, next.at) };
    let _ = write!(
        out,
        "<section><h2>At a glance</h2>\n<dl><dt>Danger<dd><span class=level>{symbol}</span> {}{}",
        escape(&danger.words()),
        escape(&since)
    );
    if !danger.lines.is_empty() {
        out.push_str("<ul>");
        for l in &danger.lines {
            let unknown = if l.unknown_since.is_some() { " Out of date or in doubt." } else { "" };
            let _ = write!(
                out,
                "<li><span class=level>{}</span> {}{unknown} <span class=rule>[{}]</span>",
                l.act_as().symbol(),
                escape(&l.statement.words),
                l.statement.rule.code()
            );
        }
        out.push_str("</ul>");
    }
    let _ = write!(out, "\n<dt>Stage of the cycle<dd>{}{tested}", escape(&stage.words()));
    let causes = stage.stall.iter().flat_map(|s| &s.causes);
    let why: Vec<&Statement> = stage.statements.iter().chain(causes).collect();
    if !why.is_empty() {
        out.push_str("<ul>");
        why.into_iter().for_each(|s| item(out, s, review.now));
        out.push_str("</ul>");
    }
    let _ = write!(
        out,
        "\n<dt>Next test<dd>{due}: {}. {}</dl>\n<p><small>Levels: - nothing above the limits was shown, ? unknown, ! caution, !! danger, \
         !!! urgent. The upper bound decides: what it does not exclude is said as ‘may be’.</small></p></section>\n",
        escape(&tests.join(", ")),
        escape(&next.statement.words)
    );
}

/// What was done and happened, by the numbers in the charts.
pub(super) fn events(out: &mut String, chart: &Chart) {
    out.push_str("<section class=long><h2>What was done and happened</h2>\n");
    if chart.events.is_empty() {
        out.push_str("<p>Nothing was logged in this time.</p></section>\n");
        return;
    }
    out.push_str("<table><thead><tr><th scope=col>No.<th scope=col>When<th scope=col>What</tr></thead><tbody>\n");
    for e in chart.events.iter().rev() {
        let at = moment(&chart.zone, e.at);
        let _ = writeln!(out, "<tr><td class=n>{}<td class=at>{at}<td>{}</tr>", e.number, escape(&e.words));
    }
    out.push_str("</tbody></table></section>\n");
}

/// Readings, newest first.
pub(super) fn results(out: &mut String, report: &Report) {
    out.push_str("<section class=long><h2>Results</h2>\n");
    if report.readings.is_empty() {
        out.push_str("<p>None was logged in this time.</p></section>\n");
        return;
    }
    out.push_str(
        "<table><thead><tr><th scope=col>When<th scope=col>Test<th scope=col>Result<th scope=col>How<th scope=col>Remarks</tr></thead><tbody>\n",
    );
    for r in report.readings.iter().take(LISTED) {
        let how = match r.origin {
            Origin::Photo => "photo",
            Origin::Hand => "by hand",
            Origin::Correction => "corrected",
        };
        let _ = writeln!(
            out,
            "<tr><td class=at>{}<td>{}<td>{}<td>{how}<td>{}</tr>",
            moment(&report.chart.zone, r.sample.at().instant),
            escape(&test(r, report.names)),
            escape(&r.words()),
            escape(&state(r)),
        );
    }
    out.push_str("</tbody></table>\n");
    if report.readings.len() > LISTED {
        let _ = writeln!(out, "<p>{} older ones are not listed.</p>", report.readings.len() - LISTED);
    }
    out.push_str("</section>\n");
}

fn test(r: &Reading, names: bool) -> String {
    let analyte = r.test.analyte.as_str();
    match &r.test.kit {
        Some(kit) if names => format!("{analyte} (kit ‘{kit}’, test ‘{}’)", r.test.name),
        _ => analyte.to_string(),
    }
}

fn state(r: &Reading) -> String {
    let doubts: Vec<&str> =
        r.findings.iter().filter(|f| f.severity == Severity::Doubt).map(|f| f.sentence.as_str()).collect();
    match (r.status, &doubts[..]) {
        (Status::Refused, _) => r.refusal.first().map(|f| f.sentence.clone()).unwrap_or_default(),
        (_, []) => String::new(),
        (_, doubts) => format!("in doubt: {}", doubts.join(" ")),
    }
}

/// Parts of photos, with the measured area drawn in.
pub(super) fn crops(out: &mut String, report: &Report) {
    if report.crops.is_empty() {
        return;
    }
    out.push_str(
        "<section class=long><h2>Photos</h2>\n<p>Parts of the photos, with what was measured outlined. Colours as the camera gave them, before \
         any correction: not for judging by eye.</p>\n<div class=crops>\n",
    );
    for (i, crop) in report.crops {
        let Some((r, data)) = report.readings.get(*i).zip(cropped::jpeg(crop).map(|j| STANDARD.encode(j))) else {
            continue;
        };
        let words = format!("{} {}", test(r, report.names), r.words());
        let at = moment(&report.chart.zone, r.sample.at().instant);
        let _ = writeln!(
            out,
            "<figure><img alt=\"{}\" width={} height={} src=\"data:image/jpeg;base64,{data}\"><figcaption>{}<br>{at}</figcaption></figure>",
            escape(&format!("Photo of the sample: {words}")),
            crop.picture.width(),
            crop.picture.height(),
            escape(&words)
        );
    }
    out.push_str("</div></section>\n");
}

/// The rules that were used, with where they come from.
pub(super) fn sources(out: &mut String, review: &Review, chart: &Chart) {
    let lines = review.danger.lines.iter().map(|l| &l.statement);
    let stall = review.stage.stall.iter().flat_map(|s| &s.causes);
    let said = review.trouble.iter().chain(lines).chain(&review.stage.statements).chain(stall).chain(&review.today);
    let said = said.chain([&review.next.statement]).chain(&review.doubts).chain(&review.cautions).map(|s| s.rule);
    let limits = chart.trends.iter().flat_map(|t| &t.guides).map(|g| g.rule);
    let all: BTreeMap<&str, &str> = said.chain(limits).map(|r| (r.code(), r.source())).collect();
    out.push_str("<section class=long><h2>Rules and limits, and where they come from</h2><dl>\n");
    for (code, source) in all {
        let _ = writeln!(out, "<dt>{code}<dd>{}", escape(source));
    }
    out.push_str("</dl></section>\n");
}

fn moment(zone: &TimeZone, at: Timestamp) -> String {
    zone.to_datetime(at).strftime("%-d %b %Y %H:%M").to_string()
}
