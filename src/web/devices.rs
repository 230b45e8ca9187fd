//! Devices: a tablet is let in by a one-time code that the owner makes.
use super::{
    App, Ctx, Fault, Field, Fieldset, Form, Page,
    access::{self, Access},
    form::{Typed, again},
    route::{Route, get, post},
};
use crate::{
    shop::DeviceId,
    store::{people, shop},
    work::people::{ADMISSION_MINUTES, admit_device, end_device, make_admission},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Redirect, Response},
};
use axum_extra::extract::CookieJar;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/device", Access::Anybody, ask),
        post("/device", Access::Anybody, admit),
        get("/shop/devices", Access::OWNER, list),
        post("/shop/devices", Access::OWNER, make),
        post("/shop/devices/{id}/end", Access::OWNER, end),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "form_page.html")]
struct AskPage {
    page: Page,
    heading: &'static str,
    intro: &'static str,
    action: &'static str,
    button: &'static str,
    form: Form,
    sets: Vec<Fieldset>,
    caution: &'static str,
}

fn ask_page(app: &App, form: Form, shop: String) -> AskPage {
    let code = form
        .field("code", "Code")
        .hint("Two groups of five letters and digits. Valid for 30 min and for one device.")
        .required();
    AskPage {
        page: Page {
            shop,
            ..Page::bare("Register this device")
        },
        heading: "This device is not registered yet",
        intro: "Ask the owner for a code. The owner creates one under Shop, Devices.",
        action: "/device",
        button: "Register this device",
        sets: vec![Fieldset {
            fields: vec![code],
            ..Fieldset::default()
        }],
        form,
        caution: super::trust::says(app),
    }
}

async fn ask(State(app): State<App>) -> Result<Response, Fault> {
    let mut conn = app.store.read().await?;
    Ok(match shop::get(&mut conn).await? {
        None => Redirect::to("/start").into_response(),
        Some(shop) => {
            ask_page(&app, Form::of("/device".into(), Vec::new()), shop.name).into_response()
        }
    })
}

async fn admit(State(app): State<App>, jar: CookieJar, mut form: Form) -> Result<Response, Fault> {
    if !app.may_try("admission") {
        return Err(Fault::TooMany);
    }
    if form.need("code", "Enter the code.").is_some() {
        match admit_device(&app.store, form.get("code"), app.now()).await {
            Ok(token) => {
                return Ok((
                    jar.add(access::cookie(access::DEVICE, token, 400)),
                    Redirect::to("/"),
                )
                    .into_response());
            }
            Err(e) => form.settle(Err(e))?,
        };
    }
    let name = {
        let mut conn = app.store.read().await?;
        shop::get(&mut conn)
            .await?
            .map(|s| s.name)
            .unwrap_or_default()
    };
    Ok(again(form.status(), ask_page(&app, form, name)))
}

#[derive(Template, WebTemplate)]
#[template(path = "devices.html")]
struct ListPage {
    page: Page,
    code: Option<String>,
    minutes: i64,
    form: Form,
    name: Field,
    devices: Vec<Line>,
}

struct Line {
    id: DeviceId,
    name: String,
    says: String,
    admitted: bool,
}

async fn list_page(ctx: &Ctx, form: Form, code: Option<String>) -> Result<ListPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let devices = people::devices(&mut conn).await?.into_iter().map(|d| Line {
        id: d.id,
        name: d.name,
        admitted: d.ended_at.is_none(),
        says: match d.ended_at {
            Some(at) => format!("removed {}", ctx.zone.date_and_clock(at)),
            None => format!("registered {}", ctx.zone.date_and_clock(d.admitted_at)),
        },
    });
    Ok(ListPage {
        page: Page::of(ctx, "Devices", "/shop"),
        code,
        minutes: ADMISSION_MINUTES,
        name: form
            .field("name", "Name of the new device")
            .hint("For example: bench 2.")
            .required(),
        devices: devices.collect(),
        form,
    })
}

async fn list(ctx: Ctx, Typed(form): Typed) -> Result<ListPage, Fault> {
    list_page(&ctx, form.sent_to("/shop/devices"), None).await
}

async fn make(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let Some(name) = form.need("name", "Enter a name for the device.") else {
        return Ok(again(form.status(), list_page(&ctx, form, None).await?));
    };
    match make_admission(&ctx.app.store, &ctx.actor, form.deed, &name, ctx.now).await {
        Ok(code) => Ok(list_page(
            &ctx,
            Form::of("/shop/devices".into(), Vec::new()),
            Some(code),
        )
        .await?
        .into_response()),
        Err(e) => {
            form.settle(Err(e))?;
            Ok(again(form.status(), list_page(&ctx, form, None).await?))
        }
    }
}

async fn end(ctx: Ctx, Path(id): Path<DeviceId>, form: Form) -> Result<Response, Fault> {
    match end_device(&ctx.app.store, &ctx.actor, form.deed, id, ctx.now).await {
        Ok(()) | Err(crate::work::DeedError::AlreadyKept) => {
            Ok(Redirect::to("/shop/devices").into_response())
        }
        Err(e) => Err(e.into()),
    }
}
