//! Evacuations and holds: begun with a gauge, read, ended. The answer to each reading stands above the entry.
use super::{
    super::{
        Ctx, Fault, Field, Fieldset, Form, Kind as FieldKind, Page,
        access::Access,
        form::{Typed, again, to},
        router::{Route, get, post},
    },
    Scene, Top,
    diagnosis::{degrees, one, temperature},
    tasks::Draft,
    twice,
};
use crate::{
    plot::curve::HoldCurve,
    shop::{Instant, money::decimal},
    store::{
        evidence::{Kind, Piece},
        things::Instrument,
    },
    work::evidence::{BENCH, Change, Entry, NewPiece, as_version, keep},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query},
    response::Response,
};
use chillwright_calc::{
    checks::{
        case::Case,
        gauge::GaugeFacts,
        talk::{self, Answer, RulesOut},
    },
    record::HoldKind,
    units::{Pressure, Quantity, show},
};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use serde_json::{Value, json};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/holds/{mark}", Access::BENCH, show),
        post("/orders/{number}/holds/{mark}/readings", Access::BENCH, read),
        post("/orders/{number}/holds/{mark}/end", Access::BENCH, end),
    ]
}

/// The page of a hold or evacuation.
pub fn address(number: i64, piece: &Piece) -> String {
    format!("/orders/{number}/holds/{}", piece.mark)
}

/// Holds and evacuations that run: address and words.
pub fn running(scene: &Scene) -> Vec<(String, String)> {
    scene
        .of_kinds(&[Kind::Hold, Kind::Evacuation])
        .filter(|p| !p.body.contains_key("ended_at"))
        .map(|p| (address(scene.order.number, p), if p.kind == Kind::Hold { "A hold is running".to_owned() } else { "An evacuation is running".to_owned() }))
        .collect()
}

pub fn evacuation_intro(ctx: &Ctx, scene: &Scene) -> String {
    barometer_line(ctx, scene)
}

pub fn hold_intro(ctx: &Ctx, scene: &Scene) -> String {
    format!("{} Wait a few minutes after closing off before the first reading of a pressure hold; the probe sits on metal.", barometer_line(ctx, scene))
}

fn barometer_line(ctx: &Ctx, scene: &Scene) -> String {
    match &scene.barometer {
        Some(b) => format!("Barometer {} since {}.", b.site.trim_end_matches(" abs"), ctx.zone.short(b.at, ctx.now)),
        None => "No barometer reading is in force: the air’s pressure comes from the elevation, give or take 1.5 kPa. Enter one under Shop.".into(),
    }
}

fn gauges(scene: &Scene) -> Vec<(String, String)> {
    scene.instruments.iter().filter(|i| i.is_gauge()).map(|i| (i.mark.clone(), format!("{}, {} to {}", i.mark, kind_word(&i.kind), i.resolution))).collect()
}

fn kind_word(kind: &str) -> &'static str {
    match kind {
        "dial-gauge" => "dial",
        "vacuum-gauge" => "electronic vacuum gauge",
        _ => "digital",
    }
}

/// A gauge as it goes into the evidence: its data are copied, so that a later change of it changes nothing.
fn gauge_body(i: &Instrument, vacuum: bool) -> (Value, &'static str) {
    let mut gauge = json!({ "id": i.mark });
    for (key, value) in [("resolution", &i.resolution), ("error", &i.error)] {
        if !value.is_empty() {
            gauge[key] = json!(value);
        }
    }
    if let Some(day) = &i.compared_on {
        gauge["compared_on"] = json!(day);
    }
    let reference = match (i.kind.as_str(), vacuum) {
        ("vacuum-gauge", _) => "abs",
        (_, true) => "vacuum",
        (_, false) => "gauge",
    };
    (gauge, reference)
}

fn start_fields(form: &Form) -> Vec<Field> {
    vec![form.field("at", "Begun at").kind(FieldKind::DateTime).hint("Empty: now."), form.tick("about", "The time is about right, not exact")]
}

