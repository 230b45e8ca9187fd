//! Every number in the rules, in one table: its key in the record's `limits`, its unit, its default and why.
//!
//! A shop may set each of them; what it leaves alone has the default. Nothing else in this crate holds a number
//! that decides a finding, but for the statistics by which a hold's readings are told from noise (`course`): those were chosen on a grid, not by a shop;
//! and for the oil that makers print for each part (`oil`).
use crate::{
    record::HoldKind,
    units::{show, *},
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One limit, for the schema's readers and the settings page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitSpec {
    /// Its key in `limits`.
    pub key: &'static str,
    /// What kind of quantity it is and how it is written.
    pub dimension: &'static str,
    /// Its default as a record would write it.
    pub default: &'static str,
    /// What the limit is for and what the default rests on.
    pub why: &'static str,
}

macro_rules! limits {
    ($($key:ident: $type:ty = $default:literal, $why:literal;)+) => {
        /// The shop's limits as the record writes them; an absent key means the default.
        #[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub struct LimitSettings {
            $(
                #[doc = $why]
                #[serde(default, skip_serializing_if = "Option::is_none")]
                #[schemars(extend("default" = $default))]
                pub $key: Option<Quantity<$type>>,
            )+
            /// The warmest air at the vent that is right, by outside temperature and humidity. From makers' tables.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            #[schemars(extend("default" = default_vent_rows()))]
            pub vent_table: Option<Vec<VentRow>>,
        }

        /// The limits that an assessment uses, in SI.
        #[derive(Debug, Clone, PartialEq)]
        pub struct Limits {
            $(#[doc = $why] pub $key: $type,)+
            /// The warmest air at the vent that is right.
            pub vent_table: Vec<VentRow>,
        }

        impl Limits {
            /// The shop's settings, and the defaults where it has none.
            pub fn of(settings: &LimitSettings) -> Self {
                Self {
                    $($key: settings.$key.as_ref().map_or_else(|| read($default), Quantity::si),)+
                    vent_table: settings.vent_table.clone().unwrap_or_else(default_vent_rows),
                }
            }

            /// From how long on a hold of this kind counts, s; one whose kind is not recorded is taken for a vacuum.
            pub fn least_hold(&self, kind: Option<HoldKind>) -> Seconds {
                if kind == Some(HoldKind::Pressure) { self.pressure_hold_minimum } else { self.hold_minimum }
            }

            /// A limit in words, by its key: "15 min"; `None` where there is no such key.
            pub fn told(&self, key: &str, units: UnitSystem) -> Option<String> {
                match key {
                    $(stringify!($key) => Some(self.$key.told(units)),)+
                    _ => None,
                }
            }
        }

        impl LimitSettings {
            /// A limit's setting as typed, by its key; `None` where it is not set or there is no such key.
            pub fn typed(&self, key: &str) -> Option<&str> {
                match key {
                    $(stringify!($key) => self.$key.as_ref().map(Quantity::text),)+
                    _ => None,
                }
            }

            /// A limit as it is in force, by its key: as typed, else its default; empty where there is no such key.
            pub fn in_force(&self, key: &str) -> &str {
                self.typed(key).or_else(|| ALL.iter().find(|spec| spec.key == key).map(|spec| spec.default)).unwrap_or_default()
            }

            /// Sets a limit from its text, by its key; an empty text goes back to the default.
            ///
            /// # Errors
            /// There is no such key, or the text is not a quantity of its dimension.
            pub fn set(&mut self, key: &str, text: &str) -> Result<(), QuantityError> {
                match key {
                    $(stringify!($key) => {
                        self.$key = if text.trim().is_empty() { None } else { Some(text.parse()?) };
                    })+
                    _ => return Err(QuantityError::new(format!("{key:?}: there is no such limit"))),
                }
                Ok(())
            }
        }

        /// Every limit but the vent table, in the order of the work.
        pub const ALL: &[LimitSpec] = &[
            $(LimitSpec {
                key: stringify!($key),
                dimension: <$type as Dimension>::WRITTEN,
                default: $default,
                why: $why,
            },)+
        ];
    };
}

/// A default of the table above. The test `every_default_can_be_read` reads each, so that this cannot panic.
#[expect(
    clippy::expect_used,
    reason = "the defaults are literals of the table above, each read by a test"
)]
fn read<D: Dimension>(default: &str) -> D {
    D::read(default)
        .expect("a default of the table can be read")
        .0
}

