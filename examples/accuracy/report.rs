//! Figures of a run, by group.

use std::collections::BTreeMap;
use std::io::{self, Write};

use serde::Serialize;
use tintline::numeric::robust::quantile;
use tintline::numeric::stats::clopper_pearson;

use super::run::Sample;
use super::truth::Analyte;

/// Figures of one group of samples.
#[derive(Serialize)]
pub struct Group {
    pub name: String,
    pub samples: usize,
    /// Given an amount: a value, 'not detected', 'above' or 'below'.
    pub read: usize,
    pub refused: usize,
    /// Error in swatch steps of what has a value or is 'not detected' (taken as none): median, 95th percentile, worst.
    pub error_steps: Option<[f64; 3]>,
    /// Share of what was read whose interval (or one-sided statement) holds the truth, with its 95 % binomial interval.
    pub coverage: Option<[f64; 3]>,
    pub width_steps: Option<f64>,
    /// Detection limits in steps: median, worst.
    pub limit_steps: Option<[f64; 2]>,
    pub zeros: usize,
    /// True zeros told as 'not detected'.
    pub zeros_told: usize,
    pub false_zeros: usize,
    /// Off the interval by more than half a step, without a doubt.
    pub misreads: usize,
    /// Share of readings with a doubt.
    pub doubts: Option<f64>,
    /// Samples whose outcome is the expected one or also fine.
    pub as_expected: usize,
}

pub fn groups(samples: &[Sample]) -> Vec<Group> {
    let clean = |s: &&Sample| s.hazards.is_empty();
    let usual: Vec<&Sample> = samples.iter().filter(clean).filter(|s| s.usual).collect();
    let elsewhere: Vec<&Sample> = samples.iter().filter(clean).filter(|s| !s.usual).collect();
    let hazards: Vec<&Sample> = samples.iter().filter(|s| !s.hazards.is_empty()).collect();
    let mut out =
        vec![group("clean, usual place", &usual), group("clean, elsewhere", &elsewhere), group("hazards", &hazards)];
    let all: Vec<&Sample> = samples.iter().filter(clean).collect();
    let pads: Vec<&Sample> = all.iter().copied().filter(|s| s.row.place.starts_with("pad-")).collect();
    out.extend(by("strip", &pads, |s| format!("{} {}", s.row.place, s.row.analyte)));
    out.extend(by("test", &all, |s| s.truth.analyte.clone()));
    out.extend(by("light", &all, |s| s.light.clone()));
    out.extend(by("hazard", &hazards, |s| s.hazards.join("+")));
    out
}

fn by(kind: &str, samples: &[&Sample], key: impl Fn(&Sample) -> String) -> Vec<Group> {
    let mut parts: BTreeMap<String, Vec<&Sample>> = BTreeMap::new();
    samples.iter().for_each(|s| parts.entry(key(s)).or_default().push(s));
    parts.into_iter().map(|(k, v)| group(&format!("{kind} {k}"), &v)).collect()
}

fn position(s: &Sample, c: f64) -> f64 {
    Analyte { unit: String::new(), standards: s.series.clone() }.position(c)
}

/// Error in steps, where the outcome has one.
pub fn error(s: &Sample) -> Option<f64> {
    match s.row.outcome {
        "read" => Some(position(s, s.row.value?) - s.position),
        "not-detected" => Some(-s.position),
        _ => None,
    }
}

/// Whether what was said holds the truth; None for a refusal.
fn covered(s: &Sample) -> Option<bool> {
    let c = s.truth.concentration;
    match s.row.outcome {
        "read" => Some(s.row.lower? <= c && c <= s.row.upper?),
        "not-detected" => Some(c <= s.row.limit?),
        "over-range" => Some(c >= s.row.limit?),
        "under-range" => Some(c <= s.row.limit?),
        _ => None,
    }
}

/// 'Not detected' where there is at least the lowest real standard, or twice the stated limit.
fn false_zero(s: &Sample) -> bool {
    let c = s.truth.concentration;
    s.row.outcome == "not-detected" && (c >= s.series[1] || c >= 2.0 * s.row.limit.unwrap_or(0.0))
}

