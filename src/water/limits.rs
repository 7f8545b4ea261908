//! Limits for animals in water, each with where it is from. What the program decides by stands in the room `advice`; these are what
//! it can point to. They are for aquatic animals, never for drinking water.

/// Where a figure was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Checked {
    /// Read in an open text, often one that cites the original.
    Seen,
    /// From memory of the original.
    Memory,
    /// What keepers do; no science behind it.
    Practice,
}

impl Checked {
    /// Words for people.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Memory => "from memory",
            Self::Practice => "common practice",
        }
    }
}

/// A limit or target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Of what.
    pub what: &'static str,
    /// In which water, or for whom.
    pub water: &'static str,
    /// What kind of limit.
    pub kind: &'static str,
    /// The figure, where there is one.
    pub value: Option<f64>,
    /// Its unit, with the basis.
    pub unit: &'static str,
    /// Who says so.
    pub source: &'static str,
    /// How that was checked.
    pub checked: Checked,
}

const fn row(
    what: &'static str,
    water: &'static str,
    kind: &'static str,
    value: f64,
    unit: &'static str,
    source: &'static str,
    checked: Checked,
) -> Limit {
    let value = if value < 0.0 { None } else { Some(value) };
    Limit { what, water, kind, value, unit, source, checked }
}

const SEEN: Checked = Checked::Seen;
const MEMORY: Checked = Checked::Memory;
const PRACTICE: Checked = Checked::Practice;

