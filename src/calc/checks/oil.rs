//! The oil that parts, flushes and recovery call for, against what came out and went in.
//!
//! How much of the oil is in which part is not measured in a workshop. Makers print an amount for each part that is renewed; they differ, so that each is a
//! range. What drained out of an old part is known to have been in it; a film stays on its walls, so that the range reaches from what drained to what makers
//! print. After a flush the oil of the flushed section is gone: all that makers print for the parts in it is due. Oil that came out with recovered
//! refrigerant was measured. Nothing recorded is not the same as none.
use super::{case::Case, case::OPEN_SINCE, rules::sections_named, timeline::live};
use crate::record::{FlushedBy, Part, Role, Source, answer::OilFigures};

/// An amount of oil that is called for, m3.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Due {
    /// At least.
    pub low: f64,
    /// Usually.
    pub usual: f64,
    /// At most.
    pub high: f64,
}

impl Due {
    const fn ml(low: f64, usual: f64, high: f64) -> Self {
        Self {
            low: low * 1e-6,
            usual: usual * 1e-6,
            high: high * 1e-6,
        }
    }

    const fn exactly(m3: f64) -> Self {
        Self {
            low: m3,
            usual: m3,
            high: m3,
        }
    }

    fn capped(self, most: f64) -> Self {
        Self {
            low: self.low.min(most),
            usual: self.usual.min(most),
            high: self.high.min(most),
        }
    }
}

impl std::ops::Add for Due {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            low: self.low + other.low,
            usual: self.usual + other.usual,
            high: self.high + other.high,
        }
    }
}

impl std::iter::Sum for Due {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), |a, b| a + b)
    }
}

/// Condenser, mL: 15 to 80, usually 30 to 40. This and the following: service data of sixteen makers.
pub const CONDENSER: Due = Due::ml(15.0, 35.0, 80.0);
/// Evaporator: 30 to 90, usually 40 to 75.
pub const EVAPORATOR: Due = Due::ml(30.0, 57.5, 90.0);
/// Receiver-drier: 6 to 30, usually 10 to 15.
pub const RECEIVER_DRIER: Due = Due::ml(6.0, 12.5, 30.0);
/// Accumulator, beyond what drained out of the old one: 30 to 60.
pub const ACCUMULATOR: Due = Due::ml(30.0, 45.0, 60.0);
/// A line or a hose: up to 30, usually 10.
pub const LINE: Due = Due::ml(0.0, 10.0, 30.0);
/// A leak that was repaired took up to 30 with it (20 to 30); less where the part was renewed, so that it adds to the most only.
pub const LEAK_REPAIR: Due = Due::ml(0.0, 0.0, 30.0);
/// A sudden discharge took up to 90 (30 to 90), likewise.
pub const DISCHARGE: Due = Due::ml(0.0, 0.0, 90.0);
/// The whole circuit: 60 to 285.
pub const TOTAL: Due = Due::ml(60.0, 172.5, 285.0);

/// What stays for the compressor of a circuit's whole oil where the other parts hold this much, m3; never less than nothing.
pub fn compressor_share(total: f64, others: f64) -> f64 {
    (total - others).max(0.0)
}

/// What has to come out of a new compressor that was shipped with this much oil, m3: all but what drained out of the old one, what is still missing
/// elsewhere in the circuit and what was recovered. Below nothing, so much has to be added.
pub fn drain_from_new(shipped: f64, called_for: f64) -> f64 {
    shipped - called_for
}

