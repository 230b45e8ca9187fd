//! What a tablet keeps so that the bench goes on without the network: which orders are in the shop, and the pages of each one's bench.
use super::{
    Ctx, Fault, Page,
    access::Access,
    assets,
    bench::{self, Scene},
    route::{Route, get},
};
use crate::store::{audit, orders};
use askama::Template;
use askama_web::WebTemplate;
use axum::{Json, extract::Path};
use serde::Serialize;
use std::collections::BTreeMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/away", Access::BENCH, show),
        get("/away/orders", Access::BENCH, list),
        get("/away/orders/{number}", Access::BENCH, pages),
    ]
}

/// The page that stands for all that a tablet does not keep.
#[derive(Template, WebTemplate)]
#[template(path = "away.html")]
struct AwayPage {
    page: Page,
    cars: Vec<Car>,
}

struct Car {
    number: i64,
    plate: String,
    car: String,
}

async fn show(ctx: Ctx) -> Result<AwayPage, Fault> {
    let cars = {
        let mut conn = ctx.app.store.read().await?;
        orders::open(&mut conn).await?
    };
    let cars = cars
        .into_iter()
        .map(|o| Car {
            number: o.number,
            plate: o.plate,
            car: o.car,
        })
        .collect();
    Ok(AwayPage {
        page: Page {
            nav: Vec::new(),
            ..Page::of(&ctx, "Without the network", "")
        },
        cars,
    })
}

/// What the worker asks for first (`static/worker.js`).
#[derive(Serialize)]
struct List {
    person: String,
    name: String,
    zone: String,
    titles: BTreeMap<&'static str, &'static str>,
    orders: Vec<Stamped>,
    pages: BTreeMap<&'static str, String>,
}

/// An order, and what changes when one of its pages does.
#[derive(Serialize)]
struct Stamped {
    number: i64,
    stamp: String,
}

async fn list(ctx: Ctx) -> Result<Json<List>, Fault> {
    let (last, shop) = {
        let mut conn = ctx.app.store.read().await?;
        (
            audit::last_of_open(&mut conn).await?,
            audit::last_of_shop(&mut conn).await?,
        )
    };
    let page = Page::of(&ctx, "", "");
    let stamp = |seq: i64| format!("{seq} {shop} {} {}", page.units, assets::version());
    Ok(Json(List {
        person: ctx.actor.person.to_string(),
        name: ctx.actor.name.clone(),
        zone: ctx.shop.zone.clone(),
        titles: bench::titles().collect(),
        orders: last
            .into_iter()
            .map(|(number, seq)| Stamped {
                number,
                stamp: stamp(seq),
            })
            .collect(),
        pages: BTreeMap::from([(
            "/away",
            rendered(
                &show(Ctx {
                    path: "/away".into(),
                    ..ctx
                })
                .await?,
            )?,
        )]),
    }))
}

/// The pages of an order's bench by their addresses, and those of holds that may be begun without the server.
#[derive(Serialize)]
struct Bundle {
    pages: BTreeMap<String, String>,
    blanks: Vec<Blank>,
}

#[derive(Serialize)]
struct Blank {
    kind: &'static str,
    gauge: String,
    html: String,
}

async fn pages(ctx: Ctx, Path(number): Path<i64>) -> Result<Json<Bundle>, Fault> {
    let ctx = Ctx {
        notice: None,
        ..ctx
    };
    let scene = Scene::of(&ctx, number).await?;
    let at = |path: &str| Ctx {
        path: path.to_owned(),
        ..ctx.clone()
    };
    let mut pages = BTreeMap::new();
    let index = format!("/orders/{number}/bench");
    pages.insert(
        index.clone(),
        rendered(&bench::index_page(&at(&index), number, &super::Form::default()).await?)?,
    );
    for (word, _) in bench::titles() {
        let path = format!("{index}/{word}");
        pages.insert(
            path.clone(),
            rendered(&bench::kept_page(&at(&path), &scene, word)?)?,
        );
    }
    for piece in scene.holds() {
        let path = bench::hold::address(number, piece);
        pages.insert(
            path.clone(),
            rendered(&bench::hold::kept_page(&at(&path), &scene, piece))?,
        );
    }
    let mut blanks = Vec::new();
    for gauge in scene.instruments.iter().filter(|i| i.is_gauge()) {
        for kind in ["vacuum", "pressure", "evacuation"] {
            // A gauge without unit or graduation begins nothing.
            if let Some(page) = bench::hold::blank_page(&at(&index), &scene, kind, &gauge.mark) {
                blanks.push(Blank {
                    kind,
                    gauge: gauge.mark.clone(),
                    html: rendered(&page)?,
                });
            }
        }
    }
    Ok(Json(Bundle { pages, blanks }))
}

fn rendered(page: &impl Template) -> Result<String, Fault> {
    page.render().map_err(|e| Fault::Own(Box::new(e)))
}
