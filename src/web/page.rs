//! What the layout of every page needs.
use super::access::back_query;
use crate::shop::{Instant, PersonId};

/// Top of a page.
#[derive(Debug, Clone, Default)]
pub struct Page {
    /// Title in the browser.
    pub title: String,
    /// The shop's name.
    pub shop: String,
    /// Where one can go.
    pub nav: Vec<NavItem>,
    /// Who is at the tablet.
    pub who: Option<Who>,
    /// What the search field holds.
    pub query: String,
    /// One line on top: something was kept, somebody else was faster.
    pub notice: Option<String>,
    /// The switch to the other system of units.
    pub units_switch: Option<UnitsSwitch>,
    /// Where the page hears of what others enter.
    pub live: Option<Live>,
    /// The units in which it is to be typed, as a form sends them along: "si" or "us".
    pub units: &'static str,
    /// When the page was made: what it says is the server's answer of that time.
    pub now: Option<Instant>,
}

/// A place in the navigation.
#[derive(Debug, Clone)]
pub struct NavItem {
    /// Address.
    pub href: &'static str,
    /// Word.
    pub label: &'static str,
    /// One is there.
    pub current: bool,
}

/// Who is at the tablet.
#[derive(Debug, Clone)]
pub struct Who {
    /// Identity, for what this browser keeps of what the person types.
    pub id: PersonId,
    /// Name.
    pub name: String,
    /// Roles in words.
    pub roles: String,
}

/// Shows the other units.
#[derive(Debug, Clone)]
pub struct UnitsSwitch {
    /// What it says.
    pub label: &'static str,
    /// The system that it switches to.
    pub to: &'static str,
    /// The page to return to.
    pub back: String,
}

impl Page {
    /// A page for nobody in particular.
    pub fn bare(title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            ..Self::default()
        }
    }

    /// Where somebody else comes back to who takes the tablet over. The address at hand may be one that a form was sent to.
    pub fn change_person(&self) -> String {
        let here = self
            .live
            .as_ref()
            .map(|l| l.page.as_str())
            .or(self.units_switch.as_ref().map(|u| u.back.as_str()))
            .unwrap_or("/");
        format!("/sign-in?{}", back_query(here))
    }
}

/// Where a page hears that its order has changed, and what it fetches then.
#[derive(Debug, Clone)]
pub struct Live {
    /// The stream, from what the page shows on.
    pub events: String,
    /// The page itself: the address at hand may be one that a form was sent to.
    pub page: String,
}

impl Live {
    /// For a page about this order that shows everything up to the deed `seen`.
    pub fn of(number: i64, seen: i64, page: String) -> Self {
        Self {
            events: format!("/orders/{number}/events?since={seen}"),
            page,
        }
    }
}
