//! Entries in words: each kind of evidence with all that its form asks, no key of the record as it is.
//!
//! Each entry is taken apart whole: a key that the record gains does not compile here before somebody says how it is told, or that it is not.
use super::{super::Ctx, Scene, joints::number};
use crate::{
    shop::{
        Instant, Zone,
        written::{part, told},
    },
    store::evidence::{Body, Kind, Piece},
};
use chillwright_calc::{
    checks::isolation::{Proved, proved},
    record::{
        Can, ChargeInForce, Charging, CompressorFailed, Condition, Donor, Drive, Evacuation,
        Fixing, Flush, FlushedBy, Gas, GasLetIn, Gauge, Hold, HoldKind, Hose, Identification,
        Isolation, Joint, Leak, LeakCheck, OilAdded, Part, PartPorts, Performance, Port,
        PreviousCharge, ProvedOn, Reading, Recovery, Scale, Seal, Site, Standing, System,
    },
    units,
};
use std::fmt::Display;

/// An entry in a few words, for the list under its form.
pub fn entry(ctx: &Ctx, scene: &Scene, piece: &Piece) -> String {
    let when = piece
        .at
        .map(|at| {
            format!(
                "{}{}: ",
                if piece.approximate { "about " } else { "" },
                ctx.zone.short(at, ctx.now)
            )
        })
        .unwrap_or_default();
    let of = piece
        .parent
        .and_then(|id| scene.pieces.iter().find(|p| p.id == id))
        .map(|p| format!("{}: ", p.body.place()))
        .unwrap_or_default();
    let named = |mark: &str| scene.piece(mark).map(name);
    format!(
        "{when}{of}{}",
        words(&piece.body, &named, &ctx.zone, ctx.now)
    )
}

/// What another entry is called within a sentence: a joint by its place, a part by its source and role.
fn name(piece: &Piece) -> String {
    match &piece.body {
        Body::Part(e) => part(e),
        Body::Joint(_) => format!("{} ({})", piece.body.place(), number(piece)),
        body => body.place().to_owned(),
    }
}

/// What a kind of evidence is called.
pub fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::Site => "Site",
        Kind::System => "Label",
        Kind::PreviousCharge => "Last charge",
        Kind::OpenSince => "Open since",
        Kind::GasLetIn => "Gas let in",
        Kind::Standing => "Standing pressure",
        Kind::Identification => "Gas identification",
        Kind::Isolation => "High-voltage isolation",
        Kind::Recovery => "Recovery",
        Kind::Leak => "Leak",
        Kind::Part => "Part",
        Kind::Desiccant => "Desiccant",
        Kind::Flush => "Flushing",
        Kind::Joint => "Joint",
        Kind::Opening => "Joint opened",
        Kind::Seal => "Seal",
        Kind::Fixing => "Fixing",
        Kind::Oil => "Oil",
        Kind::Evacuation => "Evacuation",
        Kind::Hold => "Hold",
        Kind::Reading => "Reading",
        Kind::LeakCheck => "Leak check",
        Kind::Charging => "Charge",
        Kind::Performance => "Performance",
        Kind::PerformanceOmitted => "Performance not measured",
        Kind::Port => "Service port",
    }
}

/// The body of an entry in words. `named` tells what another entry is called that this one names by its mark.
pub fn words(
    body: &Body,
    named: &dyn Fn(&str) -> Option<String>,
    zone: &Zone,
    now: Instant,
) -> String {
    let around = Around { named, zone, now };
    let said = match body {
        Body::Site(e) => site(e),
        Body::System(e) => label(e),
        Body::PreviousCharge(e) => previous_charge(e),
        Body::OpenSince(e) => vec![with(Some(&e.value), "open since {}")],
        Body::GasLetIn(e) => gas_let_in(e),
        Body::Standing(e) => standing(e),
        Body::Identification(e) => identification(e),
        Body::Isolation(e) => isolation(e),
        Body::Recovery(e) => recovery(e),
        Body::Leak(e) => leak(e, &around),
        Body::Part(e) => a_part(e, &around),
        Body::Desiccant(e) => vec![with(Some(&e.value), "desiccant last renewed {}")],
        Body::Flush(e) => flush(e),
        Body::Joint(e) => joint(e),
        Body::Opening(_) => vec![Some("opened".into())],
        Body::Seal(e) => seal(e),
        Body::Fixing(e) => fixing(e, &around),
        Body::Oil(e) => oil(e),
        Body::Evacuation(e) => evacuation(e, &around),
        Body::Hold(e) => hold(e, &around),
        Body::Reading(e) => reading(e),
        Body::LeakCheck(e) => leak_check(e, &around),
        Body::Charging(e) => charging(e),
        Body::Performance(e) => performance(e),
        Body::PerformanceOmitted(e) => vec![with(Some(&e.value), "not measured: {}")],
        Body::Port(e) => port(e),
    };
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// What is told besides the entry itself.
struct Around<'a> {
    named: &'a dyn Fn(&str) -> Option<String>,
    zone: &'a Zone,
    now: Instant,
}

