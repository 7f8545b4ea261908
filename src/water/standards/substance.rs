//! Substances that standards are made of, and what to know about them.

use crate::water::{Analyte, Quantity, Species, Unit, molar};
use crate::water::{Measure, StateError};

/// A substance sold to households or by chemists, and what it brings.
#[derive(Debug, PartialEq)]
pub struct Substance {
    /// Name, by which it can be asked for.
    pub name: &'static str,
    /// Formula.
    pub formula: &'static str,
    /// Text form of the analyte it makes standards of.
    pub(super) of: &'static str,
    /// What a gram brings.
    pub(super) brings: Brings,
    /// Content as a share, from least to most: purity, moisture, water of crystallisation gained or lost. Common practice.
    pub content: (f64, f64),
    /// How long stock and standards keep. Common practice.
    pub keeps: &'static str,
    /// What to be careful of.
    pub cautions: &'static [&'static str],
}

/// What a gram of a substance brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Brings {
    /// mmol of a basis.
    Millimole(f64, Species),
    /// mg of the keeper's own analyte, such as calcium.
    Milligram(f64),
    /// A solution: what a mL brings depends on its strength.
    Ammonia,
}

/// The water standards are made up with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matrix {
    /// De-ionised or distilled water.
    Pure,
    /// Fresh artificial sea water, 35 g/kg, made of a salt mix without nitrogen.
    SaltMix,
    /// 35 g of plain sodium chloride in a litre: a salt mix brings what is to be measured.
    PlainSalt,
}

impl Matrix {
    /// For an analyte in sea water.
    pub fn marine(analyte: &Analyte) -> Self {
        let in_the_mix = matches!(analyte, Analyte::Alkalinity | Analyte::Hardness)
            || matches!(analyte, Analyte::Other(name) if name == "calcium" || name == "magnesium");
        if in_the_mix { Self::PlainSalt } else { Self::SaltMix }
    }

    /// Grams of salt in a litre.
    pub fn salt_g_l(self) -> f64 {
        match self {
            Self::Pure => 0.0,
            Self::SaltMix | Self::PlainSalt => 35.0,
        }
    }

    /// g/mL at about 22 °C: pure water 0.998; sea water of 35 g/kg 1.024 (UNESCO 1981), salt solution of 35 g/L about 1.023.
    pub(super) fn density(self) -> f64 {
        match self {
            Self::Pure => 0.998,
            Self::SaltMix => 1.024,
            Self::PlainSalt => 1.023,
        }
    }

    /// What it is and what to watch.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Pure => "Make all up with de-ionised or distilled water; the zero standard is this water itself.",
            Self::SaltMix => {
                "Make the standards up with fresh artificial sea water, 35 g of salt mix in a litre of pure water; the zero standard is \
                 this water itself. Salt mixes can hold traces: if its zero shows more colour than pure water does, use another one. \
                 Stock and weaker solutions are made with pure water."
            }
            Self::PlainSalt => {
                "Make the standards up with 35 g of plain sodium chloride (no iodine, no anti-caking agent) in a litre of pure water: a salt \
                 mix already holds what is to be measured. This stands for most of sea water's effect, not for all of it."
            }
        }
    }
}

const BEFORE_ALL: &str = "Follow the label of what you use and local rules before anything said here; a bought standard of stated \
     concentration is the safer way.";
const KEEP_AWAY: &str = "Label every bottle with content, date and 'do not drink'; keep it from children, animals and food, and use no \
     kitchen ware for food afterwards.";

/// Molar masses in g/mol by the atomic masses of `species`, with K 39.098, Na 22.990, Mg 24.305, S 32.06, Cl 35.45.
const POTASSIUM_NITRATE: f64 = 101.102;
const SODIUM_NITRATE: f64 = 84.994;
const SODIUM_NITRITE: f64 = 68.995;
const EPSOM_SALT: f64 = 246.466;
const CALCIUM_CHLORIDE_2: f64 = 147.008;
const POTASSIUM_PHOSPHATE: f64 = 136.084;
const CALCIUM: f64 = 40.078;
const MAGNESIUM: f64 = 24.305;

const BAKING_SODA_KEEPS: &str = "Stock and standards a week in full, closed bottles; they give off carbon dioxide and the pH drifts, the alkalinity less. \
     Common practice.";
const HARDNESS_KEEPS: &str = "Stock a year, standards a month, closed. Common practice.";
const EPSOM_CAUTIONS: &[&str] = &[
    BEFORE_ALL,
    KEEP_AWAY,
    "Take crystals from a closed pack: in dry air they lose water and weigh in too strong.",
    "Magnesium alone: tests that take calcium and magnesium differently show it.",
];
const CALCIUM_CAUTIONS: &[&str] = &[
    BEFORE_ALL,
    KEEP_AWAY,
    "It warms the water as it dissolves and stings in wounds and eyes: glasses and gloves, salt into water, never the other way.",
    "It draws water from the air: use the dihydrate from a freshly opened pack, never a de-icer.",
];