limits! {
    barometer_uncertainty: PressureDifference = "0.1 kPa", "How far a barometer's reading may be off. Practice.";
    elevation_uncertainty: PressureDifference = "1.5 kPa", "How far the weather moves the air's pressure from what the elevation gives. Practice.";
    // From memory.
    assumed_site_uncertainty: PressureDifference = "48 kPa", "How far the air's pressure may be below sea level's where neither barometer nor elevation is recorded: as at 5100 m, where the highest towns lie. ISO 2533.";
    // From memory.
    assumed_site_above: PressureDifference = "5.3 kPa", "How far it may then be above sea level's: as at 430 m below the sea, where the lowest towns lie. ISO 2533.";
    barometer_doubtful: PressureDifference = "3 kPa", "A barometer this far above what the elevation gives was reduced to sea level. Weather services publish it so.";
    barometer_doubtful_elevation: Length = "250 m", "Below this elevation a barometer reduced to sea level cannot be told from the weather. Practice.";
    assumed_resolution: Resolution = "0.5 inHg", "What a gauge reads to where that is not recorded: the graduation of a common dial. Practice.";
    impossible: PressureDifference = "1 kPa", "How far below zero absolute a reading may be before it cannot be, where the gauge's own uncertainty is less. Practice.";
    assumed_temperature: Temperature = "22 degC", "The metal's temperature where it is not recorded. Practice.";
    assumed_volume: Volume = "2.5 L", "The circuit's volume where it is not recorded, of a car with the charge that is named below. Practice.";
    assumed_volume_low: Volume = "1.5 L", "The least that such a circuit holds; with it the low figure of a leak is computed. Practice.";
    assumed_volume_high: Volume = "3.5 L", "The most that such a circuit holds; with it the high figure of a leak is computed. Practice.";
    assumed_volume_charge: Mass = "600 g", "The charge of R-134a for which these volumes hold; those of another circuit are scaled by its charge and its refrigerant's liquid density. Practice.";
    assumed_volume_evaporator: Volume = "1 L", "What a further evaporator with its pipes adds to the most that a circuit holds, and where no charge is recorded to all three volumes. Practice.";
    empty_within: PressureDifference = "10 kPa", "A standing pressure this near to the surrounding air's means an empty circuit. Practice.";
    standing_excess: PressureDifference = "5 psi", "How far a cold circuit may stand above saturation. SAE J2211 allows a standing cylinder as much.";
    standing_excess_temperature: TemperatureDifference = "2 K", "How far the ambient temperature may be from the refrigerant's. Practice.";
    purity: Fraction = "98 %", "The least share of one gas in refrigerant that may be reused. 40 CFR 82 subpart B, appendices.";
    foreign_gas: Fraction = "1 %", "The share of hydrocarbons, or of a gas that is none of the car refrigerants, from which it counts. An identifier tells shares to about a percent. Practice.";
    air_in_refrigerant: Fraction = "2 %", "The most air in refrigerant that may be reused. Practice.";
    assumed_scale_resolution: Mass = "5 g", "What a scale reads to where that is not recorded: the last digit of a common refrigerant scale. Practice.";
    loss_margin: Mass = "30 g", "How far a recovered mass may be off. 40 CFR 82 subpart B.";
    recovery_share: Fraction = "95 %", "The least share of what is inside that a recovery brings out. 40 CFR 82 subpart B, appendix C (SAE J2788).";
    loss_share: Fraction = "20 %", "The share of the charge that may be missing where nobody knows when it was charged. Practice.";
    desiccant_age: Seconds = "P24M", "For how long desiccant may have been in use to be kept over a short opening. Practice.";
    desiccant_open: Seconds = "PT2H", "For how long a circuit may stand open without new desiccant. Practice.";
    oil_balance: Volume = "30 mL", "How far the oil put in may lie outside what parts and recovery call for before it is remarked on. Practice.";
    oil_balance_share: Fraction = "20 %", "The same as a share of the whole circuit's oil; the larger of both counts. Practice.";
    oil_off_share: Fraction = "30 %", "From this share of the oil that is called for on, too much or too little is for the owner. Practice.";
    oil_measured: Volume = "20 mL", "How far measured oil may be off; less than this is never too much or too little. 40 CFR 82 subpart B, appendix C.";
    oil_least: Volume = "10 mL", "Where parts and recovery call for less oil than this, none need be recorded. Practice.";
    evacuation_minimum: Seconds = "PT30M", "The shortest evacuation that is not remarked on. Practice.";
    // From memory.
    air_left: Fraction = "0.05 %", "The most air left, as a share of the charge by mass (500 ppm). SAE J2099 allows 150 ppm in recycled HFC-134a.";
    hold_minimum: Seconds = "PT15M", "The shortest vacuum hold that counts. Practice.";
    pressure_hold_minimum: Seconds = "PT30M", "The shortest pressure hold that counts. Practice.";
    test_pressure_most: PressureDifference = "250 psi", "The greatest pressure above the surrounding air for a test with nitrogen, where the circuit's own is not recorded; not for R-744. US Army TM 5-3810-307-24-1-2: at most 200 to 250 psi for leak finding.";
    pressure_hold_least: PressureDifference = "100 kPa", "The least pressure above the surrounding air that a pressure hold can be begun at. Practice.";
    vacuum_share: Fraction = "33.3333333333333333 %", "The share of the surrounding air's pressure above which it is no vacuum. Practice.";
    temperature_doubt: TemperatureDifference = "1 K", "How far the metal's temperature may drift unseen over a hold with both temperatures. Practice.";
    temperature_doubt_missing: TemperatureDifference = "3 K", "The same where the first or the last temperature is missing. Practice.";
    temperature_doubt_share: Fraction = "20 %", "How much of a change of the metal's temperature the gas inside may not have followed, added to the doubt. Practice.";
    temperature_doubt_hour: TemperatureDifference = "2 K", "What each further hour adds to the doubt where the first or the last temperature is missing. Practice: a workshop's day and night.";
    temperature_doubt_most: TemperatureDifference = "20 K", "The most that the doubt grows to where a temperature is missing. Practice: a workshop's day and night.";
    temperature_hides: Fraction = "3 %", "From this share of the pressure that drives a leak on, what the temperature may have done hides the leak. Practice.";
    liquid_share: Fraction = "97 %", "The share of its saturation pressure from which refrigerant may be liquid, which keeps the pressure up whatever leaks. Practice.";
    outgassing: PressureDifference = "200 Pa", "Below this pressure (1500 micron) gas leaving oil and rubber rises as much as a leak. Practice.";
    outgassing_evacuation: Seconds = "PT30M", "How much evacuation must lie between two holds that are compared. Practice.";
    outgassing_leak_share: Fraction = "80 %", "A second rise of at least this share of the first is a leak. Practice.";
    outgassing_held_share: Fraction = "50 %", "A second rise of at most this share of the first was gas leaving oil and rubber. Practice.";
    moisture_resolution_share: Fraction = "10 %", "The share of water's saturation pressure that a gauge must resolve to see water hold the pressure. Practice.";
    moisture_within: Fraction = "5 %", "How near to water's saturation pressure a pressure stands that water holds. Practice.";
    levelling_share: Fraction = "110 %", "The most by which a rise that levels off may exceed water's saturation pressure. Dalton's law.";
    water_level_within: Fraction = "10 %", "How near to water's saturation pressure a rise must come to rest to be water's; elsewhere it may be gas out of oil or desiccant. Practice.";
    gauges_together: Seconds = "PT2M", "How near in time readings of two gauges are compared. Practice.";
    longest_hold: Seconds = "PT3H", "Longer than that nobody waits for a gauge to tell. Practice.";
    leak_limit: LeakRate = "40 g/yr", "What a new car with one evaporator may lose. Directive 2006/40/EC.";
    leak_limit_two_evaporators: LeakRate = "60 g/yr", "What a new car with two evaporators may lose. Directive 2006/40/EC.";
    leak_limit_low_gwp: LeakRate = "40 g/yr", "What a circuit with one evaporator may lose where its refrigerant has a GWP of 150 or less (R-1234yf, R-152a, R-744). The shop's own figure: Directive 2006/40/EC sets none.";
    leak_limit_low_gwp_two_evaporators: LeakRate = "60 g/yr", "The same with two evaporators. The shop's own figure: Directive 2006/40/EC sets none.";
    check_sensitivity: LeakRate = "14 g/yr", "The leak that an electronic check must show. SAE J2791 and J2913.";
    hose_length: Length = "1.8 m", "The length of a charging hose where it is not recorded. Practice.";
    hose_bore_narrow: Length = "4.8 mm", "The narrowest bore of a common charging hose. Practice.";
    hose_bore_wide: Length = "6.35 mm", "The widest bore of a common charging hose, a quarter of an inch. Practice.";
    hose_share: Fraction = "10 %", "How far what a hose holds may be off from its length, bore and density. Practice.";
    // From memory.
    can_share: Fraction = "3 %", "How far a can's net mass may be off. Council Directive 76/211/EEC for 300 to 500 g.";
    charge_tolerance: Mass = "15 g", "The charge's give or take where the label has none. 40 CFR 82 subpart B, appendix C.";
    charge_tolerance_share: Fraction = "5 %", "The same as a share of the charge; the larger of both counts. Practice.";
    charge_under: Fraction = "20 %", "A charge short by more than this share blocks. Practice.";
    charge_over: Fraction = "10 %", "A charge over by more than this share blocks. Practice.";
    vent_drop: TemperatureDifference = "7 K", "On a warm day air from the vent that is less than this below the ambient air is not cooled. Makers' tables.";
    vent_drop_ambient: Temperature = "25 degC", "From this ambient temperature on that is so. Makers' tables.";
    freeze: Temperature = "-4 degC", "An evaporator colder than this freezes over. Practice.";
    freeze_long: Temperature = "-1 degC", "An evaporator colder than this for long freezes over. Practice.";
    freeze_time: Seconds = "PT2M", "How long that is. Practice.";
    freeze_vent: Temperature = "10 degC", "With air from the vent warmer than this the evaporator is not cold enough to freeze over. Practice.";
    superheat_least: TemperatureDifference = "2 K", "With less superheat before the compressor liquid may reach it. Practice.";
    superheat_most: TemperatureDifference = "15 K", "With more superheat an evaporator behind an expansion valve gets too little. Practice.";
    superheat_most_orifice: TemperatureDifference = "10 K", "The same behind an accumulator, which gives off vapour that is hardly superheated. Practice.";
    subcooling_least: TemperatureDifference = "2 K", "With less subcooling there is vapour in the liquid line. Practice.";
    subcooling_most: TemperatureDifference = "12 K", "With more subcooling liquid is held back in the condenser. Practice.";
    weather_coldest: Temperature = "15 degC", "With colder air outside how it cools is not judged. Practice.";
    weather_warmest: Temperature = "45 degC", "With warmer air outside the vent is not judged. Makers' tables of pressures end at 43 degC.";
    condensing_least: TemperatureDifference = "13 K", "Condensing less than this above the ambient air is low. Makers' tables span 13 to 39 K.";
    condensing_note: TemperatureDifference = "33 K", "Condensing this far above the ambient air is remarked on. Makers' tables span 13 to 39 K.";
    condensing_concession: TemperatureDifference = "39 K", "Condensing further above the ambient air than in any maker's table. Makers' tables span 13 to 39 K.";
    high_side_r134a: PressureDifference = "410 psi", "The most that the high side of R-134a may stand above the surrounding air. Makers' high-pressure switches open at 410 to 455 psi.";
    high_side_r1234yf: PressureDifference = "410 psi", "The same for R-1234yf, which has the same switches. Practice.";
    high_side_r152a: PressureDifference = "410 psi", "The same for R-152a. Practice.";
    high_side_r12: PressureDifference = "380 psi", "The same for R-12. A maker's switch for it opens at 380 psi.";
    high_side_r744: PressureDifference = "14 MPa", "The same for R-744. Practice.";
}

