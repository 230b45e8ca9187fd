//! What the first start and the settings both ask about a shop.
use super::super::Form;
use crate::{shop::Zone, store::shop::Shop};
use chillwright_calc::UnitSystem;
use chillwright_calc::units::{Length, Quantity};
use rust_decimal::{Decimal, prelude::ToPrimitive};

/// Name, place, money and units as typed; labels, counters and the rest as a shop begins with them. Faults stand beside their fields.
pub fn read(form: &mut Form) -> Option<Shop> {
    let name = form.need("name", "Enter the shop’s name.");
    let elevation = elevation(form);
    let zone = fitting(
        form,
        "zone",
        "Enter the time zone.",
        "Unknown time zone. Enter it like Europe/Vienna.",
        |z| Zone::named(z).is_some(),
    );
    let currency = form.get("currency").to_uppercase();
    form.set("currency", currency);
    let letters = |c: &str| c.len() == 3 && c.chars().all(|c| c.is_ascii_uppercase());
    let currency = fitting(
        form,
        "currency",
        "Enter the currency.",
        "Enter three letters, for example EUR.",
        letters,
    );
    let units = form.choice("units", "Choose the units.", |u| {
        u.parse::<UnitSystem>().ok().map(|u| u.word().to_owned())
    });
    let prices_with_tax = form.choice("prices", "Choose one.", |p| match p {
        "net" => Some(false),
        "gross" => Some(true),
        _ => None,
    });
    let tax_rate = tax(form);
    let (address, telephone, tax_number) = (
        form.text("address"),
        form.text("telephone"),
        form.text("tax_number"),
    );
    Some(Shop {
        name: name?,
        address,
        telephone,
        tax_number,
        elevation: elevation?,
        zone: zone?,
        currency: currency?,
        units: units?,
        prices_with_tax: prices_with_tax?,
        tax_rate: tax_rate?,
        warranty: String::new(),
        server_address: String::new(),
        tag_width: 62,
        tag_height: 29,
        cylinder_width: 100,
        cylinder_height: 50,
        next_order: 1,
        next_invoice: 1,
        version: 1,
    })
}

/// A text that must be there and fit.
fn fitting(
    form: &mut Form,
    name: &str,
    empty: &str,
    unfit: &str,
    fits: impl Fn(&str) -> bool,
) -> Option<String> {
    form.need(name, empty).filter(|text| {
        let fits = fits(text);
        if !fits {
            form.wrong(name, unfit);
        }
        fits
    })
}

fn elevation(form: &mut Form) -> Option<String> {
    let unit = form.choice("elevation_unit", "Choose metres or feet.", |u| {
        matches!(u, "m" | "ft").then(|| u.to_owned())
    });
    form.need_quantity(
        "elevation",
        &unit.unwrap_or_default(),
        "Enter the elevation. A map or a phone shows it.",
    )
    .filter(|e| {
        let known = e
            .parse::<Quantity<Length>>()
            .ok()
            .and_then(|l| chillwright_calc::physics::atmosphere::standard_pressure(l.si()));
        if known.is_none() {
            form.wrong("elevation", "Check the elevation.");
        }
        known.is_some()
    })
}

/// A tax in percent as hundredths of a percent.
pub fn tax(form: &mut Form) -> Option<i64> {
    if form.get("tax").is_empty() {
        form.wrong("tax", "Enter the tax in percent; 0 if there is none.");
        return None;
    }
    let hundredths = form.number("tax")? * Decimal::ONE_HUNDRED;
    let fits = hundredths.fract().is_zero()
        && (Decimal::ZERO..=Decimal::from(10_000)).contains(&hundredths);
    if !fits {
        form.wrong(
            "tax",
            "Enter a tax between 0 and 100 %, with at most two digits after the point.",
        );
    }
    hundredths.to_i64().filter(|_| fits)
}
