//! Deeds about evidence: a piece is added, corrected, withdrawn. Never overwritten.
use super::{Command, Deed, DeedError, contaminated};
use crate::{
    shop::{Actor, DeedId, EvidenceId, Instant, OrderId, Role, TabletClock},
    store::{
        Conn, Store, StoreError,
        evidence::{self, Body, Entering, Piece, Version, Waited},
        parts, shop,
    },
};
use chillwright_calc::{
    record::{Gauge, Part, Scale, Site, Source},
    units::{Pressure, Quantity},
};
use serde_json::{Value, json};

pub use super::who::{BENCH, INTAKE};

/// A piece to be added.
#[derive(Debug, Clone)]
pub struct NewPiece {
    /// Its id, made with the form.
    pub id: EvidenceId,
    /// The joint, hold or evacuation that it belongs to.
    pub parent: Option<EvidenceId>,
    /// Its first version, which says what it is.
    pub version: Version,
}

impl NewPiece {
    /// A piece with this body and time.
    pub fn new(body: impl Into<Body>, at: Option<Instant>) -> Self {
        Self {
            id: EvidenceId::fresh(),
            parent: None,
            version: Version {
                at,
                ..Version::new(body)
            },
        }
    }

    /// Belonging to a joint, hold or evacuation.
    pub fn under(mut self, parent: EvidenceId) -> Self {
        self.parent = Some(parent);
        self
    }
}

/// What a form on the bench asks for.
#[derive(Debug, Clone)]
pub struct Entry<'a> {
    /// The form's id.
    pub deed: DeedId,
    /// Past tense: `seals-inspected`.
    pub kind: &'static str,
    /// The order.
    pub order: OrderId,
    /// The form as it was sent.
    pub form: String,
    /// Who may.
    pub roles: &'a [Role],
    /// The clock of the tablet at which it was entered, where it came through a tablet's worker.
    pub tablet: Option<TabletClock>,
}

/// One change of the evidence.
#[derive(Debug, Clone)]
pub enum Change {
    /// A new piece.
    Add(NewPiece),
    /// A new version of a piece: corrected, ended, completed. `seen` is the version that the form was filled in against.
    Revise {
        /// Which.
        id: EvidenceId,
        /// The version on the page.
        seen: i64,
        /// What counts from now on.
        version: Version,
    },
}

