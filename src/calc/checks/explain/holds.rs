//! A hold's figures, step by step.
use super::{super::hold::Held, Step};
use crate::{
    checks::{case::Case, talk, voice::Voice},
    physics::{
        gas::Gas,
        leak::{Side, convert, mass_flow},
    },
    record::HoldKind,
    units::{AbsolutePressure, LeakRate, Mass, Seconds, Temperature, Volume, show},
};

const GAS_LAW: &str =
    "ideal gas law; the graduation and the doubt about the temperature are practice";
const FORMS: &str = "Levenspiel, Engineering Flow and Heat Exchange, 2014, 4.1.8; NASA/JPL Leakage Testing Handbook";

/// All of one hold.
pub fn steps(case: &Case<'_>, h: &Held) -> Vec<Step> {
    let units = case.units;
    let voice = case.voice_of_hold(h);
    let difference = |pa: f64| voice.difference(pa);
    let mut all = Vec::new();
    let f = &h.figures;
    if let (Some(first), Some(last)) = (h.first_pa, h.last_pa) {
        let air = h.air.pressure.pa();
        let how = format!(
            "as read, in air of {}",
            voice.air_within(air, h.air.uncertainty_pa)
        );
        all.push(Step::new(
            "first and last pressure",
            format!("{} and {}", voice.depth(first, air), voice.depth(last, air)),
            how,
            "",
        ));
    }
    if let Some(bound) = f.bound_pa {
        let how = format!(
            "one graduation, {}, and what {} make of the first pressure at {}",
            difference(h.resolution_pa),
            show::temperature_difference_short(h.temperature_doubt, units),
            show::temperature(
                h.first_temperature
                    .unwrap_or(case.limits.assumed_temperature),
                units
            )
        );
        all.push(Step::new("bound", difference(bound), how, GAS_LAW));
    }
    if let Some(change) = f.change_pa {
        let how = match (h.kind, h.curve) {
            (_, Some(curve)) => curve.says(voice, h.air.pressure.pa()),
            (Some(HoldKind::Pressure), _) => {
                "the first pressure brought to the last temperature, less the last".to_owned()
            }
            _ => "last less first, each brought to the first temperature".to_owned(),
        };
        let name = if h.kind == Some(HoldKind::Pressure) {
            "drop"
        } else {
            "rise"
        };
        all.push(Step::new(
            name,
            difference(change),
            how,
            "ideal gas law; least squares",
        ));
    }
    if let Some(slope) = f.slope_pa_per_s {
        let how = if h.kind == Some(HoldKind::Pressure) {
            "the drop over the time, downwards"
        } else {
            "straight line of least squares through the readings, each brought to the first temperature"
        };
        all.push(Step::new(
            "slope",
            format!("{} an hour", difference(slope * 3600.0)),
            how,
            "least squares",
        ));
    }
    all.extend(shown(case, h));
    if let (Some(low), Some(high)) = (f.leak_low_kg_per_year, f.leak_high_kg_per_year) {
        let rate = |r: f64| show::leak_rate(LeakRate::new(r), units);
        let how = format!(
            "from the slope; at the low end {} and the form that makes least of it, at the high end {} and the form that makes most{}",
            show::volume(Volume::new(case.bench.volume.low), units),
            show::volume(Volume::new(case.bench.volume.high), units),
            talk::real_vapour(case)
                .map(|why| format!("; {why}"))
                .unwrap_or_default()
        );
        all.push(Step::new(
            "leak",
            format!("{} to {}", talk::leak(case, low), rate(high)),
            how,
            FORMS,
        ));
    }
    let verdict = f.would_be.map_or_else(
        || f.verdict.word().to_owned(),
        |v| format!("running; if it ended now: {}", v.word()),
    );
    let how = h
        .why(voice)
        .or_else(|| f.stale_because.clone())
        .unwrap_or_else(|| "by the rules of the hold".into());
    all.push(Step::new("verdict", verdict.replace('-', " "), how, ""));
    all
}

/// The smallest leak that it rules out, form by form.
fn shown(case: &Case<'_>, h: &Held) -> Vec<Step> {
    let units = case.units;
    let rate = |r: f64| show::leak_rate(LeakRate::new(r), units);
    let (Some(test), Some(per_second), Some(smallest), Some(fluid)) = (
        h.test,
        h.shown_pa_per_s,
        h.figures.smallest_leak_shown_kg_per_year,
        case.bench.fluid,
    ) else {
        return Vec::new();
    };
    let throughput = case.bench.volume.high * per_second;
    let forms = Side::in_service(fluid, h.air.pressure)
        .and_then(|service| convert(throughput, test, service));
    let Some(forms) = forms else {
        return Vec::new();
    };
    let kg = |q: f64| rate(mass_flow(q, Gas::Refrigerant(fluid)).kg_per_year());
    let how = format!(
        "rise and bound in {}, in {}: {} Pa m³/s of {} as {} vapour from saturation at 25 °C against the air: laminar {}, choked {}, molecular {}; the greatest counts{}",
        show::duration(Seconds::new(h.figures.duration_s.unwrap_or(0.0))),
        show::volume(Volume::new(case.bench.volume.high), units),
        show::significant(throughput, 3),
        test.gas.name(),
        fluid.name(),
        kg(forms.laminar),
        kg(forms.choked),
        kg(forms.molecular),
        talk::real_vapour(case)
            .map(|why| format!("; {why}"))
            .unwrap_or_default()
    );
    let mut all = vec![Step::new(
        "smallest leak that it rules out",
        talk::leak(case, smallest),
        how,
        FORMS,
    )];
    if let (Some(hours), Some(target)) = (h.figures.hours_to_empty_at_smallest, case.target) {
        let how = format!("{} at that rate", show::mass(Mass::new(target.kg), units));
        all.push(Step::new(
            "such a leak would empty the car in",
            show::duration(Seconds::new(hours * 3600.0)),
            how,
            "",
        ));
    }
    all
}

/// Which curve gave the change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// A straight line, Pa/s.
    Line(f64),
    /// A levelling-off: where it comes to rest, Pa, and its time constant, s.
    Levelling(f64, f64),
}

impl Curve {
    fn says(self, voice: Voice, air_pa: f64) -> String {
        match self {
            Self::Line(slope) => {
                format!(
                    "by the straight line of least squares, {} a minute",
                    voice.difference(slope * 60.0)
                )
            }
            Self::Levelling(rest, tau) => format!(
                "by the levelling-off curve of least squares: comes to rest at {}, time constant {}",
                voice.pressure(rest, air_pa),
                show::duration(Seconds::new(tau))
            ),
        }
    }
}

/// The temperature that a vacuum of this depth boils water at, for a sentence.
pub fn boils(pa: f64, units: crate::UnitSystem) -> Option<String> {
    crate::physics::water::saturation_temperature(AbsolutePressure::new(pa))
        .map(|t: Temperature| show::temperature_to(t, 1, units))
}
