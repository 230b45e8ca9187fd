//! A pressure hold judged: what it lost, brought to one temperature.
use super::{
    course::Course,
    explain::Curve,
    hold::{Bench, Doubt, Held, ROSE},
    readings::{Point, corrected},
};
use crate::{
    physics::{gas::Gas, leak::Side},
    record::{
        Gas as TestGas,
        answer::{Shape, Verdict},
    },
    units::AbsolutePressure,
};

const STILL_NOT_SHOWN: &str = "it lost no more than the gauge and the temperature may make, but its readings are too few or too coarse to tell that from a leak";
const TEMPERATURE: &str = "over so long a time the temperature may have changed by more than a leak would show, and the metal’s was not read at the first and the last reading";

impl Bench<'_> {
    pub(super) fn pressure(
        &self,
        held: &mut Held,
        points: &[Point],
        duration: f64,
    ) -> Result<Verdict, String> {
        let readings = corrected(points, self.limits);
        let Some(course) = Course::of_pressure(&readings, held.resolution_pa) else {
            return Err("there is no reading".into());
        };
        let first = &points[0];
        // The course is at the first temperature, the drop at the last, as the gauge would have shown it.
        let warmed = held
            .first_temperature
            .zip(held.last_temperature)
            .map_or(1.0, |(t1, t2)| t2.k() / t1.k());
        let drop = course.change * warmed;
        let allowed = held.temperature_allows(self.limits);
        let bound = held.resolution_pa + allowed;
        held.figures.change_pa = Some(drop);
        held.figures.slope_pa_per_s = Some(-drop / duration);
        // A straight line only: what a leak drives away is not spent within a hold.
        held.curve = course.curve.map(|_| Curve::Line(-drop / duration));
        if first.pa - held.air.pressure.pa() < self.limits.pressure_hold_least.pa() {
            held.short_of = Some(self.limits.pressure_hold_least);
            return Err("it began with less pressure above the air than it takes".into());
        }
        if drop < -bound && course.falls() {
            return Err(ROSE.into());
        }
        let test = self.test_gas(held, first)?.map(|gas| Side {
            gas,
            high: AbsolutePressure::new(first.pa),
            low: held.air.pressure,
        });
        let most = course.rises_at_most() * warmed + bound;
        held.shown_pa_per_s = Some(most / duration);
        if let Some(test) = test {
            self.shown(held, test, most, duration);
        }
        let leak = |held: &mut Held| {
            if let Some(test) = test {
                self.leaks(
                    held,
                    test,
                    drop.max(0.0) / duration,
                    course.leak_bounds(false, allowed),
                );
            }
        };
        if drop > bound && course.moved_beyond_doubt(allowed) {
            held.figures.shape = Some(Shape::Linear);
            leak(held);
            return Ok(Verdict::Leak);
        }
        held.figures.shape = (drop <= bound).then_some(Shape::Flat);
        if allowed > self.limits.temperature_hides.one() * (first.pa - held.air.pressure.pa()) {
            leak(held);
            return Ok(held.open(Doubt::Temperature, TEMPERATURE));
        }
        if drop <= bound && duration < self.limits.pressure_hold_minimum.s() {
            return Ok(Verdict::TooShort);
        }
        if drop <= bound && course.shows_stillness(bound) {
            return Ok(Verdict::Held);
        }
        leak(held);
        self.what_tells(held, drop, allowed, duration);
        Ok(held.open(Doubt::Gauge, STILL_NOT_SHOWN))
    }

    /// The gas that is held; `None` of a refrigerant without properties.
    fn test_gas(&self, held: &Held, first: &Point) -> Result<Option<Gas>, String> {
        match (held.gas, self.fluid) {
            (TestGas::Air, _) => Ok(Some(Gas::Air)),
            (TestGas::Nitrogen, _) => Ok(Some(Gas::Nitrogen)),
            (TestGas::Refrigerant, Some(fluid)) => {
                let t1 = first.temperature.unwrap_or(self.limits.assumed_temperature);
                if fluid
                    .saturation_pressure(t1)
                    .is_some_and(|psat| first.pa >= self.limits.liquid_share.one() * psat.pa())
                {
                    return Err("there may be liquid refrigerant inside, which keeps the pressure up whatever leaks".into());
                }
                Ok(Some(Gas::Refrigerant(fluid)))
            }
            // No properties of oxygen here, and none of a refrigerant that is not known: no rate is calculated, the verdict stands.
            (TestGas::Oxygen, _) | (TestGas::Refrigerant, None) => Ok(None),
        }
    }
}