pub fn evacuation_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles("gauge", "Gauge", gauges(scene)).required(),
        form.field("metal", "Coldest metal of the circuit").number(degrees(ctx).1).hint("Water leaves where the metal is warm enough for it to boil."),
    ];
    fields.extend(start_fields(form));
    one(fields)
}

pub fn read_evacuation(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let instrument = gauge(scene, form);
    let metal = temperature(ctx, form, "metal");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let instrument = instrument?;
    let (gauge, reference) = gauge_body(&instrument, true);
    let body = json!({ "gauge": gauge, "coldest_metal": metal, "_unit": instrument.unit, "_reference": reference, "_gauge_kind": instrument.kind });
    let mut draft = Draft::new(Kind::Evacuation, with_what_was(scene, form, body)).at("started_at", at, form);
    draft.instrument = Some(instrument.id);
    Some(vec![draft])
}

pub fn hold_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles("kind", "What is held", [("vacuum", "a vacuum"), ("pressure", "a pressure")]).required(),
        form.tiles("gas", "Gas of a pressure hold", [("nitrogen", "dry nitrogen"), ("refrigerant", "refrigerant")]),
        form.tiles("gauge", "Gauge", gauges(scene)).required(),
    ];
    fields.extend(start_fields(form));
    one(fields)
}

pub fn read_hold(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let kind = form.choice("kind", "Tap what is held.", |k| matches!(k, "vacuum" | "pressure").then(|| k.to_owned()));
    let instrument = gauge(scene, form);
    let vacuum = kind.as_deref() == Some("vacuum");
    if !vacuum && instrument.as_ref().is_some_and(|i| i.kind == "vacuum-gauge") {
        form.wrong("gauge", "A vacuum gauge does not read a pressure hold.");
    }
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let (kind, instrument) = (kind?, instrument?);
    let (gauge, reference) = gauge_body(&instrument, vacuum);
    let gas = if vacuum {
        "air"
    } else if form.get("gas") == "refrigerant" {
        "refrigerant"
    } else {
        "nitrogen"
    };
    let body = json!({ "kind": kind, "gas": gas, "gauge": gauge, "_unit": instrument.unit, "_reference": reference, "_gauge_kind": instrument.kind, "_started_at": at.rfc3339() });
    let mut draft = Draft::new(Kind::Hold, with_what_was(scene, form, body));
    draft.at = Some(at);
    draft.approximate = form.ticked("about");
    draft.instrument = Some(instrument.id);
    Some(vec![draft])
}

/// A correction of the beginning keeps the end and the barometer that were recorded.
fn with_what_was(scene: &Scene, form: &Form, mut body: Value) -> Value {
    if let Some(piece) = scene.piece(form.get("piece")) {
        for key in ["ended_at", "barometer"] {
            if let Some(value) = piece.body.get(key) {
                body[key] = value.clone();
            }
        }
    }
    body
}

fn gauge(scene: &Scene, form: &mut Form) -> Option<Instrument> {
    let found = scene.instrument(form.get("gauge")).filter(|i| i.is_gauge()).cloned();
    if found.is_none() {
        form.wrong("gauge", "Tap the gauge.");
    }
    found.filter(|i| {
        let ready = !i.unit.is_empty() && !i.resolution.is_empty();
        if !ready {
            form.wrong("gauge", "This gauge has no unit or graduation on record yet: enter them under Shop, Instruments.");
        }
        ready
    })
}

#[derive(Template, WebTemplate)]
#[template(path = "bench/hold.html")]
struct HoldPage {
    page: Page,
    top: Top,
    title: &'static str,
    line: String,
    answer: Answer,
    curve: String,
    rows: Vec<RulesOut>,
    beyond: Option<String>,
    /// Milliseconds until the next reading helps.
    helps_in: Option<i64>,
    ended: bool,
    read_action: String,
    end_action: String,
    form: Form,
    end_form: Form,
    fields: Vec<Field>,
    /// The reading that the same form entered before, with the choice.
    first: Option<Fieldset>,
    /// The reading that is corrected.
    correcting: Option<String>,
    end_fields: Vec<Field>,
    readings: Vec<ReadingLine>,
    caution: &'static str,
}

