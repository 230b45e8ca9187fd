//! One simulated pressure hold: dry nitrogen, for an hour or overnight, on a gauge of a regulator or a manifold.
use super::{
    circuit::{Circuit, Warmth, nitrogen_in_service, water_pa},
    hold::{Simulated, Temperatures, at, times},
    nature::Nature,
    noise::Noise,
};
use serde_json::{Value, json};

const PSI: f64 = 6894.757;

pub fn draw(nature: Nature, noise: &mut Noise) -> Simulated {
    let readings = 2 + noise.below(15);
    let overnight = noise.chance(0.4);
    let duration = if overnight {
        noise.between(8.0, 16.0) * 3600.0
    } else {
        noise.log_between(1800.0, 7200.0)
    }
    .round();
    let temperatures = [
        Temperatures::All,
        Temperatures::All,
        Temperatures::All,
        Temperatures::Ends,
        Temperatures::None,
    ][noise.below(5)];
    let mut warmth = Warmth::draw(noise, duration);
    // In an hour it drifts by no more than is allowed for unseen; overnight by as much as a workshop cools.
    warmth.drift = if overnight {
        noise.between(-18.0, 5.0)
    } else {
        noise.between(-3.0, 3.0)
    };
    let air = noise.between(84e3, 102e3);
    let step = [1.0, 0.5, 2.0][noise.below(3)];
    let p0 = air + noise.between(60.0, 250.0) * PSI;
    let doubt = match temperatures.doubtful() {
        false => 1.0 + 0.2 * warmth.drift.abs(),
        true => (3.0 + 2.0 * (duration / 3600.0 - 1.0).max(0.0)).min(20.0),
    };
    let shown = step * PSI + p0 * doubt / warmth.gas_k(0.0);
    let rate = if nature == Nature::NitrogenLeak {
        shown * noise.log_between(1.0 / 3.0, 20.0) / duration
    } else {
        0.0
    };
    let times = times(readings, duration, noise);
    // The gas follows the metal but for a twentieth.
    let follows = noise.between(0.95, 1.05);
    let gas_k = |t: f64| warmth.gas_k(0.0) + follows * (warmth.gas_k(t) - warmth.gas_k(0.0));
    let lost = |t: f64| (p0 - air) * (1.0 - (-rate * t / (p0 - air)).exp());
    let mut pa: Vec<f64> = times
        .iter()
        .map(|t| (p0 - lost(*t)) * gas_k(*t) / gas_k(0.0))
        .collect();
    if nature == Nature::NitrogenUnsettled {
        // Warm from filling by ten to thirty kelvins, as far as the gauge shows it.
        pa[0] += (p0 * noise.between(10.0, 30.0) / 295.0).max(5.0 * step * PSI);
    }
    let (moved, moved_since) = (lost(duration), lost(duration) - lost(times[1]));
    let leak = (nature == Nature::NitrogenLeak)
        .then(|| nitrogen_in_service(moved / duration * 2.5e-3, air, p0)[noise.below(3)]);
    let list = written(&times, &pa, air, step, temperatures, &warmth, noise);
    let record = json!({
        "version": 1, "site": { "barometer": format!("{air:.0} Pa abs") },
        "system": { "refrigerant": "R-134a", "charge": "600 g", "internal_volume": "2.5 L" },
        "holds": [{ "kind": "pressure", "gas": "nitrogen", "ended_at": "2026-05-14T12:00:00Z", "gauge": { "resolution": format!("{step} psi") }, "readings": list }]
    });
    Simulated {
        nature,
        circuit: if rate > 0.0 {
            Circuit::Leaking { pa_per_s: rate }
        } else {
            Circuit::Tight
        },
        resolution_pa: step * PSI,
        readings,
        temperatures,
        duration,
        moved,
        moved_since,
        end_pa: pa[readings - 1],
        psat: water_pa(warmth.metal(duration)),
        leak,
        overnight,
        early_low: false,
        one_suffices: true,
        both_ways: false,
        record,
    }
}

fn written(
    times: &[f64],
    pa: &[f64],
    air: f64,
    step: f64,
    temperatures: Temperatures,
    warmth: &Warmth,
    noise: &mut Noise,
) -> Vec<Value> {
    let one = |i: usize| {
        let shown = ((pa[i] - air) / PSI + noise.normal(step / 4.0)) / step;
        let mut reading =
            json!({ "at": at(times[i]), "pressure": format!("{:.1} psig", shown.round() * step) });
        if temperatures.given(i, times.len()) {
            reading["temperature"] = json!(format!(
                "{:.1} degC",
                warmth.metal(times[i]) + noise.normal(0.1)
            ));
        }
        reading
    };
    (0..times.len()).map(one).collect()
}
