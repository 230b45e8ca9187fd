//! No step of any remedy contradicts the state of the circuit: over generated timelines, all rules, and a model of the circuit that is not the program's own.
use super::support::answer;
use chillwright_calc::{
    UnitSystem,
    checks::{
        state::{HighVoltage, Inside, State},
        with_case,
    },
    parse,
    record::answer::{Finding, WorkStep},
};
use proptest::prelude::*;
use serde_json::{Value, json};

/// Something that people do, in whatever order.
#[derive(Debug, Clone)]
enum Deed {
    Identify(usize),
    Stand(bool),
    Isolate(u16),
    Recover(bool),
    Open(usize),
    Fit(usize, bool),
    Nitrogen(usize, u16, u16),
    LetIn(bool),
    Evacuate(bool),
    Vacuum(usize),
    Charge(bool, bool, u16),
    Check(bool, bool),
    Perform(bool),
    Flush,
    Oil(bool),
    Leak(bool),
    Fixing,
}

const GASES: [&str; 4] = [
    r#"{"R-134a":"99 %"}"#,
    r#"{"R-134a":"90 %","hydrocarbon":"8 %"}"#,
    r#"{"R-1234yf":"99.5 %"}"#,
    r#"{"R-134a":"92 %","R-12":"7 %"}"#,
];
const TEST_GASES: [&str; 3] = ["nitrogen", "air", "oxygen"];
const ROLES: [&str; 5] = [
    "evaporator",
    "condenser",
    "receiver-drier",
    "compressor",
    "hose",
];
/// Holds of a vacuum: still, leaking, rising deep down, on water, too few readings, not ended.
const VACUA: [(&str, &str, &str, bool); 6] = [
    ("0.5 inHg", "28 inHg vacuum", "28 inHg vacuum", true),
    ("0.5 inHg", "28 inHg vacuum", "24 inHg vacuum", true),
    ("1 micron", "300 micron", "700 micron", true),
    ("10 micron", "19840 micron", "19840 micron", true),
    ("10 micron", "2000 micron", "400 micron", true),
    ("0.5 inHg", "28 inHg vacuum", "28 inHg vacuum", false),
];

fn deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        (0..GASES.len()).prop_map(Deed::Identify),
        any::<bool>().prop_map(Deed::Stand),
        prop_oneof![Just(0_u16), Just(60), Just(61), Just(400)].prop_map(Deed::Isolate),
        any::<bool>().prop_map(Deed::Recover),
        (0..3_usize).prop_map(Deed::Open),
        (0..ROLES.len(), any::<bool>()).prop_map(|(role, used)| Deed::Fit(role, used)),
        (
            0..TEST_GASES.len(),
            prop_oneof![Just(150_u16), Just(300)],
            prop_oneof![Just(0_u16), Just(12)]
        )
            .prop_map(|(g, p, drop)| Deed::Nitrogen(g, p, drop)),
        any::<bool>().prop_map(Deed::LetIn),
        any::<bool>().prop_map(Deed::Evacuate),
        (0..VACUA.len()).prop_map(Deed::Vacuum),
        (any::<bool>(), any::<bool>(), 300..900_u16)
            .prop_map(|(weighed, other, g)| Deed::Charge(weighed, other, g)),
        (any::<bool>(), any::<bool>()).prop_map(|(finds, proved)| Deed::Check(finds, proved)),
        any::<bool>().prop_map(Deed::Perform),
        Just(Deed::Flush),
        any::<bool>().prop_map(Deed::Oil),
        any::<bool>().prop_map(Deed::Leak),
        Just(Deed::Fixing),
    ]
}

/// The test's own picture of the circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Model {
    inside: Inside,
    live: bool,
    electric: bool,
}

fn at(minute: usize) -> String {
    format!(
        "2026-05-{:02}T{:02}:{:02}:00Z",
        12 + minute / 1440,
        minute / 60 % 24,
        minute % 60
    )
}

fn push(record: &mut Value, section: &str, piece: Value) {
    match record.get_mut(section).and_then(Value::as_array_mut) {
        Some(list) => list.push(piece),
        None => record[section] = json!([piece]),
    }
}

