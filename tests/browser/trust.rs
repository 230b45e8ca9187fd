//! A tablet comes to trust the server: the program itself, under a name that leads to this machine, in profiles that do and do not know its authority.
use super::{away::said, begin::begin_with, support::Browser};
use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::Path,
    process::{Child, Command, Stdio},
};

/// The program, serving; ended when dropped.
struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The server, its port, the fingerprint and the code that it printed.
fn serve(folder: &Path) -> (Program, u16, String, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_chillwright"))
        .args([
            "serve",
            "--listen",
            "127.0.0.1:0",
            "--tls",
            "auto",
            "--name",
            "shop.test",
        ])
        .current_dir(folder)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut printed = BufReader::new(child.stdout.take().expect("its output")).lines();
    let mut said = || printed.next().expect("more").expect("text");
    let port = loop {
        if let Some((_, port)) = said().rsplit_once("https://shop.test:") {
            break port.parse().expect("a port");
        }
    };
    let fingerprint = loop {
        if let Some((_, fingerprint)) = said().split_once("SHA-256 ") {
            break fingerprint.to_owned();
        }
    };
    let code = loop {
        if let Some((_, code)) = said().split_once("enter this code: ") {
            break code.to_owned();
        }
    };
    std::thread::spawn(move || printed.for_each(drop));
    (Program(child), port, fingerprint, code)
}

/// The same server once more, on the same file, authority and port.
fn serve_again(folder: &Path, port: u16) -> Program {
    let mut child = Command::new(env!("CARGO_BIN_EXE_chillwright"))
        .args([
            "serve",
            "--listen",
            &format!("127.0.0.1:{port}"),
            "--tls",
            "auto",
            "--name",
            "shop.test",
        ])
        .current_dir(folder)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut printed = BufReader::new(child.stdout.take().expect("its output")).lines();
    assert!(
        printed.any(|line| line.expect("text").contains("https://shop.test:")),
        "it serves"
    );
    std::thread::spawn(move || printed.for_each(drop));
    Program(child)
}

/// What a tablet fetches: the authority's certificate, in the clear.
fn certificate(port: u16) -> Vec<u8> {
    let mut line = TcpStream::connect(("127.0.0.1", port)).expect("a connection");
    line.write_all(
        b"GET /trust/authority.crt HTTP/1.1\r\nHost: shop.test\r\nConnection: close\r\n\r\n",
    )
    .expect("asked");
    let mut answer = Vec::new();
    line.read_to_end(&mut answer).expect("an answer");
    let head = answer
        .windows(4)
        .position(|w| w == b"\r\n\r\n")
        .expect("a head");
    answer.split_off(head + 4)
}

/// Puts an authority among those that Chromium trusts for web sites, in a home of its own.
fn trust(home: &Path, certificate: &[u8]) {
    let store = home.join(".pki/nssdb");
    std::fs::create_dir_all(&store).expect("a folder");
    let file = home.join("authority.crt");
    std::fs::write(&file, certificate).expect("written");
    let store = format!("sql:{}", store.display());
    let file = file.display().to_string();
    for arguments in [
        &["-N", "--empty-password"][..],
        &["-A", "-n", "workshop", "-t", "C,,", "-i", &file],
    ] {
        let done = Command::new("certutil")
            .args(["-d", &store])
            .args(arguments)
            .output()
            .expect("certutil; tests/run installs it");
        assert!(
            done.status.success(),
            "{arguments:?}: {}",
            String::from_utf8_lossy(&done.stderr)
        );
    }
}

/// A fresh profile; the name leads to this machine, and nothing else is different from how a browser comes.
async fn browser(home: &Path, port: u16) -> Browser {
    Browser::open_at(
        &format!("https://shop.test:{port}"),
        820,
        1180,
        Some(home),
        &["--host-resolver-rules=MAP shop.test 127.0.0.1, MAP other.test 127.0.0.1"],
    )
    .await
}

