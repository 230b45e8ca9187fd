//! The record sheet: one line for each section in the order of the work, and what the work proves and does not.
use super::{
    case::Case,
    figures,
    ledger::Why,
    performance::{
        self,
        vent::{self, Basis, Cooling},
    },
    rules::{self, Section, rule_of, rules_out, scope, weighed_in},
    state::Inside,
    timeline::live,
};
use crate::{
    record::{
        Drive, Fixing, FixingKind, HoldKind, Identification, JobRecord, Leak, LeakCheck, Part,
        Performance, Port, Source, Standing,
        answer::{Assessment, ChargeIs, Finding, Verdict, Weight},
    },
    units::{LeakRate, Mass, Pressure, Quantity, Seconds, Temperature, show},
};

/// A section of the record sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetLine {
    /// Its key: `standing`, `recovery`, …
    pub section: &'static str,
    /// Its name on the page.
    pub title: &'static str,
    /// What is on record, in a sentence or two; empty where nothing is.
    pub says: String,
    /// The gravest finding about it.
    pub weight: Option<Weight>,
    /// Something is on record.
    pub on_record: bool,
    /// Something of it is still to do.
    pub to_do: bool,
}

/// The section that a rule speaks about; `None` for a rule that is no more.
pub fn section_of(code: &str) -> Option<Section> {
    rule_of(code).map(|rule| rule.section)
}

/// The sheet.
pub fn lines(case: &Case<'_>, findings: &[Finding]) -> Vec<SheetLine> {
    let to_do = if case.in_work() {
        rules::said(case).to_do
    } else {
        Vec::new()
    };
    let about = |section: Section| move |f: &&Finding| section_of(&f.code) == Some(section);
    Section::ALL
        .iter()
        .map(|section| {
            let says = says(case, *section);
            let weight = findings
                .iter()
                .filter(about(*section))
                .map(|f| f.weight)
                .min();
            let to_do = to_do
                .iter()
                .filter(about(*section))
                .any(|f| f.weight != Weight::Note);
            SheetLine {
                section: section.word(),
                title: section.title(),
                on_record: !says.is_empty(),
                says,
                weight,
                to_do,
            }
        })
        .collect()
}

fn says(case: &Case<'_>, section: Section) -> String {
    // Taken apart whole: an entry that the record gains does not compile before somebody says here where it is told.
    let JobRecord {
        standing: pressures,
        identification,
        parts: fitted,
        fixings,
        leaks: found,
        leak_checks,
        performance: cooling,
        performance_omitted,
        ports: service_ports,
        // Told with what the case makes of them.
        previous_charge: _,
        recovery: _,
        joints: _,
        oil_added: _,
        evacuations: _,
        holds: _,
        charging: _,
        // What findings answer for, not a section of their own.
        open_since: _,
        gas_let_in: _,
        isolation: _,
        flushes: _,
        desiccant_last_renewed: _,
        // What all of them rest on.
        version: _,
        stage: _,
        shop_units: _,
        limits: _,
        site: _,
        system: _,
    } = case.record;
    match section {
        Section::Standing => standing(case, pressures, identification),
        Section::Recovery => recovery(case),
        Section::Parts => parts(fitted, fixings),
        Section::Joints => joints(case),
        Section::Oil => oil(case),
        Section::Evacuation => evacuation(case),
        Section::Hold => hold(case),
        Section::Leaks => leaks(case, found, leak_checks),
        Section::Charge => charge(case),
        Section::Performance => performance(case, cooling, performance_omitted.as_deref()),
        Section::Ports => ports(service_ports),
    }
}

