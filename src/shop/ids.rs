//! Identifiers: UUID version 7, one type for each kind of thing, so that a car's cannot stand where an order's is meant.
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize, sqlx::Type)]
        #[serde(transparent)]
        #[sqlx(transparent)]
        pub struct $name(pub Uuid);
        impl $name {
            /// A new id; its order follows the clock.
            pub fn fresh() -> Self {
                Self(Uuid::now_v7())
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
        impl std::str::FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, uuid::Error> {
                text.parse().map(Self)
            }
        }
        impl From<Uuid> for $name {
            fn from(id: Uuid) -> Self {
                Self(id)
            }
        }
    )+};
}

ids!(
    /// A deed: made by the client with the form, so that the same form sent twice is one deed.
    DeedId,
    /// Somebody who works here.
    PersonId,
    /// A tablet or computer that the owner admitted.
    DeviceId,
    /// A customer.
    CustomerId,
    /// A car.
    VehicleId,
    /// A work order; people know it by its number.
    OrderId,
    /// A line of an order's estimate.
    LineId,
    /// A piece of evidence, through all its versions.
    EvidenceId,
    /// A gauge, scale, thermometer, detector.
    InstrumentId,
    /// A refrigerant cylinder.
    CylinderId,
    /// A dismantler's yard.
    YardId,
    /// A photograph or paper.
    AttachmentId,
    /// What the owner accepted in writing.
    ConcessionId,
    /// A handover.
    HandoverId,
    /// An invoice; people know it by its number.
    InvoiceId,
);
