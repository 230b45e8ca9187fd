//! Photographs: decoded with limits, turned upright, written anew without what the camera wrote into them.
use super::{Command, Deed, DeedError, evidence::INTAKE};
use crate::shop::AttachmentKind;
use crate::{
    shop::{Actor, AttachmentId, DeedId, EvidenceId, Instant, OrderId},
    store::{Store, attachments},
};
use image::{DynamicImage, ImageDecoder, ImageReader, Limits, codecs::jpeg::JpegEncoder};
use sha2::{Digest, Sha256};
use std::{
    io::{Cursor, Write},
    path::{Path, PathBuf},
};

/// The largest file that is taken.
pub const LARGEST: usize = 20 << 20;
/// The long side of what is kept, pixels.
const LONGEST_SIDE: u32 = 2400;

/// A photograph made ready.
#[derive(Debug, Clone)]
pub struct Ready {
    jpeg: Vec<u8>,
    sha256: String,
    width: u32,
    height: u32,
}

impl Ready {
    /// Name of its file.
    pub fn name(&self) -> &str {
        &self.sha256
    }

    /// One that was set aside, read again.
    pub fn again(folder: &Path, sha256: &str) -> Option<Self> {
        let jpeg = std::fs::read(path(folder, sha256)?).ok()?;
        let (width, height) = ImageReader::new(Cursor::new(&jpeg))
            .with_guessed_format()
            .ok()?
            .into_dimensions()
            .ok()?;
        Some(Self {
            sha256: sha256.to_owned(),
            width,
            height,
            jpeg,
        })
    }
}

/// Writes photographs whose form is not kept yet; the next start sweeps those away that never were.
pub fn set_aside(folder: &Path, pictures: &[Ready]) -> std::io::Result<()> {
    pictures
        .iter()
        .try_for_each(|picture| write(folder, picture))
}

/// Decodes and rewrites a photograph; the error is a sentence for the field.
pub fn ready(bytes: &[u8]) -> Result<Ready, String> {
    let unreadable = "This file is not a photograph that can be read (JPEG, PNG or WebP).";
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|_| unreadable)?;
    let mut limits = Limits::default();
    (
        limits.max_image_width,
        limits.max_image_height,
        limits.max_alloc,
    ) = (Some(20_000), Some(20_000), Some(512 << 20));
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|_| unreadable)?;
    let orientation = decoder.orientation().map_err(|_| unreadable)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(|_| unreadable)?;
    picture.apply_orientation(orientation);
    if picture.width().max(picture.height()) > LONGEST_SIDE {
        picture = picture.resize(
            LONGEST_SIDE,
            LONGEST_SIDE,
            image::imageops::FilterType::Triangle,
        );
    }
    let mut jpeg = Vec::new();
    picture
        .to_rgb8()
        .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 85))
        .map_err(|_| unreadable)?;
    Ok(Ready {
        sha256: hex::encode(Sha256::digest(&jpeg)),
        width: picture.width(),
        height: picture.height(),
        jpeg,
    })
}

/// Where a file lies.
pub fn path(folder: &Path, sha256: &str) -> Option<PathBuf> {
    let fits = sha256.len() == 64
        && sha256
            .chars()
            .all(|c| c.is_ascii_digit() || ('a'..='f').contains(&c));
    fits.then(|| folder.join(format!("{sha256}.jpg")))
}

/// Writes the file so that it is there before its row is: a temporary name, synced, then renamed, then the folder synced.
fn write(folder: &Path, ready: &Ready) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    let Some(target) = path(folder, &ready.sha256) else {
        return Ok(());
    };
    if target.exists() {
        return Ok(());
    }
    let temporary = folder.join(format!("{}.part", ready.sha256));
    let mut file = std::fs::File::create(&temporary)?;
    file.write_all(&ready.jpeg)?;
    file.sync_all()?;
    std::fs::rename(&temporary, &target)?;
    std::fs::File::open(folder)?.sync_all()
}

