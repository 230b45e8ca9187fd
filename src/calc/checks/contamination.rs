//! What gas is inside, and where it went: a mixture follows the cylinder that it was recovered into, and whatever is charged from that one.
use super::{
    case::Case,
    figures,
    timeline::{Rank, Stamp, live},
};
use crate::record::{Identification, Refrigerant};

/// What an identifier found, against what should be inside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Identified {
    /// The gas that there is most of, and its share.
    pub main: Option<(String, f64)>,
    /// The gas that there is most of is another one than the label's.
    pub other_main: bool,
    /// Hydrocarbons: their share, where it counts.
    pub hydrocarbons: Option<f64>,
    /// Gases that are none of the car refrigerants: their share, where it counts.
    pub unknown: Option<f64>,
    /// Other car refrigerants that burn: their share, where it counts.
    pub burning: Option<f64>,
    /// Less of one gas than may be reused.
    pub impure: bool,
    /// The share of air, where it is more than may be reused.
    pub air: Option<f64>,
    /// Leak sealant was found.
    pub sealant: bool,
    /// Some of it may burn.
    pub flammable: bool,
}

impl Identified {
    /// Another gas than the label's is inside.
    pub fn is_wrong(&self) -> bool {
        self.other_main
            || self.hydrocarbons.is_some()
            || self.unknown.is_some()
            || self.burning.is_some()
    }

    /// It is no pure refrigerant of the label's kind.
    pub fn is_mixed(&self) -> bool {
        self.is_wrong() || self.impure || self.air.is_some() || self.sealant
    }
}

/// What kind of gas a name on an identifier's display is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Refrigerant(Refrigerant),
    Hydrocarbon,
    Air,
    Unknown,
}

fn kind(name: &str) -> Kind {
    let name = name.trim().to_lowercase();
    let plain: String = name.chars().filter(|c| c.is_ascii_alphanumeric()).collect();
    let refrigerant = Refrigerant::ALL
        .iter()
        .find(|r| r.word().to_lowercase().replace('-', "") == plain);
    match (refrigerant, plain.as_str()) {
        (Some(Refrigerant::Other), _) => Kind::Unknown,
        (Some(refrigerant), _) => Kind::Refrigerant(*refrigerant),
        (None, "air") => Kind::Air,
        (None, "hc" | "hcs" | "r290" | "r600" | "r600a" | "propane" | "butane" | "isobutane") => {
            Kind::Hydrocarbon
        }
        (None, _) if plain.contains("hydrocarbon") => Kind::Hydrocarbon,
        _ => Kind::Unknown,
    }
}

/// Whether a gas burns, or may, being unknown (ASHRAE 34: R-1234yf A2L, R-152a A2, the hydrocarbons A3; from memory but for the first).
fn may_burn(kind: Kind) -> bool {
    match kind {
        Kind::Refrigerant(r) => burns(r),
        Kind::Air => false,
        Kind::Hydrocarbon | Kind::Unknown => true,
    }
}

/// Whether a refrigerant burns, or may, being unknown.
pub fn burns(refrigerant: Refrigerant) -> bool {
    matches!(
        refrigerant,
        Refrigerant::R1234yf | Refrigerant::R152a | Refrigerant::Other
    )
}