impl Around<'_> {
    /// A time within a phrase.
    fn when(&self, at: Option<units::Instant>, phrase: &str) -> Said {
        at.map(|at| phrase.replace("{}", &self.zone.short(at.into(), self.now)))
    }

    /// Places, joints among them by their marks.
    fn list(&self, list: &[String], phrase: &str) -> Said {
        let items: Vec<String> = list
            .iter()
            .map(|m| (self.named)(m).unwrap_or_else(|| m.clone()))
            .collect();
        (!items.is_empty()).then(|| phrase.replace("{}", &items.join("; ")))
    }
}

/// A phrase, or nothing where there is nothing to say.
type Said = Option<String>;

/// The value as people write it, within a phrase.
fn with<T: Display>(value: Option<&T>, phrase: &str) -> Said {
    let text = value?.to_string();
    (!text.is_empty()).then(|| phrase.replace("{}", &told(&text)))
}

fn yes(said: Option<bool>, yes: &str, no: &str) -> Said {
    let said = if said? { yes } else { no };
    (!said.is_empty()).then(|| said.to_owned())
}

/// A gauge or scale by its mark and resolution: "scale S-1 (5 g)".
fn tool<R: Display>(what: &str, mark: Option<&String>, resolution: Option<&R>) -> String {
    let resolution = with(resolution, " ({})").unwrap_or_default();
    format!("{what} {}{resolution}", mark.map_or("", String::as_str))
        .trim()
        .to_owned()
}

/// A gauge's error and comparison are told where they are judged.
fn gauge(gauge: &Option<Gauge>) -> Said {
    let Gauge {
        id,
        resolution,
        error: _,
        compared_on: _,
    } = gauge.as_ref()?;
    Some(tool("gauge", id.as_ref(), resolution.as_ref()))
}

fn scale(scale: &Option<Scale>) -> Said {
    let Scale { id, resolution } = scale.as_ref()?;
    Some(tool("scale", id.as_ref(), resolution.as_ref()))
}

// In each of these: the time stands before the words, the barometer is told with the figures that rest on it, and no form says superseded.

fn site(
    Site {
        elevation,
        barometer: _,
    }: &Site,
) -> Vec<Said> {
    vec![with(elevation.as_ref(), "elevation {}")]
}

fn label(system: &System) -> Vec<Said> {
    let System {
        refrigerant,
        charge,
        charge_tolerance,
        charge_in_force,
        oil_type,
        oil_total,
        internal_volume,
        compressor_drive,
        metering,
        evaporators,
        compressor_failed,
        test_pressure_most,
        converted_from,
        // What a conversion took is judged whole.
        conversion: _,
    } = system;
    let other = charge_in_force.as_ref().map(
        |ChargeInForce {
             mass,
             tolerance,
             why,
         }| {
            let mass = with(mass.as_ref(), "charge specified instead {}").unwrap_or_default();
            let why = why
                .as_ref()
                .filter(|w| !w.is_empty())
                .map(|w| format!("because: {w}"));
            [Some(mass), with(tolerance.as_ref(), "± {}"), why]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(" ")
        },
    );
    let failed = compressor_failed
        .as_ref()
        .and_then(|CompressorFailed { debris }| {
            yes(
                *debris,
                "compressor failed, debris in the circuit",
                "compressor failed, no debris",
            )
        });
    let tolerance = |phrase| with(charge_tolerance.as_ref(), phrase);
    vec![
        with(Some(refrigerant), "{}"),
        with(charge.as_ref(), "{}").map(|c| c + &tolerance(" ± {}").unwrap_or_default()),
        with(oil_type.as_ref(), "oil {}"),
        with(oil_total.as_ref(), "{} of oil"),
        with(internal_volume.as_ref(), "internal volume {}"),
        compressor_drive.map(|d| match d {
            Drive::Electric => "electric compressor, high voltage".to_owned(),
            Drive::Belt => format!("{d} drive"),
        }),
        metering.map(|m| m.word().replace('-', " ")),
        evaporators.map(|n| {
            if n == 1 {
                "one evaporator".into()
            } else {
                format!("{n} evaporators")
            }
        }),
        other,
        failed,
        tolerance("charge tolerance: {}").filter(|_| charge.is_none()),
        with(converted_from.as_ref(), "converted from: {}"),
        with(test_pressure_most.as_ref(), "test pressure most: {}"),
    ]
}