/// All of them.
#[rustfmt::skip]
pub const LIMITS: &[Limit] = &[
    row("un-ionised ammonia", "fresh", "long-term", 0.05, "mg/L NH3-N", "University of Florida extension FA16", SEEN),
    row("un-ionised ammonia", "fresh", "lethal onset", 2.0, "mg/L NH3-N", "University of Florida extension FA16", SEEN),
    row("un-ionised ammonia", "fresh", "long-term", 0.02, "mg/L NH3", "US EPA 1976 Red Book; extension page", MEMORY),
    row("un-ionised ammonia", "fresh", "long-term", 0.025, "mg/L NH3", "EIFAC 1970", MEMORY),
    row("un-ionised ammonia", "fresh", "long-term", 0.019, "mg/L NH3", "CCME 2001/2010; listed by Statistics Canada appendix", SEEN),
    row("un-ionised ammonia", "fresh and marine", "long-term", 0.05, "mg/L NH3", "Timmons & Ebeling 2007, cited in an opened paper", SEEN),
    row("un-ionised ammonia", "fresh", "chronic damage", 0.03, "mg/L NH3", "Huetter 1990, cited on an opened page", SEEN),
    row("un-ionised ammonia", "fresh", "lethal larvae", 0.2, "mg/L NH3", "Huetter 1990, cited on an opened page", SEEN),
    row("un-ionised ammonia", "marine", "96 h LC50", 0.09, "mg/L NH3", "Eddy 2005, cited in an opened paper", SEEN),
    row("un-ionised ammonia", "marine", "acute", 0.233, "mg/L NH3", "US EPA 1989 saltwater, EPA 440/5-88-004 (opened first page only)", MEMORY),
    row("un-ionised ammonia", "marine", "chronic", 0.035, "mg/L NH3", "US EPA 1989 saltwater", MEMORY),
    row("un-ionised ammonia", "marine", "long-term", 0.01, "mg/L NH3", "Indian agricultural e-course 2011", SEEN),
    row("total ammonia", "fresh", "95 % species", 0.9, "mg/L TAN-N at pH 8", "ANZECC & ARMCANZ 2000", SEEN),
    row("total ammonia", "marine", "95 % species", 0.91, "mg/L TAN-N at pH 8 20 C", "ANZECC & ARMCANZ 2000", SEEN),
    row("total ammonia", "marine", "95 % species", 0.46, "mg/L TAN-N", "Batley & Simpson 2009, Mar. Pollut. Bull. 58:1472", SEEN),
    row("total ammonia", "fresh", "acute", 17.0, "mg/L TAN-N at pH 7 20 C", "US EPA 2013", SEEN),
    row("total ammonia", "fresh", "chronic", 1.9, "mg/L TAN-N at pH 7 20 C", "US EPA 2013", SEEN),
    row("total ammonia", "any", "target", 0.0, "mg/L as read", "common practice", PRACTICE),
    row("nitrite", "any", "target", 0.0, "mg/L as read", "common practice", PRACTICE),
    row("nitrite", "fresh", "long-term", 0.06, "mg/L NO2-N", "CCME", MEMORY),
    row("nitrite", "fresh", "max at chloride < 2 mg/L", 0.06, "mg/L NO2-N", "British Columbia guideline table 2 (document opened, table from memory)", MEMORY),
    row("nitrite", "fresh", "max at chloride 2-4", 0.12, "mg/L NO2-N", "British Columbia", MEMORY),
    row("nitrite", "fresh", "max at chloride 4-6", 0.18, "mg/L NO2-N", "British Columbia", MEMORY),
    row("nitrite", "fresh", "max at chloride 6-8", 0.24, "mg/L NO2-N", "British Columbia", MEMORY),
    row("nitrite", "fresh", "max at chloride 8-10", 0.3, "mg/L NO2-N", "British Columbia", MEMORY),
    row("nitrite", "fresh", "max at chloride > 10", 0.6, "mg/L NO2-N", "British Columbia", MEMORY),
    row("chloride:nitrite", "fresh", "protective ratio", 10.0, "mg Cl per mg nitrite", "SRAC 462 brown blood (Durborow, Crosby, Brunson), text opened", SEEN),
    row("chloride", "fresh", "insurance level", 100.0, "mg/L Cl", "SRAC 462, text opened", SEEN),
    row("nitrite", "fresh", "caution", 0.25, "mg/L nitrite ion", "common practice", PRACTICE),
    row("nitrite", "fresh", "act at once", 0.5, "mg/L nitrite ion", "common practice", PRACTICE),
    row("nitrite", "marine", "note", -1.0, "", "general; from memory", MEMORY),
    row("nitrate", "fresh", "most sensitive species", 2.0, "mg/L NO3-N", "Camargo, Alonso & Salamanca 2005, Chemosphere 58:1255-1267 (abstract opened)", SEEN),
    row("nitrate", "fresh", "long-term effects seen", 10.0, "mg/L NO3-N", "Camargo et al. 2005", SEEN),
    row("nitrate", "marine", "generally acceptable", 20.0, "mg/L NO3-N", "Camargo et al. 2005", SEEN),
    row("nitrate", "fresh", "long-term", 13.0, "mg/L nitrate ion", "CCME 2012 (document located, numbers from memory)", MEMORY),
    row("nitrate", "fresh", "short-term", 550.0, "mg/L nitrate ion", "CCME 2012", MEMORY),
    row("nitrate", "marine", "long-term", 200.0, "mg/L nitrate ion", "CCME 2012", MEMORY),
    row("nitrate", "marine", "short-term", 1500.0, "mg/L nitrate ion", "CCME 2012", MEMORY),
    row("nitrate", "fresh", "30-day mean", 3.0, "mg/L NO3-N", "British Columbia 2009 addendum", SEEN),
    row("nitrate", "marine", "30-day mean, interim", 3.7, "mg/L NO3-N", "British Columbia 2009 addendum", SEEN),
    row("nitrate", "tap water", "legal limit", 45.0, "mg/L nitrate ion", "Health Canada drinking water (seen); US EPA 10 mg/L N; EU and WHO 50 mg/L ion from memory", SEEN),
    row("nitrate", "fresh", "usual keeping limit", 40.0, "mg/L nitrate ion", "common practice", PRACTICE),
    row("nitrate", "marine", "usual keeping limit", 20.0, "mg/L nitrate ion", "common practice", PRACTICE),
    row("total residual chlorine", "fresh", "acute", 0.019, "mg/L", "US EPA 1984 chlorine, EPA 440/5-84-030 (document opened, numbers from memory)", MEMORY),
    row("total residual chlorine", "fresh", "chronic", 0.011, "mg/L", "US EPA 1984 chlorine", MEMORY),
    row("chlorine-produced oxidants", "marine", "acute", 0.013, "mg/L", "US EPA 1984 chlorine", MEMORY),
    row("chlorine-produced oxidants", "marine", "chronic", 0.0075, "mg/L", "US EPA 1984 chlorine", MEMORY),
    row("total chlorine", "tap water", "legal maximum", 4.0, "mg/L as Cl2", "US EPA MRDL, EPA and state pages", SEEN),
    row("temperature", "tropical fish", "caution rise", 2.0, "C per 24 h", "veterinary water-quality text (author not shown on the opened page)", SEEN),
    row("temperature", "tropical fish", "caution fall", 1.0, "C per 24 h", "same", SEEN),
    row("temperature", "any", "match for water change", 2.0, "C difference", "common practice", PRACTICE),
    row("pH", "any", "caution", 0.3, "pH units per day", "common practice", PRACTICE),
    row("pH", "fresh", "criterion range", 6.5, "pH", "US EPA (seen in a state document)", SEEN),
    row("water change", "any", "usual size", 25.0, "% per week", "common practice", PRACTICE),
    row("KH", "fresh", "caution", 3.0, "degrees", "common practice", PRACTICE),
    row("temperature", "nitrifiers", "best", 28.0, "C", "common practice", PRACTICE),
];
