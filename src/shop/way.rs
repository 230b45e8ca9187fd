//! The ways out of the shop.

/// How a car leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// No `blocks`, every concession granted.
    Repaired,
    /// The customer stopped the work.
    PartlyRepaired,
    /// Recovered, closed, not usable.
    MadeSafe,
    /// Looked at, nothing more.
    DiagnosedOnly,
}

impl Way {
    /// All of them.
    pub const ALL: [Way; 4] = [
        Way::Repaired,
        Way::PartlyRepaired,
        Way::MadeSafe,
        Way::DiagnosedOnly,
    ];

    /// The word that the database and the forms use.
    pub fn word(self) -> &'static str {
        match self {
            Way::Repaired => "repaired",
            Way::PartlyRepaired => "partly-repaired",
            Way::MadeSafe => "made-safe",
            Way::DiagnosedOnly => "diagnosed-only",
        }
    }

    /// From that word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.word() == word)
    }

    /// As it is said: "Handed over …".
    pub fn says(self) -> &'static str {
        match self {
            Way::Repaired => "repaired",
            Way::PartlyRepaired => "partly repaired",
            Way::MadeSafe => "made safe",
            Way::DiagnosedOnly => "diagnosis only",
        }
    }
}
