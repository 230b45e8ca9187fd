//! Authorisations, invoices, payments.
use super::{Conn, Result, StoreError};
use crate::shop::{
    AuthorisedHow, Instant, InvoiceId, Money, OrderId, PaymentKind, PaymentMethod, PersonId,
};
use serde_json::Value;
use uuid::Uuid;

/// What a customer authorised.
#[derive(Debug, Clone)]
pub struct Authorisation {
    /// Identity.
    pub id: Uuid,
    /// The whole sum from then on, with tax.
    pub amount: Money,
    /// Who.
    pub given_by: String,
    /// How.
    pub how: AuthorisedHow,
    /// A note.
    pub note: String,
    /// When.
    pub at: Instant,
}

/// The authorisations of an order, oldest first; the last one holds.
pub async fn authorisations(conn: &mut Conn, order: OrderId) -> Result<Vec<Authorisation>> {
    Ok(sqlx::query_as!(
        Authorisation,
        r#"SELECT id AS "id: Uuid", amount AS "amount: Money", given_by, how AS "how: AuthorisedHow", note, at AS "at: Instant" FROM authorisation WHERE work_order = ? ORDER BY at, rowid"#,
        order
    )
    .fetch_all(conn)
    .await?)
}

/// Orders that something was authorised for.
pub async fn authorised_orders(conn: &mut Conn) -> Result<Vec<OrderId>> {
    let rows = sqlx::query!(r#"SELECT DISTINCT work_order AS "order: OrderId" FROM authorisation"#)
        .fetch_all(conn)
        .await?;
    Ok(rows.into_iter().map(|r| r.order).collect())
}

/// Keeps an authorisation.
pub async fn add_authorisation(
    conn: &mut Conn,
    order: OrderId,
    a: &Authorisation,
    by: PersonId,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO authorisation (id, work_order, amount, given_by, how, note, at, person, entered_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        a.id,
        order,
        a.amount,
        a.given_by,
        a.how,
        a.note,
        a.at,
        by,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// A payment.
#[derive(Debug, Clone)]
pub struct Payment {
    /// Identity.
    pub id: Uuid,
    /// Deposit, payment or refund.
    pub kind: PaymentKind,
    /// How much.
    pub amount: Money,
    /// How.
    pub how: PaymentMethod,
    /// When.
    pub at: Instant,
}

impl Payment {
    /// What it does to the balance.
    pub fn signed(&self) -> Money {
        if self.kind == PaymentKind::Refund {
            Money(-self.amount.0)
        } else {
            self.amount
        }
    }
}

/// The payments of an order, oldest first.
pub async fn payments(conn: &mut Conn, order: OrderId) -> Result<Vec<Payment>> {
    Ok(sqlx::query_as!(
        Payment,
        r#"SELECT id AS "id: Uuid", kind AS "kind: PaymentKind", amount AS "amount: Money", how AS "how: PaymentMethod", at AS "at: Instant" FROM payment WHERE work_order = ? ORDER BY at, rowid"#,
        order
    )
    .fetch_all(conn)
    .await?)
}

/// Keeps a payment.
pub async fn add_payment(
    conn: &mut Conn,
    order: OrderId,
    p: &Payment,
    by: PersonId,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO payment (id, work_order, kind, amount, how, at, person, entered_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        p.id,
        order,
        p.kind,
        p.amount,
        p.how,
        p.at,
        by,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// An issued invoice. It has no setters: a correction is a new document.
#[derive(Debug, Clone)]
pub struct IssuedInvoice {
    /// Identity.
    pub id: InvoiceId,
    /// Gapless.
    pub number: i64,
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
    /// When.
    pub issued_at: Instant,
}

macro_rules! invoice {
    ($r:expr) => {
        Ok(IssuedInvoice {
            id: $r.id,
            number: $r.number,
            order: $r.order,
            corrects: $r.corrects,
            total: $r.total,
            currency: $r.currency,
            document: serde_json::from_str(&$r.document)
                .map_err(|e| StoreError::stored("invoice", e))?,
            issued_at: $r.issued_at,
        })
    };
}

/// The invoices of an order, oldest first.
pub async fn invoices(conn: &mut Conn, order: OrderId) -> Result<Vec<IssuedInvoice>> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: InvoiceId", number, work_order AS "order: OrderId", corrects AS "corrects: InvoiceId", total AS "total: Money", currency, document,
           issued_at AS "issued_at: Instant" FROM invoice WHERE work_order = ? ORDER BY number"#,
        order
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(|r| invoice!(r)).collect()
}

/// The invoice with this number.
pub async fn invoice(conn: &mut Conn, number: i64) -> Result<Option<IssuedInvoice>> {
    let row = sqlx::query!(
        r#"SELECT id AS "id: InvoiceId", number, work_order AS "order: OrderId", corrects AS "corrects: InvoiceId", total AS "total: Money", currency, document,
           issued_at AS "issued_at: Instant" FROM invoice WHERE number = ?"#,
        number
    )
    .fetch_optional(conn)
    .await?;
    row.map(|r| invoice!(r)).transpose()
}

/// Issues an invoice.
pub async fn add_invoice(conn: &mut Conn, i: &IssuedInvoice, by: PersonId) -> Result<()> {
    let document = i.document.to_string();
    sqlx::query!(
        "INSERT INTO invoice (id, number, work_order, corrects, total, currency, document, person, issued_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        i.id,
        i.number,
        i.order,
        i.corrects,
        i.total,
        i.currency,
        document,
        by,
        i.issued_at
    )
    .execute(conn)
    .await?;
    Ok(())
}
