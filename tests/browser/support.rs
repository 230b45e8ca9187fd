//! The real server on a free port with its own database and a clock set by hand, and a Chromium to look at it.
use super::hands::Hands;
use chillwright::{
    shop::Instant,
    store::Store,
    web::{App, router},
    work::codes::Codes,
};
use std::{
    io::{BufRead, BufReader},
    path::PathBuf,
    process::{Child, Command, Stdio},
    sync::{
        Arc,
        atomic::{AtomicI64, Ordering},
    },
};
use thirtyfour::{cdp::Cdp, prelude::*};

/// The code that the terminal printed.
pub const START_CODE: &str = "ABCDE-23456";
/// The owner's code.
pub const PIN: &str = "480213";

/// The server.
pub struct House {
    pub address: String,
    pub app: App,
    clock: Arc<AtomicI64>,
    _folder: tempfile::TempDir,
    server: tokio::task::JoinHandle<()>,
}

impl House {
    /// Serves a shop that has not begun, at this time. The clock stands until it is set.
    pub async fn open(now: &str) -> Self {
        Self::open_with(now, false).await
    }

    /// The same with a clock that goes on.
    pub async fn open_with_running_clock(now: &str) -> Self {
        Self::open_with(now, true).await
    }

    async fn open_with(now: &str, runs: bool) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("shop.db"))
            .await
            .expect("a store");
        let clock = Arc::new(AtomicI64::new(Instant::parse(now).expect("a time").0));
        let hand = clock.clone();
        let began = std::time::Instant::now();
        let passed = move || {
            if runs {
                began.elapsed().as_millis() as i64
            } else {
                0
            }
        };
        let clock_now = move || Instant(hand.load(Ordering::SeqCst) + passed());
        let app = App::new(
            store,
            Codes::cheap(),
            folder.path().join("files"),
            Some(START_CODE.into()),
            clock_now,
        );
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0")
            .await
            .expect("a port");
        let address = format!("http://{}", listener.local_addr().expect("an address"));
        let router = router::router(app.clone());
        let server =
            tokio::spawn(async move { axum::serve(listener, router).await.expect("served") });
        Self {
            address,
            app,
            clock,
            _folder: folder,
            server,
        }
    }

    /// Lets the clock jump forward.
    pub fn hours_pass(&self, hours: i64) {
        self.clock.fetch_add(hours * 3_600_000, Ordering::SeqCst);
    }

    /// Sets the clock.
    pub fn it_is(&self, now: &str) {
        self.clock
            .store(Instant::parse(now).expect("a time").0, Ordering::SeqCst);
    }
}

impl Drop for House {
    fn drop(&mut self) {
        self.server.abort();
    }
}

/// A Chromium with a driver of its own.
pub struct Browser {
    pub driver: WebDriver,
    /// What it is used with.
    pub hands: Hands,
    house: String,
    chromedriver: Child,
    profile: tempfile::TempDir,
}

impl Browser {
    /// Opens a window of this size.
    pub async fn open(house: &House, width: u32, height: u32) -> Self {
        Self::open_at(&house.address, width, height, None, &[]).await
    }

    /// Opens a window on a server that is not in this process, with more arguments; `home` is where Chromium looks for authorities to trust.
    pub async fn open_at(
        address: &str,
        width: u32,
        height: u32,
        home: Option<&std::path::Path>,
        more: &[&str],
    ) -> Self {
        Self::open_in(
            tempfile::tempdir().expect("a folder"),
            address,
            width,
            height,
            home,
            more,
        )
        .await
    }

