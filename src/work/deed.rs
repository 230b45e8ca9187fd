//! What every deed has in common. A deed is begun, has its effect, and is kept; dropped before that, it never was.
use super::DeedError;
use crate::{
    shop::{Actor, DeedId, Instant, OrderId, Role},
    store::{self, Store, audit, evidence},
};
use serde_json::Value;
use sqlx::{Sqlite, Transaction};

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Command<'a> {
    /// The client's id of the deed.
    pub deed: DeedId,
    /// What kind: `reading-taken`. Past tense, as the audit trail tells it.
    pub kind: &'static str,
    /// Any of these roles may do it.
    pub roles: &'a [Role],
    /// The order that it concerns, and that is assessed anew.
    pub order: Option<OrderId>,
    /// The whole form, for recognising it when it comes twice; it is kept only as a salted hash.
    pub form: String,
}

/// A deed that was begun.
#[derive(Debug)]
pub struct Deed {
    /// The transaction in which all of it happens.
    pub tx: Transaction<'static, Sqlite>,
    /// Who does it.
    pub by: Actor,
    /// When.
    pub now: Instant,
    id: DeedId,
    kind: &'static str,
    order: Option<OrderId>,
    form: String,
    store: Store,
}

impl Deed {
    /// Begins: permission, then whether the same form was kept before.
    pub async fn begin(
        store: &Store,
        by: &Actor,
        command: Command<'_>,
        now: Instant,
    ) -> Result<Self, DeedError> {
        if !by.roles.any(command.roles) {
            return Err(DeedError::NotAllowed(
                command
                    .roles
                    .iter()
                    .map(|r| r.word())
                    .collect::<Vec<_>>()
                    .join(" or "),
            ));
        }
        let mut tx = store.write().await?;
        match audit::seen(&mut tx, command.deed, &command.form).await? {
            Some(seen) if seen.same && seen.kind == command.kind => {
                return Err(DeedError::AlreadyKept);
            }
            Some(_) => return Err(DeedError::OtherContent),
            None => {}
        }
        if let Some(id) = command.order {
            let order = store::orders::find(&mut tx, id)
                .await?
                .ok_or(DeedError::Missing("order"))?;
            // Money may still come in, papers may be corrected, and the owner may reopen.
            if !order.is_open() && !AFTER_HANDOVER.contains(&command.kind) {
                return Err(DeedError::refused(
                    "",
                    "This order is closed. The owner can reopen it and must enter a reason.",
                ));
            }
        }
        Ok(Self {
            tx,
            by: by.clone(),
            now,
            id: command.deed,
            kind: command.kind,
            order: command.order,
            form: command.form,
            store: store.clone(),
        })
    }

    /// The deed now concerns this order (a new one).
    pub fn concerns(&mut self, order: OrderId) {
        self.order = Some(order);
    }

    /// Who enters evidence with this deed.
    pub fn entering(&self) -> evidence::Entering {
        evidence::Entering {
            person: self.by.person,
            device: self.by.device,
            at: self.now,
        }
    }

    /// Keeps it: the audit entry, the order's new assessment, and the commit that survives a pulled plug;
    /// then whoever looks at the order is told.
    /// `content` is what the audit trail tells; nothing personal but salted hashes.
    pub async fn keep(mut self, content: Value) -> Result<(), DeedError> {
        if let Some(order) = self.order {
            super::assess::anew(&mut self.tx, order, self.now).await?;
        }
        let entry = audit::Entry {
            deed: self.id,
            kind: self.kind,
            order: self.order,
            person: Some(self.by.person),
            device: self.by.device,
            at: self.now,
            content: &content,
        };
        audit::add(&mut self.tx, &entry).await?;
        audit::remember(&mut self.tx, self.id, &self.form).await?;
        self.tx.commit().await?;
        if let Some(order) = self.order {
            self.store.tell(order);
        }
        Ok(())
    }
}

/// Kinds of deeds that a closed order still takes.
const AFTER_HANDOVER: &[&str] = &[
    "order-reopened",
    "payment-taken",
    "invoice-issued",
    "invoice-corrected",
    "note-added",
    "photograph-added",
];
