//! Joints and seals: opened, looked at, renewed; all of one part in one form.
use super::{
    super::{Ctx, Field, Fieldset, Form, Kind as FieldKind},
    Scene,
    diagnosis::one,
    draft::{Draft, time_fields},
};
use crate::{
    shop::layout,
    store::evidence::{Kind, Own, Piece},
    web::form::{measured, some},
};
use chillwright_calc::record::{Condition, Hold, Joint, OpeningObject, Part, Seal};

/// The joint's number in the order, from its mark.
pub fn number(piece: &Piece) -> &str {
    piece.mark.trim_start_matches('j')
}

/// Joints on record.
pub fn on_record(scene: &Scene) -> Vec<&Piece> {
    scene.of_kinds(&[Kind::Joint]).collect()
}

/// Joints on record and the usual places that are not yet: value and label of a tile.
pub fn choices(scene: &Scene) -> Vec<(String, String)> {
    let record = on_record(scene);
    let mut all: Vec<_> = record
        .iter()
        .map(|p| (p.mark.clone(), format!("{}, {}", number(p), p.body.place())))
        .collect();
    for place in layout::joints(scene.metering(), scene.evaporators()) {
        if !record.iter().any(|p| p.body.place() == place.says) {
            all.push((format!("new:{}", place.says), place.says.to_owned()));
        }
    }
    all
}

/// Marks of the joints that were chosen; those that are not on record yet become pieces. `None` where a choice is none.
pub fn chosen(scene: &Scene, form: &mut Form, name: &str, free: &str) -> (Vec<Draft>, Vec<Chosen>) {
    let mut drafts = Vec::new();
    let mut chosen = Vec::new();
    // Marks follow the store's counting: the next joint is one more than there ever were.
    let mut next = scene
        .pieces
        .iter()
        .filter(|p| p.kind() == Kind::Joint)
        .filter_map(|p| number(p).parse::<usize>().ok())
        .max()
        .unwrap_or(0);
    let mut places: Vec<String> = form.all(name).map(str::to_owned).collect();
    let typed = form.get(free).to_owned();
    if !typed.is_empty() {
        places.push(format!("new:{typed}"));
    }
    for value in places {
        if let Some(piece) = scene.piece(&value).filter(|p| p.kind() == Kind::Joint) {
            chosen.push(Chosen {
                mark: piece.mark.clone(),
                id: piece.id,
            });
        } else if let Some(place) = value.strip_prefix("new:").filter(|p| !p.is_empty()) {
            if let Some(piece) = at_place(scene, place) {
                chosen.push(Chosen {
                    mark: piece.mark.clone(),
                    id: piece.id,
                });
                continue;
            }
            let (role, side) = layout::of_place(place).unzip();
            let joint = Joint {
                place: Some(place.to_owned()),
                joint_type: form.get("type").parse().ok(),
                ..Joint::default()
            };
            let draft = Draft {
                own: Own {
                    role,
                    side,
                    ..Own::default()
                },
                ..Draft::new(joint)
            };
            next += 1;
            chosen.push(Chosen {
                mark: format!("j{next}"),
                id: draft.id,
            });
            drafts.push(draft);
        }
    }
    (drafts, chosen)
}

/// A joint that was chosen.
pub struct Chosen {
    /// Its mark.
    pub mark: String,
    /// Its id.
    pub id: crate::shop::EvidenceId,
}

pub fn opening_intro(_: &Ctx, scene: &Scene) -> String {
    let running = scene
        .each::<Hold>()
        .any(|(_, hold)| hold.ended_at.is_none());
    if running {
        "A hold is running: opening a joint makes it void.".into()
    } else {
        String::new()
    }
}

pub fn opening_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.many("joints", "Joints opened", choices(scene)),
        form.field("other", "Another place"),
        form.select(
            "type",
            "Kind of joint",
            [
                ("block", "block"),
                ("screwed", "screwed"),
                ("quick-coupling", "quick coupling"),
                ("flange", "flange"),
                ("port", "port"),
            ],
        ),
    ];
    fields.extend(time_fields(form, "Opened at"));
    one(fields)
}

