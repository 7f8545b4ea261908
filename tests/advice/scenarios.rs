//! The situations of `fixtures/published/water/scenarios.toml`: numbers from the file, outcomes as it names them.

use super::*;
use crate::published::toml_file;

struct Case(toml::Table);

impl Case {
    fn of(id: &str) -> Case {
        let file = toml_file("water/scenarios.toml");
        let all = file["scenario"].as_array().unwrap();
        assert_eq!(all.len(), 21, "situations in the file");
        let one = all.iter().find(|s| s["id"].as_str() == Some(id));
        Case(one.unwrap_or_else(|| panic!("{id}")).as_table().unwrap().clone())
    }

    fn n(&self, key: &str) -> f64 {
        let v = self.0.get(key).unwrap_or_else(|| panic!("{key}"));
        v.as_float().or(v.as_integer().map(|i| i as f64)).unwrap()
    }

    fn animals(&self) -> Animals {
        // Where nobody says, animals count as present.
        match self.0.get("fish") {
            Some(fish) if !fish.as_bool().unwrap() => Animals::None,
            _ => Animals::Present,
        }
    }

    /// Temperature and pH, where the file has them.
    fn water(&self, s: &mut Story) {
        for (key, kind) in [("temp_c", Kind::Temperature), ("ph", Kind::Ph), ("kh", Kind::Alkalinity)] {
            if self.0.contains_key(key) {
                s.read(0.0, kind, self.n(key));
            }
        }
    }

    fn story(&self, water: Water) -> Story {
        let mut s = Story::new(water, self.animals());
        self.water(&mut s);
        s
    }

    /// Hours to the next test.
    fn retest(&self, r: &Review) {
        let h = r.next.at.duration_since(r.now).as_secs_f64() / 3600.0;
        assert_eq!(h, self.n("expect_retest_h"), "{}", r.next.statement.words);
    }
}

#[test]
fn s01_all_well() {
    let c = Case::of("S01");
    let mut s = c.story(Water::Fresh).established();
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, c.n("nitrite_ion"));
    s.read(0.0, Kind::Nitrate, c.n("nitrate_ion"));
    let r = s.review(0.0);
    assert_eq!((r.stage.stage, r.stage.declared), (Stage::Cycled, true));
    assert_eq!((r.danger.level, r.danger.may_be, r.danger.unknown_since), (Level::None, None, None));
    assert_eq!(r.today.len(), 1);
    has(&r, "Nothing beyond the usual care");
    c.retest(&r);
}