/// All substances; of an analyte the first is the usual one.
pub(super) const ALL: &[Substance] = &[
    Substance {
        name: "ammonium chloride",
        formula: "NH4Cl",
        of: "ammonia",
        brings: Brings::Millimole(1000.0 / molar::AMMONIUM_CHLORIDE, Species::AmmoniaN),
        content: (0.98, 1.0),
        keeps: "Stock half a year in a closed bottle in the dark, cool; standards the same day. Common practice.",
        cautions: &[
            BEFORE_ALL,
            KEEP_AWAY,
            "Harmful if swallowed and irritating to the eyes: no dust, wash your hands. Never bring it together with bleach or lye.",
        ],
    },
    Substance {
        name: "household ammonia",
        formula: "NH3 in water",
        of: "ammonia",
        brings: Brings::Ammonia,
        content: (0.9, 1.0),
        keeps: "Stock a month in a full, closed bottle, cool: ammonia escapes; standards the same day. Common practice.",
        cautions: &[
            BEFORE_ALL,
            KEEP_AWAY,
            "The fumes burn eyes and lungs: open air or an open window, glasses and gloves. NEVER with bleach or other chlorine cleaners: poisonous gas.",
            "Only plain ammonia in water, without scent, colour or soap. An opened bottle is weaker than its label says.",
        ],
    },
    Substance {
        name: "sodium nitrite",
        formula: "NaNO2",
        of: "nitrite",
        brings: Brings::Millimole(1000.0 / SODIUM_NITRITE, Species::NitriteN),
        content: (0.97, 1.0),
        keeps: "Stock three months in a full, closed bottle in the dark, cool; standards the same day: air and bacteria make nitrate of it. \
         Common practice.",
        cautions: &[
            BEFORE_ALL,
            KEEP_AWAY,
            "Nitrite salt is POISONOUS: a gram or two can kill a person, and it looks like table salt. Never in a kitchen, never unlabelled; \
             in many places it is not sold to households. Buy a ready nitrite standard if you can.",
            "It feeds fire and gives poisonous gas with acids. Curing salt for meat holds only 0.4 to 6 % nitrite and is no substitute here.",
        ],
    },
    Substance {
        name: "potassium nitrate",
        formula: "KNO3",
        of: "nitrate",
        brings: Brings::Millimole(1000.0 / POTASSIUM_NITRATE, Species::NitrateN),
        content: (0.98, 1.0),
        keeps: "Stock half a year, closed, in the dark; standards a week in the cold. Common practice.",
        cautions: &[
            BEFORE_ALL,
            KEEP_AWAY,
            "An oxidiser: it feeds fire. Away from heat, flames, sugar, paper and everything else that burns; in some places its sale is restricted.",
        ],
    },
    Substance {
        name: "sodium nitrate",
        formula: "NaNO3",
        of: "nitrate",
        brings: Brings::Millimole(1000.0 / SODIUM_NITRATE, Species::NitrateN),
        content: (0.97, 1.0),
        keeps: "Stock half a year, closed, in the dark; standards a week in the cold. Common practice.",
        cautions: &[
            BEFORE_ALL,
            KEEP_AWAY,
            "An oxidiser: it feeds fire. Away from heat, flames, sugar, paper and everything else that burns; in some places its sale is restricted.",
            "It draws water from the air: use it from a closed pack.",
        ],
    },
    Substance {
        name: "baking soda",
        formula: "NaHCO3",
        of: "alkalinity",
        // Takes up one acid; calcium carbonate, the basis, two.
        brings: Brings::Millimole(500.0 / molar::BICARBONATE, Species::CalciumCarbonate),
        content: (0.98, 1.0),
        keeps: BAKING_SODA_KEEPS,
        cautions: &[
            BEFORE_ALL,
            "Pure baking soda, not baking powder, which holds acid and starch. Dissolve it cold: heat turns it into soda.",
        ],
    },
    Substance {
        name: "calcium chloride dihydrate",
        formula: "CaCl2·2H2O",
        of: "hardness",
        brings: Brings::Millimole(1000.0 / CALCIUM_CHLORIDE_2, Species::CalciumCarbonate),
        content: (0.94, 1.01),
        keeps: HARDNESS_KEEPS,
        cautions: CALCIUM_CAUTIONS,
    },
    Substance {
        name: "epsom salt",
        formula: "MgSO4·7H2O",
        of: "hardness",
        brings: Brings::Millimole(1000.0 / EPSOM_SALT, Species::CalciumCarbonate),
        content: (0.98, 1.03),
        keeps: HARDNESS_KEEPS,
        cautions: EPSOM_CAUTIONS,
    },
    Substance {
        name: "calcium chloride dihydrate",
        formula: "CaCl2·2H2O",
        of: "calcium",
        brings: Brings::Milligram(1000.0 * CALCIUM / CALCIUM_CHLORIDE_2),
        content: (0.94, 1.01),
        keeps: HARDNESS_KEEPS,
        cautions: CALCIUM_CAUTIONS,
    },
    Substance {
        name: "epsom salt",
        formula: "MgSO4·7H2O",
        of: "magnesium",
        brings: Brings::Milligram(1000.0 * MAGNESIUM / EPSOM_SALT),
        content: (0.98, 1.03),
        keeps: HARDNESS_KEEPS,
        cautions: EPSOM_CAUTIONS,
    },
    Substance {
        name: "potassium dihydrogen phosphate",
        formula: "KH2PO4",
        of: "phosphate",
        brings: Brings::Millimole(1000.0 / POTASSIUM_PHOSPHATE, Species::PhosphateP),
        content: (0.98, 1.0),
        keeps: "Stock three months in the cold; standards the same day. Common practice.",
        cautions: &[BEFORE_ALL, KEEP_AWAY],
    },
];

