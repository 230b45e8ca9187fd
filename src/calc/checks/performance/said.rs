//! What a decided pattern is called in sentences, what else it could be, and what puts it right.
use super::{
    pattern::{self, Pattern},
    signs::{ByWeight, LowSide, Signs, Usual},
};
use crate::{
    checks::{case::Case, figures, remedy::Remedy},
    record::{Metering, Performance, answer::WorkStep},
    units::{Mass, Pressure, Quantity, Temperature, TemperatureDifference, show},
};

/// A decided pattern.
pub struct Decided {
    /// Which.
    pub pattern: Pattern,
    /// What was read.
    pub signs: Signs,
}

impl Decided {
    /// Of a reading; `None` where nothing fits.
    pub fn of(case: &Case<'_>, p: &Performance) -> Option<Self> {
        let signs = Signs::of(case, p);
        pattern::decide(&signs).map(|pattern| Self { pattern, signs })
    }

    /// "That points to too little refrigerant. It could also be …"
    pub fn says(&self, case: &Case<'_>) -> String {
        let also = self.also(case);
        let also = if also.is_empty() {
            String::new()
        } else {
            format!(" It could also be {}.", listed(&also))
        };
        format!("That points to {}.{also}", self.name())
    }

    /// The pattern in words.
    pub fn name(&self) -> &'static str {
        match self.pattern {
            Pattern::ChargeLow => "too little refrigerant",
            Pattern::ChargeHigh => "too much refrigerant",
            Pattern::AirInside => "air in the circuit",
            Pattern::CondenserAirflow => "too little air through the condenser",
            Pattern::Blockage if self.signs.low == Some(LowSide::Vacuum) => {
                "a blockage before the evaporator"
            }
            Pattern::Blockage if self.signs.orifice() => {
                "a blockage, most often at the orifice tube"
            }
            Pattern::Blockage => "a blockage",
            Pattern::ValveOpen if self.signs.orifice() => {
                "an orifice tube that lets too much through"
            }
            Pattern::ValveOpen => "an expansion valve that opens too far",
            Pattern::ValveClosed => "an expansion valve that opens too little",
            Pattern::CompressorWeak => "a compressor that does not pump as it should",
            Pattern::HeatLoad => "more heat than the system is made for",
            Pattern::BlendDoor => "warm air mixed in after the evaporator: the blend door",
        }
    }

    /// What else it could be; what the record rules out is left away, three at most.
    pub fn also(&self, case: &Case<'_>) -> Vec<String> {
        let mut all: Vec<String> = match self.signs.charge {
            ByWeight::Short(kg) if self.pattern != Pattern::ChargeLow => {
                vec![format!("the {} that are missing by weight", mass(case, kg))]
            }
            ByWeight::Over(kg) if self.pattern != Pattern::ChargeHigh => {
                vec![format!("the {} too much by weight", mass(case, kg))]
            }
            _ => Vec::new(),
        };
        let may = |other: &Option<Pattern>| match other {
            Some(Pattern::ValveClosed | Pattern::ValveOpen) if self.signs.orifice() => false,
            Some(other) => !pattern::ruled_out(&self.signs, *other),
            None => true,
        };
        all.extend(
            others(self.pattern)
                .iter()
                .filter(|(other, _)| may(other))
                .map(|(_, words)| (*words).to_owned()),
        );
        all.truncate(3);
        all
    }

    /// What to do about it.
    pub fn remedy(&self, case: &Case<'_>) -> Remedy {
        match self.pattern {
            Pattern::ChargeLow => charge_low(case, self.signs.charge),
            Pattern::ChargeHigh => Remedy::new(WorkStep::Recover, "Recover the refrigerant and weigh it against the label, then evacuate and charge by weight.")
                .then(WorkStep::Charge, "Charge by weight."),
            Pattern::AirInside => Remedy::new(
                WorkStep::Identify,
                "Identify the gas: with more air in it than may be, recover it, evacuate and charge by weight. Without an identifier, let the car stand cold and compare the standing pressure.",
            )
            .then(WorkStep::Recover, "Recover the refrigerant by weight."),
            Pattern::Blockage => Remedy::new(WorkStep::Measure, blocked_where(&self.signs))
                .then(WorkStep::OpenRepair, "Renew what is blocked.")
                .then(WorkStep::RenewDesiccant, "Fit a new receiver-drier or accumulator."),
            Pattern::ValveClosed => Remedy::new(
                WorkStep::Measure,
                "Warm the valve’s head or its bulb by hand: if the low side does not rise, the valve is stuck or its screen is blocked. Fit a new one.",
            )
            .then(WorkStep::OpenRepair, "Fit a new expansion valve."),
            Pattern::ValveOpen if self.signs.orifice() => Remedy::new(WorkStep::OpenRepair, "Look at the orifice tube: it is missing, loose or of the wrong size."),
            Pattern::ValveOpen => Remedy::new(
                WorkStep::Measure,
                "Look at the bulb: tight on the pipe and insulated? Then cool it: if the low side does not fall, fit a new expansion valve.",
            )
            .then(WorkStep::OpenRepair, "Fit a new expansion valve."),
            Pattern::CompressorWeak => compressor(case),
            Pattern::CondenserAirflow | Pattern::HeatLoad | Pattern::BlendDoor => Remedy::new(WorkStep::Measure, measured(self.pattern)),
        }
    }
}