/// What an identification shows. In a circuit that is converted, the gas that it was made for is no surprise before the first charging.
pub fn identified(case: &Case<'_>, x: &Identification) -> Identified {
    let first_charge = case.charges.iter().filter_map(|c| c.at).min();
    let before =
        x.at.zip(first_charge)
            .is_none_or(|(at, charged)| at.millis() < charged.ms);
    let shares: Vec<(&str, Kind, f64)> = x
        .gases
        .iter()
        .map(|(name, share)| (name.as_str(), kind(name), share.si().one()))
        .collect();
    let is_expected = |kind: Kind| match kind {
        Kind::Refrigerant(r) => is_expected(case, r, before),
        Kind::Unknown => case.record.system.refrigerant == Refrigerant::Other,
        Kind::Hydrocarbon | Kind::Air => false,
    };
    let gases: Vec<_> = shares
        .iter()
        .filter(|(_, kind, _)| *kind != Kind::Air)
        .collect();
    // Where two have as much, the expected one counts as the main one.
    let main = gases.iter().copied().max_by(|a, b| {
        a.2.total_cmp(&b.2)
            .then(is_expected(a.1).cmp(&is_expected(b.1)))
    });
    let counts = |share: f64| {
        (share > 0.0 && share >= case.limits.foreign_gas.one() - 1e-9).then_some(share)
    };
    let sum = |wanted: Kind| {
        counts(
            gases
                .iter()
                .filter(|(_, kind, _)| *kind == wanted && !is_expected(*kind))
                .map(|g| g.2)
                .sum(),
        )
    };
    let air = x
        .air
        .as_ref()
        .map(|air| air.si().one())
        .or_else(|| shares.iter().find(|s| s.1 == Kind::Air).map(|s| s.2));
    // What an identifier leaves without a name, beyond what it cannot tell.
    let unnamed = 1.0 - gases.iter().map(|g| g.2).sum::<f64>() - air.unwrap_or(0.0);
    Identified {
        main: main.map(|(name, _, share)| ((*name).to_owned(), *share)),
        other_main: main.is_some_and(|(_, kind, _)| !is_expected(*kind)),
        hydrocarbons: sum(Kind::Hydrocarbon),
        unknown: sum(Kind::Unknown),
        burning: counts(
            gases
                .iter()
                .filter(|(_, kind, _)| {
                    matches!(kind, Kind::Refrigerant(r) if burns(*r)) && !is_expected(*kind)
                })
                .map(|g| g.2)
                .sum(),
        ),
        impure: main.is_some_and(|(_, _, share)| *share < case.limits.purity.one()),
        air: air.filter(|air| *air > case.limits.air_in_refrigerant.one()),
        sealant: x.sealant == Some(true),
        flammable: gases
            .iter()
            .any(|(_, kind, share)| may_burn(*kind) && *share > 0.0)
            || (!gases.is_empty() && unnamed > 1.0 - case.limits.purity.one()),
    }
}

fn is_expected(case: &Case<'_>, refrigerant: Refrigerant, before_charging: bool) -> bool {
    let system = &case.record.system;
    refrigerant == system.refrigerant
        || (before_charging && system.converted_from == Some(refrigerant))
}

/// What a circuit holds, as far as that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Contents {
    /// A mixture, another gas than the label's, air, or sealant.
    pub mixed: bool,
    /// Something of it burns, or may.
    pub flammable: bool,
}

/// A recovery that made a mixture of what is in its cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoiled {
    /// The recovery.
    pub recovery: String,
    /// The cylinder, by what is written on it.
    pub cylinder: Option<String>,
}

/// A charge out of a cylinder in which there was a mixture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tainted {
    /// The charge.
    pub charge: String,
    /// The recovery that spoiled the cylinder; `None` where the shop knows it from another order.
    pub by: Option<String>,
}

/// What went where.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Traced {
    /// What is inside after all of it.
    pub contents: Contents,
    /// Recoveries that spoiled a cylinder.
    pub spoiled: Vec<Spoiled>,
    /// Charges out of such a cylinder.
    pub tainted: Vec<Tainted>,
}

enum Event<'a> {
    Identified(Identified),
    PressureTooHigh,
    Recovered {
        id: &'a str,
        refrigerant: Option<Refrigerant>,
        cylinder: Option<&'a str>,
        nothing: bool,
    },
    Emptied,
    Charged {
        id: &'a str,
        refrigerant: Option<Refrigerant>,
        cylinder: Option<&'a str>,
        known: bool,
    },
}

/// The least and the greatest point in the order of the work: what has no time is taken for the worse of both.
const FIRST: Stamp = Stamp {
    ms: i64::MIN,
    rank: Rank::Found,
    position: 0,
};
const LAST: Stamp = Stamp {
    ms: i64::MAX,
    rank: Rank::Performance,
    position: usize::MAX,
};

