//! What a test would show before it is made: the smallest leak, and how soon such a leak would cost a tenth of the charge.
pub use super::{
    left::{Left, left},
    loss::{Lost, lost},
};

use super::{
    case::Case,
    clears::kind_can_clear,
    evacuation::{Needed, needed_on},
    gauge::GaugeFacts,
    hold::Held,
    rules::pressure_test,
    talk::leak,
    timeline::live,
    voice::Voice,
};
use crate::units::PSI;
use crate::{
    physics::{leak::YEAR_S, water},
    record::{Gauge, HoldKind, answer::Verdict},
    units::{AbsolutePressure, GaugePressure, LeakRate, Seconds, Temperature, show},
};

/// A test that a shop could make.
#[derive(Debug, Clone, PartialEq)]
pub enum Test {
    /// A vacuum closed off at this pressure and watched on this gauge for so long.
    Vacuum(Gauge, AbsolutePressure, Seconds),
    /// Dry nitrogen at this pressure, watched on this gauge for so long.
    Nitrogen(Gauge, GaugePressure, Seconds),
    /// An electronic check of every joint once it is charged.
    Check(LeakRate),
}

/// Nitrogen for leak finding as it is usual: 150 psi above the air.
pub const NITROGEN_USUAL: GaugePressure = GaugePressure::new(150.0 * PSI);
/// The most that nitrogen may reach in this circuit: its own greatest test pressure, else the shop's. For R-744, whose circuits stand far more, the shop's
/// is taken for a test that is only proposed.
pub fn nitrogen_most(case: &Case<'_>) -> GaugePressure {
    pressure_test::most(case).unwrap_or(GaugePressure::new(case.limits.test_pressure_most.pa()))
}

/// Whether a vacuum can be watched on a gauge of this unit: one in psi, bar or MPa is too coarse for it (practice).
pub fn reads_vacuum(unit: &str) -> bool {
    !matches!(unit, "psi" | "bar" | "MPa")
}

/// Whether a pressure of nitrogen can be watched on it: a scale in inches or millimetres of mercury ends at the air's own (practice).
pub fn reads_pressure(unit: &str) -> bool {
    matches!(unit, "psi" | "bar" | "MPa" | "kPa" | "mbar")
}

/// What it would show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shows {
    /// The smallest leak that it rules out if nothing moves.
    pub smallest: LeakRate,
    /// How long such a leak takes a tenth of the charge; `None` where no charge is on record.
    pub tenth_gone: Option<Seconds>,
    /// It shows a leak as small as the limit.
    pub reaches_limit: bool,
}

/// What a test would show on this circuit, here and today. `None` where the refrigerant's properties are not known.
pub fn shows(case: &Case<'_>, test: &Test) -> Option<Shows> {
    let air = case.site.air;
    let smallest = match test {
        Test::Vacuum(gauge, from, held) => {
            let facts = GaugeFacts::of(Some(gauge), case.limits);
            case.bench
                .vacuum_would_show(facts.resolution_pa, from.pa(), held.s(), air)?
        }
        Test::Nitrogen(gauge, pressure, held) => {
            let facts = GaugeFacts::of(Some(gauge), case.limits);
            case.bench.nitrogen_would_show(
                facts.resolution_pa,
                air.pressure.pa() + pressure.pa(),
                held.s(),
                air,
            )?
        }
        Test::Check(sensitivity) => sensitivity.kg_per_year(),
    };
    let known = smallest.is_finite() && smallest > 0.0;
    known.then(|| Shows {
        smallest: LeakRate::new(smallest),
        tenth_gone: case
            .target
            .map(|t| Seconds::new(0.1 * t.kg / smallest * YEAR_S)),
        reaches_limit: smallest <= super::rules::leak_limit(case) + 1e-12,
    })
}

/// The smallest leak that a test shows, in words: what was converted from a hold as such (of R-744 at least), a detector's setting as it is.
pub fn smallest_told(case: &Case<'_>, test: &Test, shows: Shows) -> String {
    match test {
        Test::Check(_) => show::leak_rate(shows.smallest, case.units),
        Test::Vacuum(..) | Test::Nitrogen(..) => leak(case, shows.smallest.kg_per_year()),
    }
}