pub fn read_opening(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let at = form.when("at", &ctx.zone, ctx.now)?;
    if !form.get("piece").is_empty() {
        return Some(vec![Draft::new(OpeningObject::default()).at(at, form)]);
    }
    let (mut drafts, chosen) = chosen(scene, form, "joints", "other");
    if chosen.is_empty() {
        form.wrong("joints", "Choose the joints that were opened.");
        return None;
    }
    for joint in chosen {
        let mut draft = Draft::new(OpeningObject::default())
            .at(at, form)
            .under(joint.id);
        draft.keeps_form = true;
        drafts.push(draft);
    }
    Some(drafts)
}

/// Joints whose seals are asked: those that were opened or belong to a fitted part, or that one part's page names.
fn asked<'a>(scene: &'a Scene, form: &Form) -> Vec<&'a Piece> {
    // A correction is about one seal.
    if let Some(seal) = scene
        .piece(form.get("piece"))
        .filter(|p| p.kind() == Kind::Seal)
    {
        return on_record(scene)
            .into_iter()
            .filter(|j| seal.parent == Some(j.id))
            .collect();
    }
    let part = scene.piece(form.get("part"));
    let of_part = |p: &Piece, part: &Piece| {
        part.get::<Part>()
            .is_some_and(|part| part.joints.contains(&p.mark))
    };
    let concerned = |p: &Piece| {
        scene.children(p, Kind::Opening).next().is_some()
            || scene.of_kinds(&[Kind::Part]).any(|part| of_part(p, part))
    };
    on_record(scene)
        .into_iter()
        .filter(|p| part.map_or_else(|| concerned(p), |part| of_part(p, part)))
        .collect()
}

pub fn seal_intro(_: &Ctx, scene: &Scene) -> String {
    if on_record(scene).is_empty() {
        "No joint is on record yet. First enter which joints were opened.".into()
    } else {
        "Leave a joint blank if there is nothing to add.".into()
    }
}

pub fn seal_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut sets = Vec::new();
    let joints = asked(scene, form);
    for joint in &joints {
        let kept = scene.each_under::<Seal>(joint).last();
        let at = |seal: &Piece| {
            seal.at
                .map(|at| ctx.zone.short(at, ctx.now))
                .unwrap_or_default()
        };
        let last = kept.map_or_else(
            || "nothing".to_owned(),
            |(piece, seal)| format!("{}, {}", seal_told(seal), at(piece)),
        );
        let name = |what: &str| format!("seal.{}.{what}", joint.mark);
        let mut fields = vec![Field {
            hint: format!("On record: {last}."),
            ..form.tiles(
                &name("state"),
                &format!("{}, {}", number(joint), joint.body.place()),
                STATES,
            )
        }];
        if form.get(&name("state")) == "not" || form.error(&name("condition")).is_some() {
            fields.push(form.tiles(&name("condition"), "Condition", CONDITIONS));
        }
        if let Some(error) = form.error(&name("late")) {
            let mut tiles = form.tiles(
                &name("late"),
                "When did you see the seal?",
                [
                    ("open", "while the joint was open"),
                    ("again", "the joint was reopened now"),
                ],
            );
            tiles.error = Some(error.to_owned());
            fields.push(tiles);
            fields.push(
                form.field(&name("seen"), "Seen while the joint was open, at")
                    .kind(FieldKind::DateTime),
            );
        } else if !form.get(&name("late")).is_empty() {
            fields.push(form.tiles(
                &name("late"),
                "When did you see the seal?",
                [
                    ("open", "while the joint was open"),
                    ("again", "the joint was reopened now"),
                ],
            ));
            fields.push(
                form.field(&name("seen"), "Seen while the joint was open, at")
                    .kind(FieldKind::DateTime),
            );
        }
        sets.push(Fieldset {
            legend: String::new(),
            intro: String::new(),
            fields,
        });
    }
    // Without a joint the form is not shown, until one is opened at a tablet that has no network.
    let mut fields = vec![
        form.field("part", "").kind(FieldKind::Hidden),
        form.tiles(
            "lubricant",
            "Lubricant used on all of these",
            [
                ("mineral oil", "mineral oil"),
                ("PAG", "PAG"),
                ("POE", "POE"),
                ("none", "none"),
            ],
        ),
        form.field("lubricant_other", "or another"),
        form.field("torque", "Tightened to").number("N·m"),
    ];
    fields.extend(time_fields(form, "Seen at"));
    sets.push(Fieldset {
        legend: "For all of them".into(),
        intro: String::new(),
        fields,
    });
    sets
}