/// The reason on Chromium's page of warning, where it shows that in the page's place.
async fn warned(browser: &Browser) -> Option<String> {
    if browser.driver.title().await.expect("a title") != "Privacy error" {
        return None;
    }
    let source = browser.driver.source().await.expect("a page");
    source.find("ERR_CERT_").map(|at| {
        source[at..]
            .chars()
            .take_while(|c| c.is_ascii_uppercase() || *c == '_')
            .collect()
    })
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_tablet_that_knows_the_authority_comes_in_and_one_that_does_not_stays_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_program, port, fingerprint, code) = serve(folder.path());
    let homes = [
        tempfile::tempdir().expect("a folder"),
        tempfile::tempdir().expect("a folder"),
    ];
    trust(homes[1].path(), &certificate(port));

    let stranger = browser(homes[0].path(), port).await;
    stranger.go("/start").await;
    assert_eq!(
        warned(&stranger).await.as_deref(),
        Some("ERR_CERT_AUTHORITY_INVALID"),
        "{}",
        stranger.text().await
    );
    assert!(!stranger.text().await.contains("Set up the shop"));
    stranger
        .driver
        .goto(format!("http://shop.test:{port}/trust"))
        .await
        .expect("the page in the clear");
    let page = stranger.text().await;
    assert!(
        fingerprint
            .as_bytes()
            .chunks(24)
            .all(|g| page.contains(String::from_utf8_lossy(g).trim_end_matches(':'))),
        "{fingerprint}: {page}"
    );
    assert!(
        page.contains("Only this page is sent unencrypted"),
        "{page}"
    );
    assert_eq!(stranger.axe().await, Vec::<String>::new());
    stranger.picture("trust").await;
    let secure = |b: &Browser| {
        let driver = b.driver.clone();
        async move {
            driver
                .execute(
                    "return window.isSecureContext && 'serviceWorker' in navigator",
                    vec![],
                )
                .await
                .expect("an answer")
                .json()
                .as_bool()
        }
    };
    assert_eq!(secure(&stranger).await, Some(false));
    stranger.close().await;

    let tablet = browser(homes[1].path(), port).await;
    tablet.go("/start").await;
    assert!(
        tablet.text().await.contains("Set up the shop"),
        "{}",
        tablet.text().await
    );
    assert_eq!(
        secure(&tablet).await,
        Some(true),
        "what working without the network needs is there"
    );
    // A bookmark from before it was encrypted leads on.
    tablet
        .driver
        .goto(format!("http://shop.test:{port}/start"))
        .await
        .expect("led on");
    assert_eq!(
        tablet
            .driver
            .current_url()
            .await
            .expect("an address")
            .scheme(),
        "https"
    );
    tablet.go("/trust").await;
    assert!(
        tablet.text().await.contains("This page is encrypted"),
        "{}",
        tablet.text().await
    );
    assert_eq!(tablet.axe().await, Vec::<String>::new());
    // Forms and cookies go the encrypted way: the shop begins, and whoever began it is signed in.
    begin_with(&tablet, &code).await;
    let protocol = tablet
        .driver
        .execute(
            "return performance.getEntriesByType('navigation')[0].nextHopProtocol",
            vec![],
        )
        .await
        .expect("an answer")
        .json()
        .clone();
    assert_eq!(protocol, "h2");
    let cookies = tablet.driver.get_all_cookies().await.expect("cookies");
    assert!(
        cookies.len() == 2 && cookies.iter().all(|c| c.secure == Some(true)),
        "{cookies:?}"
    );
    tablet.go("/shop/devices").await;
    tablet
        .fill("form[action='/shop/devices']", "name", "bench 2")
        .await;
    tablet.send("form[action='/shop/devices']").await;
    assert!(
        tablet.text().await.contains("for one device"),
        "{}",
        tablet.text().await
    );
    // Another name for the same machine is not this server.
    tablet
        .driver
        .goto(format!("https://other.test:{port}/start"))
        .await
        .expect("a page");
    assert_eq!(
        warned(&tablet).await.as_deref(),
        Some("ERR_CERT_COMMON_NAME_INVALID"),
        "{}",
        tablet.text().await
    );
    tablet.close().await;
}

/// Answers one request. Chromium opens lines ahead that it may never use: each is served by itself, and what asks nothing is told nothing.
async fn answer_once(acceptor: tokio_rustls::TlsAcceptor, line: tokio::net::TcpStream) {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    let Ok(mut line) = acceptor.accept(line).await else {
        return;
    };
    let (mut asked, mut part) = (Vec::<u8>::new(), [0_u8; 4096]);
    while !asked.windows(4).any(|w| w == b"\r\n\r\n") {
        match line.read(&mut part).await {
            Ok(n) if n > 0 => asked.extend(&part[..n]),
            _ => return,
        }
    }
    let _ = line.write_all(b"HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: 2\r\nConnection: close\r\n\r\nin").await;
    let _ = line.shutdown().await;
}