#[derive(Debug, Clone)]
struct Shop {
    refrigerant: &'static str,
    electric: bool,
    in_work: bool,
    debris: bool,
    converted: bool,
}

fn shop() -> impl Strategy<Value = Shop> {
    (
        prop_oneof![
            Just("R-134a"),
            Just("R-1234yf"),
            Just("R-744"),
            Just("R-12"),
            Just("other")
        ],
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(|(refrigerant, electric, in_work, debris, converted)| Shop {
            refrigerant,
            electric,
            in_work,
            debris,
            converted,
        })
}

/// The record of a timeline, and what the circuit is after it.
fn lived(shop: &Shop, deeds: &[Deed]) -> (Value, Model) {
    let mut record = json!({ "version": 1, "site": { "elevation": "100 m" },
        "system": { "refrigerant": shop.refrigerant, "charge": "600 g", "compressor_drive": if shop.electric { "electric" } else { "belt" },
            "oil_type": "PAG 46", "oil_total": "120 mL", "compressor_failed": { "debris": shop.debris } },
        "joints": [{ "id": "j0", "place": "drier inlet", "opened": [] }, { "id": "j1", "place": "drier outlet", "opened": [] }, { "id": "j2", "place": "evaporator inlet", "opened": [] }] });
    if shop.converted {
        record["system"]["converted_from"] = json!("R-12");
    }
    if shop.in_work {
        record["stage"] = json!("in-work");
    }
    let mut model = Model {
        inside: Inside::Charged { known: false },
        live: shop.electric,
        electric: shop.electric,
    };
    let mut untouched = true;
    for (i, deed) in deeds.iter().enumerate() {
        step(
            &mut record,
            &mut model,
            &mut untouched,
            shop,
            i * 60,
            i,
            deed,
        );
    }
    (record, model)
}

fn step(
    record: &mut Value,
    model: &mut Model,
    untouched: &mut bool,
    shop: &Shop,
    minute: usize,
    i: usize,
    deed: &Deed,
) {
    let (now, later) = (at(minute), at(minute + 40));
    let charged = matches!(model.inside, Inside::Charged { .. });
    let of_known = model.inside == (Inside::Charged { known: true });
    let mut becomes = |inside: Inside| (model.inside, *untouched) = (inside, false);
    match deed {
        Deed::Identify(g) => push(
            record,
            "identification",
            json!({ "id": format!("id{i}"), "at": now, "gases": serde_json::from_str::<Value>(GASES[*g]).expect("JSON") }),
        ),
        Deed::Stand(empty) => {
            push(
                record,
                "standing",
                json!({ "id": format!("sp{i}"), "pressure": if *empty { "0 psig" } else { "90 psig" }, "ambient": "21 degC", "cold_soak": true, "at": now }),
            );
            if *empty && *untouched {
                model.inside = Inside::Empty;
            }
        }
        Deed::Isolate(volts) => {
            push(
                record,
                "isolation",
                json!({ "id": format!("hv{i}"), "at": now, "measured": format!("{volts} V") }),
            );
            model.live &= *volts > 60;
        }
        // Where a charge was weighed, all of it: what a part leaves behind is the ledger’s matter.
        Deed::Recover(much) => {
            let weighed = record["charging"]
                .as_array()
                .is_some_and(|all| all.iter().any(|c| c.get("after").is_some()));
            push(
                record,
                "recovery",
                json!({ "id": format!("r{i}"), "cylinder": "C-1", "refrigerant": shop.refrigerant, "before": "9 kg", "after": if weighed { "12 kg" } else if *much { "9.6 kg" } else { "9.2 kg" }, "at": now }),
            );
            becomes(Inside::Empty);
        }
        Deed::Open(joint) => {
            push(&mut record["joints"][*joint], "opened", json!(now));
            becomes(Inside::Open);
        }
        Deed::Fit(role, used) => {
            push(
                record,
                "parts",
                json!({ "id": format!("p{i}"), "role": ROLES[*role], "source": if *used { "salvaged" } else { "new" }, "fitted_at": now, "contains_desiccant": *role == 2, "joints": ["j0"] }),
            );
            becomes(Inside::Open);
        }
        Deed::Nitrogen(gas, psi, drop) => {
            let read = |at: &str, psi: u16| json!({ "at": at, "pressure": format!("{psi} psig"), "temperature": "22 degC" });
            push(
                record,
                "holds",
                json!({ "id": format!("n{i}"), "kind": "pressure", "gas": TEST_GASES[*gas], "ended_at": later, "gauge": { "id": "P-1", "resolution": "1 psi" }, "readings": [read(&now, *psi), read(&later, psi - drop)] }),
            );
            becomes(Inside::Nitrogen);
        }
        Deed::LetIn(air) => {
            push(
                record,
                "gas_let_in",
                json!({ "id": format!("g{i}"), "gas": if *air { "air" } else { "nitrogen" }, "at": now }),
            );
            model.inside = Inside::Nitrogen;
        }
        Deed::Evacuate(deep) => {
            push(
                record,
                "evacuations",
                json!({ "id": format!("e{i}"), "started_at": now, "ended_at": later, "coldest_metal": "22 degC", "gauge": { "resolution": "10 micron" }, "readings": [{ "at": later, "pressure": if *deep { "400 micron" } else { "40000 micron" } }] }),
            );
            becomes(Inside::Evacuated);
        }
        Deed::Vacuum(which) => {
            let (resolution, first, last, ended) = VACUA[*which];
            let mut hold = json!({ "id": format!("h{i}"), "kind": "vacuum", "gauge": { "id": "G-1", "resolution": resolution }, "readings": [
                { "at": now, "pressure": first, "temperature": "22 degC" }, { "at": later, "pressure": last, "temperature": "22 degC" }] });
            if ended {
                hold["ended_at"] = json!(later);
            }
            push(record, "holds", hold);
            // Nobody has pulled a vacuum on a circuit with refrigerant in it: what is inside stays what it was, and a standing pressure read later is not the
            // one that the car came with.
            becomes(if charged {
                Inside::Charged { known: of_known }
            } else {
                Inside::Evacuated
            });
        }
        Deed::Charge(weighed, other, g) => {
            let mut charge = json!({ "id": format!("ch{i}"), "refrigerant": if *other { "R-134a" } else { shop.refrigerant }, "at": now, "cylinder": "C-1", "left_in_hose": "0 g", "before": "9 kg" });
            if *weighed {
                charge["after"] = json!(format!("{} g", 9000 - g));
            }
            push(record, "charging", charge);
            let known = *weighed
                && matches!(
                    model.inside,
                    Inside::Evacuated | Inside::Charged { known: true }
                );
            (model.inside, *untouched) = (Inside::Charged { known }, false);
        }
        Deed::Check(finds, proved) => push(
            record,
            "leak_checks",
            json!({ "id": format!("c{i}"), "method": "electronic", "at": now, "sensitivity": "7 g/yr", "proved_on": if *proved { "reference leak" } else { "none" }, "places": ["j0", "j1", "j2"], "found": if *finds { json!(["j1"]) } else { json!([]) } }),
        ),
        Deed::Perform(warm) => {
            push(
                record,
                "performance",
                json!({ "id": format!("pf{i}"), "at": now, "ambient": "27 degC", "humidity": "50 %", "low_side": "32 psig", "high_side": if *warm { "320 psig" } else { "190 psig" }, "vent": if *warm { "23 degC" } else { "7 degC" } }),
            );
            // What runs under pressure has refrigerant in it, whatever is on record; how much, nobody knows.
            if !charged {
                model.inside = Inside::Charged { known: false };
            }
            model.live = model.electric;
        }
        Deed::Flush => push(
            record,
            "flushes",
            json!({ "section": "condenser to evaporator", "at": now, "by": "flushed" }),
        ),
        Deed::Oil(right) => push(
            record,
            "oil_added",
            json!({ "type": if *right { "PAG 46" } else { "mineral" }, "volume": "90 mL", "at": now }),
        ),
        Deed::Leak(repaired) => {
            let mut leak =
                json!({ "id": format!("l{i}"), "place": "j1", "found_by": "dye", "at": now });
            if *repaired {
                leak["repaired_at"] = json!(later);
            }
            push(record, "leaks", leak);
        }
        Deed::Fixing => push(
            record,
            "fixings",
            json!({ "id": format!("f{i}"), "place": "case", "kind": "improvised" }),
        ),
    }
}

/// A step in this state is safe, or why it is not; and the state after it.
fn done(model: Model, step: WorkStep) -> Result<Model, &'static str> {
    use WorkStep::{
        Accept, Charge, Check, Depressurise, Evacuate, Flush, Hold, Identify, Isolate, Measure,
        Nitrogen, Oil, OpenRepair, Record, Recover, RenewDesiccant,
    };
    let charged = matches!(model.inside, Inside::Charged { .. });
    let nitrogen = model.inside == Inside::Nitrogen;
    let becomes = |inside| Ok(Model { inside, ..model });
    match step {
        OpenRepair | Flush | RenewDesiccant | Oil if charged => Err("opens a charged circuit"),
        OpenRepair | Flush | RenewDesiccant | Oil if nitrogen => {
            Err("opens a circuit under nitrogen")
        }
        OpenRepair | Flush | RenewDesiccant | Oil if model.live => {
            Err("works near a live compressor")
        }
        Nitrogen if charged => Err("puts a charged circuit under nitrogen"),
        Evacuate if charged => Err("evacuates a charged circuit"),
        Evacuate if nitrogen => Err("evacuates a circuit under nitrogen"),
        Hold if model.inside != Inside::Evacuated => Err("holds what is not evacuated"),
        Charge
            if !matches!(
                model.inside,
                Inside::Evacuated | Inside::Charged { known: true }
            ) =>
        {
            Err("charges what is not empty and evacuated")
        }
        Check if !charged && !nitrogen => Err("looks for a leak with nothing inside"),
        Recover if !charged => Err("recovers from an empty circuit"),
        Depressurise if !nitrogen => Err("lets off what is not there"),
        OpenRepair | Flush | RenewDesiccant => becomes(Inside::Open),
        Nitrogen => becomes(Inside::Nitrogen),
        Evacuate => becomes(Inside::Evacuated),
        Charge => becomes(Inside::Charged { known: true }),
        Recover | Depressurise => becomes(Inside::Empty),
        Isolate => Ok(Model {
            live: false,
            ..model
        }),
        Oil | Hold | Check | Record | Identify | Measure | Accept => Ok(model),
    }
}

