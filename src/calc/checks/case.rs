//! The case: everything that the rules ask of a record, worked out once.
use super::{
    circuit::{self, Target},
    compared, contamination,
    evacuation::{self, Evacuated},
    gauge,
    hold::{Bench, Held},
    ledger::{self, Charged, Contents, Ledger, Recovered, Span},
    limits::Limits,
    rules::Due,
    site::Site,
    state::State,
    timeline::{Rank, Stamp, live},
    voice::Voice,
};
use crate::{
    JobRecord,
    record::{Gas, HoldKind, Joint, Part, Role, Seal, ShopUnits, Stage, answer::ChargeIs},
    units::{Pressure, Quantity, UnitSystem},
};
use std::collections::HashMap;

/// What an opening is about that was there when the car came.
pub const OPEN_SINCE: &str = "open_since";

/// An opening of the circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// When.
    pub at: Stamp,
    /// Which joint or part; the section's name where the circuit was found empty.
    pub about: String,
    /// How it is told in a sentence: "the joint evaporator inlet was opened".
    pub says: String,
    /// It was found open or empty: it counts for evacuation, hold and charge, not for seals and recovery.
    pub found: bool,
}

/// A joint with what is on record of it.
pub struct JointCase<'a> {
    /// Its id.
    pub id: String,
    /// Its place in words.
    pub place: String,
    /// It, where the record has it (a part may name a joint that is not there).
    pub joint: Option<&'a Joint>,
    /// When it was last opened, late seals included.
    pub opened: Option<Stamp>,
    /// The parts that it belongs to and that were fitted.
    pub fitted_part: bool,
    /// The seal that counts: the last one after the last opening.
    pub seal: Option<(String, &'a Seal)>,
    /// It was opened on this order, or belongs to a fitted part.
    pub concerned: bool,
}

/// Everything that the rules ask of a record.
pub struct Case<'a> {
    /// The record.
    pub record: &'a JobRecord,
    /// The limits in force.
    pub limits: &'a Limits,
    /// Units of the sentences.
    pub units: UnitSystem,
    /// The site.
    pub site: &'a Site<'a>,
    /// What holds share.
    pub bench: Bench<'a>,
    /// Holds.
    pub holds: Vec<Held>,
    /// Evacuations.
    pub evacuations: Vec<Evacuated>,
    /// Charges in the order of time.
    pub charges: Vec<Charged<'a>>,
    /// Recoveries in the order of time.
    pub recoveries: Vec<Recovered>,
    /// Joints, also those that only a part names.
    pub joints: Vec<JointCase<'a>>,
    /// All openings in the order of time, those that were found included.
    pub openings: Vec<Opening>,
    /// Times at which air or nitrogen was let in, with the name of the evidence.
    pub gas_in: Vec<(Stamp, String)>,
    /// The charge in force.
    pub target: Option<Target>,
    /// What was weighed in and out, and what is therefore inside.
    pub ledger: Ledger,
}

impl<'a> Case<'a> {
    /// Works everything out.
    pub fn of(
        record: &'a JobRecord,
        limits: &'a Limits,
        site: &'a Site<'a>,
        units: UnitSystem,
    ) -> Self {
        let bench = Bench::of(record, limits, site);
        let mut case = Self {
            holds: bench.holds(record),
            evacuations: evacuation::all(record, limits, site),
            charges: ledger::charges(record, limits),
            recoveries: ledger::recoveries(record, limits),
            joints: Vec::new(),
            openings: Vec::new(),
            gas_in: Vec::new(),
            target: circuit::target(record, limits),
            ledger: Ledger {
                contents: Contents::AsItCame,
                charged_since: false,
                runs: Vec::new(),
            },
            record,
            limits,
            units,
            site,
            bench,
        };
        case.gas_in = case.gas_let_in();
        case.joints = case.joint_cases();
        case.openings = case.all_openings();
        case.ledger = Ledger::of(&case);
        case.compare_holds();
        case.mark_stale();
        case
    }

    /// Whether work has begun: anything on record beyond what was found.
    pub fn work_begun(&self) -> bool {
        let r = self.record;
        self.openings.iter().any(|o| !o.found)
            || live(&r.parts, "parts").next().is_some()
            || !self.recoveries.is_empty()
            || !self.evacuations.is_empty()
            || !self.holds.is_empty()
            || !self.charges.is_empty()
            || live(&r.flushes, "flushes").next().is_some()
            || live(&r.leaks, "leaks").any(|(_, _, l)| l.repaired_at.is_some())
    }