    /// The battery is empty: the browser is gone without a warning, and what it had on the disk comes up again.
    pub async fn battery_dies(mut self) -> Self {
        let cookies = self.driver.get_all_cookies().await.expect("cookies");
        let profile = std::mem::replace(&mut self.profile, tempfile::tempdir().expect("a folder"));
        let lock =
            std::fs::read_link(profile.path().join("SingletonLock")).expect("the browser's lock");
        let process = lock
            .to_string_lossy()
            .rsplit('-')
            .next()
            .expect("its process")
            .to_owned();
        assert!(
            Command::new("kill")
                .args(["-9", &process])
                .status()
                .expect("kill")
                .success()
        );
        let again = Self::open_in(profile, &self.house, 820, 1180, None, &[]).await;
        // Chromium writes cookies half a minute late; a tablet has had them for longer than this test.
        again.go("/static/app.css").await;
        for cookie in cookies {
            again.driver.add_cookie(cookie).await.expect("a cookie");
        }
        again
    }

    async fn open_in(
        profile: tempfile::TempDir,
        address: &str,
        width: u32,
        height: u32,
        home: Option<&std::path::Path>,
        more: &[&str],
    ) -> Self {
        let mut command = Command::new("chromedriver");
        if let Some(home) = home {
            command.env("HOME", home);
        }
        let mut chromedriver = command
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver; tests/run installs it");
        let mut lines = BufReader::new(chromedriver.stdout.take().expect("its output")).lines();
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| {
                line.split("successfully on port ")
                    .nth(1)
                    .map(|p| p.trim_end_matches('.').to_owned())
            })
            .expect("its port");
        // Read on, else it blocks on a full pipe.
        std::thread::spawn(move || lines.for_each(drop));
        let mut caps = DesiredCapabilities::chrome();
        for argument in [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-dev-shm-usage",
            "--hide-scrollbars",
            &format!("--window-size={width},{height}"),
            &format!("--user-data-dir={}", profile.path().display()),
        ] {
            caps.add_arg(argument).expect("an argument");
        }
        for argument in more {
            caps.add_arg(argument).expect("an argument");
        }
        let driver = WebDriver::new(format!("http://127.0.0.1:{port}"), caps)
            .await
            .expect("a browser");
        let size = serde_json::json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        devtools(&driver)
            .send_raw("Emulation.setDeviceMetricsOverride", size)
            .await
            .expect("a size");
        Self {
            driver,
            hands: Hands::Driver,
            house: address.to_owned(),
            chromedriver,
            profile,
        }
    }

    /// Goes to a path of the house.
    pub async fn go(&self, path: &str) {
        if self.hands != Hands::Driver {
            return self.go_by_links(path).await;
        }
        self.driver
            .goto(format!("{}{path}", self.house))
            .await
            .expect("a page");
    }

    /// The path that one is at.
    pub async fn path(&self) -> String {
        self.driver
            .current_url()
            .await
            .expect("an address")
            .path()
            .to_owned()
    }

    /// Types into a field, in the place of what stands there.
    pub async fn fill(&self, form: &str, name: &str, value: &str) {
        if self.hands != Hands::Driver {
            return self
                .fill_by_hand(&format!("{form} [name='{name}']:not([type=hidden])"), value)
                .await;
        }
        let selector = format!("{form} [name='{name}']:not([type=hidden])");
        self.one(&selector).await;
        let script = "const f = document.querySelector(arguments[0]);
            if (f.tagName !== 'SELECT' && !f.type.startsWith('date') && f.type !== 'time') return null;
            f.value = arguments[1]; f.dispatchEvent(new Event('change', {bubbles: true})); return f.value;";
        let set = self
            .driver
            .execute(
                script,
                vec![serde_json::json!(selector), serde_json::json!(value)],
            )
            .await
            .expect("set")
            .json()
            .clone();
        if !set.is_null() {
            assert_eq!(set, value, "{form} {name} takes {value}");
            return;
        }
        // What others entered may replace the field between two words of the driver.
        for _ in 0..5 {
            let field = self.one(&selector).await;
            if field.clear().await.is_ok() && field.send_keys(value).await.is_ok() {
                return;
            }
        }
        panic!("{form} {name} does not take {value}");
    }

    /// Taps a tile or box.
    pub async fn tap(&self, form: &str, name: &str, value: &str) {
        if self.hands != Hands::Driver {
            return self.tap_by_hand(form, name, value).await;
        }
        let selector = format!("{form} [name='{name}'][value='{value}']");
        self.one(&selector).await;
        if self
            .driver
            .execute(
                "return document.querySelector(arguments[0]).checked",
                vec![serde_json::json!(selector)],
            )
            .await
            .expect("a state")
            .json()
            != true
        {
            self.click(&selector).await;
        }
    }

    /// Types into a field or taps a tile, by what the form has under this name.
    pub async fn set(&self, form: &str, name: &str, value: &str) {
        let tile = format!(
            "{form} input[name='{name}'][value='{value}']:is([type=radio],[type=checkbox])"
        );
        let tiles = self
            .driver
            .execute(
                "return document.querySelector(arguments[0]) !== null",
                vec![serde_json::json!(tile)],
            )
            .await
            .expect("a form");
        if tiles.json() == true {
            self.tap(form, name, value).await
        } else {
            self.fill(form, name, value).await
        }
    }

    /// Clicks what a selector names; once more where it was replaced between two words of the driver.
    async fn click(&self, selector: &str) {
        let mut last = None;
        for _ in 0..5 {
            let element = self.one(selector).await;
            let script = "document.querySelector(arguments[0]).scrollIntoView({block: 'center'})";
            self.driver
                .execute(script, vec![serde_json::json!(selector)])
                .await
                .expect("in view");
            match element.click().await {
                Ok(()) => return,
                Err(e) => last = Some(e),
            }
        }
        panic!("{selector} cannot be clicked: {last:?}");
    }

    /// Sends a form by its button.
    pub async fn send(&self, form: &str) {
        let selector = format!("{form} button[type=submit]");
        let before = self
            .driver
            .execute("return performance.timeOrigin", vec![])
            .await
            .expect("a time")
            .json()
            .clone();
        if self.hands == Hands::Driver {
            self.click(&selector).await;
        } else {
            self.press(&selector).await;
        }
        self.next_page(before, form).await;
    }

    /// The one element that a selector names; what a script makes may come a little later than the page.
    pub async fn one(&self, selector: &str) -> WebElement {
        let mut last = None;
        for _ in 0..50 {
            match self.driver.find(By::Css(selector)).await {
                Ok(element) => return element,
                Err(e) => last = Some(e),
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
        panic!(
            "{selector} at {}: {last:?}\n{}",
            self.path().await,
            self.text().await
        );
    }

    /// What the page says.
    pub async fn text(&self) -> String {
        self.driver
            .find(By::Tag("body"))
            .await
            .expect("a body")
            .text()
            .await
            .expect("text")
    }

    /// Light or dark, as the system asks.
    pub async fn scheme(&self, dark: bool) {
        let value = if dark { "dark" } else { "light" };
        let media =
            serde_json::json!({ "features": [{ "name": "prefers-color-scheme", "value": value }] });
        devtools(&self.driver)
            .send_raw("Emulation.setEmulatedMedia", media)
            .await
            .expect("a scheme");
    }

    /// What axe-core finds wrong with the page, in both colour schemes.
    pub async fn axe(&self) -> Vec<String> {
        let file = std::env::var("CHILLWRIGHT_AXE").map_or_else(
            |_| PathBuf::from("target/axe/node_modules/axe-core/axe.min.js"),
            PathBuf::from,
        );
        let axe = std::fs::read_to_string(&file)
            .unwrap_or_else(|e| panic!("{}: {e}; tests/run installs it", file.display()));
        let mut found = Vec::new();
        for dark in [false, true] {
            self.scheme(dark).await;
            self.driver
                .execute(format!("{axe}; return 0"), vec![])
                .await
                .expect("axe");
            let run = "const done = arguments[arguments.length - 1]; axe.run(document, {resultTypes: ['violations']}).then(r => done(r.violations), e => done([{id: String(e), nodes: []}]))";
            let answer = self
                .driver
                .execute_async(run, vec![])
                .await
                .expect("an answer");
            for violation in answer.json().as_array().expect("a list") {
                let nodes: Vec<String> = violation["nodes"]
                    .as_array()
                    .into_iter()
                    .flatten()
                    .take(3)
                    .map(|n| format!("{} {}", n["html"], n["failureSummary"]))
                    .collect();
                found.push(format!(
                    "{} ({}): {}",
                    violation["id"],
                    if dark { "dark" } else { "light" },
                    nodes.join(" | ")
                ));
            }
        }
        self.scheme(false).await;
        found
    }

    /// Keeps a picture of the whole page where CHILLWRIGHT_SHOTS names a folder: for looking at.
    pub async fn picture(&self, name: &str) {
        let Ok(folder) = std::env::var("CHILLWRIGHT_SHOTS") else {
            return;
        };
        std::fs::create_dir_all(&folder).expect("a folder");
        for dark in [false, true] {
            self.scheme(dark).await;
            let shot = devtools(&self.driver)
                .send_raw(
                    "Page.captureScreenshot",
                    serde_json::json!({ "captureBeyondViewport": true, "format": "png" }),
                )
                .await
                .expect("a picture");
            keep(
                &folder,
                &format!("{name}-{}.png", if dark { "dark" } else { "light" }),
                shot["data"].as_str().expect("data"),
            );
        }
        self.scheme(false).await;
        let pdf = devtools(&self.driver)
            .send_raw("Page.printToPDF", serde_json::json!({ "preferCSSPageSize": false, "paperWidth": 8.27, "paperHeight": 11.69 }))
            .await
            .expect("a print");
        keep(
            &folder,
            &format!("{name}.pdf"),
            pdf["data"].as_str().expect("data"),
        );
    }

    /// One element of the page as a printer of this many dots an inch would put it onto paper: a PNG.
    pub async fn printed(&self, selector: &str, dots: f64) -> Vec<u8> {
        let devtools = devtools(&self.driver);
        devtools
            .send_raw(
                "Emulation.setEmulatedMedia",
                serde_json::json!({ "media": "print" }),
            )
            .await
            .expect("print");
        let size = serde_json::json!({ "width": 1200, "height": 1400, "deviceScaleFactor": dots / 96.0, "mobile": false });
        devtools
            .send_raw("Emulation.setDeviceMetricsOverride", size)
            .await
            .expect("a size");
        let picture = self
            .one(selector)
            .await
            .screenshot_as_png()
            .await
            .expect("a picture");
        devtools
            .send_raw(
                "Emulation.setEmulatedMedia",
                serde_json::json!({ "media": "" }),
            )
            .await
            .expect("a screen");
        picture
    }

    /// The page as PDF, on paper of the size that the page asks for.
    pub async fn pdf(&self) -> Vec<u8> {
        let print = serde_json::json!({ "preferCSSPageSize": true });
        let pdf = devtools(&self.driver)
            .send_raw("Page.printToPDF", print)
            .await
            .expect("a print");
        let folder = tempfile::tempdir().expect("a folder");
        keep(
            &folder.path().display().to_string(),
            "print.pdf",
            pdf["data"].as_str().expect("data"),
        );
        std::fs::read(folder.path().join("print.pdf")).expect("a file")
    }

    /// Closes it.
    pub async fn close(mut self) {
        let _ = self.driver.clone().quit().await;
        let _ = self.chromedriver.kill();
        let _ = self.chromedriver.wait();
    }
}

fn devtools(driver: &WebDriver) -> Cdp {
    driver.cdp()
}

fn keep(folder: &str, name: &str, base64: &str) {
    use std::io::Write;
    let mut decoder = Command::new("base64")
        .arg("-d")
        .stdin(Stdio::piped())
        .stdout(std::fs::File::create(PathBuf::from(folder).join(name)).expect("a file"))
        .spawn()
        .expect("base64");
    decoder
        .stdin
        .take()
        .expect("its input")
        .write_all(base64.as_bytes())
        .expect("written");
    decoder.wait().expect("decoded");
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.chromedriver.kill();
        let _ = self.chromedriver.wait();
    }
}
