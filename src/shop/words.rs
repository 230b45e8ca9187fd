//! The closed sets of the shop's own matters. Each is written as a word, the same in the database, in forms and in kept documents.

/// An enum whose every variant has a word; the word is what SQL, JSON and forms carry.
macro_rules! words {
    ($($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $word:literal,)+ })+) => {
        $(
            $(#[$doc])*
            #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize, sqlx::Type)]
            pub enum $name {
                $($(#[$of])* #[serde(rename = $word)] #[sqlx(rename = $word)] $variant,)+
            }

            impl $name {
                /// All of them.
                pub const ALL: &[Self] = &[$(Self::$variant,)+];

                /// The word.
                pub const fn word(self) -> &'static str {
                    match self { $(Self::$variant => $word,)+ }
                }

                /// From the word; `None` for any other.
                pub fn from_word(word: &str) -> Option<Self> {
                    Self::ALL.iter().copied().find(|w| w.word() == word)
                }
            }
        )+
    };
}

words! {
    /// Where an order stands.
    OrderState {
        /// Work goes on, or has not begun.
        Open = "open",
        /// The car has left.
        HandedOver = "handed-over",
        /// Nothing came of it.
        Cancelled = "cancelled",
    }

    /// What a line of an estimate is.
    LineKind {
        /// Time.
        Labour = "labour",
        /// A part.
        Part = "part",
        /// Refrigerant.
        Refrigerant = "refrigerant",
        /// Oil, seals, small things.
        Sundry = "sundry",
        /// The fee for finding out.
        Diagnosis = "diagnosis",
    }

    /// How a customer authorised work.
    AuthorisedHow {
        /// Signed at the desk.
        InPerson = "in-person",
        /// By telephone.
        Telephone = "telephone",
        /// By letter or mail.
        InWriting = "in-writing",
    }

    /// What a payment is.
    PaymentKind {
        /// Before the invoice.
        Deposit = "deposit",
        /// For the invoice.
        Payment = "payment",
        /// Given back.
        Refund = "refund",
    }

    /// How money changed hands.
    PaymentMethod {
        /// In cash.
        Cash = "cash",
        /// By card.
        Card = "card",
        /// By bank transfer.
        Transfer = "transfer",
        /// Any other way.
        Other = "other",
    }

    /// What an instrument is.
    InstrumentKind {
        /// A pressure gauge with a needle.
        DialGauge = "dial-gauge",
        /// A pressure gauge with digits.
        DigitalGauge = "digital-gauge",
        /// An electronic gauge that counts from perfect vacuum.
        VacuumGauge = "vacuum-gauge",
        /// A scale.
        Scale = "scale",
        /// A thermometer.
        Thermometer = "thermometer",
        /// A refrigerant identifier.
        Identifier = "identifier",
        /// A leak detector.
        Detector = "detector",
        /// Anything else.
        Other = "other",
    }

    /// What a cylinder is for.
    CylinderPurpose {
        /// Charged from.
        Charge = "charge",
        /// Recovered into.
        Recovery = "recovery",
        /// Kept for mixtures.
        Contaminated = "contaminated",
    }

    /// What a photograph shows.
    AttachmentKind {
        /// The car, a part, a gauge.
        Photograph = "photograph",
        /// A receipt.
        Receipt = "receipt",
        /// An estimate that was signed.
        SignedEstimate = "signed-estimate",
    }
}

impl InstrumentKind {
    /// Whether it measures pressure.
    pub const fn is_gauge(self) -> bool {
        matches!(
            self,
            Self::DialGauge | Self::DigitalGauge | Self::VacuumGauge
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_the_same_in_forms_and_documents() {
        for kind in InstrumentKind::ALL {
            assert_eq!(InstrumentKind::from_word(kind.word()), Some(*kind));
            assert_eq!(serde_json::to_value(kind).expect("JSON"), kind.word());
        }
        assert_eq!(OrderState::from_word("Open"), None);
    }
}