impl Limits {
    /// A text with each limit that it names in braces put in words: "{hold_minimum} for a vacuum" becomes "15 min for a vacuum". So a text that tells a
    /// limit tells the shop's own. A fixed length or difference of pressures in braces, "{430 m}", is told in the reader's units; what is neither stays as it is.
    ///
    /// ```
    /// use chillwright_calc::{UnitSystem, checks::limits::{LimitSettings, Limits}};
    /// let mut settings = LimitSettings::default();
    /// settings.set("hold_minimum", "PT20M").unwrap();
    /// let limits = Limits::of(&settings);
    /// assert_eq!(limits.fill("{hold_minimum} and {freeze}", UnitSystem::Us), "20 min and 24.8 °F");
    /// assert_eq!(limits.fill("{430 m}, {3.14 MPa}, {no}", UnitSystem::Us), "1411 ft, 455.4 psi, {no}");
    /// ```
    pub fn fill(&self, text: &str, units: UnitSystem) -> String {
        let mut parts = text.split('{');
        let mut all = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            match part.split_once('}').and_then(|(key, rest)| {
                Some((self.told(key, units).or_else(|| figure(key, units))?, rest))
            }) {
                Some((told, rest)) => all.extend([told.as_str(), rest]),
                None => all.extend(["{", part]),
            }
        }
        all
    }
}

