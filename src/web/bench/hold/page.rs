//! The page of a hold or an evacuation: the answer to each reading above the entry.
use super::{
    super::{
        cautions,
        frame::{Top, bench_page},
        scene::{Scene, runs},
        tasks, twice,
    },
    begin, drawn,
    drawn::curve,
    reading::{self, sorted},
    without_number::{self, WithoutNumber},
};
use crate::{
    shop::{DeedId, Instant},
    store::{
        attachments::{self, Attachment},
        audit,
        evidence::{Body, Kind, Piece, Reference},
    },
    web::{Ctx, Fault, Field, Fieldset, Form, Kind as FieldKind, Page},
};
use askama::Template;
use askama_web::WebTemplate;
use chillwright_calc::{
    checks::{
        case::Case,
        talk::{self, Answer, RulesOut},
    },
    record::{Hold, HoldKind},
};
use serde_json::{Value, json};

/// The page of a hold or evacuation.
pub fn address(number: i64, piece: &Piece) -> String {
    format!("/orders/{number}/holds/{}", piece.mark)
}

/// A hold or an evacuation that runs, above the other tasks: what it shows, and the shortest way to one more reading.
pub struct Running {
    /// Its page; readings go below it.
    pub address: String,
    /// What it is, and since when.
    pub title: String,
    /// What it shows so far.
    pub answer: Answer,
    /// The form of one more reading.
    pub form: Form,
    /// Tiles and a number.
    pub fields: Vec<Field>,
}

/// Those that run.
pub fn running(ctx: &Ctx, scene: &Scene) -> Vec<Running> {
    scene
        .holds()
        .filter(|p| runs(p))
        .map(|piece| one_running(ctx, scene, piece))
        .collect()
}

fn one_running(ctx: &Ctx, scene: &Scene, piece: &Piece) -> Running {
    let readings = sorted(scene, piece);
    let told = scene.ask(ctx, |case| told(ctx, case, piece, &readings));
    let form = Form::default();
    // The needle's graduation or a number: two taps. Anything else is asked on its own page.
    let mut fields: Vec<Field> = reading::fields(ctx, piece, readings.last().copied(), &form)
        .into_iter()
        .filter(|f| matches!(f.name.as_str(), "tile" | "in" | "reading"))
        .collect();
    fields
        .iter_mut()
        .for_each(|f| f.id = format!("{}-{}", piece.mark, f.id));
    let begun = piece
        .at
        .map(|at| ctx.zone.short(at, ctx.now))
        .unwrap_or_default();
    Running {
        address: address(scene.order.number, piece),
        title: format!("{} since {begun}", title(piece)),
        answer: told.answer,
        form,
        fields,
    }
}

/// The page of one.
#[derive(Template, WebTemplate)]
#[template(path = "bench/hold.html")]
pub struct HoldPage {
    page: Page,
    top: Top,
    title: &'static str,
    line: String,
    answer: Answer,
    curve: String,
    /// How the gauge counts and what it showed, for the script that draws readings which the server has not seen yet.
    gauge: String,
    /// Tiles for a first reading that the server has not seen yet.
    tiles: Option<Field>,
    rows: Vec<RulesOut>,
    beyond: Option<String>,
    /// Milliseconds until the next reading helps.
    helps_in: Option<i64>,
    ended: bool,
    /// Where its forms go to, less their last word.
    address: String,
    forms: Forms,
    fields: Vec<Field>,
    /// The reading that the same form entered before, with the choice.
    first: Option<Fieldset>,
    /// The reading that is corrected.
    correcting: Option<String>,
    end_fields: Vec<Field>,
    photograph_field: Field,
    without_number: Vec<WithoutNumber>,
    /// The photograph whose number is typed.
    from: Option<WithoutNumber>,
    readings: Vec<ReadingLine>,
    /// What to take care of.
    cautions: Vec<&'static str>,
}

/// The forms of the page, empty or as they came back.
#[derive(Default)]
pub struct Forms {
    pub reading: Form,
    pub end: Form,
    pub photograph: Form,
}

struct ReadingLine {
    says: String,
    by: String,
    mark: String,
    seq: i64,
    deed: Form,
    action: String,
    correct: String,
}

/// The page with these forms.
pub async fn shown(ctx: &Ctx, scene: &Scene, mark: &str, forms: Forms) -> Result<HoldPage, Fault> {
    let piece = the_piece(ctx, scene, mark).await?;
    let pictures = {
        let mut conn = ctx.app.store.read().await?;
        attachments::of_piece(&mut conn, piece.id).await?
    };
    Ok(page(
        ctx,
        scene,
        piece,
        format!("/orders/{}/holds/{mark}", scene.order.number),
        forms,
        &pictures,
    ))
}

