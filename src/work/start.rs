//! First start: the code from the terminal makes the first owner, the shop, its first device and first instrument.
use super::{Command, Deed, DeedError, codes};
use crate::{
    shop::{Actor, DeedId, DeviceId, Instant, PersonId, Role, Roles},
    store::{Store, people, sessions, shop, things},
};

/// What the first page asks.
#[derive(Debug)]
pub struct FirstStart {
    /// The form's id.
    pub deed: DeedId,
    /// The first owner's name.
    pub owner: String,
    /// The hash of the owner's code.
    pub code_hash: String,
    /// What the owner does besides.
    pub roles: Roles,
    /// The shop.
    pub shop: shop::Shop,
    /// Name of this device.
    pub device: String,
}

/// The cookies that the first device gets.
#[derive(Debug)]
pub struct Tokens {
    /// Admits the device.
    pub device: String,
    /// Signs the person in.
    pub session: String,
}

/// Makes the shop. Refused where there is one already.
pub async fn first_start(
    store: &Store,
    start: FirstStart,
    instrument: Option<things::Instrument>,
    now: Instant,
) -> Result<Tokens, DeedError> {
    let person = PersonId::fresh();
    let by = Actor {
        person,
        name: start.owner.clone(),
        roles: start.roles.with(Role::Owner),
        device: None,
    };
    let command = Command {
        deed: start.deed,
        kind: "shop-begun",
        roles: &[Role::Owner],
        order: None,
        form: start.shop.name.clone(),
    };
    let mut deed = Deed::begin(store, &by, command, now).await?;
    if shop::get(&mut deed.tx).await?.is_some() {
        return Err(DeedError::refused(
            "code",
            "This shop is already set up. Ask its owner to register this device.",
        ));
    }
    shop::add(&mut deed.tx, &start.shop).await?;
    let owner = people::Person {
        id: person,
        name: start.owner,
        roles: by.roles,
        code_hash: start.code_hash,
        certificate: String::new(),
        certificate_until: None,
        retired_at: None,
        version: 1,
    };
    people::add(&mut deed.tx, &owner, now).await?;
    let tokens = Tokens {
        device: codes::token(),
        session: codes::token(),
    };
    let device = DeviceId::fresh();
    people::admit(
        &mut deed.tx,
        device,
        &start.device,
        &codes::hashed(&tokens.device),
        person,
        now,
    )
    .await?;
    sessions::begin(
        &mut deed.tx,
        &codes::hashed(&tokens.session),
        person,
        device,
        now,
    )
    .await?;
    if let Some(instrument) = &instrument {
        things::add_instrument(&mut deed.tx, instrument).await?;
    }
    let content = serde_json::json!({ "shop": start.shop.name, "elevation": start.shop.elevation, "device": start.device });
    deed.keep(content).await?;
    Ok(tokens)
}