fn measured(pattern: Pattern) -> &'static str {
    match pattern {
        Pattern::CondenserAirflow => {
            "Check that the condenser fans run and that nothing covers the condenser; wash it with the engine off. Then measure again: with water sprayed on it the high side must fall."
        }
        Pattern::HeatLoad => {
            "Measure again in the shade, doors and windows closed, recirculation on, a fan before the condenser."
        }
        _ => {
            "Check that the blend door moves all the way to cold and that no hot coolant goes through the heater, look at the cabin filter, then measure again."
        }
    }
}

fn charge_low(case: &Case<'_>, charge: ByWeight) -> Remedy {
    let refrigerant = case.record.system.refrigerant;
    match charge {
        ByWeight::Short(kg) => Remedy::new(WorkStep::Charge, format!("Charge the {} that are missing by weight, then measure again.", mass(case, kg))),
        _ => Remedy::new(
            WorkStep::Check,
            format!("Check every joint for a leak with a detector that sees {refrigerant}. Then recover the refrigerant and weigh it against the label."),
        )
        .then(WorkStep::Recover, "Recover the refrigerant and weigh it against the label.")
        .then(WorkStep::Charge, "Charge by weight."),
    }
}

fn blocked_where(signs: &Signs) -> &'static str {
    if signs.low == Some(LowSide::Vacuum) {
        "Switch off and let it warm up: if it then runs for a while, ice blocks the expansion device, which means moisture. Else find where the liquid line turns cold or frosts: there it is blocked."
    } else if signs.orifice() {
        "Find where the liquid line turns cold or frosts. At the orifice tube: renew it, and look for debris on its screen; before it: renew that part."
    } else {
        "Find where the line turns cold or frosts between compressor and evaporator: there it is blocked. Renew that part."
    }
}

fn compressor(case: &Case<'_>) -> Remedy {
    let check = match case.record.system.compressor_drive {
        Some(crate::record::Drive::Electric) => {
            "Read the compressor’s speed and faults from the car: does it run at all? If it runs and the sides do not part, fit a new compressor."
        }
        _ => {
            "Look whether the compressor turns: belt, clutch, control valve. At 2000 rpm the low side must fall and the high side rise; if not, fit a new compressor."
        }
    };
    Remedy::new(WorkStep::Measure, check).then(WorkStep::OpenRepair, "Fit a new compressor.")
}

/// What makers' tables name beside each pattern, what is checked most easily first. The pattern that rules it out, where there is one.
fn others(pattern: Pattern) -> &'static [(Option<Pattern>, &'static str)] {
    use Pattern::{
        AirInside, Blockage, ChargeHigh, ChargeLow, CondenserAirflow, ValveClosed, ValveOpen,
    };
    const AIRFLOW: (Option<Pattern>, &str) = (
        Some(CondenserAirflow),
        "too little air through the condenser",
    );
    const OVER: (Option<Pattern>, &str) = (Some(ChargeHigh), "too much refrigerant");
    const AIR: (Option<Pattern>, &str) = (Some(AirInside), "air in the circuit");
    const SHORT: (Option<Pattern>, &str) = (Some(ChargeLow), "too little refrigerant");
    match pattern {
        Pattern::ChargeLow => &[
            (
                Some(ValveClosed),
                "an expansion valve that opens too little",
            ),
            (Some(Blockage), "a restriction after the condenser"),
        ],
        Pattern::ChargeHigh => &[AIRFLOW, AIR],
        Pattern::AirInside => &[AIRFLOW, OVER],
        Pattern::CondenserAirflow => &[OVER, AIR],
        Pattern::Blockage => &[
            (Some(ValveClosed), "an expansion valve that is stuck closed"),
            SHORT,
        ],
        Pattern::ValveClosed => &[
            (Some(Blockage), "a blocked receiver-drier or liquid line"),
            SHORT,
        ],
        Pattern::ValveOpen => &[OVER, (None, "a probe that sits badly on the suction line")],
        Pattern::CompressorWeak => &[
            (None, "a belt or clutch that slips"),
            (Some(ValveOpen), "an expansion valve that is stuck open"),
        ],
        Pattern::HeatLoad => &[AIRFLOW, AIR],
        Pattern::BlendDoor => &[
            (None, "hot coolant through the heater"),
            (None, "a vent thermometer in the wrong place"),
        ],
    }
}

