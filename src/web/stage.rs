//! How far the work is: what is still to do, and the technician's word that it is ready.
use super::{
    Ctx, Form,
    bench::scene::Scene,
    findings::{self, FindingLine},
};
use chillwright_calc::record::Stage;

/// What is still to do, and the form by which the technician says how far the work is.
pub struct StageView {
    /// The address of the form.
    pub action: String,
    /// The form.
    pub form: Form,
    /// What the button says of the work: `ready` or `in-work`.
    pub stage: &'static str,
    /// On the button.
    pub button: &'static str,
    /// What that does, in a sentence.
    pub says: String,
    /// What is still to do, in the order of the work.
    pub to_do: Vec<FindingLine>,
}

impl StageView {
    /// Of an open order; `None` for a closed one.
    pub fn of(ctx: &Ctx, scene: &Scene, typed: &Form) -> Option<Self> {
        if !scene.order.is_open() {
            return None;
        }
        let number = scene.order.number;
        let action = format!("/orders/{number}/stage");
        let to_do = scene.to_do();
        let ready = scene.record.stage == Some(Stage::Ready);
        let (stage, button, says) = match (ready, to_do.len()) {
            (true, _) => (
                Stage::InWork,
                "Back to work",
                "Marked as ready. What is left is waiting for the owner.".to_owned(),
            ),
            (false, 0) => (Stage::Ready, "Ready", "Nothing is left to do.".to_owned()),
            (false, n) => (
                Stage::Ready,
                "Ready",
                format!(
                    "{} to do. If you leave {} undone, mark the order as ready. What is missing then becomes a finding; the owner is asked where it can be accepted.",
                    if n == 1 {
                        "One task is still".to_owned()
                    } else {
                        format!("{n} tasks are still")
                    },
                    if n == 1 { "it" } else { "them" }
                ),
            ),
        };
        let to_do = findings::lines(number, &to_do, &[], ctx.units, |_| String::new());
        Some(Self {
            form: typed.sent_to(&action),
            action,
            stage: stage.word(),
            button,
            says,
            to_do,
        })
    }
}
