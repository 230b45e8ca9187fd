//! A vacuum hold judged: air that comes in, water that boils off, gas that leaves oil and rubber, or stillness.
use super::{
    course::Course,
    hold::{Bench, Doubt, Held, PUMPED},
    readings::{Point, corrected},
};
use crate::{
    physics::{curve::Levelling, gas::Gas, leak::Side, water},
    record::answer::{Shape, Verdict},
    units::AbsolutePressure,
};

const STILL_NOT_SHOWN: &str = "it moved by no more than the gauge and the temperature may, but its readings are too few or too coarse to tell that from a rise";
const OUTGASSING: &str =
    "in so deep a vacuum gas that leaves oil and rubber rises as much as a leak";
const NOT_WATER: &str = "it rose and came to rest, but not at the pressure of water at the metal’s temperature: gas out of oil or desiccant, or water in oil; which, it cannot tell";
const PERHAPS_WATER: &str = "it rose and came to rest: water, or gas out of oil or desiccant; without a finer gauge and the last temperature of the metal it cannot tell which";

/// The most of water's pressure that one graduation may be, for a curve that comes to rest there to be seen to (practice).
const SEES_LEVEL: f64 = 0.2;

/// A vacuum hold's course with what is measured on it.
struct Seen<'a> {
    course: &'a Course<'a>,
    /// What a leak's flow is driven by.
    test: Side,
    duration: f64,
    bound: f64,
    /// What the temperature may do, Pa.
    allowed: f64,
    psat: Option<f64>,
    /// Last pressure as read, Pa.
    last_pa: f64,
    short: bool,
}