/// What the sentence itself tells first is no such thing either.
fn begins_badly(model: Model, says: &str) -> bool {
    let first = says
        .split(|c: char| !c.is_alphabetic())
        .next()
        .unwrap_or_default();
    let opens = [
        "Open",
        "Reopen",
        "Repair",
        "Fit",
        "Flush",
        "Renew",
        "Replace",
        "Evacuate",
        "Pressurise",
        "Put",
        "Warm",
    ]
    .contains(&first);
    let charged = matches!(model.inside, Inside::Charged { .. });
    opens && (charged || (model.inside == Inside::Nitrogen && first != "Evacuate"))
}

fn judged(model: Model, found: &Finding) -> Result<(), String> {
    if found.steps.is_empty() {
        return Err(format!("{}: no step", found.code));
    }
    let mut state = model;
    for step in &found.steps {
        state = done(state, *step).map_err(|why| {
            format!(
                "{} {:?} from {model:?} at {step:?} {why}: {}",
                found.code, found.steps, found.do_next
            )
        })?;
    }
    if begins_badly(model, &found.do_next) && found.steps[0] != WorkStep::Accept {
        return Err(format!(
            "{} {:?} from {model:?}: {}",
            found.code, found.steps, found.do_next
        ));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_step_contradicts_the_state(shop in shop(), deeds in prop::collection::vec(deed(), 1..14)) {
        let (record, model) = lived(&shop, &deeds);
        let parsed = parse(&record.to_string()).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let state = with_case(&parsed, UnitSystem::Si, |case| State::at(case, None));
        let live = state.high_voltage == HighVoltage::Live;
        prop_assert_eq!((state.inside, live), (model.inside, model.live), "the state after {:?}", deeds);
        let answer = answer(&record);
        for found in answer.findings.iter().chain(&answer.to_do) {
            if let Err(why) = judged(model, found) {
                prop_assert!(false, "{}", why);
            }
        }
        if let Some(next) = &answer.next {
            prop_assert!(done(model, next.step).is_ok(), "{:?} from {:?}", next, model);
        }
    }
}
