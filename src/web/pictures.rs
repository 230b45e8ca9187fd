//! Forms that bring photographs along. A refused form keeps them: they are written beside the database and named in the form that comes back.
use super::{App, Fault, Form, entry::FromTablet};
use crate::work::photographs::{LARGEST, Ready, ready, set_aside};
use axum::{
    extract::{DefaultBodyLimit, FromRequest, Multipart, Request},
    http::header,
};

/// Field of the files.
pub const FILES: &str = "pictures";
/// Field of photographs that an earlier sending of the same form brought.
pub const SET_ASIDE: &str = "set_aside";

/// A form with files.
pub struct Sent {
    /// Its fields.
    pub form: Form,
    files: Vec<Vec<u8>>,
}

/// More than a form; a little above what is allowed, so that the page can say what is too large.
pub fn limit() -> DefaultBodyLimit {
    DefaultBodyLimit::max(6 * LARGEST)
}

/// Whether a request brings a form with files.
pub fn brings_files(request: &Request) -> bool {
    request
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|v| v.as_bytes().starts_with(b"multipart/form-data"))
}

impl FromRequest<App> for Sent {
    type Rejection = Fault;

    async fn from_request(mut request: Request, app: &App) -> Result<Self, Fault> {
        if !brings_files(&request) {
            return Ok(Self {
                form: Form::from_request(request, app).await?,
                files: Vec::new(),
            });
        }
        let path = request.uri().path().to_owned();
        let tablet = FromTablet::of(request.headers()).map(|t| t.clock);
        limit().apply(&mut request);
        let multipart = Multipart::from_request(request, app)
            .await
            .map_err(|_| Fault::Senseless("This address only accepts forms.".into()))?;
        let mut sent = read(multipart, path).await;
        sent.form.tablet = tablet;
        sent.form = sent.form.as_sent();
        Ok(sent)
    }
}

/// The fields, and the files as they came; a file that is too large is left out and said so.
async fn read(mut multipart: Multipart, path: String) -> Sent {
    let (mut values, mut files, mut faults) = (Vec::new(), Vec::new(), Vec::new());
    loop {
        match multipart.next_field().await {
            Ok(Some(field)) if field.name() == Some(FILES) => {
                let name = field.file_name().unwrap_or("a file").to_owned();
                match field.bytes().await {
                    Ok(bytes) if bytes.len() > LARGEST => {
                        faults.push(format!("{name} is larger than 20 MB."))
                    }
                    Ok(bytes) if bytes.is_empty() => {}
                    Ok(bytes) => files.push(bytes.to_vec()),
                    Err(_) => {
                        faults.push(format!(
                            "{name} did not arrive completely or is far too large."
                        ));
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
                faults.push("The form did not arrive completely.".into());
                break;
            }
        }
    }
    let mut form = Form::of(path, values);
    for fault in faults {
        form.wrong(FILES, fault);
    }
    Sent { form, files }
}

impl Sent {
    /// The photographs made ready, those set aside before included. What is none is said beside the field.
    pub async fn pictures(&mut self, app: &App) -> Result<Vec<Ready>, Fault> {
        let files = std::mem::take(&mut self.files);
        let aside: Vec<String> = self.form.all(SET_ASIDE).map(str::to_owned).collect();
        let folder = app.files.clone();
        // Decoding takes its time and must not hold up the readings of others.
        let work = move || {
            let again = aside
                .iter()
                .filter_map(|name| Ready::again(&folder, name).map(Ok));
            again
                .chain(files.iter().map(|f| ready(f)))
                .collect::<Vec<_>>()
        };
        let made = tokio::task::spawn_blocking(work)
            .await
            .map_err(|e| Fault::Own(Box::new(e)))?;
        let mut pictures: Vec<Ready> = Vec::new();
        for picture in made {
            match picture {
                Ok(picture) if pictures.iter().any(|p| p.name() == picture.name()) => {}
                Ok(picture) => pictures.push(picture),
                Err(says) => self.form.wrong(FILES, says),
            }
        }
        Ok(pictures)
    }
}

/// The form comes back: its photographs wait beside the database, and their names in it.
pub fn wait(app: &App, form: &mut Form, pictures: &[Ready]) -> Result<(), Fault> {
    set_aside(&app.files, pictures).map_err(|e| Fault::Own(Box::new(e)))?;
    let known: Vec<String> = form.all(SET_ASIDE).map(str::to_owned).collect();
    for picture in pictures
        .iter()
        .filter(|p| !known.iter().any(|k| k == p.name()))
    {
        form.add(SET_ASIDE, picture.name());
    }
    Ok(())
}
