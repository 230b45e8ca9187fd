//! The ring of an order, drawn from its evidence.
use super::frozen::Frozen;
use crate::web::findings::task_of;
use crate::{
    plot::ring::{Joint, JointState, Line, Mark, Metering, Part, Ring},
    shop::{layout, written},
    store::evidence::{Kind, Piece},
    web::{Ctx, bench::Scene},
};
use chillwright_calc::{
    checks::{
        case::Case,
        rules::{self, rule_of},
    },
    record::{
        self, Fixing, Metering as Device, Role,
        answer::{ChargeIs, Finding, Weight},
    },
    units::{Mass, show},
};

/// Where the places of a ring lead: to the bench, or for those who enter nothing there to the sheet under the ring.
struct Ways {
    number: i64,
    bench: bool,
}

impl Ways {
    fn of(ctx: &Ctx, scene: &Scene) -> Self {
        Self {
            number: scene.order.number,
            bench: ctx.actor.roles.any(crate::work::evidence::BENCH) && scene.order.is_open(),
        }
    }

    fn to(&self, task: &str, section: &str) -> String {
        if self.bench {
            format!("/orders/{}/bench/{task}", self.number)
        } else {
            format!("/orders/{}#sheet-{section}", self.number)
        }
    }
}

/// The ring of an order that other rules judged: with what they found, and with their reckoning of the charge.
pub fn as_it_was(ctx: &Ctx, scene: &Scene, case: &Case<'_>, then: &Frozen) -> Ring {
    let ring = ring_of(ctx, scene, case, &then.findings, false);
    let mark = ring.centre_line.as_ref().and_then(|l| l.mark);
    Ring {
        centre_line: then.net_kg.map(|kg| Line {
            mark,
            says: show::mass(Mass::new(kg), ctx.units),
        }),
        ..ring
    }
}

/// The ring.
pub fn ring_of(
    ctx: &Ctx,
    scene: &Scene,
    case: &Case<'_>,
    findings: &[Finding],
    compact: bool,
) -> Ring {
    let ways = Ways::of(ctx, scene);
    let metering = if scene.metering() == Some(Device::OrificeTube) {
        Metering::Orifice
    } else {
        Metering::Valve
    };
    let (net, target) = (case.net_kg(), case.target);
    // Short or over is told only where the weighing shows it.
    let wrong = case.charge_is() == Some(ChargeIs::Wrong);
    let charge = net.map(|kg| match target.map(|t| kg - t.kg).filter(|_| wrong) {
        Some(d) => {
            format!(
                "{}, {} {}",
                show::mass(Mass::new(kg), ctx.units),
                show::mass(Mass::new(d.abs()), ctx.units),
                if d < 0.0 { "short" } else { "over" }
            )
        }
        None => show::mass(Mass::new(kg), ctx.units),
    });
    let charge_mark = findings
        .iter()
        .filter(|f| task_of(&f.code, &f.about) == "charging")
        .map(|f| f.weight)
        .min()
        .map(mark);
    let to_do = if case.in_work() && !compact {
        rules::said(case).to_do
    } else {
        Vec::new()
    };
    let told = Told { findings, to_do };
    let parts = parts(scene, &told, metering, &ways);
    let joints = joints(scene, case, &told, &ways);
    let opened = joints
        .iter()
        .filter(|j| j.state != JointState::Alone)
        .count();
    let sealed = joints
        .iter()
        .filter(|j| j.state == JointState::Sealed)
        .count();
    Ring {
        centre: scene.refrigerant().to_owned(),
        centre_line: charge.map(|says| Line {
            mark: charge_mark.filter(|_| !compact),
            says,
        }),
        centre_href: ways.to("charging", "charge"),
        metering,
        evaporators: scene.evaporators(),
        says: format!(
            "Refrigerant circuit: {opened} of {} joints opened, {sealed} with a seal on record.",
            joints.len()
        ),
        parts,
        joints,
        ports_href: ways.to("ports", "ports"),
        compact,
    }
}

fn mark(weight: Weight) -> Mark {
    match weight {
        Weight::Blocks => Mark::Blocks,
        Weight::Concession => Mark::Owner,
        Weight::Note => Mark::Note,
    }
}

/// The gravest finding about a piece, in a few words.
fn line(told: &Told<'_>, about: &str) -> Option<Line> {
    let found = told
        .findings
        .iter()
        .filter(|f| f.about == about)
        .min_by_key(|f| f.weight);
    let found = found.map(|f| Line {
        mark: Some(mark(f.weight)),
        says: short(&f.code).into(),
    });
    found.or_else(|| {
        told.to_do.iter().find(|f| f.about == about).map(|f| Line {
            mark: None,
            says: short(&f.code).into(),
        })
    })
}