/// A value off the truth by more than half a step beyond its interval, without a doubt; or a sample that is not there.
pub fn misread(s: &Sample) -> bool {
    if !s.row.findings.is_empty() || s.row.outcome == "refused" {
        return false;
    }
    if !s.truth.present || !s.truth.right_kit {
        return true;
    }
    let ends = match s.row.outcome {
        "read" => [s.row.lower, s.row.upper],
        "not-detected" => [None, s.row.limit],
        "over-range" => [s.row.limit, None],
        _ => [None, s.row.limit],
    };
    let beyond = |end: Option<f64>, sign: f64| end.is_some_and(|e| sign * (s.position - position(s, e)) > 0.5);
    beyond(ends[0], -1.0) || beyond(ends[1], 1.0)
}

/// Whether the outcome is the one expected, or also fine.
pub fn as_expected(s: &Sample) -> bool {
    let said = |wanted: &str| match wanted {
        "read" => matches!(s.row.outcome, "read" | "not-detected") && !misread(s),
        "read-flagged" => matches!(s.row.outcome, "read" | "not-detected") && !s.row.findings.is_empty(),
        "refuse" => s.row.outcome == "refused",
        "over-range" => matches!(s.row.outcome, "over-range" | "under-range"),
        _ => false,
    };
    said(&s.truth.expected) || s.truth.also_ok.iter().any(|w| said(w))
}

fn group(name: &str, samples: &[&Sample]) -> Group {
    let errors: Vec<f64> = samples.iter().filter_map(|s| error(s)).map(f64::abs).collect();
    let covered: Vec<bool> = samples.iter().filter_map(|s| covered(s)).collect();
    let hits = covered.iter().filter(|c| **c).count() as u64;
    let widths: Vec<f64> = samples
        .iter()
        .filter(|s| s.row.outcome == "read")
        .filter_map(|s| Some(position(s, s.row.upper?) - position(s, s.row.lower?)))
        .collect();
    let limits: Vec<f64> = samples
        .iter()
        .filter(|s| matches!(s.row.outcome, "read" | "not-detected"))
        .filter_map(|s| s.row.limit.map(|l| position(s, l)))
        .collect();
    let read: Vec<&&Sample> = samples.iter().filter(|s| s.row.outcome != "refused").collect();
    let zero = |s: &&&Sample| s.truth.concentration == 0.0;
    let of = |v: &[f64], p: f64| quantile(v, p).unwrap_or(f64::NAN);
    let some = |v: &[f64]| !v.is_empty();
    Group {
        name: name.into(),
        samples: samples.len(),
        read: read.len(),
        refused: samples.len() - read.len(),
        error_steps: some(&errors).then(|| [of(&errors, 0.5), of(&errors, 0.95), of(&errors, 1.0)]),
        coverage: clopper_pearson(hits, covered.len() as u64, 0.95)
            .map(|i| [hits as f64 / covered.len() as f64, i.low, i.high]),
        width_steps: some(&widths).then(|| of(&widths, 0.5)),
        limit_steps: some(&limits).then(|| [of(&limits, 0.5), of(&limits, 1.0)]),
        zeros: samples.iter().filter(zero).count(),
        zeros_told: samples.iter().filter(zero).filter(|s| s.row.outcome == "not-detected").count(),
        false_zeros: samples.iter().filter(|s| false_zero(s)).count(),
        misreads: samples.iter().filter(|s| misread(s)).count(),
        doubts: (!read.is_empty())
            .then(|| read.iter().filter(|s| !s.row.findings.is_empty()).count() as f64 / read.len() as f64),
        as_expected: samples.iter().filter(|s| as_expected(s)).count(),
    }
}

