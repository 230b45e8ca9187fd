//! The guard before every handler: who may ask for what. The deeds ask once more.
use super::{
    App, Fault,
    access::{Access, DEVICE, SESSION, back_query},
    entry::{FromTablet, waits_for_code},
    pictures::{Sent, brings_files, wait},
    sign_in,
};
use crate::{
    shop::{Actor, DeviceId, Instant},
    store::{people, sessions},
    work::codes,
};
use axum::{
    extract::{FromRequest, Request, State},
    http::{Method, header},
    middleware::Next,
    response::{IntoResponse, Redirect, Response},
};
use axum_extra::extract::CookieJar;
use uuid::Uuid;

/// The guard of one route.
pub async fn guard(
    State((app, access)): State<(App, Access)>,
    mut request: Request,
    next: Next,
) -> Result<Response, Fault> {
    let jar = CookieJar::from_headers(request.headers());
    let now = app.now();
    let entry = FromTablet::of(request.headers());
    let device = match jar.get(DEVICE) {
        Some(token) => {
            let mut conn = app.store.read().await?;
            people::device_by_token(&mut conn, &codes::hashed(token.value())).await?
        }
        None => None,
    };
    if let Some(device) = &device {
        request.extensions_mut().insert(device.id);
        if let Some(actor) = signed_in(&app, &jar, device.id, now).await? {
            request.extensions_mut().insert(actor);
        }
    }
    match access {
        Access::Anybody => {}
        Access::Device if device.is_some() => {}
        _ if device.is_none() && entry.is_some() => return Ok(waits_for_code(false)),
        _ if device.is_none() => return Ok(Redirect::to("/device").into_response()),
        Access::Device => {}
        Access::Roles(roles) => match request.extensions().get::<Actor>() {
            // An entry is kept in the name of whoever made it, or waits for that person.
            Some(actor)
                if entry
                    .and_then(|e| e.person)
                    .is_some_and(|person| person != actor.person) =>
            {
                return Ok(waits_for_code(true));
            }
            Some(actor) if actor.roles.any(roles) => {}
            Some(_) => {
                let words: Vec<_> = roles.iter().map(|r| r.word()).collect();
                return Err(Fault::Forbidden(format!(
                    "This page is only for: {}.",
                    words.join(", ")
                )));
            }
            None if entry.is_some() => return Ok(waits_for_code(false)),
            None => return nobody_signed_in(&app, request, now).await,
        },
    }
    if request.method() == Method::GET {
        return Ok(next.run(request).await);
    }
    // A deed runs on by itself: when the tablet drops the connection in the middle, it is still kept or undone as a whole.
    tokio::spawn(next.run(request))
        .await
        .map_err(|e| Fault::Own(Box::new(e)))
}

async fn signed_in(
    app: &App,
    jar: &CookieJar,
    device: DeviceId,
    now: Instant,
) -> Result<Option<Actor>, Fault> {
    let Some(token) = jar.get(SESSION) else {
        return Ok(None);
    };
    let hash = codes::hashed(token.value());
    let found = {
        let mut conn = app.store.read().await?;
        sessions::actor(&mut conn, &hash, device).await?
    };
    let Some((actor, seen_at)) = found else {
        return Ok(None);
    };
    // Signing in stays for the car; a tablet that lay untouched for a working day asks again.
    if seen_at < now.plus_minutes(-12 * 60) {
        return Ok(None);
    }
    if seen_at < now.plus_minutes(-1) {
        let mut tx = app.store.write().await?;
        sessions::touch(&mut tx, &hash, now).await?;
        tx.commit().await.map_err(crate::store::StoreError::from)?;
    }
    Ok(Some(actor))
}

/// A page asked for: to the sign-in page and back. A form sent: kept, shown again after the code.
async fn nobody_signed_in(app: &App, request: Request, now: Instant) -> Result<Response, Fault> {
    let path = request.uri().path().to_owned();
    if request.method() == Method::GET {
        let back = request
            .uri()
            .path_and_query()
            .map_or("/", |p| p.as_str())
            .to_owned();
        return Ok(Redirect::to(&format!("/sign-in?{}", back_query(&back))).into_response());
    }
    let device = request.extensions().get::<DeviceId>().copied();
    let back = page_of_form(&request).unwrap_or_else(|| "/".to_owned());
    let back = match device {
        Some(device) if brings_files(&request) || brings_a_form(&request) => {
            let mut sent = Sent::from_request(request, app).await?;
            let pictures = sent.pictures(app).await?;
            wait(app, &mut sent.form, &pictures)?;
            let fields = sent.form.pairs().to_vec();
            let id = Uuid::now_v7();
            let mut tx = app.store.write().await?;
            sessions::keep_typed(&mut tx, id, device, &path, &fields, now).await?;
            tx.commit().await.map_err(crate::store::StoreError::from)?;
            format!(
                "{back}{}typed={id}",
                if back.contains('?') { '&' } else { '?' }
            )
        }
        _ => back,
    };
    Ok(sign_in::page(app, &back, Some("You were signed out. What you typed is stored and comes back after you sign in; it is not saved yet."))
        .await?
        .into_response())
}

fn brings_a_form(request: &Request) -> bool {
    request
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|v| {
            v.as_bytes()
                .starts_with(b"application/x-www-form-urlencoded")
        })
}

/// The page on which the form stands: where the browser says it came from.
fn page_of_form(request: &Request) -> Option<String> {
    let from = request.headers().get(header::REFERER)?.to_str().ok()?;
    let host = super::host::host(request.uri(), request.headers())?;
    let after = from.split_once("://")?.1.strip_prefix(host)?;
    let back = if after.is_empty() { "/" } else { after };
    Some(
        back.split("&typed=")
            .next()
            .unwrap_or(back)
            .split("?typed=")
            .next()
            .unwrap_or(back)
            .to_owned(),
    )
}
