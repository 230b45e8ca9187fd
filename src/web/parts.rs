//! Parts and donors: a part's whole way from donor to car, found by its tag.
use super::{
    Ctx, Fault, Page,
    access::Access,
    form::to,
    route::{Route, get},
};
use crate::{
    shop::{Money, instant::show_date, vin, written},
    store::{
        attachments,
        parts::{self, Tagged},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query},
    response::{IntoResponse, Response},
};
use chillwright_calc::record::Donor;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/parts", Access::STAFF, list),
        get("/parts/{number}", Access::STAFF, show),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "parts/list.html")]
struct ListPage {
    page: Page,
    typed: String,
    lines: Vec<Line>,
    yards: Vec<String>,
}

struct Line {
    number: i64,
    name: String,
    says: String,
}

/// What became of an order, in words.
pub fn state(word: &str) -> &str {
    match word {
        "handed-over" => "handed over",
        other => other,
    }
}

/// What the part is: "used compressor".
pub fn name(p: &Tagged) -> String {
    written::part(&p.part)
}

async fn list(ctx: Ctx, Query(query): Query<HashMap<String, String>>) -> Result<Response, Fault> {
    let typed = query
        .get("q")
        .map(|q| q.trim().to_owned())
        .unwrap_or_default();
    let (all, paid) = {
        let mut conn = ctx.app.store.read().await?;
        (
            parts::all(&mut conn).await?,
            parts::paid_for_used(&mut conn).await?,
        )
    };
    if let Some(part) = typed
        .parse::<i64>()
        .ok()
        .and_then(|n| all.iter().find(|p| p.number == n))
    {
        return Ok(to(format!("/parts/{}", part.number)));
    }
    let wanted = typed.to_lowercase();
    let fits = |p: &&Tagged| {
        let Donor {
            yard,
            vin,
            stock,
            receipt,
            vehicle: _,
            pulled_on: _,
        } = p.donor();
        let role = p.part.role.map(|role| role.word().to_owned());
        let said = [yard, vin, stock, receipt, role, Some(p.plate.clone())];
        said.into_iter()
            .flatten()
            .any(|t| t.to_lowercase().contains(&wanted))
    };
    let lines = all
        .iter()
        .filter(fits)
        .map(|p| Line {
            number: p.number,
            name: name(p),
            says: format!(
                "{}; in {} {}, order {}{}",
                [p.donor().vehicle, p.donor().yard]
                    .into_iter()
                    .flatten()
                    .filter(|s| !s.is_empty())
                    .collect::<Vec<_>>()
                    .join(", "),
                p.car,
                p.plate,
                p.order,
                if p.came_back {
                    "; the car came back"
                } else {
                    ""
                }
            ),
        })
        .collect();
    Ok(ListPage {
        page: Page::of(&ctx, "Parts", "/parts"),
        typed,
        lines,
        yards: by_yard(&ctx, &all, &paid),
    }
    .into_response())
}

/// For each yard a sentence: fitted, came back, money.
fn by_yard(ctx: &Ctx, all: &[Tagged], paid: &[(i64, i64)]) -> Vec<String> {
    let mut yards: BTreeMap<&str, Vec<&Tagged>> = BTreeMap::new();
    for part in all.iter().filter(|p| !p.yard().is_empty()) {
        yards.entry(part.yard()).or_default().push(part);
    }
    yards
        .into_iter()
        .map(|(yard, parts)| {
            let fitted = parts.iter().filter(|p| p.fitted_at.is_some()).count();
            let orders: BTreeSet<i64> = parts.iter().map(|p| p.order).collect();
            let back = parts
                .iter()
                .filter(|p| p.came_back)
                .map(|p| p.order)
                .collect::<BTreeSet<_>>()
                .len();
            // Money is told only where no other yard's part was on the same order: a line does not say which yard it went to.
            let alone = |order: &i64| {
                !all.iter()
                    .any(|p| p.order == *order && !p.yard().is_empty() && p.yard() != yard)
            };
            let money: i64 = paid
                .iter()
                .filter(|(order, _)| orders.contains(order) && alone(order))
                .map(|p| p.1)
                .sum();
            let money = if money > 0 {
                format!(
                    "; {} paid for used parts",
                    Money(money).with_currency(&ctx.shop.currency)
                )
            } else {
                String::new()
            };
            format!("{yard}: {fitted} fitted, {back} cars came back{money}.")
        })
        .collect()
}

#[derive(Template, WebTemplate)]
#[template(path = "parts/page.html")]
struct PartPage {
    page: Page,
    number: i64,
    name: String,
    facts: Vec<(&'static str, String)>,
    order: i64,
    mark: String,
    vin_says: Option<&'static str>,
    /// File and words of each.
    photographs: Vec<(String, String)>,
}

async fn show(ctx: Ctx, Path(number): Path<i64>) -> Result<PartPage, Fault> {
    let (part, photographs) = {
        let mut conn = ctx.app.store.read().await?;
        let part = parts::all(&mut conn)
            .await?
            .into_iter()
            .find(|p| p.number == number)
            .ok_or_else(|| Fault::missing(format!("part with tag {number}")))?;
        let photographs = attachments::of_piece(&mut conn, part.id).await?;
        (part, photographs)
    };
    let fitted = part.fitted_at.map_or_else(
        || "not fitted yet".to_owned(),
        |at| ctx.zone.date_and_clock(at),
    );
    let donor = part.donor();
    let vin = donor.vin.clone().unwrap_or_default();
    let facts = vec![
        ("Yard", donor.yard.unwrap_or_default()),
        ("Donor car", donor.vehicle.unwrap_or_default()),
        ("Donor’s VIN", vin.clone()),
        ("Stock number", donor.stock.unwrap_or_default()),
        (
            "Pulled on",
            donor
                .pulled_on
                .map(|day| show_date(&day.to_string()))
                .unwrap_or_default(),
        ),
        ("Receipt", donor.receipt.unwrap_or_default()),
        (
            "Ports",
            part.part.ports.map(|p| p.to_string()).unwrap_or_default(),
        ),
        ("Fitted", fitted),
        (
            "In",
            format!("{} {}, {}", part.car, part.plate, part.customer),
        ),
        (
            "Outcome",
            if part.came_back {
                "the car came back".into()
            } else {
                state(&part.state).to_owned()
            },
        ),
    ];
    Ok(PartPage {
        page: Page::of(&ctx, format!("Tag {number}"), "/parts"),
        number,
        name: name(&part),
        vin_says: if vin.is_empty() {
            None
        } else {
            vin::judge(&vin).says()
        },
        facts: facts.into_iter().filter(|(_, v)| !v.is_empty()).collect(),
        photographs: photographs
            .into_iter()
            .map(|a| {
                (
                    a.sha256,
                    if a.says.is_empty() {
                        name(&part)
                    } else {
                        a.says
                    },
                )
            })
            .collect(),
        order: part.order,
        mark: part.mark,
    })
}
