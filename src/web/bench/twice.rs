//! The same form came twice with other content: both are shown, and the person says whether it is a new entry or a correction of the first.
use super::{
    super::{Ctx, Fault, Field, Fieldset, Form},
    Scene, told,
};
use crate::{
    shop::DeedId,
    store::{
        audit,
        evidence::{Kind, Piece},
    },
};
use serde_json::Value;

/// Field that names the entry that was kept first.
const FIRST: &str = "first";
/// Field of the choice.
const AS: &str = "as";

/// Notes in the form what an earlier deed of the same id entered, if it was a piece of a kind in question.
pub async fn note_first(
    ctx: &Ctx,
    scene: &Scene,
    form: &mut Form,
    first: DeedId,
    of: impl Fn(Kind) -> bool,
) -> Result<(), Fault> {
    let content = {
        let mut conn = ctx.app.store.read().await?;
        audit::content(&mut conn, first).await?
    };
    let told: Vec<&Value> = content
        .iter()
        .filter_map(Value::as_array)
        .flatten()
        .collect();
    let marks = told
        .iter()
        .filter_map(|t| t.get("added").or_else(|| t.get("revised"))?.as_str());
    let mut kept = marks
        .filter_map(|mark| scene.piece(mark))
        .filter(|p| of(p.kind()));
    if let Some(piece) = kept.next() {
        form.set(FIRST, piece.mark.clone());
        form.wrong(AS, "Choose which of the two it is.");
    }
    Ok(())
}

/// The first entry and the choice, where there is one to be made.
pub fn choice(ctx: &Ctx, scene: &Scene, form: &Form) -> Option<Fieldset> {
    let first = first(scene, form)?;
    let options = [
        ("new", "a new entry"),
        ("correction", "a correction of the first"),
    ];
    let fields = vec![
        Field {
            kind: super::super::Kind::Hidden,
            ..form.field(FIRST, "")
        },
        form.tiles(AS, "What you entered below is", options)
            .required(),
    ];
    Some(Fieldset {
        legend: "Saved a moment ago".into(),
        intro: format!("{}.", told::entry(ctx, scene, first).trim_end_matches('.')),
        fields,
    })
}

fn first<'a>(scene: &'a Scene, form: &Form) -> Option<&'a Piece> {
    scene.piece(form.get(FIRST))
}

/// Takes the choice: a correction gets the entry and the version that it corrects. False where nothing was chosen.
pub fn decided(scene: &Scene, form: &mut Form) -> bool {
    let Some(piece) = first(scene, form) else {
        return true;
    };
    let (mark, seq) = (piece.mark.clone(), piece.seq);
    match form.get(AS) {
        "new" => true,
        "correction" => {
            form.set("piece", mark);
            form.set("seen", seq.to_string());
            true
        }
        _ => {
            form.wrong(AS, "Choose which of the two it is.");
            false
        }
    }
}
