//! Estimate, authorisation, invoice, payments.
use super::kit::Shop;
use axum::http::StatusCode;

pub const INTAKE: [(&str, &str); 8] = [
    ("plate", "KD 41 TVL"),
    ("description", "Tarn Vela 1.4"),
    ("name", "Odile Brandt"),
    ("telephone", "0555 0199"),
    ("complaint", "Warm air since spring."),
    ("refrigerant", "R-134a"),
    ("charge", "600"),
    ("charge_unit", "g"),
];

/// Opens order 412.
pub async fn intake(shop: &mut Shop) {
    let answer = shop.browser.post("/intake", &INTAKE).await;
    assert_eq!(answer.location, "/orders/412", "{}", answer.body);
}

pub async fn line(
    shop: &mut Shop,
    kind: &str,
    source: &str,
    says: &str,
    quantity: &str,
    unit: &str,
    price: &str,
) {
    let fields = [
        ("kind", kind),
        ("source", source),
        ("says", says),
        ("quantity", quantity),
        ("unit", unit),
        ("price", price),
        ("tax", "10"),
    ];
    let answer = shop
        .browser
        .post("/orders/412/estimate/lines", &fields)
        .await;
    assert_eq!(
        answer.status,
        StatusCode::SEE_OTHER,
        "{says}: {}",
        answer.body
    );
}

async fn estimate(shop: &mut Shop) {
    line(shop, "diagnosis", "", "Diagnosis", "1", "pieces", "35").await;
    line(
        shop,
        "labour",
        "",
        "Evaporator out and in",
        "6,5",
        "h",
        "56.00",
    )
    .await;
    line(
        shop,
        "part",
        "salvaged",
        "Evaporator, tag 88",
        "1",
        "pieces",
        "70",
    )
    .await;
    line(shop, "part", "new", "Receiver-drier", "1", "pieces", "42").await;
    line(
        shop,
        "part",
        "new",
        "Seals, joints 4 to 7",
        "4",
        "pieces",
        "1.80",
    )
    .await;
    line(
        shop,
        "sundry",
        "",
        "Clip nut and screw",
        "1",
        "pieces",
        "4.20",
    )
    .await;
    line(
        shop,
        "refrigerant",
        "",
        "Refrigerant R-134a",
        "595",
        "100 g",
        "8.50",
    )
    .await;
    line(shop, "sundry", "", "Oil PAG 46", "40", "10 mL", "2").await;
}

/// The invoice of the study, worked by hand: 580.98 before tax, 58.10 tax, 639.08.
#[tokio::test]
async fn an_estimate_is_authorised_billed_and_paid() {
    let mut shop = Shop::begun().await;
    intake(&mut shop).await;
    estimate(&mut shop).await;
    let page = shop.browser.get("/orders/412/estimate").await.body;
    for says in [
        "580.98",
        "58.10",
        "639.08",
        "595 g",
        ">used<",
        "Nothing is authorised yet",
    ] {
        assert!(page.contains(says), "{says}: {page}");
    }
    assert!(
        shop.browser
            .get("/orders/412/estimate/print")
            .await
            .body
            .contains("authorised up to EUR 639.08")
    );
    let answer = shop
        .browser
        .post(
            "/orders/412/authorisations",
            &[
                ("amount", "640"),
                ("given_by", "Odile Brandt"),
                ("how", "in-person"),
            ],
        )
        .await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
    assert!(
        !shop
            .browser
            .get("/orders/412/estimate")
            .await
            .body
            .contains("authorised yet")
    );
    shop.browser
        .post(
            "/orders/412/payments",
            &[("kind", "deposit"), ("amount", "100"), ("how", "cash")],
        )
        .await;
    let issued = shop.browser.post("/orders/412/invoice", &[]).await;
    assert_eq!(issued.location, "/invoices/187", "{}", issued.body);
    let invoice = shop.browser.get("/invoices/187").await.body;
    for says in [
        "Invoice 187",
        "639.08",
        "539.08",
        "in person, signed",
        "Evaporator, tag 88",
        ">used<",
        "Balance due",
    ] {
        assert!(invoice.contains(says), "{says}: {invoice}");
    }
}

