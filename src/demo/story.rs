//! What happens in the invented shop: an order for every state that a car can be in.
use super::{DemoError, hand::Hand};
use crate::shop::PersonId;

/// A car of the story: plate, model, year, owner, telephone, complaint.
type Car = (&'static str, &'static str, &'static str, &'static str, &'static str, &'static str);

const CARS: [Car; 10] = [
    ("KD 41 TVL", "Tarn Vela 1.4", "2009", "Odile Brandt", "0555 0199", "Warm air since spring, worse every week."),
    ("WB 07 ORS", "Orsk Pello", "2006", "Jun Aldana", "0555 0133", "It blows warm after ten minutes."),
    ("LM 52 KES", "Keswin 200", "2011", "Mara Toft", "0555 0121", "Filled up last summer, warm again."),
    ("TR 19 VEL", "Tarn Vela 1.6", "2012", "Ilan Corrie", "0555 0116", "Since the bump at the front nothing cools."),
    ("HN 33 DOV", "Dovre Estate", "2008", "Pia Sundin", "0555 0184", "A hiss behind the dashboard."),
    ("QA 60 MIR", "Mirto City", "2010", "Ewan Blyth", "0555 0167", "Cools on the motorway only."),
    ("PS 28 ORS", "Orsk Pello GT", "2007", "Lena Varga", "0555 0150", "Warm, and the drain smells."),
    ("FG 74 KES", "Keswin 300", "2013", "Oskar Reen", "0555 0172", "Does not cool at all."),
    ("YU 15 TVL", "Tarn Vela van", "2009", "Bo Hallam", "0555 0108", "Only wants to know why."),
    ("CE 88 DOV", "Dovre Estate", "2005", "Nina Prest", "0555 0159", "Rattles when it is switched on."),
];

/// How far a car has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Stage {
    Opened,
    Authorised,
    CircuitOpen,
    HoldRuns,
    HoldFailed,
    Charged,
    SentBack,
    Conceded,
    HandedOver,
}

/// Tells the story; people are owner, technician, desk with their codes.
pub async fn tell(hand: &mut Hand, people: [(PersonId, &str); 3]) -> Result<(), DemoError> {
    use Stage::*;
    let [owner, technician, desk] = people;
    let stages = [HandedOver, Conceded, SentBack, Charged, HoldFailed, HoldRuns, CircuitOpen, Authorised, Opened, Opened];
    hand.be(desk).await?;
    hand.wait(10);
    for (car, stage) in CARS.iter().zip(stages) {
        counter(hand, car, stage).await?;
        hand.wait(3);
    }
    hand.be(technician).await?;
    hand.wait(240);
    for (i, stage) in stages.into_iter().enumerate().filter(|(_, s)| *s >= CircuitOpen) {
        bench(hand, 412 + i as i64, stage).await?;
        hand.wait(4);
    }
    hand.be(owner).await?;
    decide(hand, 412, "evacuation-does-not-dry", "accept", "The drier is new and takes up the remaining moisture. We recheck in November.").await?;
    decide(hand, 412, "improvised-fixing", "accept", "Firm by hand. A new case is not worth it on this car.").await?;
    decide(hand, 413, "evacuation-does-not-dry", "accept", "The drier is new; good enough for this car.").await?;
    decide(hand, 413, "improvised-fixing", "accept", "Seen, it holds.").await?;
    decide(hand, 414, "evacuation-does-not-dry", "back", "Borrow the electronic gauge and evacuate once more.").await?;
    hand.be(desk).await?;
    leave(hand).await
}