#[test]
fn s02_a_trace_that_cannot_matter() {
    let c = Case::of("S02");
    let mut s = c.story(Water::Fresh).established();
    s.range(0.0, Kind::Ammonia, c.n("tan_n_low"), c.n("tan_n_high"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    near(free(&r).high, c.n("nh3_n_high"), 2e-3);
    assert_eq!((r.danger.level, r.danger.may_be), (Level::None, None));
    c.retest(&r);
}

#[test]
fn s03_the_same_trace_at_high_ph() {
    let c = Case::of("S03");
    let mut s = c.story(Water::Fresh).established();
    s.range(0.0, Kind::Ammonia, c.n("tan_n_low"), c.n("tan_n_high"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    near(free(&r).high, c.n("nh3_n_high"), 1e-3);
    assert_eq!((r.danger.level, r.danger.may_be), (Level::Caution, None));
    has(&r, "test again with a fresh vial");
    c.retest(&r);
}

#[test]
fn s04_nitrite_just_appears() {
    let c = Case::of("S04");
    let mut s = c.story(Water::Fresh);
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, c.n("nitrite_ion"));
    s.read(0.0, Kind::Nitrate, c.n("nitrate_ion"));
    s.tap(Kind::Nitrate, c.n("tap_nitrate_ion"));
    let r = s.review(0.0);
    assert_eq!(r.stage.stage, Stage::AmmoniaUsed);
    assert_eq!(r.danger.level, Level::None);
    has(&r, "Do not add ammonia");
    c.retest(&r);
}

#[test]
fn s05_s06_nitrite_above_the_scale() {
    let c = Case::of("S05");
    let mut s = c.story(Water::Fresh);
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.above(0.0, Kind::Nitrite, c.n("nitrite_ion_over"));
    let r = s.review(0.0);
    assert_eq!(r.stage.stage, Stage::NitriteHump);
    has(&r, "(1+4)");
    has(&r, "Dose no ammonia until nitrite is known to be below 16.42");
    c.retest(&r);
    let c = Case::of("S06");
    let dilution = tintline::water::Dilution::new(c.n("diluent_ml") / c.n("sample_ml")).unwrap();
    assert_eq!(dilution.tank(c.n("reading"), c.n("diluent_conc")), Some(c.n("expect_value")));
}

#[test]
fn s07_first_proof() {
    let c = Case::of("S07");
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.happens(0.0, Happened::Dosed(Some(c.n("dose_n"))));
    let h = c.n("hours_after");
    s.read(h, Kind::Ammonia, c.n("tan_n"));
    s.read(h, Kind::Nitrite, c.n("nitrite_ion"));
    s.read(h, Kind::Nitrate, c.n("nitrate_ion_rise"));
    let r = s.review(h);
    assert_eq!((r.stage.stage, r.stage.proofs), (Stage::ProofOnce, 1));
    has(&r, "again and test in 24 hours");
    c.retest(&r);
    // Tested too early, too late, or beside a water change, the same readings prove nothing.
    for (dose, change) in [(5.0, None), (-5.0, None), (0.0, Some(12.0))] {
        let mut t = Story { book: s.book.clone() };
        t.book.events[0].at = at(dose);
        t.book.events.extend(change.map(|h| Happening {
            entry: "change".into(),
            at: at(h),
            what: Happened::Changed(Some(0.5)),
            words: "water changed".into(),
        }));
        assert!(t.review(h).stage.stage < Stage::ProofOnce, "{dose} {change:?}");
    }
}

#[test]
fn s08_ammonia_danger() {
    let c = Case::of("S08");
    let mut s = c.story(Water::Fresh).established();
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, 0.0);
    s.tap(Kind::Ammonia, 0.0);
    let r = s.review(0.0);
    near(free(&r).best.unwrap(), c.n("nh3_n"), 1e-3);
    assert_eq!(r.danger.level, Level::Danger);
    has(&r, "change 50 % of the water now");
    has(&r, &format!("leaves {} mg/L free", c.n("nh3_n_after_50pct_tap0")));
    c.retest(&r);
}

#[test]
fn s09_sea_water() {
    let c = Case::of("S09");
    let mut s = Story::new(Water::Marine, Animals::Present).established();
    c.water(&mut s);
    s.read(0.0, Kind::Salinity, c.n("salinity"));
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    near(free(&r).best.unwrap(), c.n("nh3_n_sea"), 1e-3);
    assert_eq!(r.danger.level, Level::Caution);
    c.retest(&r);
}

#[test]
fn s10_bound_by_a_conditioner() {
    let c = Case::of("S10");
    let mut s = c.story(Water::Fresh).established();
    s.happens(-c.n("binder_hours_ago"), Happened::Conditioner { binds: true });
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    near(free(&r).best.unwrap(), c.n("nh3_n_if_free"), 2e-3);
    assert_eq!((r.danger.level, r.danger.may_be), (Level::Caution, None));
    has(&r, "may be bound");
    has(&r, "watch nitrite");
    has(&r, "24 to 48 hours");
}

#[test]
fn s11_stalled_by_low_alkalinity() {
    let c = Case::of("S11");
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.happens(-1.0, Happened::Dosed(Some(3.0)));
    for day in 0..=c.n("days_flat") as u32 {
        s.read(f64::from(day) * 24.0, Kind::Ammonia, c.n("tan_n"));
        s.read(f64::from(day) * 24.0, Kind::Nitrite, 0.0);
    }
    let end = c.n("days_flat") * 24.0;
    s.read(end, Kind::Ph, c.n("ph"));
    s.read(end, Kind::Alkalinity, c.n("kh"));
    s.read(end, Kind::Temperature, c.n("temp_c"));
    let r = s.review(end);
    assert_eq!(r.stage.stage, Stage::AmmoniaWaiting);
    assert_eq!(r.stage.stall.as_ref().unwrap().days, 15.0);
    has(&r, "raise alkalinity with 3 g sodium hydrogen carbonate per 100 L and degree");
    assert!(s.review(13.0 * 24.0).stage.stall.is_none());
    // With fish in the tank the same advice would poison them.
    s.book.facts.animals = Animals::Present;
    let r = s.review(end);
    has_not(&r, "sodium hydrogen carbonate");
    has(&r, "Never raise pH or alkalinity while ammonium and animals");
}

#[test]
fn s12_a_change_that_would_poison() {
    let c = Case::of("S12");
    let mut s = c.story(Water::Fresh).established();
    s.read(0.0, Kind::Ph, c.n("ph_before"));
    s.tap(Kind::Ph, c.n("ph_after"));
    s.read(0.0, Kind::Ammonia, c.n("tan_n_before"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    near(free(&r).best.unwrap(), c.n("nh3_n_before"), 1e-2);
    let warned = r.cautions.iter().find(|s| s.words.contains("Beware of a large change")).expect("a warning");
    assert_eq!(warned.rule, Rule::PhRise);
    assert!(warned.words.contains("from 0.00569 to 0.0691 mg/L NH3-N, 12.1 times"), "{}", warned.words);
    assert!(warned.words.contains("small amounts several times, or bind"), "{}", warned.words);
    assert_eq!((c.n("nh3_n_after"), c.n("times_higher")), (0.0691, 12.1));
}

#[test]
fn s13_nitrate_that_the_tap_forbids() {
    let c = Case::of("S13");
    let mut s = Story::new(Water::Fresh, Animals::Present).established();
    s.read(0.0, Kind::Ph, 7.2);
    s.read(0.0, Kind::Temperature, 25.0);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, 0.0);
    s.read(0.0, Kind::Nitrate, c.n("nitrate_ion"));
    s.tap(Kind::Nitrate, c.n("tap_nitrate_ion"));
    let r = s.review(0.0);
    has(
        &r,
        "no water change can reach 30 mg/L, the tap itself has 40; the best is that, half of the water now makes 60",
    );
    has(&r, "Other source water, plants and less food");
    assert_eq!((c.n("target"), c.n("after_50pct")), (30.0, 60.0));
}

#[test]
fn s14_chloramine_explains_it() {
    let c = Case::of("S14");
    let mut s = Story::new(Water::Fresh, Animals::Present).established();
    s.tap(Kind::Chlorine, c.n("tap_total_cl2"));
    s.happens(-3.0, Happened::Changed(Some(c.n("fraction"))));
    s.read(0.0, Kind::Ph, 7.4);
    s.read(0.0, Kind::Temperature, 25.0);
    s.read(0.0, Kind::Ammonia, c.n("tan_n_read"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    has(&r, "Explained by the tap: chloramine in the new water brings 0.296 mg/L N. It is ammonia all the same.");
    assert!((c.n("tan_n_expected") - 0.2963).abs() < 1e-9);
}

#[test]
fn s15_nitrate_while_nitrite_is_high() {
    let c = Case::of("S15");
    let mut s = Story::new(Water::Fresh, Animals::Present);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, c.n("nitrite_ion"));
    s.read(0.0, Kind::Nitrate, c.n("nitrate_ion"));
    let r = s.review(0.0);
    has(&r, "up to 6.74 mg/L of it can be nitrite, more with some reagents");
    near(6.74, c.n("nitrite_contribution_as_nitrate"), 1e-3);
}

#[test]
fn s16_nitrogen_is_missing() {
    let c = Case::of("S16");
    let mut s = Story::new(Water::Fresh, Animals::None);
    for i in 0..3 {
        s.happens(f64::from(i) * 200.0, Happened::Dosed(Some(c.n("doses_n_total") / 3.0)));
    }
    let end = c.n("days") * 24.0;
    for (kind, key) in [(Kind::Ammonia, "tan_n"), (Kind::Nitrite, "nitrite_ion"), (Kind::Nitrate, "nitrate_ion")] {
        s.read(end, kind, c.n(key));
    }
    let r = s.review(end);
    has(&r, "the test itself is in doubt");
    has(&r, "about 26.6 mg/L nitrate would be expected");
    has(&r, "shaken hard");
    has(&r, "not logged");
    near(26.6, c.n("expect_nitrate_ion"), 2e-3);
    // Plants take it up; a change of unknown size forbids the sum.
    s.book.facts.planted = Some(true);
    has_not(&s.review(end), "Nitrogen is missing");
    s.book.facts.planted = Some(false);
    s.happens(500.0, Happened::Changed(None));
    has_not(&s.review(end), "Nitrogen is missing");
}

#[test]
fn s17_ph_above_its_scale() {
    let c = Case::of("S17");
    let mut s = c.story(Water::Fresh).established();
    s.above(0.0, Kind::Ph, c.n("ph_at_least"));
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    near(free(&r).low, c.n("nh3_n_at_least"), 3e-3);
    assert_eq!((r.danger.level, r.danger.may_be), (Level::Caution, Some(Level::Urgent)));
    has(&r, "Free ammonia at least 0.024 mg/L NH3-N");
    has(&r, "test of a higher range");
    assert!(r.next.tests.contains(&Kind::Ph) && r.next.at == r.now, "{:?}", r.next);
}

#[test]
fn s18_a_late_photo_counts_for_nothing() {
    let c = Case::of("S18");
    let facts = TestFacts {
        wait_minutes: Some(c.n("wait_min")),
        window_minutes: Some(c.n("window_min")),
        ..TestFacts::default()
    };
    assert_eq!(facts.timing(c.n("minutes_after_reagent")), Timing::Late);
    let last = c.n("wait_min") + c.n("window_min");
    assert_eq!(
        TestFacts { window_minutes: None, ..facts }.timing(last),
        Timing::InTime,
        "ten minutes, where the kit does not say"
    );
    assert_eq!([facts.timing(last), facts.timing(c.n("wait_min") - 1.0)], [Timing::InTime, Timing::Early]);
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.read(0.0, Kind::Ammonia, 0.0).timing = Timing::Late;
    s.read(0.0, Kind::Nitrite, 0.0);
    let r = s.review(0.0);
    assert_eq!((r.stage.stage, r.stage.missing.clone()), (Stage::CannotTell, vec![Kind::Ammonia]));
    has(&r, "read after its time");
}

#[test]
fn s19_no_temperature() {
    let c = Case::of("S19");
    let mut s = Story::new(Water::Fresh, Animals::Present).established();
    c.water(&mut s);
    s.read(0.0, Kind::Ammonia, c.n("tan_n"));
    s.read(0.0, Kind::Nitrite, 0.0);
    // Not stated: the range is wider than the one the keeper would state, and asks for a thermometer.
    let r = s.review(0.0);
    assert_eq!(free(&r).best, None);
    has(&r, "nobody measured temperature: measure it");
    let range = c.0["temp_range_c"].as_array().unwrap();
    let [low, high] = [0, 1].map(|i| range[i].as_integer().unwrap() as f64);
    s.book.facts.temperature = Some(Span::between(low, high));
    let r = s.review(0.0);
    let want = c.0["nh3_n_range"].as_array().unwrap();
    near(free(&r).low, want[0].as_float().unwrap(), 3e-3);
    near(free(&r).high, want[1].as_float().unwrap(), 3e-3);
    assert_eq!((r.danger.level, r.danger.may_be), (Level::Caution, None));
}

#[test]
fn s20_chloride_against_nitrite() {
    let c = Case::of("S20");
    let mut s = Story::new(Water::Fresh, Animals::Present).established();
    s.read(0.0, Kind::Ph, 7.2);
    s.read(0.0, Kind::Temperature, 25.0);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, c.n("nitrite_ion"));
    assert_eq!(s.review(0.0).danger.level, Level::Urgent);
    s.read(0.0, Kind::Chloride, c.n("chloride"));
    let r = s.review(0.0);
    assert_eq!(r.danger.level, Level::Danger);
    has(&r, &format!("{} mg for each mg of nitrite", c.n("ratio")));
    has(&r, "harms plants");
}

#[test]
fn s21_basis() {
    use tintline::water::{Quantity, Species, Unit};
    let c = Case::of("S21");
    let q = Quantity::new(c.n("tan_as_nh4"), Unit::mg_l(Species::Ammonium));
    near(q.to(&Unit::mg_l(Species::AmmoniaN)).unwrap().value, c.n("tan_n"), 2e-4);
    near(q.to(&Unit::mg_l(Species::Ammonia)).unwrap().value, c.n("tan_as_nh3"), 2e-4);
}

/// A56, A57 of the acceptance table.
#[test]
fn nitrate_alone_is_no_cycle() {
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, 2.0);
    s.read(0.0, Kind::Nitrate, 40.0);
    assert_eq!(s.review(0.0).stage.stage, Stage::NitriteHump);
    let mut s = Story::new(Water::Fresh, Animals::None);
    s.read(0.0, Kind::Ammonia, 0.0);
    s.read(0.0, Kind::Nitrite, 0.0);
    s.read(0.0, Kind::Nitrate, 40.0);
    s.tap(Kind::Nitrate, 40.0);
    assert_eq!(s.review(0.0).stage.stage, Stage::NotStarted);
}
