//! Signing in: tap a name, type a code. It stays for the car. Changing the person is the same page, and leads back to where one was.
use super::{
    App, Ctx, Fault, Form, Kind, Page,
    access::{self, Access, safe_back},
    form::{Field, again},
    route::{Route, get, post},
};
use crate::{
    shop::{Actor, DeviceId, PersonId},
    store::{people, shop},
    work::people::{sign_in, sign_out},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::{Query, State},
    response::{IntoResponse, Redirect, Response},
};
use axum_extra::extract::{CookieJar, cookie::Cookie};
use chillwright_calc::UnitSystem;
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/sign-in", Access::Device, show),
        post("/sign-in", Access::Device, enter),
        post("/sign-out", Access::Device, leave),
        post("/units", Access::STAFF, units),
    ]
}

/// The page with the names.
#[derive(Template, WebTemplate)]
#[template(path = "sign_in.html")]
pub struct SignInPage {
    page: Page,
    back: String,
    says: String,
    /// Somebody is signed in here already.
    signed_in: bool,
    encryption: &'static str,
    names: Field,
    code: Field,
}

/// The sign-in page; afterwards one goes `back`.
pub async fn page(app: &App, back: &str, says: Option<&str>) -> Result<SignInPage, Fault> {
    build(
        app,
        Form::of("/sign-in".into(), vec![("back".into(), back.to_owned())]),
        says.unwrap_or_default(),
        false,
    )
    .await
}

async fn build(app: &App, form: Form, says: &str, signed_in: bool) -> Result<SignInPage, Fault> {
    let mut conn = app.store.read().await?;
    let people = people::all(&mut conn).await?;
    let shop = shop::get(&mut conn)
        .await?
        .map(|s| s.name)
        .unwrap_or_default();
    let names = people
        .iter()
        .filter(|p| p.retired_at.is_none())
        .map(|p| (p.id.to_string(), p.name.clone()));
    Ok(SignInPage {
        page: Page {
            shop,
            ..Page::bare("Who is at the tablet?")
        },
        back: safe_back(form.get("back")).to_owned(),
        says: says.to_owned(),
        signed_in,
        encryption: super::trust::says(app),
        names: form
            .tiles("person", "Who is at the tablet?", names)
            .required(),
        code: Field {
            value: String::new(),
            ..form
                .field("pin", "Your code")
                .kind(Kind::Code)
                .required()
                .autocomplete("off")
        },
    })
}

async fn show(
    State(app): State<App>,
    actor: Option<Extension<Actor>>,
    Query(query): Query<HashMap<String, String>>,
) -> Result<SignInPage, Fault> {
    let back = query.get("back").map_or("/", String::as_str).to_owned();
    build(
        &app,
        Form::of("/sign-in".into(), vec![("back".into(), back)]),
        "",
        actor.is_some(),
    )
    .await
}

async fn enter(
    State(app): State<App>,
    Extension(device): Extension<DeviceId>,
    jar: CookieJar,
    mut form: Form,
) -> Result<Response, Fault> {
    let person = form.choice("person", "Choose your name.", |p| {
        p.parse::<PersonId>().ok()
    });
    if form.get("pin").is_empty() {
        form.wrong("pin", "Enter your code.");
    }
    if let Some(person) = person.filter(|_| form.is_right()) {
        let keys = [format!("person {person}"), format!("device {device}")];
        if keys.iter().any(|key| !app.may_try(key)) {
            return Err(Fault::TooMany);
        }
        let found = {
            let mut conn = app.store.read().await?;
            people::find(&mut conn, person)
                .await?
                .filter(|p| p.retired_at.is_none())
        };
        if found.is_some_and(|p| app.codes.fits(form.get("pin"), &p.code_hash)) {
            keys.iter().for_each(|key| app.was_right(key));
            // Whoever was at the tablet before is not any more.
            if let Some(before) = jar.get(access::SESSION) {
                sign_out(&app.store, before.value(), app.now()).await?;
            }
            let token = sign_in(&app.store, person, device, app.now()).await?;
            let back = safe_back(form.get("back")).to_owned();
            return Ok((
                jar.add(access::cookie(access::SESSION, token, 30)),
                Redirect::to(&back),
            )
                .into_response());
        }
        form.wrong("pin", "Wrong code.");
    }
    let status = form.status();
    Ok(again(status, build(&app, form, "", false).await?))
}

async fn leave(State(app): State<App>, jar: CookieJar, form: Form) -> Result<Response, Fault> {
    if let Some(token) = jar.get(access::SESSION) {
        sign_out(&app.store, token.value(), app.now()).await?;
    }
    let back = access::back_query(safe_back(form.get("back")));
    Ok((
        jar.remove(Cookie::build(access::SESSION).path("/")),
        Redirect::to(&format!("/sign-in?{back}")),
    )
        .into_response())
}

async fn units(_: Ctx, jar: CookieJar, form: Form) -> Result<Response, Fault> {
    let to: UnitSystem = form.get("to").parse().unwrap_or_default();
    Ok((
        jar.add(access::cookie("cw_units", to.word().to_owned(), 400)),
        Redirect::to(safe_back(form.get("back"))),
    )
        .into_response())
}
