//! The state of the circuit at any time: what is inside, and whether its high voltage is isolated.
use super::{
    case::Case,
    isolation::{self, Proved},
    timeline::{Rank, Stamp, live},
};
use crate::record::{HoldKind, Performance};

/// What is inside a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inside {
    /// Closed, with refrigerant; how much is known only where all of it was weighed into an evacuated circuit.
    Charged {
        /// It is known how much.
        known: bool,
    },
    /// Closed, without pressure: recovered, or found empty.
    Empty,
    /// Open to the air.
    Open,
    /// Under nitrogen, or another gas that was let in for a test.
    Nitrogen,
    /// Closed, under vacuum.
    Evacuated,
}

/// The high voltage of an electric compressor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HighVoltage {
    /// The compressor is not recorded as an electric one.
    None,
    /// Not isolated, or switched on again.
    Live,
    /// Isolated and measured dead.
    Isolated,
}

/// The state of the circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct State {
    /// What is inside.
    pub inside: Inside,
    /// The high voltage.
    pub high_voltage: HighVoltage,
}

/// What changes the state.
#[derive(Debug, Clone, Copy)]
enum Event {
    Becomes(Inside),
    /// A vacuum that is watched: of a charged circuit it changes nothing, since none was pulled.
    Watched,
    /// Charged; whether by weight.
    Charged(bool),
    Isolated,
    SwitchedOn,
    /// Read under pressure with the compressor running.
    Runs,
}

impl State {
    /// After everything that lies before this point; `None` for all that is on record. What has no time changes nothing: nobody can say when it was.
    pub fn at(case: &Case<'_>, until: Option<Stamp>) -> Self {
        let electric = isolation::has_high_voltage(case.record);
        let first = Self {
            inside: Inside::Charged { known: false },
            high_voltage: if electric {
                HighVoltage::Live
            } else {
                HighVoltage::None
            },
        };
        let mut events = events(case);
        events.sort_by_key(|(at, _)| *at);
        events
            .into_iter()
            .filter(|(at, _)| until.is_none_or(|until| *at < until))
            .fold(first, |state, (_, event)| state.with(event))
    }

    fn with(self, event: Event) -> Self {
        match event {
            Event::Becomes(inside) => Self { inside, ..self },
            Event::Watched if matches!(self.inside, Inside::Charged { .. }) => self,
            Event::Watched => Self {
                inside: Inside::Evacuated,
                ..self
            },
            Event::Charged(weighed) => {
                let known = weighed
                    && matches!(
                        self.inside,
                        Inside::Evacuated | Inside::Charged { known: true }
                    );
                Self {
                    inside: Inside::Charged { known },
                    ..self
                }
            }
            Event::Isolated if self.high_voltage == HighVoltage::Live => Self {
                high_voltage: HighVoltage::Isolated,
                ..self
            },
            Event::SwitchedOn if self.high_voltage == HighVoltage::Isolated => Self {
                high_voltage: HighVoltage::Live,
                ..self
            },
            // Whatever is on record before: there is refrigerant inside, and nobody knows how much.
            Event::Runs if !matches!(self.inside, Inside::Charged { .. }) => Self {
                inside: Inside::Charged { known: false },
                ..self
            },
            Event::Isolated | Event::SwitchedOn | Event::Runs => self,
        }
    }
}

fn events(case: &Case<'_>) -> Vec<(Stamp, Event)> {
    use Event::{Becomes, Charged};
    let mut all: Vec<(Stamp, Event)> = case
        .openings
        .iter()
        // A circuit that was found empty is closed; one that stood open is not.
        .map(|o| {
            (
                o.at,
                Becomes(if o.found && o.about != super::case::OPEN_SINCE {
                    Inside::Empty
                } else {
                    Inside::Open
                }),
            )
        })
        .collect();
    // Where only a part of a known charge was taken out, the rest is still inside.
    let emptied = case
        .recoveries
        .iter()
        .enumerate()
        .filter(|(i, _)| !case.ledger.is_part(*i));
    all.extend(emptied.filter_map(|(_, r)| Some((r.at?, Becomes(Inside::Empty)))));
    all.extend(
        case.gas_in
            .iter()
            .map(|(at, _)| (*at, Becomes(Inside::Nitrogen))),
    );
    all.extend(
        case.evacuations
            .iter()
            .filter_map(|e| Some((e.start?, Becomes(Inside::Evacuated)))),
    );
    // A hold that cannot be read was begun all the same.
    all.extend(
        case.holds
            .iter()
            .filter(|h| h.kind == Some(HoldKind::Vacuum))
            .filter_map(|h| Some((h.start?, Event::Watched))),
    );
    all.extend(
        case.charges
            .iter()
            .filter_map(|c| Some((c.at?, Charged(c.net_kg.is_some())))),
    );
    all.extend(
        live(&case.record.isolation, "isolation").filter_map(|(i, _, x)| {
            (isolation::proved(x) == Proved::Dead)
                .then_some((Stamp::new(x.at?, Rank::Found, i), Event::Isolated))
        }),
    );
    let performance = || {
        live(&case.record.performance, "performance")
            .filter_map(|(i, _, p)| Some((Stamp::new(p.at?, Rank::Performance, i), p)))
    };
    all.extend(performance().map(|(at, _)| (at, Event::SwitchedOn)));
    all.extend(
        performance()
            .filter(|(_, p)| under_pressure(case, p))
            .map(|(at, _)| (at, Event::Runs)),
    );
    all
}

/// Whether a side stood above the surrounding air by more than an empty circuit may.
fn under_pressure(case: &Case<'_>, p: &Performance) -> bool {
    let air = case.site.air(p.barometer.as_ref()).0.pressure;
    let above = |pa: f64| pa - air.pa() > case.limits.empty_within.pa();
    [&p.low_side, &p.high_side]
        .into_iter()
        .flatten()
        .any(|q| above(q.si().absolute(air).pa()))
}