impl Bench<'_> {
    /// Water's saturation pressure at the last reading's temperature, Pa, where water holds the pressure at it.
    pub(super) fn water_holds(&self, held: &Held, course: &Course<'_>) -> Option<f64> {
        let psat = held
            .last_temperature
            .and_then(water::saturation_pressure)?
            .pa();
        let sees = held.resolution_pa <= self.limits.moisture_resolution_share.one() * psat;
        let bound = held.resolution_pa + held.temperature_allows(self.limits);
        (sees && course.is_held_by_water(bound, self.limits.moisture_within.one())).then_some(psat)
    }

    pub(super) fn vacuum(
        &self,
        held: &mut Held,
        points: &[Point],
        duration: f64,
    ) -> Result<Verdict, String> {
        let readings = corrected(points, self.limits);
        let Some(course) = Course::of_vacuum(&readings, held.resolution_pa) else {
            return Err("there is no reading".into());
        };
        let (first, last) = (&readings[0], &readings[readings.len() - 1]);
        held.figures.change_pa = Some(course.change);
        held.curve = course.curve;
        held.figures.slope_pa_per_s = course.line.map(|l| l.slope);
        if first.pa > self.limits.vacuum_share.one() * held.air.pressure.pa() {
            return Err("its first pressure is no vacuum".into());
        }
        let allowed = held.temperature_allows(self.limits);
        let bound = held.resolution_pa + allowed;
        let water_holds = self.water_holds(held, &course).is_some();
        if course.change < -bound && !water_holds && course.falls() {
            return Err(PUMPED.into());
        }
        let mean = 0.5 * (first.corrected + last.corrected);
        let seen = Seen {
            test: Side {
                gas: Gas::Air,
                high: held.air.pressure,
                low: AbsolutePressure::new(mean.max(0.0)),
            },
            duration,
            bound,
            allowed,
            psat: held
                .last_temperature
                .and_then(water::saturation_pressure)
                .map(|p| p.pa()),
            last_pa: last.pa,
            short: duration < self.limits.hold_minimum.s(),
            course: &course,
        };
        self.shown(held, seen.test, course.rises_at_most() + bound, duration);
        if course.change.abs() > bound && water_holds {
            return Ok(Verdict::Moisture);
        }
        Ok(if course.change <= bound {
            self.flat_vacuum(held, &seen, water_holds)
        } else {
            self.risen_vacuum(held, &seen)
        })
    }

    /// One that moved by no more than the bound.
    fn flat_vacuum(&self, held: &mut Held, seen: &Seen<'_>, water_holds: bool) -> Verdict {
        held.figures.shape = Some(Shape::Flat);
        if seen.short {
            return Verdict::TooShort;
        }
        if water_holds {
            return Verdict::Moisture;
        }
        if seen.course.shows_stillness(seen.bound) {
            Verdict::Held
        } else {
            self.neither(held, seen)
        }
    }

    /// Neither stillness nor a leak is shown.
    fn neither(&self, held: &mut Held, seen: &Seen<'_>) -> Verdict {
        let change = seen.course.change;
        if change > 0.0 {
            self.leaks(
                held,
                seen.test,
                change / seen.duration,
                seen.course.leak_bounds(false, seen.allowed),
            );
        }
        self.what_tells(held, change, seen.allowed, seen.duration);
        held.open(Doubt::Gauge, STILL_NOT_SHOWN)
    }

    /// One that rose beyond the bound.
    fn risen_vacuum(&self, held: &mut Held, seen: &Seen<'_>) -> Verdict {
        let course = seen.course;
        let near = seen
            .psat
            .map_or(0.0, |psat| self.limits.water_level_within.one() * psat);
        let low = self.limits.outgassing.pa();
        let level = course.levels_off(seen.psat, near.max(held.resolution_pa), low);
        if let Some(level) = self.water_level(held, seen, level) {
            (held.figures.shape, held.level) = (Some(Shape::Levelling), Some(level.p_inf));
            return Verdict::Moisture;
        }
        // What comes to rest at the air's own pressure is the air.
        let level = level
            .filter(|level| level.p_inf < self.limits.vacuum_share.one() * held.air.pressure.pa());
        if let Some(level) = level {
            (held.figures.shape, held.level) = (Some(Shape::Levelling), Some(level.p_inf));
            return self.levelled(held, seen, &level);
        }
        // Fewer than five readings tell no shape but flat.
        held.figures.shape = course.has_shape().then_some(Shape::Linear);
        if !course.moved_beyond_doubt(seen.allowed) {
            return self.neither(held, seen);
        }
        let slope = course
            .line
            .map_or(course.change / seen.duration, |l| l.slope);
        self.leaks(
            held,
            seen.test,
            slope,
            course.leak_bounds(false, seen.allowed),
        );
        if seen.last_pa < low {
            held.open(Doubt::Outgassing, OUTGASSING)
        } else {
            Verdict::Leak
        }
    }

    /// A rise that comes to rest where water does: at its saturation pressure, on top of what gas was there, and no higher than it can.
    fn water_level(
        &self,
        held: &Held,
        seen: &Seen<'_>,
        level: Option<Levelling>,
    ) -> Option<Levelling> {
        let psat = seen
            .psat
            .filter(|psat| held.resolution_pa <= SEES_LEVEL * psat)?;
        let within = (self.limits.water_level_within.one() * psat).max(held.resolution_pa);
        let most = psat + within + seen.course.first_pa().min(within);
        let there = |level: &Levelling| {
            level.p_inf >= psat - within
                && level.p_inf <= most
                && level.p_inf - level.p0 <= self.limits.levelling_share.one() * psat
        };
        level
            .filter(there)
            .or_else(|| seen.course.levels_on_water())
            .filter(|level| level.p_inf >= self.limits.outgassing.pa())
    }

    /// A rise that came to rest elsewhere.
    fn levelled(&self, held: &mut Held, seen: &Seen<'_>, level: &Levelling) -> Verdict {
        let course = seen.course;
        let bounds = course.leak_bounds(true, seen.allowed);
        let slope = course
            .line
            .map_or(course.change / seen.duration, |l| l.slope);
        if level.p_inf < self.limits.outgassing.pa() {
            if seen.short {
                return Verdict::TooShort;
            }
            if course.rules_out_leak_beneath(level, seen.bound) {
                // What came to rest is no leak; what may lie beneath it is bounded by itself.
                let beneath = bounds.map_or(course.change.max(0.0), |b| {
                    (b.high * seen.duration).min(course.change.max(0.0))
                });
                self.shown(held, seen.test, beneath + seen.bound, seen.duration);
                return Verdict::Held;
            }
            self.leaks(held, seen.test, slope, bounds);
            return held.open(Doubt::Outgassing, OUTGASSING);
        }
        self.leaks(held, seen.test, slope, bounds);
        if course.leaks_beneath(level) {
            return Verdict::Leak;
        }
        let told = seen
            .psat
            .is_some_and(|psat| held.resolution_pa <= SEES_LEVEL * psat);
        held.open(
            Doubt::Levelling,
            if told { NOT_WATER } else { PERHAPS_WATER },
        )
    }
}
