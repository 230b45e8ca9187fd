//! Builds an order's job record out of its evidence.
use super::{
    Conn, Result, StoreError, contaminated,
    evidence::{self, Body, Piece},
    parts,
    parts::ComeBack,
    shop, stages,
};
use crate::shop::{EvidenceId, OrderId};
use chillwright_calc::{
    JobRecord,
    checks::limits::LimitSettings,
    record::{Evidence, Opening, Reading, Seal, ShopUnits, Stage},
};
use serde_json::Value;
use std::collections::{HashMap, HashSet};

/// The job record of an order: what `assess` is asked about.
pub async fn order_record(conn: &mut Conn, order: OrderId) -> Result<JobRecord> {
    let pieces = evidence::of_order(conn, order).await?;
    of_pieces(conn, order, &pieces).await
}

/// What a record has that is no evidence: the shop's limits and units, and how far the work is.
#[derive(Debug, Clone)]
pub struct Around {
    limits: LimitSettings,
    units: Option<ShopUnits>,
    stage: Stage,
}

impl Around {
    async fn of(conn: &mut Conn, shop: Option<&shop::Shop>, order: OrderId) -> Result<Self> {
        let wrong = |e: &dyn std::fmt::Display| StoreError::stored("job record", e);
        let units = match shop {
            Some(shop) => Some(
                shop.units
                    .parse()
                    .map_err(|e: chillwright_calc::units::QuantityError| wrong(&e))?,
            ),
            None => None,
        };
        let limits = serde_json::from_value(Value::Object(shop::limits(conn).await?))
            .map_err(|e| wrong(&e))?;
        Ok(Self {
            limits,
            units,
            stage: stages::of_order(conn, order).await?,
        })
    }
}

/// The same from pieces already read.
pub async fn of_pieces(conn: &mut Conn, order: OrderId, pieces: &[Piece]) -> Result<JobRecord> {
    let shop = shop::get(conn).await?;
    of_pieces_at(conn, shop.as_ref(), order, pieces).await
}

/// The same where the shop's settings were read too.
pub async fn of_pieces_at(
    conn: &mut Conn,
    shop: Option<&shop::Shop>,
    order: OrderId,
    pieces: &[Piece],
) -> Result<JobRecord> {
    let around = Around::of(conn, shop, order).await?;
    let known = Known {
        back: parts::come_back(conn, pieces).await?,
        contaminated: contaminated::charges(conn, order, pieces).await?,
    };
    built(pieces, around, &known)
}

/// What the shop knows from other orders.
struct Known {
    /// Parts, donors and yards that came back.
    back: ComeBack,
    /// Charges out of a cylinder in which there was a mixture.
    contaminated: HashSet<EvidenceId>,
}

/// What belongs to a joint, a hold or an evacuation, in the order in which it was entered.
#[derive(Default)]
struct Children {
    opened: Vec<Opening>,
    seals: Vec<Seal>,
    readings: Vec<Reading>,
}

fn children(pieces: &[Piece]) -> HashMap<EvidenceId, Children> {
    let mut all: HashMap<EvidenceId, Children> = HashMap::new();
    for piece in pieces {
        let Some(parent) = piece.parent else { continue };
        let of = all.entry(parent).or_default();
        match &piece.body {
            Body::Opening(e) => {
                // An opening is named by its joint.
                let mut opening = e.clone();
                opening.approximate |= piece.approximate;
                of.opened.push(Opening(opening));
            }
            Body::Seal(e) => of.seals.push(named(e, piece)),
            Body::Reading(e) => of.readings.push(named(e, piece)),
            _ => {}
        }
    }
    all
}

fn named<T: Evidence + Clone>(entry: &T, piece: &Piece) -> T {
    entry.clone().named(&piece.mark, piece.approximate)
}

/// The record itself. A new kind does not compile before it says where it goes.
fn built(pieces: &[Piece], around: Around, known: &Known) -> Result<JobRecord> {
    let system = pieces.iter().find_map(|p| {
        if let Body::System(e) = &p.body {
            Some(e)
        } else {
            None
        }
    });
    let system = system
        .ok_or_else(|| StoreError::stored("job record", "system.refrigerant: must be recorded"))?;
    let mut record = JobRecord {
        stage: Some(around.stage),
        shop_units: around.units,
        limits: around.limits,
        ..JobRecord::new(system.refrigerant)
    };
    let mut children = children(pieces);
    for piece in pieces {
        let of = children.remove(&piece.id).unwrap_or_default();
        match &piece.body {
            Body::Site(e) => record.site = e.clone(),
            Body::System(e) => record.system = e.clone(),
            Body::PreviousCharge(e) => record.previous_charge = Some(e.clone()),
            Body::OpenSince(e) => record.open_since = Some(e.value),
            Body::GasLetIn(e) => record.gas_let_in.push(named(e, piece)),
            Body::Standing(e) => record.standing.push(named(e, piece)),
            Body::Identification(e) => record.identification.push(named(e, piece)),
            Body::Isolation(e) => record.isolation.push(named(e, piece)),
            Body::Recovery(e) => record.recovery.push(named(e, piece)),
            Body::Leak(e) => record.leaks.push(named(e, piece)),
            Body::Part(e) => {
                let mut part = named(e, piece);
                if known.back.knows(e) {
                    part.seen_before = Some(true);
                }
                record.parts.push(part);
            }
            Body::Desiccant(e) => record.desiccant_last_renewed = Some(e.value),
            Body::Flush(e) => record.flushes.push(named(e, piece)),
            Body::Joint(e) => {
                let mut joint = named(e, piece);
                (joint.opened, joint.seals) = (of.opened, of.seals);
                record.joints.push(joint);
            }
            Body::Fixing(e) => record.fixings.push(named(e, piece)),
            Body::Oil(e) => record.oil_added.push(named(e, piece)),
            Body::Evacuation(e) => {
                let mut evacuation = named(e, piece);
                evacuation.readings = of.readings;
                record.evacuations.push(evacuation);
            }
            Body::Hold(e) => {
                let mut hold = named(e, piece);
                hold.readings = of.readings;
                record.holds.push(hold);
            }
            Body::LeakCheck(e) => record.leak_checks.push(named(e, piece)),
            Body::Charging(e) => {
                let mut charging = named(e, piece);
                if known.contaminated.contains(&piece.id) {
                    charging.contaminated = Some(true);
                }
                record.charging.push(charging);
            }
            Body::Performance(e) => record.performance.push(named(e, piece)),
            Body::PerformanceOmitted(e) => record.performance_omitted = Some(e.value.clone()),
            Body::Port(e) => record.ports.push(named(e, piece)),
            // With what they belong to.
            Body::Opening(_) | Body::Seal(_) | Body::Reading(_) => {}
        }
    }
    Ok(record)
}
