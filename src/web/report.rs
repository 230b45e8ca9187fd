//! The customer's report: what was found, done, measured, and what that proves. A draft until the car is handed over; then as it was printed.
use super::{
    Ctx, Fault, Form, Page,
    access::Access,
    bench::Scene,
    form::Typed,
    order::ring_of,
    route::{Route, get},
};
use crate::shop::OrderState;
use crate::{
    shop::{
        Way,
        instant::show_date,
        written::{self, told},
    },
    store::{
        StoreError, assessment,
        evidence::{self, Body, Piece},
        handovers, people,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::extract::{Path, Query};
use chillwright_calc::{
    checks::{
        assess_case,
        performance::vent::{self, Basis},
        sheet::proof,
        timeline::live,
    },
    record::{
        Charging, Donor, Fixing, FixingKind, FlushedBy, Hold, HoldKind, LeakCheck, Method, Part,
        ProvedOn, Reading, Source,
        answer::{Finding, Weight},
    },
    units::{Mass, Quantity, Temperature, show},
};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/orders/{number}/report", Access::STAFF, show)]
}

/// Every sentence of a report.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Report {
    shop: String,
    shop_line: String,
    order: i64,
    date: String,
    customer: String,
    address: String,
    car: String,
    plate: String,
    vin: String,
    odometer: String,
    came: String,
    left: String,
    workers: Vec<String>,
    sentence: String,
    way: String,
    accepted: String,
    look_again_on: Option<String>,
    complaint: String,
    found: Vec<String>,
    done: Vec<String>,
    measured: Vec<Measured>,
    proves: Vec<String>,
    does_not: Vec<String>,
    hold: Option<String>,
    used_parts: Vec<String>,
    fixings: Vec<String>,
    concessions: Vec<Accepted>,
    refrigerant: Vec<Refrigerant>,
    open_findings: Vec<String>,
    warranty: String,
    care: String,
    declined: Vec<String>,
    rules: String,
    audit_head: String,
    ring: String,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Measured {
    what: String,
    was: String,
    should: String,
    with: String,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Accepted {
    says: String,
    words: String,
    by: String,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Refrigerant {
    what: String,
    when: String,
    mass: String,
    cylinder: String,
}

/// The report as it is frozen.
pub fn frozen(report: &Report) -> Result<Value, Fault> {
    serde_json::to_value(report).map_err(|e| Fault::Own(Box::new(e)))
}

impl Report {
    /// Of an order as it stands; a draft where no way out is given.
    pub async fn of(
        ctx: &Ctx,
        scene: &Scene,
        out: Option<(Way, String, Option<String>)>,
    ) -> Result<Self, Fault> {
        let order = &scene.order;
        let (concessions, workers, everybody, address) = {
            let mut conn = ctx.app.store.read().await?;
            let customer = crate::store::customers::customer(&mut conn, order.customer).await?;
            (
                assessment::concessions(&mut conn, order.id).await?,
                evidence::workers(&mut conn, order.id).await?,
                people::all(&mut conn).await?,
                customer.map(|c| c.address).unwrap_or_default(),
            )
        };
        let account = super::account::Account::of(ctx, order).await?;
        let declined = account
            .lines
            .iter()
            .filter(|l| l.declined_at.is_some())
            .map(|l| {
                format!(
                    "Not done at your request{}: {}.",
                    l.declined_at
                        .map(|at| format!(" on {}", ctx.zone.day(at)))
                        .unwrap_or_default(),
                    l.says
                )
            })
            .collect();
        let (proof, refrigerant, ring, answer) = scene.ask_as_ready(ctx, |case| {
            let answer = assess_case(case);
            (
                proof(case, &answer),
                refrigerant(ctx, case),
                ring_of(ctx, scene, case, &[], true).svg(),
                answer,
            )
        });
        // Accepted before sentences were kept in both units: as long as it holds, the finding says the same.
        let said = |c: &assessment::Concession| {
            let now = answer
                .findings
                .iter()
                .find(|f| c.says_us.is_empty() && f.code == c.code && f.about == c.about);
            now.map_or_else(|| c.said(ctx.units).to_owned(), |f| f.says.clone())
        };
        let way = out.as_ref().map(|o| o.0);
        let live: Vec<_> = concessions.iter().filter(|c| c.lapsed.is_none()).collect();
        let accepted = match (way, live.len()) {
            (Some(Way::Repaired), 1) => "The workshop owner accepted one exception in writing. See “Accepted in writing” below.".to_owned(),
            (Some(Way::Repaired), n) if n > 1 => format!("The workshop owner accepted {n} exceptions in writing. See “Accepted in writing” below."),
            _ => String::new(),
        };
        let certificate = |id| {
            everybody
                .iter()
                .find(|p| p.id == id)
                .filter(|p| !p.certificate.is_empty())
                .map(|p| {
                    format!(
                        ", certificate {}{}",
                        p.certificate,
                        p.certificate_until
                            .as_deref()
                            .map(|d| format!(", valid to {}", show_date(d)))
                            .unwrap_or_default()
                    )
                })
                .unwrap_or_default()
        };
        let look_again_on = out.as_ref().and_then(|o| o.2.clone());
        Ok(Self {
            shop: ctx.shop.name.clone(),
            shop_line: [ctx.shop.address.clone(), ctx.shop.telephone.clone()]
                .into_iter()
                .filter(|s| !s.is_empty())
                .collect::<Vec<_>>()
                .join(" · "),
            order: order.number,
            date: ctx.zone.date(ctx.now),
            customer: order.customer_name.clone(),
            address,
            car: order.car_and_year(),
            plate: order.plate.clone(),
            vin: order.vin.clone(),
            odometer: order
                .odometer
                .map(|o| format!("{o} {}", order.odometer_unit))
                .unwrap_or_default(),
            came: ctx.zone.date_and_clock(order.opened_at),
            left: if way.is_some() {
                ctx.zone.date_and_clock(ctx.now)
            } else {
                String::new()
            },
            workers: workers
                .iter()
                .map(|(id, name)| format!("{name}{}", certificate(*id)))
                .collect(),
            sentence: out.as_ref().map(|o| o.1.clone()).unwrap_or_default(),
            way: way
                .map(|w| format!("Handed over: {}.", w.says()))
                .unwrap_or_default(),
            accepted,
            look_again_on: look_again_on.as_deref().map(show_date),
            complaint: order.complaint.clone(),
            found: found(ctx, scene),
            done: done(ctx, scene),
            measured: measured(ctx, scene),
            proves: proof.proves,
            does_not: proof.does_not,
            hold: proof.hold,
            used_parts: used_parts(scene),
            fixings: fixings(ctx, scene, &live),
            // An improvised fixing is told once, with what was accepted of it.
            concessions: live
                .iter()
                .filter(|c| c.code != "improvised-fixing")
                .map(|c| Accepted {
                    says: said(c),
                    words: c.words.clone(),
                    by: accepted_by(ctx, c),
                })
                .collect(),
            refrigerant,
            open_findings: if way == Some(Way::Repaired) {
                Vec::new()
            } else {
                // What was accepted and what was improvised is told in its own place, once.
                let elsewhere = |f: &Finding| {
                    f.code == "improvised-fixing"
                        || live.iter().any(|c| c.covers(&f.code, &f.about))
                };
                answer
                    .findings
                    .iter()
                    .filter(|f| {
                        f.weight != Weight::Note
                            && !elsewhere(f)
                            && !(way.is_some() && f.code == "nothing-done")
                    })
                    .map(|f| f.says.clone())
                    .collect()
            },
            warranty: if way.is_none() || way == Some(Way::Repaired) {
                ctx.shop.warranty.clone()
            } else {
                String::new()
            },
            care: care(way).into(),
            declined,
            rules: answer.rules.clone(),
            audit_head: String::new(),
            ring,
        })
    }
}

/// What the driver has to mind.
fn care(way: Option<Way>) -> &'static str {
    match way {
        Some(Way::MadeSafe) => {
            "The refrigerant has been recovered and the system is closed. Do not switch the air conditioning on. Do not have it refilled before the work on it is done."
        }
        _ => {
            "The AC system may be under pressure even with the engine off. If the air gets warm again, come back. Do not have it refilled before the leak has been found."
        }
    }
}

fn line(ctx: &Ctx, scene: &Scene, section: &str) -> Vec<String> {
    scene
        .sheet(ctx)
        .into_iter()
        .filter(|l| l.section == section && l.on_record)
        .map(|l| l.says)
        .collect()
}

fn found(ctx: &Ctx, scene: &Scene) -> Vec<String> {
    ["standing", "recovery", "leaks"]
        .iter()
        .flat_map(|s| line(ctx, scene, s))
        .collect()
}

/// What was done, and at which places.
type Done = (String, Vec<String>);

/// What was done, day by day; what was done at several places is said once.
fn done(ctx: &Ctx, scene: &Scene) -> Vec<String> {
    let mut days: Vec<(String, Vec<Done>)> = Vec::new();
    let mut dated: Vec<&Piece> = scene.pieces.iter().filter(|p| p.at.is_some()).collect();
    dated.sort_by_key(|p| p.at);
    for piece in dated {
        let Some((verb, what)) = deed(scene, piece) else {
            continue;
        };
        let day = piece.at.map(|at| ctx.zone.day(at)).unwrap_or_default();
        if days.last().is_none_or(|d| d.0 != day) {
            days.push((day, Vec::new()));
        }
        let Some((_, deeds)) = days.last_mut() else {
            continue;
        };
        match deeds.iter_mut().find(|d| d.0 == verb) {
            Some((_, places)) if !places.contains(&what) => places.push(what),
            Some(_) => {}
            None => deeds.push((verb, vec![what])),
        }
    }
    let said = |(verb, places): Done| {
        format!("{verb} {}", places.join(", "))
            .trim_end()
            .to_owned()
    };
    days.into_iter()
        .map(|(day, deeds)| {
            format!(
                "{day}: {}.",
                deeds.into_iter().map(said).collect::<Vec<_>>().join("; ")
            )
        })
        .collect()
}

/// What was done, and at which place or to what. Nothing for what was only found, or says how something was done: that stands elsewhere on the report.
fn deed(scene: &Scene, piece: &Piece) -> Option<(String, String)> {
    let place = || {
        piece
            .parent
            .and_then(|id| scene.pieces.iter().find(|p| p.id == id))
            .map(|p| p.body.place().to_owned())
            .unwrap_or_default()
    };
    let plain = |verb: &str| (verb.to_owned(), String::new());
    Some(match &piece.body {
        Body::Recovery(_) => plain("refrigerant recovered"),
        Body::Isolation(_) => plain("high voltage isolated"),
        Body::Opening(_) => ("opened".into(), place()),
        Body::Part(part) => ("fitted".into(), written::a_part(part)),
        Body::Seal(seal) => (
            if seal.renewed == Some(true) {
                "new seals at"
            } else {
                "seals inspected at"
            }
            .into(),
            place(),
        ),
        Body::Flush(flush) => (
            flush.by.map_or("", FlushedBy::word).into(),
            flush.section.clone().unwrap_or_default(),
        ),
        Body::Oil(oil) => {
            let volume = oil
                .volume
                .as_ref()
                .map(|v| told(v.text()))
                .unwrap_or_default();
            (
                "oil added:".into(),
                format!("{volume} {}", oil.oil_type.as_deref().unwrap_or_default()),
            )
        }
        Body::Evacuation(_) => plain("evacuated"),
        Body::Hold(hold) => (
            format!("{} hold", hold.kind.map_or("", HoldKind::word)),
            String::new(),
        ),
        Body::Charging(charging) if weighed(charging) => plain("charged by weight"),
        Body::Charging(_) => plain("charged, not weighed"),
        Body::LeakCheck(check) => (
            format!("{} leak check", check.method.map_or("", Method::word)),
            String::new(),
        ),
        Body::Performance(_) => plain("cooling performance measured"),
        Body::Site(_)
        | Body::System(_)
        | Body::PreviousCharge(_)
        | Body::OpenSince(_)
        | Body::GasLetIn(_)
        | Body::Standing(_)
        | Body::Identification(_)
        | Body::Leak(_)
        | Body::Desiccant(_)
        | Body::Joint(_)
        | Body::Fixing(_)
        | Body::Reading(_)
        | Body::PerformanceOmitted(_)
        | Body::Port(_) => return None,
    })
}

/// Whether a charge is known by weight: by the cylinder before and after, or by cans.
fn weighed(charging: &Charging) -> bool {
    !charging.cans.is_empty() || (charging.before.is_some() && charging.after.is_some())
}

fn gauge(piece: &Piece) -> String {
    let gauge = piece.body.gauge();
    let mark = gauge.and_then(|g| g.id.clone());
    let resolution = gauge
        .and_then(|g| g.resolution.as_ref())
        .map(ToString::to_string);
    let barometer = piece.body.barometer().map(|b| format!("barometer {b}"));
    [mark, resolution, barometer]
        .into_iter()
        .flatten()
        .filter(|s| !s.is_empty())
        .collect::<Vec<_>>()
        .join(", ")
}

/// What a gauge showed, as it was typed.
fn shown(reading: &Reading) -> &str {
    reading.pressure.as_ref().map_or("", Quantity::text)
}

fn measured(ctx: &Ctx, scene: &Scene) -> Vec<Measured> {
    let mut all = Vec::new();
    let duration = |s: Option<f64>| {
        s.map(|s| {
            format!(
                ", {}",
                show::duration(chillwright_calc::units::Seconds::new(s))
            )
        })
        .unwrap_or_default()
    };
    scene.ask(ctx, |case| {
        for e in &case.evacuations {
            let Some(piece) = scene.piece(&e.id) else {
                continue;
            };
            let last = scene
                .each_under(piece)
                .last()
                .map(|(_, r)| told(shown(r)))
                .unwrap_or_default();
            let should = chillwright_calc::checks::rules::needed(case, e)
                .zip(e.metal)
                .map(|(needed, metal)| {
                    format!(
                        "{}, to dry at {}",
                        needed.on_gauge.unwrap_or(needed.exact),
                        show::temperature(metal, ctx.units)
                    )
                })
                .unwrap_or_default();
            all.push(Measured {
                what: format!("Evacuation{}", duration(e.figures.duration_s)),
                was: last,
                should,
                with: gauge(piece),
            });
        }
        for h in &case.holds {
            let Some(piece) = scene.piece(&h.id) else {
                continue;
            };
            let mut readings: Vec<(&Piece, &Reading)> = scene.each_under(piece).collect();
            readings.sort_by_key(|(r, _)| r.at);
            let was = match (readings.first(), readings.last()) {
                (Some((_, a)), Some((_, b))) if shown(a) == shown(b) => {
                    format!("{}, no change", told(shown(a)))
                }
                (Some((_, a)), Some((_, b))) => format!("{} to {}", told(shown(a)), told(shown(b))),
                _ => String::new(),
            };
            let pressed = piece
                .get::<Hold>()
                .is_some_and(|hold| hold.kind == Some(HoldKind::Pressure));
            let kind = if pressed {
                "Pressure hold"
            } else {
                "Vacuum hold"
            };
            all.push(Measured {
                what: format!("{kind}{}", duration(h.figures.duration_s)),
                was,
                should: "no change".into(),
                with: gauge(piece),
            });
        }
        if let Some(ppm) = chillwright_calc::checks::figures::charge(case)
            .air_left_ppm
            .filter(|_| !case.charges.is_empty())
        {
            all.push(Measured {
                what: "Air left in the system".into(),
                was: format!("{} ppm of the charge", show::significant(ppm, 2)),
                should: format!("at most {:.0}", case.limits.air_left.one() * 1e6),
                with: "calculated from the vacuum".into(),
            });
        }
        if let Some(net) = case.net() {
            let should = case
                .target
                .map(|t| {
                    format!(
                        "{} ± {}",
                        show::mass(Mass::new(t.kg), ctx.units),
                        show::mass(Mass::new(t.tolerance_kg), ctx.units)
                    )
                })
                .unwrap_or_default();
            let scale = case
                .charges
                .last()
                .and_then(|c| c.entry.scale.clone())
                .map(|s| {
                    [
                        s.id.unwrap_or_default(),
                        s.resolution
                            .map(|r| r.text().to_owned())
                            .unwrap_or_default(),
                    ]
                    .join(" ")
                })
                .unwrap_or_default();
            let was = chillwright_calc::checks::rules::weighed_in(case, net);
            all.push(Measured {
                what: format!("Charge, {}", scene.refrigerant()),
                was,
                should,
                with: scale,
            });
        }
        all.extend(how_it_cooled(ctx, case));
    });
    for (_, check) in scene.each::<LeakCheck>() {
        let (found, places) = (check.found.len(), check.places.len());
        let proved = if check.proved_on == Some(ProvedOn::ReferenceLeak) {
            ", proved on a reference leak that day"
        } else {
            ""
        };
        let shows = check
            .sensitivity
            .as_ref()
            .map(|s| told(s.text()))
            .unwrap_or_default();
        all.push(Measured {
            what: format!(
                "Leak check, {}, {places} places",
                check.method.map_or("", Method::word)
            ),
            was: if found == 0 {
                "no leak found".into()
            } else {
                format!("{found} leaks found")
            },
            should: "no leak".into(),
            with: format!("{shows}{proved}"),
        });
    }
    all
}

/// The latest performance reading: the vent against what it may be in the weather of that same reading, and the pressures.
fn how_it_cooled(ctx: &Ctx, case: &chillwright_calc::checks::case::Case<'_>) -> Vec<Measured> {
    let Some((_, _, p)) =
        live(&case.record.performance, "performance").max_by_key(|(_, _, p)| p.at)
    else {
        return Vec::new();
    };
    let degrees = |k: f64| show::temperature_to(Temperature::new(k), 1, ctx.units);
    let should = match vent::bounds(case, p) {
        Some(b) if b.basis == Basis::Table => format!("{} or less", degrees(b.right_k)),
        Some(b) => format!(
            "{} or less; warm above {}",
            degrees(b.right_k),
            degrees(b.warm_k)
        ),
        None => "not judged".into(),
    };
    let conditions = [
        p.ambient
            .as_ref()
            .map(|t| format!("{} outside", show::temperature(t.si(), ctx.units))),
        p.humidity
            .as_ref()
            .map(|h| format!("{} humidity", show::fraction(h.si()))),
        p.engine.map(|rpm| format!("{rpm} rpm")),
        p.blower
            .as_deref()
            .filter(|b| !b.is_empty())
            .map(|b| format!("blower {b}")),
        p.recirculation
            .map(|r| format!("recirculation {}", if r { "on" } else { "off" })),
        p.doors_open
            .map(|open| format!("doors {}", if open { "open" } else { "closed" })),
    ];
    let with = conditions
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", ");
    let vent = p.vent.as_ref().map(|vent| Measured {
        what: "Air at the vent".into(),
        was: show::temperature(vent.si(), ctx.units),
        should,
        with,
    });
    let text = |q: &Option<
        chillwright_calc::units::Quantity<chillwright_calc::units::Pressure>,
    >| q.as_ref().map(|q| q.text().to_owned());
    let sides: Vec<String> = [text(&p.low_side), text(&p.high_side)]
        .into_iter()
        .flatten()
        .collect();
    let pressures = (!sides.is_empty()).then(|| Measured {
        what: "Pressures at the time".into(),
        was: sides.join(" and "),
        should: "for information".into(),
        with: String::new(),
    });
    vent.into_iter().chain(pressures).collect()
}

fn used_parts(scene: &Scene) -> Vec<String> {
    scene
        .each::<Part>()
        .filter(|(_, part)| part.source == Some(Source::Salvaged) && part.fitted_at.is_some())
        .map(|(_, part)| {
            let Donor {
                yard,
                vehicle,
                vin,
                stock,
                pulled_on,
                receipt,
            } = part.donor.clone().unwrap_or_default();
            let told = [
                ("from a ", vehicle),
                ("VIN ", vin),
                ("dismantled by ", yard),
                ("stock ", stock),
                (
                    "pulled on ",
                    pulled_on.map(|day| show_date(&day.to_string())),
                ),
                ("receipt ", receipt),
            ];
            let told = told
                .into_iter()
                .filter_map(|(k, v)| Some(format!("{k}{}", v.filter(|v| !v.is_empty())?)))
                .collect::<Vec<_>>()
                .join(", ");
            let ports = part
                .ports
                .map(|p| format!(" Ports on arrival: {p}."))
                .unwrap_or_default();
            format!(
                "Used {}: {told}.{ports}",
                part.role.map_or("", written::role)
            )
        })
        .collect()
}

/// The owner's words, name and time; and where it is so, that it was the one who did the work.
fn accepted_by(ctx: &Ctx, c: &assessment::Concession) -> String {
    format!(
        "{}, {}{}",
        c.name,
        ctx.zone.date_and_clock(c.at),
        if c.did_the_work {
            "; accepted by the person who did it"
        } else {
            ""
        }
    )
}

fn fixings(ctx: &Ctx, scene: &Scene, concessions: &[&assessment::Concession]) -> Vec<String> {
    scene
        .each::<Fixing>()
        .filter(|(_, fixing)| fixing.kind == Some(FixingKind::Improvised))
        .map(|(f, fixing)| {
            let note = fixing
                .note
                .as_ref()
                .filter(|n| !n.is_empty())
                .map(|n| format!(": {n}"))
                .unwrap_or_default();
            let again = |day: String| {
                format!(
                    " Please bring the car back by {} so that we can recheck it.",
                    show_date(&day)
                )
            };
            let again = fixing
                .look_again_on
                .map(|day| again(day.to_string()))
                .unwrap_or_default();
            let accepted = concessions
                .iter()
                .find(|c| c.code == "improvised-fixing" && c.about == f.mark)
                .map(|c| format!(" “{}” {}.", c.words, accepted_by(ctx, c)))
                .unwrap_or_default();
            format!("{}{note}.{again}{accepted}", f.body.place())
        })
        .collect()
}

fn refrigerant(ctx: &Ctx, case: &chillwright_calc::checks::case::Case<'_>) -> Vec<Refrigerant> {
    let when = |ms: Option<i64>| {
        ms.map(|ms| ctx.zone.date(crate::shop::Instant(ms)))
            .unwrap_or_default()
    };
    let mass = |kg: Option<f64>| {
        kg.map_or_else(
            || "not weighed".to_owned(),
            |kg| show::mass(Mass::new(kg), ctx.units),
        )
    };
    let out = case.recoveries.iter().map(|r| {
        let entry = case
            .record
            .recovery
            .iter()
            .find(|x| x.id.as_deref() == Some(&r.id));
        let oil = entry
            .and_then(|e| e.oil.as_ref())
            .map(|o| format!(", with {} of oil", o.text()))
            .unwrap_or_default();
        Refrigerant {
            what: format!("Recovered{oil}"),
            when: when(r.at.map(|a| a.ms)),
            mass: mass(r.kg),
            cylinder: entry
                .and_then(|e| e.cylinder.clone())
                .map(|c| format!("into {c}"))
                .unwrap_or_default(),
        }
    });
    let back = case.charges.iter().map(|c| Refrigerant {
        what: "Charged".into(),
        when: when(c.at.map(|a| a.ms)),
        mass: mass(c.net_kg),
        cylinder: c
            .entry
            .cylinder
            .clone()
            .filter(|c| !c.is_empty())
            .map(|c| format!("from {c}"))
            .unwrap_or_default(),
    });
    out.chain(back).collect()
}

#[derive(Template, WebTemplate)]
#[template(path = "report/page.html")]
pub struct ReportPage {
    page: Page,
    draft: bool,
    earlier: Vec<i64>,
    superseded: bool,
    r: Report,
    reopen: Option<Form>,
}

async fn show(
    ctx: Ctx,
    Path(number): Path<i64>,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<ReportPage, Fault> {
    page(
        &ctx,
        number,
        query.get("handover").and_then(|h| h.parse().ok()),
        &kept,
    )
    .await
}

/// The report of this handover (of the last one, or a draft); `typed` is a form on it that is shown again.
pub async fn page(
    ctx: &Ctx,
    number: i64,
    asked: Option<i64>,
    typed: &Form,
) -> Result<ReportPage, Fault> {
    let scene = Scene::of(ctx, number).await?;
    let handovers = {
        let mut conn = ctx.app.store.read().await?;
        handovers::of_order(&mut conn, scene.order.id).await?
    };
    let chosen = match asked {
        Some(seq) => Some(
            handovers
                .iter()
                .find(|h| h.seq == seq)
                .ok_or_else(|| Fault::missing("such handover"))?,
        ),
        None if scene.order.is_open() => None,
        None => handovers.first(),
    };
    let draft = chosen.is_none();
    let r = match chosen {
        Some(h) => Report {
            audit_head: h.audit_head.chars().take(16).collect(),
            ..serde_json::from_value(h.report.clone())
                .map_err(|e| StoreError::stored("report", e))?
        },
        None => Report::of(ctx, &scene, None).await?,
    };
    let seq = chosen.map_or(0, |h| h.seq);
    let owner = ctx.actor.roles.has(crate::shop::Role::Owner);
    Ok(ReportPage {
        page: Page {
            units_switch: None,
            ..Page::of(ctx, format!("Report, order {number}"), "/orders")
        },
        superseded: handovers.first().is_some_and(|h| h.seq > seq) && !draft,
        earlier: handovers
            .iter()
            .map(|h| h.seq)
            .filter(|s| *s != seq)
            .collect(),
        draft,
        reopen: (owner && scene.order.state == OrderState::HandedOver)
            .then(|| typed.sent_to(&format!("/orders/{number}/reopen"))),
        r,
    })
}