    /// The state of the circuit after all that is on record.
    pub fn state(&self) -> State {
        State::at(self, None)
    }

    /// The system that the reader has switched to, where it is not the shop's own.
    pub fn switched(&self) -> Option<UnitSystem> {
        let shop = match self.record.shop_units? {
            ShopUnits::Si => UnitSystem::Si,
            ShopUnits::Us => UnitSystem::Us,
        };
        (shop != self.units).then_some(self.units)
    }

    /// How a pressure as typed is told.
    pub fn voice(&self, pressure: &Quantity<Pressure>) -> Voice {
        Voice::of(pressure, self.switched())
    }

    /// How the pressures of this hold are told.
    pub fn voice_of_hold(&self, hold: &Held) -> Voice {
        let readings = live(&self.record.holds, "holds")
            .find(|(_, id, _)| *id == hold.id)
            .and_then(|(_, _, h)| Voice::of_readings(&h.readings, self.switched()));
        readings.unwrap_or(if hold.kind == Some(HoldKind::Pressure) {
            Voice::gauge(self.units)
        } else {
            Voice::vacuum(self.units)
        })
    }

    /// How the pressures of this evacuation are told.
    pub fn voice_of_evacuation(&self, evacuation: &Evacuated) -> Voice {
        let entry =
            live(&self.record.evacuations, "evacuations").find(|(_, id, _)| *id == evacuation.id);
        entry
            .and_then(|(_, _, e)| Voice::of_readings(&e.readings, self.switched()))
            .unwrap_or(Voice::vacuum(self.units))
    }

    /// Whether what is inside now is no pure gas of the label's kind, as far as that is known.
    pub fn mixed_inside(&self) -> bool {
        contamination::traced(self).contents.mixed
    }

    /// Whether what is inside now may burn, beyond what the label says.
    pub fn flammable_inside(&self) -> bool {
        contamination::traced(self).contents.flammable
    }