/// Keeps several changes as one deed.
pub async fn keep(
    store: &Store,
    by: &Actor,
    entry: Entry<'_>,
    mut changes: Vec<Change>,
    now: Instant,
) -> Result<(), DeedError> {
    if let Some(clock) = entry.tablet.filter(TabletClock::waited) {
        changes
            .iter_mut()
            .for_each(|change| note_waiting(change, clock));
    }
    let command = Command {
        deed: entry.deed,
        kind: entry.kind,
        roles: entry.roles,
        order: Some(entry.order),
        form: entry.form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let content = apply(&mut deed, entry.order, changes).await?;
    deed.keep(content).await
}

/// What waited at a tablet says so: the tablet's own times stand beside the server's.
fn note_waiting(change: &mut Change, clock: TabletClock) {
    let (Change::Add(NewPiece { version, .. }) | Change::Revise { version, .. }) = change;
    version.own.tablet = Some(Waited {
        entered: Instant(clock.entered).into(),
        sent: Instant(clock.sent).into(),
    });
}

/// Applies changes inside a deed that does more; gives what the audit trail tells of them.
pub async fn apply(
    deed: &mut Deed,
    order: OrderId,
    changes: Vec<Change>,
) -> Result<Value, DeedError> {
    let entering = deed.entering();
    let mut told = Vec::new();
    if changes.iter().any(|change| matches!(change, Change::Add(piece) if super::stage::is_work(piece.version.body.kind()))) {
        super::stage::resume(deed, order, "new work entered").await?;
    }
    let mut gas_moved = false;
    for change in changes {
        gas_moved |= concerns_gas(&mut deed.tx, order, &change).await?;
        told.push(match change {
            Change::Add(piece) => add(&mut deed.tx, order, piece, entering).await?,
            Change::Revise { id, seen, version } => {
                revise(&mut deed.tx, order, id, seen, version, entering).await?
            }
        });
    }
    if gas_moved {
        told.extend(contaminated::mark(&mut deed.tx, order).await?);
    }
    Ok(Value::Array(told))
}

async fn concerns_gas(conn: &mut Conn, order: OrderId, change: &Change) -> Result<bool, DeedError> {
    Ok(match change {
        Change::Add(piece) => contaminated::concerns(piece.version.body.kind()),
        Change::Revise { id, .. } => evidence::of_order(conn, order)
            .await?
            .iter()
            .any(|p| p.id == *id && contaminated::concerns(p.kind())),
    })
}

async fn add(
    conn: &mut Conn,
    order: OrderId,
    mut piece: NewPiece,
    by: Entering,
) -> Result<Value, DeedError> {
    copy_barometer(conn, order, &mut piece.version, by).await?;
    if matches!(piece.version.body, Body::Recovery(_)) {
        contaminated::note(conn, order, piece.id, &mut piece.version, by).await?;
    }
    let mark = evidence::add(conn, piece.id, order, piece.parent, &piece.version, by).await?;
    tag_if_used(conn, piece.id, &piece.version).await?;
    let kind = piece.version.body.kind();
    Ok(
        json!({ "added": mark, "kind": kind, "at": piece.version.at, "body": piece.version.stored() }),
    )
}

async fn revise(
    conn: &mut Conn,
    order: OrderId,
    id: EvidenceId,
    seen: i64,
    mut version: Version,
    by: Entering,
) -> Result<Value, DeedError> {
    let pieces = evidence::of_order(conn, order).await?;
    let piece = pieces
        .iter()
        .find(|p| p.id == id && p.kind() == version.body.kind())
        .ok_or(DeedError::Missing("entry"))?;
    if piece.seq != seen {
        return Err(DeedError::Outdated);
    }
    keep_copies(piece, &mut version);
    if matches!(version.body, Body::Recovery(_)) && !version.withdrawn {
        contaminated::note(conn, order, id, &mut version, by).await?;
    }
    evidence::add_version(conn, id, &version, by).await?;
    tag_if_used(conn, id, &version).await?;
    Ok(
        json!({ "revised": piece.mark, "seq": seen + 1, "withdrawn": version.withdrawn, "why": version.why, "at": version.at, "body": version.stored() }),
    )
}

/// A used part gets a tag that leads back here for as long as the shop keeps its file; also one that is only found out to be used later.
async fn tag_if_used(conn: &mut Conn, id: EvidenceId, version: &Version) -> Result<(), DeedError> {
    let used = |part: &Part| matches!(part.source, Some(Source::Salvaged | Source::Reconditioned));
    if version.body.get::<Part>().is_some_and(used)
        && !version.withdrawn
        && !parts::has_tag(conn, id).await?
    {
        let number = shop::take_tag_number(conn).await?;
        parts::add_tag(conn, number, id).await?;
    }
    Ok(())
}

/// What was copied in when a piece was recorded stays with it, whatever a correction brings along: its air, and the data of the same gauge or scale.
fn keep_copies(before: &Piece, version: &mut Version) {
    if let Some(barometer) = version.body.barometer_mut() {
        *barometer = before.body.barometer().cloned();
    }
    // The mark of a tool that was retired may be given to another one.
    if before.instrument != version.instrument {
        return;
    }
    match (&before.body, &mut version.body) {
        (Body::Evacuation(was), Body::Evacuation(now)) => {
            keep_gauge(was.gauge.as_ref(), &mut now.gauge)
        }
        (Body::Hold(was), Body::Hold(now)) => keep_gauge(was.gauge.as_ref(), &mut now.gauge),
        (Body::Reading(was), Body::Reading(now)) => keep_gauge(was.gauge.as_ref(), &mut now.gauge),
        (Body::Recovery(was), Body::Recovery(now)) => {
            keep_scale(was.scale.as_ref(), &mut now.scale)
        }
        (Body::Charging(was), Body::Charging(now)) => {
            keep_scale(was.scale.as_ref(), &mut now.scale)
        }
        _ => {}
    }
}

fn keep_gauge(was: Option<&Gauge>, now: &mut Option<Gauge>) {
    if let Some((was, now)) = was
        .zip(now.as_mut())
        .filter(|(was, now)| was.id.is_some() && was.id == now.id)
    {
        now.clone_from(was);
    }
}

fn keep_scale(was: Option<&Scale>, now: &mut Option<Scale>) {
    if let Some((was, now)) = was
        .zip(now.as_mut())
        .filter(|(was, now)| was.id.is_some() && was.id == now.id)
    {
        now.clone_from(was);
    }
}

/// A piece as a version, to change one thing of it.
pub fn as_version(piece: &Piece) -> Version {
    Version {
        body: piece.body.clone(),
        own: piece.own.clone(),
        at: piece.at,
        approximate: piece.approximate,
        withdrawn: false,
        why: String::new(),
        instrument: piece.instrument,
        cylinder: piece.cylinder,
        yard: piece.yard,
    }
}

/// The barometer in force is copied in, so that a later one never changes what was recorded.
async fn copy_barometer(
    conn: &mut Conn,
    order: OrderId,
    version: &mut Version,
    by: Entering,
) -> Result<(), DeedError> {
    let at = version.at.unwrap_or(by.at);
    let Some(copy) = version.body.barometer_mut() else {
        return Ok(());
    };
    let Some(barometer) = shop::barometer(conn, at).await? else {
        return Ok(());
    };
    let site: Quantity<Pressure> = barometer
        .site
        .parse()
        .map_err(|e| StoreError::stored("barometer", e))?;
    copy.get_or_insert_with(|| site.clone());
    // The order's own site takes the first one: figures that belong to no entry rest on it. But not where something was recorded before without any:
    // that rests on the site, and would be worked out anew with an air that nobody had read then.
    let mut pieces = evidence::of_order(conn, order).await?;
    if pieces
        .iter_mut()
        .any(|p| p.body.barometer_mut().is_some_and(|b| b.is_none()))
    {
        return Ok(());
    }
    let without = |p: &&Piece| p.get::<Site>().is_some_and(|s| s.barometer.is_none());
    if let Some(piece) = pieces.iter().find(without) {
        let mut with = as_version(piece);
        if let Some(own) = with.body.get_mut::<Site>() {
            own.barometer = Some(site);
        }
        evidence::add_version(conn, piece.id, &with, by).await?;
    }
    Ok(())
}
