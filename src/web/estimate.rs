//! Estimate and authorisation: lines, what is new and what is used, who allowed how much, what was paid.
use super::{
    Ctx, Fault, Field, Form, Kind, Page,
    access::Access,
    first::settle,
    form::{Typed, again, to},
    router::{Route, get, post},
};
use crate::{
    shop::{
        LineId, Money,
        billing::{Billed, Sums, rate_says, sums},
        instant::show_date,
        money::decimal,
    },
    store::{evidence, lines, lines::Line, money, orders::Order},
    work::billing::{authorise, keep_line, take_payment},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query},
    response::Response,
};
use chillwright_calc::record::{Part, Source};
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

/// A line as it is printed.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct LineView {
    /// What it is.
    pub says: String,
    /// new, USED, …
    pub state: String,
    /// Used: set in capitals and bold.
    pub used: bool,
    /// "6.5 h".
    pub quantity: String,
    /// Price of one.
    pub price: String,
    /// Amount.
    pub amount: String,
    /// Where it is: ordered, expected, arrived; declined.
    pub facts: String,
    /// Declined.
    pub declined: bool,
    /// Its id, for the link that changes it.
    pub id: String,
}

/// The sums as they are printed.
#[derive(Debug, Clone, Default, serde::Serialize, serde::Deserialize)]
pub struct SumsView {
    /// "Labour 399.00, parts and materials 181.98."
    pub split: String,
    /// Before tax.
    pub net: String,
    /// For each rate: words and amount.
    pub taxes: Vec<(String, String)>,
    /// With tax.
    pub total: String,
}

/// What a part's source is called, said plainly.
fn source_says(source: &str) -> &str {
    match source {
        "salvaged" => "used",
        "customers-own" => "the customer’s own",
        "refitted" => "the car’s own",
        other => other,
    }
}

/// A line for the page or the paper.
pub fn view(ctx: &Ctx, l: &Line) -> LineView {
    let shown = |factor: i64, unit: &str| format!("{} {unit}", Decimal::new(l.quantity * factor, 3).normalize());
    let quantity = match l.unit.as_str() {
        "100 g" => shown(100, "g"),
        "10 mL" => shown(10, "mL"),
        unit => shown(1, unit).trim_end().to_owned(),
    };
    let per = if l.unit == "100 g" || l.unit == "10 mL" { format!(" per {}", l.unit) } else { String::new() };
    let dates = [("ordered", &l.ordered_on), ("expected", &l.expected_on), ("arrived", &l.arrived_on)];
    let mut facts: Vec<String> = dates.into_iter().filter_map(|(word, d)| Some(format!("{word} {}", show_date(d.as_deref()?)))).collect();
    if let Some(at) = l.declined_at {
        facts.push(format!("declined {}", ctx.zone.date(at)));
    }
    LineView {
        says: l.says.clone(),
        state: l.source.as_deref().map(source_says).unwrap_or_default().to_owned(),
        used: l.source.as_deref() == Some("salvaged"),
        quantity,
        price: format!("{}{per}", l.price.plain(&ctx.shop.currency)),
        amount: l.amount().plain(&ctx.shop.currency),
        facts: facts.join(", "),
        declined: l.declined_at.is_some(),
        id: l.id.to_string(),
    }
}

/// The sums of the lines that count.
pub fn sums_of(ctx: &Ctx, lines: &[Line]) -> Sums {
    let billed = lines.iter().filter(|l| l.counts()).map(|l| Billed {
        amount: l.amount(),
        tax_rate: l.tax_rate,
        labour: matches!(l.kind.as_str(), "labour" | "diagnosis"),
    });
    sums(billed, ctx.shop.prices_with_tax)
}

/// The sums for the page or the paper.
pub fn sums_view(ctx: &Ctx, s: &Sums) -> SumsView {
    let plain = |m: Money| m.plain(&ctx.shop.currency);
    let with = if ctx.shop.prices_with_tax { " (with tax)" } else { "" };
    SumsView {
        split: format!("Labour {} · Parts and materials {}{with}", plain(s.labour), plain(s.materials)),
        net: plain(s.net),
        taxes: s.taxes.iter().map(|(rate, tax)| (format!("Tax, {}", rate_says(*rate)), plain(*tax))).collect(),
        total: plain(s.total),
    }
}

