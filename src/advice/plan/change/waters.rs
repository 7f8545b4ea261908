//! What a change starts from: the tank's water and the new one.

use super::*;

/// Tank, new water, and what was asked for with what the new water has of it.
pub(super) struct Waters {
    pub(super) water: Water,
    pub(super) new: New,
    pub(super) asked: Option<(Kind, f64)>,
}

/// From the request, else from the log; every figure becomes an input of the answer.
pub(super) fn waters(look: &Look, request: &ChangeRequest, said: &mut Said) -> Result<Waters, PlanError> {
    let tap = |kind| look.tap(kind, &request.new);
    let mut input = |level: &Option<Level>, name, unit| {
        said.inputs.extend(level.iter().map(|l| l.figure(name, unit)));
        level.as_ref().map(|l| l.span)
    };
    let ammonia = look.ammonia_after_doses(&request.now).ok();
    let kh = look.tank(Kind::Alkalinity, &request.now).ok();
    let (ph, t, s) = (
        look.condition(Kind::Ph, &request.now),
        look.condition(Kind::Temperature, &request.now),
        look.condition(Kind::Salinity, &request.now),
    );
    let mut water = Water {
        ammonia: input(&ammonia, "ammonia-present", "mg/L NH3-N"),
        free: None,
        ph: ph.span,
        alkalinity: input(&kh, "alkalinity-present", "dH"),
        temperature: t.span,
        salinity: s.span,
        asked: None,
    };
    input(&Some(ph), "pH-present", "");
    input(&Some(t), "temperature-present", "°C");
    input(&Some(s), "salinity-present", "g/kg");
    let chlorine = tap(Kind::Chlorine);
    let tap_ammonia = input(&tap(Kind::Ammonia), "ammonia-new", "mg/L NH3-N");
    let load = input(&chlorine, "chlorine-new", "mg/L as Cl2").map(|c| c.high);
    let fresh = look.book.facts.water == Sort::Fresh;
    let mut new = New {
        ammonia: with_chloramine(tap_ammonia, load),
        ph: input(&tap(Kind::Ph), "pH-new", ""),
        alkalinity: input(&tap(Kind::Alkalinity), "alkalinity-new", "dH"),
        temperature: input(&tap(Kind::Temperature), "temperature-new", "°C"),
        salinity: input(&tap(Kind::Salinity), "salinity-new", "g/kg"),
        asked: None,
        fresh,
    };
    if fresh && new.salinity.is_none() {
        new.salinity = Some(Span::exact(0.0));
    }
    water.free = water.ammonia.map(|n| free_ammonia(&n, &water.conditions())).transpose()?;
    let asked = match request.aim {
        Aim::Share(f) => {
            share("water", f)?;
            None
        }
        Aim::To { kind, target } => {
            let named = names(kind)?;
            let target = positive(target)?;
            said.inputs.push(Figure::given("target", target, named.unit));
            let now = look.tank(kind, &request.now)?;
            if now.span.is_open() {
                let why = "the last result is above its scale; test a 1+4 dilution";
                return Err(PlanError::Level { kind, why });
            }
            let tap = tap(kind);
            if !always(kind) {
                said.inputs.push(now.figure(named.present, named.unit));
                said.inputs.extend(tap.iter().map(|l| l.figure(named.new, named.unit)));
            }
            let tap = if kind == Kind::Ammonia { new.ammonia } else { tap.map(|l| l.span) };
            if tap.is_none() {
                said.unknown(
                    Rule::ChangeRule,
                    format!(
                        "What the new water has of {0}: it was not tested, and is taken as none. Test the tap; if it has some, more must \
                         be changed, or the target cannot be reached.",
                        kind.as_str()
                    ),
                );
            }
            let tap = tap.unwrap_or(Span::exact(0.0));
            water.asked = Some(now.span);
            new.asked = Some((kind, tap));
            Some((kind, worst(kind, &tap).min(if tap.is_open() { tap.low } else { f64::INFINITY })))
        }
    };
    Ok(Waters { water, new, asked })
}

fn positive(target: f64) -> Result<f64, PlanError> {
    if target.is_finite() && target >= 0.0 {
        Ok(target)
    } else {
        Err(StateError::NotPositive { what: "a target", value: target }.into())
    }
}

/// The tap's ammonia with what its chloramine brings: an ammonia test may have counted that already, or not.
fn with_chloramine(ammonia: Option<Span>, chlorine: Option<f64>) -> Option<Span> {
    let load = chlorine.filter(|c| c.is_finite()).map(chloramine_ammonia);
    match (ammonia, load) {
        (Some(n), None) => Some(n),
        (Some(n), Some(load)) => Some(Span { low: n.low, best: None, high: n.high + load }),
        // How much of it is chloramine is not known: none to all.
        (None, Some(load)) => Some(Span::between(0.0, load)),
        (None, None) => None,
    }
}

/// Names of the figures of what can be asked for, and its unit.
pub(in crate::advice::plan) struct Names {
    pub(in crate::advice::plan) present: &'static str,
    pub(in crate::advice::plan) new: &'static str,
    pub(in crate::advice::plan) after: &'static str,
    pub(in crate::advice::plan) unit: &'static str,
}

pub(in crate::advice::plan) fn names(kind: Kind) -> Result<Names, PlanError> {
    let of = |present, new, after, unit| Ok(Names { present, new, after, unit });
    match kind {
        Kind::Ammonia => of("ammonia-present", "ammonia-new", "ammonia-after", "mg/L NH3-N"),
        Kind::Nitrite => of("nitrite-present", "nitrite-new", "nitrite-after", "mg/L NO2-"),
        Kind::Nitrate => of("nitrate-present", "nitrate-new", "nitrate-after", "mg/L NO3-"),
        Kind::Hardness => of("hardness-present", "hardness-new", "hardness-after", "dH"),
        Kind::Alkalinity => of("alkalinity-present", "alkalinity-new", "alkalinity-after", "dH"),
        Kind::Chloride => of("chloride-present", "chloride-new", "chloride-after", "mg/L Cl-"),
        Kind::Salinity => of("salinity-present", "salinity-new", "salinity-after", "g/kg"),
        Kind::Ph | Kind::Temperature | Kind::Chlorine => Err(PlanError::NotByChange { kind }),
    }
}

/// Whether a plan shows it in any case.
pub(super) fn always(kind: Kind) -> bool {
    matches!(kind, Kind::Ammonia | Kind::Alkalinity | Kind::Salinity)
}
