//! The JSON documents as a reader outside sees them: every field named, no other taken.
#![allow(dead_code, reason = "a field that no test looks at is still decoded")]

use serde::Deserialize;

macro_rules! documents {
    ($($name:ident { $($field:ident: $type:ty,)* })*) => {$(
        #[derive(Debug, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name { $(pub $field: $type,)* }
    )*};
}

mod plan;

pub use plan::*;

documents! {
    Failed { error: Wrong, }
    Wrong { code: String, sentence: String, remedy: String, }
    Finding { code: String, severity: String, sentence: String, remedy: Option<String>, }
    Time { at: String, source: String, certainty: String, }

    TankAdded { tank: Tank, }
    TankList { tanks: Vec<Tank>, }
    TankChanged { tank: Tank, entries: Vec<String>, }
    Tank {
        id: String,
        name: String,
        zone: String,
        water: String,
        volume_l: Option<f64>,
        salinity_g_kg: Option<f64>,
        celsius: Option<f64>,
        planted: Option<bool>,
        animals: String,
        animal_count: Option<u32>,
        note: Option<String>,
    }

    EventAdded { event: Event, findings: Vec<Finding>, first_help: Vec<String>, }
    EventList { events: Vec<Event>, }
    Event {
        id: String,
        kind: String,
        tank: Option<String>,
        other_tank: Option<String>,
        at: Time,
        facts: serde_json::Map<String, serde_json::Value>,
        note: Option<String>,
        text: String,
    }

    ChartShown {
        tank: String,
        from: String,
        to: String,
        trends: Vec<Trend>,
        events: Vec<Mark>,
        file: Option<String>,
    }
    Trend { test: String, unit: String, results: Vec<Point>, limits: Vec<Limit>, }
    Point {
        entry: String,
        at: String,
        status: String,
        value: Option<f64>,
        lower: Option<f64>,
        upper: Option<f64>,
        doubtful: bool,
        text: String,
    }
    Limit { value: f64, bad: String, level: String, rule: String, source: String, }
    Mark { number: usize, at: String, text: String, }
    ReportWritten {
        tank: String,
        file: String,
        charts: usize,
        events: usize,
        results: usize,
        photos: usize,
        names: bool,
    }

    ReadDone { photos: Vec<Photo>, summary: Summary, }
    Summary {
        photos: usize,
        read: usize,
        known: usize,
        aside: usize,
        readings: usize,
        refused: usize,
        reasons: Vec<Reason>,
        late: Vec<Late>,
        moved: Vec<Moved>,
        passed_over: usize,
        dry_run: bool,
        stopped: bool,
    }
    Reason { code: String, count: usize, remedy: String, }
    Late {
        tank: Option<String>,
        analyte: String,
        readings: usize,
        from: String,
        to: String,
        before: usize,
        newest: String,
        newest_text: String,
    }
    Moved { tank: String, changed: Vec<String>, }
    Photo {
        file: String,
        photo: Option<String>,
        named_by: Option<String>,
        rule: Option<String>,
        known: bool,
        tank: Option<String>,
        clear: Option<String>,
        taken: Option<Time>,
        kit: Option<Revision>,
        card: Option<Revision>,
        place: Option<UsualPlace>,
        kept: Option<String>,
        samples: Vec<Sample>,
        findings: Vec<Finding>,
        remarks: Vec<String>,
        overlay: Option<String>,
        error: Option<Wrong>,
    }
    Revision { name: String, revision: String, }
    Sample {
        station: String,
        target: String,
        tank: Option<String>,
        label: Option<String>,
        test: String,
        analyte: String,
        status: String,
        value: Option<f64>,
        lower: Option<f64>,
        upper: Option<f64>,
        limit: Option<f64>,
        detection_limit: Option<f64>,
        unit: String,
        dilution_added: Option<f64>,
        text: String,
        refusal: Vec<Finding>,
        findings: Vec<Finding>,
        log: Noted,
    }
    Noted { did: String, entry: String, replaces: Option<String>, stands: bool, apart: Vec<String>, }

    Label {
        id: String,
        number: u32,
        words: String,
        names: String,
        kit: Option<String>,
        test: Option<String>,
        tank: Option<String>,
        analyte: Option<String>,
        value: Option<f64>,
        unit: Option<String>,
        retired: bool,
        two_meanings: bool,
    }
    LabelsPrinted { file: String, format: String, copies: u8, labels: Vec<Label>, remarks: Vec<String>, }
    LabelList { labels: Vec<Label>, }
    LabelChanged { label: Label, }
    LogAdded { readings: Vec<Reading>, findings: Vec<Finding>, }
    LogBackedUp { file: String, bytes: u64, files: usize, sha256: String, }
    LogRestored {
        added: Vec<String>,
        same: usize,
        kept: Vec<String>,
        log_added: Option<usize>,
        log_present: Option<usize>,
    }
    LogTable {
        tank: String,
        written: bool,
        added: usize,
        present: usize,
        cells: Vec<Cell>,
        wrong: Vec<WrongCell>,
    }
    Cell { line: u64, column: String, at: Time, what: String, text: String, present: bool, }
    WrongCell { line: u64, column: String, why: Wrong, }

    LogList { readings: Vec<Reading>, all: bool, }
    Reading {
        id: String,
        standing: String,
        tank: Option<String>,
        target: String,
        label: Option<String>,
        taken: Time,
        kit: Option<String>,
        test: String,
        analyte: String,
        status: String,
        value: Option<f64>,
        lower: Option<f64>,
        upper: Option<f64>,
        limit: Option<f64>,
        detection_limit: Option<f64>,
        unit: String,
        dilution_added: Option<f64>,
        text: String,
        refusal: Vec<Finding>,
        findings: Vec<Finding>,
        photo: Option<String>,
        station: Option<String>,
        origin: String,
        photos: Vec<String>,
        place: Option<UsualPlace>,
        instead_of: Option<Amount>,
    }
    Amount {
        status: String,
        value: Option<f64>,
        lower: Option<f64>,
        upper: Option<f64>,
        limit: Option<f64>,
        detection_limit: Option<f64>,
        unit: String,
        dilution_added: Option<f64>,
        text: String,
    }
    UsualPlace {
        name: Option<String>,
        called: Option<String>,
        off: Option<f64>,
        kit_off: Option<f64>,
        calibrated: bool,
        swatches: usize,
        seen: usize,
        side: Option<String>,
        text: String,
    }
    PlaceList { places: Vec<PlaceLine>, }
    PlaceLine {
        number: usize,
        name: Option<String>,
        kits: Vec<String>,
        swatches: usize,
        from: Option<String>,
        to: Option<String>,
        seen: usize,
        last_seen: Option<String>,
    }
    PlaceChanged { did: String, name: Option<String>, entry: String, }
    LogCorrected { reading: Reading, }
    WaitDone { tests: Vec<Waiting>, stopped: bool, }
    Waiting {
        entry: String,
        kit: String,
        test: String,
        tank: Option<String>,
        started: Time,
        ready: Option<String>,
        until: Option<String>,
    }
    LogUndone { undone: Vec<Undone>, }
    Undone { entry: String, did: String, by: String, stands: Option<String>, }
    LogHistory { entries: Vec<Entry>, }
    Entry {
        id: String,
        recorded: String,
        kind: String,
        undone: bool,
        change: Option<String>,
        subject: Option<String>,
        reason: Option<String>,
        says: Option<String>,
        place: Option<UsualPlace>,
    }
    LogImported { file: String, added: usize, present: usize, }
    LogMerged { other: String, added: usize, readings: usize, present: usize, dry_run: bool, }

    StatusShown { tanks: Vec<TankStatus>, }
    TankStatus {
        tank: String,
        trouble: Vec<Statement>,
        danger: Danger,
        stage: StageOf,
        forecast: Option<Finish>,
        today: Vec<Statement>,
        next: NextTest,
        doubts: Vec<Statement>,
        cautions: Vec<Statement>,
    }
    Statement { rule: String, source: String, text: String, rests_on: Vec<Basis>, age: Option<String>, }
    Basis { entry: String, text: String, at: String, }
    Danger {
        level: String,
        may_be: Option<String>,
        unknown_since: Option<String>,
        untested: bool,
        text: String,
        lines: Vec<DangerLine>,
    }
    DangerLine {
        hazard: String,
        level: String,
        may_be: Option<String>,
        unknown_since: Option<String>,
        statement: Statement,
    }
    StageOf {
        stage: String,
        text: String,
        declared: bool,
        proofs: usize,
        missing: Vec<String>,
        as_of: Option<String>,
        stalled_days: Option<f64>,
        why: Vec<Statement>,
    }
    NextTest { at: String, overdue_hours: Option<f64>, tests: Vec<String>, why: Statement, }
    PlanForecast { tank: String, finish: Finish, nitrate: Nitrate, }
    Finish {
        answer: String,
        early: Option<String>,
        middle: Option<String>,
        late: Option<String>,
        statements: Vec<Statement>,
    }
    Nitrate {
        limit: f64,
        daily: Option<f64>,
        daily_lower: Option<f64>,
        daily_upper: Option<f64>,
        without_changes: Reached,
        with_changes: Reached,
        statements: Vec<Statement>,
    }
    Reached { answer: String, early: Option<String>, late: Option<String>, }
    TankSummary { tank: String, text: String, }

    KitLine { name: String, revision: String, card: Option<String>, tests: Vec<TestLine>, }
    TestLine {
        name: String,
        analyte: String,
        unit: String,
        scale: String,
        matrix: String,
        wait_minutes: Option<f64>,
        swatches: usize,
        values: Vec<f64>,
    }
    KitChanged { kit: KitLine, }
    KitStarted { kit: KitLine, steps: Vec<Step>, }
    Step { step: String, test: Option<String>, sentence: String, command: String, }
    KitList { kits: Vec<KitLine>, }
    KitAdded { kit: KitLine, photos: Vec<Standards>, place: Option<String>, }
    KitSeries { kit: KitLine, photos: Vec<Standards>, place: Option<String>, level: f64, level_sd: f64, anchors: usize, }
    Standards { file: String, standards: Vec<Standard>, }
    Standard {
        station: String,
        test: String,
        value: f64,
        value_sd: Option<f64>,
        unit: String,
        lab: Option<[f64; 3]>,
        colour: Option<String>,
        refusal: Vec<Finding>,
    }
    KitShown { kit: KitLine, note: Option<String>, swatches: Vec<TestSwatches>, revisions: Vec<String>, }
    TestSwatches { test: String, bottle: Bottle, swatches: Vec<Swatch>, }
    Bottle {
        lot: Option<String>,
        opened: Option<String>,
        expiry: Option<String>,
        new: bool,
        earlier: Vec<Option<String>>,
        adopted: Vec<AdoptedOut>,
    }
    AdoptedOut {
        date: String,
        card: Option<String>,
        camera: Option<String>,
        lot: Option<String>,
        standards: Vec<f64>,
        flat: f64,
        share: f64,
        way: f64,
    }
    KitAdopted { kit: KitLine, tests: Vec<Trial>, unused: Vec<Unused>, }
    Trial {
        test: String,
        adopted: bool,
        new: Vec<String>,
        standards: Vec<Shift>,
        chi_squared: Option<f64>,
        freedom: Option<usize>,
        p: Option<f64>,
        flat: Option<f64>,
        share: Option<f64>,
        way: Option<f64>,
    }
    Shift { value: f64, read: f64, steps: f64, off: f64, }
    Unused { file: String, station: String, test: String, value: f64, refusal: Vec<Finding>, }
    KitControlled { kit: KitLine, tests: Vec<Control>, unused: Vec<Unused>, }
    Control {
        test: String,
        under_control: bool,
        due: String,
        why: String,
        overdue: bool,
        checks: Vec<ControlCheck>,
    }
    ControlCheck {
        entry: String,
        at: String,
        lot: Option<String>,
        value: f64,
        read: f64,
        steps: f64,
        sigma: f64,
        warning: bool,
        broken: Vec<String>,
    }
    KitRemeasured { kit: KitLine, measured: usize, left: Vec<LeftUnmeasured>, }
    LeftUnmeasured { test: String, number: usize, kept: bool, refusal: Vec<Finding>, }
    KitVision { kit: KitLine, alike_below: f64, tests: Vec<Vision>, picture: Option<String>, }
    Vision { test: String, unit: String, shades: Vec<VisionShade>, pairs: Vec<VisionPair>, }
    VisionShade { value: f64, lab: [f64; 3], colour: String, }
    VisionPair {
        from: f64,
        to: f64,
        neighbours: bool,
        usual: f64,
        protan: f64,
        deutan: f64,
        tritan: f64,
        alike_to: Vec<String>,
    }
    Swatch {
        number: usize,
        value: f64,
        value_sd: Option<f64>,
        source: String,
        colour: String,
        lab: [f64; 3],
        station: String,
        photo: String,
        taken: Option<String>,
    }
    KitChecked {
        kit: KitLine,
        tests: Vec<TestChecked>,
        places: Vec<KitPlace>,
        next: Option<NextStandard>,
    }
    KitPlace {
        number: usize,
        name: Option<String>,
        called: String,
        photos: usize,
        tests: Vec<PlaceTest>,
        from: Option<String>,
        to: Option<String>,
        side: Option<String>,
        spread: f64,
        read: usize,
        kit_off: Option<f64>,
    }
    PlaceTest { test: String, values: Vec<f64>, }
    NextStandard {
        test: String,
        value: f64,
        unit: String,
        place: Option<usize>,
        why: String,
        narrower: f64,
        now: [f64; 2],
        then: [f64; 2],
        text: String,
    }
    TestChecked { test: String, left_out: Vec<LeftOut>, gaps: Vec<Gap>, findings: Vec<Finding>, bottle: Bottle, control: Control, }
    LeftOut { number: usize, value: f64, read: Option<f64>, steps: Option<f64>, }
    Gap { from: f64, to: f64, delta_e: f64, }

    PlanStandards {
        kit: Option<String>,
        test: String,
        analyte: String,
        unit: String,
        missing: bool,
        substance: Option<Substance>,
        water: String,
        salt_g_l: f64,
        solutions: Vec<Solution>,
        standards: Vec<StandardPlanned>,
        said: Vec<String>,
    }
    Substance { name: String, formula: String, }
    Solution {
        name: String,
        from: String,
        grams: Option<f64>,
        ml: Option<f64>,
        syringe_ml: Option<f64>,
        fillings: Option<u32>,
        vessel_ml: f64,
        vessel_g: Option<f64>,
        concentration: f64,
        sd: f64,
    }
    StandardPlanned {
        wanted: f64,
        value: f64,
        uncertainty: Option<f64>,
        made: Option<MadeSo>,
        command: String,
    }
    MadeSo {
        from: String,
        grams: Option<f64>,
        ml: Option<f64>,
        syringe_ml: Option<f64>,
        fillings: Option<u32>,
        vessel_ml: f64,
        vessel_g: Option<f64>,
        concentration: f64,
        sd: f64,
    }

    CardPrinted { file: String, format: String, number: Option<u32>, }
    CardLine {
        name: String,
        revision: String,
        number: Option<u32>,
        date: String,
        origin: String,
        photos: usize,
    }
    CardEnrolled { card: Option<CardLine>, refusal: Vec<Finding>, findings: Vec<Finding>, }
    CardList { cards: Vec<CardLine>, }
    CardShown { card: CardLine, note: Option<String>, patches: Vec<Patch>, revisions: Vec<String>, }
    Patch { name: String, colour: [f64; 3], scatter: Option<f64>, }
    CardsChecked { card: Option<String>, photos: Vec<PhotoChecked>, }
    PhotoChecked {
        file: String,
        good: Option<bool>,
        findings: Vec<Finding>,
        place: Option<Place>,
        light: Option<Light>,
        error: Option<Wrong>,
    }
    Place { number: Option<u32>, hidden: Vec<u32>, px_per_mm: f64, residual_mm: f64, blur_mm: f64, }
    Light { left_out: f64, earned: f64, agreement: Option<f64>, agreement_allowed: Option<f64>, }
}