/// The page of a hold or evacuation that runs or has ended, as a tablet keeps it.
pub fn kept_page(ctx: &Ctx, scene: &Scene, piece: &Piece) -> HoldPage {
    page(
        ctx,
        scene,
        piece,
        address(scene.order.number, piece),
        Forms::default(),
        &[],
    )
}

/// The page of one that is begun while the server is out of reach, by the deed that begins it: the tablet's worker fills in deed and time.
pub fn blank_page(ctx: &Ctx, scene: &Scene, kind: &str, gauge: &str) -> Option<HoldPage> {
    let task = if kind == "evacuation" { kind } else { "hold" };
    let mut form = Form::of(
        String::new(),
        vec![("kind".into(), kind.into()), ("gauge".into(), gauge.into())],
    );
    let draft = (tasks::find(task).ok()?.read)(ctx, scene, &mut form)?
        .into_iter()
        .next()
        .filter(|_| form.is_right())?;
    let piece = Piece {
        id: draft.id,
        mark: "__deed__".into(),
        parent: None,
        seq: 1,
        body: draft.body,
        own: draft.own,
        at: None,
        approximate: false,
        instrument: draft.instrument,
        cylinder: None,
        yard: None,
        person: ctx.actor.person,
        entered_at: ctx.now,
    };
    Some(page(
        ctx,
        scene,
        &piece,
        address(scene.order.number, &piece),
        Forms::default(),
        &[],
    ))
}

fn page(
    ctx: &Ctx,
    scene: &Scene,
    piece: &Piece,
    address: String,
    forms: Forms,
    pictures: &[Attachment],
) -> HoldPage {
    let is_hold = piece.kind() == Kind::Hold;
    let ended = !runs(piece);
    let readings: Vec<&Piece> = sorted(scene, piece);
    let (
        Told {
            answer,
            rows,
            beyond,
            helps,
        },
        curve,
    ) = scene.ask(ctx, |case| {
        (
            told(ctx, case, piece, &readings),
            if is_hold {
                curve(ctx, scene, case, piece, &readings)
            } else {
                String::new()
            },
        )
    });
    let number = scene.order.number;
    let begun = piece
        .at
        .map_or_else(|| "__begun__".to_owned(), |at| ctx.zone.short(at, ctx.now));
    let gauge = piece
        .body
        .gauge()
        .and_then(|g| g.id.as_deref())
        .unwrap_or("no gauge");
    let barometer = piece
        .body
        .barometer()
        .map(|b| format!(", barometer {b}"))
        .unwrap_or_default();
    let title = title(piece);
    let last = readings.last().copied();
    let without_number = without_number::of(ctx, pictures, &readings);
    let form = &forms.reading;
    HoldPage {
        page: bench_page(
            ctx,
            scene,
            format!("{title}, order {number}"),
            address.clone(),
        ),
        top: Top::of(scene),
        title,
        line: format!(
            "{} at {begun}. Gauge {gauge}, {}, resolution {}{barometer}.",
            if is_hold { "Closed off" } else { "Started" },
            begin::kind_word(piece.own.gauge_kind),
            reading::resolution(piece)
        ),
        curve,
        answer,
        rows,
        beyond,
        helps_in: helps
            .map(|from| from.0 - ctx.now.0)
            .filter(|left| *left > 0),
        ended,
        gauge: gauge_facts(ctx, piece, &readings),
        tiles: last
            .is_none()
            .then(|| reading::tiles(piece, rust_decimal::Decimal::TEN, form))
            .flatten(),
        fields: reading::fields(ctx, piece, last, form),
        first: twice::choice(ctx, scene, form),
        correcting: Some(form.get("piece").to_owned()).filter(|p| !p.is_empty()),
        end_fields: vec![
            forms
                .end
                .field(
                    "ended",
                    if is_hold {
                        "Ended at"
                    } else {
                        "Closed off and pump stopped at"
                    },
                )
                .kind(FieldKind::DateTime)
                .hint("Blank = now."),
        ],
        photograph_field: without_number::field(&forms.photograph),
        from: without_number
            .iter()
            .find(|w| w.sha256 == form.get("photograph"))
            .cloned(),
        without_number,
        readings: readings
            .iter()
            .map(|r| ReadingLine {
                says: reading::told(ctx, r),
                by: scene.by(r).to_owned(),
                mark: r.mark.clone(),
                seq: r.seq,
                deed: Form::default(),
                action: format!("/orders/{number}/pieces/{}/withdraw", r.mark),
                correct: format!("{address}?piece={}", r.mark),
            })
            .collect(),
        cautions: cautions::running(scene, is_hold, piece.get::<Hold>().and_then(|h| h.kind)),
        address,
        forms,
    }
}

