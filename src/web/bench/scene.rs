//! What the bench knows of an order: its evidence, what the calculation says, and what the shop has in its hands.
use crate::shop::OrderState;
use crate::{
    shop::PersonId,
    store::{
        StoreError,
        assessment::{self, Finding},
        audit,
        evidence::{self, Entry, Kind, Piece},
        handovers,
        orders::Order,
        record,
        shop::{self, Barometer},
        things::{self, Cylinder, Instrument, Yard},
    },
    web::{Ctx, Fault},
};
use chillwright_calc::{
    JobRecord,
    checks::{case::Case, sheet::SheetLine, with_case},
    record::{Drive, Metering, System},
};

/// An order as the bench sees it.
pub struct Scene {
    /// The order.
    pub order: Order,
    /// The last deed that all this shows.
    pub seen: i64,
    /// Its evidence.
    pub pieces: Vec<Piece>,
    /// Its job record.
    pub record: JobRecord,
    /// The stored findings.
    pub findings: Vec<Finding>,
    /// Instruments in use.
    pub instruments: Vec<Instrument>,
    /// Cylinders in use.
    pub cylinders: Vec<Cylinder>,
    /// Yards.
    pub yards: Vec<Yard>,
    /// The barometer in force.
    pub barometer: Option<Barometer>,
    /// Who entered evidence.
    people: Vec<(PersonId, String)>,
}

impl Scene {
    /// Reads it, with what the shop has in its hands.
    pub async fn of(ctx: &Ctx, number: i64) -> Result<Self, Fault> {
        let mut scene = Self::brief(ctx, number).await?;
        let mut conn = ctx.app.store.read().await?;
        scene.instruments = things::instruments(&mut conn)
            .await?
            .into_iter()
            .filter(|i| i.retired_at.is_none())
            .collect();
        scene.cylinders = things::cylinders(&mut conn)
            .await?
            .into_iter()
            .filter(|c| c.retired_at.is_none())
            .collect();
        scene.yards = things::yards(&mut conn).await?;
        scene.barometer = shop::barometer(&mut conn, ctx.now).await?;
        scene.people = evidence::workers(&mut conn, scene.order.id).await?;
        Ok(scene)
    }

    /// Reads it without that: for pages on which nothing is entered.
    pub async fn brief(ctx: &Ctx, number: i64) -> Result<Self, Fault> {
        let order = ctx.order(number).await?;
        let mut conn = ctx.app.store.read().await?;
        // Read before the rest: whatever is kept meanwhile is then told to the page.
        let seen = audit::last_of(&mut conn, order.id).await?;
        let pieces = evidence::of_order(&mut conn, order.id).await?;
        // A closed order is shown as it was handed over, whatever the limits are today.
        let frozen = if order.state == OrderState::HandedOver {
            handovers::last_record(&mut conn, order.id).await?
        } else {
            None
        };
        let mut record = match frozen {
            Some(text) => chillwright_calc::parse(&text)
                .map_err(|e| StoreError::stored("frozen job record", e))?,
            None => record::of_pieces_at(&mut conn, Some(&ctx.shop), order.id, &pieces).await?,
        };
        if !order.is_open() {
            record.stage = None;
        }
        Ok(Self {
            record,
            findings: assessment::findings(&mut conn, order.id).await?,
            instruments: Vec::new(),
            cylinders: Vec::new(),
            yards: Vec::new(),
            barometer: None,
            people: Vec::new(),
            order,
            seen,
            pieces,
        })
    }

    /// The piece with this mark.
    pub fn piece(&self, mark: &str) -> Option<&Piece> {
        self.pieces.iter().find(|p| p.mark == mark)
    }

    /// Who entered a piece, or corrected it last.
    pub fn by(&self, piece: &Piece) -> &str {
        self.people
            .iter()
            .find(|(id, _)| *id == piece.person)
            .map_or("", |(_, name)| name)
    }

