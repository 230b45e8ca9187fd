//! The command line; nothing else. The clock is read here and handed down.
use anyhow::{Context, bail};
use chillwright::{
    shop::Instant,
    store::Store,
    tls::{self, News, Tls, Way, Ways},
    web::{App, router},
    work::codes::{self, Codes},
};
use clap::{Parser, Subcommand, ValueEnum};
use std::{
    io::{Read, Write},
    net::SocketAddr,
    path::{Path, PathBuf},
    process::ExitCode,
    sync::Arc,
};

#[derive(Parser)]
#[command(
    name = "chillwright",
    version,
    about = "Job tracking for garages that repair car air conditioning"
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Serve the shop's pages
    Serve {
        /// Address to listen on; use 0.0.0.0:8470 so that tablets can connect
        #[arg(long, default_value = "127.0.0.1:8470")]
        listen: SocketAddr,
        /// The shop's file
        #[arg(long, default_value = "chillwright.db")]
        file: PathBuf,
        /// Encrypted, with a certificate authority of its own in a folder beside the file
        #[arg(long, value_enum)]
        tls: Option<TlsMode>,
        /// A fixed name (or address) that tablets reach this server by; may be given several times
        #[arg(long, value_name = "HOST", requires = "tls", value_parser = way)]
        name: Vec<Way>,
    },
    /// Serve a demo shop with invented data, in a file of its own
    Demo {
        /// Address to listen on
        #[arg(long, default_value = "127.0.0.1:8470")]
        listen: SocketAddr,
        /// The file; it must not exist yet
        #[arg(long, default_value = "chillwright-demo.db")]
        file: PathBuf,
        /// Replace the file if it already exists
        #[arg(long)]
        fresh: bool,
    },
    /// Assess a job record from a file, or from standard input with -
    Assess {
        /// The record; - is standard input
        record: PathBuf,
        /// Units of the sentences
        #[arg(long, value_enum, default_value_t = Units::Si)]
        units: Units,
        /// Print the figures with their steps, units and sources as plain text
        #[arg(long)]
        explain: bool,
    },
    /// List every rule: its weight, limits, reason and source
    Rules {
        /// As JSON
        #[arg(long)]
        json: bool,
        /// Units of the limits in the reasons
        #[arg(long, value_enum, default_value_t = Units::Si)]
        units: Units,
    },
    /// Print the JSON Schema of the job record and of the answer
    Schema,
    /// Make a verified copy of the shop, also while it is being served
    Backup {
        /// Folder in which a folder for the copy is made
        folder: PathBuf,
        /// The shop's file
        #[arg(long, default_value = "chillwright.db")]
        file: PathBuf,
    },
    /// Restore a copy; never over an existing file
    Restore {
        /// The copy's folder
        folder: PathBuf,
        /// The shop's file
        #[arg(long, default_value = "chillwright.db")]
        file: PathBuf,
    },
    /// Verify the audit trail
    Audit {
        /// The shop's file
        #[arg(long, default_value = "chillwright.db")]
        file: PathBuf,
    },
    /// List the people, or read a new code for one of them from standard input
    Person {
        /// Whose code; without it all are listed
        name: Option<String>,
        /// The shop's file
        #[arg(long, default_value = "chillwright.db")]
        file: PathBuf,
    },
}

impl Command {
    /// As it is typed.
    fn word(&self) -> &'static str {
        match self {
            Self::Serve { .. } => "serve",
            Self::Demo { .. } => "demo",
            Self::Assess { .. } => "assess",
            Self::Rules { .. } => "rules",
            Self::Schema => "schema",
            Self::Backup { .. } => "backup",
            Self::Restore { .. } => "restore",
            Self::Audit { .. } => "audit",
            Self::Person { .. } => "person",
        }
    }
}

/// Entries of the audit trail, counted.
fn entries_told(n: i64) -> String {
    if n == 1 {
        "1 audit entry".to_owned()
    } else {
        format!("{n} audit entries")
    }
}

#[derive(Clone, Copy, ValueEnum)]
enum Units {
    Si,
    Us,
}

impl From<Units> for chillwright_calc::UnitSystem {
    fn from(units: Units) -> Self {
        match units {
            Units::Si => Self::Si,
            Units::Us => Self::Us,
        }
    }
}

#[derive(Clone, Copy, ValueEnum)]
enum TlsMode {
    Auto,
}

fn way(text: &str) -> Result<Way, String> {
    Way::parse(text).ok_or_else(|| "neither a name nor an address".to_owned())
}

fn main() -> ExitCode {
    let command = Cli::parse().command;
    let word = command.word();
    let result = match command {
        Command::Serve {
            listen,
            file,
            tls,
            name,
        } => serve(listen, &file, tls.map(|TlsMode::Auto| name)),
        Command::Demo {
            listen,
            file,
            fresh,
        } => demo(listen, &file, fresh),
        Command::Assess {
            record,
            units,
            explain,
        } => return assess(&record, units, explain),
        Command::Schema => schema(),
        Command::Rules { json, units } => list_rules(json, units),
        Command::Backup { folder, file } => backup(&folder, &file),
        Command::Restore { folder, file } => restore(&folder, &file),
        Command::Audit { file } => audit(&file),
        Command::Person { name, file } => person(name.as_deref(), &file),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("chillwright {word}: {e:#}");
            ExitCode::FAILURE
        }
    }
}

/// The one clock of the house.
#[expect(
    clippy::disallowed_methods,
    reason = "the clock is read here and handed down"
)]
fn clock() -> Instant {
    Instant(jiff::Timestamp::now().as_millisecond())
}