/// Whether the work goes beyond what was authorised, in a sentence.
pub fn beyond(ctx: &Ctx, total: Money, authorised: Option<&money::Authorisation>, parts_without_line: usize) -> Option<String> {
    let plain = |m: Money| m.with_currency(&ctx.shop.currency);
    match authorised {
        Some(a) if total > a.amount => {
            Some(format!("The estimate is {} but only {} is authorised. Get authorisation before continuing.", plain(total), plain(a.amount)))
        }
        None if total > Money(0) => Some(format!("Nothing is authorised yet. The estimate is {}.", plain(total))),
        None if parts_without_line > 0 => Some("A part was fitted and nothing is authorised yet. Get authorisation before continuing.".into()),
        _ if parts_without_line > 0 => Some("A fitted part is not on the estimate. Add it, and get authorisation before billing it.".into()),
        _ => None,
    }
}

/// A part that was fitted and is to be paid for: not the car's own, and not one that the customer brought.
fn is_billed(piece: &evidence::Piece) -> bool {
    let billed = |part: &Part| part.fitted_at.is_some() && !matches!(part.source, Some(Source::Refitted | Source::CustomersOwn));
    piece.get::<Part>().is_some_and(billed)
}

/// How many of the parts that were fitted no line of the estimate names.
fn without_line(fitted: usize, lines: &[Line]) -> usize {
    fitted.saturating_sub(lines.iter().filter(|l| l.kind == "part" && l.counts()).count())
}

/// What is known about the money of an order.
pub struct Account {
    /// Lines on the estimate.
    pub lines: Vec<Line>,
    /// Their sums.
    pub sums: Sums,
    /// Authorisations; the last one holds.
    pub authorisations: Vec<money::Authorisation>,
    /// Payments.
    pub payments: Vec<money::Payment>,
    /// Work beyond the authorised sum.
    pub beyond: Option<String>,
}

impl Account {
    /// Of an order.
    pub async fn of(ctx: &Ctx, order: &Order) -> Result<Self, Fault> {
        let mut conn = ctx.app.store.read().await?;
        let lines = lines::of_order(&mut conn, order.id).await?;
        let authorisations = money::authorisations(&mut conn, order.id).await?;
        let payments = money::payments(&mut conn, order.id).await?;
        let fitted = evidence::of_order(&mut conn, order.id).await?.iter().filter(|p| is_billed(p)).count();
        let sums = sums_of(ctx, &lines);
        let beyond = beyond(ctx, sums.total, authorisations.last(), without_line(fitted, &lines));
        Ok(Self { lines, sums, authorisations, payments, beyond })
    }

    /// What was paid, refunds taken off.
    pub fn paid(&self) -> Money {
        self.payments.iter().map(money::Payment::signed).sum()
    }
}

