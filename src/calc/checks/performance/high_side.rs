//! How high the high side may stand, whatever the weather.
use crate::{
    checks::{case::Case, gauge},
    record::{Performance, Refrigerant},
    units::PressureDifference,
};

/// The most above the surrounding air; `None` for a refrigerant whose switches are not known here.
pub fn limit(case: &Case<'_>) -> Option<PressureDifference> {
    let limits = case.limits;
    match case.record.system.refrigerant {
        Refrigerant::R134a => Some(limits.high_side_r134a),
        Refrigerant::R1234yf => Some(limits.high_side_r1234yf),
        Refrigerant::R152a => Some(limits.high_side_r152a),
        Refrigerant::R12 => Some(limits.high_side_r12),
        Refrigerant::R744 => Some(limits.high_side_r744),
        Refrigerant::Other => None,
    }
}

/// The high side above the surrounding air, Pa, where it is above the limit; and the limit.
pub fn beyond(case: &Case<'_>, p: &Performance) -> Option<(f64, f64)> {
    let air = case.site.air(p.barometer.as_ref()).0;
    let above = gauge::loose(p.high_side.as_ref()?, air, case.limits).pa - air.pressure.pa();
    let most = limit(case)?.pa();
    (above > most).then_some((above, most))
}
