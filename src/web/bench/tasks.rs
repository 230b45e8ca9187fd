//! The tasks of the bench, in the order of the work: one row each.
use super::{
    super::{Ctx, Fault, Field, Fieldset, Form, Kind as FieldKind},
    Scene, charging, diagnosis, hold, joints, parts, proving,
};
use crate::{
    shop::{CylinderId, EvidenceId, Instant, InstrumentId, YardId},
    store::evidence::{Kind, Piece},
};
use chillwright_calc::{
    checks::rules::{Task as RuleTask, rule_of},
    units::{Quantity, Seconds, show},
};
use serde_json::{Map, Value, json};

/// A task.
pub struct Task {
    /// In the address.
    pub word: &'static str,
    /// On the page.
    pub title: &'static str,
    /// On the button.
    pub button: &'static str,
    /// What the audit trail calls it.
    pub kind: &'static str,
    /// The record sheet's section.
    pub section: &'static str,
    /// Pieces that are listed under it.
    pub kinds: &'static [Kind],
    /// A sentence before the form.
    pub intro: fn(&Ctx, &Scene) -> String,
    /// The form.
    pub fields: fn(&Ctx, &Scene, &Form) -> Vec<Fieldset>,
    /// Reads the form.
    pub read: fn(&Ctx, &Scene, &mut Form) -> Option<Vec<Draft>>,
    /// At the foot of the task.
    pub caution: &'static str,
}

/// What a form says, before it is kept.
pub struct Draft {
    /// Its id, if it becomes a piece of its own.
    pub id: EvidenceId,
    /// What it is.
    pub kind: Kind,
    /// The joint that it belongs to.
    pub parent: Option<EvidenceId>,
    /// The record's entry.
    pub body: Map<String, Value>,
    /// Its time.
    pub at: Option<Instant>,
    /// The time is "about".
    pub approximate: bool,
    /// Instrument used.
    pub instrument: Option<InstrumentId>,
    /// Cylinder used.
    pub cylinder: Option<CylinderId>,
    /// Yard.
    pub yard: Option<YardId>,
    /// A new version of this piece, seen at this version.
    pub revises: Option<(EvidenceId, i64)>,
    /// Keeps the form for a correction.
    pub keeps_form: bool,
}

impl Draft {
    /// A piece with this body.
    pub fn new(kind: Kind, body: Value) -> Self {
        let body = match body {
            // Keys without a value say nothing and are left out.
            Value::Object(map) => map.into_iter().filter(|(_, v)| !v.is_null() && v.as_str() != Some("")).collect(),
            other => [("value".to_owned(), other)].into_iter().collect(),
        };
        Self {
            id: EvidenceId::fresh(),
            kind,
            parent: None,
            body,
            at: None,
            approximate: false,
            instrument: None,
            cylinder: None,
            yard: None,
            revises: None,
            keeps_form: false,
        }
    }

    /// At this time, which also goes into the body under `key`.
    pub fn at(mut self, key: &str, at: Instant, form: &Form) -> Self {
        self.body.insert(key.into(), json!(at.rfc3339()));
        self.at = Some(at);
        self.approximate = form.about();
        self
    }

    /// Belonging to a joint.
    pub fn under(mut self, parent: EvidenceId) -> Self {
        self.parent = Some(parent);
        self
    }
}

const HIGH_VOLTAGE: &str =
    "This compressor runs on high voltage: isolated, secured and measured dead before one of its joints is opened, by people trained on it.";
const NO_CAUTION: &str = "";
const GOGGLES: &str = "Goggles and gloves on: liquid refrigerant freezes skin and eyes. Recover, never vent. No flame or hot surface near it.";

macro_rules! tasks {
    ($($word:literal, $title:literal, $button:literal, $kind:literal, $section:literal, [$($k:ident),*], $module:ident::$intro:ident, $fields:ident, $read:ident, $caution:expr;)+) => {
        /// All tasks.
        pub const ALL: &[Task] = &[$(Task {
            word: $word, title: $title, button: $button, kind: $kind, section: $section, kinds: &[$(Kind::$k),*],
            intro: $module::$intro, fields: $fields, read: $read, caution: $caution,
        },)+];
    };
}

