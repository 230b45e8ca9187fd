//! The encrypted server, over real connections: what it lets through in the clear, its cookies, a new address while it serves.
use super::{
    authority::{client, way, ways},
    kit::{FIRST_START, MORNING, Shop},
};
use chillwright::{
    shop::Instant,
    tls::{self, News, Tls, Ways},
    web::router,
};
use std::{net::SocketAddr, sync::Arc};
use tokio::{
    io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt},
    net::TcpStream,
    sync::oneshot,
};
use tokio_rustls::{
    TlsConnector,
    rustls::{ClientConfig, pki_types::ServerName},
};

/// A shop served on a free port, at all loopback addresses.
struct Served {
    tls: Arc<Tls>,
    port: u16,
    stop: oneshot::Sender<()>,
    ended: tokio::task::JoinHandle<std::io::Result<()>>,
    now: Instant,
    _shop: Shop,
    _folder: tempfile::TempDir,
}

impl Served {
    async fn at(ways: Ways) -> Self {
        let shop = Shop::new().await;
        let folder = tempfile::tempdir().expect("a folder");
        let now = Instant::parse(MORNING).expect("a time");
        let (tls, _) = Tls::open(&folder.path().join("tls"), ways, now).expect("an authority");
        let tls = Arc::new(tls);
        let listener = std::net::TcpListener::bind("0.0.0.0:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let (stop, stopped) = oneshot::channel();
        let router = router::router(shop.app.clone().encrypted(tls.clone()));
        let ended = tokio::spawn(tls::serve(listener, tls.clone(), router, async {
            drop(stopped.await)
        }));
        Self {
            tls,
            port,
            stop,
            ended,
            now,
            _shop: shop,
            _folder: folder,
        }
    }

    async fn line(&self, address: &str) -> TcpStream {
        TcpStream::connect(SocketAddr::new(
            address.parse().expect("an address"),
            self.port,
        ))
        .await
        .expect("a connection")
    }

    /// Asks in the clear.
    async fn plain(&self, request: &str) -> String {
        ask(self.line("127.0.0.1").await, request).await
    }

    /// Asks encrypted, or says why the client went.
    async fn encrypted(
        &self,
        client: &Arc<ClientConfig>,
        address: &str,
        name: &str,
        request: &str,
    ) -> Result<String, String> {
        let name = ServerName::try_from(name.to_owned()).expect("a server name");
        let line = TlsConnector::from(client.clone())
            .connect(name, self.line(address).await)
            .await
            .map_err(|e| e.to_string())?;
        Ok(ask(line, request).await)
    }
}

async fn ask(mut line: impl AsyncRead + AsyncWrite + Unpin, request: &str) -> String {
    line.write_all(request.as_bytes()).await.expect("asked");
    let mut answer = Vec::new();
    let _ = line.read_to_end(&mut answer).await;
    String::from_utf8_lossy(&answer).into_owned()
}

fn get(path: &str, host: &str) -> String {
    format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")
}

fn post(path: &str, host: &str, fields: &[(&str, &str)]) -> String {
    let body = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(fields)
        .finish();
    format!(
        "POST {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nSec-Fetch-Site: same-origin\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn in_the_clear_there_is_only_what_a_device_needs_to_trust() {
    let house = Served::at(ways(&["shop.test", "127.0.0.1"])).await;
    let authority = house.tls.to_trust(None).expect("an authority");
    let page = house.plain(&get("/trust", "shop.test:8470")).await;
    let groups: Vec<_> = authority
        .fingerprint()
        .as_bytes()
        .chunks(24)
        .map(|g| String::from_utf8_lossy(g).trim_end_matches(':').to_owned())
        .collect();
    assert_eq!(groups.len(), 4);
    assert!(
        page.starts_with("HTTP/1.1 200") && groups.iter().all(|g| page.contains(g.as_str())),
        "{page}"
    );
    assert!(
        page.contains("https://shop.test:8470/") && page.contains("<li>127.0.0.1</li>"),
        "{page}"
    );
    assert!(
        house
            .plain(&get("/static/app.css", "shop.test"))
            .await
            .starts_with("HTTP/1.1 200")
    );

    let mut line = house.line("127.0.0.1").await;
    line.write_all(get("/trust/authority.crt", "shop.test").as_bytes())
        .await
        .expect("asked");
    let mut answer = Vec::new();
    line.read_to_end(&mut answer).await.expect("an answer");
    assert!(
        answer.ends_with(authority.der())
            && String::from_utf8_lossy(&answer).contains("application/x-x509-ca-cert")
    );

    for path in ["/", "/start", "/sign-in?back=%2F", "/trustworthy"] {
        let answer = house.plain(&get(path, "shop.test:8470")).await;
        assert!(
            answer.starts_with("HTTP/1.1 307")
                && answer.contains(&format!("location: https://shop.test:8470{path}\r\n")),
            "{answer}"
        );
    }
    let at_80 = house.plain(&get("/x", "shop.test")).await;
    assert!(
        at_80.contains(&format!("location: https://shop.test:{}/x\r\n", house.port)),
        "{at_80}"
    );
    assert!(
        house
            .plain(&post("/start", "shop.test", &FIRST_START))
            .await
            .starts_with("HTTP/1.1 403")
    );
    assert!(
        house
            .plain(&get("/x", "a b"))
            .await
            .starts_with("HTTP/1.1 400")
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn encrypted_cookies_stay_encrypted_and_nothing_locks_a_device_out() {
    let house = Served::at(ways(&["shop.test"])).await;
    let trusting = client(
        &[house.tls.to_trust(None).expect("an authority").der()],
        house.now,
    );
    let begun = house
        .encrypted(
            &trusting,
            "127.0.0.1",
            "shop.test",
            &post("/start", "shop.test", &FIRST_START),
        )
        .await
        .expect("trusted");
    let cookies: Vec<_> = begun
        .lines()
        .filter(|l| l.starts_with("set-cookie"))
        .collect();
    assert_eq!(cookies.len(), 2, "{begun}");
    assert!(
        cookies.iter().all(|c| c.contains("HttpOnly")
            && c.contains("SameSite=Lax")
            && c.ends_with("; Secure")),
        "{cookies:?}"
    );
    assert!(!begun.to_lowercase().contains("strict-transport-security"));
    let page = house
        .encrypted(
            &trusting,
            "127.0.0.1",
            "shop.test",
            &get("/trust", "shop.test"),
        )
        .await
        .expect("trusted");
    assert!(
        page.contains("This page is encrypted") && page.contains("The connection is encrypted"),
        "{page}"
    );
    let nobody = client(&[], house.now);
    assert!(
        house
            .encrypted(&nobody, "127.0.0.1", "shop.test", &get("/", "shop.test"))
            .await
            .is_err_and(|why| why.contains("UnknownIssuer"))
    );
}

#[tokio::test]
async fn without_encryption_the_pages_say_so_and_cookies_are_as_before() {
    let mut shop = Shop::new().await;
    let body = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(FIRST_START)
        .finish();
    let request = axum::http::Request::post("/start")
        .header("content-type", "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "same-origin");
    let begun = tower::ServiceExt::oneshot(
        router::router(shop.app.clone()),
        request
            .body(axum::body::Body::from(body))
            .expect("a request"),
    )
    .await
    .expect("an answer");
    let cookies: Vec<_> = begun
        .headers()
        .get_all("set-cookie")
        .iter()
        .map(|c| c.to_str().expect("text").to_owned())
        .collect();
    assert!(
        cookies.len() == 2 && cookies.iter().all(|c| !c.contains("Secure")),
        "{cookies:?}"
    );
    let page = shop.browser.get("/trust").await;
    assert!(
        page.body.contains("The connection is not encrypted") && !page.body.contains("fingerprint"),
        "{}",
        page.body
    );
    assert_eq!(shop.browser.get("/trust/authority.crt").await.status, 404);
    assert!(
        shop.browser
            .get("/device")
            .await
            .body
            .contains("The connection is not encrypted")
    );
    let mut shop = Shop::begun().await;
    assert!(
        shop.browser
            .get("/sign-in")
            .await
            .body
            .contains("The connection is not encrypted")
    );
    assert!(
        shop.browser
            .get("/shop")
            .await
            .body
            .contains("href=\"/trust\"")
    );
}

/// The server goes on; a connection that begins after the change gets the new certificate.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_new_address_gets_a_certificate_while_the_server_runs() {
    let house = Served::at(ways(&["shop.test", "127.0.0.1"])).await;
    let first = house.tls.to_trust(None).expect("an authority");
    let old = client(&[first.der()], house.now);
    let request = get("/trust", "shop.test");
    assert!(
        house
            .encrypted(&old, "127.0.0.1", "127.0.0.1", &request)
            .await
            .is_ok()
    );
    assert!(
        house
            .encrypted(&old, "127.0.0.2", "127.0.0.2", &request)
            .await
            .is_err_and(|why| why.contains("not valid for name"))
    );

    let news = house
        .tls
        .refresh(ways(&["shop.test", "127.0.0.1", "127.0.0.2"]), house.now)
        .expect("looked after");
    assert!(matches!(&news[..], [News::MustTrust { .. }]), "{news:?}");
    let second = house
        .tls
        .to_trust(Some(&way("127.0.0.2")))
        .expect("an authority");
    let new = client(&[second.der()], house.now);
    assert!(
        house
            .encrypted(&new, "127.0.0.2", "127.0.0.2", &request)
            .await
            .is_ok()
    );
    // Who trusts the first goes on, by name at whichever address, and by the old address.
    for (address, name) in [
        ("127.0.0.1", "shop.test"),
        ("127.0.0.2", "shop.test"),
        ("127.0.0.1", "127.0.0.1"),
    ] {
        assert!(
            house.encrypted(&old, address, name, &request).await.is_ok(),
            "{name} at {address}"
        );
    }
    assert!(
        house
            .encrypted(&old, "127.0.0.2", "127.0.0.2", &request)
            .await
            .is_err()
    );
    // The page at the new address tells of the authority made for it, and of the other.
    let page = house.plain(&get("/trust", "127.0.0.2:8470")).await;
    assert!(
        page.contains(&second.fingerprint()[..23]) && page.contains("http://shop.test:8470/trust"),
        "{page}"
    );

    // A connection that another machine passes on is served for the address that was given.
    let given = Ways {
        given: vec![way("192.168.7.5")],
        own: ways(&["shop.test", "127.0.0.1"]).own,
    };
    house.tls.refresh(given, house.now).expect("looked after");
    let third = house
        .tls
        .to_trust(Some(&way("192.168.7.5")))
        .expect("an authority");
    let passed_on = client(&[third.der()], house.now);
    assert!(
        house
            .encrypted(&passed_on, "127.0.0.1", "192.168.7.5", &request)
            .await
            .is_ok()
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_server_stops_within_three_seconds_whoever_holds_on() {
    let house = Served::at(ways(&["shop.test"])).await;
    let trusting = client(
        &[house.tls.to_trust(None).expect("an authority").der()],
        house.now,
    );
    let mut held = TlsConnector::from(trusting)
        .connect(
            ServerName::try_from("shop.test").expect("a name"),
            house.line("127.0.0.1").await,
        )
        .await
        .expect("trusted");
    held.write_all(
        b"POST /start HTTP/1.1\r\nHost: shop.test\r\nContent-Length: 100\r\n\r\nhalf a form",
    )
    .await
    .expect("begun");
    let _silent = house.line("127.0.0.1").await;
    tokio::time::sleep(std::time::Duration::from_millis(200)).await;
    house.stop.send(()).expect("stopped");
    let ended = tokio::time::timeout(std::time::Duration::from_secs(3), house.ended).await;
    assert!(matches!(ended, Ok(Ok(Ok(())))), "{ended:?}");
}

/// In HTTP/2 there is no `Host`: what was typed before a session ended still finds its way back to its page.
#[tokio::test]
async fn without_a_host_the_authority_of_the_request_counts() {
    let mut shop = Shop::begun().await;
    shop.minutes_pass(13 * 60);
    let request = axum::http::Request::post("https://shop.test:8470/shop/devices")
        .header("content-type", "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "same-origin")
        .header("referer", "https://shop.test:8470/shop/devices");
    let gone = shop
        .browser
        .send(request, axum::body::Body::from("name=bench+7"))
        .await;
    assert!(
        gone.body.contains("What you typed is stored")
            && gone.body.contains("value=\"/shop/devices?typed="),
        "{}",
        gone.body
    );
}