/// The oil's way out and in, and what is called for.
pub fn figures(case: &Case<'_>) -> OilFigures {
    let r = case.record;
    let parts = || live(&r.parts, "parts").map(|(_, _, p)| p);
    let sum = |values: Vec<f64>| {
        if values.is_empty() {
            None
        } else {
            Some(values.iter().sum())
        }
    };
    let drained = parts()
        .filter_map(|p| p.oil_drained.as_ref())
        .map(|v| v.si().m3());
    let filled = parts()
        .filter_map(|p| p.oil_added.as_ref())
        .map(|v| v.si().m3());
    let added = filled
        .chain(
            live(&r.oil_added, "oil_added")
                .filter_map(|(_, _, o)| o.volume.as_ref().map(|v| v.si().m3())),
        )
        .collect();
    let due = due(case);
    OilFigures {
        removed_m3: sum(drained.chain(recovered(case)).collect()),
        added_m3: sum(added),
        due_low_m3: due.map(|d| d.low),
        due_usual_m3: due.map(|d| d.usual),
        due_high_m3: due.map(|d| d.high),
    }
}

/// The oil that came out with each recovery, m3.
fn recovered<'a>(case: &'a Case<'_>) -> impl Iterator<Item = f64> + 'a {
    live(&case.record.recovery, "recovery")
        .filter_map(|(_, _, r)| r.oil.as_ref().map(|v| v.si().m3()))
}

/// What something called for, with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Called {
    /// "new condenser", "flush of condenser to evaporator", "recovered with the refrigerant".
    pub by: String,
    /// How much.
    pub due: Due,
}

/// What parts, flushes and recovery call for, each by itself.
pub fn called_for(case: &Case<'_>) -> Vec<Called> {
    let r = case.record;
    let total = total(case);
    let mut all: Vec<Called> = live(&r.parts, "parts")
        .filter_map(|(_, _, p)| {
            Some(Called {
                by: super::case::part_name(p),
                due: of_part(p, total)?,
            })
        })
        .collect();
    all.extend(flushed(case).into_iter().map(|(section, due)| Called {
        by: format!("flush, {section}"),
        due,
    }));
    all.extend(recovered(case).filter(|v| *v > 0.0).map(|v| Called {
        by: "recovered with the refrigerant".into(),
        due: Due::exactly(v),
    }));
    if live(&r.leaks, "leaks").any(|(_, _, l)| l.repaired_at.is_some()) {
        all.push(Called {
            by: "a leak repaired".into(),
            due: LEAK_REPAIR,
        });
    }
    if case
        .openings
        .iter()
        .any(|o| o.found && o.about != OPEN_SINCE)
        || r.open_since.is_some()
    {
        all.push(Called {
            by: "lost with the refrigerant".into(),
            due: DISCHARGE,
        });
    }
    all
}

/// What parts, flushes and recovery call for in all; `None` where they call for none. Never more than the whole circuit's oil, but for what was measured.
pub fn due(case: &Case<'_>) -> Option<Due> {
    let sum: Due = called_for(case).into_iter().map(|c| c.due).sum();
    let measured: f64 = live(&case.record.parts, "parts")
        .filter_map(|(_, _, p)| p.oil_drained.as_ref().map(|v| v.si().m3()))
        .chain(recovered(case))
        .sum();
    let due = if case.record.system.oil_total.is_some() {
        sum.capped(total(case).high.max(measured))
    } else {
        sum
    };
    (due.high > 0.0).then_some(due)
}

fn total(case: &Case<'_>) -> Due {
    case.record
        .system
        .oil_total
        .as_ref()
        .map(|t| t.si().m3())
        .filter(|t| *t > 0.0)
        .map_or(TOTAL, Due::exactly)
}

/// What a part calls for that was renewed, or out of whose place oil drained; `None` for one that was only put back, or is not fitted.
fn of_part(p: &Part, total: Due) -> Option<Due> {
    let drained = p.oil_drained.as_ref().map(|v| v.si().m3());
    let own = matches!(p.source, Some(Source::Refitted | Source::Repaired));
    let printed = if p.fitted_at.is_some() && !own {
        p.role.and_then(|role| printed(role, total))
    } else {
        None
    };
    match (printed, drained) {
        (Some(printed), Some(drained)) if p.role == Some(Role::Accumulator) => {
            Some(printed + Due::exactly(drained))
        }
        // The whole of the old compressor's oil drains: that much goes back.
        (_, Some(drained)) if p.role == Some(Role::Compressor) => Some(Due::exactly(drained)),
        (Some(printed), Some(drained)) => Some(Due {
            low: drained,
            usual: printed.usual.max(drained),
            high: printed.high.max(drained),
        }),
        (Some(printed), None) => Some(printed),
        (None, Some(drained)) => Some(Due::exactly(drained)),
        (None, None) => None,
    }
}

