//! Masses and oil, step by step: what was weighed, what was inside, what is called for.
use super::Step;
use crate::{
    checks::{
        case::Case,
        figures,
        hose::Known,
        ledger::{Charged, Why},
        left::{self, Left},
        loss as lost, oil as oils,
        rules::weighed_in,
    },
    record::answer::ChargeIs,
    units::{LeakRate, Mass, Seconds, Volume, show},
};

const STATE: &str = "the refrigerant’s equation of state";

fn mass(case: &Case<'_>, kg: f64) -> String {
    show::mass(Mass::new(kg), case.units)
}

/// What was recovered.
pub fn recovered(case: &Case<'_>) -> Vec<Step> {
    let Some(kg) = figures::recovered(case) else {
        return Vec::new();
    };
    let each: Vec<String> = case
        .recoveries
        .iter()
        .filter_map(|r| r.mass)
        .map(|m| weighed_in(case, m))
        .collect();
    vec![Step::new(
        "recovered",
        mass(case, kg),
        format!("the cylinder after less before: {}", each.join(" + ")),
        "",
    )]
}

/// What was lost before the car came.
pub fn loss(case: &Case<'_>) -> Vec<Step> {
    let Some(loss) = lost::loss(case) else {
        return Vec::new();
    };
    let (charged, out) = (mass(case, loss.charged_kg), mass(case, loss.recovered.kg));
    let how = match loss.own {
        true => format!("{charged} charged last, less {out} recovered after it"),
        false => format!("{charged} once charged, less {out} recovered before the first charging"),
    };
    let mut all = vec![Step::new("lost", mass(case, loss.lost_kg), how, "")];
    if let (Some(rate), Some(years)) = (loss.kg_per_year, loss.years) {
        let how = format!(
            "over {} since that charge",
            show::duration(Seconds::new(years * crate::physics::leak::YEAR_S))
        );
        all.push(Step::new(
            "a year",
            show::leak_rate(LeakRate::new(rate), case.units),
            how,
            "",
        ));
    }
    all
}

/// What a standing pressure bounds of the loss, where nothing was recovered.
pub fn found(case: &Case<'_>) -> Vec<Step> {
    let Some(b) = lost::by_pressure(case).filter(|_| case.recoveries.is_empty()) else {
        return Vec::new();
    };
    let left = Step::new(
        "left",
        format!("{} to {}", mass(case, b.left.0), mass(case, b.left.1)),
        vapour(case),
        STATE,
    );
    let how = format!("{} once charged, less that", mass(case, b.charged_kg));
    vec![
        left,
        Step::new(
            "lost",
            format!("{} to {}", mass(case, b.least_kg), mass(case, b.most_kg)),
            how,
            "",
        ),
    ]
}

fn vapour(case: &Case<'_>) -> String {
    let volume = |m3: f64| show::volume(Volume::new(m3), case.units);
    let v = case.bench.volume;
    let volume = if v.assumed {
        format!("{} to {}", volume(v.low), volume(v.high))
    } else {
        volume(v.middle)
    };
    format!(
        "the vapour’s density at the standing pressure and temperature, times the volume, {volume}"
    )
}

/// What must have been inside: by the charge of this record, and by each standing pressure.
pub fn inside(case: &Case<'_>) -> Vec<Step> {
    let known = case.ledger.runs.iter().filter_map(|run| match run.before {
        crate::checks::ledger::Before::Known(inside, _) => Some(Step::new(
            "inside before",
            weighed_in(case, inside),
            "weighed in after an evacuation",
            "",
        )),
        _ => None,
    });
    let told = left::told(case).into_iter().map(|told| {
        let value = match told.left {
            Left::Liquid(least) => format!("liquid, and at least {} of vapour", mass(case, least)),
            Left::Vapour(least, most) => {
                format!("{} to {}, all vapour", mass(case, least), mass(case, most))
            }
        };
        Step::new("inside by pressure", value, vapour(case), STATE)
    });
    known.chain(told).collect()
}