/// A fixed length or difference of pressures, as typed, in the reader's units.
fn figure(text: &str, units: UnitSystem) -> Option<String> {
    let length = |text: &str| {
        Some(show::length(
            text.parse::<Quantity<Length>>().ok()?.si(),
            units,
        ))
    };
    let pressure = |text: &str| {
        Some(show::pressure_difference(
            text.parse::<Quantity<PressureDifference>>().ok()?.si(),
            units,
        ))
    };
    length(text).or_else(|| pressure(text))
}

/// How a limit is told in a sentence.
trait Told {
    fn told(self, units: UnitSystem) -> String;
}

macro_rules! told {
    ($($type:ty: $told:expr;)+) => {
        $(impl Told for $type {
            fn told(self, units: UnitSystem) -> String {
                let told: fn(Self, UnitSystem) -> String = $told;
                told(self, units)
            }
        })+
    };
}

told! {
    PressureDifference: show::pressure_difference;
    Resolution: |r, units| show::pressure_difference(PressureDifference::new(r.pa()), units);
    Temperature: show::temperature_short;
    TemperatureDifference: show::temperature_difference_short;
    Volume: show::volume;
    Mass: show::mass;
    Length: show::length;
    Fraction: |f, _| show::fraction(f);
    LeakRate: show::leak_rate;
    Seconds: |s, _| show::duration_short(s);
}