fn join(sentences: Vec<String>) -> String {
    sentences
        .into_iter()
        .filter(|s| !s.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

fn standing(case: &Case<'_>, pressures: &[Standing], gases: &[Identification]) -> String {
    let pressures = live(pressures, "standing").filter_map(|(_, _, s)| {
        let pressure = s.pressure.as_ref()?;
        let air = case.site.air(s.barometer.as_ref()).0.pressure;
        let at = s.ambient.as_ref().map(|t| format!(" at {}", show::temperature(t.si(), case.units))).unwrap_or_default();
        let cold = if s.cold_soak == Some(true) { ", system cold" } else { "" };
        let refrigerant = case.record.system.refrigerant;
        let own = figures::standing_of(case, s).map(|f| {
            let saturation = case.voice(pressure).pressure(f.saturation_pa, air.pa());
            if s.cold_soak != Some(true) {
                format!(" {refrigerant} at that temperature would read {saturation}; with the system not cold that tells little.")
            } else if f.excess_pa > f.allowed_pa {
                format!(" That is more than {refrigerant} should read ({saturation}): air or another gas is inside.")
            } else if f.excess_pa > -f.allowed_pa {
                format!(" That is what {refrigerant} should read ({saturation}): liquid is present and there is no sign of air.")
            } else {
                format!(" With liquid inside {refrigerant} would read {saturation}: there is no liquid left.")
            }
        });
        let told = case.voice(pressure).pressure(pressure.si().absolute(air).pa(), air.pa());
        Some(format!("{told}{at}{cold}.{}", own.unwrap_or_default()))
    });
    let gases = live(gases, "identification").map(|(_, _, x)| {
        let gases: Vec<String> = x
            .gases
            .iter()
            .map(|(gas, share)| format!("{gas} {}", share.text()))
            .collect();
        let air = x
            .air
            .as_ref()
            .map(|a| format!(", air {}", a.text()))
            .unwrap_or_default();
        let sealant = match x.sealant {
            Some(true) => ", leak sealant found",
            Some(false) => ", no sealant",
            None => "",
        };
        format!("Identified: {}{air}{sealant}.", gases.join(", "))
    });
    join(pressures.chain(gases).collect())
}

fn recovery(case: &Case<'_>) -> String {
    if case.recoveries.is_empty() {
        return String::new();
    }
    let f = figures::of(case);
    let mass = |kg: f64| show::mass(Mass::new(kg), case.units);
    let out = f.recovered_kg.map_or_else(
        || "Recovered, not weighed.".to_owned(),
        |kg| format!("{} recovered.", mass(kg)),
    );
    let lost = f.loss.lost_kg.filter(|l| *l > 0.005).map(|l| {
        let rate = f
            .loss
            .kg_per_year
            .map(|r| format!(", about {}", show::leak_rate(LeakRate::new(r), case.units)))
            .unwrap_or_default();
        format!("{} had been lost{rate}.", mass(l))
    });
    let over = case
        .target
        .zip(f.loss.over_kg)
        .filter(|(t, over)| *over > t.tolerance_kg + case.limits.loss_margin.kg());
    let over =
        over.map(|(_, over)| format!("That is {} more than it should have held.", mass(over)));
    join(vec![out, lost.or(over).unwrap_or_default()])
}

fn parts(parts: &[Part], fixings: &[Fixing]) -> String {
    let parts = live(parts, "parts").map(|(_, _, p)| {
        let donor = p
            .donor
            .as_ref()
            .filter(|_| p.source == Some(Source::Salvaged))
            .and_then(|d| {
                let car = d
                    .vehicle
                    .as_deref()
                    .map(|v| format!(" out of a {v}"))
                    .unwrap_or_default();
                d.yard.as_deref().map(|y| format!("{car} from {y}"))
            });
        let fitted = if p.fitted_at.is_some() {
            ""
        } else {
            ", not fitted yet"
        };
        let name = super::case::part_name(p);
        let mut letters = name.chars();
        let name = letters
            .next()
            .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect());
        format!(
            "{}{}{fitted}.",
            if p.source == Some(Source::Salvaged) {
                name.replace("Salvaged", "Used")
            } else {
                name
            },
            donor.unwrap_or_default()
        )
    });
    let improvised = live(fixings, "fixings")
        .filter(|(_, _, f)| f.kind == Some(FixingKind::Improvised))
        .count();
    let fixing = match improvised {
        0 => String::new(),
        1 => "One fixing is improvised.".into(),
        n => format!("{n} fixings are improvised."),
    };
    join(parts.chain([fixing]).collect())
}

fn joints(case: &Case<'_>) -> String {
    let opened: Vec<_> = case.joints.iter().filter(|j| j.concerned).collect();
    if opened.is_empty() {
        return String::new();
    }
    let places = |list: Vec<&str>| list.join(", ");
    let renewed: Vec<&str> = opened
        .iter()
        .filter(|j| {
            j.seal
                .as_ref()
                .is_some_and(|(_, s)| s.renewed == Some(true))
        })
        .map(|j| j.place.as_str())
        .collect();
    let refitted: Vec<&str> = opened
        .iter()
        .filter(|j| {
            j.seal
                .as_ref()
                .is_some_and(|(_, s)| s.renewed != Some(true))
        })
        .map(|j| j.place.as_str())
        .collect();
    let without: Vec<&str> = opened
        .iter()
        .filter(|j| j.seal.is_none())
        .map(|j| j.place.as_str())
        .collect();
    let mut all = vec![format!(
        "{} opened.",
        if opened.len() == 1 {
            "One joint".to_owned()
        } else {
            format!("{} joints", opened.len())
        }
    )];
    if !renewed.is_empty() {
        all.push(format!("New seal: {}.", places(renewed)));
    }
    if !refitted.is_empty() {
        all.push(format!("Old seal refitted: {}.", places(refitted)));
    }
    if !without.is_empty() {
        all.push(format!("No seal on record: {}.", places(without)));
    }
    join(all)
}

fn oil(case: &Case<'_>) -> String {
    let f = super::oil::figures(case);
    let volume = |v: f64| show::volume(crate::units::Volume::new(v), case.units);
    let called = f
        .due_low_m3
        .zip(f.due_high_m3)
        .filter(|_| f.due_usual_m3.is_some_and(|d| d > 0.0));
    let called = called.map(|(low, high)| match high - low < 1e-9 {
        true => format!("Parts and recovery call for {}.", volume(low)),
        false => format!(
            "Parts and recovery call for {} to {}.",
            volume(low),
            volume(high)
        ),
    });
    let moved = match (f.removed_m3, f.added_m3) {
        (None, None) if called.is_some() => "No oil is recorded.".to_owned(),
        (None, None) => String::new(),
        (removed, added) => format!(
            "{} came out, {} went in.",
            removed.map_or_else(|| "Nothing recorded".to_owned(), volume),
            added.map_or_else(|| "nothing recorded".to_owned(), volume)
        ),
    };
    join(vec![moved, called.unwrap_or_default()])
}

fn evacuation(case: &Case<'_>) -> String {
    let Some(e) = case.last_evacuation() else {
        return String::new();
    };
    let time = e
        .figures
        .duration_s
        .map(|s| format!(" for {}", show::duration_so_far(Seconds::new(s))))
        .unwrap_or_default();
    let voice = case.voice_of_evacuation(e);
    let reached = e.figures.lowest_pa.map_or_else(
        || ", no reading".to_owned(),
        |p| format!(" to {}", voice.depth(p, e.air.pressure.pa())),
    );
    let boils = e.figures.water_boils_at_k.map(|k| {
        format!(
            "Water boils at {} at that depth",
            show::temperature(Temperature::new(k), case.units)
        )
    });
    let metal = e
        .metal
        .map(|t| format!("; the metal was {}", show::temperature(t, case.units)))
        .unwrap_or_default();
    let boils = boils.map(|b| format!("{b}{metal}.")).unwrap_or_default();
    let air = figures::charge(case)
        .air_left_kg
        .map(|kg| format!("It left {} of air.", show::mass(Mass::new(kg), case.units)))
        .unwrap_or_default();
    join(vec![
        format!("Evacuated{time}{reached}."),
        boils,
        air,
        e.figures
            .stale_because
            .clone()
            .map(|s| format!("It no longer counts. {s}"))
            .unwrap_or_default(),
    ])
}

fn hold(case: &Case<'_>) -> String {
    let Some(h) = case
        .holds
        .iter()
        .filter(|h| h.start.is_some())
        .max_by_key(|h| h.start)
    else {
        return String::new();
    };
    let answer = super::talk::hold(case, h);
    join(vec![
        answer.says,
        answer.why,
        h.figures
            .stale_because
            .clone()
            .map(|s| format!("It no longer counts. {s}"))
            .unwrap_or_default(),
    ])
}

fn leaks(case: &Case<'_>, leaks: &[Leak], checks: &[LeakCheck]) -> String {
    let leaks = live(leaks, "leaks").map(|(_, _, l)| {
        let place = case.place(l.place.as_deref().unwrap_or("a place that is not recorded"));
        let by = l
            .found_by
            .as_deref()
            .map(|b| format!(", found by {b}"))
            .unwrap_or_default();
        format!(
            "Leak at {place}{by}: {}.",
            if l.repaired_at.is_some() {
                "dealt with"
            } else {
                "still there"
            }
        )
    });
    let checks = live(checks, "leak_checks").map(|(_, _, c)| {
        let places = match c.places.len() {
            1 => "1 place".to_owned(),
            n => format!("{n} places"),
        };
        let how = c.method.map_or_else(
            || "checked".to_owned(),
            |m| format!("checked {}", checked_with(m)),
        );
        let set = c
            .sensitivity
            .as_ref()
            .map(|s| format!("set to {}", show::leak_rate(s.si(), case.units)));
        let proved = (c.proved_on == Some(crate::record::ProvedOn::ReferenceLeak))
            .then(|| "proved on a reference leak".to_owned());
        let facts: Vec<String> = set.into_iter().chain(proved).collect();
        let facts = if facts.is_empty() {
            String::new()
        } else {
            format!(" ({})", facts.join(", "))
        };
        let found: Vec<String> = c.found.iter().map(|p| case.place(p)).collect();
        let found = if found.is_empty() {
            "no leak found".to_owned()
        } else {
            format!("leak at {}", found.join(", "))
        };
        format!("{places} {how}{facts}: {found}.")
    });
    join(leaks.chain(checks).collect())
}

fn checked_with(method: crate::record::Method) -> &'static str {
    use crate::record::Method::{Bubbles, Dye, Electronic, Other, Ultrasonic};
    match method {
        Electronic => "with an electronic detector",
        Dye => "with dye and a lamp",
        Bubbles => "with soapy water",
        Ultrasonic => "with an ultrasonic detector",
        Other => "another way",
    }
}

