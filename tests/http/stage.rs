//! While work goes on, what has simply not been done yet is to do: no finding, and nothing that the owner is asked.
use super::job::{kept, with_order};
use axum::http::StatusCode;

/// Eight minutes after a compressor came out nobody has done anything wrong.
#[tokio::test]
async fn a_compressor_came_out_eight_minutes_ago() {
    let mut shop = with_order().await;
    shop.browser
        .post(
            "/orders/412/authorisations",
            &[
                ("amount", "640"),
                ("given_by", "Odile Brandt"),
                ("how", "telephone"),
            ],
        )
        .await;
    kept(
        &mut shop,
        "standing",
        "06:30",
        &[
            ("pressure", "70"),
            ("unit", "psi"),
            ("ambient", "21"),
            ("cold", "yes"),
        ],
    )
    .await;
    kept(
        &mut shop,
        "identification",
        "06:40",
        &[
            ("gas", "R-134a"),
            ("share", "99.6"),
            ("air", "0.3"),
            ("sealant", "no"),
        ],
    )
    .await;
    let recovered = [
        ("cylinder", "C-03"),
        ("refrigerant", "R-134a"),
        ("before", "11.20"),
        ("after", "11.78"),
        ("mass_unit", "kg"),
    ];
    kept(&mut shop, "recovery", "07:00", &recovered).await;
    kept(
        &mut shop,
        "joints",
        "07:10",
        &["new:compressor inlet", "new:compressor outlet"].map(|j| ("joints", j)),
    )
    .await;
    let order = shop.browser.get("/orders/412").await.body;
    let findings = order
        .split("id=\"way\"")
        .nth(1)
        .and_then(|s| s.split("<h2>Still to do</h2>").next())
        .expect("both lists");
    assert!(
        !findings.contains("class=\"blocks\"") && !findings.contains("class=\"owner\""),
        "{findings}"
    );
    let to_do = order
        .split("<h2>Still to do</h2>")
        .nth(1)
        .and_then(|s| s.split("</ul>").next())
        .expect("what is to do");
    for code in [
        "seal-not-inspected/j1",
        "seal-not-inspected/j2",
        "desiccant-not-renewed",
        "hold-missing",
    ] {
        assert!(to_do.contains(&format!("/why/{code}")), "{code}: {to_do}");
    }
    let bench = shop.browser.get("/orders/412/bench").await.body;
    assert!(
        bench.contains("Work in progress.") && bench.contains("<h2>To do</h2>"),
        "{bench}"
    );
    assert!(
        shop.browser
            .get("/review")
            .await
            .body
            .contains("class=\"empty\""),
        "the owner is asked nothing"
    );
    // A concession of what was not done is refused until the technician says that this is all.
    let binding = "{\"evidence\":[],\"values\":{}}";
    let asked = [
        ("binding", binding),
        ("decision", "accept"),
        ("words", "It will do."),
    ];
    let refused = shop
        .browser
        .post_raw("/review/412/desiccant-not-renewed/parts", &asked)
        .await;
    assert_eq!(
        refused.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "{}",
        refused.body
    );
    // The gate is as strict as ever: what is to do counts there.
    let gate = shop
        .browser
        .post(
            "/orders/412/handover",
            &[("way", "repaired"), ("sentence", "All is well.")],
        )
        .await;
    assert!(
        gate.status == StatusCode::UNPROCESSABLE_ENTITY && gate.body.contains("no seal on record"),
        "{}",
        gate.body
    );

    shop.browser.ready(412).await;
    let order = shop.browser.get("/orders/412").await.body;
    assert!(
        order.contains("class=\"blocks\"") && !order.contains("<h2>Still to do</h2>"),
        "{order}"
    );
    assert!(
        shop.browser
            .get("/review")
            .await
            .body
            .contains("/review/412/desiccant-not-renewed/parts")
    );
    // Work that goes on takes the word back; and the technician can take it back too.
    kept(
        &mut shop,
        "joints",
        "07:20",
        &[("joints", "new:drier inlet")],
    )
    .await;
    assert!(
        shop.browser
            .get("/orders/412")
            .await
            .body
            .contains("<h2>Still to do</h2>")
    );
    shop.browser.ready(412).await;
    assert!(
        shop.browser
            .post("/orders/412/stage", &[("stage", "in-work")])
            .await
            .status
            .is_redirection()
    );
    assert!(
        shop.browser
            .get("/orders/412")
            .await
            .body
            .contains("<h2>Still to do</h2>")
    );
    assert_eq!(
        shop.browser
            .post_raw("/orders/412/stage", &[("stage", "nearly")])
            .await
            .status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
}
