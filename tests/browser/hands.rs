//! Hands: a finger that only touches, or a keyboard without a pointer. Both find their way by the links that a page has.
use super::support::Browser;
use serde_json::{Value, json};
use thirtyfour::Key;

/// What is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hands {
    /// The driver's own clicks and addresses: the quickest.
    Driver,
    /// A finger on the screen; letters come from the keyboard on the screen, dates and lists from the system's pickers.
    Touch,
    /// Tab, Space, Enter, arrows, letters.
    Keyboard,
}

impl Browser {
    /// From now on these hands are used, and what is not theirs is noted.
    pub async fn take(&mut self, hands: Hands) {
        self.hands = hands;
        let devtools = self.driver.cdp();
        if hands == Hands::Touch {
            devtools
                .send_raw(
                    "Emulation.setTouchEmulationEnabled",
                    json!({ "enabled": true, "maxTouchPoints": 5 }),
                )
                .await
                .expect("a touch screen");
        }
        let foreign = match hands {
            Hands::Driver => return,
            Hands::Touch => {
                "addEventListener('pointerdown', (e) => { if (e.pointerType !== 'touch') note('a mouse'); }, true); addEventListener('keydown', (e) => note(`the key ${e.key}`), true);"
            }
            Hands::Keyboard => "addEventListener('pointerdown', (e) => note(e.pointerType), true);",
        };
        let source = format!(
            "const note = (what) => {{ sessionStorage.foreign = (sessionStorage.foreign ?? '') + what + '; '; }}; {foreign}"
        );
        devtools
            .send_raw(
                "Page.addScriptToEvaluateOnNewDocument",
                json!({ "source": source }),
            )
            .await
            .expect("watched");
        self.driver.refresh().await.expect("again");
    }

    /// What was used besides.
    pub async fn foreign(&self) -> Value {
        self.script("return sessionStorage.foreign ?? ''", vec![])
            .await
    }

    async fn script(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.driver
            .execute(script, arguments)
            .await
            .expect("an answer")
            .json()
            .clone()
    }

    /// Goes to a path by the links on the way: from a task to all tasks, from there to the order, from there to today.
    pub async fn go_by_links(&self, path: &str) {
        if self.path().await == path && path != "/" {
            // A page is opened anew by the link that leads to it.
            Box::pin(self.go_by_links(above(path))).await;
        }
        let link = format!("a[href='{path}']");
        let there = self.script("return [...document.querySelectorAll(arguments[0])].some((a) => a.checkVisibility())", vec![json!(link)]).await;
        if there != true {
            assert_ne!(path, "/", "no way from {}", self.path().await);
            Box::pin(self.go_by_links(above(path))).await;
        }
        self.follow(&link).await;
        assert_eq!(self.path().await, path);
    }

    async fn follow(&self, link: &str) {
        let before = self.script("return performance.timeOrigin", vec![]).await;
        match self.hands {
            Hands::Keyboard => {
                self.tab_to(link).await;
                self.key(Key::Enter).await;
            }
            _ => self.touch(link).await,
        }
        self.next_page(before, link).await;
    }

    /// Waits for another page than the one that came then.
    pub async fn next_page(&self, before: Value, what: &str) {
        for _ in 0..600 {
            let state = self
                .driver
                .execute(
                    "return document.readyState === 'complete' ? performance.timeOrigin : 0",
                    vec![],
                )
                .await;
            if state.is_ok_and(|s| *s.json() != before && s.json().as_f64() != Some(0.0)) {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(25)).await;
        }
        panic!(
            "no page came after {what} at {}\n{}",
            self.path().await,
            self.text().await
        );
    }

    /// Touches what a selector names, in its middle; an input inside a label is as large as the label.
    pub async fn touch(&self, selector: &str) {
        let place = self
            .script(
                "const all = [...document.querySelectorAll(arguments[0])].filter((e) => e.checkVisibility());
                const target = all[0].closest('label') ?? all[0];
                target.scrollIntoView({ block: 'center', behavior: 'instant' });
                const r = target.getClientRects()[0];
                return [r.left + r.width / 2, r.top + r.height / 2];",
                vec![json!(selector)],
            )
            .await;
        let devtools = self.driver.cdp();
        let point = json!([{ "x": place[0], "y": place[1] }]);
        devtools
            .send_raw(
                "Input.dispatchTouchEvent",
                json!({ "type": "touchStart", "touchPoints": point }),
            )
            .await
            .expect("touched");
        devtools
            .send_raw(
                "Input.dispatchTouchEvent",
                json!({ "type": "touchEnd", "touchPoints": [] }),
            )
            .await
            .expect("let go");
    }

    async fn key(&self, key: Key) {
        self.driver
            .action_chain()
            .send_keys(key)
            .perform()
            .await
            .expect("a key");
    }

    async fn keys(&self, keys: impl AsRef<str>) {
        self.driver
            .action_chain()
            .send_keys(keys.as_ref())
            .perform()
            .await
            .expect("keys");
    }

