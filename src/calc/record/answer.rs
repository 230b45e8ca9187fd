//! What [`crate::assess`] answers. Every figure is in SI, its unit in its key.
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

macro_rules! answer {
    ($(#[$doc:meta])* pub struct $name:ident { $($(#[$field_doc:meta])* pub $field:ident: $type:ty,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $name { $($(#[$field_doc])* pub $field: $type,)* }
    };
}

answer! {
    /// Figures, findings and what they mean for the way out.
    pub struct Assessment {
        /// The version of this format: 1.
        pub version: u8,
        /// The version of the rules that made it.
        pub rules: String,
        /// What the findings mean for a handover as repaired.
        pub gate: Gate,
        /// The findings, those that block first.
        pub findings: Vec<Finding>,
        /// While work goes on: what has simply not been done yet, in the order of the work, with the weight that it has once it is due.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub to_do: Vec<Finding>,
        /// The one thing to do next; nothing where nothing is left.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub next: Option<Next>,
        /// What was computed.
        pub figures: Figures,
    }
}

answer! {
    /// What the findings mean for a handover as repaired. The record knows no concessions: these are counts.
    pub struct Gate {
        /// Nothing blocks and nothing waits for a concession.
        pub repaired: bool,
        /// How many findings block.
        pub blocks: usize,
        /// How many the owner may accept in writing.
        pub awaiting_concession: usize,
    }
}

/// What a finding means for the handover. Ordered from the gravest.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Weight {
    /// No handover as repaired until there is new work or evidence.
    Blocks,
    /// The owner may accept it in writing.
    Concession,
    /// Told, no more.
    Note,
}

impl Weight {
    /// From the word; `None` for any other.
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Blocks, Self::Concession, Self::Note]
            .into_iter()
            .find(|weight| weight.word() == word)
    }

    /// The word as the answer writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Blocks => "blocks",
            Self::Concession => "concession",
            Self::Note => "note",
        }
    }
}

words! {
    /// A step of work that a finding's remedy is made of.
    pub enum WorkStep {
        /// Enter what is missing on record.
        Record = "record",
        /// Find out what gas is inside.
        Identify = "identify",
        /// Take the refrigerant out, by weight.
        Recover = "recover",
        /// Switch the high voltage off, lock it, measure it dead.
        Isolate = "isolate",
        /// Let the test gas off.
        Depressurise = "depressurise",
        /// Open the circuit and repair it.
        OpenRepair = "open-repair",
        /// Flush a section.
        Flush = "flush",
        /// New desiccant, or a new drier.
        RenewDesiccant = "renew-desiccant",
        /// Put oil in, or take it out.
        Oil = "oil",
        /// Dry nitrogen: a pressure test, or the search for a leak.
        Nitrogen = "nitrogen",
        /// Evacuate.
        Evacuate = "evacuate",
        /// Close off and watch the gauge.
        Hold = "hold",
        /// Charge by weight.
        Charge = "charge",
        /// Look for leaks with a detector that sees what is inside.
        Check = "check",
        /// Read a gauge or a thermometer.
        Measure = "measure",
        /// The owner decides.
        Accept = "accept",
    }
}

impl WorkStep {
    /// As a heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Record => "Enter what is missing",
            Self::Identify => "Identify the gas",
            Self::Recover => "Recover",
            Self::Isolate => "Isolate the high voltage",
            Self::Depressurise => "Let the gas off",
            Self::OpenRepair => "Open and repair",
            Self::Flush => "Flush",
            Self::RenewDesiccant => "Renew the desiccant",
            Self::Oil => "Oil",
            Self::Nitrogen => "Nitrogen",
            Self::Evacuate => "Evacuate",
            Self::Hold => "Hold",
            Self::Charge => "Charge",
            Self::Check => "Check for leaks",
            Self::Measure => "Measure",
            Self::Accept => "The owner decides",
        }
    }
}

/// The one thing to do next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Next {
    /// The rule that asks for it.
    pub code: String,
    /// What that is about.
    pub about: String,
    /// The step.
    pub step: WorkStep,
    /// In a sentence.
    pub says: String,
}

/// A finding's figures by name, in SI with the unit in the key.
pub type Values = serde_json::Map<String, serde_json::Value>;

