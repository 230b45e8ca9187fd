//! The verdict grid: simulated holds of which the truth is known, and how often a hold is called what it is.
//!
//! Nothing here uses the code under test but to ask for its answer: physics, noise and gauges are its own. What is simulated: tight, leaking, wet and
//! outgassing circuits; gas that is not water; pumps that still run, fast and slowly, and falls that turn into rises; first readings that were taken too
//! early; readings on two gauges, on record or not, that agree or not; nitrogen for an hour and overnight, with and without temperatures; in fixed
//! shares (`nature`). Leaks from a third to thirty times what the hold can show; dial, digital and micron gauges in thirds; 2 to 30 readings, each with a
//! quarter of a graduation of unrest and rounded; metal that drifts by up to 4 K (overnight 18 K) with gas that lags behind it; temperatures read
//! each time (82 %), at both ends (10 %), at the last reading alone (3 %) or never (5 %).
mod circuit;
mod gauge;
mod hold;
mod nature;
mod nitrogen;
mod noise;
mod tally;

use super::support::answer;
use hold::Simulated;
use nature::EITHER_WAY;
use noise::Noise;
use tally::Tally;

/// The constants of `course`, `settling` and `stillness` were looked at on seeds 1000 to 1009 and 5000 to 5009; these are others.
const SEEDS: [u64; 4] = [20_260_512, 7, 412, 90_210];
const HOLDS: usize = 6_000;
/// Less than the 98.5 % of an earlier grid: that had no falls, no early readings, no gas that is not water, and took water that runs out for water at
/// its pressure. What it then called right is in the table by itself.
const GOAL: f64 = 0.975;

fn run(seed: u64, tallies: &mut [&mut Tally]) {
    let mut noise = Noise::seeded(seed);
    for number in 0..HOLDS {
        let simulated = Simulated::draw(number, &mut noise);
        let hold = answer(&simulated.record).figures.holds.remove(0);
        tallies.iter_mut().for_each(|t| t.count(&simulated, &hold));
    }
}

/// What every grid has to keep.
fn keeps(all: &Tally) {
    let share = |n: usize, of: usize| n as f64 / of as f64;
    assert!(
        all.share() >= GOAL,
        "{:.4}\n{}",
        all.share(),
        all.wrong.join("\n")
    );
    assert!(
        share(all.tight_open, all.tight) <= 0.03,
        "tight ones called “cannot tell”: {} of {}",
        all.tight_open,
        all.tight
    );
    assert!(
        share(all.tight_leak, all.tight) <= 0.005,
        "tight ones called a leak: {} of {}",
        all.tight_leak,
        all.tight
    );
    assert!(
        all.held_but_moved * 4_000 <= all.all,
        "held, and something had moved it by {EITHER_WAY} bounds:\n{}",
        all.wrongly_held.join("\n")
    );
    // Noise has no end: of 120,000 holds of seeds 8000 to 8019 two, both on leaks that moved it by 1.0 to 1.4 bounds.
    let excluded: Vec<&String> = all
        .wrongly_held
        .iter()
        .filter(|w| w.starts_with("excluded"))
        .collect();
    assert!(
        all.excluded_but_there * 10_000 <= all.all,
        "held, and a leak was there that the hold says it excludes: {excluded:?}"
    );
}

#[test]
fn verdicts_are_right() {
    let mut all = Tally::default();
    for seed in SEEDS {
        run(seed, &mut [&mut all]);
    }
    all.print("all seeds");
    keeps(&all);
}