struct ReadingLine {
    says: String,
    mark: String,
    seq: i64,
    deed: Form,
    action: String,
    correct: String,
}

async fn show(
    ctx: Ctx,
    Path((number, mark)): Path<(i64, String)>,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<HoldPage, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let address = format!("/orders/{number}/holds/{mark}");
    let mut form = kept.sent_to(&format!("{address}/readings"));
    if let Some(reading) = query.get("piece").and_then(|mark| scene.piece(mark)).filter(|p| form.is_empty() && p.kind == Kind::Reading) {
        fill(&ctx, &mut form, reading);
    }
    page(&ctx, &scene, &mark, form, kept.sent_to(&format!("{address}/end")))
}

/// The form as a reading that is to be corrected has it.
fn fill(ctx: &Ctx, form: &mut Form, reading: &Piece) {
    let number = |key: &str| reading.text(key).split(' ').next().unwrap_or_default().to_owned();
    form.set("reading", number("pressure"));
    // A temperature is shown in the unit that is asked for; one typed in the other is converted.
    if let Ok(t) = reading.text("temperature").parse::<Quantity<chillwright_calc::units::Temperature>>() {
        let same = reading.text("temperature").ends_with(degrees(ctx).0);
        form.set("metal", if same { number("temperature") } else { show::temperature(t.si(), ctx.units).split(' ').next().unwrap_or_default().to_owned() });
    }
    form.set("at", reading.at.map(|at| ctx.zone.field(at)).unwrap_or_default());
    if reading.approximate {
        form.set("about", "yes");
    }
    form.set("piece", reading.mark.clone());
    form.set("seen", reading.seq.to_string());
}

fn the_piece<'a>(scene: &'a Scene, mark: &str) -> Result<&'a Piece, Fault> {
    scene.piece(mark).filter(|p| matches!(p.kind, Kind::Hold | Kind::Evacuation)).ok_or_else(|| Fault::missing(format!("hold {mark}")))
}

fn page(ctx: &Ctx, scene: &Scene, mark: &str, form: Form, end_form: Form) -> Result<HoldPage, Fault> {
    let piece = the_piece(scene, mark)?;
    let is_hold = piece.kind == Kind::Hold;
    let ended = piece.body.contains_key("ended_at");
    let readings: Vec<&Piece> = sorted(scene, piece);
    let ((mut answer, rows, beyond), curve, helps, waits) = scene.ask(ctx, |case| {
        let told = if is_hold {
            let held = case.holds.iter().find(|h| h.id == mark);
            held.map(|h| (talk::hold(case, h), talk::hold_rows(case, h), talk::hold_beyond(case, h)))
        } else {
            case.evacuations.iter().find(|e| e.id == mark).map(|e| (talk::evacuation(case, e), Vec::new(), None))
        };
        let nothing = || (Answer { says: "Cannot tell yet.".into(), why: String::new(), next: "Read the gauge.".into() }, Vec::new(), None);
        (
            told.unwrap_or_else(nothing),
            if is_hold { curve(ctx, scene, case, piece, &readings) } else { String::new() },
            is_hold.then(|| helps_from(case, piece, &readings)).flatten(),
            case.holds.iter().any(|h| h.id == mark && talk::waits_for_a_reading(h)),
        )
    });
    if let Some(from) = helps.filter(|_| waits) {
        answer.next = format!("{}: from {} on.", answer.next.trim_end_matches('.'), ctx.zone.clock(from));
    }
    let number = scene.order.number;
    let address = address(number, piece);
    let begun = piece.at.map(|at| ctx.zone.short(at, ctx.now)).unwrap_or_default();
    let gauge = piece.body.get("gauge").and_then(|g| g.get("id")).and_then(Value::as_str).unwrap_or("no gauge");
    let barometer = piece.text("barometer").trim_end_matches(" abs");
    let barometer = if barometer.is_empty() { String::new() } else { format!(", barometer {barometer}") };
    let title = match (is_hold, piece.text("kind")) {
        (false, _) => "Evacuation",
        (true, "pressure") => "Pressure hold",
        (true, _) => "Vacuum hold",
    };
    let last = readings.last().copied();
    Ok(HoldPage {
        page: super::bench_page(ctx, scene, format!("{title}, order {number}"), address.clone()),
        top: Top::of(scene),
        title,
        line: format!(
            "{} at {begun}. Gauge {gauge}, {} to {}{barometer}.",
            if is_hold { "Closed off" } else { "Begun" },
            kind_word(piece.text("_gauge_kind")),
            resolution(piece)
        ),
        curve,
        answer,
        rows,
        beyond,
        helps_in: helps.map(|from| from.0 - ctx.now.0).filter(|left| *left > 0),
        ended,
        read_action: format!("{address}/readings"),
        end_action: format!("{address}/end"),
        fields: reading_fields(ctx, piece, last, &form),
        first: twice::choice(ctx, scene, &form),
        correcting: Some(form.get("piece").to_owned()).filter(|p| !p.is_empty()),
        end_fields: vec![
            end_form.field("ended", if is_hold { "Ended at" } else { "Pump stopped and closed off at" }).kind(FieldKind::DateTime).hint("Empty: now."),
        ],
        form,
        end_form,
        readings: readings
            .iter()
            .map(|r| ReadingLine {
                says: reading_told(ctx, r),
                mark: r.mark.clone(),
                seq: r.seq,
                deed: Form::default(),
                action: format!("/orders/{number}/pieces/{}/withdraw", r.mark),
                correct: format!("{address}?piece={}", r.mark),
            })
            .collect(),
        caution: if is_hold { "While it holds: engine off, so that the belt does not turn the compressor. Leave the valves shut." } else { "" },
    })
}