fn charge(case: &Case<'_>) -> String {
    if case.charges.is_empty() {
        return String::new();
    }
    let refrigerant = case.record.system.refrigerant;
    let weighed: Option<f64> = case.charges.iter().map(|c| c.net_kg).sum();
    let net = match (case.net(), weighed) {
        (Some(net), _) => format!("{} of {refrigerant} by weight.", weighed_in(case, net)),
        (None, None) => format!("{refrigerant} charged, not weighed."),
        (None, Some(kg)) if !matches!(case.state().inside, Inside::Charged { .. }) => {
            format!(
                "{} of {refrigerant} went in, and is not inside any more.",
                show::mass(Mass::new(kg), case.units)
            )
        }
        (None, Some(kg)) => format!(
            "{} of {refrigerant} went in; how much is inside is not known.",
            show::mass(Mass::new(kg), case.units)
        ),
    };
    let target = case.target.map(|t| {
        format!(
            "{} {} ± {}.",
            if t.instead { "In force:" } else { "Label:" },
            show::mass(Mass::new(t.kg), case.units),
            show::mass(Mass::new(t.tolerance_kg), case.units)
        )
    });
    join(vec![net, target.unwrap_or_default()])
}

fn performance(case: &Case<'_>, readings: &[Performance], omitted: Option<&str>) -> String {
    let Some((_, _, p)) = live(readings, "performance").max_by_key(|(_, _, p)| p.at) else {
        return omitted
            .map(|w| format!("Not measured: {w}"))
            .unwrap_or_default();
    };
    let t = |q: &Option<crate::units::Quantity<Temperature>>| {
        q.as_ref().map(|t| show::temperature(t.si(), case.units))
    };
    let ambient = t(&p.ambient)
        .map(|a| format!("{a} outside"))
        .unwrap_or_default();
    let humidity = p
        .humidity
        .as_ref()
        .map(|h| format!(", {} humidity", show::fraction(h.si())))
        .unwrap_or_default();
    let air = case.site.air(p.barometer.as_ref()).0.pressure;
    let read = |q: &Quantity<Pressure>| case.voice(q).pressure(q.si().absolute(air).pa(), air.pa());
    let pressures = p
        .low_side
        .as_ref()
        .zip(p.high_side.as_ref())
        .map(|(l, h)| format!(": low side {}, high side {}", read(l), read(h)))
        .unwrap_or_default();
    let vent = t(&p.vent)
        .map(|v| format!(", vent {v}"))
        .unwrap_or_default();
    let right = vent_right(case, p)
        .map(|says| format!(" {says}"))
        .unwrap_or_default();
    let water = performance::water_in_the_air(case, p).unwrap_or_default();
    let points = performance::points_to(case, p)
        .into_iter()
        .filter(|x| x.fault)
        .map(|x| format!("{} ({})", x.points.trim_end_matches('.'), x.from) + ".");
    join(
        [
            format!("{ambient}{humidity}{pressures}{vent}.{right}"),
            water,
        ]
        .into_iter()
        .chain(points)
        .collect(),
    )
}

