//! Figures that a mean hides: the quantiles of the deed "take a reading" and what they are made of, and the time from start to first answer.
//! `cargo bench --bench figures` prints them; it judges nothing.
#[path = "../kit/mod.rs"]
mod kit;
#[expect(dead_code, reason = "this bench needs only a part of it")]
mod support;

use chillwright::{
    shop::{DeedId, Instant},
    store::shop,
    work::evidence::{BENCH, Change, Entry, NewPiece, keep},
};
use chillwright_calc::record::Reading;
use std::{
    io::{Read, Write},
    net::TcpStream,
    process::{Command, Stdio},
    sync::atomic::Ordering,
    time::{Duration, Instant as Clock},
};
use support::{CLOCK, HOUSE};

fn main() {
    let house = &*HOUSE;
    let deed = times(300, || {
        let at = Instant(CLOCK.fetch_add(1000, Ordering::Relaxed));
        let (pressure, temperature) = ("28 inHg vacuum".parse().ok(), "22 degC".parse().ok());
        let reading = Reading {
            at: Some(at.into()),
            pressure,
            temperature,
            ..Reading::default()
        };
        let new = NewPiece::new(reading, Some(at)).under(house.hold);
        let entry = Entry {
            deed: DeedId::fresh(),
            kind: "reading-taken",
            order: house.order,
            form: String::new(),
            roles: BENCH,
            tablet: None,
        };
        house
            .runtime
            .block_on(keep(
                &house.store,
                &house.by,
                entry,
                vec![Change::Add(new)],
                at,
            ))
            .expect("kept");
    });
    let assess = times(300, || {
        std::hint::black_box(chillwright_calc::assess(
            &house.record,
            chillwright_calc::UnitSystem::Si,
        ));
    });
    let sync = times(300, || {
        house.runtime.block_on(async {
            let mut tx = house.store.write().await.expect("a transaction");
            shop::take_tag_number(&mut tx).await.expect("written");
            tx.commit().await.expect("kept");
        });
    });
    say("take a reading (60 to 360 on record)", &deed);
    say("  of it: assess with 60 readings", &assess);
    say("  of it: a transaction of one row with its sync", &sync);
    println!(
        "  the rest of its median: {:.2} ms of statements and JSON",
        at(&deed, 0.5) - at(&assess, 0.5) - at(&sync, 0.5)
    );
    house.runtime.block_on(house.store.close());
    say(
        "start to first answer",
        &starts(&house.folder.path().join("shop.db")),
    );
}

fn times(n: usize, mut what: impl FnMut()) -> Vec<f64> {
    let mut all: Vec<f64> = (0..n)
        .map(|_| {
            let begun = Clock::now();
            what();
            begun.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all
}

fn at(sorted: &[f64], share: f64) -> f64 {
    sorted[((sorted.len() - 1) as f64 * share).round() as usize]
}

fn say(what: &str, sorted: &[f64]) {
    println!(
        "{what}: p50 {:.2} ms, p95 {:.2} ms, most {:.2} ms, n {}",
        at(sorted, 0.5),
        at(sorted, 0.95),
        at(sorted, 1.0),
        sorted.len()
    );
}

/// The program started on a shop's file, until it has answered once.
fn starts(file: &std::path::Path) -> Vec<f64> {
    let port = std::net::TcpListener::bind("127.0.0.1:0")
        .and_then(|l| l.local_addr())
        .expect("a free port")
        .port();
    let address = format!("127.0.0.1:{port}");
    let mut all: Vec<f64> = (0..10)
        .map(|_| {
            let begun = Clock::now();
            let mut server = Command::new(env!("CARGO_BIN_EXE_chillwright"))
                .args(["serve", "--listen", &address, "--file"])
                .arg(file)
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("the server");
            while !answers(&address) {
                assert!(begun.elapsed() < Duration::from_secs(20), "no answer");
                std::thread::sleep(Duration::from_millis(2));
            }
            let took = begun.elapsed().as_secs_f64() * 1e3;
            server.kill().expect("stopped");
            server.wait().expect("ended");
            took
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all
}

fn answers(address: &str) -> bool {
    let Ok(mut stream) = TcpStream::connect(address) else {
        return false;
    };
    let mut answer = [0; 12];
    write!(
        stream,
        "GET / HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n"
    )
    .is_ok()
        && stream.read_exact(&mut answer).is_ok()
        && answer.starts_with(b"HTTP/1.1 303")
}
