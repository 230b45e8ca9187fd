//! What to take care of, task by task: told above the task's button, before the hand moves.
//!
//! The usual published cautions. Their numbers: 80 % of a cylinder (AHRI Guideline K), high voltage above 60 V DC (UN Regulation No. 100), and 52 °C for a
//! can or cylinder (as printed on cans; from memory).
use super::Scene;
use chillwright_calc::record::HoldKind;

/// A compressor's drive, as far as a caution asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drive {
    /// By the engine's belt, or not on record.
    Belt,
    /// By high voltage.
    Electric,
}

impl Drive {
    /// From the record's word.
    pub fn of(word: &str) -> Self {
        if word == "electric" {
            Self::Electric
        } else {
            Self::Belt
        }
    }
}

/// Of every task, last.
const FIRST_OF_ALL: &str = "Local law, the maker’s manual and licensed practice come first.";

const EYES: &str = "Goggles and gloves: liquid refrigerant freezes skin and eyes.";
const CLEAR: &str =
    "Keep hoses, hands and clothing clear of belts and fans. Fans can start by themselves.";
const NEVER_VENT: &str = "Recover, never vent.";
const AT_ZERO: &str =
    "Recover the refrigerant first. Gauge pressure at zero before anything is opened.";
const COOLANT: &str = "Hot coolant scalds: let the engine cool before you open the cooling system.";
const AIRBAGS: &str = "Airbags: disconnect the battery and wait the maker’s time before working near the bag or crash sensors. \
                       Leave the airbags disconnected until the front end is back together.";
const NITROGEN: &str = "Dry nitrogen only, through a regulator, never above the low-side test pressure given by the maker. Never compressed air or oxygen.";
const LET_OFF: &str = "Let the nitrogen off before a joint is opened.";
const ENGINE_OFF: &str = "Engine off.";
const NO_FLAME_ON_METAL: &str = "Warm the metal with warm air or a lamp, never with a flame.";
const DETECTOR: &str = "Engine off when you use a detector. Wear UV glasses with a UV lamp.";
const VENTILATE: &str = "Ventilate. Refrigerant is heavier than air and collects in pits.";

/// What belongs to each task, whatever the car.
const TASKS: &[(&str, &[&str])] = &[
    (
        "standing",
        &["Goggles and gloves: service ports may spray.", CLEAR],
    ),
    (
        "identification",
        &[
            "Goggles and gloves: service ports may spray.",
            "Anything other than the label’s gas: do not mix it into a good cylinder. Use a cylinder kept for contaminated gas.",
            "If the gas may be flammable: rated equipment, ventilation, no ignition source.",
        ],
    ),
    (
        "isolation",
        &[
            "HV-trained people only: switch off, lock out so nobody can switch it back on, wait the maker’s discharge time, \
             and prove it dead before touching anything.",
            "Dead means not above 60 V DC between HV+ and HV−. Otherwise stop.",
        ],
    ),
    (
        "recovery",
        &[NEVER_VENT, EYES, "Fill a cylinder to 80 % at most."],
    ),
    ("leaks", &[DETECTOR, NITROGEN, VENTILATE]),
    ("joints", &[AT_ZERO, EYES, COOLANT, AIRBAGS]),
    ("parts", &[AT_ZERO, EYES, COOLANT, AIRBAGS]),
    (
        "seals",
        &[
            "Goggles on.",
            "Before a joint is opened again: recover what is inside, or let the nitrogen off. Gauge pressure at zero.",
        ],
    ),
    (
        "fixings",
        &[
            "Engine off. Fans can start by themselves.",
            COOLANT,
            AIRBAGS,
        ],
    ),
    (
        "flush",
        &[
            AT_ZERO,
            "Goggles, gloves and ventilation: flushing fluid gives off fumes and harms skin.",
            "Blow out with dry nitrogen through a regulator, never with compressed air. Stay below the pressure limit of the part.",
        ],
    ),
    (
        "oil",
        &["Goggles and gloves: oil from a circuit may be acid."],
    ),
    (
        "evacuation",
        &[
            ENGINE_OFF,
            "Never evacuate a charged circuit: recover first.",
            NO_FLAME_ON_METAL,
        ],
    ),
    (
        "hold",
        &[
            "Engine off while it holds, so that the belt does not turn the compressor.",
            NO_FLAME_ON_METAL,
            NITROGEN,
            LET_OFF,
        ],
    ),
    (
        VACUUM_HOLD,
        &[
            "Engine off while it holds, so that the belt does not turn the compressor. Leave the valves shut.",
            NO_FLAME_ON_METAL,
        ],
    ),
    (
        PRESSURE_HOLD,
        &[
            "Engine off while it holds. Leave the valves shut.",
            NO_FLAME_ON_METAL,
            NITROGEN,
            LET_OFF,
        ],
    ),
    ("gas", &[NITROGEN, LET_OFF]),
    (VOLUME, &[AT_ZERO, NITROGEN, LET_OFF]),
    (
        "charging",
        &[
            "Never open the high side to a can or cylinder with the engine running.",
            "Never warm a can or cylinder with a flame. 52 °C (126 °F) at most.",
            EYES,
            VENTILATE,
            CLEAR,
        ],
    ),
    (
        "performance",
        &[
            "Handbrake on, in neutral or park. Lead the exhaust out.",
            CLEAR,
        ],
    ),
    ("checks", &[DETECTOR, VENTILATE]),
    (
        "ports",
        &[
            "Goggles and gloves: ports may spray.",
            "Before a core is taken out: recover the refrigerant first, gauge pressure at zero.",
        ],
    ),
];