/// How warm the vent may be on such a day, in a sentence; nothing where it was not measured.
fn vent_right(case: &Case<'_>, p: &Performance) -> Option<String> {
    p.vent.as_ref()?;
    let shown = |k: f64| show::temperature_to(Temperature::new(k), 1, case.units);
    Some(match vent::bounds(case, p) {
        Some(b) if b.basis == Basis::Table => {
            format!("On a day like this up to {} is right.", shown(b.right_k))
        }
        Some(b) => {
            format!(
                "Makers’ tables do not reach this weather; by the heat in the air up to {} is right, above {} is warm.",
                shown(b.right_k),
                shown(b.warm_k)
            )
        }
        None if p.humidity.is_none() => "Without the humidity the vent is not judged.".into(),
        None => "In such weather the vent is not judged.".into(),
    })
}

fn ports(ports: &[Port]) -> String {
    let told = live(ports, "ports").map(|(_, _, p)| {
        let side = p.side.map_or("service", crate::record::Side::word);
        let cap = p
            .cap
            .map(|c| if c { "cap on" } else { "no cap" })
            .unwrap_or("cap not recorded");
        let core = p
            .core
            .map(|c| format!(", core {}", c.word()))
            .unwrap_or_default();
        let mut letters = side.chars();
        let side: String = letters
            .next()
            .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect());
        format!("{side} side: {cap}{core}.")
    });
    join(told.collect())
}