/// What is kept of a photograph besides itself.
#[derive(Debug, Clone)]
pub struct Told {
    /// `photograph`, `receipt`, `signed-estimate`.
    pub kind: AttachmentKind,
    /// What it shows.
    pub says: String,
    /// The part, joint or other piece that it shows; `None` for the car.
    pub evidence: Option<EvidenceId>,
    /// When it was taken, where that is not now.
    pub at: Option<Instant>,
}

/// Adds the rows of photographs inside a deed; their files are there already.
pub async fn attach(
    deed: &mut Deed,
    order: OrderId,
    told: &Told,
    pictures: &[Ready],
) -> Result<serde_json::Value, DeedError> {
    for r in pictures {
        let a = attachments::Attachment {
            id: AttachmentId::fresh(),
            kind: told.kind,
            sha256: r.sha256.clone(),
            bytes: r.jpeg.len() as i64,
            width: r.width.into(),
            height: r.height.into(),
            says: told.says.clone(),
            evidence: told.evidence,
            at: told.at.unwrap_or(deed.now),
        };
        attachments::add(&mut deed.tx, order, &a, deed.by.person).await?;
    }
    let files: Vec<_> = pictures.iter().map(|r| &r.sha256).collect();
    Ok(serde_json::json!({ "kind": told.kind, "evidence": told.evidence, "files": files }))
}

/// Writes the files before the deed begins: a row never speaks of a file that is not there.
pub fn write_all(folder: &Path, pictures: &[Ready]) -> Result<(), DeedError> {
    set_aside(folder, pictures)
        .map_err(|e| DeedError::Store(crate::store::StoreError::stored("photograph", e)))
}

/// Keeps photographs of an order.
pub async fn keep(
    store: &Store,
    folder: &Path,
    by: &Actor,
    deed: DeedId,
    order: OrderId,
    told: Told,
    ready: Vec<Ready>,
    now: Instant,
) -> Result<(), DeedError> {
    write_all(folder, &ready)?;
    let form = ready
        .iter()
        .map(|r| r.sha256.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    let command = Command {
        deed,
        kind: "photograph-added",
        roles: INTAKE,
        order: Some(order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let content = attach(&mut deed, order, &told, &ready).await?;
    deed.keep(content).await
}

/// Removes files that no row speaks of: what was written before a deed that was not kept. Called at start.
pub async fn sweep(store: &Store, folder: &Path) -> Result<(), crate::store::StoreError> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Ok(());
    };
    let known = {
        let mut conn = store.read().await?;
        attachments::all_files(&mut conn).await?
    };
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let ours = name.ends_with(".part")
            || name
                .strip_suffix(".jpg")
                .is_some_and(|n| n.len() == 64 && !known.iter().any(|k| k == n));
        if ours {
            let _ = std::fs::remove_file(entry.path());
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A JPEG of 2 x 1 pixels with EXIF that says it lies on its side, and a text that must not survive.
    fn on_its_side() -> Vec<u8> {
        let mut jpeg = Vec::new();
        let picture = image::RgbImage::from_fn(2, 1, |x, _| {
            if x == 0 {
                image::Rgb([255, 0, 0])
            } else {
                image::Rgb([0, 0, 255])
            }
        });
        picture
            .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 100))
            .expect("a picture");
        // TIFF, little endian: one entry, orientation (0x0112) = 6; then a text.
        let mut exif =
            b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0".to_vec();
        exif.extend(b"at the back door");
        let mut with = jpeg[..2].to_vec();
        with.extend([0xff, 0xe1]);
        with.extend(((exif.len() + 2) as u16).to_be_bytes());
        with.extend(exif);
        with.extend(&jpeg[2..]);
        with
    }

    #[test]
    fn a_photograph_stands_upright_and_tells_nothing_else() {
        let ready = ready(&on_its_side()).expect("a photograph");
        assert_eq!((ready.width, ready.height), (1, 2));
        assert!(!ready.jpeg.windows(9).any(|w| w == b"back door"));
    }

    #[test]
    fn what_is_no_photograph_is_said_so() {
        assert!(
            ready(b"%PDF-1.7 not a photograph")
                .unwrap_err()
                .contains("not a photograph")
        );
        assert!(ready(&[]).is_err());
        assert_eq!(path(Path::new("/x"), "../../etc/passwd"), None);
    }
}
