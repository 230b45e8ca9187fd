//! The rules: each one function and one row beside it, listed here. A new rule is a row in its file and a line in the registry below.
mod charge;
mod conversion;
mod cooling;
mod evacuation;
mod found;
mod gas;
mod gauges;
mod high_voltage;
mod holds;
mod leak_limit;
mod leaks;
mod list;
mod loss;
mod net;
mod nothing;
mod oil;
mod parts;
mod performance;
pub mod pressure_test;
mod recovery;
mod rule;
mod seals;
mod site;
mod slow_leak;
mod wrong_gas;

pub use evacuation::needed;
pub use found::Found;
pub use leak_limit::{leak_limit, leak_limit_source};
pub use list::{LimitLine, RuleLine, RuleList};
pub use loss::find_the_leak;
pub use net::weighed_in;
pub use parts::sections_named;
pub use rule::{Due, Rule, Section, Task};
pub use slow_leak::{rules_out, scope};

use super::{case::Case, remedy};
use crate::record::answer::{Finding, Next, Weight, WorkStep};

/// What a rule rests on that no publication prints as a number.
const PRACTICE: &str = "common practice";

macro_rules! registry {
    ($($variant:ident = $word:literal => $module:ident::$row:ident;)+) => {
        /// The name of a rule.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum RuleCode {
            $(
                #[doc = concat!("`", $word, "`")]
                $variant,
            )+
        }

        impl RuleCode {
            /// As a finding writes it.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// Its row.
            pub const fn rule(self) -> &'static Rule {
                match self { $(Self::$variant => &$module::$row,)+ }
            }
        }

        /// All rules, in the order of the work.
        pub const ALL: &[&Rule] = &[$(&$module::$row,)+];
    };
}

