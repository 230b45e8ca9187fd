//! Today: which cars are here, and what each waits for.
use super::{
    Ctx, Fault, Page,
    access::Access,
    route::{Route, get},
};
use crate::{
    shop::{OrderId, Role},
    store::{assessment, lines, money, orders, sent_back},
    work::handover::in_the_way,
};
use askama::Template;
use askama_web::WebTemplate;
use chillwright_calc::UnitSystem;
use chillwright_calc::record::answer::Weight;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/", Access::STAFF, show)]
}

#[derive(Template, WebTemplate)]
#[template(path = "today.html")]
struct TodayPage {
    page: Page,
    can_open: bool,
    mine: Vec<Car>,
    others: Vec<Car>,
}

struct Car {
    number: i64,
    plate: String,
    car: String,
    waits: String,
    /// The page that says why, where one finding is what it waits for.
    why: Option<String>,
    facts: String,
}

/// What a car waits for and for whom, in words, and the finding where it is one; derived, never typed.
fn waits<'a>(
    units: UnitSystem,
    findings: &'a [assessment::Finding],
    concessions: &[assessment::Concession],
    back: &[&sent_back::SentBack],
    authorised: bool,
    awaited: Option<&str>,
) -> (Role, String, Option<&'a assessment::Finding>) {
    if let Some(back) = back.first() {
        return (
            Role::Technician,
            format!("Sent back by {}: “{}”", back.name, back.reason),
            findings
                .iter()
                .find(|f| f.code == back.code && f.about == back.about),
        );
    }
    if !authorised {
        return (Role::Desk, "Waiting for authorisation.".into(), None);
    }
    if let Some(part) = awaited {
        return (
            Role::Desk,
            format!("Waiting for a part on order: {part}."),
            None,
        );
    }
    let due: Vec<_> = findings.iter().filter(|f| f.due).cloned().collect();
    let way: Vec<_> = in_the_way(&due, concessions)
        .iter()
        .filter_map(|w| {
            findings
                .iter()
                .find(|f| f.due && f.code == w.code && f.about == w.about)
        })
        .collect();
    if let Some(first) = way.iter().find(|f| f.weight == Weight::Blocks) {
        return (Role::Technician, first.next(units).to_owned(), Some(first));
    }
    if let Some(next) = findings
        .iter()
        .find(|f| !f.due)
        .filter(|_| !assessment::is_done(findings))
    {
        return (Role::Technician, next.next(units).to_owned(), Some(next));
    }
    match way.len() {
        0 => (Role::Desk, "Ready to hand over as repaired.".into(), None),
        1 => (
            Role::Owner,
            format!("Waiting for the owner’s decision: {}", way[0].said(units)),
            Some(way[0]),
        ),
        n => (
            Role::Owner,
            format!("Waiting for the owner’s decision on {n} findings."),
            None,
        ),
    }
}

async fn show(ctx: Ctx) -> Result<TodayPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let open = orders::open(&mut conn).await?;
    let findings = assessment::open_findings(&mut conn).await?;
    let concessions = assessment::all_concessions(&mut conn).await?;
    let back = sent_back::all_open(&mut conn).await?;
    let authorised = money::authorised_orders(&mut conn).await?;
    let awaiting = lines::awaiting(&mut conn).await?;
    let (mut mine, mut others) = (Vec::new(), Vec::new());
    for order in open {
        let of = |id: OrderId| id == order.id;
        let findings: Vec<_> = findings.iter().filter(|f| of(f.order)).cloned().collect();
        let concessions: Vec<_> = concessions
            .iter()
            .filter(|c| of(c.order))
            .cloned()
            .collect();
        let back: Vec<_> = back.iter().filter(|s| of(s.order)).collect();
        let awaited = awaiting.iter().find(|a| of(a.0)).map(|a| a.1.as_str());
        let (role, says, finding) = waits(
            ctx.units,
            &findings,
            &concessions,
            &back,
            authorised.contains(&order.id),
            awaited,
        );
        let facts = [
            format!("for {}", order.customer_name),
            order
                .promised_at
                .map(|at| format!("promised {}", ctx.zone.short(at, ctx.now)))
                .unwrap_or_default(),
            order
                .technician_name
                .clone()
                .map(|n| format!("technician {n}"))
                .unwrap_or_default(),
        ];
        let car = Car {
            number: order.number,
            plate: order.plate.clone(),
            car: order.car_and_year(),
            waits: says,
            why: finding.map(|f| format!("/orders/{}/why/{}/{}", order.number, f.code, f.about)),
            facts: facts
                .into_iter()
                .filter(|s| !s.is_empty())
                .collect::<Vec<_>>()
                .join(", "),
        };
        let his =
            role != Role::Technician || order.technician.is_none_or(|t| t == ctx.actor.person);
        if ctx.actor.roles.has(role) && his {
            mine.push(car)
        } else {
            others.push(car)
        }
    }
    Ok(TodayPage {
        page: Page::of(&ctx, "Today", "/"),
        can_open: ctx.actor.roles.any(&[Role::Desk, Role::Owner]),
        mine,
        others,
    })
}