tasks! {
    "standing", "Standing pressure", "Keep the pressure", "standing-read", "standing", [Standing], diagnosis::no_intro, standing_fields, read_standing, NO_CAUTION;
    "identification", "What gas it is", "Keep what was identified", "gas-identified", "", [Identification], diagnosis::no_intro, identification_fields, read_identification, "A mixture, air or sealant spoils a cylinder and a machine: identify before you recover.";
    "isolation", "High voltage isolated", "Keep the isolation", "isolation-recorded", "", [Isolation], diagnosis::no_intro, isolation_fields, read_isolation, "Only for people trained on it: isolated, secured against switching on, measured dead.";
    "recovery", "Recovery", "Keep the recovery", "refrigerant-recovered", "recovery", [Recovery, OpenSince], diagnosis::recovery_intro, recovery_fields, read_recovery, GOGGLES;
    "leaks", "Leaks", "Keep the leak", "leak-recorded", "leaks", [Leak], diagnosis::no_intro, leak_fields, read_leak, "Dry nitrogen only, through a regulator and within what the low side allows; never compressed air or oxygen.";
    "joints", "Joints opened", "Keep what was opened", "joints-opened", "joints", [Opening], joints::opening_intro, opening_fields, read_opening, "Goggles and gloves on before a joint is opened. Recover first.";
    "parts", "Parts", "Keep the part", "part-recorded", "parts", [Part, Desiccant], diagnosis::no_intro, part_fields, read_part, "Deployed or disconnected airbags near a damaged front end: leave them disconnected until it is closed.";
    "seals", "Seals", "Keep the seals", "seals-inspected", "joints", [Seal], joints::seal_intro, seal_fields, read_seals, NO_CAUTION;
    "fixings", "Fixings", "Keep the fixing", "fixing-recorded", "", [Fixing], diagnosis::no_intro, fixing_fields, read_fixing, NO_CAUTION;
    "flush", "Debris and flushing", "Keep it", "debris-recorded", "", [Flush], diagnosis::no_intro, flush_fields, read_flush, "Goggles and gloves; blow out with dry nitrogen through a regulator.";
    "oil", "Oil", "Keep the oil", "oil-added", "oil", [Oil], diagnosis::no_intro, oil_fields, read_oil, "The oil that the label says; on a high-voltage compressor no other, not even a little.";
    "evacuation", "Evacuation", "Begin the evacuation", "evacuation-begun", "evacuation", [Evacuation], hold::evacuation_intro, evacuation_fields, read_evacuation, NO_CAUTION;
    "hold", "Hold", "Begin the hold", "hold-begun", "hold", [Hold], hold::hold_intro, hold_fields, read_hold, "A pressure hold: dry nitrogen only, through a regulator, never above what the low side allows. Engine off while it holds.";
    "gas", "Gas let in", "Keep it", "gas-let-in", "", [GasLetIn], diagnosis::no_intro, gas_fields, read_gas, NO_CAUTION;
    "charging", "Charging", "Keep the charge", "refrigerant-charged", "charge", [Charging], charging::charge_intro, charge_fields, read_charge, GOGGLES;
    "performance", "Performance", "Keep what was measured", "performance-measured", "performance", [Performance, PerformanceOmitted], diagnosis::no_intro, performance_fields, read_performance, "Keep clear of belts and fans.";
    "checks", "Leak checks", "Keep the check", "leak-check-made", "leaks", [LeakCheck], proving::check_intro, check_fields, read_check, NO_CAUTION;
    "ports", "Caps and cores", "Keep the ports", "ports-recorded", "ports", [Port], diagnosis::no_intro, port_fields, read_ports, NO_CAUTION;
}

use charging::{charge_fields, performance_fields, port_fields, read_charge, read_performance, read_ports};
use diagnosis::{
    gas_fields, identification_fields, isolation_fields, leak_fields, read_gas, read_identification, read_isolation, read_leak, read_recovery, read_standing,
    recovery_fields, standing_fields,
};
use hold::{evacuation_fields, hold_fields, read_evacuation, read_hold};
use joints::{opening_fields, read_opening, read_seals, seal_fields};
use parts::{fixing_fields, flush_fields, oil_fields, part_fields, read_fixing, read_flush, read_oil, read_part};
use proving::{check_fields, read_check};

