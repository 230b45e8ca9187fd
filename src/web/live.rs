//! What one tablet enters appears on the others: a stream of server-sent events for each order. An event says only that something was kept; the page
//! fetches itself again and looks for what has changed.
use super::{
    App, Ctx, Fault,
    access::Access,
    route::{Route, get},
};
use crate::{shop::OrderId, store::audit};
use axum::{
    extract::{Path, Query},
    http::HeaderMap,
    response::sse::{Event, KeepAlive, Sse},
};
use futures_util::{Stream, stream};
use std::{collections::HashMap, convert::Infallible, time::Duration};
use tokio::sync::broadcast::{Receiver, error::RecvError};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/orders/{number}/events", Access::STAFF, events)]
}

/// One browser that listens.
struct Listener {
    app: App,
    order: OrderId,
    news: Receiver<OrderId>,
    /// The last deed that it knows of.
    told: i64,
    greeted: bool,
}

/// `since` is the last deed that the page shows: what was kept between its making and this request is told at once. A browser that lost the
/// connection asks again with the last event's id.
async fn events(
    ctx: Ctx,
    Path(number): Path<i64>,
    Query(query): Query<HashMap<String, String>>,
    headers: HeaderMap,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Fault> {
    let order = ctx.order(number).await?.id;
    let last = headers
        .get("last-event-id")
        .and_then(|v| v.to_str().ok())
        .map(str::to_owned);
    let since = last
        .or_else(|| query.get("since").cloned())
        .and_then(|s| s.parse().ok());
    let news = ctx.app.store.listen();
    let told = match since {
        Some(seq) => seq,
        None => latest(&ctx.app, order).await?,
    };
    let listener = Listener {
        app: ctx.app,
        order,
        news,
        told,
        greeted: false,
    };
    Ok(Sse::new(stream::unfold(listener, next)).keep_alive(KeepAlive::default()))
}

async fn latest(app: &App, order: OrderId) -> Result<i64, Fault> {
    let mut conn = app.store.read().await?;
    Ok(audit::last_of(&mut conn, order).await?)
}

/// The next event. The stream ends when the house closes, or when the store fails: the browser then asks again.
async fn next(mut listener: Listener) -> Option<(Result<Event, Infallible>, Listener)> {
    if !listener.greeted {
        listener.greeted = true;
        return Some((
            Ok(Event::default()
                .retry(Duration::from_secs(1))
                .comment("listening")),
            listener,
        ));
    }
    loop {
        let seq = latest(&listener.app, listener.order).await.ok()?;
        if seq > listener.told {
            listener.told = seq;
            return Some((
                Ok(Event::default()
                    .event("kept")
                    .id(seq.to_string())
                    .data(seq.to_string())),
                listener,
            ));
        }
        tokio::select! {
            () = listener.app.closing() => return None,
            () = concerning(&mut listener.news, listener.order) => {}
        }
    }
}

/// Waits until something was kept of this order; whoever was too slow to hear of it looks for himself.
async fn concerning(news: &mut Receiver<OrderId>, order: OrderId) {
    loop {
        match news.recv().await {
            Ok(other) if other != order => {}
            Ok(_) | Err(RecvError::Lagged(_)) => return,
            // The store sends as long as the house stands.
            Err(RecvError::Closed) => std::future::pending().await,
        }
    }
}