async fn counter(hand: &mut Hand, car: &Car, stage: Stage) -> Result<(), DemoError> {
    let (plate, model, year, name, telephone, complaint) = *car;
    let order = hand
        .send(
            "/intake",
            &[
                ("plate", plate),
                ("description", model),
                ("year", year),
                ("name", name),
                ("telephone", telephone),
                ("complaint", complaint),
                ("refrigerant", "R-134a"),
                ("charge", "600"),
                ("tolerance", "25"),
                ("charge_unit", "g"),
                ("oil_type", "PAG 46"),
                ("oil_total", "120"),
                ("volume", "2.5"),
                ("compressor_drive", "belt"),
                ("metering", "expansion-valve"),
                ("evaporators", "1"),
            ],
        )
        .await?;
    if stage < Stage::Authorised {
        return Ok(());
    }
    let mut lines = vec![
        ("labour", "", "Replace evaporator and drier, evacuate and charge", "6.5", "h", "56"),
        ("part", "new", "Receiver-drier", "1", "pieces", "42"),
        ("refrigerant", "", "Refrigerant R-134a", "600", "100 g", "8.50"),
    ];
    lines.push(("part", "salvaged", "Evaporator", "1", "pieces", "70"));
    for (kind, source, says, quantity, unit, price) in lines {
        let mut fields = vec![("kind", kind), ("source", source), ("says", says), ("quantity", quantity), ("unit", unit), ("price", price), ("tax", "10")];
        let today = hand.ago(0)[..10].to_owned();
        if kind == "part" {
            fields.push(("ordered_on", &today));
            if stage > Stage::Authorised {
                fields.push(("arrived_on", &today));
            }
        }
        hand.send(&format!("{order}/estimate/lines"), &fields).await?;
    }
    hand.send(&format!("{order}/authorisations"), &[("amount", "640"), ("given_by", name), ("how", "in-person")]).await?;
    Ok(())
}

struct Bench<'a> {
    hand: &'a mut Hand,
    order: String,
}

impl Bench<'_> {
    /// Keeps a task, so many minutes ago.
    async fn task(&mut self, word: &str, ago: i64, fields: &[(&str, &str)]) -> Result<String, DemoError> {
        let at = self.hand.ago(ago);
        let mut all = fields.to_vec();
        // A fixing and a cap are there or not; nobody asks since when.
        if !matches!(word, "fixings" | "ports") {
            all.push(("at", &at));
        }
        self.hand.send(&format!("{}/bench/{word}", self.order), &all).await
    }

    async fn reading(&mut self, hold: &str, ago: i64, number: &str, metal: &str) -> Result<(), DemoError> {
        let at = self.hand.ago(ago);
        let mut fields = vec![("reading", number), ("at", at.as_str())];
        // An evacuation asks for no temperature with a reading.
        fields.extend(Some(("metal", metal)).filter(|_| !metal.is_empty()));
        self.hand.send(&format!("{hold}/readings"), &fields).await.map(|_| ())
    }

    async fn end(&mut self, hold: &str, ago: i64) -> Result<(), DemoError> {
        let at = self.hand.ago(ago);
        self.hand.send(&format!("{hold}/end"), &[("ended", &at)]).await.map(|_| ())
    }
}

async fn bench(hand: &mut Hand, order: i64, stage: Stage) -> Result<(), DemoError> {
    let mut b = Bench { hand, order: format!("/orders/{order}") };
    b.task("standing", 230, &[("pressure", "70"), ("unit", "psi"), ("ambient", "21"), ("cold", "yes")]).await?;
    b.task("identification", 225, &[("gas", "R-134a"), ("share", "99.6"), ("air", "0.3"), ("sealant", "no")]).await?;
    let repaired = b.hand.ago(140);
    b.task("leaks", 220, &[("place", "evaporator core"), ("found_by", "dye"), ("repaired", &repaired)]).await?;
    b.task(
        "recovery",
        210,
        &[("cylinder", "C-03"), ("refrigerant", "R-134a"), ("before", "11.20"), ("after", "11.58"), ("mass_unit", "kg"), ("scale", "S-1"), ("oil", "10")],
    )
    .await?;
    let joints = ["drier inlet", "drier outlet", "evaporator inlet", "evaporator outlet"].map(|j| format!("new:{j}"));
    let joints: Vec<(&str, &str)> = joints.iter().map(|j| ("joints", j.as_str())).collect();
    b.task("joints", 200, &joints).await?;
    let sealed = if stage == Stage::CircuitOpen { 3 } else { 4 };
    let names: Vec<String> = (1..=sealed).map(|n| format!("seal.j{n}.state")).collect();
    let mut seals: Vec<(&str, &str)> = names.iter().map(|n| (n.as_str(), "new")).collect();
    seals.extend([("lubricant", "mineral oil"), ("torque", "10")]);
    b.task("seals", 160, &seals).await?;
    let evaporator = [
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
        ("pulled_on", "2026-01-04"),
        ("receipt", "5531"),
        ("oil_drained", "20"),
        ("oil_added", "30"),
    ];
    b.task("parts", 140, &evaporator).await?;
    b.task("parts", 135, &[("role", "receiver-drier"), ("source", "new"), ("fitted", "yes"), ("joints", "j1"), ("joints", "j2")]).await?;
    b.task("fixings", 130, &[("place", "case, lower left"), ("kind", "improvised"), ("note", "clip nut"), ("look_again_on", "2027-05-12")]).await?;
    if stage == Stage::CircuitOpen {
        return Ok(());
    }
    closed(&mut b, stage).await
}

