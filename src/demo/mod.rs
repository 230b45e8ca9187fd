//! An invented shop with an order in every state. It is typed into the same forms as a real one, with a clock handed down, so that it
//! can show nothing that the pages cannot do.
pub mod car;
pub mod form_client;
mod hand;
pub mod page_form;
mod story;

use crate::{
    shop::{Instant, PersonId, Role},
    store::{Store, people},
    work::{DeedError, codes::Codes, people as deeds},
};
use hand::Hand;
use std::path::Path;

/// Why the demo could not be made.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// A form was refused: the pages have changed, the demo has not.
    #[error("{path} answered {status}: {says}")]
    Refused {
        /// Where it was sent.
        path: String,
        /// The answer's status.
        status: u16,
        /// What the page said.
        says: String,
    },
    /// A form was asked for what its page does not have.
    #[error(transparent)]
    Fill(#[from] page_form::FillError),
    /// A deed failed.
    #[error(transparent)]
    Deed(#[from] DeedError),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] crate::store::StoreError),
}

/// Somebody of the invented shop, and the code to type.
#[derive(Debug)]
pub struct SignIn {
    /// Name.
    pub name: &'static str,
    /// Code.
    pub code: &'static str,
    /// Roles in words.
    pub roles: String,
}

/// What the terminal prints of the demo.
#[derive(Debug)]
pub struct Printed {
    /// A code that admits the device on which one looks.
    pub admission: String,
    /// Who can sign in.
    pub people: Vec<SignIn>,
}

const PEOPLE: [(&str, &str, &[Role]); 3] = [
    ("Perrin Hask", "480213", &[Role::Owner]),
    ("Ines Marlow", "715902", &[Role::Technician]),
    ("Tomas Quill", "630417", &[Role::Desk]),
];

/// Makes the shop in an empty file. `now` is the time at which one looks; everything lies in the eleven hours before.
pub async fn make(
    store: &Store,
    codes: &Codes,
    files: &Path,
    now: Instant,
) -> Result<Printed, DemoError> {
    let mut hand = Hand::new(store, codes, files, now.plus_minutes(-11 * 60));
    hand.begin(PEOPLE[0].0, PEOPLE[0].1).await?;
    for (name, code, roles) in &PEOPLE[1..] {
        let mut fields = vec![("name", *name), ("pin", *code)];
        fields.extend(roles.iter().map(|r| ("roles", r.word())));
        if roles.contains(&Role::Technician) {
            fields.extend([
                ("certificate", "RH-1180"),
                ("certificate_until", "2028-03-31"),
            ]);
        }
        hand.send("/shop/people", &fields).await?;
    }
    hand.tools().await?;
    let everybody = {
        let mut conn = store.read().await?;
        people::all(&mut conn).await?
    };
    let id = |name: &str| {
        everybody
            .iter()
            .find(|p| p.name == name)
            .map_or_else(PersonId::fresh, |p| p.id)
    };
    let people = PEOPLE.map(|(name, code, _)| (id(name), code));
    story::tell(&mut hand, people).await?;
    let owner = everybody
        .iter()
        .find(|p| p.name == PEOPLE[0].0)
        .ok_or(DeedError::Missing("owner"))?;
    let owner = crate::shop::Actor {
        person: owner.id,
        name: owner.name.clone(),
        roles: owner.roles,
        device: None,
    };
    let admission = deeds::make_admission(
        store,
        &owner,
        crate::shop::DeedId::fresh(),
        "the screen that shows the demo",
        now,
    )
    .await?;
    let people = PEOPLE.map(|(name, code, roles)| SignIn {
        name,
        code,
        roles: roles
            .iter()
            .map(|r| r.word())
            .collect::<Vec<_>>()
            .join(", "),
    });
    Ok(Printed {
        admission,
        people: people.into(),
    })
}
