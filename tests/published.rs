//! Published values: every formula against the figures of its source, from the tables in `fixtures/published`.
//!
//! Each loop counts its rows, so a table that is empty or cut short fails.

mod acceptance;
mod colour;
mod numeric;
mod plans;
mod standards;
mod statistics;
mod water;

use std::path::PathBuf;

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/published").join(name)
}

/// A table of values in TOML.
pub fn toml_file(name: &str) -> toml::Table {
    std::fs::read_to_string(path(name)).unwrap().parse().unwrap()
}

/// A table as rows of text, its columns found by name.
pub struct Table {
    name: String,
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    pub fn open(name: &str) -> Table {
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path(name)).unwrap();
        let columns = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows = reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
        Table { name: name.to_owned(), columns, rows }
    }

    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { table: self, cells })
    }
}

pub struct Row<'t> {
    table: &'t Table,
    cells: &'t [String],
}

impl Row<'_> {
    pub fn text(&self, column: &str) -> &str {
        let at = self.table.columns.iter().position(|c| c == column);
        &self.cells[at.unwrap_or_else(|| panic!("{} has no column {column}", self.table.name))]
    }

    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{} {column}: {:?}", self.table.name, self.text(column)))
    }

    fn three(&self, columns: [&str; 3]) -> [f64; 3] {
        columns.map(|c| self.number(c))
    }
}

/// Collects the largest deviation from a published figure, in units of its tolerance.
struct Worst {
    what: &'static str,
    count: usize,
    deviation: f64,
    part: f64,
    place: String,
}

impl Worst {
    fn of(what: &'static str) -> Worst {
        Worst { what, count: 0, deviation: 0.0, part: 0.0, place: String::new() }
    }

    fn see(&mut self, got: f64, published: f64, tolerance: f64, place: &str) {
        let deviation = (got - published).abs();
        self.count += 1;
        // Not a number must count as too far.
        let part = if deviation.is_nan() { f64::INFINITY } else { deviation / tolerance };
        if part > self.part {
            (self.deviation, self.part) = (deviation, part);
            self.place = format!("{place}: {got} for the published {published}");
        }
    }

    fn see_three(&mut self, got: [f64; 3], published: [f64; 3], tolerance: f64, place: &str) {
        for i in 0..3 {
            self.see(got[i], published[i], tolerance, place);
        }
    }

    /// Passes when exactly `count` figures were seen and all lie within their tolerance.
    fn check(self, count: usize) {
        let Worst { what, deviation, part, place, .. } = &self;
        println!(
            "{what}: {} figures, largest deviation {deviation:.1e}, {part:.3} of the tolerance, {place}",
            self.count
        );
        assert_eq!(self.count, count, "figures of {what}");
        assert!(self.part <= 1.0, "{what}: {deviation:e} off at {place}");
    }
}
