//! The hand that types: forms sent through the router, with a clock that it sets itself.
use super::{
    DemoError,
    form_client::{FormClient, page_of},
    page_form::{FillError, PageForm},
};
use crate::{
    shop::{Instant, PersonId, Zone},
    store::Store,
    web::{App, router},
    work::codes::{self, Codes},
};
use std::{
    path::Path,
    sync::{
        Arc,
        atomic::{AtomicI64, Ordering},
    },
};

/// The hand.
pub struct Hand {
    client: FormClient,
    clock: Arc<AtomicI64>,
    start_code: String,
}

impl Hand {
    /// At an empty house, at this time.
    pub fn new(store: &Store, codes: &Codes, files: &Path, now: Instant) -> Self {
        let clock = Arc::new(AtomicI64::new(now.0));
        let (hand, start_code) = (clock.clone(), codes::one_time());
        let app = App::new(
            store.clone(),
            codes.clone(),
            files.to_owned(),
            Some(start_code.clone()),
            move || Instant(hand.load(Ordering::SeqCst)),
        );
        Self {
            client: FormClient::new(router::router(app)),
            clock,
            start_code,
        }
    }

    /// Lets minutes pass.
    pub fn wait(&self, minutes: i64) {
        self.clock.fetch_add(minutes * 60_000, Ordering::SeqCst);
    }

    /// Minutes before now, as a field for date and time takes it.
    pub fn ago(&self, minutes: i64) -> String {
        Zone::utc().field(Instant(self.clock.load(Ordering::SeqCst)).plus_minutes(-minutes))
    }

    /// First start.
    pub async fn begin(&mut self, owner: &str, code: &str) -> Result<(), DemoError> {
        let start_code = self.start_code.clone();
        let fields = [
            ("code", start_code.as_str()),
            ("owner", owner),
            ("pin", code),
            ("device", "the demo’s own"),
            ("name", "Hask & Marlow"),
            ("address", "3 Tannery Row, Wend"),
            ("telephone", "0555 0142"),
            ("tax_number", "00-417-788"),
            ("elevation", "120"),
            ("elevation_unit", "m"),
            ("zone", "UTC"),
            ("units", "si"),
            ("currency", "EUR"),
            ("tax", "10"),
            ("prices", "net"),
            ("next_order", "412"),
            ("next_invoice", "187"),
            ("mark", "G-2"),
            ("instrument", "dial-gauge"),
            ("resolution", "0.5"),
            ("unit", "inHg"),
        ];
        self.send("/start", &fields).await.map(|_| ())
    }

    /// Instruments, cylinders, a yard, the barometer.
    pub async fn tools(&mut self) -> Result<(), DemoError> {
        for (mark, kind, unit, resolution) in [
            ("V-1", "vacuum-gauge", "micron", "10"),
            ("G-3", "digital-gauge", "psi", "1"),
            ("S-1", "scale", "g", "5"),
        ] {
            self.send(
                "/shop/instruments",
                &[
                    ("mark", mark),
                    ("kind", kind),
                    ("unit", unit),
                    ("resolution", resolution),
                    ("compared_on", "2026-01-10"),
                ],
            )
            .await?;
        }
        self.send(
            "/shop/instruments",
            &[("mark", "D-1"), ("kind", "detector"), ("sensitivity", "4")],
        )
        .await?;
        for (mark, purpose) in [("C-01", "charge"), ("C-03", "recovery")] {
            self.send(
                "/shop/cylinders",
                &[
                    ("mark", mark),
                    ("refrigerant", "R-134a"),
                    ("purpose", purpose),
                    ("tare", "6.2"),
                    ("water", "11.9"),
                ],
            )
            .await?;
        }
        self.send(
            "/shop/yards",
            &[
                ("name", "Northfell Dismantlers"),
                ("address", "Quarry Lane, Wend"),
                ("telephone", "0555 0177"),
                ("return_days", "30"),
            ],
        )
        .await?;
        self.send(
            "/shop/barometer",
            &[("pressure", "100.9"), ("unit", "kPa"), ("reduced", "here")],
        )
        .await?;
        Ok(())
    }

    /// Somebody else takes the tablet.
    pub async fn be(&mut self, (person, code): (PersonId, &str)) -> Result<(), DemoError> {
        // The limit on guessing lets five tries pass at once, then one each half minute of the wall's clock: a new session needs none of them
        // where the right person is here already.
        let person = person.to_string();
        self.send("/sign-in", &[("person", &person), ("pin", code)])
            .await
            .map(|_| ())
    }

    /// Fills in a form where it stands, and sends it; gives the address to which the answer leads.
    pub async fn send(
        &mut self,
        action: &str,
        fields: &[(&str, &str)],
    ) -> Result<String, DemoError> {
        let answer = self.client.fill(&page_of(action), action, fields).await?;
        if answer.status.is_redirection() {
            return Ok(answer.location);
        }
        let says = answer.refusals().join(" ");
        Err(DemoError::Refused {
            path: action.to_owned(),
            status: answer.status.as_u16(),
            says,
        })
    }

    /// Where Review takes the decision on a finding of this rule.
    pub async fn decision_on(&mut self, order: i64, code: &str) -> Result<String, DemoError> {
        let action = format!("/review/{order}/{code}/");
        let page = self.client.get("/review").await;
        let form = PageForm::all(&page.body)
            .into_iter()
            .find(|f| f.action.starts_with(&action));
        form.map(|f| f.action).ok_or_else(|| {
            FillError::NoForm {
                page: "/review".into(),
                action,
            }
            .into()
        })
    }
}