async fn closed(b: &mut Bench<'_>, stage: Stage) -> Result<(), DemoError> {
    let evacuation = b.task("evacuation", 120, &[("gauge", "G-2"), ("metal", "22")]).await?;
    b.reading(&evacuation, 78, "28", "").await?;
    b.end(&evacuation, 78).await?;
    let runs = stage == Stage::HoldRuns;
    let begun = if runs { 9 } else { 77 };
    let hold = b.task("hold", begun, &[("kind", "vacuum"), ("gauge", "G-2")]).await?;
    b.reading(&hold, begun, "28", "22").await?;
    if runs {
        return b.reading(&hold, 4, "28", "22").await;
    }
    b.reading(&hold, 57, if stage == Stage::HoldFailed { "26" } else { "28" }, "22").await?;
    b.end(&hold, 57).await?;
    if stage == Stage::HoldFailed {
        return Ok(());
    }
    b.task(
        "charging",
        50,
        &[("refrigerant", "R-134a"), ("cylinder", "C-01"), ("before", "9.845"), ("after", "9.240"), ("hose", "0.01"), ("mass_unit", "kg"), ("scale", "S-1")],
    )
    .await?;
    b.task(
        "performance",
        30,
        &[
            ("ambient", "27"),
            ("humidity", "50"),
            ("low", "33"),
            ("high", "192"),
            ("unit", "psi"),
            ("vent", "9"),
            ("engine", "1500"),
            ("blower", "high"),
            ("recirculation", "yes"),
            ("doors", "no"),
        ],
    )
    .await?;
    if stage > Stage::Charged {
        b.task(
            "checks",
            15,
            &[
                ("method", "electronic"),
                ("instrument", "D-1"),
                ("proved", "reference leak"),
                ("places", "j1"),
                ("places", "j2"),
                ("places", "j3"),
                ("places", "j4"),
            ],
        )
        .await?;
        b.task("ports", 10, &[("low.cap", "yes"), ("low.core", "tight"), ("high.cap", "yes"), ("high.core", "tight")]).await?;
    }
    Ok(())
}

/// The owner decides on a finding as Review shows it.
async fn decide(hand: &mut Hand, order: i64, code: &str, decision: &str, words: &str) -> Result<(), DemoError> {
    let action = hand.decision_on(order, code).await?;
    hand.send(&action, &[("decision", decision), ("words", words)]).await.map(|_| ())
}

/// One car is billed and paid and leaves as repaired; one leaves diagnosed only; one order is cancelled.
async fn leave(hand: &mut Hand) -> Result<(), DemoError> {
    hand.send("/orders/412/notes", &[("says", "Odile Brandt asks for a call before five.")]).await?;
    hand.send("/orders/412/invoice", &[]).await?;
    hand.send("/orders/412/payments", &[("kind", "payment"), ("amount", "583.00"), ("how", "card")]).await?;
    let sentence = "Your car cools again. The evaporator was leaking. We fitted a used one and a new drier and recharged the system.";
    hand.send("/orders/412/handover", &[("way", "repaired"), ("sentence", sentence), ("look_again_on", "2027-05-12")]).await?;
    hand.send("/orders/420/handover", &[("way", "diagnosed-only"), ("sentence", "Diagnosis only. No tests were recorded.")]).await?;
    hand.send("/orders/421/cancel", &[("why", "The customer sold the car.")]).await.map(|_| ())
}
