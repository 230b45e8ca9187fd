//! Who may do what.
use super::{DeviceId, PersonId};

/// A part that a person plays in the shop; one may play several.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Opens orders, gets them authorised, writes invoices, takes payment.
    Desk,
    /// Works at the car.
    Technician,
    /// Answers for every car that leaves.
    Owner,
}

impl Role {
    /// All of them.
    pub const ALL: [Role; 3] = [Role::Desk, Role::Technician, Role::Owner];

    /// The word that the database and the forms use.
    pub fn word(self) -> &'static str {
        match self {
            Role::Desk => "desk",
            Role::Technician => "technician",
            Role::Owner => "owner",
        }
    }

    /// From that word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.word() == word)
    }
}

/// The roles of one person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Roles(u8);

impl Roles {
    /// With one more.
    pub fn with(self, role: Role) -> Self {
        Self(self.0 | 1 << role as u8)
    }

    /// Whether it is among them.
    pub fn has(self, role: Role) -> bool {
        self.0 & (1 << role as u8) != 0
    }

    /// Whether any of the given is among them.
    pub fn any(self, roles: &[Role]) -> bool {
        roles.iter().any(|r| self.has(*r))
    }

    /// The roles in their order.
    pub fn list(self) -> impl Iterator<Item = Role> {
        Role::ALL.into_iter().filter(move |r| self.has(*r))
    }

    /// `desk, owner`.
    pub fn words(self) -> String {
        self.list().map(Role::word).collect::<Vec<_>>().join(", ")
    }

    /// From words; unknown ones are passed over.
    pub fn from_words<'a>(words: impl IntoIterator<Item = &'a str>) -> Self {
        words
            .into_iter()
            .filter_map(Role::from_word)
            .fold(Self::default(), Self::with)
    }
}

/// Who does a deed, and at which tablet.
#[derive(Debug, Clone)]
pub struct Actor {
    /// The person.
    pub person: PersonId,
    /// As it is printed.
    pub name: String,
    /// What the person may do.
    pub roles: Roles,
    /// Where; none for the terminal.
    pub device: Option<DeviceId>,
}
