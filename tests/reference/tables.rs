//! Tables made by kept scripts with general-purpose reference libraries. The first line of each names library, version, script and the
//! script's hash; a row of each is made again where Python with the library is there.
use chillwright_calc::{
    physics::{
        curve::{fit_levelling, fit_line},
        refrigerant::Fluid,
        water,
    },
    units::{AbsolutePressure, Temperature},
};
use std::{path::Path, process::Command};

/// The largest relative deviation, held under `most`.
struct Largest {
    what: &'static str,
    most: f64,
    found: f64,
    at: String,
}

impl Largest {
    fn new(what: &'static str, most: f64) -> Self {
        Self { what, most, found: 0.0, at: String::new() }
    }
    fn see(&mut self, ours: f64, theirs: f64, at: &str) {
        let off = (ours / theirs - 1.0).abs();
        // Not a number would pass every comparison.
        assert!(off.is_finite(), "{} at {at}: {ours} against {theirs}", self.what);
        if off > self.found {
            (self.found, self.at) = (off, at.to_owned());
        }
    }
    fn end(self) {
        println!("{}: largest deviation {:.2e} at {}", self.what, self.found, self.at);
        assert!(self.found <= self.most, "{}: {} at {}", self.what, self.found, self.at);
    }
}

fn rows(table: &str) -> Vec<Vec<&str>> {
    table.lines().skip(2).map(|line| line.split(',').collect()).collect()
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

#[test]
fn refrigerants_agree_with_coolprop() {
    let (mut saturation, mut liquid, mut vapour, mut back) = (
        Largest::new("saturation pressure", 1e-5),
        Largest::new("liquid density", 1e-4),
        Largest::new("vapour density", 1e-4),
        Largest::new("saturation temperature", 1e-6),
    );
    let table = rows(include_str!("tables/refrigerants.csv"));
    assert!(table.len() > 100, "{}", table.len());
    for row in &table {
        let fluid = Fluid::from_name(row[0]).expect("a fluid");
        let (t, at) = (Temperature::new(number(row[1])), format!("{} {} K", row[0], row[1]));
        saturation.see(fluid.saturation_pressure(t).expect("a pressure").pa(), number(row[2]), &at);
        back.see(fluid.saturation_temperature(AbsolutePressure::new(number(row[2]))).expect("a temperature").k(), number(row[1]), &at);
        liquid.see(fluid.liquid_density(t).expect("a density").kg_per_m3(), number(row[3]), &at);
        vapour.see(fluid.saturated_vapour_density(t).expect("a density").kg_per_m3(), number(row[4]), &at);
        let half = AbsolutePressure::new(0.5 * number(row[2]));
        vapour.see(fluid.vapour_density(t, half).expect("a density").kg_per_m3(), number(row[5]), &at);
    }
    for largest in [saturation, liquid, vapour, back] {
        largest.end();
    }
}

#[test]
fn water_and_ice_agree_with_iapws() {
    let (mut pressure, mut temperature) = (Largest::new("water and ice, pressure", 1e-6), Largest::new("water and ice, temperature", 1e-6));
    for row in rows(include_str!("tables/water.csv")) {
        pressure.see(water::saturation_pressure(Temperature::new(number(row[0]))).expect("a pressure").pa(), number(row[1]), row[0]);
        temperature.see(water::saturation_temperature(AbsolutePressure::new(number(row[1]))).expect("a temperature").k(), number(row[0]), row[0]);
    }
    pressure.end();
    temperature.end();
}

#[test]
fn fits_agree_with_scipy() {
    let (mut slope, mut level, mut tau, mut rss) =
        (Largest::new("slope", 1e-6), Largest::new("p_inf", 1e-6), Largest::new("tau", 1e-4), Largest::new("sum of squares", 1e-6));
    for (i, row) in rows(include_str!("tables/curves.csv")).iter().enumerate() {
        let points: Vec<(f64, f64)> = row[0].split(' ').map(|pair| pair.split_once(':').map(|(t, p)| (number(t), number(p))).expect("a pair")).collect();
        let at = format!("row {i}");
        slope.see(fit_line(&points).expect("a line").slope, number(row[1]), &at);
        let fit = fit_levelling(&points).expect("a curve");
        level.see(fit.p_inf, number(row[3]), &at);
        tau.see(fit.tau, number(row[4]), &at);
        // Without noise nothing is left but rounding.
        if number(row[5]) > 1e-3 {
            rss.see(fit.rss, number(row[5]), &at);
        }
    }
    for largest in [slope, level, tau, rss] {
        largest.end();
    }
}

/// A row of each table comes out again where Python has the library; where it has not, this says so and proves nothing.
#[test]
fn a_row_of_each_table_comes_out_again() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference");
    for (script, table, row) in [
        ("refrigerants.py", include_str!("tables/refrigerants.csv"), 7),
        ("water.py", include_str!("tables/water.csv"), 50),
        ("curves.py", include_str!("tables/curves.csv"), 3),
    ] {
        let head = table.lines().next().unwrap_or_default();
        assert!(head.starts_with("# ") && head.contains(script) && head.contains("sha256 "), "{head}");
        let python = std::env::var("CHILLWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
        match Command::new(python).arg(folder.join(script)).arg(row.to_string()).output() {
            Ok(output) if output.status.success() => {
                let made = String::from_utf8_lossy(&output.stdout).trim().to_owned();
                assert_eq!(made.split(',').next(), table.lines().nth(row + 2).and_then(|l| l.split(',').next()), "{script}");
                for (ours, kept) in made.split(',').zip(table.lines().nth(row + 2).unwrap_or_default().split(',')).skip(1) {
                    assert!((number(ours) / number(kept) - 1.0).abs() < 1e-7, "{script}: {ours} against {kept}");
                }
            }
            _ => println!("{script}: not run, Python with its library is not there"),
        }
    }
}
