//! Deeds about people, devices and who is at the tablet.
use super::{Command, Deed, DeedError, codes};
use crate::{
    shop::{Actor, DeedId, DeviceId, Instant, PersonId, Role, Roles},
    store::{Conn, Store, audit, people, sessions},
};

/// For how long a one-time code admits a device.
pub const ADMISSION_MINUTES: i64 = 30;

/// Makes a one-time code that admits one device; gives the code, which is shown once.
pub async fn make_admission(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    device_name: &str,
    now: Instant,
) -> Result<String, DeedError> {
    let command = Command {
        deed,
        kind: "admission-made",
        roles: &[Role::Owner],
        order: None,
        form: device_name.to_owned(),
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let code = codes::one_time();
    let until = now.plus_minutes(ADMISSION_MINUTES);
    people::add_admission(
        &mut deed.tx,
        &codes::hashed(&code),
        device_name,
        by.person,
        now,
        until,
    )
    .await?;
    deed.keep(serde_json::json!({ "device": device_name }))
        .await?;
    Ok(code)
}

/// Uses a one-time code up: the device is admitted. Gives its token.
pub async fn admit_device(store: &Store, code: &str, now: Instant) -> Result<String, DeedError> {
    let mut tx = store.write().await?;
    let Some((name, made_by)) =
        people::use_admission(&mut tx, &codes::hashed(&codes::tidy_one_time(code)), now).await?
    else {
        return Err(DeedError::refused(
            "code",
            "This code is not valid. It may have been used already or be older than 30 min.",
        ));
    };
    drop(tx);
    let owner = {
        let mut conn = store.read().await?;
        people::find(&mut conn, made_by)
            .await?
            .ok_or(DeedError::Missing("person"))?
    };
    let by = Actor {
        person: owner.id,
        name: owner.name,
        roles: Roles::default().with(Role::Owner),
        device: None,
    };
    let command = Command {
        deed: DeedId::fresh(),
        kind: "device-admitted",
        roles: &[Role::Owner],
        order: None,
        form: String::new(),
    };
    let mut deed = Deed::begin(store, &by, command, now).await?;
    // Again inside the deed: two tablets may have typed the same code at once.
    people::use_admission(
        &mut deed.tx,
        &codes::hashed(&codes::tidy_one_time(code)),
        now,
    )
    .await?
    .ok_or_else(|| DeedError::refused("code", "This code has just been used."))?;
    let (id, token) = (DeviceId::fresh(), codes::token());
    people::admit(
        &mut deed.tx,
        id,
        &name,
        &codes::hashed(&token),
        made_by,
        now,
    )
    .await?;
    deed.keep(serde_json::json!({ "device": name, "id": id }))
        .await?;
    Ok(token)
}

/// Shuts a device out.
pub async fn end_device(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    device: DeviceId,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "device-ended",
        roles: &[Role::Owner],
        order: None,
        form: device.to_string(),
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    people::end_device(&mut deed.tx, device, now).await?;
    deed.keep(serde_json::json!({ "device": device })).await
}

/// Signs a person in at a device; the code was compared before. Gives the session's token.
pub async fn sign_in(
    store: &Store,
    person: PersonId,
    device: DeviceId,
    now: Instant,
) -> Result<String, DeedError> {
    let token = codes::token();
    let mut tx = store.write().await?;
    sessions::begin(&mut tx, &codes::hashed(&token), person, device, now).await?;
    told(&mut tx, "signed-in", person, device, now).await?;
    tx.commit().await?;
    Ok(token)
}

/// Ends a session.
pub async fn sign_out(store: &Store, token: &str, now: Instant) -> Result<(), DeedError> {
    let mut tx = store.write().await?;
    if let Some((person, device)) = sessions::end(&mut tx, &codes::hashed(token), now).await? {
        told(&mut tx, "signed-out", person, device, now).await?;
    }
    Ok(tx.commit().await?)
}

/// Who came to a tablet or left it goes into the chain; there is no form that could come twice.
async fn told(
    conn: &mut Conn,
    kind: &str,
    person: PersonId,
    device: DeviceId,
    now: Instant,
) -> Result<(), DeedError> {
    let content = serde_json::json!({});
    let entry = audit::Entry {
        deed: DeedId::fresh(),
        kind,
        order: None,
        person: Some(person),
        device: Some(device),
        at: now,
        content: &content,
    };
    audit::add(conn, &entry).await?;
    Ok(())
}

/// Adds a person.
pub async fn add_person(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    person: &people::Person,
    now: Instant,
) -> Result<(), DeedError> {
    // The code enters by its salted Argon2 hash, which differs each time: the same form sent twice is then told, not swallowed.
    let form = serde_json::json!([
        person.name,
        person.roles.words(),
        person.certificate,
        person.certificate_until,
        person.code_hash
    ])
    .to_string();
    let command = Command {
        deed,
        kind: "person-added",
        roles: &[Role::Owner],
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    people::add(&mut deed.tx, person, now).await?;
    deed.keep(serde_json::json!({ "person": person.id, "roles": person.roles.words() }))
        .await
}

/// Changes a person; at least one owner stays. Whoever lost the code or a role is signed out.
pub async fn change_person(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    person: &people::Person,
    now: Instant,
) -> Result<(), DeedError> {
    let form = serde_json::json!([
        person.id,
        person.name,
        person.roles.words(),
        person.certificate,
        person.certificate_until,
        person.retired_at,
        person.code_hash
    ])
    .to_string();
    let command = Command {
        deed,
        kind: "person-changed",
        roles: &[Role::Owner],
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let everybody = people::all(&mut deed.tx).await?;
    let before = everybody
        .iter()
        .find(|p| p.id == person.id)
        .ok_or(DeedError::Missing("person"))?;
    let owns = |p: &people::Person| p.roles.has(Role::Owner) && p.retired_at.is_none();
    if !owns(person) && !everybody.iter().any(|p| p.id != person.id && owns(p)) {
        return Err(DeedError::refused(
            "roles",
            "The shop needs an owner. Make somebody else an owner first.",
        ));
    }
    if before.code_hash != person.code_hash
        || before.roles != person.roles
        || person.retired_at.is_some()
    {
        sessions::end_of_person(&mut deed.tx, person.id, now).await?;
    }
    if !people::update(&mut deed.tx, person).await? {
        return Err(DeedError::Outdated);
    }
    let content = serde_json::json!({ "person": person.id, "roles": person.roles.words(), "retired": person.retired_at.is_some(), "code": before.code_hash != person.code_hash });
    deed.keep(content).await
}

/// Sets a new code from the terminal: whoever holds the file holds the shop.
pub async fn reset_code(
    store: &Store,
    person: people::Person,
    code_hash: String,
    now: Instant,
) -> Result<(), DeedError> {
    let terminal = Actor {
        person: person.id,
        name: "the terminal".into(),
        roles: Roles::default().with(Role::Owner),
        device: None,
    };
    let changed = people::Person {
        code_hash,
        ..person
    };
    change_person(store, &terminal, DeedId::fresh(), &changed, now).await
}
