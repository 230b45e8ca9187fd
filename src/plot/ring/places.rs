//! Where parts and joints stand on the of. The pipe runs left along the bottom, up the left side, along the top, down the right side.

/// What meters the refrigerant; it decides where the desiccant sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Metering {
    /// Expansion valve: receiver-drier on the high side.
    Valve,
    /// Orifice tube: accumulator on the low side.
    Orifice,
}

/// How a circuit is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// What meters the refrigerant.
    pub metering: Metering,
    /// One evaporator or two.
    pub evaporators: u8,
}

/// A place, and on which side of it the words stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    /// From the left.
    pub x: i32,
    /// From the top.
    pub y: i32,
    /// Where the words go.
    pub words: Words,
}

/// Where the words of a place go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Words {
    /// Above it.
    Above,
    /// Below it.
    Below,
    /// To its left.
    Left,
    /// To its right.
    Right,
    /// To its right, but no more than its number: there is no room.
    Beside,
}

impl Spot {
    /// Whether the pipe runs up or down here.
    pub fn upright(self) -> bool {
        matches!(self.words, Words::Left | Words::Right | Words::Beside)
    }

    /// Whether there is room for a line of words.
    pub fn roomy(self) -> bool {
        matches!(self.words, Words::Left | Words::Right)
    }

    /// From the left, of the words.
    pub fn text_x(self) -> i32 {
        match self.words {
            Words::Left => self.x - 18,
            Words::Right | Words::Beside => self.x + 20,
            Words::Above | Words::Below => self.x,
        }
    }

    /// From the top, of the words' line.
    pub fn text_y(self) -> i32 {
        match self.words {
            Words::Above => self.y - 18,
            Words::Below => self.y + 29,
            Words::Left | Words::Right | Words::Beside => self.y + 5,
        }
    }

    /// The words' anchor, as a class.
    pub fn anchor(self) -> &'static str {
        match self.words {
            Words::Left => "end",
            Words::Right | Words::Beside => "start",
            Words::Above | Words::Below => "mid",
        }
    }
}

const fn spot(x: i32, y: i32, words: Words) -> Spot {
    Spot { x, y, words }
}

/// Where the nth part of a role stands; `None` for what has no place on the of.
pub fn part(role: &str, nth: usize, of: Layout) -> Option<Spot> {
    let orifice = of.metering == Metering::Orifice;
    Some(match (role, nth) {
        ("compressor", 0) => spot(if orifice { 214 } else { 270 }, 332, Words::Below),
        ("condenser", 0) => spot(72, 202, Words::Right),
        ("receiver-drier", 0) if !orifice => spot(172, 72, Words::Below),
        ("accumulator", 0) if orifice => spot(392, 332, Words::Below),
        ("expansion-device", 0) => spot(valve(of), 72, Words::Below),
        ("evaporator", 0) => spot(500, 202, Words::Right),
        ("evaporator", 1) if of.evaporators > 1 => spot(420, 202, Words::Left),
        _ => return None,
    })
}

/// Where the expansion device stands: further left where a second evaporator's branch leaves the pipe.
fn valve(of: Layout) -> i32 {
    match (of.metering, of.evaporators > 1) {
        (Metering::Orifice, _) => 250,
        (Metering::Valve, false) => 372,
        (Metering::Valve, true) => 326,
    }
}

/// Where the nth joint of a part's side stands; those after the first are set along the pipe.
pub fn joint(role: &str, side: &str, nth: usize, of: Layout) -> Option<Spot> {
    let orifice = of.metering == Metering::Orifice;
    let outlet = side == "outlet";
    // A second evaporator's joints stand on its own branch.
    if role == "evaporator" && of.evaporators > 1 && nth % 2 == 1 {
        let step = (nth as i32 / 2) * STEP;
        return (step <= 2 * STEP).then_some(if outlet {
            spot(420, 286 + step, Words::Beside)
        } else {
            spot(420, 118 - step, Words::Beside)
        });
    }
    let nth = if role == "evaporator" && of.evaporators > 1 {
        nth / 2
    } else {
        nth
    };
    let room = i32::try_from(nth).ok().filter(|n| *n < 2)? * STEP;
    Some(match (role, outlet) {
        ("compressor", true) => spot(
            if orifice { 158 - room } else { 207 - room },
            332,
            Words::Below,
        ),
        ("compressor", false) => spot(
            if orifice { 272 + room } else { 341 + room },
            332,
            Words::Below,
        ),
        ("condenser", false) => spot(72, 284 + room, Words::Right),
        ("condenser", true) => spot(72, 122 - room / 2, Words::Right),
        ("receiver-drier", false) if !orifice => spot(126 - room / 2, 72, Words::Above),
        ("receiver-drier", true) if !orifice => spot(218 + room, 72, Words::Above),
        ("expansion-device", false) => spot(
            valve(of) - if orifice { 60 } else { 54 } - room,
            72,
            Words::Above,
        ),
        ("expansion-device", true) => spot(
            valve(of) + if orifice { 62 } else { 56 } + room / 2,
            72,
            Words::Above,
        ),
        ("evaporator", false) => spot(500, 120 - room / 2, Words::Right),
        ("evaporator", true) => spot(500, 284 + room, Words::Right),
        ("accumulator", false) if orifice => spot(446 + room / 2, 332, Words::Below),
        ("accumulator", true) if orifice => spot(336 - room / 2, 332, Words::Below),
        _ => return None,
    })
}

/// Distance of two joints of the same side of the same part.
const STEP: i32 = 30;

/// A row of its own under the ring for joints whose place is not known.
pub fn loose(nth: usize) -> Spot {
    let nth = i32::try_from(nth).unwrap_or(0);
    spot(60 + (nth % 6) * 104, 430 + (nth / 6) * 54, Words::Below)
}