/// Follows the gas through the whole record.
pub fn traced(case: &Case<'_>) -> Traced {
    let mut events = events(case);
    events.sort_by_key(|(at, _)| *at);
    let mut traced = Traced::default();
    // Each cylinder with what was recovered into it: its name, the recovery, the refrigerant where it was a pure one.
    let mut cylinders: Vec<(String, String, Option<Refrigerant>)> = Vec::new();
    let (mut recovered, mut charged) = (false, false);
    for (_, event) in events {
        match event {
            Event::Identified(x) => {
                traced.contents = Contents {
                    mixed: x.is_mixed(),
                    flammable: x.flammable,
                }
            }
            Event::PressureTooHigh => traced.contents.mixed = true,
            Event::Recovered {
                id,
                refrigerant,
                cylinder,
                nothing,
            } => {
                let other = refrigerant
                    .is_some_and(|r| !is_expected(case, r, !charged) || r == Refrigerant::Other);
                let mixed = !nothing && (traced.contents.mixed || other);
                if mixed {
                    traced.spoiled.push(Spoiled {
                        recovery: id.to_owned(),
                        cylinder: cylinder.map(str::to_owned),
                    });
                }
                if let Some(name) = cylinder.filter(|_| !nothing) {
                    cylinders.push((
                        key(name),
                        id.to_owned(),
                        if mixed {
                            None
                        } else {
                            refrigerant.or(Some(case.record.system.refrigerant))
                        },
                    ));
                }
                recovered = true;
            }
            Event::Emptied if recovered => {
                (traced.contents, recovered) = (Contents::default(), false)
            }
            Event::Emptied => {}
            Event::Charged {
                id,
                refrigerant,
                cylinder,
                known,
            } => {
                let refrigerant = refrigerant.unwrap_or(case.record.system.refrigerant);
                let by = cylinder
                    .and_then(|name| {
                        cylinders
                            .iter()
                            .find(|(c, _, gas)| *c == key(name) && *gas != Some(refrigerant))
                    })
                    .map(|c| c.1.clone());
                let tainted = known || by.is_some();
                traced.contents.mixed |= tainted || refrigerant != case.record.system.refrigerant;
                traced.contents.flammable |= tainted || burns(refrigerant);
                if tainted {
                    traced.tainted.push(Tainted {
                        charge: id.to_owned(),
                        by,
                    });
                }
                (recovered, charged) = (false, true);
            }
        }
    }
    traced
}

/// A cylinder by what is written on it.
fn key(name: &str) -> String {
    name.trim().to_lowercase()
}

fn events<'c>(case: &'c Case<'_>) -> Vec<(Stamp, Event<'c>)> {
    let mut all: Vec<(Stamp, Event<'c>)> = live(&case.record.identification, "identification")
        .filter(|(_, _, x)| !x.gases.is_empty() || x.sealant == Some(true) || x.air.is_some())
        .map(|(i, _, x)| {
            (
                x.at.map_or(FIRST, |at| Stamp::new(at, Rank::Found, i)),
                Event::Identified(identified(case, x)),
            )
        })
        .collect();
    if all.is_empty() {
        all.extend(
            live(&case.record.standing, "standing")
                .filter(|(_, _, s)| {
                    s.cold_soak == Some(true)
                        && figures::standing_of(case, s).is_some_and(|f| f.excess_pa > f.allowed_pa)
                })
                .map(|(i, _, s)| {
                    (
                        s.at.map_or(FIRST, |at| Stamp::new(at, Rank::Found, i)),
                        Event::PressureTooHigh,
                    )
                }),
        );
    }
    all.extend(
        live(&case.record.recovery, "recovery").filter_map(|(i, _, r)| {
            let found = case.recoveries.iter().find(|x| x.position == i)?;
            let event = Event::Recovered {
                id: &found.id,
                refrigerant: r.refrigerant,
                cylinder: r.cylinder.as_deref(),
                nothing: found.kg.is_some_and(|kg| kg <= 0.0),
            };
            Some((found.at.unwrap_or(FIRST), event))
        }),
    );
    all.extend(
        case.evacuations
            .iter()
            .filter(|e| e.counts())
            .filter_map(|e| Some((e.start?, Event::Emptied))),
    );
    all.extend(case.charges.iter().map(|c| {
        let known = c.entry.contaminated == Some(true);
        let event = Event::Charged {
            id: &c.id,
            refrigerant: c.entry.refrigerant,
            cylinder: c.entry.cylinder.as_deref(),
            known,
        };
        (c.at.unwrap_or(LAST), event)
    }));
    all
}
