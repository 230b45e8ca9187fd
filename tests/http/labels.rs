//! Labels: where their codes lead, their sizes. That a code is read is proved in the browser, from what is printed.
use super::{
    job::scenario,
    kit::{Answer, Shop},
};
use axum::{
    body::Body,
    http::{Method, Request, StatusCode},
};

async fn asked_by(shop: &mut Shop, host: &str, path: &str) -> Answer {
    let request = Request::builder()
        .method(Method::GET)
        .uri(path)
        .header("host", host);
    shop.browser.send(request, Body::empty()).await
}

async fn set(shop: &mut Shop, version: &str, more: &[(&str, &str)]) {
    let mut fields = vec![
        ("version", version),
        ("name", "Hask & Marlow"),
        ("elevation", "120"),
        ("elevation_unit", "m"),
        ("zone", "UTC"),
        ("currency", "EUR"),
        ("units", "si"),
        ("prices", "net"),
        ("tax", "10"),
    ];
    fields.extend(more);
    let kept = shop.browser.post("/shop/settings", &fields).await;
    assert_eq!(kept.location, "/shop?kept=1", "{}", kept.body);
}

#[tokio::test]
async fn a_tag_leads_to_the_address_by_which_the_shop_is_reached() {
    let mut shop = scenario().await;
    let tag = asked_by(&mut shop, "shop.test:8470", "/parts/1/tag").await;
    assert_eq!(tag.status, StatusCode::OK);
    assert!(
        tag.body
            .contains("Code that leads to http://shop.test:8470/parts/1\"")
            && tag.body.contains("href=\"/static/labels/62x29.css\""),
        "{}",
        tag.body
    );
    assert!(
        !tag.body.contains("style=") && !tag.body.contains("no tablet can open"),
        "{}",
        tag.body
    );
    for host in ["localhost:8470", "127.0.0.1:8470", "[::1]:8470"] {
        assert!(
            asked_by(&mut shop, host, "/parts/1/tag")
                .await
                .body
                .contains("no tablet can open"),
            "{host}"
        );
    }
    let nowhere = shop.browser.get("/parts/1/tag").await;
    assert!(
        nowhere.status == StatusCode::CONFLICT && nowhere.body.contains("Shop, Settings"),
        "{}",
        nowhere.body
    );

    set(
        &mut shop,
        "1",
        &[
            ("server_address", "https://shop.test:8470/"),
            ("tag_width", "40"),
            ("tag_height", "80"),
        ],
    )
    .await;
    let tag = asked_by(&mut shop, "127.0.0.1:9", "/parts/1/tag").await;
    assert!(
        tag.body
            .contains("leads to https://shop.test:8470/parts/1\"")
            && tag.body.contains("/static/labels/40x80.css"),
        "{}",
        tag.body
    );
    assert!(!tag.body.contains("no tablet can open"));
    // What is not touched stays.
    set(&mut shop, "2", &[("cylinder_width", "90")]).await;
    let page = shop.browser.get("/shop/settings").await.body;
    for (name, value) in [
        ("server_address", "https://shop.test:8470"),
        ("tag_width", "40"),
        ("tag_height", "80"),
        ("cylinder_width", "90"),
        ("cylinder_height", "50"),
    ] {
        let field = page
            .split(&format!("name=\"{name}\""))
            .nth(1)
            .expect("a field");
        assert!(
            field
                .split('>')
                .next()
                .is_some_and(|f| f.contains(&format!("value=\"{value}\""))),
            "{name}: {field:.200}"
        );
    }
    assert_eq!(
        asked_by(&mut shop, "shop.test", "/parts/2/tag")
            .await
            .status,
        StatusCode::NOT_FOUND
    );
}

#[tokio::test]
async fn a_cylinder_has_a_label() {
    let mut shop = Shop::begun().await;
    let fields = [
        ("mark", "C-03"),
        ("refrigerant", "R-134a"),
        ("purpose", "recovery"),
        ("tare", "6.1"),
        ("water", "12"),
    ];
    assert_eq!(
        shop.browser.post("/shop/cylinders", &fields).await.location,
        "/shop/cylinders?kept=1"
    );
    let list = shop.browser.get("/shop/cylinders").await.body;
    let page = list
        .split("href=\"")
        .find(|h| h.starts_with("/shop/cylinders?id="))
        .and_then(|h| h.split('"').next())
        .expect("a link")
        .to_owned();
    let id = page.split('=').nth(1).expect("an id");
    let link = format!("/shop/cylinders/{id}/label");
    assert!(shop.browser.get(&page).await.body.contains(&link));
    let label = asked_by(&mut shop, "shop.test", &link).await.body;
    for says in [
        &format!("leads to http://shop.test{page}\""),
        "C-03",
        "R-134a",
        "for recovery",
        "tare 6.1 kg",
        "/static/labels/100x50.css",
    ] {
        assert!(label.contains(says), "{says}: {label}");
    }
}

#[tokio::test]
async fn a_size_has_a_style_sheet_and_a_wrong_one_has_none() {
    let mut shop = Shop::new().await;
    let sheet = shop.browser.get("/static/labels/62x29.css").await;
    assert!(
        sheet.status == StatusCode::OK
            && sheet
                .body
                .starts_with("@page { size: 62mm 29mm; margin: 0;"),
        "{}",
        sheet.body
    );
    for wrong in ["62x29", "10x29.css", "62x301.css", "..css", "62x29.css.css"] {
        assert_eq!(
            shop.browser
                .get(&format!("/static/labels/{wrong}"))
                .await
                .status,
            StatusCode::NOT_FOUND,
            "{wrong}"
        );
    }
}
