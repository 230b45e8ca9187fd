//! The loop: the refrigerant circuit as a drawn ring. It is the map of a work order; everything on it is also in the text.
mod places;

use askama::Template;
use places::{Layout, Spot};

pub use places::Metering;

/// How grave something is, by its shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// An open circle.
    Note,
    /// A lozenge: for the owner.
    Owner,
    /// A filled square.
    Blocks,
}

/// One line of words at a place, with the shape of its gravity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The shape; none for a plain line.
    pub mark: Option<Mark>,
    /// The words.
    pub says: String,
}

/// The circuit of one car.
#[derive(Debug, Clone)]
pub struct Ring {
    /// What is in the circuit, in the centre.
    pub centre: String,
    /// A line under it: the charge.
    pub centre_line: Option<Line>,
    /// Address that the centre opens.
    pub centre_href: String,
    /// The layout.
    pub metering: Metering,
    /// One or two.
    pub evaporators: u8,
    /// Parts about which something is on record.
    pub parts: Vec<Part>,
    /// Joints on record.
    pub joints: Vec<Joint>,
    /// Address of the service ports.
    pub ports_href: String,
    /// Small, for the report: no links, larger figures.
    pub compact: bool,
    /// What a screen reader hears first.
    pub says: String,
}

/// A part at its place.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its role in the record's words.
    pub role: String,
    /// What it is called: "evaporator".
    pub label: String,
    /// A second line: "used, tag 88".
    pub second: String,
    /// Fitted on this order.
    pub fitted: bool,
    /// The gravest thing about it.
    pub line: Option<Line>,
    /// Address that it opens.
    pub href: String,
}

/// A joint at its place.
#[derive(Debug, Clone)]
pub struct Joint {
    /// Its number in the order; empty where it is only a usual place.
    pub number: String,
    /// The part that it belongs to, in the record's words; empty where that is not known.
    pub role: String,
    /// `inlet` or `outlet`.
    pub side: String,
    /// What was done to it.
    pub state: JointState,
    /// The gravest thing about it.
    pub line: Option<Line>,
    /// Address that it opens; empty for none.
    pub href: String,
    /// What a screen reader hears: "Joint 4, drier inlet: new seal".
    pub says: String,
}

/// What was done to a joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JointState {
    /// Left alone: two strokes across the pipe.
    Alone,
    /// Opened, and no seal on record since: an open ring of strokes.
    Opened,
    /// Opened and sealed: a disc.
    Sealed,
}

#[derive(Template)]
#[template(path = "plot/ring.svg", escape = "html")]
struct Svg<'a> {
    ring: &'a Ring,
    width: i32,
    height: i32,
    orifice: bool,
    two: bool,
    valve: i32,
    port: i32,
    centre_y: i32,
    parts: Vec<PartAt<'a>>,
    joints: Vec<JointAt<'a>>,
}

struct PartAt<'a> {
    part: &'a Part,
    spot: Spot,
}

struct JointAt<'a> {
    joint: &'a Joint,
    spot: Spot,
    has_place: bool,
}

impl Ring {
    const fn layout(&self) -> Layout {
        Layout {
            metering: self.metering,
            evaporators: self.evaporators,
        }
    }

    /// Draws it.
    pub fn svg(&self) -> String {
        let (parts, joints) = (self.parts_at(), self.joints_at());
        let lowest = joints
            .iter()
            .filter(|j| !j.has_place)
            .map(|j| j.spot.y + 34)
            .max()
            .unwrap_or(0);
        let svg = Svg {
            ring: self,
            width: 696,
            height: lowest.max(416),
            orifice: self.metering == Metering::Orifice,
            two: self.evaporators > 1,
            valve: places::part("expansion-device", 0, self.layout()).map_or(0, |spot| spot.x),
            port: if self.metering == Metering::Orifice {
                130
            } else {
                258
            },
            // Two evaporators: the words of the inner one need the place.
            centre_y: if self.evaporators > 1 { 240 } else { 182 },
            parts,
            joints,
        };
        // The template writes into a string and calls nothing that fails.
        svg.render().unwrap_or_default()
    }

    /// All parts of the layout: those on record with their words, the others as the car's own.
    fn parts_at(&self) -> Vec<PartAt<'_>> {
        let mut seen: Vec<&str> = Vec::new();
        let mut at = Vec::new();
        for part in &self.parts {
            let nth = seen.iter().filter(|r| **r == part.role).count();
            if let Some(spot) = places::part(&part.role, nth, self.layout()) {
                seen.push(&part.role);
                at.push(PartAt { part, spot });
            }
        }
        at
    }

    fn joints_at(&self) -> Vec<JointAt<'_>> {
        let mut taken: Vec<(String, String)> = Vec::new();
        let mut loose = 0;
        self.joints
            .iter()
            .map(|joint| {
                let key = (joint.role.clone(), joint.side.clone());
                let nth = taken.iter().filter(|k| **k == key).count();
                taken.push(key);
                match places::joint(&joint.role, &joint.side, nth, self.layout()) {
                    Some(spot) => JointAt {
                        joint,
                        spot,
                        has_place: true,
                    },
                    None => {
                        loose += 1;
                        JointAt {
                            joint,
                            spot: places::loose(loose - 1),
                            has_place: false,
                        }
                    }
                }
            })
            .collect()
    }
}

impl PartAt<'_> {
    /// How far under the part its name stands.
    fn down(&self) -> i32 {
        if self.part.role == "compressor" {
            56
        } else {
            50
        }
    }

    /// The words at the part as they stand there (a name that a screen reader hears has to begin with what is seen), then what the shape means.
    fn aria(&self) -> String {
        let part = self.part;
        let roomy = self.spot.upright();
        let second = if part.second.is_empty() || (part.line.is_some() && !roomy) {
            String::new()
        } else {
            format!(" {}", part.second)
        };
        let line = part
            .line
            .as_ref()
            .map(|l| format!(" {}", l.says))
            .unwrap_or_default();
        let meaning = match (part.line.as_ref().and_then(|l| l.mark), part.fitted) {
            (Some(mark), _) => word(mark),
            (None, true) => "fitted",
            (None, false) => "the car’s own",
        };
        format!("{}{second}{line}: {meaning}", part.label)
    }
}

/// The word that goes with a shape.
pub fn word(mark: Mark) -> &'static str {
    match mark {
        Mark::Blocks => "blocking",
        Mark::Owner => "owner to decide",
        Mark::Note => "note",
    }
}

#[cfg(test)]
mod tests;
