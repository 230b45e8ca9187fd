//! Deeds about money: lines, authorisations, invoices, payments.
use super::{Command, Deed, DeedError, orders::DESK};
use crate::{
    shop::{Actor, DeedId, Instant, InvoiceId, Money, OrderId},
    store::{Store, lines, money, shop},
};
use serde_json::{Value, json};

/// Adds a line, or changes it where `is_new` is not set.
pub async fn keep_line(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: OrderId,
    line: &lines::Line,
    is_new: bool,
    now: Instant,
) -> Result<(), DeedError> {
    let kind = if is_new { "line-added" } else { "line-changed" };
    let mut deed = Deed::begin(
        store,
        by,
        Command {
            deed,
            kind,
            roles: DESK,
            order: Some(order),
            form,
        },
        now,
    )
    .await?;
    if is_new {
        lines::add(&mut deed.tx, order, line, now).await?;
    } else {
        // What was declined before was declined then, whatever else is changed of the line now.
        let before = lines::of_order(&mut deed.tx, order)
            .await?
            .into_iter()
            .find(|l| l.id == line.id)
            .and_then(|l| l.declined_at);
        let changed = lines::Line {
            declined_at: line.declined_at.map(|at| before.unwrap_or(at)),
            ..line.clone()
        };
        if !lines::update(&mut deed.tx, &changed).await? {
            return Err(DeedError::Outdated);
        }
    }
    deed.keep(json!({ "line": line.id, "kind": line.kind, "quantity": line.quantity, "price": line.price, "declined": line.declined_at.is_some(), "removed": line.removed_at.is_some() })).await
}

/// Keeps what the customer authorised.
pub async fn authorise(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: OrderId,
    a: &money::Authorisation,
    now: Instant,
) -> Result<(), DeedError> {
    let mut deed = Deed::begin(
        store,
        by,
        Command {
            deed,
            kind: "work-authorised",
            roles: DESK,
            order: Some(order),
            form,
        },
        now,
    )
    .await?;
    money::add_authorisation(&mut deed.tx, order, a, by.person, now).await?;
    // Who gave it is in the authorisation's row; the chain tells how much, how and when.
    deed.keep(json!({ "id": a.id, "amount": a.amount, "how": a.how, "at": a.at }))
        .await
}

/// Takes a payment.
pub async fn take_payment(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: OrderId,
    p: &money::Payment,
    now: Instant,
) -> Result<(), DeedError> {
    let mut deed = Deed::begin(
        store,
        by,
        Command {
            deed,
            kind: "payment-taken",
            roles: DESK,
            order: Some(order),
            form,
        },
        now,
    )
    .await?;
    money::add_payment(&mut deed.tx, order, p, by.person, now).await?;
    deed.keep(json!({ "id": p.id, "kind": p.kind, "amount": p.amount, "how": p.how, "at": p.at }))
        .await
}

/// An invoice that is asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The order.
    pub order: OrderId,
    /// The invoice that it corrects.
    pub corrects: Option<InvoiceId>,
    /// With tax.
    pub total: Money,
    /// Currency.
    pub currency: String,
    /// Every printed sentence and amount.
    pub document: Value,
    /// The last invoice of the order that the page knew.
    pub after: Option<i64>,
}

/// Issues an invoice; gives its number. The number is taken in the same transaction, so that none is ever missing.
pub async fn issue(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    asked: Asked,
    now: Instant,
) -> Result<i64, DeedError> {
    let kind = if asked.corrects.is_some() {
        "invoice-corrected"
    } else {
        "invoice-issued"
    };
    let mut deed = Deed::begin(
        store,
        by,
        Command {
            deed,
            kind,
            roles: DESK,
            order: Some(asked.order),
            form,
        },
        now,
    )
    .await?;
    if money::invoices(&mut deed.tx, asked.order)
        .await?
        .last()
        .map(|i| i.number)
        != asked.after
    {
        return Err(DeedError::refused(
            "",
            "An invoice for this order was issued in the meantime. Check it first.",
        ));
    }
    let number = shop::take_invoice_number(&mut deed.tx).await?;
    let invoice = money::IssuedInvoice {
        id: InvoiceId::fresh(),
        number,
        order: asked.order,
        corrects: asked.corrects,
        total: asked.total,
        currency: asked.currency,
        document: asked.document,
        issued_at: now,
    };
    money::add_invoice(&mut deed.tx, &invoice, by.person).await?;
    deed.keep(json!({ "number": number, "total": invoice.total }))
        .await?;
    Ok(number)
}
