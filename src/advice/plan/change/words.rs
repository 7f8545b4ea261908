//! What a plan of a change says.

use super::*;

/// The plan with its figures and sentences.
pub(super) fn spoken(
    mut plan: ChangePlan,
    todo: &Todo<'_>,
    look: &Look,
    request: &ChangeRequest,
    hurts: &[Hurt],
    endless: bool,
) -> ChangePlan {
    let said = &mut plan.said;
    said.formulas = vec![formulas::CHANGE, formulas::FREE, formulas::CHLORAMINE];
    if todo.new.fresh {
        said.formulas.push(formulas::PH);
    }
    let last = plan.steps.last().or(plan.at_once.as_ref());
    if let Some(last) = last {
        results(said, last, todo);
    }
    answer(&mut plan, todo, hurts, endless);
    conditioner(&mut plan, todo, look, request);
    unknowns(&mut plan.said, todo, look, request);
    let may_rise = |s: &&Step| match (s.before.free, s.after.free) {
        (Some(a), Some(b)) => b.high > a.high && b.high >= FREE_AMMONIA[0],
        _ => false,
    };
    if let Some(step) = plan.steps.iter().find(may_rise).filter(|_| todo.may) {
        let free = |w: &Water| w.free.map_or(String::new(), |s| significant(s.high, 2));
        let words = format!(
            "By the upper bounds free ammonia may rise from {} to {} mg/L NH3-N with a change of {}: test ammonia and pH two hours after it.",
            free(&step.before),
            free(&step.after),
            percent(step.share)
        );
        plan.said.caution(Rule::PhRise, words);
    }
    if todo.may
        && let Some(step) = plan.steps.iter().max_by(|a, b| swing(a).total_cmp(&swing(b)))
        && swing(step) > PH
    {
        let words = format!(
            "The pH may move by up to {} in one change; more than {PH} a day is a caution of common practice. Smaller changes, or new \
             water of like pH and alkalinity, keep it still.",
            significant(swing(step), 2)
        );
        plan.said.caution(Rule::ChangeRule, words);
    }
    plan
}

/// By how much the pH may move at most.
fn swing(step: &Step) -> f64 {
    let (a, b) = (&step.before.ph, &step.after.ph);
    (b.high - a.middle()).max(a.middle() - b.low)
}

fn results(said: &mut Said, last: &Step, todo: &Todo<'_>) {
    let w = &last.after;
    if let (Some(span), Some((kind, _))) = (w.asked, todo.asked)
        && let (Ok(named), false) = (names(kind), always(kind))
    {
        said.results.push(Figure::out(named.after, span, named.unit));
    }
    said.results.extend(w.ammonia.map(|s| Figure::out("ammonia-after", s, "mg/L NH3-N")));
    said.results.extend(w.free.map(|s| Figure::out("free-ammonia-after", s, "mg/L NH3-N")));
    said.results.push(Figure::out("pH-after", w.ph, ""));
    said.results.extend(w.alkalinity.map(|s| Figure::out("alkalinity-after", s, "dH")));
    said.results.push(Figure::out("temperature-after", w.temperature, "°C"));
    said.results.push(Figure::out("salinity-after", w.salinity, "g/kg"));
}

fn percent(share: f64) -> String {
    format!("{} %", significant(share * 100.0, 2))
}

/// The shares in order, equal ones in a row told once: `15 times 10 %`.
fn runs(steps: &[Step]) -> Vec<String> {
    let alike = |a: &Step, b: &Step| (a.share - b.share).abs() < 1e-9;
    let run = |r: &[Step]| match r.len() {
        1 => percent(r[0].share),
        n => format!("{n} times {}", percent(r[0].share)),
    };
    steps.chunk_by(alike).map(run).collect()
}

