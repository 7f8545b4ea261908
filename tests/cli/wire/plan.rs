//! Plans.

use super::Statement;
use serde::Deserialize;

documents! {
    PlanDosed {
        tank: String,
        amount: f64,
        unit: String,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    PlanChanged {
        tank: String,
        verdict: String,
        steps: Vec<ChangeStep>,
        at_once: Option<ChangeStep>,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    ChangeStep { share: f64, litres: Option<f64>, before: TankWater, after: TankWater, }
    TankWater {
        asked: Option<Bounds>,
        ammonia: Option<Bounds>,
        free_ammonia: Option<Bounds>,
        ph: Bounds,
        alkalinity: Option<Bounds>,
        temperature: Bounds,
        salinity: Bounds,
    }
    PlanRoutine {
        tank: String,
        changes: u32,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    PlanCapacity {
        tank: String,
        carries: Option<bool>,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    PlanStocked {
        tank: String,
        batches: Vec<Batch>,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    Batch { number: Option<u32>, share: f64, day: u32, load_after: Bounds, }
    PlanSeeded {
        tank: String,
        from: String,
        covers: Bounds,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    PlanAmmonia {
        tank: String,
        temperatures: Vec<f64>,
        rows: Vec<FreeRow>,
        inputs: Vec<Figure>,
        results: Vec<Figure>,
        answer: Vec<Statement>,
        unknown: Vec<Statement>,
        cautions: Vec<Statement>,
        formulas: Vec<Formula>,
    }
    FreeRow { ph: f64, cells: Vec<FreeCell>, }
    FreeCell { free_ammonia: Bounds, level: String, }
    Figure {
        name: String,
        value: Option<f64>,
        lower: Option<f64>,
        upper: Option<f64>,
        unit: String,
        origin: String,
        entry: Option<String>,
        at: Option<String>,
        text: String,
    }
    Bounds { value: Option<f64>, lower: Option<f64>, upper: Option<f64>, }
    Formula { text: String, source: String, }

    DueList { due: Vec<DueItem>, file: Option<String>, }
    DueItem {
        tank: Option<String>,
        key: String,
        what: String,
        tests: Vec<String>,
        at: String,
        overdue_hours: Option<f64>,
        why: Statement,
    }
}
