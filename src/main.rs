//! The command line. The clock is read here and handed down; what each command does stands in `command`.
mod command;

use chillwright::{shop::Instant, tls::Way};
use clap::{Parser, Subcommand, ValueEnum};
use std::{net::SocketAddr, path::PathBuf, process::ExitCode};

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
        } => command::serve(listen, &file, tls.map(|TlsMode::Auto| name)),
        Command::Demo {
            listen,
            file,
            fresh,
        } => command::demo(listen, &file, fresh),
        Command::Assess {
            record,
            units,
            explain,
        } => return command::assess(&record, units, explain),
        Command::Schema => command::schema(),
        Command::Rules { json, units } => command::list_rules(json, units),
        Command::Backup { folder, file } => command::backup(&folder, &file),
        Command::Restore { folder, file } => command::restore(&folder, &file),
        Command::Audit { file } => command::audit(&file),
        Command::Person { name, file } => command::person(name.as_deref(), &file),
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
