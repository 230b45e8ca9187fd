//! The curve of a hold, with what is to be compared.
use super::{
    super::{super::Ctx, Scene},
    reading::{graduation, pressure, sorted, told, unit},
};
use crate::{
    plot::curve::HoldCurve,
    shop::Instant,
    store::evidence::{Kind, Piece, Reference},
};
use chillwright_calc::{
    checks::case::Case,
    record::{Hold, HoldKind},
    units::show,
};
use rust_decimal::prelude::ToPrimitive;

fn first_number(text: &str) -> Option<f64> {
    text.split(' ').next()?.parse().ok()
}

/// What a hold's gauge showed, and when.
pub fn points(readings: &[&Piece]) -> Vec<(i64, f64)> {
    readings
        .iter()
        .filter_map(|r| Some((r.at?.0, first_number(pressure(r))?)))
        .collect()
}

fn name(ctx: &Ctx, hold: &Piece) -> String {
    format!(
        "{}, {}",
        hold.mark,
        hold.at.map(|at| ctx.zone.clock(at)).unwrap_or_default()
    )
}

/// The latest earlier hold of the same kind that was read in the same unit, with its readings; none from before a joint was opened.
fn earlier<'a>(scene: &'a Scene, piece: &Piece) -> Option<(&'a Piece, Vec<(i64, f64)>)> {
    let begun = piece.at?;
    let opened = scene
        .of_kinds(&[Kind::Opening])
        .filter_map(|o| o.at)
        .filter(|at| *at < begun)
        .max();
    let alike = |h: &Piece| {
        kind(h) == kind(piece)
            && h.own.unit == piece.own.unit
            && h.own.reference == piece.own.reference
    };
    scene
        .of_kinds(&[Kind::Hold])
        .filter(|h| {
            h.id != piece.id
                && alike(h)
                && h.at
                    .is_some_and(|at| at < begun && opened.is_none_or(|o| at > o))
        })
        .map(|h| (h, points(&sorted(scene, h))))
        .filter(|(_, points)| points.len() > 1)
        .max_by_key(|(h, _)| h.at)
}

fn kind(piece: &Piece) -> Option<HoldKind> {
    piece.get::<Hold>().and_then(|h| h.kind)
}

/// From how many seconds on this hold counts.
fn least(case: &Case<'_>, piece: &Piece) -> f64 {
    case.limits
        .least_hold(Some(kind(piece).unwrap_or(HoldKind::Vacuum)))
        .s()
}

/// From when the next reading of a running hold helps; none where it helps at any time, or before the first.
pub fn helps_from(case: &Case<'_>, piece: &Piece, readings: &[&Piece]) -> Option<Instant> {
    let minimum = least(case, piece);
    let (first, last) = (
        readings.iter().find_map(|r| r.at)?,
        readings.iter().rev().find_map(|r| r.at)?,
    );
    let from = Instant(first.0 + (minimum * 1e3) as i64);
    (piece.body.ended_at().is_none() && last < from).then_some(from)
}

/// The curve of a hold, beside the one that it is to be compared with.
pub fn curve(
    ctx: &Ctx,
    scene: &Scene,
    case: &Case<'_>,
    piece: &Piece,
    readings: &[&Piece],
) -> String {
    let points = points(readings);
    let Some(&(t0, _)) = points.first() else {
        return String::new();
    };
    let unit = unit(piece);
    let size = show::unit_size(unit).unwrap_or(1.0);
    let before = earlier(scene, piece);
    // Two holds are compared from the closing off of each.
    let zero = |piece: &Piece, first: i64| {
        if before.is_some() {
            piece.at.map_or(first, |at| at.0.min(first))
        } else {
            first
        }
    };
    let t0 = zero(piece, t0);
    let held = case.holds.iter().find(|h| h.id == piece.mark);
    let bound = held.and_then(|h| h.figures.bound_pa).unwrap_or(0.0);
    let minimum = least(case, piece);
    let seconds = |t: i64| (t - t0) as f64 / 1e3;
    let last = points.last().map_or(0.0, |p| seconds(p.0));
    let running = piece.body.ended_at().is_none();
    let helps = helps_from(case, piece, readings);
    let end = if running {
        last.max(minimum * 1.25)
    } else {
        last
    };
    let falls = kind(piece) == Some(HoldKind::Pressure);
    let shown: Vec<String> = readings.iter().map(|r| told(ctx, r)).collect();
    HoldCurve {
        points: points.iter().map(|(t, v)| (seconds(*t), *v)).collect(),
        inverted: piece.own.reference == Some(Reference::Vacuum),
        graduation: graduation(piece).and_then(|g| g.to_f64()).unwrap_or(0.5),
        bound: bound / size,
        falls,
        beyond: if falls {
            "beyond this line: leak".into()
        } else {
            "beyond this line: leak or water".into()
        },
        times: match &before {
            Some(_) => points
                .iter()
                .map(|(t, _)| (seconds(*t), format!("{:.0} min", seconds(*t) / 60.0)))
                .collect(),
            None => points
                .iter()
                .map(|(t, _)| (seconds(*t), ctx.zone.clock(Instant(*t))))
                .collect(),
        },
        end,
        next: helps.map(|at| {
            (
                seconds(at.0),
                format!("next useful reading from {}", ctx.zone.clock(at)),
            )
        }),
        earlier: before.as_ref().map_or_else(Vec::new, |(piece, points)| {
            let t0 = zero(piece, points.first().map_or(0, |p| p.0));
            points
                .iter()
                .map(|(t, v)| ((t - t0) as f64 / 1e3, *v))
                .collect()
        }),
        names: before
            .as_ref()
            .map_or_else(Default::default, |(before, _)| {
                (name(ctx, piece), name(ctx, before))
            }),
        says: match &before {
            Some((before, _)) => {
                let then: Vec<String> =
                    sorted(scene, before).iter().map(|r| told(ctx, r)).collect();
                format!(
                    "Readings against minutes from closing off. {} Dashed, for comparison, {}: {}",
                    shown.join("; "),
                    name(ctx, before),
                    then.join("; ")
                )
            }
            None => format!("Readings against time. {}", shown.join("; ")),
        },
    }
    .svg()
}
