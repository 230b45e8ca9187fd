//! Entries in words: each kind of evidence with all that its form asks, no key of the record as it is.
use super::{super::Ctx, Scene, joints::number};
use crate::{
    shop::{
        Instant, Zone,
        written::{part, told},
    },
    store::evidence::{Kind, Piece},
};
use chillwright_calc::{
    checks::isolation::{Proved, proved},
    record::Isolation,
};
use serde_json::{Map, Value};

/// An entry in a few words, for the list under its form.
pub fn entry(ctx: &Ctx, scene: &Scene, piece: &Piece) -> String {
    let when = piece.at.map(|at| format!("{}{}: ", if piece.approximate { "about " } else { "" }, ctx.zone.short(at, ctx.now))).unwrap_or_default();
    let of = piece.parent.and_then(|id| scene.pieces.iter().find(|p| p.id == id)).map(|p| format!("{}: ", p.text("place"))).unwrap_or_default();
    let named = |mark: &str| scene.piece(mark).map(name);
    format!("{when}{of}{}", words(piece.kind, &piece.body, &named, &ctx.zone, ctx.now))
}

/// What another entry is called within a sentence: a joint by its place, a part by its source and role.
fn name(piece: &Piece) -> String {
    match piece.kind {
        Kind::Part => part(piece.text("source"), piece.text("role")),
        Kind::Joint => format!("{} ({})", piece.text("place"), number(piece)),
        _ => piece.text("place").to_owned(),
    }
}

/// What a kind of evidence is called.
pub fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::Site => "Site",
        Kind::System => "Label",
        Kind::PreviousCharge => "Last charge",
        Kind::OpenSince => "Open since",
        Kind::GasLetIn => "Gas let in",
        Kind::Standing => "Standing pressure",
        Kind::Identification => "Gas identification",
        Kind::Isolation => "High-voltage isolation",
        Kind::Recovery => "Recovery",
        Kind::Leak => "Leak",
        Kind::Part => "Part",
        Kind::Desiccant => "Desiccant",
        Kind::Flush => "Flushing",
        Kind::Joint => "Joint",
        Kind::Opening => "Joint opened",
        Kind::Seal => "Seal",
        Kind::Fixing => "Fixing",
        Kind::Oil => "Oil",
        Kind::Evacuation => "Evacuation",
        Kind::Hold => "Hold",
        Kind::Reading => "Reading",
        Kind::LeakCheck => "Leak check",
        Kind::Charging => "Charge",
        Kind::Performance => "Performance",
        Kind::PerformanceOmitted => "Performance not measured",
        Kind::Port => "Service port",
    }
}

/// The body of an entry in words. `named` tells what another entry is called that this one names by its mark.
pub fn words(kind: Kind, body: &Map<String, Value>, named: &dyn Fn(&str) -> Option<String>, zone: &Zone, now: Instant) -> String {
    let mut left = Left { body: body.clone(), named, zone, now };
    left.ignore(&["at", "barometer", "started_at", "approximate", "seen_before", "id"]);
    let said = match kind {
        Kind::Site => site(&mut left),
        Kind::System => label(&mut left),
        Kind::PreviousCharge => vec![left.with("mass", "{} charged")],
        Kind::OpenSince => vec![left.with("value", "open since {}")],
        Kind::GasLetIn => gas_let_in(&mut left),
        Kind::Standing => standing(&mut left),
        Kind::Identification => identification(&mut left),
        Kind::Isolation => isolation(&mut left),
        Kind::Recovery => recovery(&mut left),
        Kind::Leak => leak(&mut left),
        Kind::Part => a_part(&mut left),
        Kind::Desiccant => vec![left.with("value", "desiccant last renewed {}")],
        Kind::Flush => flush(&mut left),
        Kind::Joint => vec![left.with("place", "{}"), left.with("type", "{} joint"), left.with("torque", "tightened to {}")],
        Kind::Opening => vec![Some("opened".into())],
        Kind::Seal => seal(&mut left),
        Kind::Fixing => fixing(&mut left),
        Kind::Oil => vec![Some([left.with("volume", "{} of"), left.with("type", "{}")].into_iter().flatten().collect::<Vec<_>>().join(" "))],
        Kind::Evacuation => evacuation(&mut left),
        Kind::Hold => hold(&mut left),
        Kind::Reading => vec![left.with("pressure", "{}"), left.with("temperature", "metal {}")],
        Kind::LeakCheck => leak_check(&mut left),
        Kind::Charging => charging(&mut left),
        Kind::Performance => performance(&mut left),
        Kind::PerformanceOmitted => vec![left.with("value", "not measured: {}")],
        Kind::Port => port(&mut left),
    };
    said.into_iter().flatten().chain(left.rest()).collect::<Vec<_>>().join(", ")
}

