//! The stream of an order: it tells of what was kept, of nothing else, of what was missed, and does not keep the house from closing.
use super::{
    job::{kept, with_order},
    kit::Shop,
    money::INTAKE,
};
use axum::body::Body;
use chillwright::{store::audit, web::router};
use http_body_util::BodyExt;
use std::time::Duration;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    time::timeout,
};

/// What the stream says next; nothing where it is silent for a while, the end where it ends.
async fn hears(stream: &mut Body) -> Option<String> {
    match timeout(Duration::from_millis(1500), stream.frame()).await {
        Err(_) => None,
        Ok(None) => Some("the end".into()),
        Ok(Some(frame)) => Some(
            String::from_utf8(frame.expect("a frame").into_data().expect("data").to_vec())
                .expect("text"),
        ),
    }
}

async fn last(shop: &Shop, number: i64) -> i64 {
    let mut conn = shop.app.store.read().await.expect("a connection");
    let order = chillwright::store::orders::by_number(&mut conn, number)
        .await
        .expect("read")
        .expect("an order");
    audit::last_of(&mut conn, order.id).await.expect("a number")
}

#[tokio::test]
async fn a_deed_is_told_to_whoever_looks_at_its_order() {
    let mut shop = with_order().await;
    let page = shop.browser.get("/orders/412/bench/standing").await.body;
    let from = page
        .split("data-live-from=\"")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("an address")
        .to_owned();
    assert_eq!(
        from,
        format!("/orders/412/events?since={}", last(&shop, 412).await)
    );
    let mut stream = shop.browser.stream(&from).await;
    assert!(
        hears(&mut stream)
            .await
            .expect("a greeting")
            .contains("retry: 1000")
    );
    assert_eq!(hears(&mut stream).await, None, "nothing was kept yet");
    kept(
        &mut shop,
        "standing",
        "06:30",
        &[
            ("pressure", "70"),
            ("unit", "psi"),
            ("ambient", "21"),
            ("cold", "yes"),
        ],
    )
    .await;
    let seq = last(&shop, 412).await;
    let event = hears(&mut stream).await.expect("an event");
    assert!(
        event.contains("event: kept") && event.contains(&format!("id: {seq}\n")),
        "{event}"
    );
    // A form that was refused is no news, nor is another order.
    shop.browser
        .post("/orders/412/bench/standing", &[("pressure", "x")])
        .await;
    let mut other = INTAKE.to_vec();
    other[0].1 = "KD 42 TVL";
    assert_eq!(
        shop.browser.post("/intake", &other).await.location,
        "/orders/413"
    );
    assert_eq!(hears(&mut stream).await, None);
}

#[tokio::test]
async fn what_was_missed_is_told_at_once() {
    let mut shop = with_order().await;
    let before = last(&shop, 412).await;
    shop.browser
        .post(
            "/orders/412/notes",
            &[("says", "The keys hang at the desk.")],
        )
        .await;
    let mut stream = shop
        .browser
        .stream(&format!("/orders/412/events?since={before}"))
        .await;
    hears(&mut stream).await;
    assert!(
        hears(&mut stream)
            .await
            .is_some_and(|e| e.contains("event: kept"))
    );
    assert_eq!(hears(&mut stream).await, None, "once");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_open_stream_does_not_keep_the_server_from_stopping() {
    let shop = with_order().await;
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0")
        .await
        .expect("a port");
    let address = listener.local_addr().expect("an address");
    let (app, cookies) = (
        shop.app.clone(),
        shop.browser
            .cookies
            .iter()
            .map(|(k, v)| format!("{k}={v}"))
            .collect::<Vec<_>>()
            .join("; "),
    );
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let server = tokio::spawn(async move {
        let closing = app.clone();
        let signal = async move {
            stopped.await.expect("a signal");
            closing.close();
        };
        axum::serve(listener, router::router(app))
            .with_graceful_shutdown(signal)
            .await
            .expect("served")
    });
    let mut line = tokio::net::TcpStream::connect(address)
        .await
        .expect("a connection");
    line.write_all(
        format!("GET /orders/412/events HTTP/1.1\r\nhost: {address}\r\ncookie: {cookies}\r\n\r\n")
            .as_bytes(),
    )
    .await
    .expect("asked");
    let mut answer = [0; 2048];
    let n = line.read(&mut answer).await.expect("an answer");
    assert!(
        answer[..n].starts_with(b"HTTP/1.1 200"),
        "{}",
        String::from_utf8_lossy(&answer[..n])
    );
    assert!(!server.is_finished());
    stop.send(()).expect("told");
    timeout(Duration::from_secs(3), server)
        .await
        .expect("within three seconds")
        .expect("an end");
}