/// What the work proves, and what it does not.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Proof {
    /// Sentences without "that".
    pub proves: Vec<String>,
    /// The same.
    pub does_not: Vec<String>,
    /// What the hold by itself shows, with its number.
    pub hold: Option<String>,
}

/// What the record and its assessment prove, for the customer's report.
pub fn proof(case: &Case<'_>, assessment: &Assessment) -> Proof {
    let has = |code: &str| assessment.findings.iter().any(|f| f.code == code);
    let mut proof = Proof::default();
    match case.charge_is() {
        Some(_) if has("wrong-refrigerant") => proof
            .does_not
            .push("That the charge is right: it is not the refrigerant on the label.".into()),
        Some(ChargeIs::Right) if !has("charge-missing") => {
            proof.proves.push("The charge is right by weight.".into())
        }
        Some(ChargeIs::CannotTell) => proof
            .does_not
            .push("That the charge is right: it was not weighed finely enough to tell.".into()),
        Some(_) => proof
            .does_not
            .push("That the charge is right: it differs from what it should be.".into()),
        None if case.ledger.unknown() == Some(Why::ToppedUp) => proof.does_not.push(
            "That the charge is right: it was topped up, and how much was inside is not known."
                .into(),
        ),
        None => proof
            .does_not
            .push("That the charge is right: it was not weighed against a known charge.".into()),
    }
    let (proves, says) = cooled(case, assessment);
    if proves {
        proof.proves.push(says)
    } else {
        proof.does_not.push(says)
    }
    let current = case.current_evacuations();
    match current.last().and_then(|e| e.figures.dries) {
        Some(true) => proof
            .proves
            .push("The vacuum was deep enough for water to boil off.".into()),
        _ => proof.does_not.push("That the circuit is dry.".into()),
    }
    let checks: Vec<_> = live(&case.record.leak_checks, "leak_checks")
        .filter(|(_, _, c)| {
            c.found.is_empty()
                && c.sensitivity.is_some()
                && c.proved_on == Some(crate::record::ProvedOn::ReferenceLeak)
        })
        .collect();
    match checks.last() {
        Some((_, _, c)) if !has("leak-found") => {
            let rate = c
                .sensitivity
                .as_ref()
                .map(|s| show::leak_rate(s.si(), case.units))
                .unwrap_or_default();
            proof.proves.push(format!(
                "At rest, none of the {} places that we checked leaks more than {rate}.",
                c.places.len()
            ));
            proof.does_not.push(
                "That the joints we did not check, the hoses and the compressor are tight.".into(),
            );
        }
        _ => proof
            .does_not
            .push("That there is no slow leak: nothing that was done would find one.".into()),
    }
    if let Some(h) = case
        .current_holds()
        .into_iter()
        .rfind(|h| h.says == Verdict::Held)
    {
        let by_itself = if h.kind == Some(HoldKind::Vacuum) {
            "The vacuum hold by itself shows little. "
        } else {
            ""
        };
        proof.hold = rules_out(case, h).map(|s| format!("{by_itself}{s} {}", scope(h.kind)));
    }
    proof.does_not.push("That it holds on the road as it does at rest: a running high side loses 3 to 7 times as much through the same hole.".into());
    proof
}

