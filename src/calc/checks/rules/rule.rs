//! What a rule of the trade is: one row that holds all that is told of it.
use super::{Found, RuleCode};
use crate::{
    UnitSystem,
    checks::{case::Case, explain::Step, limits::Limits},
    record::answer::{Finding, Weight},
};

/// A rule. There is no second table: whoever asks for a rule's section, task, short word, reason or source reads it here.
pub struct Rule {
    /// Its name.
    pub code: RuleCode,
    /// What it may mean for the handover, the gravest first.
    pub weights: &'static [Weight],
    /// The section of the record sheet that it speaks about.
    pub section: Section,
    /// The task at the bench under which it is settled.
    pub task: Task,
    /// In the few words that the drawing has room for.
    pub short: &'static str,
    /// The law or the practice behind it. A limit stands here by its key in braces, so that the shop's own is told.
    pub law: &'static str,
    /// How sure that is.
    pub doubt: &'static str,
    /// What would change it.
    pub change: &'static str,
    /// What it rests on: a law, a standard, a publication, or common practice.
    pub source: &'static str,
    /// When what is missing becomes a finding while work goes on.
    pub due: Due,
    /// What it finds.
    pub find: fn(&Case<'_>) -> Vec<Found>,
    /// The figures that a finding of it rests on, step by step.
    pub why: fn(&Case<'_>, &Finding) -> Vec<Step>,
}

impl Rule {
    /// The law or the practice behind it, with the limits in force.
    pub fn law(&self, limits: &Limits, units: UnitSystem) -> String {
        limits.fill(self.law, units)
    }

    /// How sure that is.
    pub fn doubt(&self, limits: &Limits, units: UnitSystem) -> String {
        limits.fill(self.doubt, units)
    }

    /// What would change it.
    pub fn change(&self, limits: &Limits, units: UnitSystem) -> String {
        limits.fill(self.change, units)
    }

    /// The keys of the limits that its reasons tell.
    pub fn limits(&self) -> Vec<&'static str> {
        let mut keys: Vec<&str> = [self.law, self.doubt, self.change]
            .into_iter()
            .flat_map(|text| text.split('{').skip(1))
            .filter_map(|part| part.split_once('}').map(|(key, _)| key))
            .filter(|key| !key.contains(' '))
            .collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }
}

/// When something that is not done becomes a finding while work goes on. Until then it is to do. What is ready, or stands before the
/// handover, is judged as if everything were due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    /// At once: it is a fact, or a danger.
    Now,
    /// When the circuit was closed without it: nitrogen, evacuation, hold or charge begun.
    WhenClosed,
    /// When an evacuation, a vacuum hold or a charge was begun without it.
    WhenEvacuated,
    /// When a hold or a charge was begun without it.
    WhenHeld,
    /// When charging was begun without it.
    WhenCharged,
    /// When the work is said to be ready.
    AtReady,
}

macro_rules! closed_set {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident = $word:literal, $title:literal;)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum $name { $($(#[$variant_doc])* $variant,)+ }
        impl $name {
            /// All of them, in the order of the work.
            pub const ALL: &[Self] = &[$(Self::$variant),+];
            /// The word in addresses and anchors.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
            /// As a page calls it.
            pub const fn title(self) -> &'static str {
                match self { $(Self::$variant => $title,)+ }
            }
        }
    };
}

closed_set! {
    /// A section of the record sheet.
    Section {
        /// Pressures at rest, and what gas it is.
        Standing = "standing", "Standing pressure";
        /// What was taken out.
        Recovery = "recovery", "Recovery";
        /// Parts, donors, desiccant, debris, fixings.
        Parts = "parts", "Parts";
        /// Joints and their seals.
        Joints = "joints", "Joints and seals";
        /// Oil.
        Oil = "oil", "Oil";
        /// Evacuations.
        Evacuation = "evacuation", "Evacuation";
        /// Vacuum and pressure holds.
        Hold = "hold", "Hold";
        /// Leaks and leak checks.
        Leaks = "leaks", "Leaks";
        /// The charge.
        Charge = "charge", "Charge";
        /// How it cools.
        Performance = "performance", "Performance";
        /// Service ports as the car leaves.
        Ports = "ports", "Caps and cores";
    }
}

closed_set! {
    /// A task at the bench.
    Task {
        /// A pressure at rest.
        Standing = "standing", "Standing pressure";
        /// What gas it is.
        Identification = "identification", "What gas it is";
        /// High voltage.
        Isolation = "isolation", "High voltage isolated";
        /// Refrigerant taken out.
        Recovery = "recovery", "Recovery";
        /// Leaks found.
        Leaks = "leaks", "Leaks";
        /// Joints opened.
        Joints = "joints", "Joints opened";
        /// Parts.
        Parts = "parts", "Parts";
        /// Seals.
        Seals = "seals", "Seals";
        /// Fixings.
        Fixings = "fixings", "Fixings";
        /// Debris and flushing.
        Flush = "flush", "Debris and flushing";
        /// Oil.
        Oil = "oil", "Oil";
        /// Evacuation.
        Evacuation = "evacuation", "Evacuation";
        /// Holds.
        Hold = "hold", "Hold";
        /// Gas let in.
        Gas = "gas", "Gas let in";
        /// Charging.
        Charging = "charging", "Charging";
        /// Performance.
        Performance = "performance", "Performance";
        /// Leak checks.
        Checks = "checks", "Leak checks";
        /// Service ports.
        Ports = "ports", "Caps and cores";
        /// The label and the other details of the order.
        Details = "details", "Details";
        /// Wherever the entry that it is about was made.
        Entry = "entry", "The entry";
    }
}