impl Substance {
    /// Those that make standards of an analyte, the usual one first.
    pub fn of(analyte: &Analyte) -> Vec<&'static Substance> {
        ALL.iter().filter(|s| s.of == analyte.as_str()).collect()
    }

    /// How much of `unit` a gram in a litre makes, if the two have to do with one another; of a solution, a mL.
    pub(super) fn per_litre(&self, unit: &Unit, ammonia_g_ml: Option<f64>) -> Option<f64> {
        let mmol = |mmol: f64, species| Quantity::new(mmol, Unit::of(Measure::Millimole, species)).to(unit).ok();
        match self.brings {
            Brings::Millimole(amount, species) => mmol(amount, species).map(|q| q.value),
            Brings::Milligram(mg) => unit.as_str().starts_with("mg/L ").then_some(mg),
            Brings::Ammonia => {
                mmol(1000.0 * ammonia_g_ml? / Species::Ammonia.molar_mass(), Species::AmmoniaN).map(|q| q.value)
            }
        }
    }
}

/// A ready-made buffer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buffer {
    /// pH at 25 °C.
    pub ph: f64,
    /// Standard deviation, as far as bought solutions, used at 20 to 30 °C and soon after opening, go.
    pub sd: f64,
}

/// Usual ready buffers between `low` and `high`, and the nearest beyond each end where there is none. pH at 25 °C of phthalate, equimolal
/// phosphate, borax and carbonate: NIST/IUPAC primary values 4.005, 6.865, 9.180, 10.012; 7.00 is a common technical one. ±0.05 is
/// common practice.
pub fn buffers(low: f64, high: f64) -> Vec<Buffer> {
    const READY: [f64; 5] = [4.01, 6.86, 7.0, 9.18, 10.01];
    // A buffer half a unit beyond the shades still shows which way the colours run.
    let near = READY.into_iter().filter(|ph| (low - 0.5..=high + 0.5).contains(ph));
    near.map(|ph| Buffer { ph, sd: 0.025 }).collect()
}

/// Grams of ammonia in a mL of a solution.
pub(super) fn g_ml(strength: crate::water::Strength) -> Result<f64, StateError> {
    strength.g_ml()
}

impl Buffer {
    /// What to know about ready buffers.
    pub fn said(marine: bool) -> &'static [&'static str] {
        const PLAIN: &[&str] = &[
            BEFORE_ALL,
            "Buy ready buffer solutions, or sachets to dissolve as they say, and use them at 20 to 30 °C; ±0.05 is for fresh ones.",
            "What is mixed at home from soda or phosphates takes up or gives off carbon dioxide and is no pH standard.",
            "An opened bottle keeps some months, what was poured out not at all: never pour it back. Common practice.",
        ];
        const MARINE: &[&str] = &[
            BEFORE_ALL,
            "Buy ready buffer solutions, or sachets to dissolve as they say, and use them at 20 to 30 °C; ±0.05 is for fresh ones.",
            "In sea water indicator dyes show another colour than in these buffers of the same pH (the salt error, some tenths): there are buffers \
             made with artificial sea water; with plain ones readings of a marine tank stay in doubt.",
            "An opened bottle keeps some months, what was poured out not at all: never pour it back. Common practice.",
        ];
        if marine { MARINE } else { PLAIN }
    }
}
