//! What the program does with its arguments.

use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;

use clap::Parser;

#[cfg(feature = "ablation")]
use super::ablation;
use super::{report, run, truth};

/// Reads a set of photos with known truth and reports how well.
#[derive(Parser)]
struct Args {
    /// Folder with truth.json and the photos.
    set: PathBuf,
    /// Write one JSON object a sample to this file.
    #[arg(long, value_name = "OUT.jsonl")]
    rows: Option<PathBuf>,
    /// Which photos of role `standard` join printed shades in the kit: each test's zero, and its fourth standard.
    #[arg(long, value_enum, default_value_t = run::Anchor::None)]
    anchor: run::Anchor,
    /// Read every photo at 1/N of its size, as a scaled decode would give it.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    reduce: u32,
    /// Which of the keeper's own standards make the kit: all, or each test's first, fourth and last, or its first and fourth.
    #[arg(long, value_enum, default_value_t = run::Effort::Full)]
    standards: run::Effort,
    /// Print how well clean photos are read with one part of the reading left out at a time. Needs the feature `ablation`.
    #[cfg(feature = "ablation")]
    #[arg(long)]
    ablation: bool,
    /// Print the report as JSON.
    #[arg(long)]
    json: bool,
    /// List the samples with the largest errors, and all misreads.
    #[arg(long, value_name = "N", default_value_t = 0)]
    worst: usize,
}

/// Runs with these arguments, the first being the program's own name; the report goes to `out`.
pub fn go(args: impl IntoIterator<Item = OsString>, out: &mut dyn Write) -> anyhow::Result<()> {
    let args = Args::try_parse_from(args).unwrap_or_else(|e| e.exit());
    let truth = truth::Truth::load(&args.set)?;
    let making = run::Making { anchor: args.anchor, effort: args.standards };
    let set = run::Set { folder: &args.set, reduce: args.reduce };
    #[cfg(feature = "ablation")]
    if args.ablation {
        return ablation::table(&set, &truth, making, out);
    }
    let samples = run::run(&set, &truth, making)?;
    if let Some(path) = &args.rows {
        let mut rows = std::io::BufWriter::new(std::fs::File::create(path)?);
        for s in &samples {
            serde_json::to_writer(&mut rows, &s.row)?;
            rows.write_all(b"\n")?;
        }
        rows.flush()?;
    }
    let groups = report::groups(&samples);
    if args.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&groups)?)?;
    } else {
        report::print(&groups, out)?;
        report::print_hazards(&samples, out)?;
        report::print_worst(&samples, args.worst, out)?;
    }
    Ok(())
}