/// A vacuum hold that runs.
pub const VACUUM_HOLD: &str = "vacuum hold";
/// A pressure hold that runs.
pub const PRESSURE_HOLD: &str = "pressure hold";
/// The circuit's volume is measured with nitrogen.
pub const VOLUME: &str = "volume";

/// Before something of a high-voltage compressor is opened or touched.
const HIGH_VOLTAGE_OPEN: &str = "High-voltage compressor: trained people only. Off, locked out, the maker’s wait, measured not above 60 V DC before you touch it.";
/// While such a car is connected or runs.
const HIGH_VOLTAGE_NEAR: &str = "High-voltage compressor: keep clear of it and of the orange cables. Trained people only; isolate and measure before you touch them.";
/// An electric compressor's oil is part of its insulation.
const HIGH_VOLTAGE_OIL: &str = "High-voltage compressor: only the oil on the label. Even a little of another oil can make the car unsafe.";

fn high_voltage(task: &str) -> &'static [&'static str] {
    match task {
        "joints" | "parts" | "seals" | "flush" => &[HIGH_VOLTAGE_OPEN],
        "oil" => &[HIGH_VOLTAGE_OPEN, HIGH_VOLTAGE_OIL],
        "recovery" | "charging" | "performance" => &[HIGH_VOLTAGE_NEAR],
        _ => &[],
    }
}

const HIGH_PRESSURE: &str =
    "R-744: some ten times the pressure of R-134a. Rated hoses and gauges only.";
const FLAMMABLE_R1234YF: &str = "R-1234yf is flammable, and burning it gives toxic products: no flame, no hot surface, no spark. Ventilate.";
const FLAMMABLE_R152A: &str = "R-152a is flammable, and burning it gives toxic products: no flame, no hot surface, no spark. Ventilate.";
const RATED: &str = "Use only equipment rated for flammable refrigerant.";
const HOT_REFRIGERANT: &str =
    "No flame or hot surface near refrigerant: burning it gives toxic products.";

/// Whether refrigerant is, was or may be in the hands at a task.
fn handles_refrigerant(task: &str) -> bool {
    !matches!(task, "isolation" | "fixings")
}

