//! What a hold rules out, what leak it found, and what would tell: throughputs of the test as refrigerant in service.
use super::{
    hold::{Bench, Held},
    site::Air,
};
use crate::{
    physics::{
        gas::Gas,
        leak::{Side, YEAR_S, convert, mass_flow},
        leak_and_gas::Bounds,
    },
    units::AbsolutePressure,
};

/// How many graduations a leak has to move the gauge by, beside the temperature's doubt, before any reading of it tells.
const TELLS_AT: f64 = 3.0;

impl Bench<'_> {
    /// The smallest leak that the hold rules out, and how soon such a leak would empty the car. `rise` is Pa that a leak may have made in it at most.
    pub(super) fn shown(&self, held: &mut Held, test: Side, rise: f64, duration: f64) {
        let rise = rise / duration;
        held.shown_pa_per_s = Some(rise);
        held.test = Some(test);
        let smallest = self
            .in_service(self.volume.high * rise, test, held.air.pressure)
            .map(|(_, greatest)| greatest);
        held.figures.smallest_leak_shown_kg_per_year = smallest;
        held.figures.hours_to_empty_at_smallest = smallest
            .zip(self.charge_kg)
            .map(|(rate, kg)| kg / rate * YEAR_S / 3600.0)
            .filter(|h| h.is_finite());
    }

    /// The leak that was found: by its bounds where the readings have them, else by the slope.
    pub(super) fn leaks(&self, held: &mut Held, test: Side, slope: f64, bounds: Option<Bounds>) {
        let rate = |volume: f64, slope: f64| {
            self.in_service(volume * slope.max(0.0), test, held.air.pressure)
        };
        let low = rate(self.volume.low, bounds.map_or(slope, |b| b.low)).map(|r| r.0);
        let high = rate(self.volume.high, bounds.map_or(slope, |b| b.high)).map(|r| r.1);
        held.figures.leak_slope_low_pa_per_s = bounds.map(|b| b.low);
        held.figures.leak_slope_high_pa_per_s = bounds.map(|b| b.high);
        held.figures.leak_low_kg_per_year = low;
        held.figures.leak_high_kg_per_year = high;
    }

    /// Where the gauge moved by less than tells: how long, or how fine, until what moved it would be a leak beyond doubt. `allowed` is what the temperature
    /// may do, Pa.
    pub(super) fn what_tells(&self, held: &mut Held, change: f64, allowed: f64, duration: f64) {
        if change <= 0.0 || duration <= 0.0 {
            return;
        }
        let seconds =
            (duration * (TELLS_AT * held.resolution_pa + allowed) / change / 300.0).ceil() * 300.0;
        held.figures.tells_after_s =
            (seconds > duration && seconds <= self.limits.longest_hold.s()).then_some(seconds);
        let finer = (change - allowed) / TELLS_AT;
        held.figures.tells_at_resolution_pa =
            (finer > 0.0 && finer < held.resolution_pa).then_some(finer);
    }

    /// A throughput on the test side as refrigerant in service, kg a year: the least and the greatest of the three forms.
    fn in_service(
        &self,
        throughput: f64,
        test: Side,
        site: AbsolutePressure,
    ) -> Option<(f64, f64)> {
        let fluid = self.fluid?;
        let forms = convert(throughput, test, Side::in_service(fluid, site)?)?;
        let rate = |q: f64| mass_flow(q, Gas::Refrigerant(fluid)).kg_per_year();
        Some((rate(forms.least()), rate(forms.greatest())))
    }

    /// The smallest leak (kg a year) that a vacuum hold on a gauge would rule out if nothing moved.
    pub fn vacuum_would_show(
        &self,
        resolution_pa: f64,
        pressure_pa: f64,
        seconds: f64,
        air: Air,
    ) -> Option<f64> {
        let bound = resolution_pa
            + pressure_pa * self.limits.temperature_doubt.k() / self.limits.assumed_temperature.k();
        let test = Side {
            gas: Gas::Air,
            high: air.pressure,
            low: AbsolutePressure::new(pressure_pa),
        };
        self.in_service(self.volume.high * bound / seconds, test, air.pressure)
            .map(|r| r.1)
    }

    /// The same of a pressure hold with nitrogen.
    pub fn nitrogen_would_show(
        &self,
        resolution_pa: f64,
        pressure_pa: f64,
        seconds: f64,
        air: Air,
    ) -> Option<f64> {
        let bound = resolution_pa
            + pressure_pa * self.limits.temperature_doubt.k() / self.limits.assumed_temperature.k();
        let test = Side {
            gas: Gas::Nitrogen,
            high: AbsolutePressure::new(pressure_pa),
            low: air.pressure,
        };
        self.in_service(self.volume.high * bound / seconds, test, air.pressure)
            .map(|r| r.1)
    }
}