    /// Pieces of these kinds.
    pub fn of_kinds<'a>(&'a self, kinds: &'a [Kind]) -> impl Iterator<Item = &'a Piece> {
        self.pieces
            .iter()
            .filter(move |p| kinds.contains(&p.kind()))
    }

    /// All holds and evacuations.
    pub fn holds(&self) -> impl Iterator<Item = &Piece> {
        self.of_kinds(&[Kind::Hold, Kind::Evacuation])
    }

    /// Pieces of one kind, each with its entry.
    pub fn each<T: Entry + 'static>(&self) -> impl Iterator<Item = (&Piece, &T)> {
        self.pieces.iter().filter_map(|p| Some((p, p.get()?)))
    }

    /// What belongs to another, each with its entry.
    pub fn each_under<'a, T: Entry + 'static>(
        &'a self,
        parent: &Piece,
    ) -> impl Iterator<Item = (&'a Piece, &'a T)> {
        let id = parent.id;
        self.each().filter(move |(p, _)| p.parent == Some(id))
    }

    /// Pieces that belong to another.
    pub fn children<'a>(&'a self, parent: &Piece, kind: Kind) -> impl Iterator<Item = &'a Piece> {
        let id = parent.id;
        self.pieces
            .iter()
            .filter(move |p| p.parent == Some(id) && p.kind() == kind)
    }

    /// Asks it about the record as if the work were ready: for what stands before the handover, and for paper.
    pub fn ask_as_ready<T>(&self, ctx: &Ctx, ask: impl FnOnce(&Case<'_>) -> T) -> T {
        with_case(
            &JobRecord {
                stage: None,
                ..self.record.clone()
            },
            ctx.units,
            ask,
        )
    }

    /// What is due of what was found; of a closed order all of it.
    pub fn due(&self) -> Vec<Finding> {
        self.findings
            .iter()
            .filter(|f| f.due || !self.order.is_open())
            .cloned()
            .collect()
    }

    /// What is still to do, in the order of the work.
    pub fn to_do(&self) -> Vec<Finding> {
        self.findings
            .iter()
            .filter(|f| !f.due && self.order.is_open())
            .cloned()
            .collect()
    }

    /// Asks the calculation something about the record, in this person's units.
    pub fn ask<T>(&self, ctx: &Ctx, ask: impl FnOnce(&Case<'_>) -> T) -> T {
        with_case(&self.record, ctx.units, ask)
    }

    /// The record sheet.
    pub fn sheet(&self, ctx: &Ctx) -> Vec<SheetLine> {
        self.ask(ctx, |case| {
            chillwright_calc::checks::sheet::lines(
                case,
                &chillwright_calc::checks::rules::findings(case),
            )
        })
    }

    /// The instrument with this mark.
    pub fn instrument(&self, mark: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|i| i.mark == mark)
    }

    /// The cylinder with this mark.
    pub fn cylinder(&self, mark: &str) -> Option<&Cylinder> {
        self.cylinders.iter().find(|c| c.mark == mark)
    }

    /// The label.
    pub fn label(&self) -> Option<&System> {
        self.each().next().map(|(_, label)| label)
    }

    /// What stands on the label as refrigerant.
    pub fn refrigerant(&self) -> &'static str {
        self.label().map_or("", |l| l.refrigerant.word())
    }

    /// How it is metered, as far as the label says.
    pub fn metering(&self) -> Option<Metering> {
        self.label().and_then(|l| l.metering)
    }

    /// Whether high voltage drives the compressor.
    pub fn is_electric(&self) -> bool {
        self.label()
            .is_some_and(|l| l.compressor_drive == Some(Drive::Electric))
    }

    /// How many evaporators it has.
    pub fn evaporators(&self) -> u8 {
        self.record.system.evaporators.unwrap_or(1)
    }
}

/// Whether a hold or an evacuation was not ended yet.
pub fn runs(piece: &Piece) -> bool {
    piece.body.ended_at().is_none()
}
