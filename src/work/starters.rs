//! A new order that begins like a closed one: its joints, and the lines of its estimate with the parts among them. None of its evidence.
use super::{
    Deed, DeedError,
    evidence::{Change, NewPiece, apply},
};
use crate::shop::OrderState;
use crate::{
    shop::{LineId, OrderId},
    store::{
        evidence::{self, Kind},
        lines, orders,
    },
};
use serde_json::{Map, Value, json};

/// What a joint is, less what was found and done there.
const OF_A_JOINT: [&str; 4] = ["place", "type", "_role", "_side"];

/// Brings what a closed order planned to a new one; gives what the audit trail tells of it.
pub async fn bring(deed: &mut Deed, from: i64, to: OrderId) -> Result<Value, DeedError> {
    let closed = orders::by_number(&mut deed.tx, from).await?.filter(|o| o.state == OrderState::HandedOver);
    let closed = closed.ok_or_else(|| DeedError::refused("like", "Only an order that was handed over can be copied."))?;
    let pieces = evidence::of_order(&mut deed.tx, closed.id).await?;
    let joints = pieces.iter().filter(|p| p.kind == Kind::Joint).map(|joint| {
        let body: Map<String, Value> = OF_A_JOINT.iter().filter_map(|key| Some(((*key).to_owned(), joint.body.get(*key)?.clone()))).collect();
        Change::Add(NewPiece::new(Kind::Joint, Value::Object(body), None))
    });
    let joints = apply(deed, to, joints.collect()).await?;
    let planned: Vec<lines::Line> = lines::of_order(&mut deed.tx, closed.id).await?.into_iter().filter(lines::Line::counts).map(planned).collect();
    for line in &planned {
        lines::add(&mut deed.tx, to, line, deed.now).await?;
    }
    Ok(json!({ "order": from, "joints": joints, "lines": planned.iter().map(|l| l.id).collect::<Vec<_>>() }))
}

/// A line as it was planned: nothing was paid, ordered or came yet.
fn planned(line: lines::Line) -> lines::Line {
    lines::Line { id: LineId::fresh(), price_paid: None, ordered_on: None, expected_on: None, arrived_on: None, version: 1, ..line }
}