#[tokio::test]
async fn work_beyond_the_authorised_sum_is_told_and_asked_about() {
    let mut shop = Shop::begun().await;
    intake(&mut shop).await;
    estimate(&mut shop).await;
    shop.browser
        .post(
            "/orders/412/authorisations",
            &[
                ("amount", "500"),
                ("given_by", "Odile Brandt"),
                ("how", "telephone"),
            ],
        )
        .await;
    assert!(
        shop.browser
            .get("/orders/412")
            .await
            .body
            .contains("only EUR 500.00 is authorised")
    );
    let refused = shop.browser.post("/orders/412/invoice", &[]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("This is more than is authorised."));
    let issued = shop
        .browser
        .post(
            "/orders/412/invoice",
            &[("beyond", "Allowed at the counter, not written down.")],
        )
        .await;
    assert_eq!(issued.location, "/invoices/187");
}

#[tokio::test]
async fn an_issued_invoice_stays_and_a_correction_is_a_new_one_without_a_gap() {
    let mut shop = Shop::begun().await;
    intake(&mut shop).await;
    line(&mut shop, "labour", "", "Diagnosis", "1", "pieces", "35").await;
    shop.browser
        .post(
            "/orders/412/authorisations",
            &[
                ("amount", "100"),
                ("given_by", "Odile Brandt"),
                ("how", "telephone"),
            ],
        )
        .await;
    let form = [("deed", "01890a5d-ac96-774b-bcce-b302099a8057")];
    assert_eq!(
        shop.browser
            .post("/orders/412/invoice", &form)
            .await
            .location,
        "/invoices/187"
    );
    // The same form sent twice is one invoice.
    assert_eq!(
        shop.browser.post("/orders/412/invoice", &form).await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    line(&mut shop, "sundry", "", "Dye", "1", "pieces", "5").await;
    assert!(
        !shop.browser.get("/invoices/187").await.body.contains("Dye"),
        "what was issued stays"
    );
    let refused = shop.browser.post("/orders/412/invoice", &[]).await;
    assert!(refused.body.contains("Enter what this corrects"));
    assert_eq!(
        shop.browser
            .post(
                "/orders/412/invoice",
                &[("reason", "The dye was left out.")]
            )
            .await
            .location,
        "/invoices/188"
    );
    assert!(
        shop.browser
            .get("/invoices/188")
            .await
            .body
            .contains("replaces invoice 187")
    );
    assert!(
        shop.browser
            .get("/invoices/187")
            .await
            .body
            .contains("Corrected")
    );
    let mut conn = shop.app.store.writer().await.expect("the writer");
    for change in [
        "UPDATE invoice SET total = 0",
        "DELETE FROM invoice",
        "INSERT OR REPLACE INTO invoice SELECT * FROM invoice",
        "DELETE FROM payment",
        "UPDATE authorisation SET amount = 1",
    ] {
        let refused = sqlx::raw_sql(change).execute(&mut *conn).await;
        if change.contains("payment") {
            continue; // no payment was taken: nothing to refuse
        }
        assert!(
            refused.unwrap_err().to_string().contains("append-only"),
            "{change}"
        );
    }
}

#[tokio::test]
async fn amounts_that_cannot_be_read_come_back() {
    let mut shop = Shop::begun().await;
    intake(&mut shop).await;
    for (price, says) in [
        ("1,200", "enter 1.2 or 1200"),
        ("-5", "zero or more"),
        ("five", "not a number"),
    ] {
        let fields = [
            ("kind", "labour"),
            ("says", "Dismantling"),
            ("quantity", "1"),
            ("unit", "h"),
            ("price", price),
            ("tax", "10"),
        ];
        let refused = shop
            .browser
            .post("/orders/412/estimate/lines", &fields)
            .await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{price}");
        assert!(
            refused.body.contains(says)
                && refused.body.contains("Dismantling")
                && refused.body.contains(&format!("value=\"{price}\"")),
            "{price}: {}",
            refused.body
        );
    }
}