/// What the calculation says of one.
struct Told {
    answer: Answer,
    rows: Vec<RulesOut>,
    beyond: Option<String>,
    /// From when the next reading helps.
    helps: Option<Instant>,
}

fn told(ctx: &Ctx, case: &Case<'_>, piece: &Piece, readings: &[&Piece]) -> Told {
    let nothing = || Answer {
        says: "Cannot tell yet.".into(),
        why: String::new(),
        next: "Read the gauge.".into(),
    };
    if piece.kind() != Kind::Hold {
        let evacuated = case.evacuations.iter().find(|e| e.id == piece.mark);
        return Told {
            answer: evacuated.map_or_else(nothing, |e| talk::evacuation(case, e)),
            rows: Vec::new(),
            beyond: None,
            helps: None,
        };
    }
    let helps = drawn::helps_from(case, piece, readings);
    let Some(held) = case.holds.iter().find(|h| h.id == piece.mark) else {
        return Told {
            answer: nothing(),
            rows: Vec::new(),
            beyond: None,
            helps,
        };
    };
    let mut answer = talk::hold(case, held);
    if let Some(from) = helps.filter(|_| talk::waits_for_a_reading(held)) {
        answer.next = format!(
            "{}: from {} on.",
            answer.next.trim_end_matches('.'),
            ctx.zone.clock(from)
        );
    }
    Told {
        answer,
        rows: talk::hold_rows(case, held),
        beyond: talk::hold_beyond(case, held),
        helps,
    }
}

fn title(piece: &Piece) -> &'static str {
    match &piece.body {
        Body::Evacuation(_) => "Evacuation",
        Body::Hold(Hold {
            kind: Some(HoldKind::Pressure),
            ..
        }) => "Pressure hold",
        _ => "Vacuum hold",
    }
}

/// For the script: unit, graduation and direction of the gauge, the shop's offset from UTC, the readings (milliseconds, what it showed).
fn gauge_facts(ctx: &Ctx, piece: &Piece, readings: &[&Piece]) -> String {
    let facts = json!({
        "unit": reading::unit(piece),
        "graduation": reading::graduation(piece).and_then(|g| rust_decimal::prelude::ToPrimitive::to_f64(&g)).unwrap_or(0.5),
        "inverted": piece.own.reference == Some(Reference::Vacuum),
        "offset": ctx.zone.offset(ctx.now),
        "kept": drawn::points(readings),
        "drawn": piece.kind() == Kind::Hold,
    });
    // It stands inside a script element of the page.
    facts.to_string().replace('<', "\\u003c")
}

/// The hold or evacuation of an address: by its mark, or by the deed that began it, for a tablet without network knows no other name.
pub async fn the_piece<'a>(ctx: &Ctx, scene: &'a Scene, name: &str) -> Result<&'a Piece, Fault> {
    if let Some(piece) = scene.holds().find(|p| p.mark == name) {
        return Ok(piece);
    }
    let missing = || Fault::missing(format!("hold {name}"));
    let deed: DeedId = name.parse().map_err(|_| missing())?;
    of_deed(ctx, scene, deed).await?.ok_or_else(missing)
}

/// The hold or evacuation that a deed began, or corrected.
pub async fn of_deed<'a>(
    ctx: &Ctx,
    scene: &'a Scene,
    deed: DeedId,
) -> Result<Option<&'a Piece>, Fault> {
    let told = {
        let mut conn = ctx.app.store.read().await?;
        audit::told(&mut conn, deed)
            .await?
            .filter(|told| told.order == Some(scene.order.id))
    };
    let changes: Vec<&Value> = told
        .iter()
        .filter_map(|told| told.content.as_array())
        .flatten()
        .collect();
    let marks: Vec<&str> = changes
        .iter()
        .filter_map(|t| t.get("added").or_else(|| t.get("revised"))?.as_str())
        .collect();
    Ok(scene.holds().find(|p| marks.contains(&p.mark.as_str())))
}