fn runtime() -> anyhow::Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("the runtime could not be started")
}

/// Serves the shop; encrypted where names are given, be they none.
fn serve(listen: SocketAddr, file: &Path, names: Option<Vec<Way>>) -> anyhow::Result<()> {
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

/// Where the photographs lie.
fn files_beside(file: &Path) -> PathBuf {
    file.with_extension("files")
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

fn assess(path: &Path, units: Units, explain: bool) -> ExitCode {
    match read(path)
        .and_then(|text| chillwright_calc::parse(&text).map_err(|e| anyhow::anyhow!("{e}")))
    {
        Ok(record) => {
            let units = match units {
                Units::Si => chillwright_calc::UnitSystem::Si,
                Units::Us => chillwright_calc::UnitSystem::Us,
            };
            if explain {
                print!(
                    "{}",
                    chillwright_calc::checks::with_case(
                        &record,
                        units,
                        chillwright_calc::checks::explain::text
                    )
                );
                return ExitCode::SUCCESS;
            }
            match serde_json::to_string_pretty(&chillwright_calc::assess(&record, units)) {
                Ok(answer) => {
                    println!("{answer}");
                    ExitCode::SUCCESS
                }
                Err(e) => refuse(&e.to_string()),
            }
        }
        Err(e) => refuse(&format!("{e:#}")),
    }
}

/// One line on standard error, exit status 2: the record could not be read.
fn refuse(why: &str) -> ExitCode {
    eprintln!("{}", why.replace('\n', " "));
    ExitCode::from(2)
}

fn read(path: &Path) -> anyhow::Result<String> {
    let mut bytes = Vec::new();
    if path == Path::new("-") {
        std::io::stdin()
            .read_to_end(&mut bytes)
            .context("standard input")?;
    } else {
        bytes = std::fs::read(path).with_context(|| path.display().to_string())?;
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text),
        Err(_) => bail!("{}: the record is not UTF-8 text", path.display()),
    }
}

fn list_rules(json: bool, units: Units) -> anyhow::Result<()> {
    let list = chillwright_calc::checks::rules::RuleList::of(units.into());
    print(&if json {
        serde_json::to_string_pretty(&list)? + "\n"
    } else {
        list.text()
    })
}

/// Prints a long text; a reader that has seen enough may close the pipe.
fn print(text: &str) -> anyhow::Result<()> {
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        done => Ok(done?),
    }
}

fn schema() -> anyhow::Result<()> {
    let both = serde_json::json!({ "record": chillwright_calc::schema_record(), "answer": chillwright_calc::schema_answer() });
    print(&(serde_json::to_string_pretty(&both)? + "\n"))
}

fn backup(folder: &Path, file: &Path) -> anyhow::Result<()> {
    there(file)?;
    let name = format!(
        "chillwright-{}",
        clock().rfc3339().replace([':', '-'], "").replace('.', "-")
    );
    let copied = runtime()?.block_on(chillwright::store::backup::backup(
        file,
        &files_beside(file),
        folder,
        &name,
    ))?;
    println!(
        "{}: {}, {} photographs, audit head {}",
        copied.folder.display(),
        entries_told(copied.entries),
        copied.photographs,
        copied.head
    );
    Ok(())
}

fn restore(folder: &Path, file: &Path) -> anyhow::Result<()> {
    let (entries, head) = runtime()?.block_on(chillwright::store::backup::restore(
        folder,
        file,
        &files_beside(file),
    ))?;
    println!(
        "{}: {}, audit head {head}",
        file.display(),
        entries_told(entries)
    );
    Ok(())
}

fn audit(file: &Path) -> anyhow::Result<()> {
    there(file)?;
    runtime()?.block_on(async {
        let store = Store::look(file).await?;
        let (entries, head) = {
            let mut conn = store.read().await?;
            (
                chillwright::store::audit::verify(&mut conn).await?,
                chillwright::store::audit::head(&mut conn).await?,
            )
        };
        store.close().await;
        println!(
            "{}, each linked to the one before; audit head {head}",
            entries_told(entries)
        );
        Ok(())
    })
}

fn person(name: Option<&str>, file: &Path) -> anyhow::Result<()> {
    there(file)?;
    runtime()?.block_on(async {
        let store = Store::open(file).await?;
        let everybody = chillwright::store::people::all(&mut *store.read().await?).await?;
        match name {
            None => everybody.iter().for_each(|p| {
                println!(
                    "{}: {}{}",
                    p.name,
                    p.roles.words(),
                    if p.retired_at.is_some() {
                        "; no longer works here"
                    } else {
                        ""
                    }
                )
            }),
            Some(name) => {
                let person = everybody
                    .into_iter()
                    .find(|p| p.name == name)
                    .with_context(|| format!("there is nobody called {name}"))?;
                eprintln!("New code for {name}, six digits or more:");
                let mut code = String::new();
                std::io::stdin().read_line(&mut code)?;
                let code_hash = Codes::strong()
                    .hash(code.trim())
                    .map_err(anyhow::Error::msg)?;
                chillwright::work::people::reset_code(&store, person, code_hash, clock()).await?;
                println!("{name} has a new code and is signed out everywhere.");
            }
        }
        store.close().await;
        Ok(())
    })
}

/// A mistyped path must not make a new shop.
fn there(file: &Path) -> anyhow::Result<()> {
    if file.exists() {
        Ok(())
    } else {
        bail!("{} does not exist", file.display())
    }
}

fn demo(listen: SocketAddr, file: &Path, fresh: bool) -> anyhow::Result<()> {
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