fn reading_told(ctx: &Ctx, r: &Piece) -> String {
    let at = r.at.map(|at| ctx.zone.short(at, ctx.now)).unwrap_or_default();
    let metal = r.text("temperature");
    let metal = if metal.is_empty() { String::new() } else { format!(", metal {}", metal.replace("degC", "°C").replace("degF", "°F")) };
    format!("{at}{}: {}{metal}", if r.approximate { " (about)" } else { "" }, r.text("pressure"))
}

fn sorted<'a>(scene: &'a Scene, piece: &Piece) -> Vec<&'a Piece> {
    let mut readings: Vec<&Piece> = scene.children(piece, Kind::Reading).collect();
    readings.sort_by_key(|r| r.at);
    readings
}

fn resolution(piece: &Piece) -> &str {
    piece.body.get("gauge").and_then(|g| g.get("resolution")).and_then(Value::as_str).unwrap_or("0.5 inHg")
}

fn first_number(text: &str) -> Option<f64> {
    text.split(' ').next()?.parse().ok()
}

fn graduation(piece: &Piece) -> Option<Decimal> {
    resolution(piece).split(' ').next()?.parse().ok()
}

/// With as many digits after the point as the graduation has.
fn at_digits(value: Decimal, step: Decimal) -> String {
    let digits = step.normalize().scale();
    let mut value = value.round_dp(digits);
    value.rescale(digits);
    value.to_string()
}

/// For a dial, tiles of its graduations around the last reading; and a field for any other value.
fn reading_fields(ctx: &Ctx, piece: &Piece, last: Option<&Piece>, form: &Form) -> Vec<Field> {
    let unit = piece.text("_unit");
    let counts = match piece.text("_reference") {
        "vacuum" => " below the air",
        "abs" => " above nothing",
        _ => " above the air",
    };
    let last_number = last.and_then(|l| l.text("pressure").split(' ').next()?.parse::<Decimal>().ok());
    let mut fields = Vec::new();
    let step = graduation(piece).filter(|s| !s.is_zero() && piece.text("_gauge_kind") == "dial-gauge" && resolution(piece).ends_with(unit));
    if let (Some(step), Some(last)) = (step, last_number) {
        let tiles: Vec<(String, String)> = (-2..=2)
            .rev()
            .map(|i| last + step * Decimal::from(i))
            .filter(|v| !v.is_sign_negative())
            .map(|v| (v.normalize().to_string(), at_digits(v, step)))
            .collect();
        fields.push(form.tiles("tile", &format!("The needle stands at, {unit}{counts}"), tiles).last(last.to_string()));
    }
    let label = if fields.is_empty() { format!("The gauge shows, {unit}{counts}") } else { "or it reads".to_owned() };
    fields.push(form.field("reading", &label).number(unit).last(last_number.map(|l| l.to_string()).unwrap_or_default()));
    if piece.kind == Kind::Hold {
        let metal = last.map_or("", |l| l.text("temperature")).replace("degC", "°C").replace("degF", "°F");
        fields.push(form.field("metal", "Metal").number(degrees(ctx).1).last(metal));
    }
    if form.error("anyway").is_some() || form.ticked("anyway") {
        let tick = Field { error: form.error("anyway").map(str::to_owned), ..form.tick("anyway", "It does show that; keep it") };
        fields.push(tick);
    }
    fields.push(form.field("at", "Read at").kind(FieldKind::DateTime).hint("Empty: now."));
    fields.push(form.tick("about", "The time is about right, not exact"));
    fields
}