/// What makers print for a part of this role.
fn printed(role: Role, total: Due) -> Option<Due> {
    match role {
        Role::Condenser => Some(CONDENSER),
        Role::Evaporator => Some(EVAPORATOR),
        Role::ReceiverDrier => Some(RECEIVER_DRIER),
        Role::Accumulator => Some(ACCUMULATOR),
        Role::Hose | Role::Pipe => Some(LINE),
        Role::Compressor => {
            let others: Due = [CONDENSER, EVAPORATOR, RECEIVER_DRIER, LINE]
                .into_iter()
                .sum();
            Some(Due {
                low: compressor_share(total.low, others.high),
                usual: compressor_share(total.usual, others.usual),
                high: compressor_share(total.high, others.low),
            })
        }
        Role::ExpansionDevice | Role::PressureSensor | Role::ServiceValve | Role::Other => None,
    }
}

/// What each flushed section calls for: the oil of the parts and lines in it, but for the parts that were renewed and are counted by themselves. A section
/// that was renewed or filtered was not flushed: its parts are on record, or its oil stayed in it.
fn flushed(case: &Case<'_>) -> Vec<(&'static str, Due)> {
    let renewed = |role: Role| {
        live(&case.record.parts, "parts")
            .any(|(_, _, p)| p.role == Some(role) && p.fitted_at.is_some())
    };
    let mut sections: Vec<&'static str> = live(&case.record.flushes, "flushes")
        .filter(|(_, _, f)| f.by == Some(FlushedBy::Flushed))
        .flat_map(|(_, _, f)| sections_named(f))
        .collect();
    sections.sort_unstable();
    sections.dedup();
    let of = |section: &str| -> Due {
        let roles: &[Role] = match section {
            "compressor to condenser" => &[Role::Hose, Role::Condenser],
            "condenser to evaporator" => &[Role::Pipe],
            _ => &[Role::Evaporator, Role::Hose],
        };
        roles
            .iter()
            .filter(|role| !renewed(**role))
            .filter_map(|role| printed(*role, TOTAL))
            .sum()
    };
    sections
        .into_iter()
        .map(|section| (section, of(section)))
        .filter(|(_, due)| due.usual > 0.0)
        .collect()
}

/// How the oil that went in stands to what is called for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// What is called for.
    pub due: Due,
    /// What went in, m3.
    pub added: f64,
    /// How far that lies outside of what is called for, m3: below nothing too little, above too much, nothing within.
    pub off: f64,
}

/// Whether parts, flushes or recovery ask for an entry of oil: they call for some at least, and for more than is worth leaving out; a compressor always does.
pub fn asks_for_an_entry(case: &Case<'_>) -> bool {
    let compressor = live(&case.record.parts, "parts").any(|(_, _, p)| {
        p.role == Some(Role::Compressor)
            && p.fitted_at.is_some()
            && !matches!(p.source, Some(Source::Refitted | Source::Repaired))
    });
    compressor
        || due(case).is_some_and(|d| d.low > 0.0 && d.usual >= case.limits.oil_least.m3() - 1e-12)
}

/// The balance; `None` where nothing is recorded as put in.
pub fn balance(case: &Case<'_>) -> Option<Balance> {
    let added = figures(case).added_m3?;
    // Where nothing is called for, all that went in is too much.
    let due = due(case).unwrap_or_default();
    let off = if added > due.high {
        added - due.high
    } else {
        (added - due.low).min(0.0)
    };
    Some(Balance { due, added, off })
}
