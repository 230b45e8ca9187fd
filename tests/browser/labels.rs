//! Labels as they are printed: a decoder that shares nothing with what drew the code reads it from the picture of the print.
use super::{
    begin::begin,
    scenario::{barometer_and_intake, diagnosis_and_parts},
    support::{Browser, House},
};
use thirtyfour::prelude::*;

/// Dots an inch of a common thermal label printer.
const LABEL_PRINTER: f64 = 203.0;

/// What the one code on a picture says.
fn read_back(png: &[u8]) -> String {
    let picture = image::load_from_memory(png)
        .expect("a picture")
        .into_luma8();
    let (wide, high) = picture.dimensions();
    let mut prepared =
        rqrr::PreparedImage::prepare_from_greyscale(wide as usize, high as usize, |x, y| {
            picture.get_pixel(x as u32, y as u32).0[0]
        });
    let grids = prepared.detect_grids();
    assert_eq!(grids.len(), 1, "codes on a picture of {wide} by {high}");
    grids[0].decode().expect("readable").1
}

/// Pages of a PDF, and the size of the first in millimetres.
fn pages(pdf: &[u8]) -> (usize, f64, f64) {
    let text = String::from_utf8_lossy(pdf);
    let pages = text.matches("/Type /Page\n").count() + text.matches("/Type /Page ").count();
    let media = text
        .split("/MediaBox [")
        .nth(1)
        .and_then(|m| m.split(']').next())
        .expect("a page");
    let sides: Vec<f64> = media
        .split_whitespace()
        .map(|n| n.parse().expect("a number"))
        .collect();
    (pages, sides[2] * 25.4 / 72.0, sides[3] * 25.4 / 72.0)
}

async fn settings(b: &Browser, fields: &[(&str, &str)]) {
    b.go("/shop/settings").await;
    for (name, value) in fields {
        b.fill("form[action='/shop/settings']", name, value).await;
    }
    b.send("form[action='/shop/settings']").await;
    assert_eq!(b.path().await, "/shop", "{}", b.text().await);
}

/// The label at this path, printed: its code leads to `leads_to`, it is one sheet of this size, and nothing of it is cut off.
async fn check(b: &Browser, path: &str, leads_to: &str, (wide, high): (f64, f64)) {
    b.go(path).await;
    assert_eq!(b.axe().await, Vec::<String>::new(), "{path}");
    assert_eq!(
        read_back(&b.printed(".label", LABEL_PRINTER).await),
        leads_to
    );
    let cut = "const d = document.querySelector('.label div'), l = document.querySelector('.label'); return [d.scrollHeight - d.clientHeight, d.scrollWidth - d.clientWidth, l.scrollWidth - l.clientWidth]";
    let cut = b
        .driver
        .execute(cut, vec![])
        .await
        .expect("numbers")
        .json()
        .clone();
    assert!(
        cut.as_array()
            .expect("numbers")
            .iter()
            .all(|n| n.as_i64().is_some_and(|n| n <= 1)),
        "{path} at {wide} by {high}: {cut}"
    );
    let (count, page_wide, page_high) = pages(&b.pdf().await);
    assert!(
        count == 1 && (page_wide - wide).abs() < 0.5 && (page_high - high).abs() < 0.5,
        "{path}: {count} pages, {page_wide} by {page_high} mm"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_codes_on_printed_labels_are_read_and_lead_to_their_pages() {
    let house = House::open("2026-05-12T10:50:00Z").await;
    let b = Browser::open(&house, 820, 1180).await;
    begin(&b).await;
    barometer_and_intake(&b).await;
    diagnosis_and_parts(&b).await;

    // By the address in the browser's line, which leads only to this machine: the page says so.
    b.go("/parts/1").await;
    b.driver
        .find(By::LinkText("Print the tag"))
        .await
        .expect("a link")
        .click()
        .await
        .expect("followed");
    assert!(
        b.text().await.contains("no tablet can open"),
        "{}",
        b.text().await
    );
    check(
        &b,
        "/parts/1/tag",
        &format!("{}/parts/1", house.address),
        (62.0, 29.0),
    )
    .await;
    b.picture("tag").await;

    b.go("/shop/cylinders").await;
    let form = "form[action='/shop/cylinders']";
    for (name, value) in [("mark", "C-77"), ("tare", "6.1"), ("water", "12")] {
        b.fill(form, name, value).await;
    }
    for (name, value) in [("refrigerant", "R-1234yf"), ("purpose", "recovery")] {
        b.tap(form, name, value).await;
    }
    b.send(form).await;
    b.driver
        .find(By::LinkText("C-77"))
        .await
        .expect("a link")
        .click()
        .await
        .expect("followed");
    let page = b.driver.current_url().await.expect("an address");
    let page = format!("{}?{}", page.path(), page.query().expect("which"));
    let label = format!(
        "/shop/cylinders/{}/label",
        page.split('=').nth(1).expect("an id")
    );
    settings(&b, &[("server_address", "https://shop.test:8470")]).await;
    check(
        &b,
        &label,
        &format!("https://shop.test:8470{page}"),
        (100.0, 50.0),
    )
    .await;
    b.picture("cylinder-label").await;
    assert!(!b.text().await.contains("no tablet can open"));

    for (wide, high) in [("40", "80"), ("89", "36"), ("50", "50")] {
        settings(&b, &[("tag_width", wide), ("tag_height", high)]).await;
        let size = (
            wide.parse().expect("a number"),
            high.parse().expect("a number"),
        );
        check(&b, "/parts/1/tag", "https://shop.test:8470/parts/1", size).await;
    }
    b.go(&page).await;
    assert!(b.text().await.contains("Print label"), "{}", b.text().await);
    b.close().await;
}