/// Where a vacuum hold is taken to begin: where the last evacuation came to, else where water just boils at the assumed temperature; on an
/// electronic vacuum gauge no higher than 500 micron (66.7 Pa), to which such a gauge is read in practice.
pub fn begins_at(case: &Case<'_>, electronic: bool) -> Option<AbsolutePressure> {
    let reached = case.last_evacuation().and_then(|e| e.figures.lowest_pa);
    let pa = reached
        .or_else(|| water::saturation_pressure(case.limits.assumed_temperature).map(|p| p.pa()))?;
    Some(AbsolutePressure::new(if electronic {
        pa.min(MICRON_500)
    } else {
        pa
    }))
}

/// 500 micron, Pa.
const MICRON_500: f64 = 0.5 * 101_325.0 / 760.0;

/// What a gauge has to show before water boils at this temperature, its uncertainty reckoned in: exactly, and on its own graduations.
/// `None` for a temperature at which water has no vapour pressure here, or a unit that is none.
pub fn depth_needed(
    case: &Case<'_>,
    gauge: &Gauge,
    unit: &str,
    absolute: bool,
    metal: Temperature,
) -> Option<Needed> {
    let psat = water::saturation_pressure(metal)?.pa();
    let facts = GaugeFacts::of(Some(gauge), case.limits);
    let air = case.site.air;
    let uncertainty = 0.5 * facts.resolution_pa
        + facts.error_pa
        + if absolute { 0.0 } else { air.uncertainty_pa };
    Some(needed_on(
        psat,
        uncertainty,
        facts.resolution_pa,
        air,
        absolute,
        Voice::named(unit, absolute, case.switched())?,
    ))
}

/// The test that can clear a failed hold the soonest, with the name of its gauge: on a gauge of this record, as the record has it used (a vacuum
/// where it read a vacuum, nitrogen where it read a pressure, begun where that began), for as long as it takes to rule out the failed hold's leak,
/// but no longer than that hold or three hours. A failed pressure hold is cleared by no vacuum. `None` where no gauge is on record that can.
pub fn clearing(case: &Case<'_>, failed: &Held) -> Option<(Test, String)> {
    let most = failed.figures.duration_s?.max(LONGEST_S);
    let mut best: Option<(f64, Test, String)> = None;
    // The failed hold's own gauge first: between equals it is at hand.
    let own = tests_made(case)
        .into_iter()
        .partition::<Vec<_>, _>(|t| t.hold == failed.id);
    for made in own.0.into_iter().chain(own.1) {
        if !kind_can_clear(Some(made.kind()), failed) {
            continue;
        }
        let Some(seconds) = made.seconds_to_clear(case, failed).filter(|s| *s <= most) else {
            continue;
        };
        if best.as_ref().is_none_or(|(least, ..)| seconds < *least) {
            best = Some((seconds, made.test(Seconds::new(seconds)), made.name));
        }
    }
    best.map(|(_, test, name)| (test, name))
}

/// Three hours: longer than that nobody watches a gauge that has not failed for as long (practice).
const LONGEST_S: f64 = 3.0 * 3600.0;

/// A gauge as the record has it used.
struct Made {
    hold: String,
    name: String,
    gauge: Gauge,
    begins: Begins,
}

/// Where a test begins.
#[derive(Clone, Copy)]
enum Begins {
    Vacuum(AbsolutePressure),
    Pressure(GaugePressure),
}

impl Made {
    fn kind(&self) -> HoldKind {
        if matches!(self.begins, Begins::Vacuum(_)) {
            HoldKind::Vacuum
        } else {
            HoldKind::Pressure
        }
    }

    fn test(&self, held: Seconds) -> Test {
        match self.begins {
            Begins::Vacuum(from) => Test::Vacuum(self.gauge.clone(), from, held),
            Begins::Pressure(from) => Test::Nitrogen(self.gauge.clone(), from, held),
        }
    }

