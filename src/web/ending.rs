//! How a form that was sent ends: it is kept and leads on, or is shown again with what is wrong. Where the same form came twice with other content, what
//! was kept first is told beside what is typed now. (The bench has a choice besides, `bench::twice`.)
use super::{Ctx, Fault, Form, account, bench::told, form::to};
use crate::{
    shop::{DeedId, OrderId},
    store::{
        Conn, audit,
        evidence::{self as store_evidence, Kind},
        lines, money, orders, people,
    },
    work::DeedError,
};
use axum::response::{IntoResponse, Response};
use serde_json::Value;

/// Ends a form: `done` is what its deed answered, or `None` where it was not even tried because something is wrong with it. Kept, now or by an earlier
/// sending, it leads to `then`; else its page is drawn with what was typed and the status of the fault.
///
/// # Errors
/// What is no matter of the form: somebody who may not, an entry that is not there, a store that fails.
pub async fn finish<P: IntoResponse>(
    ctx: &Ctx,
    mut form: Form,
    done: Option<Result<(), DeedError>>,
    then: impl AsRef<str>,
    page: impl AsyncFnOnce(Form) -> Result<P, Fault>,
) -> Result<Response, Fault> {
    if let Some(done) = done
        && settle(ctx, &mut form, done).await?
    {
        return Ok(to(then));
    }
    let status = form.status();
    Ok((status, page(form).await?).into_response())
}

/// Takes what a deed answered, as [`Form::settle`]; where an earlier sending of the form was kept with other content, that is told too.
pub async fn settle(
    ctx: &Ctx,
    form: &mut Form,
    done: Result<(), DeedError>,
) -> Result<bool, Fault> {
    let (sent, other) = (form.deed, matches!(done, Err(DeedError::OtherContent)));
    let settled = form.settle(done)?;
    if other && let Some(says) = told(ctx, sent).await? {
        form.wrong("", says);
    }
    Ok(settled)
}

/// What a deed kept, in a sentence.
async fn told(ctx: &Ctx, deed: DeedId) -> Result<Option<String>, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let Some(entry) = audit::told(&mut conn, deed).await? else {
        return Ok(None);
    };
    let (what, place) = match entry.order {
        Some(id) => of_order(ctx, &mut conn, &entry, id).await?,
        None => (
            person(&mut conn, &entry).await?,
            "where it stands".to_owned(),
        ),
    };
    let what = what
        .map(|w| format!(": {}", w.trim_end_matches('.')))
        .unwrap_or_default();
    let when = ctx.zone.date_and_clock(entry.at);
    Ok(Some(format!(
        "Saved first, {when}, {}{what}. To correct it instead of adding to it, change it {place}.",
        entry.kind.replace('-', " ")
    )))
}

/// What it kept of an order, and where that is changed.
async fn of_order(
    ctx: &Ctx,
    conn: &mut Conn,
    entry: &audit::Told,
    id: OrderId,
) -> Result<(Option<String>, String), Fault> {
    let is = |of: String| entry.content.get("id").and_then(Value::as_str) == Some(of.as_str());
    let order = orders::find(conn, id).await?;
    let number = order.as_ref().map_or(0, |o| o.number);
    let estimate = format!("on the estimate of order {number}");
    Ok(match entry.kind.as_str() {
        "order-opened" => (
            order.map(|o| {
                format!(
                    "order {number}, {} {}, for {}: “{}”",
                    o.plate, o.car, o.customer_name, o.complaint
                )
            }),
            format!("on order {number}"),
        ),
        "line-added" | "line-changed" => {
            let line = entry
                .content
                .get("line")
                .and_then(Value::as_str)
                .unwrap_or_default()
                .to_owned();
            let found = lines::of_order(conn, id)
                .await?
                .into_iter()
                .find(|l| l.id.to_string() == line);
            (
                found.map(|l| account::view(ctx, &l)).map(|v| {
                    [v.says, v.state, v.quantity, v.amount]
                        .join(" ")
                        .replace("  ", " ")
                }),
                estimate,
            )
        }
        "work-authorised" => {
            let found = money::authorisations(conn, id)
                .await?
                .into_iter()
                .find(|a| is(a.id.to_string()));
            (
                found.map(|a| account::authorisation_says(ctx, &a)),
                "by a new authorisation; the latest one applies".into(),
            )
        }
        "payment-taken" => {
            let found = money::payments(conn, id)
                .await?
                .into_iter()
                .find(|p| is(p.id.to_string()));
            (
                found.map(|p| account::payment_says(ctx, &p)),
                "by a refund and a new payment".into(),
            )
        }
        "note-added" => {
            let found = orders::notes(conn, id)
                .await?
                .into_iter()
                .find(|n| n.at == entry.at);
            (
                found.map(|n| format!("“{}”", n.says)),
                "by another note".into(),
            )
        }
        "order-changed" => (
            order.map(|o| details(ctx, &o)),
            format!("under the details of order {number}"),
        ),
        _ => (
            evidence(ctx, &entry.content),
            format!("under the details of order {number}"),
        ),
    })
}

fn details(ctx: &Ctx, o: &orders::Order) -> String {
    let promised = o
        .promised_at
        .map(|at| ctx.zone.date_and_clock(at))
        .unwrap_or_default();
    let told = [
        ("complaint", format!("“{}”", o.complaint)),
        ("damage", o.damage.clone()),
        ("keys", o.keys.clone()),
        ("promised", promised),
    ];
    told.into_iter()
        .filter(|(_, v)| !v.is_empty())
        .map(|(k, v)| format!("{k} {v}"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// What a piece of evidence said: the trail tells its body.
fn evidence(ctx: &Ctx, content: &Value) -> Option<String> {
    let (kind, body) = content.as_array()?.iter().find_map(|t| {
        let mark = t.get("added").or_else(|| t.get("revised"))?.as_str()?;
        Some((Kind::of_mark(mark)?, t.get("body")?.as_object()?))
    })?;
    let (body, _) = store_evidence::read(kind, body.clone()).ok()?;
    Some(told::words(&body, &|_| None, &ctx.zone, ctx.now))
}

async fn person(conn: &mut Conn, entry: &audit::Told) -> Result<Option<String>, Fault> {
    let Some(id) = entry
        .content
        .get("person")
        .and_then(Value::as_str)
        .and_then(|id| id.parse().ok())
    else {
        return Ok(None);
    };
    Ok(people::find(conn, id)
        .await?
        .map(|p| format!("{}, {}", p.name, p.roles.words())))
}
