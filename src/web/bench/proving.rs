//! Leak checks; and what a performance reading points to.
use super::{
    super::{Ctx, Fieldset, Form},
    Scene,
    diagnosis::one,
    draft::{Draft, time_fields},
    joints::{mark_of, not_on_record, number, on_record},
};
use crate::shop::InstrumentKind;
use crate::web::form::{measured, quantity};
use chillwright_calc::{
    checks::{performance, timeline::live},
    record::{LeakCheck, Method},
};

/// What the last performance reading says of the air outside and points to, with the source of each; under the performance task only.
pub fn points_to(ctx: &Ctx, scene: &Scene, task: &str) -> Vec<(String, &'static str)> {
    if task != "performance" {
        return Vec::new();
    }
    scene.ask(ctx, |case| {
        let Some((_, _, last)) =
            live(&case.record.performance, "performance").max_by_key(|(_, _, p)| p.at)
        else {
            return Vec::new();
        };
        let water = performance::water_in_the_air(case, last)
            .map(|says| (says, "ASHRAE Fundamentals, ch. 1"));
        water
            .into_iter()
            .chain(
                performance::points_to(case, last)
                    .into_iter()
                    .map(|p| (p.says(), p.source)),
            )
            .collect()
    })
}

pub fn check_intro(ctx: &Ctx, scene: &Scene) -> String {
    let limit = scene.ask(ctx, |case| {
        chillwright_calc::units::show::leak_rate(case.limits.check_sensitivity, case.units)
    });
    format!(
        "An electronic check counts for slow leaks if the detector shows {limit} or less, was proved on a reference leak, and every opened joint was checked after charging."
    )
}

pub fn check_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let detectors: Vec<_> = scene
        .instruments
        .iter()
        .filter(|i| i.kind == InstrumentKind::Detector)
        .map(|i| {
            (
                i.mark.clone(),
                format!("{} {}", i.mark, crate::shop::written::told(&i.sensitivity))
                    .trim_end()
                    .to_owned(),
            )
        })
        .collect();
    let joints: Vec<_> = on_record(scene)
        .iter()
        .map(|p| (p.mark.clone(), format!("{}, {}", number(p), p.body.place())))
        .collect();
    let mut fields = vec![
        form.tiles(
            "method",
            "Method",
            [
                ("electronic", "electronic"),
                ("dye", "dye"),
                ("bubbles", "bubbles"),
                ("ultrasonic", "ultrasonic"),
                ("other", "another way"),
            ],
        )
        .required(),
    ];
    if !detectors.is_empty() {
        fields.push(form.select("instrument", "Detector", detectors));
    }
    fields.extend([
        form.field("sensitivity", "Smallest leak it shows at this setting")
            .number("g/year")
            .hint("Sensitivity setting in use; blank if fixed."),
        form.tiles(
            "proved",
            "Detector proved today on",
            [("reference leak", "a reference leak"), ("none", "nothing")],
        ),
        form.many("places", "Places checked", joints.clone()),
        form.field("other_places", "Other places checked")
            .hint("Separate places with semicolons."),
        form.many("found", "Leak found at", joints),
        form.field("other_found", "Leaks at other places")
            .hint("Separate places with semicolons."),
    ]);
    fields.extend(time_fields(form, "Checked at"));
    one(fields)
}

pub fn read_check(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let method: Option<Method> = form.choice("method", "Choose how.", |m| m.parse().ok());
    let mut sensitivity = measured(form, "sensitivity", "g/yr");
    let detector = scene.instrument(form.get("instrument"));
    if let Some(detector) = detector.filter(|d| {
        sensitivity.is_none() && !d.sensitivity.is_empty() && form.error("sensitivity").is_none()
    }) {
        sensitivity = quantity(form, "instrument", &detector.sensitivity);
    }
    let strangers: Vec<String> = ["places", "found"]
        .into_iter()
        .flat_map(|name| form.all(name))
        .filter(|v| mark_of(scene, v).is_none())
        .map(str::to_owned)
        .collect();
    for stranger in strangers {
        form.wrong("places", not_on_record(stranger.trim_start_matches("new:")));
    }
    let list = |form: &Form, tiles: &str, free: &str| -> Vec<String> {
        let typed = form
            .get(free)
            .split(';')
            .map(str::trim)
            .filter(|s| !s.is_empty())
            .map(str::to_owned)
            .collect::<Vec<_>>();
        form.all(tiles)
            .filter_map(|m| mark_of(scene, m))
            .map(str::to_owned)
            .chain(typed)
            .collect()
    };
    let found = list(form, "found", "other_found");
    let mut places = list(form, "places", "other_places");
    // What leaks was checked.
    places.extend(
        found
            .iter()
            .filter(|f| !places.contains(f))
            .cloned()
            .collect::<Vec<_>>(),
    );
    if places.is_empty() {
        form.wrong("places", "Choose what was checked.");
    }
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let proved_on = form.word("proved");
    let check = LeakCheck {
        method: Some(method?),
        sensitivity,
        proved_on,
        places,
        found,
        ..LeakCheck::default()
    };
    let mut draft = Draft::new(check).at(at, form);
    draft.instrument = detector.map(|d| d.id);
    Some(vec![draft])
}
