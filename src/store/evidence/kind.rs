//! The one table of kinds. Whoever asks for a kind's word in the database, the letter of its mark, its entry in the job record, its task or its section reads
//! it here; the next kind is a row here, a word in the table `evidence_kind`, and what the compiler then asks for.
use chillwright_calc::checks::rules::{Section, Task};

/// Hands the rows to another macro: kind, type of its entry, word in the database, letter of the mark, key in the record, how it stands there, task at the
/// bench, and the section of the record sheet that tells it in the list of tasks.
///
/// Joints come with what is done to them, readings with their gauge: neither has a task. What is told in that list by its number alone has no section.
macro_rules! kinds {
    ($with:ident) => {
        $with! {
            /// `site`.
            Site: record::Site, "site", "site", "site", Single, None, None;
            /// `system`: the label.
            System: record::System, "system", "system", "system", Single, Some(Task::Details), None;
            /// `previous_charge`.
            PreviousCharge: record::PreviousCharge, "previous_charge", "before", "previous_charge", Single, Some(Task::Details), None;
            /// `open_since`.
            OpenSince: Only<Moment>, "open_since", "open", "open_since", Scalar, Some(Task::Recovery), Some(Section::Recovery);
            /// An entry of `gas_let_in`.
            GasLetIn: record::GasLetIn, "gas_let_in", "g", "gas_let_in", Listed, Some(Task::Gas), None;
            /// An entry of `standing`.
            Standing: record::Standing, "standing", "sp", "standing", Listed, Some(Task::Standing), Some(Section::Standing);
            /// An entry of `identification`.
            Identification: record::Identification, "identification", "id", "identification", Listed, Some(Task::Identification), None;
            /// An entry of `isolation`.
            Isolation: record::Isolation, "isolation", "hv", "isolation", Listed, Some(Task::Isolation), None;
            /// An entry of `recovery`.
            Recovery: record::Recovery, "recovery", "r", "recovery", Listed, Some(Task::Recovery), Some(Section::Recovery);
            /// An entry of `leaks`.
            Leak: record::Leak, "leak", "l", "leaks", Listed, Some(Task::Leaks), Some(Section::Leaks);
            /// An entry of `parts`.
            Part: record::Part, "part", "p", "parts", Listed, Some(Task::Parts), Some(Section::Parts);
            /// `desiccant_last_renewed`.
            Desiccant: Only<Day>, "desiccant", "dry", "desiccant_last_renewed", Scalar, Some(Task::Parts), Some(Section::Parts);
            /// An entry of `flushes`.
            Flush: record::Flush, "flush", "fl", "flushes", Listed, Some(Task::Flush), None;
            /// An entry of `joints`, less its openings and seals.
            Joint: record::Joint, "joint", "j", "joints", Listed, None, None;
            /// An item of a joint's `opened`.
            Opening: record::OpeningObject, "opening", "o", "opened", Child, Some(Task::Joints), Some(Section::Joints);
            /// An item of a joint's `seals`.
            Seal: record::Seal, "seal", "s", "seals", Child, Some(Task::Seals), Some(Section::Joints);
            /// An entry of `fixings`.
            Fixing: record::Fixing, "fixing", "f", "fixings", Listed, Some(Task::Fixings), None;
            /// An entry of `oil_added`.
            Oil: record::OilAdded, "oil", "oil", "oil_added", Listed, Some(Task::Oil), Some(Section::Oil);
            /// An entry of `evacuations`, less its readings.
            Evacuation: record::Evacuation, "evacuation", "e", "evacuations", Listed, Some(Task::Evacuation), Some(Section::Evacuation);
            /// An entry of `holds`, less its readings.
            Hold: record::Hold, "hold", "h", "holds", Listed, Some(Task::Hold), Some(Section::Hold);
            /// A reading of an evacuation or hold.
            Reading: record::Reading, "reading", "m", "readings", Child, None, None;
            /// An entry of `leak_checks`.
            LeakCheck: record::LeakCheck, "leak_check", "c", "leak_checks", Listed, Some(Task::Checks), Some(Section::Leaks);
            /// An entry of `charging`.
            Charging: record::Charging, "charging", "ch", "charging", Listed, Some(Task::Charging), Some(Section::Charge);
            /// An entry of `performance`.
            Performance: record::Performance, "performance", "pf", "performance", Listed, Some(Task::Performance), Some(Section::Performance);
            /// `performance_omitted`.
            PerformanceOmitted: Only<String>, "performance_omitted", "nopf", "performance_omitted", Scalar, Some(Task::Performance), Some(Section::Performance);
            /// An entry of `ports`.
            Port: record::Port, "port", "port", "ports", Listed, Some(Task::Ports), Some(Section::Ports);
        }
    };
}
pub(super) use kinds;

