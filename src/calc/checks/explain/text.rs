//! The whole explanation as plain text.
use super::{Step, holds, steps, why};
use crate::{
    RULES_VERSION,
    checks::{assess_case, case::Case},
};
use std::fmt::Write;

/// Every figure with its steps, units and sources, then each finding with its reason.
pub fn text(case: &Case<'_>) -> String {
    let answer = assess_case(case);
    let mut out = format!("Rules {RULES_VERSION}\n");
    section(&mut out, "The air", &steps::site(case));
    section(&mut out, "Standing pressure", &steps::standing(case));
    section(&mut out, "Recovered", &steps::recovered(case));
    section(
        &mut out,
        "Lost before it came",
        &steps::loss(case)
            .into_iter()
            .chain(steps::found(case))
            .collect::<Vec<_>>(),
    );
    for e in &case.evacuations {
        section(
            &mut out,
            &format!("Evacuation {}", e.id),
            &steps::evacuation(case, e),
        );
    }
    for h in &case.holds {
        let kind = h.kind.map_or("", crate::record::HoldKind::word);
        section(
            &mut out,
            &format!("Hold {}, {kind}", h.id),
            &holds::steps(case, h),
        );
    }
    section(&mut out, "Charge", &steps::charge(case));
    section(&mut out, "Air left", &steps::air(case));
    section(&mut out, "Oil", &steps::oil(case));
    section(&mut out, "Performance", &steps::performance(case));
    for a in &answer.figures.assumed {
        let span = a
            .span
            .as_deref()
            .map(|s| format!(" ({s})"))
            .unwrap_or_default();
        section(
            &mut out,
            "Assumed",
            &[Step::new(
                a.key.clone(),
                format!("{}{span}", a.value),
                a.why.clone(),
                "",
            )],
        );
    }
    for f in &answer.findings {
        let why = why(case, f);
        let _ = write!(
            out,
            "\n{} ({}): {}\n  {}\n  Do next: {}\n",
            f.code,
            f.weight.word(),
            f.about,
            f.says,
            f.do_next
        );
        let _ = write!(
            out,
            "  Law: {}\n  How sure: {}\n  What would change it: {}\n  Rests on: {}\n",
            why.law, why.doubt, why.change, f.source
        );
    }
    if answer.findings.is_empty() {
        out.push_str("\nNothing is in the way.\n");
    }
    out
}

fn section(out: &mut String, title: &str, steps: &[Step]) {
    if steps.is_empty() {
        return;
    }
    let _ = write!(out, "\n{title}\n");
    for s in steps {
        let _ = writeln!(out, "  {}: {}", s.name, s.value);
        let _ = writeln!(out, "      {}", s.how);
        if !s.source.is_empty() {
            let _ = writeln!(out, "      source: {}", s.source);
        }
    }
}