fn answer(plan: &mut ChangePlan, todo: &Todo<'_>, hurts: &[Hurt], endless: bool) {
    let shares = runs(&plan.steps);
    let to = match (todo.asked, plan.steps.last().and_then(|s| s.after.asked)) {
        (Some((kind, _)), Some(after)) => {
            let unit = names(kind).map_or("", |n| n.unit);
            format!(" It brings {} to {} {unit}.", kind.as_str(), bounds(&after))
        }
        _ => String::new(),
    };
    let words = match plan.verdict {
        Verdict::Reached => "Nothing to change: the target is reached already.".to_string(),
        Verdict::Once => format!("Change {} of the water.{to}", shares.join("")),
        Verdict::Split => format!("Change {}, a day apart, testing in between.{to}", shares.join(", then ")),
        Verdict::Refused if endless => format!(
            "More than {MOST_STEPS} changes would be needed: the new water has nearly as much. Aim higher, or use other source water."
        ),
        Verdict::Refused => {
            "Not with this water as it is: on the way even a twentieth of it at a time would do what it must not."
                .to_string()
        }
    };
    plan.said.answer(Rule::ChangeRule, words);
    for hurt in hurts {
        let (rule, words) = match *hurt {
            Hurt::Half => (Rule::ChangeRule, "More than half of the water at once is not planned.".to_string()),
            Hurt::FreeAmmonia { from, to } => (
                Rule::PhRise,
                format!(
                    "Larger at once, it could raise free ammonia from at most {} to at most {} mg/L NH3-N, because the new water's pH \
                     is higher or it brings ammonia itself.",
                    significant(from, 2),
                    significant(to, 2)
                ),
            ),
            Hurt::Temperature(by) => (
                Rule::TemperatureSwing,
                format!(
                    "Larger at once, it would move the temperature by {} °C: warm or cool the new water first.",
                    significant(by, 2)
                ),
            ),
            Hurt::Salinity(by) => (
                Rule::SalinitySwing,
                format!(
                    "Larger at once, it would move the salinity by {} g/kg: mix the new water to the tank's.",
                    significant(by, 2)
                ),
            ),
        };
        plan.said.answer(rule, words);
    }
    let ammonia = hurts.iter().any(|h| matches!(h, Hurt::FreeAmmonia { .. }));
    if plan.verdict == Verdict::Refused && ammonia {
        let words = if todo.new.alkalinity.is_none() || todo.new.ph.is_none() {
            "Measure pH and alkalinity (KH) of tank and new water: with them the pH after a small change can be told. Until then a \
             conditioner that binds ammonia, as its label says, then a tenth of the water; feed nothing, keep the surface moving."
        } else {
            "Bind the ammonia first with a conditioner, as its label says, or use new water of lower pH; feed nothing, keep the \
             surface moving."
        };
        plan.said.answer(Rule::PhRise, words);
    }
}

/// What has to be treated, and what chloramine leaves.
fn conditioner(plan: &mut ChangePlan, todo: &Todo<'_>, look: &Look, request: &ChangeRequest) {
    let changed: f64 = plan.steps.iter().map(|s| s.share).sum();
    if changed == 0.0 {
        return;
    }
    let litres = todo.litres.map(|l| l * changed);
    let of = litres.map_or("all new water".to_string(), |l| format!("{} L of new water in all", significant(l, 3)));
    if let Some(l) = litres {
        plan.said.results.push(Figure::out("new-water", Span::exact(l), "L"));
    }
    let most = plan.steps.iter().map(|s| s.share).fold(0.0, f64::max);
    let load = |cl: f64| most * chloramine_ammonia(cl);
    let words = match look.tap(Kind::Chlorine, &request.new) {
        Some(c) if c.span.high.is_finite() => {
            plan.said.results.push(Figure::out("chloramine-load", Span::between(0.0, load(c.span.high)), "mg/L NH3-N"));
            format!(
                "Conditioner for {of}, as its label says. If the tap's chlorine is chloramine, what it leaves in the tank is up to {} \
                 mg/L N a change, counted in.",
                significant(load(c.span.high), 2)
            )
        }
        _ => format!(
            "Conditioner for {of}, as its label says, unless it is no tap water. The tap's chlorine is not logged: with chloramine up to \
             the {CHLORINE} mg/L of US rules a change would leave up to {} mg/L N in the tank, not counted in.",
            significant(load(CHLORINE), 2)
        ),
    };
    plan.said.answer(Rule::ConditionerNeed, words);
    plan.said.caution(
        Rule::ConditionerCaution,
        "Too much conditioner can cost oxygen: keep to the label, and the surface moving.",
    );
    plan.said.caution(Rule::ChangeRule, "Unplug heaters and pumps before the water falls below them, common practice.");
}

fn unknowns(said: &mut Said, todo: &Todo<'_>, look: &Look, request: &ChangeRequest) {
    let new = todo.new;
    let asked = todo.asked.map(|a| a.0);
    if new.ammonia.is_none() && asked != Some(Kind::Ammonia) {
        said.unknown(
            Rule::TapChloramine,
            "What ammonia the new water brings: the tap was not tested for it. Taken as none.",
        );
    }
    if new.ph.is_none() {
        said.unknown(
            Rule::PhRise,
            "The new water's pH. Taken as anything from the tank's up to 8.3, as hard tap water has after an hour in air: let \
             some stand, then test it.",
        );
    } else if new.fresh && (new.alkalinity.is_none() || look.tank(Kind::Alkalinity, &request.now).is_err()) {
        said.unknown(
            Rule::PhMixture,
            "Where between the two waters the pH comes to lie: that hangs on both alkalinities (KH). Taken as anything between.",
        );
    }
    if new.temperature.is_none() {
        said.unknown(Rule::TemperatureSwing, "The new water's temperature. Taken as the tank's: bring it within 2 °C.");
    }
    if new.salinity.is_none() {
        said.unknown(Rule::SalinitySwing, "The new water's salinity. Taken as the tank's: mix and measure it before.");
    }
    if look.ammonia_after_doses(&request.now).is_err() {
        said.unknown(
            Rule::FreeAmmonia,
            "What the change does to free ammonia: the tank's ammonia was not tested lately. Test it before a large change.",
        );
    }
}
