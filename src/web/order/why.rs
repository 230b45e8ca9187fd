//! Why a finding stands: its figures step by step, the law, how sure that is, what would change it.
use crate::web::{
    Ctx, Fault, Page,
    access::Access,
    bench::{Scene, task_of},
    findings,
    router::{Route, get},
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
    why: Why,
    evidence: Vec<String>,
    /// Where it is settled; nowhere for those who may not.
    href: Option<String>,
    rules: &'static str,
}

async fn show(ctx: Ctx, Path((number, code, about)): Path<(i64, String, String)>) -> Result<WhyPage, Fault> {
    let scene = Scene::brief(&ctx, number).await?;
    let (finding, why) = scene
        .ask(&ctx, |case| {
            let finding = rules::findings(case).into_iter().find(|f| f.code == code && f.about == about)?;
            let why = why(case, &finding);
            Some((finding, why))
        })
        .ok_or_else(|| Fault::missing("such finding any more"))?;
    let (class, word) = findings::class_and_word(finding.weight.word());
    let bench = ctx.actor.roles.any(crate::work::evidence::BENCH) && scene.order.is_open();
    Ok(WhyPage {
        page: Page::of(&ctx, "Why", "/orders"),
        number,
        class,
        word,
        href: bench.then(|| format!("/orders/{number}/bench/{}", task_of(&finding.code))),
        evidence: finding.evidence.iter().map(|mark| told(&ctx, &scene, mark)).collect(),
        finding,
        why,
        rules: RULES_VERSION,
    })
}

/// A piece of evidence in words.
fn told(ctx: &Ctx, scene: &Scene, mark: &str) -> String {
    let Some(piece) = scene.piece(mark) else { return mark.to_owned() };
    let place = [piece.text("place"), piece.text("role")].into_iter().find(|t| !t.is_empty()).unwrap_or_default().replace('-', " ");
    let kind = piece.kind.word().replace(['_', '-'], " ");
    let at = piece.at.map(|at| format!(", {}", ctx.zone.date_and_clock(at))).unwrap_or_default();
    format!("{kind} {mark}{}{at}", if place.is_empty() { String::new() } else { format!(", {place}") })
}