    /// How long it has to stand still, s, by whole steps of five minutes and with a tenth to spare, to rule out what the failed hold found.
    fn seconds_to_clear(&self, case: &Case<'_>, failed: &Held) -> Option<f64> {
        const HOUR_S: f64 = 3600.0;
        let needed = match failed.figures.leak_high_kg_per_year {
            Some(high) => {
                HOUR_S
                    * shows(case, &self.test(Seconds::new(HOUR_S)))?
                        .smallest
                        .kg_per_year()
                    / high
            }
            // Of a refrigerant without properties there is no rate: the same kind, and a slope.
            None if failed.kind == Some(self.kind()) => {
                let begins = match self.begins {
                    Begins::Vacuum(from) => from.pa(),
                    Begins::Pressure(from) => case.site.air.pressure.pa() + from.pa(),
                };
                let doubt = begins * case.limits.temperature_doubt.k()
                    / case.limits.assumed_temperature.k();
                (GaugeFacts::of(Some(&self.gauge), case.limits).resolution_pa + doubt)
                    / failed.figures.slope_pa_per_s?.abs()
            }
            None => return None,
        };
        let steps = (1.1 * needed.max(0.0) / 300.0).ceil() * 300.0;
        steps
            .is_finite()
            .then(|| steps.max(case.limits.least_hold(Some(self.kind())).s()))
    }
}

/// Holds and evacuations of the record whose gauge is known, in the order of the record.
fn tests_made(case: &Case<'_>) -> Vec<Made> {
    let known = |gauge: &Option<Gauge>| gauge.clone().filter(|g| g.resolution.is_some());
    let named = |gauge: &Gauge, section: &str, id: &str| {
        gauge
            .id
            .clone()
            .unwrap_or_else(|| format!("the gauge of {section} {id}"))
    };
    let holds = live(&case.record.holds, "holds").filter_map(|(_, id, hold)| {
        let gauge = known(&hold.gauge)?;
        let held = case
            .holds
            .iter()
            .find(|h| h.id == id && h.says != Verdict::NotReadable)?;
        let first = held.first_pa?;
        let begins = match held.kind? {
            HoldKind::Vacuum => Begins::Vacuum(AbsolutePressure::new(first)),
            HoldKind::Pressure => Begins::Pressure(GaugePressure::new(
                (first - held.air.pressure.pa()).min(nitrogen_most(case).pa()),
            )),
        };
        Some(Made {
            name: named(&gauge, "hold", &id),
            hold: id,
            gauge,
            begins,
        })
    });
    let evacuations = live(&case.record.evacuations, "evacuations").filter_map(|(_, id, e)| {
        let gauge = known(&e.gauge)?;
        let lowest = case
            .evacuations
            .iter()
            .find(|made| made.id == id)?
            .figures
            .lowest_pa?;
        Some(Made {
            name: named(&gauge, "evacuation", &id),
            hold: String::new(),
            gauge,
            begins: Begins::Vacuum(AbsolutePressure::new(lowest)),
        })
    });
    holds.chain(evacuations).collect()
}

/// A test in words: "28 inHg vacuum for 15 min on gauge G-2 (resolution 0.5 inHg)".
pub fn words(case: &Case<'_>, test: &Test, gauge: &str) -> String {
    let air = case.site.air.pressure.pa();
    let on = |g: &Gauge, voice: Voice| {
        let resolution = GaugeFacts::of(Some(g), case.limits).resolution_pa;
        let name = if gauge.starts_with("the gauge") {
            gauge.to_owned()
        } else {
            format!("gauge {gauge}")
        };
        format!("on {name} (resolution {})", voice.difference(resolution))
    };
    match test {
        Test::Vacuum(g, from, held) => {
            let voice = Voice::of_gauge(g, HoldKind::Vacuum, case.units, case.switched());
            format!(
                "{} for {} {}",
                voice.pressure(from.pa(), air),
                show::duration(*held),
                on(g, voice)
            )
        }
        Test::Nitrogen(g, p, held) => {
            let voice = Voice::of_gauge(g, HoldKind::Pressure, case.units, case.switched());
            format!(
                "dry nitrogen at {} for {} {}",
                voice.pressure(air + p.pa(), air),
                show::duration(*held),
                on(g, voice)
            )
        }
        Test::Check(s) => format!(
            "an electronic check of every joint with {gauge} ({})",
            show::leak_rate(*s, case.units)
        ),
    }
}