/// One thing that a rule found. `code` and `about` together are its key.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// The rule.
    pub code: String,
    /// The id of the part, joint, hold… or the section's name.
    pub about: String,
    /// What it means for the handover.
    pub weight: Weight,
    /// The ids (or positions) of the evidence that it rests on.
    pub evidence: Vec<String>,
    /// Its figures.
    pub values: Values,
    /// One plain sentence with the figures.
    pub says: String,
    /// One plain sentence: what to do next, from where the circuit stands now.
    pub do_next: String,
    /// The steps that put it right, in their order, from where the circuit stands now. Answers of older rules have none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<WorkStep>,
    /// What the rule rests on.
    pub source: String,
}

answer! {
    /// What was computed. `null` where the record does not say enough.
    pub struct Figures {
        /// The surrounding air.
        pub site: SiteFigures,
        /// For each standing pressure.
        pub standing: Vec<StandingFigures>,
        /// All refrigerant recovered, kg.
        pub recovered_kg: Option<f64>,
        /// What had been lost before the car came.
        pub loss: LossFigures,
        /// For each evacuation.
        pub evacuations: Vec<EvacuationFigures>,
        /// For each hold.
        pub holds: Vec<HoldFigures>,
        /// What is in the circuit now.
        pub charge: ChargeFigures,
        /// The oil's way out and in.
        pub oil: OilFigures,
        /// For each performance reading.
        pub performance: Vec<PerformanceFigures>,
        /// What the figures rest on that is not recorded.
        pub assumed: Vec<Assumed>,
    }
}

answer! {
    /// The surrounding air's pressure.
    pub struct SiteFigures {
        /// Pa absolute.
        pub barometer_pa: f64,
        /// How far it may be off, Pa; the greater of both ways.
        pub uncertainty_pa: f64,
        /// The least that it may be, Pa absolute.
        #[serde(default)]
        pub least_pa: Option<f64>,
        /// The most that it may be, Pa absolute.
        #[serde(default)]
        pub most_pa: Option<f64>,
    }
}

answer! {
    /// A standing pressure against the refrigerant's own.
    pub struct StandingFigures {
        /// The refrigerant's saturation pressure at the ambient temperature, Pa absolute.
        pub saturation_pressure_pa: Option<f64>,
        /// The standing pressure above that, Pa.
        pub excess_pa: Option<f64>,
    }
}

answer! {
    /// What had been lost before the car came.
    pub struct LossFigures {
        /// kg.
        pub lost_kg: Option<f64>,
        /// kg a year since the previous charge.
        pub kg_per_year: Option<f64>,
        /// The charge that it is measured by, kg: the last one on record, else the label's.
        #[serde(default)]
        pub charged_kg: Option<f64>,
        /// At least, kg: by the weighing, or where nothing was recovered by the standing pressure.
        #[serde(default)]
        pub at_least_kg: Option<f64>,
        /// At most, kg.
        #[serde(default)]
        pub at_most_kg: Option<f64>,
        /// More came out than that charge, kg.
        #[serde(default)]
        pub over_kg: Option<f64>,
    }
}

answer! {
    /// An evacuation.
    pub struct EvacuationFigures {
        /// The least reading, Pa absolute.
        pub lowest_pa: Option<f64>,
        /// Its uncertainty, Pa.
        pub uncertainty_pa: Option<f64>,
        /// Where water boils (or ice sublimes) at that pressure, K.
        pub water_boils_at_k: Option<f64>,
        /// Whether water boils off at the coldest metal; `null` where the gauge cannot tell.
        pub dries: Option<bool>,
        /// From start to end, s.
        pub duration_s: Option<f64>,
        /// Why it no longer counts, in a sentence.
        pub stale_because: Option<String>,
    }
}

/// What a hold says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Nothing moved that the gauge could show.
    Held,
    /// Gas comes in or goes out.
    Leak,
    /// Water boils off inside.
    Moisture,
    /// A leak, or gas leaving oil and rubber.
    Inconclusive,
    /// Not long enough.
    TooShort,
    /// It proves nothing.
    NotReadable,
    /// Not ended yet.
    Running,
}

impl Verdict {
    /// The word as the answer writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Leak => "leak",
            Self::Moisture => "moisture",
            Self::Inconclusive => "inconclusive",
            Self::TooShort => "too-short",
            Self::NotReadable => "not-readable",
            Self::Running => "running",
        }
    }
}

/// How the pressure of a hold ran.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// It stood.
    Flat,
    /// It moved on.
    Linear,
    /// It rose and came to rest.
    Levelling,
}