/// What of a body is still to be told.
struct Left<'a> {
    body: Map<String, Value>,
    named: &'a dyn Fn(&str) -> Option<String>,
    zone: &'a Zone,
    now: Instant,
}

/// A phrase, or nothing where there is nothing to say.
type Said = Option<String>;

impl Left<'_> {
    fn ignore(&mut self, keys: &[&str]) {
        keys.iter().for_each(|key| drop(self.body.remove(*key)));
    }

    fn text(&mut self, key: &str) -> Option<String> {
        match self.body.remove(key)? {
            Value::String(text) if !text.is_empty() => Some(text),
            Value::Number(number) => Some(number.to_string()),
            _ => None,
        }
    }

    /// The value as people write it, within a phrase.
    fn with(&mut self, key: &str, phrase: &str) -> Said {
        self.text(key).map(|text| phrase.replace("{}", &told(&text)))
    }

    fn yes(&mut self, key: &str, yes: &str, no: &str) -> Said {
        let said = if self.body.remove(key)?.as_bool()? { yes } else { no };
        (!said.is_empty()).then(|| said.to_owned())
    }

    /// A time within a phrase.
    fn when(&mut self, key: &str, phrase: &str) -> Said {
        let text = self.text(key)?;
        let at = Instant::parse(&text).map_or(text, |at| self.zone.short(at, self.now));
        Some(phrase.replace("{}", &at))
    }

    fn list(&mut self, key: &str, phrase: &str) -> Said {
        let Some(Value::Array(list)) = self.body.remove(key) else { return None };
        let items: Vec<String> = list.iter().filter_map(Value::as_str).map(|m| (self.named)(m).unwrap_or_else(|| m.to_owned())).collect();
        (!items.is_empty()).then(|| phrase.replace("{}", &items.join("; ")))
    }

    /// What an object holds, told as a body of its own.
    fn object<T>(&mut self, key: &str, tell: impl FnOnce(&mut Left<'_>) -> T) -> Option<T> {
        let Value::Object(body) = self.body.remove(key)? else { return None };
        Some(tell(&mut Left { body, named: self.named, zone: self.zone, now: self.now }))
    }

    /// A gauge or scale by its mark and resolution: "scale S-1 (5 g)".
    fn tool(&mut self, key: &str, what: &str) -> Said {
        self.object(key, |tool| {
            let mark = tool.text("id").unwrap_or_default();
            let resolution = tool.with("resolution", " ({})").unwrap_or_default();
            format!("{what} {mark}{resolution}").trim().to_owned()
        })
    }

    /// What nobody told of yet: keys of the record that a form began to ask later. Told all the same, in words.
    fn rest(self) -> Vec<String> {
        let plain = |(key, value): (&String, &Value)| {
            let name = key.replace('_', " ");
            match value {
                Value::Bool(true) => Some(name),
                Value::Bool(false) => Some(format!("no {name}")),
                Value::String(text) if !text.is_empty() => Some(format!("{name}: {}", told(text))),
                Value::Number(number) => Some(format!("{name}: {number}")),
                _ => None,
            }
        };
        self.body.iter().filter(|(key, _)| !key.starts_with('_')).filter_map(plain).collect()
    }
}

fn site(left: &mut Left<'_>) -> Vec<Said> {
    vec![left.with("elevation", "elevation {}")]
}

fn label(left: &mut Left<'_>) -> Vec<Said> {
    let other = left.object("charge_in_force", |c| {
        let mass = c.with("mass", "charge specified instead {}").unwrap_or_default();
        [Some(mass), c.with("tolerance", "± {}"), c.text("why").map(|w| format!("because: {w}"))].into_iter().flatten().collect::<Vec<_>>().join(" ")
    });
    let failed = left.object("compressor_failed", |c| c.yes("debris", "compressor failed, debris in the circuit", "compressor failed, no debris"));
    vec![
        left.with("refrigerant", "{}"),
        left.with("charge", "{}").map(|c| c + &left.with("charge_tolerance", " ± {}").unwrap_or_default()),
        left.with("oil_type", "oil {}"),
        left.with("oil_total", "{} of oil"),
        left.with("internal_volume", "internal volume {}"),
        left.text("compressor_drive").map(|d| if d == "electric" { "electric compressor, high voltage".into() } else { format!("{d} drive") }),
        left.text("metering").map(|m| m.replace('-', " ")),
        left.text("evaporators").map(|n| if n == "1" { "one evaporator".into() } else { format!("{n} evaporators") }),
        other,
        failed.flatten(),
    ]
}