/// "a, b or c".
fn listed(all: &[String]) -> String {
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => all.concat(),
    }
}

fn mass(case: &Case<'_>, kg: f64) -> String {
    show::mass(Mass::new(kg), case.units)
}

/// What was read, against what is usual, in one sentence, in the unit of the gauges.
pub fn read(case: &Case<'_>, p: &Performance) -> Option<String> {
    let at = p
        .ambient
        .as_ref()
        .map(|t| format!("At {} outside ", show::temperature(t.si(), case.units)))
        .unwrap_or_default();
    Some(capital(&format!("{at}{}", sides_read(case, p)?)))
}

/// The same without the weather, and without a capital.
pub fn sides_read(case: &Case<'_>, p: &Performance) -> Option<String> {
    let air = case.site.air(p.barometer.as_ref()).0.pressure;
    let usual = p.ambient.as_ref().and_then(|t| Usual::at(case, t.si()));
    let usual =
        usual.filter(|_| case.record.system.refrigerant != crate::record::Refrigerant::R744);
    // Both sides in one system of units, where their gauges are of two: that of the high side.
    let voice_beside = |q: &Quantity<Pressure>| {
        let own = case.voice(q);
        p.high_side
            .as_ref()
            .map_or(own, |high| own.beside(case.voice(high)))
    };
    let side = |name: &str, q: &Quantity<Pressure>, range: Option<[f64; 2]>| {
        let (voice, fluid) = (
            voice_beside(q),
            crate::checks::circuit::fluid(case.record.system.refrigerant),
        );
        let shown = |k: f64| {
            Some(voice.about(
                fluid?.saturation_pressure(Temperature::new(k))?.pa(),
                air.pa(),
            ))
        };
        let range = range
            .and_then(|[from, to]| Some(format!(" (usual {})", span(&shown(from)?, &shown(to)?))))
            .unwrap_or_default();
        format!(
            "the {name} side read {}{range}",
            voice.pressure(q.si().absolute(air).pa(), air.pa())
        )
    };
    let sides = [
        p.low_side
            .as_ref()
            .map(|q| side("low", q, usual.map(|u| u.boils))),
        p.high_side
            .as_ref()
            .map(|q| side("high", q, usual.map(|u| u.condenses))),
    ];
    let sides: Vec<String> = sides.into_iter().flatten().collect();
    if sides.is_empty() {
        return None;
    }
    let lines = lines_read(case, p)
        .map(|l| format!("; {l}"))
        .unwrap_or_default();
    Some(format!("{}{lines}.", sides.join(", ")))
}

/// "15 to 40 psig"; where the units differ, both are told.
fn span(from: &str, to: &str) -> String {
    match (from.split_once(' '), to.split_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => format!("{number} to {to}"),
        _ => format!("{from} to {to}"),
    }
}

/// "superheat 26 °F, subcooling 2 °F", as far as they are there.
pub fn lines_read(case: &Case<'_>, p: &Performance) -> Option<String> {
    let f = figures::performance_of(case, p);
    let difference =
        |k: f64| show::temperature_difference(TemperatureDifference::new(k), case.units);
    let told = [
        f.superheat_k
            .map(|k| format!("superheat {}", difference(k))),
        f.subcooling_k
            .map(|k| format!("subcooling {}", difference(k))),
    ];
    let told: Vec<String> = told.into_iter().flatten().collect();
    (!told.is_empty()).then(|| told.join(", "))
}

/// With a capital.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// Whether liquid reaches the compressor: an expansion valve feeds, and the suction line is no warmer than boiling.
pub fn liquid_at_compressor(case: &Case<'_>, p: &Performance) -> Option<f64> {
    let k = figures::performance_of(case, p)
        .superheat_k
        .filter(|k| *k >= super::signs::CANNOT_BE)?;
    (case.record.system.metering == Some(Metering::ExpansionValve)
        && k < case.limits.superheat_least.k())
    .then_some(k)
}