fn of_refrigerant(task: &str, refrigerant: &str) -> Vec<&'static str> {
    let mut told = match refrigerant {
        "R-744" => vec![HIGH_PRESSURE],
        "R-1234yf" => vec![FLAMMABLE_R1234YF],
        "R-152a" => vec![FLAMMABLE_R152A],
        _ if matches!(task, "recovery" | "charging" | "leaks" | "checks") => vec![HOT_REFRIGERANT],
        _ => vec![],
    };
    if matches!(refrigerant, "R-1234yf" | "R-152a")
        && matches!(
            task,
            "identification" | "recovery" | "charging" | "leaks" | "checks"
        )
    {
        told.push(RATED);
    }
    told
}

/// The cautions of a task for a car with this refrigerant and drive: short sentences, the gravest first. `task` is a task's word, or one of the names above.
pub fn caution(task: &str, refrigerant: &str, drive: Drive) -> Vec<&'static str> {
    let mut told: Vec<&'static str> = Vec::new();
    if drive == Drive::Electric {
        told.extend(high_voltage(task));
    }
    if handles_refrigerant(task) {
        told.extend(of_refrigerant(task, refrigerant));
    }
    told.extend(
        TASKS
            .iter()
            .filter(|t| t.0 == task)
            .flat_map(|t| t.1.iter().copied()),
    );
    told.push(FIRST_OF_ALL);
    told
}

/// The cautions of a task for the car of an order.
pub fn of(scene: &Scene, task: &str) -> Vec<&'static str> {
    caution(
        task,
        scene.refrigerant(),
        if scene.is_electric() {
            Drive::Electric
        } else {
            Drive::Belt
        },
    )
}

/// The cautions of a hold or evacuation that runs.
pub fn running(scene: &Scene, is_hold: bool, kind: Option<HoldKind>) -> Vec<&'static str> {
    of(
        scene,
        match (is_hold, kind) {
            (false, _) => "evacuation",
            (true, Some(HoldKind::Pressure)) => PRESSURE_HOLD,
            _ => VACUUM_HOLD,
        },
    )
}

#[cfg(test)]
mod tests {
    use super::{super::tasks, *};

    /// What must stand at each task: words out of its sentences.
    const ASKED: &[(&str, &[&str])] = &[
        (
            "standing",
            &[
                "Goggles and gloves",
                "clear of belts and fans",
                "ports may spray",
            ],
        ),
        (
            "identification",
            &[
                "do not mix it into a good cylinder",
                "flammable",
                "rated equipment",
                "ventilation",
                "no ignition",
            ],
        ),
        (
            "isolation",
            &[
                "trained people only",
                "switch off, lock out",
                "discharge time",
                "prove it dead before touching",
                "60 V DC",
            ],
        ),
        ("recovery", &["never vent", "80 %"]),
        (
            "leaks",
            &[
                "through a regulator",
                "low-side test pressure",
                "Never compressed air or oxygen",
                "UV glasses",
            ],
        ),
        (
            "joints",
            &[
                "Recover the refrigerant first",
                "pressure at zero",
                "Goggles",
                "Hot coolant",
                "disconnect the battery",
                "crash sensors",
            ],
        ),
        (
            "parts",
            &[
                "Recover the refrigerant first",
                "pressure at zero",
                "Goggles",
                "Hot coolant",
                "disconnect the battery",
                "crash sensors",
            ],
        ),
        (
            "seals",
            &["Goggles", "recover what is inside, or let the nitrogen off"],
        ),
        ("fixings", &["disconnect the battery", "crash sensors"]),
        (
            "flush",
            &[
                "fumes",
                "skin",
                "never with compressed air",
                "pressure limit of the part",
            ],
        ),
        ("oil", &["Goggles and gloves", "may be acid"]),
        ("evacuation", &["Engine off", "never with a flame"]),
        (
            "hold",
            &[
                "Engine off",
                "never with a flame",
                "through a regulator",
                "low-side test pressure",
                "Never compressed air or oxygen",
                "Let the nitrogen off",
            ],
        ),
        (VACUUM_HOLD, &["Engine off", "never with a flame"]),
        (
            PRESSURE_HOLD,
            &[
                "Engine off",
                "through a regulator",
                "low-side test pressure",
                "Never compressed air or oxygen",
                "Let the nitrogen off",
            ],
        ),
        (
            "gas",
            &[
                "through a regulator",
                "low-side test pressure",
                "Never compressed air or oxygen",
                "Let the nitrogen off",
            ],
        ),
        (
            VOLUME,
            &[
                "Recover the refrigerant first",
                "through a regulator",
                "low-side test pressure",
                "Never compressed air or oxygen",
            ],
        ),
        (
            "charging",
            &[
                "Never open the high side to a can or cylinder with the engine running",
                "freezes skin",
                "with a flame",
                "52 °C (126 °F)",
                "Ventilate",
            ],
        ),
        (
            "performance",
            &[
                "Handbrake",
                "neutral",
                "exhaust out",
                "start by themselves",
                "clear of belts and fans",
            ],
        ),
        (
            "checks",
            &["Engine off when you use a detector", "UV glasses"],
        ),
        (
            "ports",
            &[
                "Goggles",
                "recover the refrigerant first",
                "pressure at zero",
            ],
        ),
    ];