async fn read(ctx: Ctx, Path((number, mark)): Path<(i64, String)>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let piece = the_piece(&scene, &mark)?;
    let sent = form.deed;
    let new = if twice::decided(&scene, &mut form) { reading(&ctx, piece, &mut form, &scene) } else { None };
    if let Some(new) = new {
        let entry = Entry { deed: form.deed, kind: "reading-taken", order: scene.order.id, form: form.fingerprint(), roles: BENCH };
        let corrected = scene.piece(form.get("piece")).filter(|p| p.parent == Some(piece.id));
        let change = match corrected {
            Some(old) => Change::Revise { id: old.id, seen: form.get("seen").parse().unwrap_or(0), version: new.version },
            None => Change::Add(new),
        };
        let done = keep(&ctx.app.store, &ctx.actor, entry, vec![change], ctx.now).await;
        if form.settle(done)? {
            return Ok(to(address(number, piece)));
        }
    }
    let scene = Scene::of(&ctx, number).await?;
    if form.deed != sent {
        twice::note_first(&ctx, &scene, &mut form, sent, &[Kind::Reading]).await?;
    }
    let status = form.status();
    let end = Form::of(format!("/orders/{number}/holds/{mark}/end"), Vec::new());
    Ok(again(status, page(&ctx, &scene, &mark, form, end)?))
}

fn reading(ctx: &Ctx, piece: &Piece, form: &mut Form, scene: &Scene) -> Option<NewPiece> {
    let (tile, typed) = (form.get("tile").to_owned(), form.get("reading").to_owned());
    let number = match (tile.as_str(), typed.as_str()) {
        ("", "") => {
            form.wrong("reading", "Tap the graduation, or write what the gauge shows.");
            None
        }
        (tile, "") => decimal(tile).map_err(|says| form.wrong("reading", says)).ok(),
        ("", typed) => decimal(typed).map_err(|says| form.wrong("reading", says)).ok(),
        (tile, typed) => match (decimal(tile), decimal(typed)) {
            (Ok(a), Ok(b)) if a == b => Some(a),
            (Ok(a), Ok(b)) => {
                form.wrong("reading", format!("The tile says {a} and the field says {b}. Which is it?"));
                None
            }
            (_, Err(says)) | (Err(says), _) => {
                form.wrong("reading", says);
                None
            }
        },
    };
    let metal = temperature(ctx, form, "metal");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    if piece.at.is_some_and(|begun| at < begun) {
        form.wrong("at", format!("That is before it began, at {}.", piece.at.map(|b| ctx.zone.short(b, ctx.now)).unwrap_or_default()));
    }
    let number = number?;
    let unit = piece.text("_unit");
    // A gauge that counts below the air with a minus says the same as one without.
    let reference = match piece.text("_reference") {
        "vacuum" if number.is_sign_negative() && !number.is_zero() => "gauge",
        reference => reference,
    };
    if reference == "abs" && number.is_sign_negative() {
        form.wrong("reading", "An absolute gauge shows no less than nothing.");
    }
    let pressure = format!("{number} {unit} {reference}");
    ask_once(piece, &pressure, form, scene);
    if !form.is_right() {
        return None;
    }
    let mut body = json!({ "at": at.rfc3339(), "pressure": pressure });
    if let Some(metal) = metal {
        body["temperature"] = json!(metal);
    }
    let mut new = NewPiece::new(Kind::Reading, body, Some(at)).under(piece.id);
    new.version.approximate = form.ticked("about");
    Some(new)
}

