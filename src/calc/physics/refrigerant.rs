//! Refrigerants by their fundamental equations of state, from the coefficients in data/fluids.json (each with its publication).
use crate::units::{AbsolutePressure, Density, Temperature};
use feos::multiparameter::{MultiParameter, MultiParameterEquationOfState, MultiParameterRecord};
use feos_core::{
    Contributions, DensityInitialization, PhaseEquilibrium, SolverOptions, State,
    parameter::{Parameters, PureRecord},
};
use quantity::{GRAM, KELVIN, KILO, KILOGRAM, METER, MOL, PASCAL};
use serde::Deserialize;
use std::sync::LazyLock;

/// A refrigerant whose equation of state we have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Fluid {
    /// Marx, Pruss and Wagner (1992).
    R12,
    /// R-134a: Tillner-Roth and Baehr (1994).
    R134a,
    /// R-152a: Outcalt and McLinden (1996).
    R152a,
    /// R-1234yf: Lemmon and Akasaka (2022).
    R1234yf,
    /// R-744, carbon dioxide: Span and Wagner (1996).
    R744,
}

impl Fluid {
    /// All five.
    pub const ALL: [Fluid; 5] = [
        Fluid::R12,
        Fluid::R134a,
        Fluid::R152a,
        Fluid::R1234yf,
        Fluid::R744,
    ];

    /// The name in the job record.
    pub fn name(self) -> &'static str {
        match self {
            Fluid::R12 => "R-12",
            Fluid::R134a => "R-134a",
            Fluid::R152a => "R-152a",
            Fluid::R1234yf => "R-1234yf",
            Fluid::R744 => "R-744",
        }
    }

    /// From that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.name() == name)
    }

    /// Temperature of the critical point.
    pub fn critical_temperature(self) -> Temperature {
        Temperature::new(self.model().critical_temperature_k)
    }

    /// Pressure of the critical point.
    pub fn critical_pressure(self) -> AbsolutePressure {
        AbsolutePressure::new(self.model().critical_pressure_pa)
    }

    /// Temperature of the triple point.
    pub fn triple_temperature(self) -> Temperature {
        Temperature::new(self.model().triple_temperature_k)
    }

    /// Molar mass, kg/mol.
    pub fn molar_mass(self) -> f64 {
        self.model().molar_mass
    }

    /// Saturation pressure; `None` below the triple and at or above the critical point, where the question has no answer.
    pub fn saturation_pressure(self, t: Temperature) -> Option<AbsolutePressure> {
        let (p, _) = self.saturated(t)?;
        Some(p)
    }

    /// Temperature of saturation; `None` below the triple point's pressure and at or above the critical one.
    pub fn saturation_temperature(self, p: AbsolutePressure) -> Option<Temperature> {
        let model = self.model();
        if !(p.pa() >= model.triple_pressure_pa && p.pa() < model.critical_pressure_pa) {
            return None;
        }
        let found = PhaseEquilibrium::pure(
            &&model.equation,
            p.pa() * PASCAL,
            None,
            SolverOptions::default(),
        );
        let k = found
            .ok()
            .map(|found| found.vapor().temperature.convert_into(KELVIN))
            .filter(|k| k.is_finite());
        k.map(Temperature::new)
            .or_else(|| self.saturation_temperature_by_halving(p))
    }

    /// Near the critical point the direct way may not arrive: then the interval in which the pressure lies is halved until it is narrow.
    fn saturation_temperature_by_halving(self, p: AbsolutePressure) -> Option<Temperature> {
        let (mut low, mut high) = (
            self.model().triple_temperature_k,
            self.model().critical_temperature_k,
        );
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            match self.saturation_pressure(Temperature::new(middle)) {
                Some(there) if there.pa() < p.pa() => low = middle,
                _ => high = middle,
            }
        }
        Some(Temperature::new(0.5 * (low + high)))
    }

    /// Density of the saturated liquid.
    pub fn liquid_density(self, t: Temperature) -> Option<Density> {
        Some(Density::new(self.saturated(t)?.1[1]))
    }

    /// Density of the saturated vapour.
    pub fn saturated_vapour_density(self, t: Temperature) -> Option<Density> {
        Some(Density::new(self.saturated(t)?.1[0]))
    }

    /// Density of vapour off saturation; `None` where there is liquid at this pressure, or the equation has no answer.
    pub fn vapour_density(self, t: Temperature, p: AbsolutePressure) -> Option<Density> {
        let model = self.model();
        if p.pa() <= 0.0 || t < self.triple_temperature() {
            return None;
        }
        if let Some(saturation) = self.saturation_pressure(t)
            && p > saturation
        {
            return None;
        }
        let state = State::new_npt(
            &&model.equation,
            t.k() * KELVIN,
            p.pa() * PASCAL,
            (),
            Some(DensityInitialization::Vapor),
        )
        .ok()?;
        let density = state
            .mass_density()
            .convert_into(KILOGRAM / METER.powi::<3>());
        density.is_finite().then(|| Density::new(density))
    }

    /// Pressure (Pa) and the densities of vapour and liquid (kg/m3) at saturation.
    fn saturated(self, t: Temperature) -> Option<(AbsolutePressure, [f64; 2])> {
        let model = self.model();
        // The equation extrapolates below the triple point without complaint.
        if !(t.k() >= model.triple_temperature_k && t.k() < model.critical_temperature_k) {
            return None;
        }
        let found = PhaseEquilibrium::pure(
            &&model.equation,
            t.k() * KELVIN,
            None,
            SolverOptions::default(),
        )
        .ok()?;
        let p = found
            .vapor()
            .pressure(Contributions::Total)
            .convert_into(PASCAL);
        let density = |state: &State<_, _, _>| {
            state
                .mass_density()
                .convert_into(KILOGRAM / METER.powi::<3>())
        };
        (p.is_finite() && p > 0.0).then(|| {
            (
                AbsolutePressure::new(p),
                [density(found.vapor()), density(found.liquid())],
            )
        })
    }

    fn model(self) -> &'static Model {
        &MODELS[self as usize]
    }
}