    /// Goes on by Tab until the focus stands on what the selector names.
    pub async fn tab_to(&self, selector: &str) {
        for _ in 0..300 {
            if self
                .script(
                    "return document.activeElement.matches(arguments[0])",
                    vec![json!(selector)],
                )
                .await
                == true
            {
                return;
            }
            self.key(Key::Tab).await;
        }
        panic!(
            "{selector} is not reached by Tab at {}\n{}",
            self.path().await,
            self.text().await
        );
    }

    /// Fills a field by hand.
    pub async fn fill_by_hand(&self, field: &str, value: &str) {
        let kind = self.script("const f = document.querySelector(arguments[0]); return f.tagName === 'SELECT' ? 'select' : f.type", vec![json!(field)]).await;
        let kind = kind.as_str().unwrap_or_default();
        let picked = kind == "select" || kind.starts_with("date") || kind == "time";
        match self.hands {
            Hands::Keyboard => {
                self.tab_to(field).await;
                match kind {
                    "select" => self.arrow_to(field, value).await,
                    "date" => {
                        self.keys(&format!("{}{}{}", &value[5..7], &value[8..10], &value[..4]))
                            .await
                    }
                    "datetime-local" => {
                        let hour: u32 = value[11..13].parse().expect("an hour");
                        let (hour, half) =
                            ((hour + 11) % 12 + 1, if hour < 12 { "A" } else { "P" });
                        self.keys(&format!("{}{}{}", &value[5..7], &value[8..10], &value[..4]))
                            .await;
                        self.key(Key::Tab).await;
                        self.keys(&format!("{hour:02}{}{half}", &value[14..16]))
                            .await;
                    }
                    _ => {
                        self.driver
                            .action_chain()
                            .key_down(Key::Control)
                            .send_keys("a")
                            .key_up(Key::Control)
                            .perform()
                            .await
                            .expect("all of it");
                        self.keys(value).await;
                    }
                }
            }
            _ => {
                self.touch(field).await;
                if picked {
                    // The picker is the system's; it sets the value and tells the page.
                    self.script("const f = document.querySelector(arguments[0]); f.value = arguments[1]; f.dispatchEvent(new Event('input', { bubbles: true })); f.dispatchEvent(new Event('change', { bubbles: true })); f.blur(); return 0", vec![json!(field), json!(value)]).await;
                } else {
                    assert_eq!(
                        self.script("const f = document.querySelector(arguments[0]); f.select(); return document.activeElement === f", vec![json!(field)])
                            .await,
                        true,
                        "{field} was touched"
                    );
                    self.driver
                        .cdp()
                        .send_raw("Input.insertText", json!({ "text": value }))
                        .await
                        .expect("typed");
                }
            }
        }
        let set = self
            .script(
                "return document.querySelector(arguments[0]).value",
                vec![json!(field)],
            )
            .await;
        assert_eq!(set, value, "{field}");
    }

    async fn arrow_to(&self, field: &str, value: &str) {
        for _ in 0..40 {
            if self
                .script(
                    "return document.querySelector(arguments[0]).value",
                    vec![json!(field)],
                )
                .await
                == value
            {
                return;
            }
            self.key(Key::Down).await;
        }
        panic!("{field} has no {value}");
    }

    /// Chooses a tile or ticks a box by hand.
    pub async fn tap_by_hand(&self, form: &str, name: &str, value: &str) {
        let input = format!("{form} [name='{name}'][value='{value}']");
        let chosen = || {
            self.script(
                "return document.querySelector(arguments[0]).checked",
                vec![json!(input)],
            )
        };
        if chosen().await == true {
            return;
        }
        if self.hands == Hands::Touch {
            self.touch(&input).await;
        } else if self
            .script(
                "return document.querySelector(arguments[0]).type",
                vec![json!(input)],
            )
            .await
            == "checkbox"
        {
            self.tab_to(&input).await;
            self.keys(" ").await;
        } else {
            // Tab stops once at a group; arrows go on in it.
            self.tab_to(&format!("{form} [name='{name}']")).await;
            for _ in 0..40 {
                if self
                    .script(
                        "return document.activeElement.matches(arguments[0])",
                        vec![json!(input)],
                    )
                    .await
                    == true
                {
                    break;
                }
                self.key(Key::Down).await;
            }
            self.keys(" ").await;
        }
        assert_eq!(chosen().await, true, "{input} is chosen");
    }

    /// Presses a form's button by hand.
    pub async fn press(&self, button: &str) {
        if self.hands == Hands::Touch {
            self.touch(button).await;
        } else {
            self.tab_to(button).await;
            self.key(Key::Enter).await;
        }
    }
}

/// The page from which a page is reached.
fn above(path: &str) -> &str {
    match path {
        p if p.starts_with("/shop/") => "/shop",
        p if p.contains("/bench/") => &p[..p.find("/bench/").unwrap_or(0) + 6],
        p if p.starts_with("/orders/") => {
            let order = p.match_indices('/').nth(2).map_or(p, |(at, _)| &p[..at]);
            if order == p { "/" } else { order }
        }
        _ => "/",
    }
}