/// A reading below perfect vacuum cannot be: it is asked about once, and kept if it is confirmed.
fn ask_once(piece: &Piece, pressure: &str, form: &mut Form, scene: &Scene) {
    let Ok(quantity) = pressure.parse::<Quantity<Pressure>>() else {
        form.wrong("reading", "That is no pressure.");
        return;
    };
    let own = piece.text("barometer").parse::<Quantity<Pressure>>().ok();
    let resolution = resolution(piece).parse().ok();
    let (impossible, air) = chillwright_calc::checks::with_case(&scene.record, chillwright_calc::UnitSystem::Si, |case| {
        let air = case.site.air(own.as_ref()).0;
        let gauge = chillwright_calc::record::Gauge { resolution, ..chillwright_calc::record::Gauge::default() };
        (GaugeFacts::of(Some(&gauge), case.limits).read(quantity.si(), air, case.limits).impossible, air)
    });
    if impossible && !form.ticked("anyway") {
        let unit = piece.text("_unit").to_owned();
        form.wrong(
            "anyway",
            format!("That cannot be: the air here has {}, and no vacuum is deeper. Look at the gauge again.", show::in_unit(air.pressure.pa(), &unit)),
        );
    }
}

async fn end(ctx: Ctx, Path((number, mark)): Path<(i64, String)>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let piece = the_piece(&scene, &mark)?;
    let last = sorted(&scene, piece).last().and_then(|r| r.at).or(piece.at);
    let at = form.when("ended", &ctx.zone, ctx.now);
    if at.zip(last).is_some_and(|(at, last)| at < last) {
        form.wrong("ended", format!("The last reading is later, {}.", last.map(|l| ctx.zone.short(l, ctx.now)).unwrap_or_default()));
    }
    if let Some(at) = at.filter(|_| form.is_right()) {
        let mut version = as_version(piece);
        version.body.insert("ended_at".into(), json!(at.rfc3339()));
        let kind = if piece.kind == Kind::Hold { "hold-ended" } else { "evacuation-ended" };
        let entry = Entry { deed: form.deed, kind, order: scene.order.id, form: form.fingerprint(), roles: BENCH };
        let done = keep(&ctx.app.store, &ctx.actor, entry, vec![Change::Revise { id: piece.id, seen: piece.seq, version }], ctx.now).await;
        if form.settle(done)? {
            return Ok(to(address(number, piece)));
        }
    }
    let status = form.status();
    let scene = Scene::of(&ctx, number).await?;
    let readings = Form::of(format!("/orders/{number}/holds/{mark}/readings"), Vec::new());
    Ok(again(status, page(&ctx, &scene, &mark, readings, form)?))
}

/// What a hold's gauge showed, and when.
fn points(readings: &[&Piece]) -> Vec<(i64, f64)> {
    readings.iter().filter_map(|r| Some((r.at?.0, first_number(r.text("pressure"))?))).collect()
}

fn name(ctx: &Ctx, hold: &Piece) -> String {
    format!("{}, {}", hold.mark, hold.at.map(|at| ctx.zone.clock(at)).unwrap_or_default())
}

/// The latest earlier hold of the same kind that was read in the same unit, with its readings; none from before a joint was opened.
fn earlier<'a>(scene: &'a Scene, piece: &Piece) -> Option<(&'a Piece, Vec<(i64, f64)>)> {
    let begun = piece.at?;
    let opened = scene.of_kinds(&[Kind::Opening]).filter_map(|o| o.at).filter(|at| *at < begun).max();
    let alike = |h: &Piece| ["kind", "_unit", "_reference"].iter().all(|key| h.text(key) == piece.text(key));
    scene
        .of_kinds(&[Kind::Hold])
        .filter(|h| h.id != piece.id && alike(h) && h.at.is_some_and(|at| at < begun && opened.is_none_or(|o| at > o)))
        .map(|h| (h, points(&sorted(scene, h))))
        .filter(|(_, points)| points.len() > 1)
        .max_by_key(|(h, _)| h.at)
}