/// A row of the vent table: at this outside temperature, within these humidities, the vent's air is right up to here.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VentRow {
    /// The temperature of the air outside.
    pub ambient: Quantity<Temperature>,
    /// From this relative humidity.
    pub humidity_from: Quantity<Fraction>,
    /// To this relative humidity.
    pub humidity_to: Quantity<Fraction>,
    /// The warmest that the air at the vent may be.
    pub vent: Quantity<Temperature>,
}

impl VentRow {
    /// As one line of text: "50 % to 60 %, 20 degC outside: 8 degC".
    pub fn line(&self) -> String {
        format!(
            "{} to {}, {} outside: {}",
            self.humidity_from.text(),
            self.humidity_to.text(),
            self.ambient.text(),
            self.vent.text()
        )
    }

    /// Reads such a line.
    ///
    /// # Errors
    /// A sentence on what is wrong with it.
    ///
    /// ```
    /// use chillwright_calc::checks::limits::VentRow;
    /// let row = VentRow::from_line("50 % to 60 %, 20 degC outside: 8 degC").unwrap();
    /// assert_eq!(row.line(), "50 % to 60 %, 20 degC outside: 8 degC");
    /// assert!(VentRow::from_line("50 % to 60 %, 20 outside: 8 degC").is_err());
    /// assert!(VentRow::from_line("60 % to 50 %, 20 degC outside: 8 degC").is_err());
    /// ```
    pub fn from_line(line: &str) -> Result<Self, String> {
        let shape = || format!("{line}: write it as “50 % to 60 %, 20 degC outside: 8 degC”.");
        let (air, vent) = line.rsplit_once(':').ok_or_else(shape)?;
        let (humidity, ambient) = air.split_once(',').ok_or_else(shape)?;
        let (from, to) = humidity.split_once(" to ").ok_or_else(shape)?;
        let ambient = ambient.trim().trim_end_matches("outside").trim();
        let row = Self {
            ambient: ambient.parse().map_err(|e| format!("{line}: {e}"))?,
            humidity_from: from.trim().parse().map_err(|e| format!("{line}: {e}"))?,
            humidity_to: to.trim().parse().map_err(|e| format!("{line}: {e}"))?,
            vent: vent.trim().parse().map_err(|e| format!("{line}: {e}"))?,
        };
        if row.humidity_from.si().one() >= row.humidity_to.si().one() {
            return Err(format!("{line}: the humidity begins where it ends."));
        }
        Ok(row)
    }
}

/// The warm ends of the makers' tables: 50 to 60 % humidity, then 60 to 70 %.
#[expect(
    clippy::expect_used,
    reason = "literals, each read by the test of the defaults"
)]
pub fn default_vent_rows() -> Vec<VentRow> {
    let row = |ambient: &str, from: &str, to: &str, vent: &str| VentRow {
        ambient: ambient.parse().expect("a temperature"),
        humidity_from: from.parse().expect("a fraction"),
        humidity_to: to.parse().expect("a fraction"),
        vent: vent.parse().expect("a temperature"),
    };
    vec![
        row("20 degC", "50 %", "60 %", "8 degC"),
        row("25 degC", "50 %", "60 %", "10.9 degC"),
        row("30 degC", "50 %", "60 %", "17.5 degC"),
        row("20 degC", "60 %", "70 %", "9.1 degC"),
        row("25 degC", "60 %", "70 %", "13.4 degC"),
        row("30 degC", "60 %", "70 %", "20.5 degC"),
    ]
}
