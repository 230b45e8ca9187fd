//! The ground: first start, sign-in, devices, who may ask for what, what is refused.
use super::kit::{Browser, FIRST_START, PIN, Shop};
use axum::{
    body::Body,
    http::{Method, Request, StatusCode},
};
use chillwright::{
    shop::PersonId,
    web::{access::Access, router},
};

pub async fn person(shop: &Shop) -> PersonId {
    let mut conn = shop.app.store.read().await.expect("a connection");
    chillwright::store::people::all(&mut conn)
        .await
        .expect("people")[0]
        .id
}

#[tokio::test]
async fn the_first_start_takes_the_terminals_code_and_happens_once() {
    let mut shop = Shop::new().await;
    assert_eq!(shop.browser.get("/").await.location, "/device");
    assert_eq!(shop.browser.get("/device").await.location, "/start");
    let mut wrong = FIRST_START;
    wrong[0].1 = "ABCDE-23457";
    let refused = shop.browser.post("/start", &wrong).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("not the code"), "{}", refused.body);
    assert_eq!(
        shop.browser.post("/start", &FIRST_START).await.location,
        "/"
    );
    assert_eq!(shop.browser.get("/").await.status, StatusCode::OK);
    let again = shop
        .browser
        .stranger()
        .post_raw("/start", &FIRST_START)
        .await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_refused_first_start_keeps_what_was_typed() {
    let mut shop = Shop::new().await;
    let mut wrong = FIRST_START;
    wrong[9].1 = "a hundred";
    let refused = shop.browser.post("/start", &wrong).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("is not a number"));
    assert!(refused.body.contains("3 Tannery Row, Wend") && refused.body.contains("a hundred"));
}

#[tokio::test]
async fn a_device_comes_in_by_a_code_that_works_once() {
    let mut shop = Shop::begun().await;
    let page = shop
        .browser
        .post("/shop/devices", &[("name", "bench 1")])
        .await;
    let code = page
        .body
        .split("class=\"code\">")
        .nth(1)
        .and_then(|s| s.split('<').next())
        .expect("a code")
        .to_owned();
    let mut tablet = shop.browser.stranger();
    assert_eq!(
        tablet
            .post("/device", &[("code", &code.to_lowercase())])
            .await
            .location,
        "/"
    );
    assert!(tablet.get("/").await.location.starts_with("/sign-in"));
    let second = shop
        .browser
        .stranger()
        .post("/device", &[("code", &code)])
        .await;
    assert_eq!(second.status, StatusCode::UNPROCESSABLE_ENTITY);
    let person = person(&shop).await.to_string();
    let wrong = tablet
        .post("/sign-in", &[("person", &person), ("pin", "000111")])
        .await;
    assert!(wrong.body.contains("Wrong code."));
    assert_eq!(
        tablet
            .post(
                "/sign-in",
                &[("person", &person), ("pin", PIN), ("back", "/shop/devices")]
            )
            .await
            .location,
        "/shop/devices"
    );
    assert_eq!(tablet.get("/").await.status, StatusCode::OK);
}

#[tokio::test]
async fn a_code_is_tried_five_times_at_most() {
    let mut shop = Shop::begun().await;
    let person = person(&shop).await.to_string();
    let mut statuses = Vec::new();
    for _ in 0..7 {
        statuses.push(
            shop.browser
                .post("/sign-in", &[("person", &person), ("pin", "000111")])
                .await
                .status,
        );
    }
    assert_eq!(
        statuses
            .iter()
            .filter(|s| **s == StatusCode::TOO_MANY_REQUESTS)
            .count(),
        2,
        "{statuses:?}"
    );
}

/// People take turns at a tablet all day: right codes are never refused, and a wrong one in between costs nothing that a right one does not give back.
#[tokio::test]
async fn right_codes_are_never_too_many() {
    let mut shop = Shop::begun().await;
    let person = person(&shop).await.to_string();
    for turn in 0..12 {
        if turn % 3 == 0 {
            assert_eq!(
                shop.browser
                    .post("/sign-in", &[("person", &person), ("pin", "000111")])
                    .await
                    .status,
                StatusCode::UNPROCESSABLE_ENTITY,
                "{turn}"
            );
        }
        let answer = shop
            .browser
            .post(
                "/sign-in",
                &[("person", &person), ("pin", PIN), ("back", "/")],
            )
            .await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "turn {turn}");
    }
}

#[tokio::test]
async fn what_was_typed_survives_the_end_of_a_session() {
    let mut shop = Shop::begun().await;
    shop.minutes_pass(13 * 60);
    let gone = shop
        .browser
        .post_raw("/shop/devices", &[("name", "bench 7")])
        .await;
    assert!(
        gone.body.contains("What you typed is stored"),
        "{}",
        gone.body
    );
    let back = gone
        .body
        .split("name=\"back\" value=\"")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("back")
        .replace("&#38;", "&");
    let person = person(&shop).await.to_string();
    let signed_in = shop
        .browser
        .post(
            "/sign-in",
            &[("person", &person), ("pin", PIN), ("back", &back)],
        )
        .await;
    assert!(
        signed_in.location.starts_with("/shop/devices?typed="),
        "{}",
        signed_in.location
    );
    let page = shop.browser.get(&signed_in.location).await;
    assert!(page.body.contains("value=\"bench 7\""), "{}", page.body);
}

