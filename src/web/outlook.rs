//! What the shop's own instruments would show, before a test is made: a small table and a plot, on the hold's task and on the counter sheet.
use super::{Ctx, Field, Form};
use crate::shop::InstrumentKind;
use crate::{
    plot::outlook::{OutlookPlot, Reach},
    store::things::Instrument,
};
use chillwright_calc::units::PSI;
use chillwright_calc::{
    UnitSystem,
    checks::{
        case::Case,
        outlook::{
            Lost, NITROGEN_USUAL, Test, begins_at, nitrogen_most, reads_pressure, reads_vacuum,
            shows, smallest_told, words,
        },
        rules,
    },
    record::Gauge,
    units::{GaugePressure, LeakRate, Seconds, show},
};
use rust_decimal::{Decimal, prelude::ToPrimitive};

/// Table, plot, and the fields that change them.
pub struct Outlook {
    /// One for each test.
    pub rows: Vec<Row>,
    /// The plot.
    pub svg: String,
    /// How long, and how much nitrogen.
    pub fields: Vec<Field>,
    /// The last column has something to say.
    pub knows_own: bool,
}

/// A test.
pub struct Row {
    /// In words.
    pub test: String,
    /// Smallest leak that this hold rules out.
    pub smallest: String,
    /// How soon such a leak takes a tenth of the charge.
    pub tenth: String,
    /// Against the limit.
    pub reaches: &'static str,
    /// Against this car's own leak.
    pub own: &'static str,
}

/// Works it out for the instruments in use. What is typed wrong is marked in the form, and the usual value is taken.
pub fn of(
    ctx: &Ctx,
    case: &Case<'_>,
    instruments: &[Instrument],
    form: &mut Form,
    lost: &Lost,
) -> Outlook {
    let limits = case.limits;
    let held = minutes(form);
    let nitrogen = nitrogen(ctx, case, form);
    let tests: Vec<(Test, &str)> = instruments
        .iter()
        .filter(|i| i.retired_at.is_none())
        .flat_map(|i| {
            tests(
                case,
                i,
                held.unwrap_or(limits.hold_minimum),
                nitrogen,
                held.unwrap_or(limits.pressure_hold_minimum),
            )
            .into_iter()
            .map(|t| (t, i.mark.as_str()))
        })
        .collect();
    let mut rows = Vec::new();
    let mut reaches = Vec::new();
    for (test, gauge) in &tests {
        let Some(shown) = shows(case, test) else {
            continue;
        };
        let name = words(case, test, gauge);
        reaches.push(Reach {
            name: name.clone(),
            smallest: shown.smallest.kg_per_year(),
        });
        rows.push(Row {
            test: name,
            smallest: smallest_told(case, test, shown),
            tenth: shown
                .tenth_gone
                .map_or_else(|| "—".to_owned(), show::duration),
            reaches: if shown.reaches_limit { "yes" } else { "no" },
            own: match lost.shown_by(shown) {
                Some(true) => "yes",
                Some(false) => "no",
                None => "perhaps",
            },
        });
    }
    let limit = rules::leak_limit(case);
    let plot = OutlookPlot {
        says: format!(
            "What each test would show. {}",
            rows.iter()
                .map(|r| format!("{}: {}", r.test, r.smallest))
                .collect::<Vec<_>>()
                .join("; ")
        ),
        tests: reaches,
        limit: (
            limit,
            format!(
                "limit, {}",
                show::leak_rate(LeakRate::new(limit), ctx.units)
            ),
        ),
        own: lost.kg_per_year,
        scale: (0..7)
            .map(|i| {
                show::leak_rate(LeakRate::new(10f64.powi(i - 3)), ctx.units)
                    .trim_end_matches(" a year")
                    .trim_end_matches("/year")
                    .to_owned()
            })
            .collect(),
    };
    Outlook {
        svg: plot.svg(),
        rows,
        fields: fields(ctx, form),
        knows_own: lost.kg_per_year.is_some(),
    }
}

/// How long a hold takes, and how much nitrogen.
pub fn fields(ctx: &Ctx, form: &Form) -> Vec<Field> {
    let (unit, usual) = if ctx.units == UnitSystem::Us {
        ("psig", "150 psig")
    } else {
        ("kPa gauge", "1034 kPa gauge")
    };
    vec![
        form.field("held", "Hold time")
            .number("min")
            .hint("Blank = the shop’s minimum time."),
        form.field("nitrogen", "Nitrogen test pressure")
            .number(unit)
            .hint(format!(
                "Blank = {usual}. Never above the low-side test pressure given by the maker."
            )),
    ]
}

fn minutes(form: &mut Form) -> Option<Seconds> {
    let typed = form.number("held")?;
    let fits = typed >= Decimal::ONE && typed <= Decimal::from(72 * 60);
    if !fits {
        form.wrong("held", "Enter a time between 1 min and 3 days (4320 min).");
    }
    fits.then(|| Seconds::new(typed.to_f64().unwrap_or(0.0) * 60.0))
}

fn nitrogen(ctx: &Ctx, case: &Case<'_>, form: &mut Form) -> GaugePressure {
    let Some(typed) = form.number("nitrogen").and_then(|n| n.to_f64()) else {
        return NITROGEN_USUAL;
    };
    let pa = typed
        * if ctx.units == UnitSystem::Us {
            PSI
        } else {
            1e3
        };
    if !(case.limits.pressure_hold_least.pa()..=nitrogen_most(case).pa()).contains(&pa) {
        let told = |pa: f64| {
            if ctx.units == UnitSystem::Us {
                show::in_unit(pa, "psi").replace("psi", "psig")
            } else {
                show::in_unit(pa, "kPa") + " gauge"
            }
        };
        let (least, most) = (
            told(case.limits.pressure_hold_least.pa()),
            told(nitrogen_most(case).pa()),
        );
        form.wrong("nitrogen", format!("Enter {least} to {most}. Less would show little; more is too much for a car’s low side."));
        return NITROGEN_USUAL;
    }
    GaugePressure::new(pa)
}

/// What one instrument can be used for.
fn tests(
    case: &Case<'_>,
    i: &Instrument,
    vacuum: Seconds,
    nitrogen: GaugePressure,
    pressure: Seconds,
) -> Vec<Test> {
    let gauge = Gauge {
        id: Some(i.mark.clone()),
        resolution: i.resolution.parse().ok(),
        error: i.error.parse().ok(),
        ..Gauge::default()
    };
    let vacuum = |gauge: Gauge, electronic: bool| {
        begins_at(case, electronic).map(|from| Test::Vacuum(gauge, from, vacuum))
    };
    match i.kind {
        InstrumentKind::Detector => i
            .sensitivity
            .parse()
            .ok()
            .map(|s: chillwright_calc::units::Quantity<LeakRate>| Test::Check(s.si()))
            .into_iter()
            .collect(),
        _ if !i.is_gauge() || gauge.resolution.is_none() => Vec::new(),
        InstrumentKind::VacuumGauge => vacuum(gauge, true).into_iter().collect(),
        _ => {
            let of_vacuum = if reads_vacuum(&i.unit) {
                vacuum(gauge.clone(), false)
            } else {
                None
            };
            of_vacuum
                .into_iter()
                .chain(reads_pressure(&i.unit).then_some(Test::Nitrogen(gauge, nitrogen, pressure)))
                .collect()
        }
    }
}
