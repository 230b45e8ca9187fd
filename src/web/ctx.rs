//! What a handler knows: the house, who asks, the shop, the time, the units.
use super::{
    App, Fault, Form, Page,
    host::host,
    page::{NavItem, UnitsSwitch, Who},
};
use crate::{
    shop::{Actor, Instant, Role, Zone},
    store::shop::{self, Shop},
    tls::Way,
};
use axum::{extract::FromRequestParts, http::request::Parts};
use axum_extra::extract::CookieJar;
use chillwright_calc::{
    UnitSystem,
    physics::atmosphere,
    units::{AbsolutePressure, Length, Pressure, Quantity},
};

/// Context of one request by somebody signed in.
#[derive(Clone)]
pub struct Ctx {
    /// The house.
    pub app: App,
    /// Who asks.
    pub actor: Actor,
    /// The settings.
    pub shop: Shop,
    /// The shop's zone.
    pub zone: Zone,
    /// When.
    pub now: Instant,
    /// The units that this person looks at.
    pub units: UnitSystem,
    /// The address by which this browser came, "https://shop.test:8470"; empty where the request does not say.
    pub origin: String,
    /// Path of the page.
    pub path: String,
    /// A line on top of the page, carried over from what was just done.
    pub notice: Option<String>,
}

impl FromRequestParts<App> for Ctx {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Fault> {
        let actor = parts
            .extensions
            .get::<Actor>()
            .cloned()
            .ok_or_else(|| Fault::Forbidden("Sign in first.".into()))?;
        let shop = {
            let mut conn = app.store.read().await?;
            shop::get(&mut conn)
                .await?
                .ok_or_else(|| Fault::Forbidden("This shop is not set up yet.".into()))?
        };
        let jar = CookieJar::from_headers(&parts.headers);
        let chosen = jar
            .get("cw_units")
            .map_or(shop.units.as_str(), |c| c.value());
        let units = chosen.parse().unwrap_or_default();
        let query: Vec<(String, String)> = parts
            .uri
            .query()
            .map(|q| form_urlencoded::parse(q.as_bytes()).into_owned().collect())
            .unwrap_or_default();
        let notice = query
            .iter()
            .find(|(k, _)| k == "kept")
            .map(|_| "Saved.".to_owned());
        let scheme = if app.tls().is_some() { "https" } else { "http" };
        let origin = host(&parts.uri, &parts.headers)
            .filter(|h| Way::of_host(h).is_some())
            .map(|h| format!("{scheme}://{h}"))
            .unwrap_or_default();
        Ok(Self {
            origin,
            zone: shop.zone(),
            now: app.now(),
            path: parts.uri.path().to_owned(),
            app: app.clone(),
            actor,
            shop,
            units,
            notice,
        })
    }
}

impl Ctx {
    /// In the units in which a form was filled in: somebody may have switched since.
    pub fn in_units_of(mut self, form: &Form) -> Self {
        self.units = form.get("units").parse().unwrap_or(self.units);
        self
    }

    /// The order with this number, or the page that says there is none.
    pub async fn order(&self, number: i64) -> Result<crate::store::orders::Order, Fault> {
        let mut conn = self.app.store.read().await?;
        crate::store::orders::by_number(&mut conn, number)
            .await?
            .ok_or_else(|| Fault::missing(format!("order {number}")))
    }

    /// The air's pressure at the shop now: by the barometer in force, else by the elevation.
    pub async fn air(&self) -> Result<AbsolutePressure, Fault> {
        let mut conn = self.app.store.read().await?;
        let read = shop::barometer(&mut conn, self.now).await?.and_then(|b| {
            match b.site.parse::<Quantity<Pressure>>().ok()?.si() {
                Pressure::Absolute(p) => Some(p),
                _ => None,
            }
        });
        let elevation = || {
            self.shop
                .elevation
                .parse::<Quantity<Length>>()
                .ok()
                .and_then(|e| atmosphere::standard_pressure(e.si()))
        };
        Ok(read.or_else(elevation).unwrap_or(atmosphere::STANDARD))
    }
}

impl Page {
    /// A page for the person signed in; `here` is the address in the navigation that it belongs to.
    pub fn of(ctx: &Ctx, title: impl Into<String>, here: &str) -> Self {
        let mut nav = vec![
            ("/", "Today"),
            ("/orders", "Orders"),
            ("/parts", "Parts"),
            ("/counter", "Counter"),
        ];
        if ctx.actor.roles.has(Role::Owner) {
            nav.push(("/review", "Review"));
        }
        nav.push(("/shop", "Shop"));
        let nav = nav
            .into_iter()
            .map(|(href, label)| NavItem {
                href,
                label,
                current: href == here,
            })
            .collect();
        let label = match ctx.units {
            UnitSystem::Si => "show psi, °F, oz",
            UnitSystem::Us => "show kPa, °C, g",
        };
        Self {
            title: title.into(),
            shop: ctx.shop.name.clone(),
            nav,
            who: Some(Who {
                id: ctx.actor.person,
                name: ctx.actor.name.clone(),
                roles: ctx.actor.roles.words(),
            }),
            query: String::new(),
            notice: ctx.notice.clone(),
            units_switch: Some(UnitsSwitch {
                label,
                to: ctx.units.other().word(),
                back: ctx.path.clone(),
            }),
            live: None,
            units: ctx.units.word(),
            now: Some(ctx.now),
        }
    }
}
