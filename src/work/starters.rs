//! A new order that begins like a closed one: its joints, and the lines of its estimate with the parts among them. None of its evidence.
use super::{
    Deed, DeedError,
    evidence::{Change, NewPiece, apply},
};
use crate::shop::OrderState;
use crate::{
    shop::{LineId, OrderId},
    store::{
        evidence::{self, Own, Version},
        lines, orders,
    },
};
use chillwright_calc::record::Joint;
use serde_json::{Value, json};

/// Brings what a closed order planned to a new one; gives what the audit trail tells of it.
pub async fn bring(deed: &mut Deed, from: i64, to: OrderId) -> Result<Value, DeedError> {
    let closed = orders::by_number(&mut deed.tx, from)
        .await?
        .filter(|o| o.state == OrderState::HandedOver);
    let closed = closed.ok_or_else(|| {
        DeedError::refused("like", "Only an order that was handed over can be copied.")
    })?;
    let pieces = evidence::of_order(&mut deed.tx, closed.id).await?;
    let joints = pieces
        .iter()
        .filter_map(|p| Some(Change::Add(as_it_is(p.get::<Joint>()?, &p.own))));
    let joints = apply(deed, to, joints.collect()).await?;
    let planned: Vec<lines::Line> = lines::of_order(&mut deed.tx, closed.id)
        .await?
        .into_iter()
        .filter(lines::Line::counts)
        .map(planned)
        .collect();
    for line in &planned {
        lines::add(&mut deed.tx, to, line, deed.now).await?;
    }
    Ok(
        json!({ "order": from, "joints": joints, "lines": planned.iter().map(|l| l.id).collect::<Vec<_>>() }),
    )
}

/// What a joint is, less what was found and done there.
fn as_it_is(joint: &Joint, own: &Own) -> NewPiece {
    let is = Joint {
        place: joint.place.clone(),
        joint_type: joint.joint_type,
        ..Joint::default()
    };
    let own = Own {
        role: own.role,
        side: own.side,
        ..Own::default()
    };
    let new = NewPiece::new(is, None);
    NewPiece {
        version: Version { own, ..new.version },
        ..new
    }
}

/// A line as it was planned: nothing was paid, ordered or came yet.
fn planned(line: lines::Line) -> lines::Line {
    lines::Line {
        id: LineId::fresh(),
        price_paid: None,
        ordered_on: None,
        expected_on: None,
        arrived_on: None,
        version: 1,
        ..line
    }
}
