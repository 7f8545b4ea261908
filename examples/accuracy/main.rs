//! Accuracy report: enrols, calibrates and reads a whole set of photos with known truth, only by the way a user takes.
//!
//! ```text
//! cargo run --release --example accuracy -- SETDIR [--rows OUT.jsonl] [--json]
//! ```
//!
//! SETDIR holds `truth.json` (what each photo shows) and the photos. The keeper's `enrol` photos make the card file, the
//! `calibrate` photos the kit, the `test` photos are read. What truth says under `hidden` groups results afterwards; it
//! never reaches the reading.
//!
//! `--rows` writes one JSON object a sample and line: `file`, `place`, `analyte`, `unit`, `outcome` (`read`,
//! `not-detected`, `over-range`, `under-range`, `refused`), `value`, `lower`, `upper` (95 %; null where they mean
//! nothing), `limit`, `findings` (codes of severity *doubt*), `photo_ms` (the whole photo from bytes to readings). A photo
//! refused whole has a `refused` row for each sample named.

mod report;
mod rows;
mod run;
mod truth;

use std::io::Write;
use std::path::PathBuf;

use clap::Parser;

/// Reads a set of photos with known truth and reports how well.
#[derive(Parser)]
struct Args {
    /// Folder with truth.json and the photos.
    set: PathBuf,
    /// Write one JSON object a sample to this file.
    #[arg(long, value_name = "OUT.jsonl")]
    rows: Option<PathBuf>,
    /// Print the report as JSON.
    #[arg(long)]
    json: bool,
    /// List the samples with the largest errors, and all misreads.
    #[arg(long, value_name = "N", default_value_t = 0)]
    worst: usize,
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    let truth = truth::Truth::load(&args.set)?;
    let samples = run::run(&args.set, &truth)?;
    if let Some(path) = &args.rows {
        let mut out = std::io::BufWriter::new(std::fs::File::create(path)?);
        for s in &samples {
            serde_json::to_writer(&mut out, &s.row)?;
            out.write_all(b"\n")?;
        }
        out.flush()?;
    }
    let groups = report::groups(&samples);
    if args.json {
        println!("{}", serde_json::to_string_pretty(&groups)?);
    } else {
        report::print(&groups);
        report::print_worst(&samples, args.worst);
    }
    Ok(())
}