    /// What the circuit was last put under, in a word.
    pub fn test_gas(&self) -> &'static str {
        let Some((_, id)) = self.gas_in.last() else {
            return "nitrogen";
        };
        let held = self.holds.iter().find(|h| h.id == *id).map(|h| h.gas);
        let let_in = live(&self.record.gas_let_in, "gas_let_in")
            .find(|(_, g, _)| g == id)
            .and_then(|(_, _, g)| g.gas);
        match held.or(let_in) {
            Some(Gas::Air) => "air",
            Some(Gas::Oxygen) => "oxygen",
            _ => "nitrogen",
        }
    }

    /// Whether work still goes on.
    pub fn in_work(&self) -> bool {
        self.record.stage == Some(Stage::InWork)
    }

    /// Whether what is missing since this point (the last opening where none is given) is due: always once the record is ready, else when a later step
    /// was begun without it.
    pub fn is_due(&self, due: Due, since: Option<Stamp>) -> bool {
        let since = since.or(self.last_opening().map(|o| o.at));
        let later = |at: Stamp| since.is_none_or(|since| at > since);
        let holds = || self.holds.iter().filter_map(|h| h.start);
        let charges = || self.charges.iter().filter_map(|c| c.at);
        match due {
            _ if !self.in_work() => true,
            Due::Now => true,
            Due::WhenClosed => self.work_on_closed_circuit().any(later),
            Due::WhenEvacuated => {
                let vacuum = self
                    .holds
                    .iter()
                    .filter(|h| h.kind == Some(HoldKind::Vacuum))
                    .filter_map(|h| h.start);
                self.evacuations
                    .iter()
                    .filter_map(|e| e.start)
                    .chain(vacuum)
                    .chain(charges())
                    .any(later)
            }
            Due::WhenHeld => holds().chain(charges()).any(later),
            Due::WhenCharged => charges().any(later),
            Due::AtReady => false,
        }
    }

    /// The last opening for evacuation, hold and charge.
    pub fn last_opening(&self) -> Option<&Opening> {
        self.openings.last()
    }

    /// The first opening, also one that was found.
    pub fn first_opening(&self) -> Option<&Opening> {
        self.openings.first()
    }

    /// Whether the circuit was opened, or found open or empty.
    pub fn was_opened(&self) -> bool {
        !self.openings.is_empty()
    }

    /// Whether a point lies after the last opening.
    pub fn after_opening(&self, at: Option<Stamp>) -> bool {
        match (self.last_opening(), at) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(opening), Some(at)) => at > opening.at,
        }
    }

    /// Holds that count and began after the last opening, in the order of time.
    pub fn current_holds(&self) -> Vec<&Held> {
        let mut holds: Vec<&Held> = self
            .holds
            .iter()
            .filter(|h| h.counts() && self.after_opening(h.start))
            .collect();
        holds.sort_by_key(|h| h.start);
        holds
    }

    /// Evacuations that count and are not stale, in the order of time.
    pub fn current_evacuations(&self) -> Vec<&Evacuated> {
        let mut all: Vec<&Evacuated> = self
            .evacuations
            .iter()
            .filter(|e| e.counts() && e.start.is_some() && e.figures.stale_because.is_none())
            .collect();
        all.sort_by_key(|e| e.start);
        all
    }

    /// The last evacuation that counts, stale or not.
    pub fn last_evacuation(&self) -> Option<&Evacuated> {
        self.evacuations
            .iter()
            .filter(|e| e.counts() && e.start.is_some())
            .max_by_key(|e| e.start)
    }

    /// The last charge.
    pub fn last_charge(&self) -> Option<&Charged<'a>> {
        self.charges.last()
    }

    /// Charges since the start of the last evacuation (all of them where there is none).
    pub fn net_charges(&self) -> Vec<&Charged<'a>> {
        match self.last_evacuation().and_then(|e| e.start) {
            Some(start) => self
                .charges
                .iter()
                .filter(|c| c.at.is_some_and(|at| at > start))
                .collect(),
            None => self.charges.iter().collect(),
        }
    }

    /// What is inside by weight, with its uncertainty: charged since the circuit was emptied and evacuated, less what was taken out of it. `None` where
    /// nothing was charged since, or nobody knows what it held before.
    pub fn net(&self) -> Option<Span> {
        self.ledger.net()
    }

    /// The same as weighed, kg.
    pub fn net_kg(&self) -> Option<f64> {
        self.net().map(|net| net.kg)
    }

    /// Whether the charge is right; `None` where it, or what it should be, is not known.
    pub fn charge_is(&self) -> Option<ChargeIs> {
        Some(ledger::judged(self.net()?, self.target?))
    }

    /// `hold-missing` is to be reported; what follows from it is not reported again.
    pub fn hold_missing(&self) -> bool {
        let asked = self.was_opened() || self.evacuations.iter().any(Evacuated::counts);
        asked && self.current_holds().is_empty()
    }

    /// The place of a joint in words, by its id; the text itself where it is no id.
    pub fn place(&self, id: &str) -> String {
        self.joints
            .iter()
            .find(|j| j.id == id)
            .map_or_else(|| id.to_owned(), |j| j.place.clone())
    }

    /// The joint's id where a place is told by its words.
    pub fn place_key(&self, place: &str) -> String {
        let words = |j: &&JointCase<'_>| {
            j.joint.is_some_and(|joint| {
                joint
                    .place
                    .as_deref()
                    .is_some_and(|p| p.trim().eq_ignore_ascii_case(place.trim()))
            })
        };
        if self.joints.iter().any(|j| j.id == place) {
            return place.to_owned();
        }
        self.joints
            .iter()
            .find(words)
            .map_or_else(|| place.trim().to_lowercase(), |j| j.id.clone())
    }

    fn gas_let_in(&self) -> Vec<(Stamp, String)> {
        let entries = live(&self.record.gas_let_in, "gas_let_in")
            .filter(|(_, _, g)| g.gas != Some(Gas::Refrigerant))
            .filter_map(|(i, id, g)| Some((Stamp::new(g.at?, Rank::PressureHold, i), id)));
        let holds = self
            .holds
            .iter()
            .filter(|h| h.let_gas_in())
            .filter_map(|h| Some((h.start?, h.id.clone())));
        let mut all: Vec<_> = entries.chain(holds).collect();
        all.sort();
        all
    }

    fn joint_cases(&self) -> Vec<JointCase<'a>> {
        let mut fitted: HashMap<&str, Stamp> = HashMap::new();
        let mut named: Vec<&str> = Vec::new();
        for (i, _, part) in live(&self.record.parts, "parts") {
            let Some(at) = part.fitted_at.map(|at| Stamp::new(at, Rank::Fitted, i)) else {
                continue;
            };
            for joint in &part.joints {
                let last = fitted.entry(joint).or_insert(at);
                *last = (*last).max(at);
                named.push(joint);
            }
        }
        let mut cases: Vec<JointCase<'a>> = live(&self.record.joints, "joints")
            .map(|(i, id, joint)| {
                let fitted_at = fitted.get(id.as_str()).copied();
                self.joint_case(i, id, joint, fitted_at)
            })
            .collect();
        for id in named {
            if !cases.iter().any(|c| c.id == id) {
                cases.push(JointCase {
                    id: id.to_owned(),
                    place: format!("joint {id}"),
                    joint: None,
                    opened: None,
                    fitted_part: true,
                    seal: None,
                    concerned: true,
                });
            }
        }
        cases
    }

    fn joint_case(
        &self,
        position: usize,
        id: String,
        joint: &'a Joint,
        fitted_at: Option<Stamp>,
    ) -> JointCase<'a> {
        let opened = joint
            .opened
            .iter()
            .filter(|o| !o.superseded)
            .filter_map(|o| o.at)
            .map(|at| Stamp::new(at, Rank::Opened, position))
            .max();
        let mut seals: Vec<(Option<Stamp>, String, &Seal)> = live(&joint.seals, "seals")
            .map(|(i, seal_id, seal)| {
                (
                    seal.at.map(|at| Stamp::new(at, Rank::Seal, i)),
                    seal_name(&id, &seal_id, seal),
                    seal,
                )
            })
            .collect();
        seals.sort_by_key(|s| s.0);
        // A seal seen after an evacuation, hold or charge that followed the joint's last opening: somebody opened it again.
        let mut last = opened.or(fitted_at);
        for (at, ..) in &seals {
            if let (Some(at), Some(opening)) = (*at, last)
                && self
                    .work_on_closed_circuit()
                    .any(|work| work > opening && work < at)
            {
                last = Some(Stamp {
                    ms: at.ms,
                    rank: Rank::Opened,
                    position,
                });
            }
        }
        let late = last != opened.or(fitted_at);
        let opened_last = if late { last } else { opened };
        let seal = seals
            .into_iter()
            .rfind(|(at, _, seal)| {
                says_something(seal)
                    && opened_last.is_none_or(|opening| at.is_some_and(|at| at > opening))
            })
            .map(|(_, id, seal)| (id, seal));
        let place = joint.place.clone().unwrap_or_else(|| format!("joint {id}"));
        JointCase {
            concerned: opened_last.is_some() || fitted_at.is_some(),
            fitted_part: fitted_at.is_some(),
            opened: opened_last,
            place,
            joint: Some(joint),
            seal,
            id,
        }
    }

    /// What is only done on a closed circuit.
    fn work_on_closed_circuit(&self) -> impl Iterator<Item = Stamp> + '_ {
        let evacuations = self.evacuations.iter().filter_map(|e| e.start);
        let holds = self.holds.iter().filter_map(|h| h.start);
        evacuations
            .chain(holds)
            .chain(self.charges.iter().filter_map(|c| c.at))
    }

    fn all_openings(&self) -> Vec<Opening> {
        let mut all = Vec::new();
        for case in &self.joints {
            let Some(joint) = case.joint else { continue };
            let says = format!("the joint {} was opened", case.place);
            let position = self
                .record
                .joints
                .iter()
                .position(|j| std::ptr::eq(j, joint))
                .unwrap_or(0);
            for at in joint
                .opened
                .iter()
                .filter(|o| !o.superseded)
                .filter_map(|o| o.at)
            {
                all.push(Opening {
                    at: Stamp::new(at, Rank::Opened, position),
                    about: case.id.clone(),
                    says: says.clone(),
                    found: false,
                });
            }
            if let Some(at) = case
                .opened
                .filter(|at| !all.iter().any(|o| o.about == case.id && o.at == *at))
            {
                all.push(Opening {
                    at,
                    about: case.id.clone(),
                    says: format!("the joint {} was opened again to see its seal", case.place),
                    found: false,
                });
            }
        }
        for (i, id, part) in live(&self.record.parts, "parts") {
            let opens = part.role != Some(Role::Other) || !part.joints.is_empty();
            if let Some(at) = part.fitted_at.filter(|_| opens) {
                all.push(Opening {
                    at: Stamp::new(at, Rank::Fitted, i),
                    about: id,
                    says: format!("the {} was fitted", part_name(part)),
                    found: false,
                });
            }
        }
        if let Some(at) = self.record.open_since.and_then(|m| m.start()) {
            all.push(Opening {
                at: Stamp::new(at, Rank::Found, 0),
                about: OPEN_SINCE.into(),
                says: "the circuit had stood open".into(),
                found: true,
            });
        }
        let first_work = self.first_work(&all);
        if let Some((at, id)) = self
            .standing_empty()
            .filter(|(at, _)| first_work.is_none_or(|work| *at <= work))
            .last()
        {
            all.push(Opening {
                at,
                about: id,
                says: "the circuit was found empty".into(),
                found: true,
            });
        }
        all.sort_by_key(|a| a.at);
        all
    }

    fn first_work(&self, openings: &[Opening]) -> Option<Stamp> {
        let opened = openings.iter().filter(|o| !o.found).map(|o| o.at);
        let recovered = self.recoveries.iter().filter_map(|r| r.at);
        opened
            .chain(recovered)
            .chain(self.work_on_closed_circuit())
            .min()
    }

    /// Standing pressures that show the circuit empty, in the order of time.
    pub fn standing_empty(&self) -> impl Iterator<Item = (Stamp, String)> + '_ {
        let mut all: Vec<_> = live(&self.record.standing, "standing")
            .filter_map(|(i, id, s)| {
                let pressure = s.pressure.as_ref()?;
                let (air, _) = self.site.air(s.barometer.as_ref());
                let over = match pressure.si() {
                    Pressure::Gauge(p) => p.pa(),
                    Pressure::Vacuum(p) => -p.pa(),
                    Pressure::Absolute(_) => {
                        gauge::loose(pressure, air, self.limits).raw_pa - air.pressure.pa()
                    }
                };
                (over.abs() <= self.limits.empty_within.pa())
                    .then_some((Stamp::new(s.at?, Rank::Found, i), id))
            })
            .collect();
        all.sort();
        all.into_iter()
    }

    fn compare_holds(&mut self) {
        let mut holds = std::mem::take(&mut self.holds);
        let between = |a: Stamp, b: Stamp| -> f64 {
            // Of one that was still running when the second hold began only what lies before it.
            let lasted =
                |e: &Evacuated| Some((e.end_ms?.min(b.ms) - e.start?.ms).max(0) as f64 / 1e3);
            self.evacuations
                .iter()
                .filter(|e| e.counts() && e.start.is_some_and(|s| s > a && s < b))
                .filter_map(lasted)
                .sum()
        };
        let disturbed = |a: Stamp, b: Stamp| {
            self.openings.iter().any(|o| o.at > a && o.at < b)
                || self.gas_in.iter().any(|(at, _)| *at > a && *at < b)
        };
        compared::compare(&mut holds, self.limits, between, disturbed);
        self.holds = holds;
    }

    fn mark_stale(&mut self) {
        let Some(opening) = self.openings.last().cloned() else {
            let gas = self.gas_in.clone();
            for e in &mut self.evacuations {
                e.figures.stale_because = gas_after(e, &gas);
            }
            return;
        };
        let because = |start: Option<Stamp>| match start {
            Some(start) if start > opening.at => None,
            Some(_) => Some(format!("It began before {}.", opening.says)),
            None => Some("It has no time, so that nobody can say what it came after.".to_owned()),
        };
        for hold in &mut self.holds {
            hold.figures.stale_because = because(hold.start);
        }
        let gas = self.gas_in.clone();
        for e in &mut self.evacuations {
            e.figures.stale_because = because(e.start).or_else(|| gas_after(e, &gas));
        }
    }
}

fn gas_after(e: &Evacuated, gas: &[(Stamp, String)]) -> Option<String> {
    let start = e.start?;
    gas.iter()
        .any(|(at, _)| *at > start)
        .then(|| "Air or nitrogen was let in after it.".to_owned())
}

/// Whether a seal entry says what was found or done.
fn says_something(seal: &Seal) -> bool {
    seal.condition.is_some() || seal.renewed == Some(true)
}

fn seal_name(joint: &str, seal: &str, entry: &Seal) -> String {
    if entry.id.is_some() {
        seal.to_owned()
    } else {
        format!("{joint}.{seal}")
    }
}

/// What a part is called: "salvaged evaporator", "new receiver-drier".
pub fn part_name(part: &Part) -> String {
    let role = part.role.map_or("part", |r| match r {
        Role::ReceiverDrier => "receiver-drier",
        Role::ExpansionDevice => "expansion device",
        Role::PressureSensor => "pressure sensor",
        Role::ServiceValve => "service valve",
        Role::Other => "part",
        other => other.word(),
    });
    match part.source {
        Some(source) => format!(
            "{} {role}",
            source.word().replace("customers-own", "customer’s own")
        ),
        None => role.to_owned(),
    }
}
