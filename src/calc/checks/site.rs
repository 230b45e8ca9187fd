//! The surrounding air: by barometer, by elevation, or assumed (checks: physics, item 1).
use super::limits::Limits;
use crate::{
    JobRecord,
    physics::atmosphere,
    record::answer::{Assumed, SiteFigures},
    units::{AbsolutePressure, Length, Pressure, Quantity, show},
};

/// The air's pressure at a place and time, and how far it may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Absolute.
    pub pressure: AbsolutePressure,
    /// How far it may be above that, Pa; and below, but where nothing of the place is recorded.
    pub uncertainty_pa: f64,
    /// How far it may be below that, Pa: further than above where nothing of the place is recorded, for towns lie much higher above the sea than below it.
    pub below_pa: f64,
}

impl Air {
    /// Known to so much either way, Pa.
    pub const fn known(pressure: AbsolutePressure, uncertainty_pa: f64) -> Self {
        Self {
            pressure,
            uncertainty_pa,
            below_pa: uncertainty_pa,
        }
    }

    /// The least that it may be, Pa.
    pub fn least_pa(self) -> f64 {
        self.pressure.pa() - self.below_pa
    }

    /// The most that it may be, Pa.
    pub fn most_pa(self) -> f64 {
        self.pressure.pa() + self.uncertainty_pa
    }
}

/// A barometer that was not used: it shows more than the place can have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubtful {
    /// What it showed, Pa.
    pub barometer_pa: f64,
    /// What the elevation gives, Pa.
    pub standard_pa: f64,
    /// The elevation, m.
    pub elevation_m: f64,
}

/// The site of the work.
#[derive(Debug, Clone)]
pub struct Site<'a> {
    elevation: Option<Length>,
    standard: Option<AbsolutePressure>,
    /// What the place has without any barometer.
    unread: Air,
    limits: &'a Limits,
    /// The air where an entry has no barometer of its own.
    pub air: Air,
    /// The site's own barometer was reduced to sea level.
    pub doubtful: Option<Doubtful>,
    assumed: bool,
}

impl<'a> Site<'a> {
    /// From the record.
    pub fn of(record: &JobRecord, limits: &'a Limits) -> Self {
        let elevation = record.site.elevation.as_ref().map(Quantity::si);
        let standard = elevation.and_then(atmosphere::standard_pressure);
        let fallback = match standard {
            Some(pressure) => Air::known(pressure, limits.elevation_uncertainty.pa()),
            None => {
                let (above, below) = (
                    limits.assumed_site_above.pa(),
                    limits.assumed_site_uncertainty.pa(),
                );
                Air {
                    pressure: atmosphere::STANDARD,
                    uncertainty_pa: above.min(below),
                    below_pa: below,
                }
            }
        };
        let mut site = Self {
            elevation,
            standard,
            unread: fallback,
            limits,
            air: fallback,
            doubtful: None,
            assumed: standard.is_none(),
        };
        if let Some(barometer) = &record.site.barometer {
            match site.judge(barometer.si()) {
                Ok(air) => (site.air, site.assumed) = (air, false),
                Err(doubtful) => site.doubtful = doubtful,
            }
        }
        site
    }

    /// The air for an entry with or without a barometer of its own; and whether that barometer is doubtful. In place of a doubtful one the
    /// elevation is used, not the site's barometer, which may have been read on another day; in place of one that tells nothing, what the site has.
    pub fn air(&self, own: Option<&Quantity<Pressure>>) -> (Air, Option<Doubtful>) {
        match own.map(|b| self.judge(b.si())) {
            None | Some(Err(None)) => (self.air, None),
            Some(Ok(air)) => (air, None),
            Some(Err(doubtful)) => (self.unread, doubtful),
        }
    }

    /// A barometer far above what the elevation gives was reduced to sea level, as weather services publish it.
    fn judge(&self, barometer: Pressure) -> Result<Air, Option<Doubtful>> {
        let Pressure::Absolute(pressure) = barometer else {
            return Err(None);
        };
        if pressure.pa() <= 0.0 {
            return Err(None);
        }
        if let (Some(elevation), Some(standard)) = (self.elevation, self.standard) {
            let high = elevation.m() > self.limits.barometer_doubtful_elevation.m();
            if high && pressure.pa() - standard.pa() > self.limits.barometer_doubtful.pa() {
                return Err(Some(Doubtful {
                    barometer_pa: pressure.pa(),
                    standard_pa: standard.pa(),
                    elevation_m: elevation.m(),
                }));
            }
        }
        Ok(Air::known(pressure, self.limits.barometer_uncertainty.pa()))
    }

    /// The figures.
    pub fn figures(&self) -> SiteFigures {
        SiteFigures {
            barometer_pa: self.air.pressure.pa(),
            uncertainty_pa: self.air.uncertainty_pa.max(self.air.below_pa),
            least_pa: Some(self.air.least_pa()),
            most_pa: Some(self.air.most_pa()),
        }
    }

    /// Neither barometer nor elevation says what the air's pressure is.
    pub fn unknown(&self) -> bool {
        self.assumed
    }

    /// What was assumed of it.
    pub fn assumed(&self) -> Option<Assumed> {
        self.assumed.then(|| Assumed {
            key: "site.barometer".into(),
            value: format!(
                "{} kPa abs",
                show::decimals(self.air.pressure.pa() / 1e3, 3)
            ),
            span: Some(format!(
                "{} to {} kPa abs",
                show::decimals(self.air.least_pa() / 1e3, 1),
                show::decimals(self.air.most_pa() / 1e3, 1)
            )),
            why: "neither barometer nor elevation is recorded: from the highest town to the lowest"
                .into(),
        })
    }
}
