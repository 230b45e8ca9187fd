//! Estimate and authorisation: lines, what is new and what is used, who allowed how much, what was paid.
use super::{
    Ctx, Fault, Field, Form, Kind, Page,
    access::Access,
    account::{
        Account, HOWS, LineView, SumsView, authorisation_says, balance, payment_says, sums_view,
        view,
    },
    ending::finish,
    form::Typed,
    route::{Route, get, post},
};
use crate::shop::AuthorisedHow;
use crate::shop::LineKind;
use crate::shop::PaymentKind;
use crate::shop::PaymentMethod;
use crate::{
    shop::{LineId, Money, money::decimal},
    store::{lines::Line, money, orders::Order},
    work::billing::{authorise, keep_line, take_payment},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query},
    response::Response,
};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/estimate", Access::DESK, show),
        get("/orders/{number}/estimate/print", Access::DESK, print),
        post("/orders/{number}/estimate/lines", Access::DESK, keep),
        post("/orders/{number}/authorisations", Access::DESK, allow),
        post("/orders/{number}/payments", Access::DESK, pay),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "estimate/page.html")]
struct EstimatePage {
    page: Page,
    order: Order,
    lines: Vec<LineView>,
    sums: SumsView,
    currency: String,
    beyond: Option<String>,
    authorised: Vec<String>,
    paid: Vec<String>,
    balance: (&'static str, String),
    line_form: Form,
    line_fields: Vec<Field>,
    changing: bool,
    allow_form: Form,
    allow_fields: Vec<Field>,
    pay_form: Form,
    pay_fields: Vec<Field>,
}

const KINDS: [(&str, &str); 5] = [
    ("labour", "labour"),
    ("part", "part"),
    ("refrigerant", "refrigerant"),
    ("sundry", "sundry"),
    ("diagnosis", "diagnosis fee"),
];
const SOURCES: [(&str, &str); 7] = [
    ("new", "new"),
    ("salvaged", "used"),
    ("reconditioned", "reconditioned"),
    ("refitted", "the car’s own"),
    ("repaired", "repaired"),
    ("made", "made up"),
    ("customers-own", "the customer’s own"),
];
const UNITS: [(&str, &str); 9] = [
    ("", "pieces"),
    ("h", "hours"),
    ("100 g", "g, priced per 100 g"),
    ("g", "g"),
    ("oz", "oz"),
    ("lb", "lb"),
    ("10 mL", "mL, priced per 10 mL"),
    ("mL", "mL"),
    ("m", "m"),
];
const PAID: [(&str, &str); 4] = [
    ("cash", "cash"),
    ("card", "card"),
    ("transfer", "transfer"),
    ("other", "other"),
];

async fn show(
    ctx: Ctx,
    Path(number): Path<i64>,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<EstimatePage, Fault> {
    let order = ctx.order(number).await?;
    let account = Account::of(&ctx, &order).await?;
    let mut form = kept.sent_to(&format!("/orders/{number}/estimate/lines"));
    if let (Some(line), true) = (
        query
            .get("line")
            .and_then(|id| account.lines.iter().find(|l| l.id.to_string() == *id)),
        form.is_empty(),
    ) {
        fill(&ctx, line, &mut form);
    }
    let allow = kept.sent_to(&format!("/orders/{number}/authorisations"));
    let pay = kept.sent_to(&format!("/orders/{number}/payments"));
    Ok(page(&ctx, order, &account, form, allow, pay))
}

fn fill(ctx: &Ctx, l: &Line, form: &mut Form) {
    let factor = scale(&l.unit);
    let quantity = (Decimal::new(l.quantity, 3) * factor)
        .normalize()
        .to_string();
    let date = |d: &Option<String>| d.clone().unwrap_or_default();
    for (name, value) in [
        ("line", l.id.to_string()),
        ("version", l.version.to_string()),
        ("kind", l.kind.word().to_owned()),
        ("says", l.says.clone()),
        ("source", l.source.clone().unwrap_or_default()),
        ("quantity", quantity),
        ("unit", l.unit.clone()),
        ("price", l.price.plain(&ctx.shop.currency)),
        ("tax", Decimal::new(l.tax_rate, 2).normalize().to_string()),
        (
            "paid",
            l.price_paid
                .map(|p| p.plain(&ctx.shop.currency))
                .unwrap_or_default(),
        ),
        ("ordered_on", date(&l.ordered_on)),
        ("expected_on", date(&l.expected_on)),
        ("arrived_on", date(&l.arrived_on)),
        (
            "declined",
            if l.declined_at.is_some() {
                "yes".into()
            } else {
                String::new()
            },
        ),
    ] {
        form.set(name, value);
    }
}

/// What is typed in g or mL is priced for 100 g or 10 mL.
fn scale(unit: &str) -> Decimal {
    Decimal::from(match unit {
        "100 g" => 100,
        "10 mL" => 10,
        _ => 1,
    })
}

fn page(
    ctx: &Ctx,
    order: Order,
    account: &Account,
    mut form: Form,
    allow: Form,
    pay: Form,
) -> EstimatePage {
    let changing = !form.get("line").is_empty();
    if form.is_empty() {
        form.set(
            "tax",
            Decimal::new(ctx.shop.tax_rate, 2).normalize().to_string(),
        );
    }
    let prices = if ctx.shop.prices_with_tax {
        "with tax"
    } else {
        "before tax"
    };
    let mut line_fields = vec![
        form.tiles("kind", "Kind of line", KINDS).required(),
        form.field("says", "Description").required(),
        form.tiles("source", "Source of a part", SOURCES),
        form.field("quantity", "Quantity").number("").required(),
        form.select(
            "unit",
            "Unit",
            UNITS.map(|(v, l)| (if v.is_empty() { "pieces" } else { v }, l)),
        )
        .required(),
        form.field("price", &format!("Price, {prices}"))
            .number(&ctx.shop.currency)
            .required(),
        form.field("tax", "Tax").number("%").required(),
        form.field("ordered_on", "Ordered on").kind(Kind::Date),
        form.field("expected_on", "Expected on").kind(Kind::Date),
        form.field("arrived_on", "Arrived on").kind(Kind::Date),
        form.field("paid", "Price the shop paid")
            .number(&ctx.shop.currency),
    ];
    if changing {
        line_fields.extend([
            form.field("line", "").kind(Kind::Hidden),
            form.field("version", "").kind(Kind::Hidden),
            form.tick("declined", "Declined by the customer"),
            form.tick("removed", "Remove from the estimate"),
        ]);
    }
    let balance = balance(account.sums.total - account.paid(), &ctx.shop.currency);
    EstimatePage {
        page: Page::of(ctx, format!("Estimate, order {}", order.number), "/orders"),
        lines: account.lines.iter().map(|l| view(ctx, l)).collect(),
        sums: sums_view(ctx, &account.sums),
        currency: ctx.shop.currency.clone(),
        beyond: account.beyond.clone(),
        authorised: account
            .authorisations
            .iter()
            .map(|a| authorisation_says(ctx, a))
            .collect(),
        paid: account
            .payments
            .iter()
            .map(|p| payment_says(ctx, p))
            .collect(),
        balance: (balance.0, format!("{} {}", ctx.shop.currency, balance.1)),
        allow_fields: vec![
            allow
                .field("amount", "Total authorised, including tax")
                .number(&ctx.shop.currency)
                .required(),
            allow.field("given_by", "Authorised by").required(),
            allow.tiles("how", "Method", HOWS).required(),
            allow
                .field("at", "When")
                .kind(Kind::DateTime)
                .hint("Blank = now."),
            allow.field("note", "Note"),
        ],
        pay_fields: vec![
            pay.tiles(
                "kind",
                "Kind",
                [
                    ("deposit", "deposit"),
                    ("payment", "payment"),
                    ("refund", "refund"),
                ],
            )
            .required(),
            pay.field("amount", "Amount")
                .number(&ctx.shop.currency)
                .required(),
            pay.tiles("how", "Method", PAID).required(),
            pay.field("at", "When")
                .kind(Kind::DateTime)
                .hint("Blank = now."),
        ],
        line_fields,
        changing,
        line_form: form,
        allow_form: allow,
        pay_form: pay,
        order,
    }
}

async fn keep(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let is_new = form.get("line").is_empty();
    let mut done = None;
    if let Some(line) = read(&ctx, &mut form) {
        done = Some(
            keep_line(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                order.id,
                &line,
                is_new,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/estimate?kept=1"),
        async |form| {
            let account = Account::of(&ctx, &order).await?;
            Ok(page(
                &ctx,
                order,
                &account,
                form,
                Form::default(),
                Form::default(),
            ))
        },
    )
    .await
}

fn read(ctx: &Ctx, form: &mut Form) -> Option<Line> {
    let kind = form.choice("kind", "Choose what it is.", LineKind::from_word);
    let says = form.need("says", "Enter a description.");
    let source = SOURCES
        .iter()
        .any(|s| s.0 == form.get("source"))
        .then(|| form.get("source").to_owned());
    if kind == Some(LineKind::Part) && source.is_none() {
        form.wrong("source", "Choose the source of the part. It is printed.");
    }
    let unit = form.choice("unit", "Choose the unit.", |u| {
        UNITS
            .iter()
            .find(|x| x.0 == u || (x.0.is_empty() && u == "pieces"))
            .map(|x| x.0.to_owned())
    });
    let quantity = quantity(form, unit.as_deref().unwrap_or_default());
    if form.get("price").is_empty() {
        form.wrong("price", "Enter the price; 0 if there is no charge.");
    }
    let price = form.money("price", &ctx.shop.currency);
    let price_paid = form.money("paid", &ctx.shop.currency);
    let tax_rate = super::shop::facts::tax(form);
    let (ordered_on, expected_on, arrived_on) = (
        form.date("ordered_on"),
        form.date("expected_on"),
        form.date("arrived_on"),
    );
    if !form.is_right() {
        return None;
    }
    let kind = kind?;
    Some(Line {
        id: form.get("line").parse().unwrap_or_else(|_| LineId::fresh()),
        source: source.filter(|_| kind == LineKind::Part),
        kind,
        says: says?,
        quantity: quantity?,
        unit: unit?,
        price: price?,
        tax_rate: tax_rate?,
        price_paid,
        ordered_on,
        expected_on,
        arrived_on,
        declined_at: form.ticked("declined").then_some(ctx.now),
        removed_at: form.ticked("removed").then_some(ctx.now),
        version: form.get("version").parse().unwrap_or(0),
    })
}

fn quantity(form: &mut Form, unit: &str) -> Option<i64> {
    let typed = form.get("quantity").to_owned();
    if typed.is_empty() {
        form.wrong("quantity", "Enter how much.");
        return None;
    }
    let number = decimal(&typed)
        .map_err(|says| form.wrong("quantity", says))
        .ok()?;
    let thousandths = number / scale(unit) * Decimal::from(1000);
    let fits = thousandths.fract().is_zero()
        && thousandths > Decimal::ZERO
        && thousandths < Decimal::from(1_000_000_000);
    if !fits {
        form.wrong(
            "quantity",
            "Enter more than zero, with at most three digits after the point.",
        );
    }
    thousandths.to_i64().filter(|_| fits)
}

async fn allow(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    if form.get("amount").is_empty() {
        form.wrong("amount", "Enter the total authorised.");
    }
    let amount = form.money("amount", &ctx.shop.currency);
    let given_by = form.need("given_by", "Enter who authorised it.");
    let how = form.choice("how", "Choose how.", AuthorisedHow::from_word);
    let at = form.when("at", &ctx.zone, ctx.now);
    let note = form.text("note");
    let mut done = None;
    if let (Some(amount), Some(given_by), Some(how), Some(at), true) =
        (amount, given_by, how, at, form.is_right())
    {
        let a = money::Authorisation {
            id: uuid::Uuid::now_v7(),
            amount,
            given_by,
            how,
            note,
            at,
        };
        done = Some(
            authorise(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                order.id,
                &a,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/estimate?kept=1"),
        async |form| {
            let account = Account::of(&ctx, &order).await?;
            Ok(page(
                &ctx,
                order,
                &account,
                Form::default(),
                form,
                Form::default(),
            ))
        },
    )
    .await
}

async fn pay(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let kind = form.choice("kind", "Choose what it is.", PaymentKind::from_word);
    let amount = form
        .money("amount", &ctx.shop.currency)
        .filter(|a| *a > Money(0));
    if amount.is_none() {
        form.wrong("amount", "Enter the amount.");
    }
    let how = form.choice("how", "Choose how.", PaymentMethod::from_word);
    let at = form.when("at", &ctx.zone, ctx.now);
    let mut done = None;
    if let (Some(kind), Some(amount), Some(how), Some(at), true) =
        (kind, amount, how, at, form.is_right())
    {
        let p = money::Payment {
            id: uuid::Uuid::now_v7(),
            kind,
            amount,
            how,
            at,
        };
        done = Some(
            take_payment(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                order.id,
                &p,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/estimate?kept=1"),
        async |form| {
            let account = Account::of(&ctx, &order).await?;
            Ok(page(
                &ctx,
                order,
                &account,
                Form::default(),
                Form::default(),
                form,
            ))
        },
    )
    .await
}

#[derive(Template, WebTemplate)]
#[template(path = "estimate/print.html")]
struct PrintPage {
    page: Page,
    shop: crate::store::shop::Shop,
    order: Order,
    date: String,
    lines: Vec<LineView>,
    declined: Vec<LineView>,
    sums: SumsView,
    currency: String,
}

async fn print(ctx: Ctx, Path(number): Path<i64>) -> Result<PrintPage, Fault> {
    let order = ctx.order(number).await?;
    let account = Account::of(&ctx, &order).await?;
    let (declined, lines) = account
        .lines
        .iter()
        .map(|l| view(&ctx, l))
        .partition(|l| l.declined);
    Ok(PrintPage {
        page: Page {
            units_switch: None,
            ..Page::of(&ctx, format!("Estimate, order {number}"), "/orders")
        },
        date: ctx.zone.date(ctx.now),
        lines,
        declined,
        sums: sums_view(&ctx, &account.sums),
        currency: ctx.shop.currency.clone(),
        shop: ctx.shop.clone(),
        order,
    })
}
