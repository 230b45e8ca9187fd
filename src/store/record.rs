//! Builds an order's job record out of its evidence.
use super::{Conn, Result, StoreError, contaminated, evidence, evidence::Kind, evidence::Piece, evidence::Place, parts, parts::ComeBack, shop, stages};
use crate::shop::{EvidenceId, OrderId};
use chillwright_calc::{JobRecord, record::Stage};
use serde_json::{Map, Value, json};
use std::collections::{HashMap, HashSet};

/// The job record of an order: what `assess` is asked about.
pub async fn order_record(conn: &mut Conn, order: OrderId) -> Result<JobRecord> {
    let pieces = evidence::of_order(conn, order).await?;
    of_pieces(conn, order, &pieces).await
}

/// What a record has that is no evidence: the shop's limits and units, and how far the work is.
#[derive(Debug, Clone)]
pub struct Around {
    limits: Map<String, Value>,
    units: String,
    stage: Stage,
}

impl Around {
    async fn of(conn: &mut Conn, order: OrderId) -> Result<Self> {
        let units = shop::get(conn).await?.map(|shop| shop.units).unwrap_or_default();
        Ok(Self { limits: shop::limits(conn).await?, units, stage: stages::of_order(conn, order).await? })
    }
}

/// The same from pieces already read.
pub async fn of_pieces(conn: &mut Conn, order: OrderId, pieces: &[Piece]) -> Result<JobRecord> {
    let around = Around::of(conn, order).await?;
    let known = Known { back: parts::come_back(conn, pieces).await?, contaminated: contaminated::charges(conn, order, pieces).await? };
    let document = document(pieces, around, &known);
    chillwright_calc::parse_value(document).map_err(|e| StoreError::stored("job record", e))
}

/// What the shop knows from other orders.
pub struct Known {
    /// Parts, donors and yards that came back.
    pub back: ComeBack,
    /// Charges out of a cylinder in which there was a mixture.
    pub contaminated: HashSet<EvidenceId>,
}

/// The record as a JSON document.
pub fn document(pieces: &[Piece], around: Around, known: &Known) -> Value {
    let mut children: HashMap<_, Vec<&Piece>> = HashMap::new();
    for piece in pieces {
        if let Some(parent) = piece.parent {
            children.entry(parent).or_default().push(piece);
        }
    }
    let mut record = Map::new();
    record.insert("version".into(), json!(1));
    record.insert("stage".into(), json!(around.stage));
    if !around.units.is_empty() {
        record.insert("shop_units".into(), json!(around.units));
    }
    if !around.limits.is_empty() {
        record.insert("limits".into(), Value::Object(around.limits));
    }
    for piece in pieces {
        let key = piece.kind.key();
        match piece.kind.place() {
            Place::Single => {
                record.insert(key.into(), Value::Object(own_keys_left_out(&piece.body)));
            }
            Place::Scalar => {
                record.insert(key.into(), piece.body.get("value").cloned().unwrap_or(Value::Null));
            }
            Place::Listed => {
                let mut entry = entry(piece);
                if piece.kind == Kind::Part && known.back.knows(&piece.body) {
                    entry.insert("seen_before".into(), json!(true));
                }
                if known.contaminated.contains(&piece.id) {
                    entry.insert("contaminated".into(), json!(true));
                }
                for child in children.get(&piece.id).into_iter().flatten() {
                    push(&mut entry, child.kind.key(), Value::Object(self::entry(child)));
                }
                push(&mut record, key, Value::Object(entry));
            }
            Place::Child => {}
        }
    }
    Value::Object(record)
}

fn entry(piece: &Piece) -> Map<String, Value> {
    let mut entry = Map::new();
    // An opening is named by its joint.
    if piece.kind != Kind::Opening {
        entry.insert("id".into(), json!(piece.mark));
    }
    entry.extend(own_keys_left_out(&piece.body));
    if piece.approximate {
        entry.insert("approximate".into(), json!(true));
    }
    entry
}

/// Keys that begin with `_` are the shop's own and no part of the record.
fn own_keys_left_out(body: &Map<String, Value>) -> Map<String, Value> {
    body.iter().filter(|(key, _)| !key.starts_with('_')).map(|(k, v)| (k.clone(), v.clone())).collect()
}

fn push(object: &mut Map<String, Value>, key: &str, value: Value) {
    if let Value::Array(list) = object.entry(key).or_insert_with(|| json!([])) {
        list.push(value);
    }
}
