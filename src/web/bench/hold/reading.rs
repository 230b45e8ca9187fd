//! One reading of a gauge: its form, and what was typed into it.
use super::super::{
    super::{Ctx, Field, Form, Kind as FieldKind},
    Scene,
    diagnosis::{degrees, gauge_unit, temperature},
};
use crate::{
    shop::{money::decimal, written::told as in_words},
    store::{
        attachments::Attachment,
        evidence::{GaugeKind, Kind, Piece, Reference},
    },
    work::evidence::NewPiece,
};
use chillwright_calc::{
    checks::gauge::GaugeFacts,
    record::Reading,
    units::{Pressure, Quantity, Temperature, show},
};
use rust_decimal::Decimal;

/// The form as a reading that is to be corrected has it.
pub fn fill(ctx: &Ctx, form: &mut Form, reading: &Piece) {
    let number = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
    form.set("reading", number(pressure(reading)));
    // A temperature is shown in the unit that is asked for; one typed in the other is converted.
    if let Some(t) = temperature_of(reading) {
        let same = t.unit() == degrees(ctx).0;
        form.set(
            "metal",
            if same {
                number(t.text())
            } else {
                number(&show::temperature(t.si(), ctx.units))
            },
        );
    }
    form.set(
        "at",
        reading.at.map(|at| ctx.zone.field(at)).unwrap_or_default(),
    );
    if reading.approximate {
        form.set("about", "yes");
    }
    if let Some(photograph) = &reading.own.photograph {
        form.set("photograph", photograph.as_str());
    }
    form.set("piece", reading.mark.clone());
    form.set("seen", reading.seq.to_string());
}

/// What the gauge showed, as it was typed.
pub fn pressure(reading: &Piece) -> &str {
    reading
        .get::<Reading>()
        .and_then(|r| r.pressure.as_ref())
        .map_or("", Quantity::text)
}

fn temperature_of(reading: &Piece) -> Option<&Quantity<Temperature>> {
    reading.get::<Reading>()?.temperature.as_ref()
}

/// The unit that the gauge of a hold or an evacuation shows.
pub fn unit(piece: &Piece) -> &str {
    piece.own.unit.as_deref().unwrap_or_default()
}

/// A reading in a few words.
pub fn told(ctx: &Ctx, r: &Piece) -> String {
    let at =
        r.at.map(|at| ctx.zone.short(at, ctx.now))
            .unwrap_or_default();
    let metal = temperature_of(r)
        .map(|t| format!(", metal {}", in_words(t.text())))
        .unwrap_or_default();
    let from = if r.own.photograph.is_some() {
        ", from the photograph"
    } else {
        ""
    };
    format!(
        "{at}{}: {}{metal}{from}",
        if r.approximate { " (about)" } else { "" },
        in_words(pressure(r))
    )
}

/// The readings of a hold or an evacuation, oldest first.
pub fn sorted<'a>(scene: &'a Scene, piece: &Piece) -> Vec<&'a Piece> {
    let mut readings: Vec<&Piece> = scene.children(piece, Kind::Reading).collect();
    readings.sort_by_key(|r| r.at);
    readings
}

/// One graduation or the last digit, with its unit.
pub fn resolution(piece: &Piece) -> &str {
    piece
        .body
        .gauge()
        .and_then(|g| g.resolution.as_ref())
        .map_or("0.5 inHg", Quantity::text)
}

/// The same as a number.
pub fn graduation(piece: &Piece) -> Option<Decimal> {
    resolution(piece).split(' ').next()?.parse().ok()
}

/// With as many digits after the point as the graduation has.
fn at_digits(value: Decimal, step: Decimal) -> String {
    let digits = step.normalize().scale();
    let mut value = value.round_dp(digits);
    value.rescale(digits);
    value.to_string()
}

/// Tiles of a dial's graduations around a number; none for a gauge with digits.
pub fn tiles(piece: &Piece, around: Decimal, form: &Form) -> Option<Field> {
    let unit = unit(piece);
    let step = graduation(piece).filter(|s| {
        !s.is_zero()
            && piece.own.gauge_kind == Some(GaugeKind::DialGauge)
            && resolution(piece).ends_with(unit)
    })?;
    let tiles: Vec<(String, String)> = (-2..=2)
        .rev()
        .map(|i| around + step * Decimal::from(i))
        .filter(|v| !v.is_sign_negative())
        .map(|v| (v.normalize().to_string(), at_digits(v, step)))
        .collect();
    Some(form.tiles("tile", &format!("Needle reading, {}", counts(piece)), tiles))
}

/// The gauge's unit with its reference: "inHg vacuum", "psig", "micron abs".
fn counts(piece: &Piece) -> String {
    match piece.own.reference {
        Some(reference @ (Reference::Vacuum | Reference::Abs)) => {
            format!("{} {}", unit(piece), reference.word())
        }
        Some(Reference::Gauge) | None => gauge_unit(unit(piece)),
    }
}

