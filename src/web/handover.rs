//! Ways out: repaired only through the gate; the report is frozen with the handover.
use super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    bench::Scene,
    ending::finish,
    findings::{self, FindingLine},
    form::Typed,
    report::{self, Report},
    route::{Route, get, post},
};
use crate::{
    shop::Way,
    store::{assessment, evidence::Kind as Evidence},
    work::handover::{Asked, hand_over, in_the_way, reopen},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Path, response::Response};
use chillwright_calc::record::{Fixing, Part};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/handover", Access::DESK, show),
        post("/orders/{number}/handover", Access::DESK, keep),
        post("/orders/{number}/reopen", Access::OWNER, open_again),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "handover/page.html")]
struct HandoverPage {
    page: Page,
    number: i64,
    gate: String,
    lines: Vec<FindingLine>,
    form: Form,
    sets: Vec<Fieldset>,
}

async fn show(
    ctx: Ctx,
    Path(number): Path<i64>,
    Typed(kept): Typed,
) -> Result<HandoverPage, Fault> {
    let action = format!("/orders/{number}/handover");
    let mut form = kept.sent_to(&action);
    let scene = Scene::of(&ctx, number).await?;
    if form.is_empty() {
        form.set("sentence", suggested(&scene));
        if let Some(day) = earliest_look_again(&scene) {
            form.set("look_again_on", day);
        }
    }
    page(&ctx, &scene, form).await
}

async fn page(ctx: &Ctx, scene: &Scene, form: Form) -> Result<HandoverPage, Fault> {
    let number = scene.order.number;
    let concessions = {
        let mut conn = ctx.app.store.read().await?;
        assessment::concessions(&mut conn, scene.order.id).await?
    };
    let way: Vec<_> = in_the_way(&scene.findings, &concessions)
        .into_iter()
        .cloned()
        .collect();
    let gate = if way.is_empty() {
        "Ready to hand over as repaired. Nothing is blocking and the owner has accepted every exception.".to_owned()
    } else {
        "Not ready to hand over as repaired. These are blocking:".to_owned()
    };
    let lines = findings::lines(number, &way, &concessions, ctx.units, |c| c.name.clone());
    let ways = Way::ALL.map(|w| {
        let says = match w {
            Way::Repaired => "as repaired",
            Way::PartlyRepaired => "partly repaired: the customer stopped the work",
            Way::MadeSafe => "made safe: refrigerant recovered, circuit closed, not to be used",
            Way::DiagnosedOnly => "diagnosis only",
        };
        (w.word(), says)
    });
    let fields = vec![
        form.tiles("way", "Hand over as", ways).required(),
        form.field("sentence", "Sentence for the driver")
            .kind(Kind::Long)
            .hint("Printed at the top of the report.")
            .required(),
        form.field("look_again_on", "Recheck by").kind(Kind::Date),
    ];
    Ok(HandoverPage {
        page: Page::of(ctx, format!("Hand over order {number}"), "/orders"),
        number,
        gate,
        lines,
        sets: vec![Fieldset {
            fields,
            ..Fieldset::default()
        }],
        form,
    })
}

fn earliest_look_again(scene: &Scene) -> Option<String> {
    scene
        .each::<Fixing>()
        .filter_map(|(_, fixing)| fixing.look_again_on)
        .min()
        .map(|day| day.to_string())
}

/// A sentence out of what is on record; the desk may write another.
fn suggested(scene: &Scene) -> String {
    let parts: Vec<String> = scene
        .each::<Part>()
        .filter(|(_, part)| part.fitted_at.is_some())
        .map(|(_, part)| crate::shop::written::a_part(part))
        .collect();
    let fitted = if parts.is_empty() {
        String::new()
    } else {
        format!(" We fitted {}.", parts.join(" and "))
    };
    let charged = scene.of_kinds(&[Evidence::Charging]).next().is_some();
    format!(
        "{}{fitted}",
        if charged {
            "The air conditioning of your car has been worked on and charged."
        } else {
            "The air conditioning of your car has been inspected."
        }
    )
}

async fn keep(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let way = form.choice("way", "Choose how the car is handed over.", Way::from_word);
    let sentence = form.need("sentence", "Enter the sentence for the driver.");
    let look_again_on = form.date("look_again_on");
    if way.is_some_and(|w| w != Way::Repaired) && sentence.as_deref().is_some_and(implies_repaired)
    {
        form.wrong(
            "sentence",
            "The car is not handed over as repaired. Do not use words that say it is.",
        );
    }
    let mut done = None;
    if let (Some(way), Some(sentence), true) = (way, sentence, form.is_right()) {
        // Paper has the shop's units, whatever this person looks at.
        let paper = Ctx {
            units: ctx.shop.unit_system(),
            ..ctx.clone()
        };
        let report = Report::of(
            &paper,
            &scene,
            Some((way, sentence.clone(), look_again_on.clone())),
        )
        .await?;
        let asked = Asked {
            order: scene.order.id,
            way,
            sentence,
            look_again_on,
            report: report::frozen(&report)?,
            record: serde_json::to_string(&scene.record).map_err(|e| Fault::Own(Box::new(e)))?,
            units: ctx.units,
        };
        done = Some(
            hand_over(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                asked,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/report"),
        async |form| page(&ctx, &scene, form).await,
    )
    .await
}

/// Words that a driver would take for a repair.
fn implies_repaired(sentence: &str) -> bool {
    let text = sentence.to_lowercase();
    ["repaired", "fixed", "mended", "cools again", "works again"]
        .iter()
        .any(|w| text.contains(w))
}

async fn open_again(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let mut done = None;
    if let Some(reason) = form.need("reason", "Enter the reason.") {
        done = Some(
            reopen(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                order.id,
                &reason,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}"),
        async |form| report::page(&ctx, number, None, &form).await,
    )
    .await
}
