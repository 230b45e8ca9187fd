//! Where a circuit comes apart: the usual joints of a layout, by the part that they belong to.
use chillwright_calc::record::{Metering, Role};
use serde::{Deserialize, Serialize};

/// An end of a part, in the direction of the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Where the flow goes in.
    Inlet,
    /// Where it comes out.
    Outlet,
}

impl Side {
    /// As it is stored and drawn.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Inlet => "inlet",
            Self::Outlet => "outlet",
        }
    }
}

/// A place where two parts meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Place {
    /// The part's role.
    pub role: Role,
    /// Which end of that part.
    pub side: Side,
    /// As it is written: "evaporator inlet".
    pub says: &'static str,
}

const fn place(role: Role, side: Side, says: &'static str) -> Place {
    Place { role, side, says }
}

/// The usual joints in the direction of the flow, beginning behind the compressor.
/// The expansion valve sits on the evaporator, the orifice tube in the line before it.
pub fn joints(metering: Option<Metering>, evaporators: u8) -> Vec<Place> {
    let mut all = vec![
        place(Role::Compressor, Side::Outlet, "compressor outlet"),
        place(Role::Condenser, Side::Inlet, "condenser inlet"),
        place(Role::Condenser, Side::Outlet, "condenser outlet"),
    ];
    let orifice = metering == Some(Metering::OrificeTube);
    if orifice {
        all.push(place(
            Role::ExpansionDevice,
            Side::Inlet,
            "orifice tube inlet",
        ));
        all.push(place(
            Role::ExpansionDevice,
            Side::Outlet,
            "orifice tube outlet",
        ));
    } else {
        all.push(place(Role::ReceiverDrier, Side::Inlet, "drier inlet"));
        all.push(place(Role::ReceiverDrier, Side::Outlet, "drier outlet"));
        all.push(place(
            Role::ExpansionDevice,
            Side::Inlet,
            "expansion valve inlet",
        ));
        all.push(place(
            Role::ExpansionDevice,
            Side::Outlet,
            "expansion valve outlet",
        ));
    }
    all.push(place(Role::Evaporator, Side::Inlet, "evaporator inlet"));
    all.push(place(Role::Evaporator, Side::Outlet, "evaporator outlet"));
    if evaporators > 1 {
        all.push(place(
            Role::Evaporator,
            Side::Inlet,
            "rear evaporator inlet",
        ));
        all.push(place(
            Role::Evaporator,
            Side::Outlet,
            "rear evaporator outlet",
        ));
    }
    if orifice {
        all.push(place(Role::Accumulator, Side::Inlet, "accumulator inlet"));
        all.push(place(Role::Accumulator, Side::Outlet, "accumulator outlet"));
    }
    all.push(place(Role::Compressor, Side::Inlet, "compressor inlet"));
    all
}

/// The part and side that a joint's place tells of; an own wording tells it by its words.
pub fn of_place(says: &str) -> Option<(Role, Side)> {
    let text = says.to_lowercase();
    let role = [
        ("compressor", Role::Compressor),
        ("condenser", Role::Condenser),
        ("drier", Role::ReceiverDrier),
        ("accumulator", Role::Accumulator),
        ("evaporator", Role::Evaporator),
        ("valve", Role::ExpansionDevice),
        ("orifice", Role::ExpansionDevice),
    ]
    .into_iter()
    .find(|(word, _)| text.contains(word))?
    .1;
    Some((
        role,
        if text.contains("outlet") || text.contains("suction") {
            Side::Outlet
        } else {
            Side::Inlet
        },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_usual_place_is_told_by_its_words() {
        for (metering, evaporators) in [(Metering::ExpansionValve, 1), (Metering::OrificeTube, 2)] {
            for place in joints(Some(metering), evaporators) {
                assert_eq!(
                    of_place(place.says),
                    Some((place.role, place.side)),
                    "{}",
                    place.says
                );
            }
        }
        assert_eq!(of_place("somewhere"), None);
    }
}