/// For a dial, tiles of its graduations around the last reading; and a field for any other value.
pub fn fields(ctx: &Ctx, piece: &Piece, last: Option<&Piece>, form: &Form) -> Vec<Field> {
    let unit = unit(piece);
    let last_number = last.and_then(|l| pressure(l).split(' ').next()?.parse::<Decimal>().ok());
    let mut fields: Vec<Field> = last_number
        .and_then(|last| Some(tiles(piece, last, form)?.last(last.to_string())))
        .into_iter()
        .collect();
    let label = if fields.is_empty() {
        format!("Gauge reading, {}", counts(piece))
    } else {
        "Or enter the reading".to_owned()
    };
    fields.push(Field {
        kind: FieldKind::Hidden,
        value: unit.to_owned(),
        ..form.field("in", "")
    });
    fields.push(
        form.field("reading", &label)
            .number(unit)
            .last(last_number.map(|l| l.to_string()).unwrap_or_default()),
    );
    if piece.kind() == Kind::Hold {
        let metal = last
            .and_then(temperature_of)
            .map_or("", Quantity::text)
            .replace("degC", "°C")
            .replace("degF", "°F");
        fields.push(
            form.field("metal", "Metal temperature")
                .number(degrees(ctx).1)
                .last(metal),
        );
    }
    if form.error("anyway").is_some() || form.ticked("anyway") {
        let tick = Field {
            error: form.error("anyway").map(str::to_owned),
            ..form.tick("anyway", "That is what it shows; save it")
        };
        fields.push(tick);
    }
    fields.push(
        form.field("at", "Read at")
            .kind(FieldKind::DateTime)
            .hint("Blank = now."),
    );
    fields.push(form.tick("about", "The time is approximate"));
    fields
}

/// The reading as it becomes evidence; `None` where something is wrong with the form.
pub fn read(
    ctx: &Ctx,
    piece: &Piece,
    form: &mut Form,
    scene: &Scene,
    picture: Option<&Attachment>,
) -> Option<NewPiece> {
    let (tile, typed) = (form.get("tile").to_owned(), form.get("reading").to_owned());
    let number = match (tile.as_str(), typed.as_str()) {
        ("", "") => {
            form.wrong("reading", "Choose or enter the gauge reading.");
            None
        }
        (tile, "") => decimal(tile)
            .map_err(|says| form.wrong("reading", says))
            .ok(),
        ("", typed) => decimal(typed)
            .map_err(|says| form.wrong("reading", says))
            .ok(),
        (tile, typed) => match (decimal(tile), decimal(typed)) {
            (Ok(a), Ok(b)) if a == b => Some(a),
            (Ok(a), Ok(b)) => {
                form.wrong(
                    "reading",
                    format!("You chose {a} and entered {b}. Keep only one of them."),
                );
                None
            }
            (_, Err(says)) | (Err(says), _) => {
                form.wrong("reading", says);
                None
            }
        },
    };
    let metal = temperature(ctx, form, "metal");
    // The number is typed later; the gauge showed it when it was photographed.
    let at = if form.get("at").is_empty() {
        picture.map(|p| p.at)
    } else {
        None
    };
    let at = at.or_else(|| form.when("at", &ctx.zone, ctx.now))?;
    if piece.at.is_some_and(|begun| at < begun) {
        form.wrong(
            "at",
            format!(
                "That is before the start at {}.",
                piece
                    .at
                    .map(|b| ctx.zone.short(b, ctx.now))
                    .unwrap_or_default()
            ),
        );
    }
    let number = number?;
    let unit = unit(piece);
    // The gauge was corrected between the typing and the sending.
    if !matches!(form.get("in"), "" | "other") && form.get("in") != unit {
        let was = form.get("in").to_owned();
        form.wrong(
            "reading",
            format!(
                "This was entered in {was}, but the gauge reads in {unit}. Enter it in {unit}."
            ),
        );
        form.set("in", unit);
    }
    // A gauge that counts below the air with a minus says the same as one without.
    let reference = match piece.own.reference {
        Some(Reference::Vacuum) if number.is_sign_negative() && !number.is_zero() => {
            Some(Reference::Gauge)
        }
        reference => reference,
    };
    if reference == Some(Reference::Abs) && number.is_sign_negative() {
        form.wrong("reading", "An absolute gauge cannot read below zero.");
    }
    let pressure = format!("{number} {unit} {}", reference.map_or("", Reference::word));
    let pressure = ask_once(piece, &pressure, form, scene);
    if !form.is_right() {
        return None;
    }
    let reading = Reading {
        at: Some(at.into()),
        pressure: Some(pressure?),
        temperature: metal,
        ..Reading::default()
    };
    let mut new = NewPiece::new(reading, Some(at)).under(piece.id);
    new.version.own.photograph = picture.map(|p| p.sha256.clone());
    new.version.approximate = form.about();
    Some(new)
}

/// A reading below perfect vacuum cannot be: it is asked about once, and kept if it is confirmed.
fn ask_once(
    piece: &Piece,
    pressure: &str,
    form: &mut Form,
    scene: &Scene,
) -> Option<Quantity<Pressure>> {
    let Ok(quantity) = pressure.parse::<Quantity<Pressure>>() else {
        form.wrong("reading", "That is not a pressure.");
        return None;
    };
    let resolution = resolution(piece).parse().ok();
    let (impossible, air) = chillwright_calc::checks::with_case(
        &scene.record,
        chillwright_calc::UnitSystem::Si,
        |case| {
            let air = case.site.air(piece.body.barometer()).0;
            let gauge = chillwright_calc::record::Gauge {
                resolution,
                ..chillwright_calc::record::Gauge::default()
            };
            (
                GaugeFacts::of(Some(&gauge), case.limits)
                    .read(quantity.si(), air, case.limits)
                    .impossible,
                air,
            )
        },
    );
    if impossible && !form.ticked("anyway") {
        let unit = unit(piece);
        form.wrong(
            "anyway",
            format!("That is impossible: with the air pressure here no vacuum can be deeper than {}. Check the gauge.", show::in_unit(air.pressure.pa(), unit)),
        );
    }
    Some(quantity)
}