pub fn print(groups: &[Group], out: &mut dyn Write) -> io::Result<()> {
    writeln!(
        out,
        "{:<38} {:>4} {:>4} {:>4}  {:>20}  {:>18}  {:>5}  {:>11}  {:>6} {:>5} {:>4} {:>6} {:>5}",
        "group",
        "n",
        "read",
        "ref",
        "error med/p95/worst",
        "coverage (95 %)",
        "width",
        "limit",
        "zeros",
        "false",
        "mis",
        "doubt",
        "as ex"
    )?;
    let two = |v: f64| format!("{v:.2}");
    for g in groups {
        writeln!(
            out,
            "{:<38} {:>4} {:>4} {:>4}  {:>20}  {:>18}  {:>5}  {:>11}  {:>6} {:>5} {:>4} {:>6} {:>5}",
            g.name.chars().take(38).collect::<String>(),
            g.samples,
            g.read,
            g.refused,
            g.error_steps.map_or("-".into(), |e| format!("{:.3}/{:.2}/{:.2}", e[0], e[1], e[2])),
            g.coverage.map_or("-".into(), |c| format!("{:.2} ({:.2}-{:.2})", c[0], c[1], c[2])),
            g.width_steps.map_or("-".into(), two),
            g.limit_steps.map_or("-".into(), |l| format!("{:.2}/{:.2}", l[0], l[1])),
            format!("{}/{}", g.zeros_told, g.zeros),
            g.false_zeros,
            g.misreads,
            g.doubts.map_or("-".into(), two),
            g.as_expected,
        )?;
    }
    if groups.iter().any(|g| g.name.starts_with("strip ")) {
        writeln!(out, "\n'strip pad-1 ...': clean strips pad by pad; one in a wrong place would be misread.")?;
    }
    writeln!(out, "\nErrors, widths and limits in swatch steps (the distance between neighbouring standards).")?;
    writeln!(out, "Repeat: cargo run --release --example accuracy -- SETDIR")
}

/// What became of the samples of spoiled photos, hazard by hazard, in Markdown.
pub fn print_hazards(samples: &[Sample], out: &mut dyn Write) -> io::Result<()> {
    let mut hazards: BTreeMap<String, Vec<&Sample>> = BTreeMap::new();
    for s in samples.iter().filter(|s| !s.hazards.is_empty()) {
        hazards.entry(s.hazards.join("+")).or_default().push(s);
    }
    if hazards.is_empty() {
        return Ok(());
    }
    writeln!(
        out,
        "\n| hazard | samples | refused | read in doubt | read, truth inside | read, truth outside | misread | as expected |"
    )?;
    writeln!(out, "| --- | --- | --- | --- | --- | --- | --- | --- |")?;
    for (hazard, of) in &hazards {
        let count = |is: &dyn Fn(&Sample) -> bool| of.iter().filter(|s| is(s)).count();
        let plain = |s: &Sample| s.row.outcome != "refused" && s.row.findings.is_empty();
        writeln!(
            out,
            "| {hazard} | {} | {} | {} | {} | {} | {} | {} |",
            of.len(),
            count(&|s| s.row.outcome == "refused"),
            count(&|s| s.row.outcome != "refused" && !s.row.findings.is_empty()),
            count(&|s| plain(s) && covered(s) == Some(true)),
            count(&|s| plain(s) && covered(s) == Some(false)),
            count(&misread),
            count(&as_expected),
        )?;
    }
    Ok(())
}

pub fn print_worst(samples: &[Sample], count: usize, out: &mut dyn Write) -> io::Result<()> {
    if count == 0 {
        return Ok(());
    }
    let mut by_error: Vec<&Sample> = samples.iter().filter(|s| error(s).is_some() && s.hazards.is_empty()).collect();
    by_error.sort_by(|a, b| {
        error(b).map(f64::abs).partial_cmp(&error(a).map(f64::abs)).unwrap_or(std::cmp::Ordering::Equal)
    });
    writeln!(out, "\nlargest errors of clean photos:")?;
    by_error.iter().take(count).try_for_each(|s| line(s, out))?;
    writeln!(out, "\nmisreads, and outcomes not as expected:")?;
    samples.iter().filter(|s| misread(s) || !as_expected(s)).try_for_each(|s| line(s, out))
}

fn line(s: &Sample, out: &mut dyn Write) -> io::Result<()> {
    let number = |v: Option<f64>| v.map_or("-".into(), |v| format!("{v:.3}"));
    writeln!(
        out,
        "  {} {} {} true {} (step {:.2}) {} {} [{} {}] limit {} off {} {} {:?} {}",
        s.row.file,
        s.row.place,
        s.row.analyte,
        s.truth.concentration,
        s.position,
        s.row.outcome,
        number(s.row.value),
        number(s.row.lower),
        number(s.row.upper),
        number(s.row.limit),
        s.off.map_or("-".into(), |v| format!("{v:.1}")),
        s.light,
        s.hazards,
        s.said,
    )
}