/// A form's row for a joint by its place, for openings that wait at a tablet: `__place__` stands for it. The server finds the joint once it knows it.
pub fn row_by_place(task: &str, form: &Form) -> Option<Fieldset> {
    let fields = match task {
        "seals" => {
            vec![
                form.tiles("seal.new:__place__.state", "__place__", STATES),
                form.tiles(
                    "seal.new:__place__.condition",
                    "If not sound: condition",
                    CONDITIONS,
                ),
            ]
        }
        "checks" => vec![
            form.many("places", "__place__", [("new:__place__", "checked")]),
            form.many("found", "Found there", [("new:__place__", "a leak")]),
        ],
        _ => return None,
    };
    Some(Fieldset {
        legend: String::new(),
        intro: "The opening of this joint is waiting on this tablet.".into(),
        fields,
    })
}

/// Whether no joint's seal is asked for yet.
pub fn none_asked(scene: &Scene, form: &Form) -> bool {
    asked(scene, form).is_empty()
}

/// The joint on record at a place, whatever the case of its letters.
fn at_place<'a>(scene: &'a Scene, place: &str) -> Option<&'a Piece> {
    on_record(scene)
        .into_iter()
        .find(|p| p.body.place().eq_ignore_ascii_case(place.trim()))
}

/// A joint's mark, also where a form names it by its place ("new:drier inlet").
pub fn mark_of<'a>(scene: &'a Scene, value: &str) -> Option<&'a str> {
    let joint = value
        .strip_prefix("new:")
        .map_or_else(|| scene.piece(value), |place| at_place(scene, place));
    joint.map(|p| p.mark.as_str())
}

/// `seal.new:drier inlet.state` becomes `seal.j1.state`.
fn by_marks(scene: &Scene, form: &mut Form) {
    form.rename(|name| {
        let (joint, what) = name.strip_prefix("seal.")?.rsplit_once('.')?;
        joint
            .starts_with("new:")
            .then(|| mark_of(scene, joint))?
            .map(|mark| format!("seal.{mark}.{what}"))
    });
    // What was found at a joint that never arrived is not passed over.
    let left: Vec<String> = form
        .pairs()
        .iter()
        .filter(|(_, said)| !said.is_empty())
        .filter_map(|(name, _)| place_of(name))
        .map(str::to_owned)
        .collect();
    for place in left {
        form.wrong("", not_on_record(&place));
    }
}

fn place_of(name: &str) -> Option<&str> {
    name.strip_prefix("seal.new:")?.strip_suffix(".state")
}

/// What is said of a joint that a form names by its place and that is not there.
pub fn not_on_record(place: &str) -> String {
    format!("Joint “{place}” is not on record: its opening was not saved.")
}

const STATES: [(&str, &str); 4] = [
    ("new", "new seal"),
    ("sound", "sound, refitted"),
    ("donor", "used part’s, refitted"),
    ("not", "not sound"),
];

const CONDITIONS: [(&str, &str); 4] = [
    ("nicked", "nicked"),
    ("flattened", "flattened"),
    ("hardened", "hardened"),
    ("missing", "missing"),
];

fn seal_told(seal: &Seal) -> &'static str {
    if seal.renewed == Some(true) {
        "new seal"
    } else {
        seal.condition.map_or("", Condition::word)
    }
}