/// The charge.
pub fn charge(case: &Case<'_>) -> Vec<Step> {
    let mut all: Vec<Step> = case
        .net_charges()
        .into_iter()
        .filter_map(|c| one_charge(case, c))
        .collect();
    match (case.net(), case.ledger.unknown()) {
        (Some(net), _) => {
            let how =
                "since the circuit was emptied and evacuated; less what was taken out after it";
            all.push(Step::new("net charge", mass(case, net.kg), how, ""));
            all.push(Step::new(
                "it may be",
                format!("{} to {}", mass(case, net.low), mass(case, net.high)),
                "the scales’ steps, what stayed in hoses, what cans held",
                "",
            ));
        }
        (None, Some(Why::ToppedUp)) => all.push(Step::new(
            "net charge",
            "not known",
            "it was added to a charge that nobody weighed",
            "",
        )),
        (None, Some(Why::NotEvacuated)) => all.push(Step::new(
            "net charge",
            "not known",
            "it was charged without an evacuation before",
            "",
        )),
        (None, Some(Why::NotWeighed)) => all.push(Step::new(
            "net charge",
            "not known",
            "a charge was not weighed",
            "",
        )),
        (None, None) => {}
    }
    if let Some(t) = case.target {
        let how = if t.instead {
            "the charge in force, with its reason"
        } else {
            "the label"
        };
        all.push(Step::new(
            "it should be",
            format!("{} ± {}", mass(case, t.kg), mass(case, t.tolerance_kg)),
            how,
            "SAE J639 label",
        ));
        if let Some(net) = case.net() {
            all.push(Step::new(
                "difference",
                mass(case, net.kg - t.kg),
                "net charge less what it should be",
                "",
            ));
        }
    }
    if let Some(is) = case.charge_is() {
        let says = match is {
            ChargeIs::Right => "yes",
            ChargeIs::Wrong => "no",
            ChargeIs::CannotTell => "cannot be told",
        };
        all.push(Step::new(
            "is it right",
            says,
            "all that it may be within the tolerance: yes; all of it outside: no",
            "",
        ));
    }
    all
}

fn one_charge(case: &Case<'_>, c: &Charged<'_>) -> Option<Step> {
    let net = c.net?;
    let hose = match c.hose.how {
        Known::Weighed if c.hose.kg.kg == 0.0 => String::new(),
        Known::Weighed => format!(", less {} in the hose", weighed_in(case, c.hose.kg)),
        Known::Hose(at, _) => format!(
            ", less {} in the hose: its length, bore and the density of what fills it at {}",
            weighed_in(case, c.hose.kg),
            show::temperature(at, case.units)
        ),
        Known::NotRecorded => format!(
            ", less what stayed in the hose: nothing, or up to {} of liquid",
            mass(case, c.hose.kg.high)
        ),
    };
    let from = match (
        c.entry.before.is_some(),
        c.entry.cans.iter().any(|can| !can.superseded),
    ) {
        (true, true) => "the cylinder before less after, and out of cans",
        (true, false) => "the cylinder before less after",
        (false, _) => "out of cans: what they held less what was left",
    };
    Some(Step::new(
        "went in",
        weighed_in(case, net),
        format!("{from}{hose}"),
        if hose.is_empty() {
            ""
        } else {
            "geometry; the refrigerant’s equation of state"
        },
    ))
}

/// The oil’s way out and in, and what is called for.
pub fn oil(case: &Case<'_>) -> Vec<Step> {
    let oil = oils::figures(case);
    let volume = |v: f64| show::volume(Volume::new(v), case.units);
    let span = |d: oils::Due| {
        if d.high - d.low < 1e-9 {
            volume(d.usual)
        } else {
            format!(
                "{} to {}, usually {}",
                volume(d.low),
                volume(d.high),
                volume(d.usual)
            )
        }
    };
    let out = oil.removed_m3.map(|v| {
        Step::new(
            "oil out",
            volume(v),
            "drained from old parts, and with the recovered refrigerant",
            "",
        )
    });
    let called = oils::called_for(case);
    let each: Vec<String> = called
        .iter()
        .map(|c| format!("{}: {}", c.by, span(c.due)))
        .collect();
    let due = oils::due(case).map(|d| {
        Step::new(
            "oil called for",
            span(d),
            each.join("; "),
            "makers’ service data",
        )
    });
    let back = oil
        .added_m3
        .map(|v| Step::new("oil in", volume(v), "put into parts, and by itself", ""));
    out.into_iter().chain(due).chain(back).collect()
}
