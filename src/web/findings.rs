//! Findings as pages list them: a shape, a word, a sentence, and where to settle it.
use crate::store::assessment::{Concession, Finding};
use crate::store::evidence::Kind;
use chillwright_calc::{
    UnitSystem,
    checks::rules::{Task as RuleTask, rule_of},
    record::answer::Weight,
};

/// A line of the list.
pub struct FindingLine {
    /// Class of the shape: `blocks`, `owner`, `note`.
    pub class: &'static str,
    /// The word: "blocks", "owner to decide", "note".
    pub word: &'static str,
    /// The sentence.
    pub says: String,
    /// What to do next.
    pub next: String,
    /// Where it is settled.
    pub href: String,
    /// The finding's own page.
    pub why: String,
    /// What was accepted, or what lapsed.
    pub told: Vec<String>,
    /// Accepted, so that it is not in the way any more.
    pub accepted: bool,
}

/// The word of a weight.
pub fn word(weight: Weight) -> &'static str {
    match weight {
        Weight::Blocks => "blocking",
        Weight::Concession => "owner to decide",
        Weight::Note => "note",
    }
}

/// Class and word of a weight.
pub fn class_and_word(weight: Weight) -> (&'static str, &'static str) {
    let class = match weight {
        Weight::Blocks => "blocks",
        Weight::Concession => "owner",
        Weight::Note => "note",
    };
    (class, word(weight))
}

/// The lines of an order's findings in the units on the page, with what the owner said of them.
pub fn lines(
    number: i64,
    findings: &[Finding],
    concessions: &[Concession],
    units: UnitSystem,
    when: impl Fn(&Concession) -> String,
) -> Vec<FindingLine> {
    findings
        .iter()
        .map(|f| {
            let (class, word) = if f.due {
                class_and_word(f.weight)
            } else {
                ("to-do", "to do")
            };
            let about = |c: &&Concession| c.code == f.code && c.about == f.about;
            let live = concessions
                .iter()
                .filter(about)
                .find(|c| c.lapsed.is_none());
            let told = match live {
                Some(c) => vec![format!("Accepted: “{}” {}.", c.words, when(c))],
                None => concessions
                    .iter()
                    .filter(about)
                    .filter_map(|c| {
                        Some(format!(
                            "The earlier acceptance is no longer valid. {}",
                            c.lapse(units)?
                        ))
                    })
                    .collect(),
            };
            FindingLine {
                class,
                word,
                says: f.said(units).to_owned(),
                next: f.next(units).to_owned(),
                href: format!("/orders/{number}/bench/{}", task_of(&f.code, &f.about)),
                why: format!("/orders/{number}/why/{}/{}", f.code, f.about),
                told,
                accepted: live.is_some(),
            }
        })
        .collect()
}

/// The task that settles a finding: what its rule's row says, or where the entry that it is about was made. What a rule that is no more has found leads to
/// the first task.
pub fn task_of(code: &str, about: &str) -> &'static str {
    match rule_of(code).map(|rule| rule.task) {
        Some(RuleTask::Entry) => Kind::of_mark(about)
            .and_then(Kind::task)
            .map_or("checks", RuleTask::word),
        Some(RuleTask::Details) => "details",
        Some(task) => task.word(),
        None => "standing",
    }
}