pub fn read_seals(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    by_marks(scene, form);
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let lubricant = match (form.get("lubricant_other"), form.get("lubricant")) {
        ("", "none") => String::new(),
        ("", tile) => tile.to_owned(),
        (other, _) => other.to_owned(),
    };
    let torque = measured(form, "torque", "N m");
    let joints: Vec<Piece> = asked(scene, form).into_iter().cloned().collect();
    let mut drafts = Vec::new();
    for joint in &joints {
        let name = |what: &str| format!("seal.{}.{what}", joint.mark);
        let state = form.get(&name("state")).to_owned();
        let lubricated = |seal: Seal| Seal {
            lubricant: some(lubricant.as_str()),
            ..seal
        };
        let seal = match state.as_str() {
            "new" => lubricated(Seal {
                renewed: Some(true),
                ..Seal::default()
            }),
            "sound" | "donor" => {
                // A form that waits at a tablet since before the update ticked it beside.
                let donor = state == "donor" || form.ticked(&name("donor"));
                lubricated(Seal {
                    condition: Some(Condition::Sound),
                    renewed: Some(false),
                    from_donor: Some(donor),
                    ..Seal::default()
                })
            }
            "not" => {
                let of_these = |c: &str| {
                    c.parse()
                        .ok()
                        .filter(|_| CONDITIONS.iter().any(|known| known.0 == c))
                };
                let Some(condition) = form.choice(
                    &name("condition"),
                    "Choose what was wrong with it.",
                    of_these,
                ) else {
                    continue;
                };
                lubricated(Seal {
                    condition: Some(condition),
                    renewed: Some(false),
                    ..Seal::default()
                })
            }
            _ => continue,
        };
        let Some(seen) = seen_at(ctx, scene, form, joint, at, &name("late"), &name("seen")) else {
            continue;
        };
        if let Seen::Again = seen {
            drafts.push(
                Draft::new(OpeningObject::default())
                    .at(at, form)
                    .under(joint.id),
            );
        }
        let when = if let Seen::While(then) = seen {
            then
        } else {
            at
        };
        let mut draft = Draft::new(seal).at(when, form).under(joint.id);
        draft.keeps_form = true;
        drafts.push(draft);
        if let Some((torque, known)) = torque.as_ref().zip(joint.get::<Joint>()) {
            let tightened = Joint {
                torque: Some(torque.clone()),
                ..known.clone()
            };
            drafts.push(Draft {
                revises: Some((joint.id, joint.seq)),
                own: joint.own.clone(),
                ..Draft::new(tightened)
            });
        }
    }
    if drafts.is_empty() && form.is_right() {
        form.wrong("", "Enter the seal of at least one joint.");
    }
    Some(drafts)
}

enum Seen {
    Now,
    While(crate::shop::Instant),
    Again,
}

/// A seal entered after an evacuation, hold or charge that followed the joint's opening: seen while it was open, or opened again now?
fn seen_at(
    ctx: &Ctx,
    scene: &Scene,
    form: &mut Form,
    joint: &Piece,
    at: crate::shop::Instant,
    late: &str,
    seen: &str,
) -> Option<Seen> {
    let opened = scene
        .children(joint, Kind::Opening)
        .filter_map(|o| o.at)
        .max();
    let closed = scene
        .of_kinds(&[Kind::Evacuation, Kind::Hold, Kind::Charging])
        .filter_map(|p| p.at)
        .filter(|t| opened.is_none_or(|o| *t > o))
        .min();
    let Some(closed) = closed.filter(|closed| at > *closed) else {
        return Some(Seen::Now);
    };
    match form.get(late) {
        "again" => Some(Seen::Again),
        "open" => {
            if form.get(seen).is_empty() {
                form.wrong(late, "Enter when it was seen.");
                return None;
            }
            let then = form.when(seen, &ctx.zone, ctx.now)?;
            if opened.is_some_and(|o| then < o) || then >= closed {
                let opened = opened
                    .map(|o| ctx.zone.short(o, ctx.now))
                    .unwrap_or_default();
                form.wrong(
                    seen,
                    format!(
                        "The joint was open from {opened} to {}.",
                        ctx.zone.short(closed, ctx.now)
                    ),
                );
                return None;
            }
            Some(Seen::While(then))
        }
        _ => {
            form.wrong(late, format!("The circuit has been closed since {}. Did you see the seal while the joint was open, or was the joint reopened now? If it was reopened, a new evacuation and hold are needed.", ctx.zone.short(closed, ctx.now)));
            None
        }
    }
}