/// What to take care of, at the foot of a task. Before a joint of an electric compressor there is more than refrigerant to fear.
pub fn caution(scene: &Scene, task: &Task) -> String {
    let electric = scene.system("compressor_drive") == "electric";
    let first = if electric && matches!(task.word, "joints" | "parts" | "oil") { format!("{HIGH_VOLTAGE} ") } else { String::new() };
    format!("{first}{}", task.caution)
}

/// The task of an address.
pub fn find(word: &str) -> Result<&'static Task, Fault> {
    ALL.iter().find(|t| t.word == word).ok_or_else(|| Fault::missing(format!("task {word}")))
}

/// The task under which a kind of evidence is entered.
pub fn task_of_kind(kind: Kind) -> Option<&'static Task> {
    ALL.iter().find(|t| t.kinds.contains(&kind))
}

/// The task that settles a finding: what its rule's row says, or where the entry that it is about was made. What a rule that is no more has found leads to
/// the first task.
pub fn task_of(code: &str, about: &str) -> &'static str {
    match rule_of(code).map(|rule| rule.task) {
        Some(RuleTask::Entry) => Kind::of_mark(about).and_then(task_of_kind).map_or("checks", |task| task.word),
        Some(RuleTask::Details) => "details",
        Some(task) => task.word(),
        None => ALL[0].word,
    }
}

/// The fields for a time: empty is now; exact or about.
pub fn time_fields(form: &Form, label: &str) -> Vec<Field> {
    vec![form.field("at", label).kind(FieldKind::DateTime).hint("Empty: now."), form.tick("about", "The time is about right, not exact")]
}

/// A piece in a few words, for the list under its form.
pub fn told(ctx: &Ctx, scene: &Scene, piece: &Piece) -> String {
    let when = piece.at.map(|at| format!("{}{}: ", if piece.approximate { "about " } else { "" }, ctx.zone.short(at, ctx.now))).unwrap_or_default();
    let of = piece.parent.and_then(|id| scene.pieces.iter().find(|p| p.id == id)).map(|p| format!("{}: ", p.text("place"))).unwrap_or_default();
    let words: Vec<String> = piece
        .body
        .iter()
        .filter(|(k, _)| !k.starts_with('_') && !matches!(k.as_str(), "at" | "barometer" | "fitted_at" | "started_at"))
        .filter_map(|(k, v)| shown(scene, k, v))
        .collect();
    format!("{when}{of}{}", words.join(", "))
}

fn shown(scene: &Scene, key: &str, value: &Value) -> Option<String> {
    let name = key.replace('_', " ");
    match value {
        Value::Bool(true) => Some(name),
        Value::Bool(false) => Some(format!("not {name}")),
        Value::String(text) => Some(match key {
            "role" | "place" | "kind" | "type" | "value" | "condition" | "section" | "method" => text.clone(),
            "waited" => format!("waited {}", text.parse::<Quantity<Seconds>>().map_or_else(|_| text.clone(), |q| show::duration_short(q.si()))),
            "ended_at" | "repaired_at" => name.trim_end_matches(" at").to_owned(),
            _ => format!("{name} {text}"),
        }),
        Value::Number(n) => Some(format!("{name} {n}")),
        Value::Array(list) if !list.is_empty() => {
            let items: Vec<String> =
                list.iter().filter_map(Value::as_str).map(|m| scene.piece(m).map_or_else(|| m.to_owned(), |p| p.text("place").to_owned())).collect();
            (!items.is_empty()).then(|| format!("{name}: {}", items.join("; ")))
        }
        Value::Object(map) => {
            let items: Vec<String> = map.iter().filter_map(|(k, v)| Some(format!("{} {}", k.replace('_', " "), v.as_str()?))).collect();
            Some(format!("{name}: {}", items.join(", ")))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_leads_to_where_it_is_settled() {
        for (code, about, task) in [
            ("gauge-impossible", "h2", "hold"),
            ("gauge-impossible", "e1", "evacuation"),
            ("gauge-impossible", "sp1", "standing"),
            ("gauge-impossible", "pf1", "performance"),
            ("leak-found", "l1", "leaks"),
            ("leak-found", "j3", "checks"),
            ("leak-found", "left hose", "checks"),
            ("seal-not-inspected", "j4", "seals"),
        ] {
            assert_eq!(task_of(code, about), task, "{code} {about}");
            assert!(find(task).is_ok());
        }
    }
}
