//! Photographs of an order, from the tablet's camera.
use super::{
    App, Ctx, Fault, Field, Form, Kind, Page,
    access::Access,
    form::{again, to},
    router::{Route, get, post},
};
use crate::{
    shop::DeedId,
    store::attachments::{self, Attachment},
    work::photographs::{LARGEST, Ready, Told, keep, path, ready},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{DefaultBodyLimit, Multipart, Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};

/// Addresses.
pub fn routes() -> Vec<Route> {
    let mut upload = post("/orders/{number}/photographs", Access::STAFF, enter);
    // Only this route takes more than a form; a little above what is allowed, so that the page can say what is too large.
    upload.handler = upload.handler.layer(DefaultBodyLimit::max(6 * LARGEST));
    vec![get("/orders/{number}/photographs", Access::STAFF, show), upload, get("/photographs/{sha256}", Access::STAFF, file)]
}

#[derive(Template, WebTemplate)]
#[template(path = "order/photographs.html")]
struct PhotographsPage {
    page: Page,
    number: i64,
    pictures: Vec<Attachment>,
    form: Form,
    fields: Vec<Field>,
}

const KINDS: [(&str, &str); 3] = [("photograph", "of the car"), ("receipt", "a receipt"), ("signed-estimate", "the signed estimate")];

async fn page(ctx: &Ctx, number: i64, form: Form) -> Result<PhotographsPage, Fault> {
    let order = ctx.order(number).await?;
    let mut conn = ctx.app.store.read().await?;
    let pictures = attachments::of_order(&mut conn, order.id).await?;
    let fields = vec![
        form.field("pictures", "Photographs")
            .kind(Kind::File)
            .hint("JPEG, PNG or WebP, 20 MB at most each. They are turned upright; what the camera wrote into them is left out.")
            .required(),
        form.tiles("kind", "It is", KINDS),
        form.field("says", "What it shows"),
    ];
    Ok(PhotographsPage { page: Page::of(ctx, format!("Photographs, order {number}"), "/orders"), number, pictures, fields, form })
}

async fn show(ctx: Ctx, Path(number): Path<i64>) -> Result<PhotographsPage, Fault> {
    page(&ctx, number, Form::default()).await
}

async fn enter(ctx: Ctx, Path(number): Path<i64>, multipart: Result<Multipart, axum::extract::multipart::MultipartRejection>) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let Ok(multipart) = multipart else { return Err(Fault::Senseless("This address takes photographs.".into())) };
    let (mut form, files) = read(multipart).await;
    form.path = format!("/orders/{number}/photographs");
    let pictures = prepare(&mut form, files).await?;
    if form.is_right() {
        let kind = KINDS.iter().find(|k| k.0 == form.get("kind")).map_or("photograph", |k| k.0).to_owned();
        let told = Told { kind, says: form.text("says") };
        let deed: DeedId = form.deed;
        let done = keep(&ctx.app.store, &ctx.app.files, &ctx.actor, deed, order.id, told, pictures, ctx.now).await;
        if form.settle(done)? {
            return Ok(to(format!("/orders/{number}/photographs?kept=1")));
        }
    }
    let status = form.status();
    Ok(again(status, page(&ctx, number, form).await?))
}

/// The fields, and the files as they came; a file that is too large is left out and said so.
async fn read(mut multipart: Multipart) -> (Form, Vec<Vec<u8>>) {
    let (mut values, mut files, mut faults) = (Vec::new(), Vec::new(), Vec::new());
    loop {
        match multipart.next_field().await {
            Ok(Some(field)) if field.name() == Some("pictures") => {
                let name = field.file_name().unwrap_or("a file").to_owned();
                match field.bytes().await {
                    Ok(bytes) if bytes.len() > LARGEST => faults.push(format!("{name} is larger than 20 MB.")),
                    Ok(bytes) if bytes.is_empty() => {}
                    Ok(bytes) => files.push(bytes.to_vec()),
                    Err(_) => {
                        faults.push(format!("{name} did not arrive whole, or is far too large."));
                        break;
                    }
                }
            }
            Ok(Some(field)) => {
                let name = field.name().unwrap_or_default().to_owned();
                values.push((name, field.text().await.unwrap_or_default()));
            }
            Ok(None) => break,
            Err(_) => {
                faults.push("What was sent did not arrive whole.".into());
                break;
            }
        }
    }
    let mut form = Form::of(String::new(), values);
    for fault in faults {
        form.wrong("pictures", fault);
    }
    (form, files)
}

async fn prepare(form: &mut Form, files: Vec<Vec<u8>>) -> Result<Vec<Ready>, Fault> {
    if files.is_empty() {
        form.wrong("pictures", "Choose a photograph, or take one.");
        return Ok(Vec::new());
    }
    // Decoding takes its time and must not hold up the readings of others.
    let made = tokio::task::spawn_blocking(move || files.iter().map(|f| ready(f)).collect::<Vec<_>>()).await.map_err(|e| Fault::Own(Box::new(e)))?;
    let mut pictures = Vec::new();
    for picture in made {
        match picture {
            Ok(picture) => pictures.push(picture),
            Err(says) => form.wrong("pictures", says),
        }
    }
    Ok(pictures)
}

async fn file(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Fault> {
    let path = path(&app.files, &name).ok_or_else(|| Fault::missing("photograph"))?;
    let bytes = tokio::fs::read(path).await.map_err(|_| Fault::missing("photograph"))?;
    Ok((StatusCode::OK, [(header::CONTENT_TYPE, "image/jpeg")], bytes).into_response())
}
