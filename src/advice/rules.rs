//! The rules and their thresholds, each with where it comes from.

use super::book::Water;

macro_rules! rules {
    ($($name:ident $code:literal, $source:literal;)*) => {
        /// A rule a statement rests on. The text form is stable.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[non_exhaustive]
        pub enum Rule { $(#[doc = $source] $name,)* }

        impl Rule {
            /// All rules.
            pub const ALL: &'static [Rule] = &[$(Rule::$name,)*];

            /// The stable text form, such as `free-ammonia`.
            pub fn code(self) -> &'static str {
                match self { $(Rule::$name => $code,)* }
            }

            /// Where the rule comes from.
            pub fn source(self) -> &'static str {
                match self { $(Rule::$name => $source,)* }
            }
        }
    };
}

rules! {
    FreeAmmonia "free-ammonia", "Fish are harmed from 0.05 mg/L NH3-N (University of Florida FA16); 0.02 is kept as a line before it, 0.20 near the acute values of US EPA 2013. Free share after Emerson 1975, with salt after Bell 2007.";
    NitriteLevel "nitrite-level", "Fresh water 0.25, 0.5 and 2.0 mg/L of the ion, common practice; ten times as much chloride keeps it out of fish (SRAC 462). Sea water 0.5, 5 and 50, common practice.";
    NitrateLevel "nitrate-level", "20, 40 and 80 mg/L of the ion, common practice; long-term effects seen from 44 (Camargo, Alonso & Salamanca 2005).";
    PhRange "ph-range", "6.5 to 9.0 for life in fresh water (US EPA); 7.8 to 8.6 in sea water, common practice.";
    TemperatureSwing "temperature-swing", "More than 2 °C up or 1 °C down within a day (veterinary text on water quality).";
    AlkalinityLow "alkalinity-low", "Below 3 German degrees the pH can fall suddenly, common practice; nitrification uses 0.40 degree per mg/L N, stoichiometry.";
    OldReading "old-reading", "Past the time of the next test a reading tells nothing about now.";
    Entry "entry", "What is dated in the future, or stands twice, is most likely a slip.";
    NoAnimals "no-animals", "Without animals nothing is harmed by the water as it is.";
    BoundAmmonia "bound-ammonia", "Ammonia bound by a conditioner still colours the test for 24 to 48 hours, common practice; sources disagree which reagents are fooled.";
    TapChloramine "tap-chloramine", "Chloramine broken by a conditioner leaves 0.1975 mg/L N per mg/L chlorine, stoichiometry.";
    NoneShown "none-shown", "A result counts as none only when its upper bound lies below the test's first standard, inside its reading time, without a finding that bars it.";
    OutOfTime "out-of-time", "Read outside its time a colour is too light or too dark: kept, and not counted.";
    AboveScale "above-scale", "Two results above the scale show no trend; a diluted sample does.";
    DoseNotSeen "dose-not-seen", "A dose must show in the ammonia test within the next hours.";
    NitrogenBalance "nitrogen-balance", "Ammonia, nitrite and nitrate together hold what was dosed, within 40 %: mass balance and the error of colour tests.";
    NeverChanges "never-changes", "A test that never shows anything, though there was something to show, may be dead.";
    Jump "impossible-jump", "No filter and no food change the water that fast without an event.";
    NitrateReadsNitrite "nitrate-reads-nitrite", "Nitrate tests turn nitrate into nitrite and read both: 1 mg/L nitrite counts as at least 1.348 mg/L nitrate.";
    StageRule "stage", "Ammonia falls, then nitrite rises and falls, then nitrate stays: the order of nitrification.";
    Proof "proof", "At least 1 mg/L N, none of ammonia and nitrite 20 to 28 hours later, common practice; twice in a row before it counts.";
    Declared "declared", "The keeper declared the tank established.";
    Lapse "lapse", "Nitrifiers without ammonia, after medicine or without flow may be lost, common practice.";
    SameDay "same-day", "A stage needs ammonia and nitrite of the same day.";
    StallRule "stall", "14 days without a change, common practice; one to two weeks of high nitrite are usual.";
    DoseRule "dose", "Not before ammonia reads none, not while nitrite is above 16.4 mg/L of the ion, never above 5 mg/L N, never with animals; common practice.";
    KeepAlive "keep-alive", "Ammonia every two to three days until animals come (DeLong & Losordo; common practice).";
    ChangeRule "change", "Mass balance; at most half of the water at once, temperature within 2 °C, common practice.";
    PhRise "ph-rise", "A higher pH turns ammonium into free ammonia: Emerson 1975.";
    Forecast "forecast", "Two groups of nitrifiers after Monod, constants of Tchobanoglous et al. 2014 and others as a prior, fitted to the log; two doses in a row gone in a day is finished.";
    NitrateTrend "nitrate-trend", "Mass balance over tests and water changes; the limit is common practice.";
    RetestRule "retest", "How long a result stays of use, by danger and stage; common practice.";
    FirstHelp "first-help", "Air, no food, checks and matched water help in most troubles, common practice; an aquatic vet judges the fish.";
    SaltCaution "salt", "Salt holds nitrite off fish (SRAC 462) and harms plants and some animals.";
    DiseaseCaution "disease", "Media, plants and animals carry disease from tank to tank.";
    ConditionerCaution "conditioner", "Conditioners that reduce use oxygen too; from memory.";
    FilterCaution "filter-rinse", "Chlorine in tap water kills nitrifiers; rinse in water taken from the tank, common practice.";
    SalinitySwing "salinity-swing", "At most 1.5 g/kg a day, about 0.001 of specific gravity, common practice.";
    PhMixture "ph-mixture", "Alkalinity and dissolved inorganic carbon mix in proportion; constants of carbonic acid after Plummer & Busenberg 1982. Without both alkalinities: anything between the two waters.";
    FoodLoad "food-load", "Ammonia from food after Timmons & Ebeling, good to 30 %; food as 1 to 3 % of the body a day, protein 35 to 50 %, common practice; mass from length after Froese 2006.";
    Capacity "capacity", "What a filter was shown to oxidise in a day is what it is known to do, no more: mass balance of a cleared dose or of food.";
    MediaShare "media-share", "Nitrifiers sit on the media, so their share goes with the media; what a rinse or a move costs is common practice.";
    StockSteps "stock-steps", "First no more than is shown to be covered, then at most half as much again, two weeks and two results of none apart, common practice.";
    ConditionerNeed "conditioner-need", "New tap water carries chlorine or chloramine, up to 4 mg/L as Cl2 where US rules hold (EPA MRDL): conditioner for all of it, as its label says.";
    AmmoniaCaution "ammonia-solution", "Ammonia solution burns eyes, skin and lungs and makes poisonous gas with bleach (state health departments).";
    DueRule "due", "How often a test is made when nothing is wrong, common practice.";
    ControlDue "control-due", "A known standard once a month for every kit in use, common practice: a dead reagent shows a perfect zero.";
    ReagentCaution "reagents", "Bleach in ammonia reagents makes poisonous gas with ammonia and with acid (state health departments).";
}