/// What the ring tells at its places: what was found, with its shape, else what is still to do there, without one.
struct Told<'a> {
    findings: &'a [Finding],
    to_do: Vec<Finding>,
}

/// A finding in the few words that the ring has room for.
fn short(code: &str) -> &'static str {
    rule_of(code).map_or("see the list", |rule| rule.short)
}

fn parts(scene: &Scene, told: &Told<'_>, metering: Metering, ways: &Ways) -> Vec<Part> {
    let desiccant = if metering == Metering::Orifice {
        (Role::Accumulator, "accumulator")
    } else {
        (Role::ReceiverDrier, "drier")
    };
    let device = if metering == Metering::Orifice {
        "orifice tube"
    } else {
        "expansion valve"
    };
    let mut usual = vec![
        (Role::Compressor, "compressor"),
        (Role::Condenser, "condenser"),
        desiccant,
        (Role::ExpansionDevice, device),
        (Role::Evaporator, "evaporator"),
    ];
    if scene.evaporators() > 1 {
        usual.push((Role::Evaporator, "rear evaporator"));
    }
    let mut on_record: Vec<(&Piece, &record::Part)> = scene.each().collect();
    usual
        .into_iter()
        .map(|(role, label)| {
            let (piece, part) = on_record
                .iter()
                .position(|(_, part)| part.role == Some(role))
                .map(|i| on_record.remove(i))
                .unzip();
            let source = part.and_then(|p| p.source).map(written::source);
            let fixed = |p: &Piece| {
                scene
                    .each::<Fixing>()
                    .filter(|(_, f)| f.part.as_ref() == Some(&p.mark))
                    .find_map(|(f, _)| line(told, &f.mark))
            };
            let fixing = piece.and_then(fixed);
            Part {
                role: role.word().into(),
                label: label.into(),
                second: source.map(str::to_owned).unwrap_or_default(),
                fitted: part.is_some_and(|p| p.fitted_at.is_some()),
                line: piece.and_then(|p| line(told, &p.mark)).or(fixing),
                href: piece.map_or_else(
                    || ways.to("parts", "parts"),
                    |p| ways.to(&format!("parts?piece={}", p.mark), "parts"),
                ),
            }
        })
        .collect()
}

fn joints(scene: &Scene, case: &Case<'_>, told: &Told<'_>, ways: &Ways) -> Vec<Joint> {
    let states = case
        .joints
        .iter()
        .map(|j| (j.id.as_str(), j.concerned, j.seal.is_some()))
        .collect::<Vec<_>>();
    let drawn = |piece: &Piece| {
        let (_, concerned, sealed) = states
            .iter()
            .find(|s| s.0 == piece.mark)
            .copied()
            .unwrap_or_default();
        let state = match (concerned, sealed) {
            (false, _) => JointState::Alone,
            (true, true) => JointState::Sealed,
            (true, false) => JointState::Opened,
        };
        let n = piece.mark.trim_start_matches('j').to_owned();
        let line = line(told, &piece.mark);
        let told = match (&line, state) {
            (Some(l), _) => l.says.clone(),
            (None, JointState::Sealed) => "resealed".into(),
            (None, JointState::Opened) => "opened".into(),
            (None, JointState::Alone) => "not opened".into(),
        };
        let says = format!("Joint {n}, {told}: {}", piece.body.place());
        let (role, side) = (
            piece.own.role.map_or("", Role::word),
            piece.own.side.map_or("", layout::Side::word),
        );
        Joint {
            says,
            number: n,
            role: role.into(),
            side: side.into(),
            state,
            line,
            href: ways.to("seals", "joints"),
        }
    };
    // The usual places come first and in the order of the flow: front and rear evaporator are told apart by it.
    let mut pieces: Vec<&Piece> = scene.of_kinds(&[Kind::Joint]).collect();
    let mut all = Vec::new();
    for place in layout::joints(scene.metering(), scene.evaporators()) {
        all.push(
            match pieces.iter().position(|p| p.body.place() == place.says) {
                Some(i) => drawn(pieces.remove(i)),
                None => Joint {
                    number: String::new(),
                    role: place.role.word().into(),
                    side: place.side.word().into(),
                    state: JointState::Alone,
                    line: None,
                    href: ways.to("joints", "joints"),
                    says: format!("{}: not opened", place.says),
                },
            },
        );
    }
    all.extend(pieces.into_iter().map(drawn));
    all
}
