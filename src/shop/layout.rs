//! Where a circuit comes apart: the usual joints of a layout, by the part that they belong to.

/// A place where two parts meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// The part's role, in the record's words.
    pub role: &'static str,
    /// `inlet` or `outlet` of that part, in the direction of the flow.
    pub side: &'static str,
    /// As it is written: "evaporator inlet".
    pub says: &'static str,
}

const fn place(role: &'static str, side: &'static str, says: &'static str) -> Place {
    Place { role, side, says }
}

/// The usual joints in the direction of the flow, beginning behind the compressor.
/// `metering` in the record's words; the expansion valve sits on the evaporator, the orifice tube in the line before it.
pub fn joints(metering: &str, evaporators: u8) -> Vec<Place> {
    let mut all = vec![
        place("compressor", "outlet", "compressor outlet"),
        place("condenser", "inlet", "condenser inlet"),
        place("condenser", "outlet", "condenser outlet"),
    ];
    let orifice = metering == "orifice-tube";
    if orifice {
        all.push(place("expansion-device", "inlet", "orifice tube inlet"));
        all.push(place("expansion-device", "outlet", "orifice tube outlet"));
    } else {
        all.push(place("receiver-drier", "inlet", "drier inlet"));
        all.push(place("receiver-drier", "outlet", "drier outlet"));
        all.push(place("expansion-device", "inlet", "expansion valve inlet"));
        all.push(place("expansion-device", "outlet", "expansion valve outlet"));
    }
    all.push(place("evaporator", "inlet", "evaporator inlet"));
    all.push(place("evaporator", "outlet", "evaporator outlet"));
    if evaporators > 1 {
        all.push(place("evaporator", "inlet", "rear evaporator inlet"));
        all.push(place("evaporator", "outlet", "rear evaporator outlet"));
    }
    if orifice {
        all.push(place("accumulator", "inlet", "accumulator inlet"));
        all.push(place("accumulator", "outlet", "accumulator outlet"));
    }
    all.push(place("compressor", "inlet", "compressor inlet"));
    all
}

/// The part and side that a joint's place tells of; an own wording tells it by its words.
pub fn of_place(says: &str) -> Option<(&'static str, &'static str)> {
    let text = says.to_lowercase();
    let role = [
        ("compressor", "compressor"),
        ("condenser", "condenser"),
        ("drier", "receiver-drier"),
        ("accumulator", "accumulator"),
        ("evaporator", "evaporator"),
        ("valve", "expansion-device"),
        ("orifice", "expansion-device"),
    ]
    .into_iter()
    .find(|(word, _)| text.contains(word))?
    .1;
    Some((role, if text.contains("outlet") || text.contains("suction") { "outlet" } else { "inlet" }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_usual_place_is_told_by_its_words() {
        for (metering, evaporators) in [("expansion-valve", 1), ("orifice-tube", 2)] {
            for place in joints(metering, evaporators) {
                assert_eq!(of_place(place.says), Some((place.role, place.side)), "{}", place.says);
            }
        }
        assert_eq!(of_place("somewhere"), None);
    }
}