/// Whether it is shown that it cools, and the sentence: only a vent that was judged, under conditions that are on record, shows it.
fn cooled(case: &Case<'_>, assessment: &Assessment) -> (bool, String) {
    let has = |code: &str| {
        assessment
            .findings
            .iter()
            .chain(&assessment.to_do)
            .any(|f| f.code == code)
    };
    let not = |why: &str| {
        (
            false,
            if why.is_empty() {
                "That it cools as it should.".to_owned()
            } else {
                format!("That it cools as it should: {why}.")
            },
        )
    };
    let Some((_, p)) =
        performance::counted(case).filter(|_| !emptied_since(case) && !has("performance-missing"))
    else {
        return not("");
    };
    match vent::judged(case, p) {
        Cooling::Warm => return not("the air at the vent was warm"),
        Cooling::NotJudged if p.vent.is_none() => {
            return not("the air at the vent was not measured");
        }
        Cooling::NotJudged if p.humidity.is_none() || p.ambient.is_none() => {
            return not("without temperature and humidity outside the vent cannot be judged");
        }
        Cooling::NotJudged => return not("in such weather the vent cannot be judged"),
        Cooling::Between => {
            return not("in such weather it cannot be told whether the vent was cold enough");
        }
        Cooling::Right => {}
    }
    if ["cooling-fault", "high-side-limit", "liquid-at-compressor"]
        .into_iter()
        .any(has)
    {
        return not("the air was cold, but the pressures point to a fault");
    }
    let belt = case.record.system.compressor_drive != Some(Drive::Electric);
    let missing: Vec<&str> = [
        (p.engine.is_none() && belt, "the engine’s speed"),
        (
            p.blower.as_deref().is_none_or(|b| b.trim().is_empty()),
            "the blower’s step",
        ),
        (p.recirculation.is_none(), "recirculation on or off"),
        (p.doors_open.is_none(), "doors open or closed"),
    ]
    .into_iter()
    .filter_map(|(missing, what)| missing.then_some(what))
    .collect();
    match missing.split_last() {
        None => (
            true,
            "It cooled as it should on the day when it was measured.".into(),
        ),
        Some((last, [])) => not(&format!("{last} was not recorded")),
        Some((last, rest)) => not(&format!("{} and {last} were not recorded", rest.join(", "))),
    }
}

/// Refrigerant was recovered after the last charge: what was weighed and measured before says nothing of the circuit now.
fn emptied_since(case: &Case<'_>) -> bool {
    case.last_charge().is_some_and(|c| {
        case.recoveries
            .iter()
            .enumerate()
            .any(|(i, r)| r.at > c.at && !case.ledger.is_part(i))
    })
}
