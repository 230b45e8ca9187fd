//! Why a finding stands: its figures step by step, the law, how sure that is, what would change it.
use super::frozen::Frozen;
use crate::shop::written;
use crate::store::evidence::Body;
use crate::web::{
    Ctx, Fault, Page,
    access::Access,
    bench::Scene,
    findings,
    route::{Route, get},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::extract::Path;
use chillwright_calc::{
    RULES_VERSION,
    checks::{
        explain::{Why, why},
        rules,
    },
    record::answer::Finding,
};

/// The address.
pub fn route() -> Route {
    get("/orders/{number}/why/{code}/{about}", Access::STAFF, show)
}

#[derive(Template, WebTemplate)]
#[template(path = "order/why.html")]
struct WhyPage {
    page: Page,
    number: i64,
    class: &'static str,
    word: &'static str,
    finding: Finding,
    /// How it is calculated; not where other rules found it.
    why: Option<Why>,
    /// What to say instead.
    other_rules: String,
    evidence: Vec<String>,
    /// Where it is settled; nowhere for those who may not.
    href: Option<String>,
    rules: String,
}

async fn show(
    ctx: Ctx,
    Path((number, code, about)): Path<(i64, String, String)>,
) -> Result<WhyPage, Fault> {
    let scene = Scene::brief(&ctx, number).await?;
    let frozen = Frozen::of(&ctx, &scene).await?;
    let this = |f: &Finding| f.code == code && f.about == about;
    let (finding, why) = match &frozen {
        Some(then) => {
            let finding = then.findings.iter().find(|f| this(f)).cloned();
            finding
                .map(|f| {
                    (
                        then.is_todays()
                            .then(|| scene.ask(&ctx, |case| why(case, &f))),
                        f,
                    )
                })
                .map(|(why, f)| (f, why))
        }
        None => scene.ask(&ctx, |case| {
            let said = rules::said(case);
            let finding = said.findings.into_iter().chain(said.to_do).find(this)?;
            let why = why(case, &finding);
            Some((finding, Some(why)))
        }),
    }
    .ok_or_else(|| Fault::missing("finding (it may be settled)"))?;
    let to_do = frozen.is_none()
        && scene
            .to_do()
            .iter()
            .any(|f| f.code == code && f.about == about);
    let (class, word) = if to_do {
        ("to-do", "to do")
    } else {
        findings::class_and_word(finding.weight)
    };
    let bench = ctx.actor.roles.any(crate::work::evidence::BENCH) && scene.order.is_open();
    Ok(WhyPage {
        page: Page::of(&ctx, "Why", "/orders"),
        number,
        class,
        word,
        href: bench.then(|| {
            format!(
                "/orders/{number}/bench/{}",
                findings::task_of(&finding.code, &finding.about)
            )
        }),
        evidence: finding
            .evidence
            .iter()
            .map(|mark| told(&ctx, &scene, mark))
            .collect(),
        finding,
        why,
        other_rules: frozen
            .as_ref()
            .filter(|f| !f.is_todays())
            .map(Frozen::says)
            .unwrap_or_default(),
        rules: frozen.map_or_else(|| RULES_VERSION.to_owned(), |f| f.rules),
    })
}

/// A piece of evidence in words.
fn told(ctx: &Ctx, scene: &Scene, mark: &str) -> String {
    let Some(piece) = scene.piece(mark) else {
        return mark.to_owned();
    };
    let place = match &piece.body {
        Body::Part(part) => part.role.map_or("", written::role),
        body => body.place(),
    };
    let kind = super::super::bench::told::kind_name(piece.kind());
    let at = piece
        .at
        .map(|at| format!(", {}", ctx.zone.date_and_clock(at)))
        .unwrap_or_default();
    format!(
        "{kind} {mark}{}{at}",
        if place.is_empty() {
            String::new()
        } else {
            format!(", {place}")
        }
    )
}