/// As many seeds as are asked for (`CHILLWRIGHT_LONG=1000..1010`): what four cannot show is how rare a hold is that is wrongly called held.
#[test]
fn over_many_seeds() {
    let Ok(asked) = std::env::var("CHILLWRIGHT_LONG") else {
        return;
    };
    let (from, to) = asked
        .split_once("..")
        .and_then(|(a, b)| Some((a.parse().ok()?, b.parse().ok()?)))
        .unwrap_or((1000_u64, 1010_u64));
    let mut all = Tally::default();
    for seed in from..to {
        run(seed, &mut [&mut all]);
    }
    all.print(&asked);
    if let Ok(file) = std::env::var("CHILLWRIGHT_WRONG") {
        std::fs::write(
            file,
            [all.wrong.join("\n"), all.wrongly_held.join("\n")].join("\n\nHELD\n"),
        )
        .expect("a file");
    }
    keeps(&all);
}

/// The simulator itself: its vapour pressures are those of the CRC Handbook (water; within 0.15 %) and of a printed service table (R-134a
/// at 70 degF, 71 psig to a whole psi), a leak rises straight and less as air's pressure nears, and the seed alone decides.
#[test]
fn the_simulator_is_sound() {
    for (celsius, kpa) in [
        (10.0, 1.2281),
        (20.0, 2.3388),
        (30.0, 4.2455),
        (40.0, 7.3814),
    ] {
        assert!(
            (circuit::water_pa(celsius) / (kpa * 1e3) - 1.0).abs() < 1.5e-3,
            "{celsius}"
        );
    }
    assert!(((circuit::r134a_pa(294.261) - 101_325.0) / 6894.757 - 71.0).abs() < 0.7);
    let still = circuit::Warmth {
        start: 22.0,
        drift: 0.0,
        bent: false,
        lag: 0.0,
        duration: 1200.0,
    };
    let leak = circuit::Circuit::Leaking { pa_per_s: 1.0 }
        .course(1000.0, 100e3, &still, &[0.0, 600.0, 1200.0])
        .pa;
    assert!(
        (leak[1] - 1600.0).abs() < 3.0 && leak[2] - leak[1] < leak[1] - leak[0],
        "{leak:?}"
    );
    // A path of each kind, air in at 101325 Pa, R-134a out from 20 degC: x 48.1, 2.78 and 2.47 in the table; at 25 degC more, by the squares and the pressures.
    let [laminar, choked, molecular] = circuit::in_service(1.0, 101_325.0, 0.0);
    let (at_20, at_25) = (circuit::r134a_pa(293.15), circuit::r134a_pa(298.15));
    let grown = (at_25.powi(2) - 101_325.0_f64.powi(2)) / (at_20.powi(2) - 101_325.0_f64.powi(2));
    assert!(
        (laminar / choked / (48.1 / 2.78 * grown * at_20 / at_25) - 1.0).abs() < 0.01,
        "{laminar} {choked}"
    );
    assert!(
        (choked
            / molecular
            / (2.78 / 2.47 * at_25 / at_20 * (at_20 - 101_325.0) / (at_25 - 101_325.0))
            - 1.0)
            .abs()
            < 0.01,
        "{choked} {molecular}"
    );
    // Nitrogen at ten atmospheres out: laminar by the squares of the pressures and the viscosities, from the same table's rows of air.
    let nitrogen = circuit::nitrogen_in_service(1.0, 101_325.0, 1_013_250.0);
    assert!(
        (nitrogen[0] / laminar - 17.80 / 18.448 / 99.0).abs() < 1e-6,
        "{nitrogen:?}"
    );
    // A fall that turns.
    let bounce = circuit::Circuit::Bounced {
        fall: 500.0,
        until: 600.0,
        pa_per_s: 1.0,
    }
    .course(1000.0, 100e3, &still, &[0.0, 600.0, 1200.0]);
    let near = bounce
        .pa
        .iter()
        .zip([1000.0, 500.0, 1100.0])
        .all(|(pa, wanted)| (pa - wanted).abs() < 1e-9);
    assert!(
        near && bounce.moved == -500.0 && bounce.moved_since == 600.0,
        "{:?}",
        bounce.pa
    );
    let draw = |seed| Simulated::draw(3, &mut Noise::seeded(seed)).record;
    assert!(draw(1) == draw(1) && draw(1) != draw(2));
}