/// A hold's figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldFigures {
    /// From the first to the last reading, s.
    pub duration_s: Option<f64>,
    /// The rise of a vacuum, the drop of a pressure, corrected for temperature, Pa.
    pub change_pa: Option<f64>,
    /// What that must exceed before it counts, Pa.
    pub bound_pa: Option<f64>,
    /// What it says.
    pub verdict: Verdict,
    /// What a running hold would say if it ended now.
    pub would_be: Option<Verdict>,
    /// Why it cannot be read, or why its verdict is open; and which readings were left out.
    pub why: Option<String>,
    /// Readings that were taken before the pressure had settled, and count for nothing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
    /// How long to hold on this gauge, s, until it tells stillness from a leak; `null` where nobody would wait so long, or time would not tell.
    pub tells_after_s: Option<f64>,
    /// The resolution, Pa, with which a hold as long would tell.
    pub tells_at_resolution_pa: Option<f64>,
    /// How the pressure ran.
    pub shape: Option<Shape>,
    /// Pa/s.
    pub slope_pa_per_s: Option<f64>,
    /// What a leak makes of the slope at least, beside gas that comes to rest, Pa/s; of six readings or more.
    pub leak_slope_low_pa_per_s: Option<f64>,
    /// What it makes of it at most.
    pub leak_slope_high_pa_per_s: Option<f64>,
    /// The leak at least, as refrigerant in service, kg a year.
    pub leak_low_kg_per_year: Option<f64>,
    /// The leak at most.
    pub leak_high_kg_per_year: Option<f64>,
    /// The smallest leak that the hold rules out, kg a year.
    pub smallest_leak_shown_kg_per_year: Option<f64>,
    /// In how many hours a leak of that size would lose the whole charge.
    pub hours_to_empty_at_smallest: Option<f64>,
    /// Why it no longer counts, in a sentence.
    pub stale_because: Option<String>,
}

/// What a net charge is against the charge in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChargeIs {
    /// All that the weighing allows lies within the tolerance.
    Right,
    /// All of it lies outside.
    Wrong,
    /// Some of it lies within and some outside.
    CannotTell,
}

answer! {
    /// What is in the circuit now.
    pub struct ChargeFigures {
        /// Charged since the start of the last evacuation, less what was recovered after it, kg; `null` where the circuit was not emptied before.
        pub net_in_kg: Option<f64>,
        /// How far that may be off either way, kg: the scales' steps, what stayed in hoses, cans.
        #[serde(default)]
        pub net_uncertainty_kg: Option<f64>,
        /// The least that it may be, kg.
        #[serde(default)]
        pub net_low_kg: Option<f64>,
        /// The most that it may be, kg.
        #[serde(default)]
        pub net_high_kg: Option<f64>,
        /// The net charge less the charge in force, kg.
        pub difference_kg: Option<f64>,
        /// Whether the net charge is right; `null` where it or the charge in force is not known.
        #[serde(default)]
        pub is: Option<ChargeIs>,
        /// Air left by the vacuum, kg.
        pub air_left_kg: Option<f64>,
        /// Air left in parts per million of the charge by mass.
        pub air_left_ppm: Option<f64>,
    }
}

answer! {
    /// The oil's way out and in.
    pub struct OilFigures {
        /// Out with old parts and recovered refrigerant, m3.
        pub removed_m3: Option<f64>,
        /// Put in, m3.
        pub added_m3: Option<f64>,
        /// What parts, flushes and recovery call for at least, m3; `null` where they call for none.
        #[serde(default)]
        pub due_low_m3: Option<f64>,
        /// What they usually call for, m3.
        #[serde(default)]
        pub due_usual_m3: Option<f64>,
        /// What they call for at most, m3.
        #[serde(default)]
        pub due_high_m3: Option<f64>,
    }
}

answer! {
    /// A performance reading.
    pub struct PerformanceFigures {
        /// Saturation temperature of the low side, K.
        pub evaporating_k: Option<f64>,
        /// Saturation temperature of the high side, K.
        pub condensing_k: Option<f64>,
        /// High side over low side, absolute.
        pub pressure_ratio: Option<f64>,
        /// Suction line above evaporating, K.
        pub superheat_k: Option<f64>,
        /// Liquid line below condensing, K.
        pub subcooling_k: Option<f64>,
        /// Condensing above the ambient air, K.
        pub condensing_above_ambient_k: Option<f64>,
    }
}

answer! {
    /// A value that is not recorded and that a figure rests on.
    pub struct Assumed {
        /// The key that would say it.
        pub key: String,
        /// What was taken.
        pub value: String,
        /// Between which values it may lie.
        pub span: Option<String>,
        /// Why it was assumed.
        pub why: String,
    }
}
