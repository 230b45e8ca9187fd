//! What all pages and forms of the bench share: the top with the answer, and what a form asks of the work.
use super::scene::{Scene, runs};
use crate::{
    shop::OrderId,
    store::{assessment, audit},
    web::{Ctx, Fault, Form, Page, page::Live},
    work::evidence::{BENCH, Entry},
};
use chillwright_calc::record::answer::Weight;

/// What stands on top of every page of the bench.
pub struct Top {
    pub number: i64,
    pub car: String,
    pub plate: String,
}

/// The answer on top: what is in the way, and what to do next.
pub struct TopAnswer {
    pub says: String,
    pub why: String,
    pub next: String,
    /// The finding's own page.
    pub href: Option<String>,
}

/// The top of a page of the bench: few ways to elsewhere, and it hears of what others enter.
pub fn bench_page(ctx: &Ctx, scene: &Scene, title: String, address: String) -> Page {
    Page {
        nav: Vec::new(),
        live: Some(Live::of(scene.order.number, scene.seen, address)),
        ..Page::of(ctx, title, "")
    }
}

impl Top {
    /// Of a scene.
    pub fn of(scene: &Scene) -> Self {
        Self {
            number: scene.order.number,
            car: scene.order.car.clone(),
            plate: scene.order.plate.clone(),
        }
    }
}

impl TopAnswer {
    /// Of a scene.
    pub fn of(ctx: &Ctx, scene: &Scene) -> Self {
        match assessment::first(&scene.findings) {
            None if scene.holds().any(runs) => Self {
                says: "Still running.".into(),
                why: "Nothing else is blocking.".into(),
                next: "Read the gauge and end the test that is running.".into(),
                href: None,
            },
            None => Self {
                says: "Nothing is blocking.".into(),
                why: "No finding is blocking and none waits for the owner.".into(),
                next: "Tell the front desk that the car is ready.".into(),
                href: None,
            },
            Some(f) => {
                let says = match f.weight {
                    _ if !f.due => "Work in progress.",
                    Weight::Blocks => "Not in order.",
                    Weight::Concession => "Work finished. Waiting for the owner’s decision.",
                    Weight::Note => "Work finished. There is a note.",
                };
                let href = Some(format!(
                    "/orders/{}/why/{}/{}",
                    scene.order.number, f.code, f.about
                ));
                Self {
                    says: says.into(),
                    why: f.said(ctx.units).to_owned(),
                    next: f.next(ctx.units).to_owned(),
                    href,
                }
            }
        }
    }
}

/// What a form of the bench asks for.
pub fn entry(form: &Form, kind: &'static str, order: OrderId) -> Entry<'static> {
    Entry {
        deed: form.deed,
        kind,
        order,
        form: form.fingerprint(),
        roles: BENCH,
        tablet: form.tablet,
    }
}

/// Whether the same form was kept before: a tablet that lost the answer sends it again, and what was right then need not be right now.
pub async fn kept_before(ctx: &Ctx, form: &Form) -> Result<bool, Fault> {
    let mut conn = ctx.app.store.read().await?;
    Ok(audit::seen(&mut conn, form.deed, &form.fingerprint())
        .await?
        .is_some_and(|seen| seen.same))
}