    const CARS: [(&str, Drive); 3] = [
        ("R-134a", Drive::Belt),
        ("R-1234yf", Drive::Electric),
        ("R-744", Drive::Belt),
    ];

    #[test]
    fn every_task_tells_what_it_must_on_every_car() {
        for task in tasks::ALL {
            assert!(
                ASKED.iter().any(|a| a.0 == task.word),
                "nothing is asked of {}",
                task.word
            );
        }
        for (task, _) in TASKS {
            assert!(
                ASKED.iter().any(|a| a.0 == *task),
                "nothing is asked of {task}"
            );
        }
        for (task, words) in ASKED {
            for (refrigerant, drive) in CARS {
                let told = caution(task, refrigerant, drive);
                let all = told.join("\n");
                for word in *words {
                    assert!(
                        all.contains(word),
                        "{task}, {refrigerant}, {drive:?}: “{word}” is missing in\n{all}"
                    );
                }
                assert_eq!(told.last(), Some(&FIRST_OF_ALL), "{task}");
                for sentence in &told {
                    assert!(
                        sentence.len() < 230 && sentence.ends_with('.'),
                        "{task}: {sentence}"
                    );
                    assert_eq!(
                        told.iter().filter(|s| *s == sentence).count(),
                        1,
                        "{task}: told twice: {sentence}"
                    );
                }
            }
        }
    }

    #[test]
    fn what_the_refrigerant_asks_stands_where_it_is_handled() {
        for task in tasks::ALL {
            let all = |refrigerant, drive| caution(task.word, refrigerant, drive).join("\n");
            let handled = !matches!(task.word, "isolation" | "fixings");
            assert_eq!(
                all("R-744", Drive::Belt)
                    .contains("ten times the pressure of R-134a. Rated hoses and gauges only."),
                handled,
                "{}",
                task.word
            );
            for refrigerant in ["R-1234yf", "R-152a"] {
                let told = all(refrigerant, Drive::Belt);
                assert_eq!(
                    told.contains(&format!("{refrigerant} is flammable"))
                        && told.contains("toxic products: no flame, no hot surface"),
                    handled,
                    "{}",
                    task.word
                );
            }
            let usual = all("R-134a", Drive::Belt);
            assert!(
                !usual.contains("R-744") && !usual.contains("is flammable"),
                "{}: {usual}",
                task.word
            );
        }
        for task in ["identification", "recovery", "charging", "leaks", "checks"] {
            assert!(
                caution(task, "R-1234yf", Drive::Belt).contains(&RATED)
                    && !caution(task, "R-134a", Drive::Belt).contains(&RATED),
                "{task}"
            );
        }
    }

    #[test]
    fn high_voltage_is_named_where_such_a_car_is_touched() {
        for task in [
            "recovery",
            "joints",
            "parts",
            "seals",
            "flush",
            "oil",
            "charging",
            "performance",
        ] {
            let named = |drive| {
                caution(task, "R-1234yf", drive)
                    .iter()
                    .any(|s| s.starts_with("High-voltage compressor"))
            };
            assert!(named(Drive::Electric), "{task}");
            assert!(!named(Drive::Belt), "{task}");
        }
    }
}