/// With the authority's own key a certificate for another name is made and served: the tablet that trusts the authority refuses it all the same.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_authority_binds_chromium_too() {
    use chillwright::tls::{Authority, Way};
    let folder = tempfile::tempdir().expect("a folder");
    #[expect(
        clippy::disallowed_methods,
        reason = "Chromium goes by the machine's clock"
    )]
    let now = chillwright::shop::Instant(jiff::Timestamp::now().as_millisecond());
    let set = |name: &str| std::collections::BTreeSet::from([Way::parse(name).expect("a name")]);
    let authority = Authority::make(&folder.path().join("authority.pem"), &set("shop.test"), now)
        .expect("an authority");
    trust(folder.path(), authority.der());
    for (name, why) in [
        ("shop.test", None),
        ("other.test", Some("ERR_CERT_INVALID")),
    ] {
        let mut config = (*authority
            .issue(&set(name), now)
            .expect("a certificate")
            .config)
            .clone();
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        let acceptor = tokio_rustls::TlsAcceptor::from(std::sync::Arc::new(config));
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0")
            .await
            .expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let answering = tokio::spawn(async move {
            while let Ok((line, _)) = listener.accept().await {
                tokio::spawn(answer_once(acceptor.clone(), line));
            }
        });
        let tablet = browser(folder.path(), port).await;
        tablet
            .driver
            .goto(format!("https://{name}:{port}/"))
            .await
            .expect("a page");
        let (warned, text) = (warned(&tablet).await, tablet.text().await);
        assert_eq!(
            (warned.as_deref(), text == "in"),
            (why, why.is_none()),
            "{name}: {text}"
        );
        tablet.close().await;
        answering.abort();
    }
}

/// The readings of order 412 in the server's file, oldest first.
async fn readings(store: &chillwright::store::Store) -> Vec<String> {
    use chillwright::store::{evidence, orders};
    let mut conn = store.read().await.expect("a connection");
    let Some(order) = orders::by_number(&mut conn, 412).await.expect("read") else {
        return Vec::new();
    };
    let mut pieces = evidence::of_order(&mut conn, order.id)
        .await
        .expect("pieces");
    pieces.retain(|p| p.kind() == evidence::Kind::Reading);
    pieces.sort_by_key(|p| p.at);
    pieces
        .iter()
        .map(|p| {
            said(p, "pressure")
                .trim_end_matches(" inHg vacuum")
                .to_owned()
        })
        .collect()
}

/// Encrypted, by an authority that the tablet trusts and no flag that ignores errors: the bench goes on while the server is dead, and when the server is
/// killed once more while it takes in what waited, nothing is lost and nothing is doubled.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_killed_while_it_takes_in_what_waited_loses_nothing() {
    use super::{away::says_kept, scenario::barometer_and_intake};
    use std::time::Duration;
    let folder = tempfile::tempdir().expect("a folder");
    let (program, port, _, code) = serve(folder.path());
    let home = tempfile::tempdir().expect("a folder");
    trust(home.path(), &certificate(port));
    let tablet = browser(home.path(), port).await;
    begin_with(&tablet, &code).await;
    tablet.go("/shop/barometer").await;
    barometer_and_intake(&tablet).await;
    tablet.go("/orders/412/bench/hold").await;
    let form = "form[action='/orders/412/bench/hold'][method=post]";
    tablet.tap(form, "kind", "vacuum").await;
    tablet.tap(form, "gauge", "G-2").await;
    tablet.send(form).await;
    let hold = tablet.path().await;
    says_kept(&tablet).await;
    drop(program);

    tablet.go(&hold).await;
    let typed: Vec<String> = (0..30)
        .map(|n| format!("{}", 28.0 - f64::from(n) * 0.1))
        .collect();
    for number in &typed {
        tablet.fill("form#read", "reading", number).await;
        tablet.send("form#read").await;
    }
    assert!(
        tablet
            .one("#here")
            .await
            .text()
            .await
            .expect("text")
            .starts_with("30 entries are waiting on this tablet"),
        "{}",
        tablet.text().await
    );
    let store = chillwright::store::Store::look(&folder.path().join("chillwright.db"))
        .await
        .expect("the file");
    assert_eq!(readings(&store).await.len(), 0);
    let program = serve_again(folder.path(), port);
    let mut arrived = 0;
    for _ in 0..8_000 {
        arrived = readings(&store).await.len();
        if arrived >= 2 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    drop(program);
    let at_the_kill = readings(&store).await.len();
    println!("killed when {arrived} to {at_the_kill} of 30 had arrived");
    assert!(
        (2..30).contains(&at_the_kill),
        "killed while it took them in: {at_the_kill}"
    );
    let _program = serve_again(folder.path(), port);
    says_kept(&tablet).await;
    assert_eq!(readings(&store).await, typed);
    store.close().await;
    tablet.close().await;
}