fn gas_let_in(left: &mut Left<'_>) -> Vec<Said> {
    vec![left.text("gas").map(|gas| format!("{} let in", if gas == "nitrogen" { "dry nitrogen" } else { &gas }))]
}

fn standing(left: &mut Left<'_>) -> Vec<Said> {
    vec![left.with("pressure", "{}"), left.with("ambient", "car and air at {}"), left.yes("cold_soak", "cold soaked", "not cold soaked")]
}

fn identification(left: &mut Left<'_>) -> Vec<Said> {
    let gases = left.object("gases", |gases| {
        let all = std::mem::take(&mut gases.body);
        all.iter().filter_map(|(gas, share)| Some(format!("{gas} {}", told(share.as_str()?)))).collect::<Vec<_>>().join(", ")
    });
    let sealant = left.yes("sealant", "leak sealant found", "no sealant found");
    vec![gases.filter(|g| !g.is_empty()), left.with("air", "air {}"), sealant, left.with("instrument", "identifier {}")]
}

fn isolation(left: &mut Left<'_>) -> Vec<Said> {
    let measured = left.text("measured");
    let isolation = Isolation { measured: measured.clone(), ..Isolation::default() };
    let verdict = match proved(&isolation) {
        Proved::Dead => "isolated",
        Proved::Live(_) | Proved::NotMeasured => "NOT isolated",
    };
    let waited = left.with("waited", "waited {}");
    vec![waited, Some(measured.map_or_else(|| "no voltage measured".to_owned(), |m| format!("{m} between HV+ and HV−"))), Some(verdict.to_owned())]
}

fn recovery(left: &mut Left<'_>) -> Vec<Said> {
    let what = left.text("refrigerant").unwrap_or_else(|| "refrigerant".into());
    let into = left.text("cylinder").map(|c| format!(" into cylinder {c}")).unwrap_or_default();
    vec![
        Some(format!("{what}{into}")),
        left.with("before", "cylinder {} before"),
        left.with("after", "{} after"),
        left.with("oil", "{} of oil recovered"),
        left.tool("scale", "scale"),
    ]
}

fn leak(left: &mut Left<'_>) -> Vec<Said> {
    let found = left.text("found_by").map(|by| if by == "looking" { "found by visual inspection".to_owned() } else { format!("found by {by}") });
    let repaired = left.when("repaired_at", "repaired {}").or(Some("not repaired".into()));
    vec![left.with("place", "{}"), found, repaired]
}

fn a_part(left: &mut Left<'_>) -> Vec<Said> {
    let fitted = if left.body.remove("fitted_at").is_some() { "fitted" } else { "not fitted yet" };
    let what = part(&left.text("source").unwrap_or_default(), &left.text("role").unwrap_or_default());
    let donor = left.object("donor", |d| {
        let told = vec![
            d.with("vehicle", "from a {}"),
            d.with("vin", "VIN {}"),
            d.with("yard", "yard {}"),
            d.with("stock", "stock no. {}"),
            d.with("pulled_on", "pulled {}"),
            d.with("receipt", "receipt {}"),
        ];
        told.into_iter().flatten().collect::<Vec<_>>().join(", ")
    });
    vec![
        Some(format!("{what}, {fitted}")),
        left.yes("contains_desiccant", "contains desiccant", "no desiccant"),
        left.yes("desiccant_renewed", "desiccant renewed", "desiccant not renewed"),
        left.text("ports").map(|p| if p == "unknown" { "ports on arrival not known".into() } else { format!("ports {p} on arrival") }),
        left.with("oil_drained", "{} of oil drained from the old part"),
        left.with("oil_added", "{} of oil put in"),
        donor.filter(|d| !d.is_empty()),
        left.list("joints", "joints: {}"),
    ]
}

fn flush(left: &mut Left<'_>) -> Vec<Said> {
    let section = left.text("section").unwrap_or_default();
    let by = left.text("by").map(|by| if by == "filtered" { "in-line filter fitted".to_owned() } else { by }).unwrap_or_default();
    vec![Some(format!("{section}: {by}"))]
}

fn seal(left: &mut Left<'_>) -> Vec<Said> {
    let renewed = left.body.remove("renewed").and_then(|r| r.as_bool()).unwrap_or(false);
    let condition = left.text("condition");
    let state = match (renewed, condition.as_deref()) {
        (true, _) => "new seal".to_owned(),
        (false, Some("sound")) => "seal sound, refitted".to_owned(),
        (false, Some("missing")) => "seal missing, not renewed".to_owned(),
        (false, Some(other)) => format!("seal {other}, not renewed"),
        (false, None) => "seal not renewed".to_owned(),
    };
    vec![Some(state), left.yes("from_donor", "came with the used part", ""), left.with("lubricant", "lubricant {}")]
}

