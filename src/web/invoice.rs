//! The invoice: a side of its own, frozen once it is issued, its number gapless.
use super::{
    Ctx, Fault, Form, Page,
    access::Access,
    account::{
        Account, LineView, SumsView, authorisation_says, balance, payment_says, sums_view, view,
    },
    form::{Typed, again, to},
    route::{Route, get, post},
};
use crate::{
    shop::Money,
    store::{StoreError, customers, money, orders},
    work::{
        DeedError,
        billing::{Asked, issue},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Path, response::Response};
use serde::{Deserialize, Serialize};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/invoice", Access::DESK, preview),
        post("/orders/{number}/invoice", Access::DESK, keep),
        get("/invoices/{number}", Access::STAFF, show),
    ]
}

/// Every printed sentence and amount.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Document {
    shop: String,
    shop_line: String,
    tax_number: String,
    order: i64,
    date: String,
    customer: String,
    address: String,
    car: String,
    plate: String,
    vin_ends: String,
    odometer: String,
    authorised: String,
    beyond: String,
    lines: Vec<LineView>,
    sums: SumsView,
    currency: String,
    warranty: String,
    corrects: Option<i64>,
    reason: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "invoice/page.html")]
struct InvoicePage {
    page: Page,
    number: Option<i64>,
    d: Document,
    paid: Vec<String>,
    balance: (&'static str, String),
    beyond: Option<String>,
    form: Form,
    earlier: Vec<i64>,
    corrected_by: Option<i64>,
}

async fn document(ctx: &Ctx, order: &orders::Order, account: &Account) -> Result<Document, Fault> {
    let address = {
        let mut conn = ctx.app.store.read().await?;
        customers::customer(&mut conn, order.customer)
            .await?
            .map(|c| c.address)
            .unwrap_or_default()
    };
    let tail: String = order
        .vin
        .chars()
        .skip(order.vin.chars().count().saturating_sub(8))
        .collect();
    Ok(Document {
        shop: ctx.shop.name.clone(),
        shop_line: [ctx.shop.address.clone(), ctx.shop.telephone.clone()]
            .into_iter()
            .filter(|s| !s.is_empty())
            .collect::<Vec<_>>()
            .join(" · "),
        tax_number: ctx.shop.tax_number.clone(),
        order: order.number,
        date: ctx.zone.date(ctx.now),
        customer: order.customer_name.clone(),
        address,
        car: order.car_and_year(),
        plate: order.plate.clone(),
        vin_ends: tail,
        odometer: order
            .odometer
            .map(|o| format!("{o} {}", order.odometer_unit))
            .unwrap_or_default(),
        authorised: account
            .authorisations
            .last()
            .map(|a| authorisation_says(ctx, a))
            .unwrap_or_else(|| "Nothing authorised.".into()),
        beyond: String::new(),
        lines: account
            .lines
            .iter()
            .filter(|l| l.counts())
            .map(|l| view(ctx, l))
            .collect(),
        sums: sums_view(ctx, &account.sums),
        currency: ctx.shop.currency.clone(),
        warranty: ctx.shop.warranty.clone(),
        corrects: None,
        reason: String::new(),
    })
}

async fn invoices(ctx: &Ctx, order: &orders::Order) -> Result<Vec<money::IssuedInvoice>, Fault> {
    let mut conn = ctx.app.store.read().await?;
    Ok(money::invoices(&mut conn, order.id).await?)
}

async fn preview_page(ctx: &Ctx, order: &orders::Order, form: Form) -> Result<InvoicePage, Fault> {
    let account = Account::of(ctx, order).await?;
    let issued = invoices(ctx, order).await?;
    Ok(InvoicePage {
        page: Page {
            units_switch: None,
            ..Page::of(ctx, format!("Invoice, order {}", order.number), "/orders")
        },
        number: None,
        d: Document {
            corrects: issued.last().map(|i| i.number),
            ..document(ctx, order, &account).await?
        },
        paid: account
            .payments
            .iter()
            .map(|p| payment_says(ctx, p))
            .collect(),
        balance: balance(account.sums.total - account.paid(), &ctx.shop.currency),
        beyond: account.beyond.filter(|_| account.sums.total > Money(0)),
        earlier: issued.iter().map(|i| i.number).collect(),
        corrected_by: None,
        form,
    })
}

async fn preview(
    ctx: Ctx,
    Path(number): Path<i64>,
    Typed(kept): Typed,
) -> Result<InvoicePage, Fault> {
    let order = ctx.order(number).await?;
    preview_page(
        &ctx,
        &order,
        kept.sent_to(&format!("/orders/{number}/invoice")),
    )
    .await
}

async fn keep(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let account = Account::of(&ctx, &order).await?;
    let issued = invoices(&ctx, &order).await?;
    if account.lines.iter().all(|l| !l.counts()) {
        form.wrong(
            "",
            "There is nothing to bill. Add lines to the estimate first.",
        );
    }
    let reason = form.text("reason");
    if !issued.is_empty() && reason.is_empty() {
        form.wrong("reason", "Enter what this corrects.");
    }
    let why_beyond = form.text("beyond");
    if account.beyond.is_some() && account.sums.total > Money(0) && why_beyond.is_empty() {
        form.wrong("beyond", "This is more than is authorised. Get authorisation, or enter the reason for billing without it.");
    }
    if form.is_right() {
        let document = Document {
            corrects: issued.last().map(|i| i.number),
            reason,
            beyond: why_beyond,
            ..document(&ctx, &order, &account).await?
        };
        let asked = Asked {
            order: order.id,
            corrects: issued.last().map(|i| i.id),
            total: account.sums.total,
            currency: ctx.shop.currency.clone(),
            document: serde_json::to_value(&document).map_err(|e| Fault::Own(Box::new(e)))?,
            after: issued.last().map(|i| i.number),
        };
        match issue(
            &ctx.app.store,
            &ctx.actor,
            form.deed,
            form.fingerprint(),
            asked,
            ctx.now,
        )
        .await
        {
            Ok(invoice) => return Ok(to(format!("/invoices/{invoice}"))),
            Err(DeedError::AlreadyKept) => return Ok(to(format!("/orders/{number}/invoice"))),
            Err(e) => form.settle(Err(e))?,
        };
    }
    let status = form.status();
    Ok(again(status, preview_page(&ctx, &order, form).await?))
}

async fn show(ctx: Ctx, Path(number): Path<i64>) -> Result<InvoicePage, Fault> {
    let invoice = {
        let mut conn = ctx.app.store.read().await?;
        money::invoice(&mut conn, number)
            .await?
            .ok_or_else(|| Fault::missing(format!("invoice {number}")))?
    };
    let d: Document =
        serde_json::from_value(invoice.document).map_err(|e| StoreError::stored("invoice", e))?;
    let order = ctx.order(d.order).await?;
    let account = Account::of(&ctx, &order).await?;
    let all = invoices(&ctx, &order).await?;
    Ok(InvoicePage {
        page: Page {
            units_switch: None,
            ..Page::of(&ctx, format!("Invoice {number}"), "/orders")
        },
        number: Some(number),
        d,
        paid: account
            .payments
            .iter()
            .map(|p| payment_says(&ctx, p))
            .collect(),
        balance: balance(invoice.total - account.paid(), &invoice.currency),
        beyond: None,
        form: Form::default(),
        earlier: all
            .iter()
            .map(|i| i.number)
            .filter(|n| *n != number)
            .collect(),
        corrected_by: all.iter().map(|i| i.number).find(|n| *n > number),
    })
}
