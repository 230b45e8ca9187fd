//! How fast the calculation is, and how it grows with the readings: never timed tests. `cargo bench -p chillwright-calc --bench calc`.
//!
//! `assess` of the worked scenario with a hold of so many readings, a dial that hardly moves or a levelling one, so that every curve is fitted.
//! Twice the readings should take no more than twice as long; what does not depend on them (equations of state, findings) stays.
use chillwright_calc::{
    JobRecord, UnitSystem, assess, parse,
    physics::{refrigerant::Fluid, water},
    units::{AbsolutePressure, Temperature},
};
use divan::{Bencher, black_box};
use serde_json::{Value, json};

fn main() {
    divan::main();
}

/// The worked scenario with one hold of n readings over an hour by this law, Pa absolute on a 1 mbar gauge.
fn scenario(n: usize, pressure: impl Fn(f64) -> f64) -> JobRecord {
    let mut record: Value =
        serde_json::from_str(include_str!("../checks/records/scenario.json")).expect("JSON");
    let readings: Vec<Value> = (0..n)
        .map(|i| {
            let ms = 3_600_000 * i / (n - 1);
            let at = format!(
                "2026-05-12T{:02}:{:02}:{:02}.{:03}Z",
                10 + ms / 3_600_000,
                ms / 60_000 % 60,
                ms / 1000 % 60,
                ms % 1000
            );
            let pa = (pressure(ms as f64 / 3.6e6) / 100.0).round() * 100.0;
            json!({ "at": at, "pressure": format!("{pa} Pa abs"), "temperature": "22 degC" })
        })
        .collect();
    record["holds"] = json!([{ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T11:30:00Z", "gauge": { "resolution": "1 mbar" }, "readings": readings }]);
    parse(&record.to_string()).expect("a record")
}

#[divan::bench(args = [2, 60, 120, 300, 600, 1200])]
fn assess_a_still_hold(bencher: Bencher, readings: usize) {
    let record = scenario(readings, |t| 3000.0 + 40.0 * t);
    bencher.bench(|| assess(black_box(&record), UnitSystem::Si));
}

#[divan::bench(args = [60, 600])]
fn assess_a_levelling_hold(bencher: Bencher, readings: usize) {
    let record = scenario(readings, |t| 400.0 + 2200.0 * (1.0 - (-8.0 * t).exp()));
    bencher.bench(|| assess(black_box(&record), UnitSystem::Si));
}

#[divan::bench(args = [60, 600])]
fn read_a_record(bencher: Bencher, readings: usize) {
    let text = serde_json::to_string(&scenario(readings, |t| 3000.0 + 40.0 * t)).expect("JSON");
    bencher.bench(|| parse(black_box(&text)));
}

#[divan::bench]
fn saturation_of_refrigerant(bencher: Bencher) {
    bencher.bench(|| Fluid::R134a.saturation_pressure(black_box(Temperature::new(298.15))));
}

#[divan::bench]
fn saturation_temperature_of_refrigerant(bencher: Bencher) {
    bencher.bench(|| Fluid::R134a.saturation_temperature(black_box(AbsolutePressure::new(3.2e5))));
}

#[divan::bench]
fn saturation_of_water(bencher: Bencher) {
    bencher.bench(|| water::saturation_pressure(black_box(Temperature::new(295.15))));
}
