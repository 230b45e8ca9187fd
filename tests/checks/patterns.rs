//! The table of readings in `records/patterns.txt`, each with the pattern that an expert names or none. It was written before the rules.
use chillwright_calc::{
    UnitSystem,
    checks::{
        performance::{
            Decided,
            pattern::{Pattern, ROWS, points},
            signs::Signs,
        },
        with_case,
    },
    parse,
    record::answer::WorkStep,
};
use serde_json::{Value, json};

/// A line of the table.
pub struct Row {
    pub line: &'static str,
    pub wanted: Option<&'static str>,
    pub record: Value,
}

fn set(record: &mut Value, key: &str, text: &str) {
    if !text.is_empty() {
        record[key] = json!(text);
    }
}

/// The record of a line: a car that was evacuated and charged, with what is known of the charge and of air besides.
fn record(cells: &[&'static str]) -> Value {
    let [
        gas,
        metering,
        ambient,
        humidity,
        low,
        high,
        vent,
        suction,
        liquid,
        besides,
        ..,
    ] = cells[..]
    else {
        panic!("{cells:?}")
    };
    let mut system = json!({ "refrigerant": gas, "charge": "600 g", "charge_tolerance": "25 g", "compressor_drive": "belt", "internal_volume": "2.5 L" });
    match metering {
        "valve" => system["metering"] = json!("expansion-valve"),
        "orifice" => system["metering"] = json!("orifice-tube"),
        _ => {}
    }
    let mut reading = json!({ "id": "pf1", "at": "2026-05-12T10:40:00Z" });
    for (key, text) in [
        ("ambient", ambient),
        ("humidity", humidity),
        ("low_side", low),
        ("high_side", high),
        ("vent", vent),
        ("suction_line", suction),
        ("liquid_line", liquid),
    ] {
        set(&mut reading, key, text);
    }
    let known: Vec<&str> = besides
        .split(',')
        .map(str::trim)
        .filter(|k| !k.is_empty())
        .collect();
    let is = |word: &str| known.contains(&word);
    if is("fresh") {
        reading["recirculation"] = json!(false);
    }
    if is("doors") {
        reading["doors_open"] = json!(true);
    }
    let mut record = json!({ "version": 1, "site": { "barometer": "101.325 kPa abs" }, "system": system, "performance": [reading] });
    let grams = [("right", 600), ("short", 480), ("over", 720)]
        .into_iter()
        .find_map(|(word, g)| is(word).then_some(g));
    if let Some(grams) = grams {
        record["evacuations"] = json!([{ "id": "e1", "started_at": "2026-05-12T09:00:00Z", "ended_at": "2026-05-12T09:40:00Z" }]);
        record["charging"] = json!([{ "id": "c1", "refrigerant": gas, "at": "2026-05-12T10:10:00Z", "scale": { "resolution": "1 g" }, "before": "10 kg",
            "after": format!("{} kg", f64::from(10_000 - grams) / 1e3), "left_in_hose": "0 g" }]);
    }
    if is("air") || is("no air") {
        let air = if is("air") { "4 %" } else { "0.2 %" };
        record["identification"] = json!([{ "id": "i1", "at": "2026-05-12T10:30:00Z", "gases": { gas: "95 %" }, "air": air }]);
    }
    record
}

/// The whole table.
pub fn table() -> Vec<Row> {
    include_str!("records/patterns.txt")
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .map(|line| {
            let cells: Vec<&str> = line.split('|').map(str::trim).collect();
            assert_eq!(cells.len(), 12, "{line}");
            assert!(!cells[11].is_empty(), "who says so: {line}");
            let wanted = Some(cells[10]).filter(|w| *w != "none");
            assert!(
                wanted.is_none_or(|w| Pattern::ALL.iter().any(|p| p.word() == w)),
                "{line}"
            );
            Row {
                line,
                wanted,
                record: record(&cells),
            }
        })
        .collect()
}

#[test]
fn each_reading_has_the_pattern_that_an_expert_names() {
    let table = table();
    assert!(table.len() >= 60, "{}", table.len());
    let mut wrong = Vec::new();
    for row in &table {
        let record = parse(&row.record.to_string()).unwrap_or_else(|e| panic!("{}: {e}", row.line));
        with_case(&record, UnitSystem::Si, |case| {
            let p = &case.record.performance[0];
            let found = Decided::of(case, p).map(|d| d.pattern.word());
            if found != row.wanted {
                let signs = Signs::of(case, p);
                wrong.push(format!(
                    "{}\n    {found:?}: {signs:?}\n    {:?}",
                    row.line,
                    points(&signs).map(|(p, n)| format!("{} {n}", p.word()))
                ));
            }
        });
    }
    assert!(
        wrong.is_empty(),
        "{} of {}:\n{}",
        wrong.len(),
        table.len(),
        wrong.join("\n")
    );
}

/// No sign is there for nothing: each row of points is at work in some reading of the table.
#[test]
fn each_sign_is_seen_in_some_reading() {
    let signs: Vec<Signs> = table()
        .iter()
        .map(|row| {
            with_case(
                &parse(&row.record.to_string()).expect("a record"),
                UnitSystem::Si,
                |case| Signs::of(case, &case.record.performance[0]),
            )
        })
        .collect();
    let idle: Vec<_> = ROWS
        .iter()
        .filter(|r| !signs.iter().any(|s| (r.there)(s)))
        .map(|r| format!("{} {}: {}", r.pattern.word(), r.points, r.from))
        .collect();
    assert!(idle.is_empty(), "{idle:#?}");
}

/// Every pattern is named in the table, and makes a finding with that word, its own first step and no advice that the record rules out.
#[test]
fn a_pattern_makes_a_finding() {
    let table = table();
    for pattern in Pattern::ALL {
        let rows: Vec<_> = table
            .iter()
            .filter(|r| r.wanted == Some(pattern.word()))
            .collect();
        assert!(rows.len() >= 3, "{}: {}", pattern.word(), rows.len());
    }
    for row in &table {
        // Without any work there is nothing to find: these readings have at least a recovery of nothing before them. What runs under pressure holds
        // refrigerant all the same.
        let mut record = row.record.clone();
        if record.get("charging").is_none() {
            record["recovery"] = json!([{ "id": "r1", "at": "2026-05-12T08:00:00Z", "before": "10 kg", "after": "10 kg" }]);
        }
        let findings = super::support::answer(&record).findings;
        let told = findings
            .iter()
            .find(|f| f.code == "vent-warm" || f.code == "cooling-fault")
            .and_then(|f| f.values.get("pattern"))
            .and_then(Value::as_str);
        let by_the_scale = findings.iter().any(|f| f.code == "charge-mismatch");
        assert!(
            told == row.wanted || (told.is_none() && by_the_scale),
            "{}: {told:?}",
            row.line
        );
        for finding in findings.iter().filter(|f| f.values.contains_key("pattern")) {
            let before = |step: WorkStep| finding.steps.iter().position(|s| *s == step);
            let opens = [WorkStep::OpenRepair, WorkStep::Evacuate]
                .into_iter()
                .filter_map(before)
                .min();
            assert!(
                opens.is_none_or(|opens| before(WorkStep::Recover).is_some_and(|out| out < opens)),
                "{}: {:?}",
                row.line,
                finding.steps
            );
            let steps = std::iter::once(&finding.do_next).chain(std::iter::once(&finding.says));
            assert!(
                steps
                    .into_iter()
                    .all(|s| !s.contains("null") && s.ends_with('.')),
                "{}: {finding:?}",
                row.line
            );
        }
    }
}
