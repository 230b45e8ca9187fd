//! The calculation without a shop: a record assessed, the rules, the schemas.
use crate::Units;
use anyhow::{Context, bail};
use std::{
    io::{Read, Write},
    path::Path,
    process::ExitCode,
};

pub fn assess(path: &Path, units: Units, explain: bool) -> ExitCode {
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

pub fn list_rules(json: bool, units: Units) -> anyhow::Result<()> {
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

pub fn schema() -> anyhow::Result<()> {
    let both = serde_json::json!({ "record": chillwright_calc::schema_record(), "answer": chillwright_calc::schema_answer() });
    print(&(serde_json::to_string_pretty(&both)? + "\n"))
}
