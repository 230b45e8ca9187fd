//! Serving the shop, or an invented one: the doors, what the terminal says, and the end.
use super::{files_beside, runtime};
use crate::clock;
use anyhow::{Context, bail};
use chillwright::{
    store::Store,
    tls::{self, News, Tls, Way, Ways},
    web::{App, router},
    work::codes::{self, Codes},
};
use std::{net::SocketAddr, path::Path, sync::Arc};

/// Serves the shop; encrypted where names are given, be they none.
pub fn serve(listen: SocketAddr, file: &Path, names: Option<Vec<Way>>) -> anyhow::Result<()> {
    tracing_subscriber::fmt()
        .with_env_filter(
            tracing_subscriber::EnvFilter::try_from_default_env().unwrap_or_else(|_| "warn".into()),
        )
        .init();
    runtime()?.block_on(async {
        let store = Store::open(file)
            .await
            .with_context(|| format!("{} could not be opened", file.display()))?;
        chillwright::work::photographs::sweep(&store, &files_beside(file)).await?;
        chillwright::work::assess::with_new_rules(&store, clock()).await?;
        let begun = chillwright::store::shop::get(&mut *store.read().await?)
            .await?
            .is_some();
        let start_code = (!begun).then(codes::one_time);
        let app = App::new(
            store.clone(),
            Codes::strong(),
            files_beside(file),
            start_code.clone(),
            clock,
        );
        let listener = std::net::TcpListener::bind(listen)
            .with_context(|| format!("cannot listen on {listen}"))?;
        let address = listener.local_addr()?;
        match names {
            Some(names) => {
                let (tls, _) = Tls::open(
                    &file.with_extension("tls"),
                    Ways::of_this_machine(&names)?,
                    clock(),
                )?;
                let tls = Arc::new(tls);
                greet_encrypted(file, &tls, address, start_code.as_deref());
                tokio::spawn(keep_certificates(tls.clone(), names, address.port()));
                tls::serve(
                    listener,
                    tls.clone(),
                    router::router(app.clone().encrypted(tls)),
                    stopped(app),
                )
                .await?;
            }
            None => {
                greet(file, address, start_code.as_deref());
                listener.set_nonblocking(true)?;
                let listener = tokio::net::TcpListener::from_std(listener)?;
                axum::serve(listener, router::router(app.clone()))
                    .with_graceful_shutdown(stopped(app))
                    .await?;
            }
        }
        store.close().await;
        Ok(())
    })
}

fn greet(file: &Path, address: SocketAddr, start_code: Option<&str>) {
    println!("Chillwright serves {} at http://{address}", file.display());
    if let Some(code) = start_code {
        println!(
            "This shop is not set up yet. Open http://{address}/start and enter this code: {code}"
        );
    }
    if !address.ip().is_loopback() {
        println!(
            "Tablets can connect. Codes are sent unencrypted: only let people on this network whom you would let into the workshop."
        );
    }
}

fn greet_encrypted(file: &Path, tls: &Tls, address: SocketAddr, start_code: Option<&str>) {
    println!("Chillwright serves {}, encrypted", file.display());
    let told = tls.ways().told();
    for (authority, ways) in tls.in_use() {
        let ways: Vec<_> = told
            .iter()
            .filter(|w| ways.contains(w) && is_served(w, address))
            .collect();
        must_trust(&authority.fingerprint(), &ways, address.port());
    }
    if let Some(code) = start_code {
        println!(
            "This shop is not set up yet. Open one of these addresses followed by /start and enter this code: {code}"
        );
    }
}

/// Whether a browser that asks for this way in reaches the address that is listened on.
fn is_served(way: &Way, listening: SocketAddr) -> bool {
    match way {
        Way::Address(address) => listening.ip().is_unspecified() || listening.ip() == *address,
        Way::Name(_) => true,
    }
}

fn must_trust(fingerprint: &str, ways: &[&Way], port: u16) {
    let Some(first) = ways.first() else { return };
    ways.iter()
        .for_each(|way| println!("  https://{way}:{port}"));
    println!(
        "Each device must trust the certificate authority once: open http://{first}:{port}/trust on it and compare the fingerprint with"
    );
    println!("  SHA-256 {fingerprint}");
}

/// Once a minute: a certificate that is about to end, or that lacks a name or an address that this machine has now, is made anew.
async fn keep_certificates(tls: Arc<Tls>, names: Vec<Way>, port: u16) {
    let mut minutes = tokio::time::interval(std::time::Duration::from_secs(60));
    let mut said = String::new();
    loop {
        minutes.tick().await;
        let done = Ways::of_this_machine(&names)
            .map_err(anyhow::Error::from)
            .and_then(|ways| Ok(tls.refresh(ways, clock())?));
        match done {
            Ok(news) => news.iter().for_each(|news| tell(news, port)),
            // The same trouble every minute is told once.
            Err(e) if said == e.to_string() => {}
            Err(e) => {
                eprintln!("chillwright: certificates could not be renewed: {e:#}");
                said = e.to_string();
            }
        }
    }
}

fn tell(news: &News, port: u16) {
    match news {
        News::MustTrust { fingerprint, ways } => {
            println!(
                "This server has new addresses that its certificate authority does not cover. A device that uses one of them must also trust a new authority:"
            );
            must_trust(fingerprint, &ways.iter().collect::<Vec<_>>(), port);
        }
        News::Renewed(ways) => {
            println!(
                "The certificate was renewed for {}. Nothing to do.",
                ways.iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
                    .join(", ")
            );
        }
    }
}

pub fn demo(listen: SocketAddr, file: &Path, fresh: bool) -> anyhow::Result<()> {
    if fresh {
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", file.display()));
        }
    }
    if file.exists() {
        bail!(
            "{} already exists; use --fresh to replace it",
            file.display()
        );
    }
    let printed = runtime()?.block_on(async {
        let store = Store::open(file).await?;
        let printed =
            chillwright::demo::make(&store, &Codes::strong(), &files_beside(file), clock()).await?;
        store.close().await;
        anyhow::Ok(printed)
    })?;
    println!(
        "Demo shop with invented data. Register this device with the code {}, then sign in:",
        printed.admission
    );
    for person in printed.people {
        println!("  {}, {}: {}", person.name, person.roles, person.code);
    }
    serve(listen, file, None)
}

/// Waits for the end, and ends the streams that would hold it up.
async fn stopped(app: App) {
    stop().await;
    app.close();
}

async fn stop() {
    let interrupt = tokio::signal::ctrl_c();
    match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
        Ok(mut terminate) => {
            tokio::select! { _ = interrupt => {}, _ = terminate.recv() => {} }
        }
        Err(_) => drop(interrupt.await),
    }
    // Connections that stay open must not keep the shop from closing.
    tokio::spawn(async {
        tokio::time::sleep(std::time::Duration::from_secs(3)).await;
        std::process::exit(0);
    });
}