/// Hours between a proof's dose and its tests. The one exception to 'no day counts'.
pub const PROOF_HOURS: (f64, f64) = (20.0, 28.0);
/// mg/L NH₃-N a dose must have to prove anything.
pub const PROOF_DOSE: f64 = 1.0;
/// Hours within which ammonia and nitrite are of one day.
pub const SAME_DAY_HOURS: f64 = 24.0;
/// First standard of a test where nobody said: mg/L NH₃-N, mg/L NO₂⁻, mg/L NO₃⁻. Common practice.
pub const FIRST_STANDARD: (f64, f64, f64) = (0.25, 0.25, 5.0);
/// Starting dose, mg/L NH₃-N: lower doses avoid a pile of nitrite.
pub const START_DOSE: f64 = 2.0;
/// Never more than this in the tank, mg/L NH₃-N.
pub const MOST_AMMONIA: f64 = 5.0;
/// No dose above this, mg/L NO₂⁻ (5 mg/L as N).
pub const MOST_NITRITE: f64 = 16.42;
/// mg/L free NH₃-N from which caution, danger and urgent begin.
pub const FREE_AMMONIA: [f64; 3] = [0.02, 0.05, 0.20];
/// mg/L NO₂⁻ in fresh water.
pub const NITRITE_FRESH: [f64; 3] = [0.25, 0.5, 2.0];
/// mg/L NO₂⁻ in sea water.
pub const NITRITE_MARINE: [f64; 3] = [0.5, 5.0, 50.0];
/// mg/L NO₃⁻ in fresh water.
pub const NITRATE_FRESH: [f64; 3] = [20.0, 40.0, 80.0];
/// mg/L NO₃⁻ in sea water.
pub const NITRATE_MARINE: [f64; 3] = [20.0, 40.0, 90.0];
/// mg/L NO₂⁻ from which a nitrate result is unreliable.
pub const NITRITE_SPOILS_NITRATE: f64 = 0.5;
/// Hours for which a conditioner's bound ammonia shows.
pub const BOUND_HOURS: f64 = 48.0;
/// German degrees below which alkalinity is low.
pub const LOW_ALKALINITY: f64 = 3.0;
/// The usual pH of such water, from and to.
pub fn usual_ph(water: Water) -> (f64, f64) {
    if water == Water::Fresh { (6.5, 9.0) } else { (7.8, 8.6) }
}
/// Days without a change that make a stall.
pub const STALL_DAYS: f64 = 14.0;
/// Days of none with animals that stand for a second proof.
pub const ZERO_DAYS: f64 = 7.0;
/// Days without ammonia after which 'cycled' lapses.
pub const SOURCE_DAYS: f64 = 7.0;
/// By how much of the nitrogen added the nitrogen found may miss it.
pub const BALANCE: f64 = 0.4;