registry! {
    NothingDone = "nothing-done" => nothing::NOTHING_DONE;
    BarometerDoubtful = "barometer-doubtful" => gauges::BAROMETER_DOUBTFUL;
    ElevationMissing = "elevation-missing" => site::ELEVATION_MISSING;
    GaugesDisagree = "gauges-disagree" => gauges::GAUGES_DISAGREE;
    GaugeImpossible = "gauge-impossible" => gauges::GAUGE_IMPOSSIBLE;
    StandingPressureHigh = "standing-pressure-high" => gas::STANDING_PRESSURE_HIGH;
    MixtureUnidentified = "mixture-unidentified" => gas::MIXTURE_UNIDENTIFIED;
    WrongGasFound = "wrong-gas-found" => wrong_gas::WRONG_GAS_FOUND;
    IsolationMissing = "isolation-missing" => high_voltage::ISOLATION_MISSING;
    IsolationNotProved = "isolation-not-proved" => high_voltage::ISOLATION_NOT_PROVED;
    RecoveryMissing = "recovery-missing" => gas::RECOVERY_MISSING;
    RecoveredOther = "recovered-other" => gas::RECOVERED_OTHER;
    RecoveryDoubtful = "recovery-doubtful" => recovery::RECOVERY_DOUBTFUL;
    OverchargeFound = "overcharge-found" => loss::OVERCHARGE_FOUND;
    LossUnexplained = "loss-unexplained" => loss::LOSS_UNEXPLAINED;
    ProvenanceIncomplete = "provenance-incomplete" => parts::PROVENANCE_INCOMPLETE;
    DonorVinDoubtful = "donor-vin-doubtful" => parts::DONOR_VIN_DOUBTFUL;
    DesiccantSalvaged = "desiccant-salvaged" => parts::DESICCANT_SALVAGED;
    DesiccantNotRenewed = "desiccant-not-renewed" => parts::DESICCANT_NOT_RENEWED;
    PortsOpen = "ports-open" => parts::PORTS_OPEN;
    CompressorDebrisUnflushed = "compressor-debris-unflushed" => parts::COMPRESSOR_DEBRIS_UNFLUSHED;
    PartSeenBefore = "part-seen-before" => parts::PART_SEEN_BEFORE;
    SealNotInspected = "seal-not-inspected" => seals::SEAL_NOT_INSPECTED;
    SealUnsound = "seal-unsound" => seals::SEAL_UNSOUND;
    SealReused = "seal-reused" => seals::SEAL_REUSED;
    SealDry = "seal-dry" => seals::SEAL_DRY;
    ImprovisedFixing = "improvised-fixing" => parts::IMPROVISED_FIXING;
    OilTypeMismatch = "oil-type-mismatch" => oil::OIL_TYPE_MISMATCH;
    OilBalance = "oil-balance" => oil::OIL_BALANCE;
    OilNotRecorded = "oil-not-recorded" => oil::OIL_NOT_RECORDED;
    EvacuationMissing = "evacuation-missing" => evacuation::EVACUATION_MISSING;
    EvacuationDoesNotDry = "evacuation-does-not-dry" => evacuation::EVACUATION_DOES_NOT_DRY;
    DrynessNotShown = "dryness-not-shown" => evacuation::DRYNESS_NOT_SHOWN;
    EvacuationShort = "evacuation-short" => evacuation::EVACUATION_SHORT;
    HoldMissing = "hold-missing" => holds::HOLD_MISSING;
    HoldFailed = "hold-failed" => holds::HOLD_FAILED;
    HoldMoisture = "hold-moisture" => holds::HOLD_MOISTURE;
    HoldTooShort = "hold-too-short" => holds::HOLD_TOO_SHORT;
    HoldInconclusive = "hold-inconclusive" => holds::HOLD_INCONCLUSIVE;
    HoldTemperatureMissing = "hold-temperature-missing" => holds::HOLD_TEMPERATURE_MISSING;
    TestGasUnsafe = "test-gas-unsafe" => pressure_test::TEST_GAS_UNSAFE;
    TestPressureHigh = "test-pressure-high" => pressure_test::TEST_PRESSURE_HIGH;
    LeakFound = "leak-found" => leaks::LEAK_FOUND;
    ChargedBeforeHold = "charged-before-hold" => charge::CHARGED_BEFORE_HOLD;
    WrongRefrigerant = "wrong-refrigerant" => charge::WRONG_REFRIGERANT;
    ContaminatedCylinder = "contaminated-cylinder" => wrong_gas::CONTAMINATED_CYLINDER;
    ConversionIncomplete = "conversion-incomplete" => conversion::CONVERSION_INCOMPLETE;
    ChargeMissing = "charge-missing" => charge::CHARGE_MISSING;
    ChargeUnweighed = "charge-unweighed" => charge::CHARGE_UNWEIGHED;
    ChargeUnspecified = "charge-unspecified" => charge::CHARGE_UNSPECIFIED;
    ChargeUnknown = "charge-unknown" => net::CHARGE_UNKNOWN;
    ChargeMismatch = "charge-mismatch" => net::CHARGE_MISMATCH;
    ChargeNotShown = "charge-not-shown" => net::CHARGE_NOT_SHOWN;
    HoseNotRecorded = "hose-not-recorded" => charge::HOSE_NOT_RECORDED;
    AirLeft = "air-left" => charge::AIR_LEFT;
    HoldNotSensitive = "hold-not-sensitive" => slow_leak::HOLD_NOT_SENSITIVE;
    PerformanceMissing = "performance-missing" => performance::PERFORMANCE_MISSING;
    HighSideLimit = "high-side-limit" => cooling::HIGH_SIDE_LIMIT;
    VentWarm = "vent-warm" => cooling::VENT_WARM;
    CoolingFault = "cooling-fault" => cooling::COOLING_FAULT;
    LiquidAtCompressor = "liquid-at-compressor" => cooling::LIQUID_AT_COMPRESSOR;
    FreezeRisk = "freeze-risk" => performance::FREEZE_RISK;
    CondensingHigh = "condensing-high" => performance::CONDENSING_HIGH;
    CapMissing = "cap-missing" => performance::CAP_MISSING;
}

impl std::str::FromStr for RuleCode {
    type Err = ();