/// From how many seconds on this hold counts.
fn least(case: &Case<'_>, piece: &Piece) -> f64 {
    let kind = if piece.text("kind") == "pressure" { HoldKind::Pressure } else { HoldKind::Vacuum };
    case.limits.least_hold(Some(kind)).s()
}

/// From when the next reading of a running hold helps; none where it helps at any time, or before the first.
fn helps_from(case: &Case<'_>, piece: &Piece, readings: &[&Piece]) -> Option<Instant> {
    let minimum = least(case, piece);
    let (first, last) = (readings.iter().find_map(|r| r.at)?, readings.iter().rev().find_map(|r| r.at)?);
    let from = Instant(first.0 + (minimum * 1e3) as i64);
    (!piece.body.contains_key("ended_at") && last < from).then_some(from)
}

/// The curve of a hold, beside the one that it is to be compared with.
pub fn curve(ctx: &Ctx, scene: &Scene, case: &Case<'_>, piece: &Piece, readings: &[&Piece]) -> String {
    let points = points(readings);
    let Some(&(t0, _)) = points.first() else { return String::new() };
    let unit = piece.text("_unit");
    let size = show::unit_size(unit).unwrap_or(1.0);
    let before = earlier(scene, piece);
    // Two holds are compared from the closing off of each.
    let zero = |piece: &Piece, first: i64| if before.is_some() { piece.at.map_or(first, |at| at.0.min(first)) } else { first };
    let t0 = zero(piece, t0);
    let held = case.holds.iter().find(|h| h.id == piece.mark);
    let bound = held.and_then(|h| h.figures.bound_pa).unwrap_or(0.0);
    let minimum = least(case, piece);
    let seconds = |t: i64| (t - t0) as f64 / 1e3;
    let last = points.last().map_or(0.0, |p| seconds(p.0));
    let running = !piece.body.contains_key("ended_at");
    let helps = helps_from(case, piece, readings);
    let end = if running { last.max(minimum * 1.25) } else { last };
    let falls = piece.text("kind") == "pressure";
    let shown: Vec<String> = readings.iter().map(|r| reading_told(ctx, r)).collect();
    HoldCurve {
        points: points.iter().map(|(t, v)| (seconds(*t), *v)).collect(),
        inverted: piece.text("_reference") == "vacuum",
        graduation: graduation(piece).and_then(|g| g.to_f64()).unwrap_or(0.5),
        bound: bound / size,
        falls,
        beyond: if falls { "beyond this line: a leak".into() } else { "beyond this line: a leak, or water".into() },
        times: match &before {
            Some(_) => points.iter().map(|(t, _)| (seconds(*t), format!("{:.0} min", seconds(*t) / 60.0))).collect(),
            None => points.iter().map(|(t, _)| (seconds(*t), ctx.zone.clock(crate::shop::Instant(*t)))).collect(),
        },
        end,
        next: helps.map(|at| (seconds(at.0), format!("the next reading helps from {}", ctx.zone.clock(at)))),
        earlier: before.as_ref().map_or_else(Vec::new, |(piece, points)| {
            let t0 = zero(piece, points.first().map_or(0, |p| p.0));
            points.iter().map(|(t, v)| ((t - t0) as f64 / 1e3, *v)).collect()
        }),
        names: before.as_ref().map_or_else(Default::default, |(before, _)| (name(ctx, piece), name(ctx, before))),
        says: match &before {
            Some((before, _)) => {
                let then: Vec<String> = sorted(scene, before).iter().map(|r| reading_told(ctx, r)).collect();
                format!("Readings against minutes from closing off. {} Dashed, for comparison, {}: {}", shown.join("; "), name(ctx, before), then.join("; "))
            }
            None => format!("Readings against time. {}", shown.join("; ")),
        },
    }
    .svg()
}