/// Hours to the next test.
pub mod retest {
    /// Danger that may kill.
    pub const URGENT: f64 = 12.0;
    /// Danger, and caution.
    pub const DANGER: f64 = 24.0;
    /// After a water change against a danger, to see what it did.
    pub const AFTER_CHANGE: f64 = 2.0;
    /// Animals in a tank that is not shown to be cycled.
    pub const FISH_IN: f64 = 24.0;
    /// Fishless, before ammonia is used.
    pub const FISHLESS_EARLY: f64 = 72.0;
    /// Fishless, while it is.
    pub const FISHLESS: f64 = 48.0;
    /// A proof.
    pub const PROOF: f64 = 24.0;
    /// Perhaps a trace, which does no harm at this pH.
    pub const TRACE: f64 = 48.0;
    /// After animals came, filter or media were changed.
    pub const AFTER_EVENT: f64 = 48.0;
    /// First month with animals.
    pub const FIRST_MONTH: f64 = 168.0;
    /// An established tank.
    pub const ESTABLISHED: f64 = 336.0;
}

/// Hours from one test to the next when nothing is wrong. Common practice.
pub mod every {
    /// Nitrate, and from 20 mg/L on.
    pub const NITRATE: f64 = 336.0;
    pub const NITRATE_HIGH: f64 = 168.0;
    /// pH and alkalinity, and while doses use alkalinity up.
    pub const BUFFER: f64 = 336.0;
    pub const BUFFER_DOSING: f64 = 168.0;
    /// Salinity of brackish and sea water.
    pub const SALINITY: f64 = 168.0;
    /// The tap.
    pub const TAP: f64 = 2160.0;
    /// A dose is looked for from then on, and no more after.
    pub const ARRIVED: (f64, f64) = (1.0, 3.0);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::LIMITS;

    #[test]
    fn codes_are_unique_and_plain() {
        let mut seen = std::collections::BTreeSet::new();
        for r in Rule::ALL {
            assert!(seen.insert(r.code()) && r.code().chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{r:?}");
            assert!(r.source().ends_with('.'), "{r:?}");
        }
    }

    #[test]
    fn thresholds_stand_among_the_limits_with_their_sources() {
        let has = |what: &str, value: f64, unit: &str| {
            LIMITS.iter().any(|l| l.what == what && l.value == Some(value) && l.unit.starts_with(unit))
        };
        assert!(has("un-ionised ammonia", FREE_AMMONIA[1], "mg/L NH3-N"));
        assert!(
            has("nitrite", NITRITE_FRESH[0], "mg/L nitrite ion") && has("nitrite", NITRITE_FRESH[1], "mg/L nitrite")
        );
        assert!(
            has("nitrate", NITRATE_FRESH[1], "mg/L nitrate ion") && has("nitrate", NITRATE_MARINE[0], "mg/L nitrate")
        );
        assert!(has("KH", LOW_ALKALINITY, "degrees"));
    }
}
