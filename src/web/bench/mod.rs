//! The bench: one task at a time, at the car, gloves on.
pub mod cautions;
mod charging;
pub mod diagnosis;
mod draft;
mod frame;
pub mod hold;
mod joints;
mod parts;
mod proving;
pub mod scene;
mod tasks;
pub mod told;
mod twice;

pub use scene::Scene;

use super::{
    Ctx, Fault, Fieldset, Form, Page,
    access::Access,
    ending::finish,
    form::{Typed, again, to},
    outlook::{self, Outlook},
    route::{Route, get, post},
    stage::StageView,
};
use crate::{
    shop::DeedId,
    store::evidence::{Filled, Kind, Piece, Version},
    work::{
        concessions::answer,
        evidence::{Change, NewPiece, as_version, keep},
        stage::say,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query},
    response::Response,
};
use chillwright_calc::checks::outlook::Lost;
use chillwright_calc::record::Stage;
use draft::Draft;
use frame::{Top, TopAnswer, bench_page, entry, kept_before};
use std::collections::HashMap;
use tasks::Task;
use uuid::Uuid;

/// Addresses.
pub fn routes() -> Vec<Route> {
    let mut routes = vec![
        get("/orders/{number}/bench", Access::BENCH, index),
        get("/orders/{number}/bench/{task}", Access::BENCH, show),
        post("/orders/{number}/bench/{task}", Access::BENCH, enter),
        post(
            "/orders/{number}/pieces/{mark}/withdraw",
            Access::BENCH,
            withdraw,
        ),
        post("/orders/{number}/stage", Access::BENCH, say_stage),
        post(
            "/orders/{number}/sent-back/{id}",
            Access::BENCH,
            answer_sent_back,
        ),
    ];
    routes.extend(hold::routes());
    routes
}

#[derive(Template, WebTemplate)]
#[template(path = "bench/index.html")]
pub struct IndexPage {
    page: Page,
    top: Top,
    answer: TopAnswer,
    running: Vec<hold::Running>,
    beyond: Option<String>,
    lines: Vec<TaskLine>,
    stage: Option<StageView>,
    sent_back: Vec<super::sent_back::SentBackLine>,
}

pub struct TaskLine {
    href: String,
    title: &'static str,
    says: String,
    word: &'static str,
}

async fn index(ctx: Ctx, Path(number): Path<i64>, Typed(kept): Typed) -> Result<IndexPage, Fault> {
    index_page(&ctx, number, &kept).await
}

/// All tasks, and on top what the owner sent back; `typed` is an answer to that which is shown again.
pub async fn index_page(ctx: &Ctx, number: i64, typed: &Form) -> Result<IndexPage, Fault> {
    let scene = Scene::of(ctx, number).await?;
    let sheet = scene.sheet(ctx);
    let lines = tasks::ALL
        .iter()
        .map(|task| {
            let pieces: Vec<&Piece> = scene
                .pieces
                .iter()
                .filter(|p| task.lists(p.kind()))
                .collect();
            let line = task
                .section()
                .and_then(|section| sheet.iter().find(|l| l.section == section.word()));
            let says = match line {
                Some(line) if line.on_record => line.says.clone(),
                _ if pieces.is_empty() => "Nothing on record.".to_owned(),
                _ => format!(
                    "{} on record.",
                    if pieces.len() == 1 {
                        "1 entry".to_owned()
                    } else {
                        format!("{} entries", pieces.len())
                    }
                ),
            };
            let word = line.and_then(|l| l.weight).map_or(
                if line.is_some_and(|l| l.to_do) {
                    "to do"
                } else {
                    ""
                },
                super::findings::word,
            );
            TaskLine {
                href: format!("/orders/{number}/bench/{}", task.word),
                title: task.title,
                says,
                word,
            }
        })
        .collect();
    Ok(IndexPage {
        page: bench_page(
            ctx,
            &scene,
            format!("Bench, order {number}"),
            format!("/orders/{number}/bench"),
        ),
        top: Top::of(&scene),
        answer: TopAnswer::of(ctx, &scene),
        running: hold::running(ctx, &scene),
        beyond: super::account::authorised(ctx, &scene).await?.0,
        lines,
        stage: StageView::of(ctx, &scene, typed),
        sent_back: super::sent_back::sent_back_lines(ctx, scene.order.id, typed).await?,
    })
}

