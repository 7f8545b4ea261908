//! Accuracy report: enrols, calibrates and reads a whole set of photos with known truth, only by the way a user takes.
//!
//! ```text
//! cargo run --release --example accuracy -- SETDIR [--standards full|three|zero+one] [--rows OUT.jsonl] [--json]
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

#[cfg(feature = "ablation")]
mod ablation;
mod app;
mod report;
mod rows;
mod run;
mod strip;
mod truth;

fn main() -> anyhow::Result<()> {
    app::go(std::env::args_os(), &mut std::io::stdout().lock())
}