fn fixing(left: &mut Left<'_>) -> Vec<Said> {
    let kind = left.text("kind").map(|kind| format!("{kind} fixing"));
    let of = left.text("part").and_then(|mark| (left.named)(&mark)).map(|part| format!("on {part}"));
    vec![left.with("place", "{}"), kind, of, left.text("note"), left.with("look_again_on", "recheck by {}")]
}

fn evacuation(left: &mut Left<'_>) -> Vec<Said> {
    let ended = left.when("ended_at", "finished {}").or(Some("running".into()));
    vec![left.tool("gauge", "gauge"), left.with("coldest_metal", "coldest metal {}"), ended]
}

fn hold(left: &mut Left<'_>) -> Vec<Said> {
    let gas = left.text("gas");
    // A vacuum has the air that comes in for its gas; under pressure it matters which gas it is.
    let kind = left.text("kind").map(|kind| match (kind.as_str(), gas.as_deref()) {
        ("pressure", Some("nitrogen")) => "pressure hold with dry nitrogen".to_owned(),
        ("pressure", Some("air")) => "pressure hold with compressed air".to_owned(),
        ("pressure", Some(gas)) => format!("pressure hold with {gas}"),
        (kind, _) => format!("{kind} hold"),
    });
    let ended = left.when("ended_at", "finished {}").or(Some("running".into()));
    vec![kind, left.tool("gauge", "gauge"), ended]
}

fn leak_check(left: &mut Left<'_>) -> Vec<Said> {
    let proved = left.text("proved_on").map(|on| if on == "none" { "not proved that day".to_owned() } else { format!("proved on a {on} that day") });
    vec![
        left.text("method").map(|m| format!("{m} check")),
        left.with("instrument", "detector {}"),
        left.with("sensitivity", "shows {}"),
        proved,
        left.list("places", "checked: {}"),
        left.list("found", "leak found at: {}").or(Some("no leak found".into())),
    ]
}

fn charging(left: &mut Left<'_>) -> Vec<Said> {
    let from = left.text("cylinder").map(|c| format!(" from cylinder {c}")).unwrap_or_default();
    let what = left.text("refrigerant").map(|r| format!("{r}{from}"));
    let cans = match left.body.remove("cans") {
        Some(Value::Array(cans)) => cans.iter().filter_map(can).collect::<Vec<_>>(),
        _ => Vec::new(),
    };
    let masses = [left.with("before", "cylinder {} before"), left.with("after", "{} after")];
    let unweighed = (cans.is_empty() && masses.iter().all(Option::is_none)).then(|| "not weighed".to_owned());
    let [before, after] = masses;
    let cans = (!cans.is_empty()).then(|| format!("cans: {}", cans.join("; ")));
    let size = left.body.remove("hose").as_ref().and_then(hose);
    vec![what, before, after, left.with("left_in_hose", "{} left in hose"), size, cans, unweighed, left.tool("scale", "scale")]
}

/// "hose 6 ft long, 0.19 in bore, filled with liquid".
fn hose(hose: &Value) -> Option<String> {
    let size = |key: &str| hose.get(key).and_then(Value::as_str).map(told);
    let filled = hose.get("state").and_then(Value::as_str).map(|state| format!(", filled with {state}")).unwrap_or_default();
    Some(format!("hose {} long, {} bore{filled}", size("length")?, size("bore")?))
}

fn can(can: &Value) -> Option<String> {
    let mass = |key: &str| can.get(key).and_then(Value::as_str).map(told);
    let left = mass("left").map(|left| format!(" less {left} left in it")).unwrap_or_default();
    Some(format!("{}{left}", mass("net")?))
}

fn performance(left: &mut Left<'_>) -> Vec<Said> {
    vec![
        left.with("low_side", "low side {}"),
        left.with("high_side", "high side {}"),
        left.with("ambient", "outside air {}"),
        left.with("humidity", "{} relative humidity"),
        left.with("vent", "vent air {}"),
        left.with("suction_line", "suction line {}"),
        left.with("liquid_line", "liquid line {}"),
        left.with("low_below_freezing_for", "low side below freezing for {}"),
        left.with("engine", "{} rpm"),
        left.with("blower", "blower {}"),
        left.yes("recirculation", "recirculation on", "recirculation off"),
        left.yes("doors_open", "doors and windows open", "doors and windows closed"),
    ]
}

fn port(left: &mut Left<'_>) -> Vec<Said> {
    let side = left.text("side").unwrap_or_default();
    let cap = left.yes("cap", "cap on", "no cap").unwrap_or_else(|| "cap not checked".into());
    vec![Some(format!("{side} side: {cap}")), left.with("core", "core {}")]
}