#[tokio::test]
async fn a_write_from_elsewhere_is_refused() {
    let mut shop = Shop::begun().await;
    for headers in [
        vec![],
        vec![("sec-fetch-site", "cross-site")],
        vec![("origin", "http://elsewhere.test"), ("host", "shop.test")],
    ] {
        let mut request = Request::builder()
            .method(Method::POST)
            .uri("/sign-out")
            .header("content-type", "application/x-www-form-urlencoded");
        for (name, value) in &headers {
            request = request.header(*name, *value);
        }
        assert_eq!(
            shop.browser.send(request, Body::empty()).await.status,
            StatusCode::FORBIDDEN,
            "{headers:?}"
        );
    }
}

/// Every route as nobody, as each role, and as a wrong one.
#[tokio::test]
async fn every_route_asks_who_it_is() {
    use chillwright::shop::{Role, Roles};
    let shop = Shop::begun().await;
    let owner = person(&shop).await;
    for route in router::routes() {
        let Access::Roles(roles) = route.access else {
            continue;
        };
        let path = sample(route.path);
        let nobody = ask(&mut shop.browser.stranger(), &route.method, &path).await;
        assert_eq!(nobody.1, "/device", "{} {path} as nobody", route.method);
        for role in Role::ALL {
            let mut browser = as_role(&shop, owner, Roles::default().with(role)).await;
            let (status, _) = ask(&mut browser, &route.method, &path).await;
            let allowed = roles.contains(&role);
            assert_eq!(
                status == StatusCode::FORBIDDEN,
                !allowed,
                "{} {path} as {}: {status}",
                route.method,
                role.word()
            );
            assert!(
                status != StatusCode::INTERNAL_SERVER_ERROR,
                "{} {path} as {}",
                route.method,
                role.word()
            );
        }
    }
}

async fn ask(browser: &mut Browser, method: &Method, path: &str) -> (StatusCode, String) {
    let answer = if *method == Method::GET {
        browser.get(path).await
    } else {
        browser.post_raw(path, &[]).await
    };
    (answer.status, answer.location)
}

/// A path with something in each of its places.
fn sample(path: &str) -> String {
    path.split('/')
        .map(|part| match part {
            "{number}" | "{n}" | "{tag}" => "1".to_owned(),
            "{id}" => "01890a5d-ac96-774b-bcce-b302099a8057".to_owned(),
            part if part.starts_with('{') => "x1".to_owned(),
            part => part.to_owned(),
        })
        .collect::<Vec<_>>()
        .join("/")
}

/// A browser of a new person who has just these roles, signed in at a device of its own.
pub async fn as_role(shop: &Shop, owner: PersonId, roles: chillwright::shop::Roles) -> Browser {
    use chillwright::{
        shop::DeviceId,
        store::{people, sessions},
        work::codes,
    };
    let mut tx = shop.app.store.write().await.expect("a transaction");
    let person = people::Person {
        id: PersonId::fresh(),
        name: format!("Somebody {}", roles.words()),
        roles,
        code_hash: String::from("none"),
        certificate: String::new(),
        certificate_until: None,
        retired_at: None,
        version: 1,
    };
    let (device, now) = (DeviceId::fresh(), shop.app.now());
    let (device_token, session_token) = (codes::token(), codes::token());
    people::add(&mut tx, &person, now).await.expect("a person");
    people::admit(
        &mut tx,
        device,
        "a device",
        &codes::hashed(&device_token),
        owner,
        now,
    )
    .await
    .expect("a device");
    sessions::begin(
        &mut tx,
        &codes::hashed(&session_token),
        person.id,
        device,
        now,
    )
    .await
    .expect("a session");
    tx.commit().await.expect("kept");
    let mut browser = shop.browser.stranger();
    browser.cookies = vec![
        ("cw_device".into(), device_token),
        ("cw_session".into(), session_token),
    ];
    browser
}

#[tokio::test]
async fn the_writer_survives_a_pulled_plug() {
    let shop = Shop::new().await;
    let mut conn = shop.app.store.writer().await.expect("the writer");
    for (pragma, value) in [
        ("synchronous", "2"),
        ("journal_mode", "wal"),
        ("foreign_keys", "1"),
        ("recursive_triggers", "1"),
    ] {
        let found: String = sqlx::query_scalar(sqlx::AssertSqlSafe(format!(
            "SELECT CAST({pragma} AS TEXT) FROM pragma_{pragma}"
        )))
        .fetch_one(&mut *conn)
        .await
        .expect("a pragma");
        assert_eq!(found, value, "{pragma}");
    }
}

#[tokio::test]
async fn the_audit_chain_fits_and_a_changed_entry_breaks_it() {
    let mut shop = Shop::begun().await;
    shop.browser
        .post("/shop/devices", &[("name", "bench 1")])
        .await;
    let verify = async || {
        let mut conn = shop.app.store.read().await.expect("a connection");
        chillwright::store::audit::verify(&mut conn).await
    };
    assert_eq!(verify().await.expect("a whole chain"), 2);
    let mut conn = shop.app.store.writer().await.expect("the writer");
    let change = "UPDATE audit_entry SET content = '{}' WHERE seq = 1";
    assert!(
        sqlx::raw_sql(change)
            .execute(&mut *conn)
            .await
            .unwrap_err()
            .to_string()
            .contains("append-only")
    );
    sqlx::raw_sql("DROP TRIGGER audit_entry_no_update")
        .execute(&mut *conn)
        .await
        .expect("dropped");
    sqlx::raw_sql(change)
        .execute(&mut *conn)
        .await
        .expect("changed");
    assert!(verify().await.unwrap_err().to_string().contains("entry 1"));
}