/// Whether the work goes beyond what was authorised, and the authorisation that holds: for pages that show no money besides.
pub async fn authorised(ctx: &Ctx, scene: &super::bench::Scene) -> Result<(Option<String>, Option<money::Authorisation>), Fault> {
    let mut conn = ctx.app.store.read().await?;
    let lines = lines::of_order(&mut conn, scene.order.id).await?;
    let last = money::authorisations(&mut conn, scene.order.id).await?.pop();
    let fitted = scene.pieces.iter().filter(|p| is_billed(p)).count();
    Ok((beyond(ctx, sums_of(ctx, &lines).total, last.as_ref(), without_line(fitted, &lines)), last))
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

const KINDS: [(&str, &str); 5] = [("labour", "labour"), ("part", "part"), ("refrigerant", "refrigerant"), ("sundry", "sundry"), ("diagnosis", "diagnosis fee")];
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
const HOWS: [(&str, &str); 3] = [("in-person", "in person, signed"), ("telephone", "by phone"), ("in-writing", "in writing")];
const PAID: [(&str, &str); 4] = [("cash", "cash"), ("card", "card"), ("transfer", "transfer"), ("other", "other")];

fn how_says(how: &str) -> &str {
    HOWS.iter().find(|h| h.0 == how).map_or(how, |h| h.1)
}

/// An authorisation in words.
pub fn authorisation_says(ctx: &Ctx, a: &money::Authorisation) -> String {
    let note = if a.note.is_empty() { String::new() } else { format!(" {}", a.note) };
    format!("{} with tax, by {}, {}, {}.{note}", a.amount.with_currency(&ctx.shop.currency), a.given_by, how_says(&a.how), ctx.zone.date_and_clock(a.at))
}

/// A payment in words: "Paid by card 27 Nov 2026: 583.00".
pub fn payment_says(ctx: &Ctx, p: &money::Payment) -> String {
    let what = match p.kind.as_str() {
        "deposit" => "Deposit",
        "refund" => "Refunded",
        _ => "Paid",
    };
    let how = match p.how.as_str() {
        "cash" => "in cash",
        "card" => "by card",
        "transfer" => "by transfer",
        _ => "otherwise",
    };
    format!("{what} {how} {}: {}", ctx.zone.date(p.at), p.amount.plain(&ctx.shop.currency))
}

/// What is left to pay or to give back: words and amount, never below zero.
pub fn balance(due: Money, currency: &str) -> (&'static str, String) {
    if due < Money(0) { ("Overpaid, to refund", (Money(0) - due).plain(currency)) } else { ("Balance due", due.plain(currency)) }
}

async fn show(ctx: Ctx, Path(number): Path<i64>, Typed(kept): Typed, Query(query): Query<HashMap<String, String>>) -> Result<EstimatePage, Fault> {
    let order = ctx.order(number).await?;
    let account = Account::of(&ctx, &order).await?;
    let mut form = kept.sent_to(&format!("/orders/{number}/estimate/lines"));
    if let (Some(line), true) = (query.get("line").and_then(|id| account.lines.iter().find(|l| l.id.to_string() == *id)), form.is_empty()) {
        fill(&ctx, line, &mut form);
    }
    let allow = kept.sent_to(&format!("/orders/{number}/authorisations"));
    let pay = kept.sent_to(&format!("/orders/{number}/payments"));
    Ok(page(&ctx, order, &account, form, allow, pay))
}

fn fill(ctx: &Ctx, l: &Line, form: &mut Form) {
    let factor = scale(&l.unit);
    let quantity = (Decimal::new(l.quantity, 3) * factor).normalize().to_string();
    let date = |d: &Option<String>| d.clone().unwrap_or_default();
    for (name, value) in [
        ("line", l.id.to_string()),
        ("version", l.version.to_string()),
        ("kind", l.kind.clone()),
        ("says", l.says.clone()),
        ("source", l.source.clone().unwrap_or_default()),
        ("quantity", quantity),
        ("unit", l.unit.clone()),
        ("price", l.price.plain(&ctx.shop.currency)),
        ("tax", Decimal::new(l.tax_rate, 2).normalize().to_string()),
        ("paid", l.price_paid.map(|p| p.plain(&ctx.shop.currency)).unwrap_or_default()),
        ("ordered_on", date(&l.ordered_on)),
        ("expected_on", date(&l.expected_on)),
        ("arrived_on", date(&l.arrived_on)),
        ("declined", if l.declined_at.is_some() { "yes".into() } else { String::new() }),
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

fn page(ctx: &Ctx, order: Order, account: &Account, mut form: Form, allow: Form, pay: Form) -> EstimatePage {
    let changing = !form.get("line").is_empty();
    if form.is_empty() {
        form.set("tax", Decimal::new(ctx.shop.tax_rate, 2).normalize().to_string());
    }
    let prices = if ctx.shop.prices_with_tax { "with tax" } else { "before tax" };
    let mut line_fields = vec![
        form.tiles("kind", "Kind of line", KINDS).required(),
        form.field("says", "Description").required(),
        form.tiles("source", "Source of a part", SOURCES),
        form.field("quantity", "Quantity").number("").required(),
        form.select("unit", "Unit", UNITS.map(|(v, l)| (if v.is_empty() { "pieces" } else { v }, l))).required(),
        form.field("price", &format!("Price, {prices}")).number(&ctx.shop.currency).required(),
        form.field("tax", "Tax").number("%").required(),
        form.field("ordered_on", "Ordered on").kind(Kind::Date),
        form.field("expected_on", "Expected on").kind(Kind::Date),
        form.field("arrived_on", "Arrived on").kind(Kind::Date),
        form.field("paid", "Price the shop paid").number(&ctx.shop.currency),
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
        authorised: account.authorisations.iter().map(|a| authorisation_says(ctx, a)).collect(),
        paid: account.payments.iter().map(|p| payment_says(ctx, p)).collect(),
        balance: (balance.0, format!("{} {}", ctx.shop.currency, balance.1)),
        allow_fields: vec![
            allow.field("amount", "Total authorised, including tax").number(&ctx.shop.currency).required(),
            allow.field("given_by", "Authorised by").required(),
            allow.tiles("how", "Method", HOWS).required(),
            allow.field("at", "When").kind(Kind::DateTime).hint("Blank = now."),
            allow.field("note", "Note"),
        ],
        pay_fields: vec![
            pay.tiles("kind", "Kind", [("deposit", "deposit"), ("payment", "payment"), ("refund", "refund")]).required(),
            pay.field("amount", "Amount").number(&ctx.shop.currency).required(),
            pay.tiles("how", "Method", PAID).required(),
            pay.field("at", "When").kind(Kind::DateTime).hint("Blank = now."),
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
    if let Some(line) = read(&ctx, &mut form) {
        let done = keep_line(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), order.id, &line, is_new, ctx.now).await;
        if settle(&ctx, &mut form, done).await? {
            return Ok(to(format!("/orders/{number}/estimate?kept=1")));
        }
    }
    let (status, account) = (form.status(), Account::of(&ctx, &order).await?);
    Ok(again(status, page(&ctx, order, &account, form, Form::default(), Form::default())))
}

fn read(ctx: &Ctx, form: &mut Form) -> Option<Line> {
    let kind = form.choice("kind", "Choose what it is.", |k| KINDS.iter().any(|x| x.0 == k).then(|| k.to_owned()));
    let says = form.need("says", "Enter a description.");
    let source = SOURCES.iter().any(|s| s.0 == form.get("source")).then(|| form.get("source").to_owned());
    if kind.as_deref() == Some("part") && source.is_none() {
        form.wrong("source", "Choose the source of the part. It is printed.");
    }
    let unit = form.choice("unit", "Choose the unit.", |u| UNITS.iter().find(|x| x.0 == u || (x.0.is_empty() && u == "pieces")).map(|x| x.0.to_owned()));
    let quantity = quantity(form, unit.as_deref().unwrap_or_default());
    if form.get("price").is_empty() {
        form.wrong("price", "Enter the price; 0 if there is no charge.");
    }
    let price = form.money("price", &ctx.shop.currency);
    let price_paid = form.money("paid", &ctx.shop.currency);
    let tax_rate = super::shop::facts::tax(form);
    let (ordered_on, expected_on, arrived_on) = (form.date("ordered_on"), form.date("expected_on"), form.date("arrived_on"));
    if !form.is_right() {
        return None;
    }
    let kind = kind?;
    Some(Line {
        id: form.get("line").parse().unwrap_or_else(|_| LineId::fresh()),
        source: source.filter(|_| kind == "part"),
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
    let number = decimal(&typed).map_err(|says| form.wrong("quantity", says)).ok()?;
    let thousandths = number / scale(unit) * Decimal::from(1000);
    let fits = thousandths.fract().is_zero() && thousandths > Decimal::ZERO && thousandths < Decimal::from(1_000_000_000);
    if !fits {
        form.wrong("quantity", "Enter more than zero, with at most three digits after the point.");
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
    let how = form.choice("how", "Choose how.", |h| HOWS.iter().any(|x| x.0 == h).then(|| h.to_owned()));
    let at = form.when("at", &ctx.zone, ctx.now);
    let note = form.text("note");
    if let (Some(amount), Some(given_by), Some(how), Some(at), true) = (amount, given_by, how, at, form.is_right()) {
        let a = money::Authorisation { id: uuid::Uuid::now_v7(), amount, given_by, how, note, at };
        let done = authorise(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), order.id, &a, ctx.now).await;
        if settle(&ctx, &mut form, done).await? {
            return Ok(to(format!("/orders/{number}/estimate?kept=1")));
        }
    }
    let (status, account) = (form.status(), Account::of(&ctx, &order).await?);
    Ok(again(status, page(&ctx, order, &account, Form::default(), form, Form::default())))
}

async fn pay(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let kind = form.choice("kind", "Choose what it is.", |k| matches!(k, "deposit" | "payment" | "refund").then(|| k.to_owned()));
    let amount = form.money("amount", &ctx.shop.currency).filter(|a| *a > Money(0));
    if amount.is_none() {
        form.wrong("amount", "Enter the amount.");
    }
    let how = form.choice("how", "Choose how.", |h| PAID.iter().any(|x| x.0 == h).then(|| h.to_owned()));
    let at = form.when("at", &ctx.zone, ctx.now);
    if let (Some(kind), Some(amount), Some(how), Some(at), true) = (kind, amount, how, at, form.is_right()) {
        let p = money::Payment { id: uuid::Uuid::now_v7(), kind, amount, how, at };
        let done = take_payment(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), order.id, &p, ctx.now).await;
        if settle(&ctx, &mut form, done).await? {
            return Ok(to(format!("/orders/{number}/estimate?kept=1")));
        }
    }
    let (status, account) = (form.status(), Account::of(&ctx, &order).await?);
    Ok(again(status, page(&ctx, order, &account, Form::default(), Form::default(), form)))
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
    let (declined, lines) = account.lines.iter().map(|l| view(&ctx, l)).partition(|l| l.declined);
    Ok(PrintPage {
        page: Page { units_switch: None, ..Page::of(&ctx, format!("Estimate, order {number}"), "/orders") },
        date: ctx.zone.date(ctx.now),
        lines,
        declined,
        sums: sums_view(&ctx, &account.sums),
        currency: ctx.shop.currency.clone(),
        shop: ctx.shop.clone(),
        order,
    })
}