fn previous_charge(
    PreviousCharge {
        mass,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &PreviousCharge,
) -> Vec<Said> {
    vec![with(mass.as_ref(), "{} charged")]
}

fn gas_let_in(
    GasLetIn {
        gas,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &GasLetIn,
) -> Vec<Said> {
    vec![gas.map(|gas| {
        format!(
            "{} let in",
            if gas == Gas::Nitrogen {
                "dry nitrogen"
            } else {
                gas.word()
            }
        )
    })]
}

fn standing(
    Standing {
        pressure,
        ambient,
        cold_soak,
        id: _,
        at: _,
        barometer: _,
        superseded: _,
        approximate: _,
    }: &Standing,
) -> Vec<Said> {
    vec![
        with(pressure.as_ref(), "{}"),
        with(ambient.as_ref(), "car and air at {}"),
        yes(*cold_soak, "cold soaked", "not cold soaked"),
    ]
}

fn identification(
    Identification {
        instrument,
        gases,
        air,
        sealant,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &Identification,
) -> Vec<Said> {
    let gases = gases
        .iter()
        .map(|(gas, share)| format!("{gas} {}", told(share.text())))
        .collect::<Vec<_>>()
        .join(", ");
    vec![
        Some(gases).filter(|g| !g.is_empty()),
        with(air.as_ref(), "air {}"),
        yes(*sealant, "leak sealant found", "no sealant found"),
        with(instrument.as_ref(), "identifier {}"),
    ]
}

fn isolation(entry: &Isolation) -> Vec<Said> {
    let Isolation {
        measured,
        waited,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    } = entry;
    let verdict = match proved(entry) {
        Proved::Dead => "isolated",
        Proved::Live(_) | Proved::NotMeasured => "NOT isolated",
    };
    let measured = measured.as_ref().map_or_else(
        || "no voltage measured".to_owned(),
        |m| format!("{m} between HV+ and HV−"),
    );
    vec![
        with(waited.as_ref(), "waited {}"),
        Some(measured),
        Some(verdict.to_owned()),
    ]
}

fn recovery(entry: &Recovery) -> Vec<Said> {
    let Recovery {
        cylinder,
        refrigerant,
        before,
        after,
        scale: on,
        oil,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    } = entry;
    let what = refrigerant.map_or("refrigerant", |r| r.word());
    let into = cylinder
        .as_ref()
        .map(|c| format!(" into cylinder {c}"))
        .unwrap_or_default();
    vec![
        Some(format!("{what}{into}")),
        with(before.as_ref(), "cylinder {} before"),
        with(after.as_ref(), "{} after"),
        with(oil.as_ref(), "{} of oil recovered"),
        scale(on),
    ]
}

fn leak(
    Leak {
        place,
        found_by,
        repaired_at,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &Leak,
    around: &Around<'_>,
) -> Vec<Said> {
    let found = found_by.as_ref().map(|by| {
        if by == "looking" {
            "found by visual inspection".to_owned()
        } else {
            format!("found by {by}")
        }
    });
    vec![
        with(place.as_ref(), "{}"),
        found,
        around
            .when(*repaired_at, "repaired {}")
            .or(Some("not repaired".into())),
    ]
}

fn a_part(entry: &Part, around: &Around<'_>) -> Vec<Said> {
    let Part {
        // Its name.
        role: _,
        source: _,
        fitted_at,
        contains_desiccant,
        desiccant_renewed,
        ports,
        // The shop's knowledge of other orders, told as a finding.
        seen_before: _,
        donor,
        oil_drained,
        oil_added,
        joints,
        id: _,
        superseded: _,
        approximate: _,
    } = entry;
    let fitted = if fitted_at.is_some() {
        "fitted"
    } else {
        "not fitted yet"
    };
    let donor = donor.as_ref().map(
        |Donor {
             yard,
             vehicle,
             vin,
             stock,
             pulled_on,
             receipt,
         }| {
            let told = [
                with(vehicle.as_ref(), "from a {}"),
                with(vin.as_ref(), "VIN {}"),
                with(yard.as_ref(), "yard {}"),
                with(stock.as_ref(), "stock no. {}"),
                with(pulled_on.as_ref(), "pulled {}"),
                with(receipt.as_ref(), "receipt {}"),
            ];
            told.into_iter().flatten().collect::<Vec<_>>().join(", ")
        },
    );
    vec![
        Some(format!("{}, {fitted}", part(entry))),
        yes(*contains_desiccant, "contains desiccant", "no desiccant"),
        yes(
            *desiccant_renewed,
            "desiccant renewed",
            "desiccant not renewed",
        ),
        ports.map(|p| {
            if p == PartPorts::Unknown {
                "ports on arrival not known".into()
            } else {
                format!("ports {p} on arrival")
            }
        }),
        with(oil_drained.as_ref(), "{} of oil drained from the old part"),
        with(oil_added.as_ref(), "{} of oil put in"),
        donor.filter(|d| !d.is_empty()),
        around.list(joints, "joints: {}"),
    ]
}

fn flush(
    Flush {
        section,
        by,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &Flush,
) -> Vec<Said> {
    let by = by.map_or("", |by| {
        if by == FlushedBy::Filtered {
            "in-line filter fitted"
        } else {
            by.word()
        }
    });
    vec![Some(format!(
        "{}: {by}",
        section.as_deref().unwrap_or_default()
    ))]
}

/// Openings and seals are entries of their own.
fn joint(
    Joint {
        place,
        joint_type,
        torque,
        opened: _,
        seals: _,
        id: _,
        superseded: _,
        approximate: _,
    }: &Joint,
) -> Vec<Said> {
    vec![
        with(place.as_ref(), "{}"),
        with(joint_type.as_ref(), "{} joint"),
        with(torque.as_ref(), "tightened to {}"),
    ]
}

fn seal(
    Seal {
        condition,
        renewed,
        from_donor,
        lubricant,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &Seal,
) -> Vec<Said> {
    let state = match (renewed.unwrap_or(false), condition) {
        (true, _) => "new seal".to_owned(),
        (false, Some(Condition::Sound)) => "seal sound, refitted".to_owned(),
        (false, Some(Condition::Missing)) => "seal missing, not renewed".to_owned(),
        (false, Some(other)) => format!("seal {other}, not renewed"),
        (false, None) => "seal not renewed".to_owned(),
    };
    vec![
        Some(state),
        yes(*from_donor, "came with the used part", ""),
        with(lubricant.as_ref(), "lubricant {}"),
    ]
}

fn fixing(
    Fixing {
        part,
        place,
        kind,
        note,
        look_again_on,
        id: _,
        superseded: _,
        approximate: _,
    }: &Fixing,
    around: &Around<'_>,
) -> Vec<Said> {
    let of = part
        .as_ref()
        .and_then(|mark| (around.named)(mark))
        .map(|part| format!("on {part}"));
    vec![
        with(place.as_ref(), "{}"),
        kind.map(|kind| format!("{kind} fixing")),
        of,
        note.clone().filter(|n| !n.is_empty()),
        with(look_again_on.as_ref(), "recheck by {}"),
    ]
}

fn oil(
    OilAdded {
        oil_type,
        volume,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    }: &OilAdded,
) -> Vec<Said> {
    vec![Some(
        [
            with(volume.as_ref(), "{} of"),
            with(oil_type.as_ref(), "{}"),
        ]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" "),
    )]
}

/// Readings are entries of their own.
fn evacuation(entry: &Evacuation, around: &Around<'_>) -> Vec<Said> {
    let Evacuation {
        started_at: _,
        ended_at,
        coldest_metal,
        gauge: on,
        readings: _,
        barometer: _,
        id: _,
        superseded: _,
        approximate: _,
    } = entry;
    let ended = around
        .when(*ended_at, "finished {}")
        .or(Some("running".into()));
    vec![
        gauge(on),
        with(coldest_metal.as_ref(), "coldest metal {}"),
        ended,
    ]
}

/// Readings are entries of their own.
fn hold(entry: &Hold, around: &Around<'_>) -> Vec<Said> {
    let Hold {
        kind,
        gas,
        ended_at,
        gauge: on,
        readings: _,
        barometer: _,
        id: _,
        superseded: _,
        approximate: _,
    } = entry;
    // A vacuum has the air that comes in for its gas; under pressure it matters which gas it is.
    let kind = kind.map(|kind| match (kind, gas) {
        (HoldKind::Pressure, Some(Gas::Nitrogen)) => "pressure hold with dry nitrogen".to_owned(),
        (HoldKind::Pressure, Some(Gas::Air)) => "pressure hold with compressed air".to_owned(),
        (HoldKind::Pressure, Some(gas)) => format!("pressure hold with {gas}"),
        (HoldKind::Pressure | HoldKind::Vacuum, _) => format!("{kind} hold"),
    });
    vec![
        kind,
        gauge(on),
        around
            .when(*ended_at, "finished {}")
            .or(Some("running".into())),
    ]
}

/// The gauge is that of the hold or evacuation.
fn reading(
    Reading {
        pressure,
        temperature,
        id: _,
        at: _,
        barometer: _,
        gauge: _,
        superseded: _,
        approximate: _,
    }: &Reading,
) -> Vec<Said> {
    vec![
        with(pressure.as_ref(), "{}"),
        with(temperature.as_ref(), "metal {}"),
    ]
}

fn leak_check(entry: &LeakCheck, around: &Around<'_>) -> Vec<Said> {
    let LeakCheck {
        method,
        sensitivity,
        proved_on,
        places,
        found,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    } = entry;
    let proved = proved_on.map(|on| match on {
        ProvedOn::None => "not proved that day".to_owned(),
        ProvedOn::ReferenceLeak => format!("proved on a {on} that day"),
    });
    vec![
        method.map(|m| format!("{m} check")),
        with(sensitivity.as_ref(), "shows {}"),
        proved,
        around.list(places, "checked: {}"),
        around
            .list(found, "leak found at: {}")
            .or(Some("no leak found".into())),
    ]
}

fn charging(entry: &Charging) -> Vec<Said> {
    let Charging {
        refrigerant,
        cylinder,
        scale: on,
        before,
        after,
        left_in_hose,
        cans,
        // The shop's knowledge of other orders, told as a finding.
        contaminated: _,
        hose: size,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    } = entry;
    let from = cylinder
        .as_ref()
        .map(|c| format!(" from cylinder {c}"))
        .unwrap_or_default();
    let cans = cans.iter().filter_map(can).collect::<Vec<_>>();
    let unweighed =
        (cans.is_empty() && before.is_none() && after.is_none()).then(|| "not weighed".to_owned());
    vec![
        refrigerant.map(|r| format!("{r}{from}")),
        with(before.as_ref(), "cylinder {} before"),
        with(after.as_ref(), "{} after"),
        with(left_in_hose.as_ref(), "{} left in hose"),
        size.as_ref().and_then(hose),
        (!cans.is_empty()).then(|| format!("cans: {}", cans.join("; "))),
        unweighed,
        scale(on),
    ]
}

/// "hose 6 ft long, 0.19 in bore, filled with liquid".
fn hose(
    Hose {
        length,
        bore,
        state,
    }: &Hose,
) -> Said {
    let filled = state
        .map(|state| format!(", filled with {state}"))
        .unwrap_or_default();
    Some(format!(
        "hose {} long, {} bore{filled}",
        with(length.as_ref(), "{}")?,
        with(bore.as_ref(), "{}")?
    ))
}

fn can(
    Can {
        net,
        left,
        id: _,
        superseded: _,
        approximate: _,
    }: &Can,
) -> Said {
    let left = with(left.as_ref(), " less {} left in it").unwrap_or_default();
    Some(format!("{}{left}", with(net.as_ref(), "{}")?))
}

fn performance(entry: &Performance) -> Vec<Said> {
    let Performance {
        ambient,
        humidity,
        low_side,
        high_side,
        vent,
        suction_line,
        liquid_line,
        engine,
        blower,
        recirculation,
        low_below_freezing_for,
        doors_open,
        barometer: _,
        id: _,
        at: _,
        superseded: _,
        approximate: _,
    } = entry;
    vec![
        with(low_side.as_ref(), "low side {}"),
        with(high_side.as_ref(), "high side {}"),
        with(ambient.as_ref(), "outside air {}"),
        with(humidity.as_ref(), "{} relative humidity"),
        with(vent.as_ref(), "vent air {}"),
        with(suction_line.as_ref(), "suction line {}"),
        with(liquid_line.as_ref(), "liquid line {}"),
        with(
            low_below_freezing_for.as_ref(),
            "low side below freezing for {}",
        ),
        with(engine.as_ref(), "{} rpm"),
        with(blower.as_ref(), "blower {}"),
        yes(*recirculation, "recirculation on", "recirculation off"),
        yes(
            *doors_open,
            "doors and windows open",
            "doors and windows closed",
        ),
    ]
}

fn port(
    Port {
        side,
        cap,
        core,
        id: _,
        superseded: _,
        approximate: _,
    }: &Port,
) -> Vec<Said> {
    let cap = yes(*cap, "cap on", "no cap").unwrap_or_else(|| "cap not checked".into());
    vec![
        Some(format!("{} side: {cap}", side.map_or("", |s| s.word()))),
        with(core.as_ref(), "core {}"),
    ]
}
