//! The money of an order: its lines and their sums, what was authorised, what was paid; as figures and in words.
use super::{Ctx, Fault};
use crate::shop::LineKind;
use crate::shop::PaymentKind;
use crate::shop::PaymentMethod;
use crate::{
    shop::{
        Money,
        billing::{Billed, Sums, rate_says, sums},
        instant::show_date,
    },
    store::{evidence, lines, lines::Line, money, orders::Order},
};
use chillwright_calc::record::{Part, Source};
use rust_decimal::Decimal;

/// How work can be authorised: word and words.
pub const HOWS: [(&str, &str); 3] = [
    ("in-person", "in person, signed"),
    ("telephone", "by phone"),
    ("in-writing", "in writing"),
];

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
    let shown = |factor: i64, unit: &str| {
        format!(
            "{} {unit}",
            Decimal::new(l.quantity * factor, 3).normalize()
        )
    };
    let quantity = match l.unit.as_str() {
        "100 g" => shown(100, "g"),
        "10 mL" => shown(10, "mL"),
        unit => shown(1, unit).trim_end().to_owned(),
    };
    let per = if l.unit == "100 g" || l.unit == "10 mL" {
        format!(" per {}", l.unit)
    } else {
        String::new()
    };
    let dates = [
        ("ordered", &l.ordered_on),
        ("expected", &l.expected_on),
        ("arrived", &l.arrived_on),
    ];
    let mut facts: Vec<String> = dates
        .into_iter()
        .filter_map(|(word, d)| Some(format!("{word} {}", show_date(d.as_deref()?))))
        .collect();
    if let Some(at) = l.declined_at {
        facts.push(format!("declined {}", ctx.zone.date(at)));
    }
    LineView {
        says: l.says.clone(),
        state: l
            .source
            .as_deref()
            .map(source_says)
            .unwrap_or_default()
            .to_owned(),
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
        labour: matches!(l.kind, LineKind::Labour | LineKind::Diagnosis),
    });
    sums(billed, ctx.shop.prices_with_tax)
}

/// The sums for the page or the paper.
pub fn sums_view(ctx: &Ctx, s: &Sums) -> SumsView {
    let plain = |m: Money| m.plain(&ctx.shop.currency);
    let with = if ctx.shop.prices_with_tax {
        " (with tax)"
    } else {
        ""
    };
    SumsView {
        split: format!(
            "Labour {} · Parts and materials {}{with}",
            plain(s.labour),
            plain(s.materials)
        ),
        net: plain(s.net),
        taxes: s
            .taxes
            .iter()
            .map(|(rate, tax)| (format!("Tax, {}", rate_says(*rate)), plain(*tax)))
            .collect(),
        total: plain(s.total),
    }
}

/// Whether the work goes beyond what was authorised, in a sentence.
pub fn beyond(
    ctx: &Ctx,
    total: Money,
    authorised: Option<&money::Authorisation>,
    parts_without_line: usize,
) -> Option<String> {
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
    let billed = |part: &Part| {
        part.fitted_at.is_some()
            && !matches!(part.source, Some(Source::Refitted | Source::CustomersOwn))
    };
    piece.get::<Part>().is_some_and(billed)
}

/// How many of the parts that were fitted no line of the estimate names.
fn without_line(fitted: usize, lines: &[Line]) -> usize {
    fitted.saturating_sub(
        lines
            .iter()
            .filter(|l| l.kind == LineKind::Part && l.counts())
            .count(),
    )
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
        let fitted = evidence::of_order(&mut conn, order.id)
            .await?
            .iter()
            .filter(|p| is_billed(p))
            .count();
        let sums = sums_of(ctx, &lines);
        let beyond = beyond(
            ctx,
            sums.total,
            authorisations.last(),
            without_line(fitted, &lines),
        );
        Ok(Self {
            lines,
            sums,
            authorisations,
            payments,
            beyond,
        })
    }

    /// What was paid, refunds taken off.
    pub fn paid(&self) -> Money {
        self.payments.iter().map(money::Payment::signed).sum()
    }
}

/// Whether the work goes beyond what was authorised, and the authorisation that holds: for pages that show no money besides.
pub async fn authorised(
    ctx: &Ctx,
    scene: &super::bench::Scene,
) -> Result<(Option<String>, Option<money::Authorisation>), Fault> {
    let mut conn = ctx.app.store.read().await?;
    let lines = lines::of_order(&mut conn, scene.order.id).await?;
    let last = money::authorisations(&mut conn, scene.order.id)
        .await?
        .pop();
    let fitted = scene.pieces.iter().filter(|p| is_billed(p)).count();
    Ok((
        beyond(
            ctx,
            sums_of(ctx, &lines).total,
            last.as_ref(),
            without_line(fitted, &lines),
        ),
        last,
    ))
}

/// An authorisation in words.
pub fn authorisation_says(ctx: &Ctx, a: &money::Authorisation) -> String {
    let note = if a.note.is_empty() {
        String::new()
    } else {
        format!(" {}", a.note)
    };
    format!(
        "{} with tax, by {}, {}, {}.{note}",
        a.amount.with_currency(&ctx.shop.currency),
        a.given_by,
        HOWS.iter()
            .find(|h| h.0 == a.how.word())
            .map_or("", |h| h.1),
        ctx.zone.date_and_clock(a.at)
    )
}

/// A payment in words: "Paid by card 27 Nov 2026: 583.00".
pub fn payment_says(ctx: &Ctx, p: &money::Payment) -> String {
    let what = match p.kind {
        PaymentKind::Deposit => "Deposit",
        PaymentKind::Refund => "Refunded",
        PaymentKind::Payment => "Paid",
    };
    let how = match p.how {
        PaymentMethod::Cash => "in cash",
        PaymentMethod::Card => "by card",
        PaymentMethod::Transfer => "by transfer",
        PaymentMethod::Other => "otherwise",
    };
    format!(
        "{what} {how} {}: {}",
        ctx.zone.date(p.at),
        p.amount.plain(&ctx.shop.currency)
    )
}

/// What is left to pay or to give back: words and amount, never below zero.
pub fn balance(due: Money, currency: &str) -> (&'static str, String) {
    if due < Money(0) {
        ("Overpaid, to refund", (Money(0) - due).plain(currency))
    } else {
        ("Balance due", due.plain(currency))
    }
}