struct Model {
    equation: MultiParameterEquationOfState,
    critical_temperature_k: f64,
    critical_pressure_pa: f64,
    triple_temperature_k: f64,
    triple_pressure_pa: f64,
    molar_mass: f64,
}

#[derive(Deserialize)]
struct Entry {
    critical_temperature_k: f64,
    critical_pressure_pa: f64,
    triple_temperature_k: f64,
    identifier: Named,
    molarweight: f64,
    #[serde(flatten)]
    record: serde_json::Value,
}

#[derive(Deserialize)]
struct Named {
    name: String,
}

/// Read once. The file is part of the program, and a test reads all of it: it cannot fail in service.
static MODELS: LazyLock<Vec<Model>> = LazyLock::new(|| {
    let entries: Vec<Entry> = serde_json::from_str(include_str!("data/fluids.json"))
        .expect("data/fluids.json is part of the program");
    Fluid::ALL
        .iter()
        .map(|fluid| {
            let entry = entries
                .iter()
                .find(|e| e.identifier.name == fluid.name())
                .expect("every fluid is in data/fluids.json");
            model(entry)
        })
        .collect()
});

fn model(entry: &Entry) -> Model {
    let record: MultiParameterRecord = serde_json::from_value(entry.record.clone())
        .expect("data/fluids.json has the form that feos reads");
    let pure: PureRecord<MultiParameterRecord, ()> = PureRecord::new(
        feos_core::parameter::Identifier::default(),
        entry.molarweight,
        record,
    );
    let equation = MultiParameter::new(
        Parameters::new_pure(pure).expect("one substance makes a parameter set"),
    );
    let triple = PhaseEquilibrium::pure(
        &&equation,
        entry.triple_temperature_k * KELVIN,
        None,
        SolverOptions::default(),
    );
    Model {
        triple_pressure_pa: triple.map_or(0.0, |t| {
            t.vapor()
                .pressure(Contributions::Total)
                .convert_into(PASCAL)
        }),
        equation,
        critical_temperature_k: entry.critical_temperature_k,
        critical_pressure_pa: entry.critical_pressure_pa,
        triple_temperature_k: entry.triple_temperature_k,
        molar_mass: (entry.molarweight * GRAM / MOL).convert_into(KILO * GRAM / MOL),
    }
}