/// The page of a task.
#[derive(Template, WebTemplate)]
#[template(path = "bench/task.html")]
pub struct TaskPage {
    page: Page,
    top: Top,
    title: &'static str,
    intro: String,
    /// What the last reading suggests, with the source of it.
    points: Vec<(String, &'static str)>,
    action: String,
    button: &'static str,
    answer: TopAnswer,
    /// A hold or an evacuation that runs meanwhile.
    running: Vec<hold::Running>,
    form: Form,
    correcting: Option<String>,
    sets: Vec<Fieldset>,
    /// A row for a joint whose opening waits at the tablet; only those make a form out of some pages.
    joint: Option<Fieldset>,
    only_joints: bool,
    entries: Vec<EntryLine>,
    /// What the shop's instruments would show, beside the choice of a hold.
    outlook: Option<Outlook>,
    outlook_form: Form,
    /// What to take care of.
    cautions: Vec<&'static str>,
    /// What the last measurement of the high voltage means, where that matters.
    isolated: Option<String>,
}

struct EntryLine {
    mark: String,
    says: String,
    by: String,
    /// Where it is corrected.
    correct: String,
    /// Where a photograph of it is added.
    photograph: Option<String>,
    withdraw: Form,
    seq: i64,
}

async fn show(
    ctx: Ctx,
    Path((number, word)): Path<(i64, String)>,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<TaskPage, Fault> {
    let (scene, task) = (Scene::of(&ctx, number).await?, tasks::find(&word)?);
    let action = format!("/orders/{number}/bench/{word}");
    let mut form = kept.sent_to(&action);
    if form.is_empty() {
        if let Some(piece) = query.get("piece").and_then(|mark| scene.piece(mark)) {
            form = filled(&ctx, &action, piece);
        }
        for (key, value) in query
            .iter()
            .filter(|(k, _)| k.as_str() == "part" || k.as_str() == "joint")
        {
            form.set(key, value.clone());
        }
    }
    let choice = query
        .into_iter()
        .filter(|(k, _)| matches!(k.as_str(), "held" | "nitrogen"))
        .collect();
    Ok(page(&ctx, &scene, task, form, Form::of(action, choice)))
}

/// The form as it was filled in when a piece was entered.
fn filled(ctx: &Ctx, action: &str, piece: &Piece) -> Form {
    let typed = piece.own.form.iter().flat_map(Filled::pairs);
    let mut values: Vec<(String, String)> = typed
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
    // An empty time meant "now" then; a correction of something else keeps it.
    if let Some(at) = piece.at.filter(|_| !values.iter().any(|(k, _)| k == "at")) {
        values.push(("at".into(), ctx.zone.field(at)));
    }
    values.push(("piece".into(), piece.mark.clone()));
    values.push(("seen".into(), piece.seq.to_string()));
    Form::of(action.to_owned(), values)
}

/// Words and titles of all tasks, in the order of the work.
pub fn titles() -> impl Iterator<Item = (&'static str, &'static str)> {
    tasks::ALL.iter().map(|task| (task.word, task.title))
}

/// A task's page as a tablet keeps it.
pub fn kept_page(ctx: &Ctx, scene: &Scene, word: &str) -> Result<TaskPage, Fault> {
    let form = || {
        Form::of(
            format!("/orders/{}/bench/{word}", scene.order.number),
            Vec::new(),
        )
    };
    Ok(page(ctx, scene, tasks::find(word)?, form(), form()))
}

fn page(
    ctx: &Ctx,
    scene: &Scene,
    task: &'static Task,
    form: Form,
    mut outlook_form: Form,
) -> TaskPage {
    let number = scene.order.number;
    let piece = form.get("piece").to_owned();
    let entries = scene
        .pieces
        .iter()
        .filter(|piece| task.lists(piece.kind()))
        .map(|piece| EntryLine {
            mark: piece.mark.clone(),
            says: told::entry(ctx, scene, piece),
            by: scene.by(piece).to_owned(),
            correct: format!("/orders/{number}/bench/{}?piece={}", task.word, piece.mark),
            photograph: (piece.kind() == Kind::Part)
                .then(|| format!("/orders/{number}/photographs?piece={}", piece.mark)),
            withdraw: Form::default(),
            seq: piece.seq,
        })
        .collect();
    TaskPage {
        page: bench_page(
            ctx,
            scene,
            format!("{}, order {number}", task.title),
            format!("/orders/{number}/bench/{}", task.word),
        ),
        top: Top::of(scene),
        title: task.title,
        intro: (task.intro)(ctx, scene),
        points: proving::points_to(ctx, scene, task.word),
        action: format!("/orders/{number}/bench/{}", task.word),
        button: task.button,
        answer: TopAnswer::of(ctx, scene),
        running: hold::running(ctx, scene),
        sets: twice::choice(ctx, scene, &form)
            .into_iter()
            .chain((task.fields)(ctx, scene, &form))
            .collect(),
        joint: joints::row_by_place(task.word, &form).filter(|_| piece.is_empty()),
        only_joints: task.word == "seals" && joints::none_asked(scene, &form),
        correcting: (!piece.is_empty()).then_some(piece),
        form,
        entries,
        outlook: (task.word == "hold").then(|| {
            scene.ask(ctx, |case| {
                outlook::of(
                    ctx,
                    case,
                    &scene.instruments,
                    &mut outlook_form,
                    &Lost::default(),
                )
            })
        }),
        outlook_form,
        cautions: cautions::of(scene, task.word),
        isolated: diagnosis::isolated(ctx, scene, task.word),
    }
}

async fn enter(
    ctx: Ctx,
    Path((number, word)): Path<(i64, String)>,
    mut form: Form,
) -> Result<Response, Fault> {
    let ctx = ctx.in_units_of(&form);
    let (scene, task) = (Scene::of(&ctx, number).await?, tasks::find(&word)?);
    if kept_before(&ctx, &form).await? {
        return Ok(to(after(&ctx, number, task, form.deed).await?));
    }
    let sent = form.deed;
    let drafts = if twice::decided(&scene, &mut form) {
        (task.read)(&ctx, &scene, &mut form)
    } else {
        None
    };
    if let Some(drafts) = drafts.filter(|_| form.is_right()) {
        let changes = changes(&scene, &form, drafts)?;
        let done = keep(
            &ctx.app.store,
            &ctx.actor,
            entry(&form, task.kind, scene.order.id),
            changes,
            ctx.now,
        )
        .await;
        if form.settle(done)? {
            return Ok(to(after(&ctx, number, task, form.deed).await?));
        }
    }
    let scene = Scene::of(&ctx, number).await?;
    if form.deed != sent {
        twice::note_first(&ctx, &scene, &mut form, sent, |kind| task.lists(kind)).await?;
    }
    Ok(again(
        form.status(),
        page(&ctx, &scene, task, form, Form::default()),
    ))
}

/// A hold or evacuation that was begun opens its own page; everything else shows its task again.
async fn after(ctx: &Ctx, number: i64, task: &Task, deed: DeedId) -> Result<String, Fault> {
    if matches!(task.word, "hold" | "evacuation") {
        let scene = Scene::of(ctx, number).await?;
        if let Some(piece) = hold::of_deed(ctx, &scene, deed).await? {
            return Ok(hold::address(number, piece));
        }
    }
    Ok(format!("/orders/{number}/bench/{}?kept=1", task.word))
}

/// New pieces, or one new version where the form corrects a piece. What was typed goes along, so that a correction begins with it.
fn changes(scene: &Scene, form: &Form, drafts: Vec<Draft>) -> Result<Vec<Change>, Fault> {
    let typed = typed(form);
    let corrected = match form.get("piece") {
        "" => None,
        mark => Some(
            scene
                .piece(mark)
                .ok_or_else(|| Fault::missing(format!("entry {mark}")))?,
        ),
    };
    // One of the drafts corrects the piece; the others are what that entails.
    let correcting = corrected.and_then(|piece| {
        drafts
            .iter()
            .position(|d| d.body.kind() == piece.kind() && d.revises.is_none())
    });
    let changes = drafts
        .into_iter()
        .enumerate()
        .map(|(i, draft)| {
            let mut own = draft.own;
            if i == 0 || draft.keeps_form {
                own.form = Some(typed.clone());
            }
            let version = Version {
                body: draft.body,
                own,
                at: draft.at,
                approximate: draft.approximate,
                withdrawn: false,
                why: form.get("why").to_owned(),
                instrument: draft.instrument,
                cylinder: draft.cylinder,
                yard: draft.yard,
            };
            match (corrected, draft.revises) {
                (Some(piece), _) if correcting == Some(i) => Change::Revise {
                    id: piece.id,
                    seen: form.get("seen").parse().unwrap_or(0),
                    version,
                },
                (_, Some((id, seen))) => Change::Revise { id, seen, version },
                _ => Change::Add(NewPiece {
                    id: draft.id,
                    parent: draft.parent,
                    version,
                }),
            }
        })
        .collect();
    Ok(changes)
}

fn typed(form: &Form) -> Filled {
    let mut typed = Filled::default();
    for (key, value) in form.pairs().iter().filter(|(k, v)| {
        !matches!(
            k.as_str(),
            "deed" | "piece" | "seen" | "why" | "first" | "as" | "units" | "by" | "after"
        ) && !v.is_empty()
    }) {
        typed.add(key, value);
    }
    typed
}

async fn withdraw(
    ctx: Ctx,
    Path((number, mark)): Path<(i64, String)>,
    mut form: Form,
) -> Result<Response, Fault> {
    if kept_before(&ctx, &form).await? {
        return Ok(to(format!("/orders/{number}/bench")));
    }
    let scene = Scene::of(&ctx, number).await?;
    let piece = scene
        .piece(&mark)
        .ok_or_else(|| Fault::missing(format!("entry {mark}")))?;
    let seen = form.get("seen").parse().unwrap_or(piece.seq);
    let version = Version {
        withdrawn: true,
        why: form.text("why"),
        ..as_version(piece)
    };
    let done = keep(
        &ctx.app.store,
        &ctx.actor,
        entry(&form, "entry-withdrawn", scene.order.id),
        vec![Change::Revise {
            id: piece.id,
            seen,
            version,
        }],
        ctx.now,
    )
    .await;
    if !form.settle(done)? {
        return Err(Fault::Conflict(
            "Somebody else has changed this entry in the meantime. Check it again.".into(),
        ));
    }
    let back = tasks::task_of_kind(piece.kind()).map_or_else(
        || format!("/orders/{number}/bench"),
        |t| format!("/orders/{number}/bench/{}?kept=1", t.word),
    );
    Ok(to(back))
}

async fn say_stage(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let stage = form.choice("stage", "Choose whether the work is ready.", |word| {
        word.parse::<Stage>().ok()
    });
    let mut done = None;
    if let Some(stage) = stage {
        done = Some(
            say(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                order.id,
                stage,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/bench?kept=1"),
        async |form| index_page(&ctx, number, &form).await,
    )
    .await
}

async fn answer_sent_back(
    ctx: Ctx,
    Path((number, id)): Path<(i64, Uuid)>,
    mut form: Form,
) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let mut done = None;
    if let Some(says) = form.need("says", "Enter an answer.") {
        done = Some(
            answer(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                order.id,
                id,
                &says,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/bench?kept=1"),
        async |form| index_page(&ctx, number, &form).await,
    )
    .await
}
