//! The car of the whole job, as it is typed: the demo makes its orders of it, and the tests drive it through router and browser.

/// Names and values of a form.
pub type Fields = &'static [(&'static str, &'static str)];

/// One entry at the bench.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// The task.
    pub task: &'static str,
    /// Minutes after the first entry; `None` where the form asks for no time.
    pub minute: Option<i64>,
    /// What is typed.
    pub fields: Fields,
    /// Further times that are typed, in minutes after the first entry.
    pub times: &'static [(&'static str, i64)],
}

const fn step(task: &'static str, minute: i64, fields: Fields) -> Step {
    Step {
        task,
        minute: Some(minute),
        fields,
        times: &[],
    }
}

/// The label of the car: expansion valve, 600 g of R-134a.
pub const LABEL: Fields = &[
    ("refrigerant", "R-134a"),
    ("charge", "600"),
    ("charge_unit", "g"),
    ("tolerance", "25"),
    ("oil_type", "PAG 46"),
    ("oil_total", "120"),
    ("volume", "2.5"),
    ("compressor_drive", "belt"),
    ("metering", "expansion-valve"),
    ("evaporators", "1"),
];

/// Found, recovered and opened; three of four seals are on record.
pub const OPENED: &[Step] = &[
    step(
        "standing",
        0,
        &[
            ("pressure", "70"),
            ("unit", "psi"),
            ("ambient", "21"),
            ("cold", "yes"),
        ],
    ),
    step(
        "identification",
        10,
        &[
            ("gas", "R-134a"),
            ("share", "99.6"),
            ("air", "0.3"),
            ("sealant", "no"),
        ],
    ),
    Step {
        task: "leaks",
        minute: Some(20),
        fields: &[("place", "evaporator core"), ("found_by", "dye")],
        times: &[("repaired", 90)],
    },
    step(
        "recovery",
        30,
        &[
            ("cylinder", "C-03"),
            ("refrigerant", "R-134a"),
            ("before", "11.20"),
            ("after", "11.58"),
            ("mass_unit", "kg"),
            ("oil", "10"),
        ],
    ),
    step(
        "joints",
        40,
        &[
            ("joints", "new:drier inlet"),
            ("joints", "new:drier outlet"),
            ("joints", "new:evaporator inlet"),
            ("joints", "new:evaporator outlet"),
        ],
    ),
    step(
        "seals",
        70,
        &[
            ("seal.j1.state", "new"),
            ("seal.j2.state", "new"),
            ("seal.j3.state", "new"),
            ("lubricant", "mineral oil"),
            ("torque", "10"),
        ],
    ),
];

/// A used evaporator, a new drier and a clip nut.
pub const FITTED: &[Step] = &[
    step(
        "parts",
        90,
        &[
            ("role", "evaporator"),
            ("source", "salvaged"),
            ("fitted", "yes"),
            ("desiccant", "no"),
            ("ports", "capped"),
            ("joints", "j3"),
            ("joints", "j4"),
            ("yard", "Northfell Dismantlers"),
            ("vehicle", "2010 Tarn Vela"),
            ("vin", "11111111111111111"),
            ("stock", "N-20417"),
            ("pulled_on", "2026-05-04"),
            ("receipt", "5531"),
            ("oil_drained", "20"),
            ("oil_added", "30"),
        ],
    ),
    step(
        "parts",
        95,
        &[
            ("role", "receiver-drier"),
            ("source", "new"),
            ("fitted", "yes"),
            ("joints", "j1"),
            ("joints", "j2"),
        ],
    ),
    Step {
        task: "fixings",
        minute: None,
        fields: &[
            ("place", "case, lower left"),
            ("kind", "improvised"),
            ("note", "clip nut"),
            ("look_again_on", "2026-11-12"),
        ],
        times: &[],
    },
];

/// 565 g out of the cylinder, 10 g of it left in the hose.
pub const CHARGED: Step = step(
    "charging",
    220,
    &[
        ("refrigerant", "R-134a"),
        ("cylinder", "C-01"),
        ("before", "9.845"),
        ("after", "9.280"),
        ("hose", "0.01"),
        ("mass_unit", "kg"),
    ],
);

/// How it cools: well.
pub const MEASURED: Step = step(
    "performance",
    250,
    &[
        ("ambient", "27"),
        ("humidity", "50"),
        ("low", "32"),
        ("high", "190"),
        ("unit", "psi"),
        ("vent", "7"),
        ("engine", "1500"),
        ("blower", "high"),
        ("recirculation", "yes"),
        ("doors", "no"),
    ],
);

/// Both caps with their seals, both cores tight.
pub const CAPPED: Step = Step {
    task: "ports",
    minute: None,
    fields: &[
        ("low.cap", "yes"),
        ("low.core", "tight"),
        ("high.cap", "yes"),
        ("high.core", "tight"),
    ],
    times: &[],
};

/// Fields with some of them typed otherwise, and what else is typed.
pub fn but<'a>(
    fields: &[(&'a str, &'a str)],
    other: &[(&'a str, &'a str)],
) -> Vec<(&'a str, &'a str)> {
    let kept = fields
        .iter()
        .filter(|(name, _)| !other.iter().any(|(o, _)| o == name));
    kept.chain(other).copied().collect()
}