    /// By its word; an answer of older rules may name one that is no more.
    fn from_str(word: &str) -> Result<Self, ()> {
        ALL.iter()
            .map(|rule| rule.code)
            .find(|code| code.word() == word)
            .ok_or(())
    }
}

/// The row of a finding's rule; `None` where older rules found it that are no more.
pub fn rule_of(code: &str) -> Option<&'static Rule> {
    code.parse::<RuleCode>().ok().map(RuleCode::rule)
}

/// What the rules say of a case: what is found, and what has simply not been done yet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Said {
    /// What is found, what blocks first; within a weight in the order of the work.
    pub findings: Vec<Finding>,
    /// What is to do, in the order of the work. Empty once the record is ready.
    pub to_do: Vec<Finding>,
    /// Of what is to do, how many would block if the car were handed over now, and how many would need the owner.
    pub counted: (usize, usize),
}

/// What is told before any work is on record: that nothing is done, and what is dangerous already.
const BEFORE_WORK: &[&Rule] = &[
    &wrong_gas::WRONG_GAS_FOUND,
    &high_voltage::ISOLATION_NOT_PROVED,
    &nothing::NOTHING_DONE,
    &high_voltage::ISOLATION_MISSING,
];

/// What all rules say.
pub fn said(case: &Case<'_>) -> Said {
    let rules: &[&Rule] = if case.work_begun() { ALL } else { BEFORE_WORK };
    let mut said = Said::default();
    for rule in rules {
        for found in (rule.find)(case) {
            let due = !found.prospect && case.is_due(rule.due, found.since);
            if !due && !found.prospect {
                match found.weight {
                    Weight::Blocks => said.counted.0 += 1,
                    Weight::Concession => said.counted.1 += 1,
                    Weight::Note => {}
                }
            }
            let finding = finding(case, rule, found);
            if due {
                said.findings.push(finding)
            } else {
                said.to_do.push(finding)
            }
        }
    }
    said.findings.sort_by_key(|f| f.weight);
    // What a car without any work begins with comes before what that is for.
    let begins = RuleCode::NothingDone.word();
    said.to_do.sort_by_key(|f| {
        (
            f.code != begins,
            f.steps.first().map(|step| place_in_the_work(*step)),
        )
    });
    said
}

/// Where a step stands in the order of the work: what is seen of an open circuit is entered while it is open.
const fn place_in_the_work(step: WorkStep) -> u8 {
    match step {
        WorkStep::Identify => 0,
        WorkStep::Recover => 1,
        WorkStep::Isolate => 2,
        WorkStep::Depressurise => 3,
        WorkStep::OpenRepair => 4,
        WorkStep::Flush => 5,
        WorkStep::RenewDesiccant => 6,
        WorkStep::Record => 7,
        WorkStep::Oil => 8,
        WorkStep::Nitrogen => 9,
        WorkStep::Evacuate => 10,
        WorkStep::Hold => 11,
        WorkStep::Charge => 12,
        WorkStep::Check => 13,
        WorkStep::Measure => 14,
        WorkStep::Accept => 15,
    }
}

/// What all rules find, those that block first; within a weight in the order of the work.
pub fn findings(case: &Case<'_>) -> Vec<Finding> {
    said(case).findings
}

/// The one thing to do next: what blocks, else what is to do, else what the owner may accept.
pub fn next(said: &Said) -> Option<Next> {
    let first = |weight| said.findings.iter().find(|f| f.weight == weight);
    let next = first(Weight::Blocks)
        .or(said.to_do.first())
        .or_else(|| first(Weight::Concession))?;
    Some(Next {
        code: next.code.clone(),
        about: next.about.clone(),
        step: next.steps.first().copied()?,
        says: next.do_next.clone(),
    })
}

fn finding(case: &Case<'_>, rule: &Rule, f: Found) -> Finding {
    let (steps, do_next) = remedy::complete(case, &f.remedy);
    Finding {
        code: rule.code.word().into(),
        about: f.about,
        weight: f.weight,
        evidence: f.evidence,
        values: f.values,
        says: f.says,
        do_next,
        steps,
        source: rule.source.into(),
    }
}
