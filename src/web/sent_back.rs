//! What the owner sent back, as the bench shows it, with the form of its answer.
use super::{Ctx, Fault, Form};
use crate::{
    shop::OrderId,
    store::{orders, sent_back},
};

/// A finding that was sent back, as the bench shows it.
pub struct SentBackLine {
    pub says: String,
    pub reason: String,
    pub who: String,
    pub action: String,
    pub form: Form,
}

/// The findings of an order that were sent back and not answered yet.
pub async fn sent_back_lines(
    ctx: &Ctx,
    order: OrderId,
    typed: &Form,
) -> Result<Vec<SentBackLine>, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let number = orders::find(&mut conn, order)
        .await?
        .map_or(0, |o| o.number);
    let open = sent_back::open(&mut conn, order).await?;
    Ok(open
        .into_iter()
        .map(|s| {
            let action = format!("/orders/{number}/sent-back/{}", s.id);
            SentBackLine {
                says: s.said(ctx.units).to_owned(),
                reason: s.reason,
                who: format!("{}, {}", s.name, ctx.zone.short(s.at, ctx.now)),
                form: typed.sent_to(&action),
                action,
            }
        })
        .collect())
}
