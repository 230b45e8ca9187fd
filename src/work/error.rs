//! Why a deed was not done, as its caller can act on it.
use crate::store::StoreError;

/// Why a deed was not done.
#[derive(Debug, thiserror::Error)]
pub enum DeedError {
    /// This person may not do it.
    #[error("only for the role {0}")]
    NotAllowed(String),
    /// The same form was kept before, with the same content: nothing to do, all is well.
    #[error("this was kept already")]
    AlreadyKept,
    /// A form with this id was kept before with other content.
    #[error("a form sent earlier with the same id said something else")]
    OtherContent,
    /// Somebody else changed it meanwhile.
    #[error("somebody else changed this meanwhile")]
    Outdated,
    /// It is not there.
    #[error("there is no such {0}")]
    Missing(&'static str),
    /// The state of things forbids it; a sentence for the page, and the field where it belongs (may be empty).
    #[error("{says}")]
    Refused {
        /// The form's field.
        field: &'static str,
        /// The sentence.
        says: String,
    },
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for DeedError {
    fn from(e: sqlx::Error) -> Self {
        Self::Store(e.into())
    }
}

impl DeedError {
    /// Refused, with the sentence for a field.
    pub fn refused(field: &'static str, says: impl Into<String>) -> Self {
        Self::Refused {
            field,
            says: says.into(),
        }
    }
}