/// How a kind stands in the job record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// One object.
    Single,
    /// One value, in the body's `value`.
    Scalar,
    /// An entry of a list.
    Listed,
    /// An entry of its parent's list.
    Child,
}

struct Row {
    word: &'static str,
    letter: &'static str,
    key: &'static str,
    place: Place,
    task: Option<Task>,
    section: Option<Section>,
}

macro_rules! kind {
    ($($(#[$doc:meta])* $kind:ident: $type:ty, $word:literal, $letter:literal, $key:literal, $place:ident, $task:expr, $section:expr;)+) => {
        /// What a piece of evidence is; its body is that entry of the job record. It is read and written by its word.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
        pub enum Kind {
            $($(#[$doc])* #[serde(rename = $word)] $kind,)+
        }

        impl Kind {
            /// All of them.
            pub const ALL: &[Self] = &[$(Self::$kind),+];

            const fn row(self) -> &'static Row {
                match self {
                    $(Self::$kind => &Row { word: $word, letter: $letter, key: $key, place: Place::$place, task: $task, section: $section },)+
                }
            }
        }
    };
}
kinds!(kind);

impl Kind {
    /// The word in the database.
    pub const fn word(self) -> &'static str {
        self.row().word
    }

    /// The letter of its marks.
    pub const fn letter(self) -> &'static str {
        self.row().letter
    }

    /// The key in the job record.
    pub const fn key(self) -> &'static str {
        self.row().key
    }

    /// How it stands there.
    pub const fn place(self) -> Place {
        self.row().place
    }

    /// The task under which it is entered, where it is entered by itself.
    pub const fn task(self) -> Option<Task> {
        self.row().task
    }

    /// The section of the record sheet that tells it in the list of tasks.
    pub const fn section(self) -> Option<Section> {
        self.row().section
    }

    /// Of a piece with this mark: `h2` is a hold, `system` the label. `None` for words that are no mark.
    pub fn of_mark(mark: &str) -> Option<Self> {
        let letters = mark.trim_end_matches(|c: char| c.is_ascii_digit());
        let once = |kind: Self| matches!(kind.place(), Place::Single | Place::Scalar);
        Self::ALL
            .iter()
            .copied()
            .find(|k| k.letter() == letters && (letters.len() < mark.len() || once(*k)))
    }

    /// From the database's word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|k| k.word() == word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn a_word_a_letter_and_a_place_in_the_record_belong_to_one_kind() {
        let told_apart = |by: fn(Kind) -> &'static str| {
            Kind::ALL
                .iter()
                .map(|k| by(*k))
                .collect::<BTreeSet<_>>()
                .len()
        };
        for by in [Kind::word, Kind::letter, Kind::key] {
            assert_eq!(told_apart(by), Kind::ALL.len());
        }
        for kind in Kind::ALL {
            assert_eq!(Kind::from_word(kind.word()), Some(*kind));
            assert_eq!(serde_json::to_value(kind).ok(), Some(kind.word().into()));
            let mark = if matches!(kind.place(), Place::Single | Place::Scalar) {
                kind.letter().to_owned()
            } else {
                format!("{}1", kind.letter())
            };
            assert_eq!(Kind::of_mark(&mark), Some(*kind), "{mark}");
        }
        assert_eq!(
            (Kind::of_mark("h"), Kind::of_mark("left hose")),
            (None, None)
        );
    }
}
