//! Every page of the invented shop, as the owner reads it: what it says and what its forms ask, kept as a snapshot. Who changes a page reads the difference.
use super::kit::{Browser, Shop};
use axum::http::Method;
use chillwright::{demo, shop::Instant, web::router, work::codes::Codes};
use html5gum::{Token, Tokenizer};

/// Orders of the invented shop in states that their pages tell apart: handed over, sent back, charged, hold failed, hold running, circuit open, cancelled.
const ORDERS: [u32; 7] = [412, 414, 415, 416, 417, 418, 421];
const TASKS: [&str; 18] = [
    "standing",
    "identification",
    "isolation",
    "recovery",
    "leaks",
    "joints",
    "parts",
    "seals",
    "fixings",
    "flush",
    "oil",
    "evacuation",
    "hold",
    "gas",
    "charging",
    "performance",
    "checks",
    "ports",
];
/// What is no page for people to read, or only says what is there at this moment; a stream of events never ends.
const LEFT_OUT: [&str; 8] = [
    "/static",
    "/away",
    "/deeds",
    "/worker.js",
    "/photographs",
    "/device",
    "/start",
    "/find",
];

/// What a page says, one line for each piece of text, field and link; ids and hashes, which differ each time, are left out.
fn read(html: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut quiet = 0_usize;
    let mut text = String::new();
    let flush = |text: &mut String, lines: &mut Vec<String>| {
        let told = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if !told.is_empty() {
            lines.push(told);
        }
        text.clear();
    };
    for Ok(token) in Tokenizer::new(html) {
        match token {
            Token::StartTag(tag) => {
                let name = String::from_utf8_lossy(&tag.name).into_owned();
                let attribute = |key: &str| {
                    tag.attributes
                        .get(key.as_bytes())
                        .map(|v| String::from_utf8_lossy(v).into_owned())
                };
                if matches!(name.as_str(), "script" | "style" | "template" | "head") {
                    quiet += 1;
                }
                if !matches!(
                    name.as_str(),
                    "b" | "span" | "i" | "em" | "strong" | "small" | "sub" | "sup" | "a" | "tspan"
                ) {
                    flush(&mut text, &mut lines);
                }
                if let (Some(field), "input" | "select" | "textarea") =
                    (attribute("name"), name.as_str())
                {
                    let kind = attribute("type").unwrap_or_else(|| name.clone());
                    let value = attribute("value").unwrap_or_default();
                    let chosen = if tag.attributes.contains_key(b"checked".as_slice()) {
                        ", chosen"
                    } else {
                        ""
                    };
                    lines.push(format!("[{kind} {field}={value}{chosen}]"));
                } else if name == "form" {
                    lines.push(format!(
                        "[form {}]",
                        attribute("action").unwrap_or_default()
                    ));
                } else if name == "a" {
                    text.push_str(&format!(" <{}> ", attribute("href").unwrap_or_default()));
                }
            }
            Token::EndTag(tag) => {
                let name = String::from_utf8_lossy(&tag.name).into_owned();
                if matches!(name.as_str(), "script" | "style" | "template" | "head") {
                    quiet = quiet.saturating_sub(1);
                    text.clear();
                } else if !matches!(
                    name.as_str(),
                    "b" | "span" | "i" | "em" | "strong" | "small" | "sub" | "sup" | "a" | "tspan"
                ) {
                    flush(&mut text, &mut lines);
                }
            }
            Token::String(piece) if quiet == 0 => text.push_str(&String::from_utf8_lossy(&piece)),
            _ => {}
        }
    }
    flush(&mut text, &mut lines);
    masked(&lines.join("\n"))
}

/// Ids and hashes differ each time.
fn masked(text: &str) -> String {
    let hex = |word: &str| {
        word.len() >= 16
            && word.chars().all(|c| c.is_ascii_hexdigit() || c == '-')
            && word.chars().any(|c| c.is_ascii_digit())
    };
    let mut out = String::new();
    let mut word = String::new();
    for c in text.chars().chain(['\n']) {
        if c.is_ascii_alphanumeric() || c == '-' {
            word.push(c);
            continue;
        }
        out.push_str(if hex(&word) { "#" } else { &word });
        word.clear();
        out.push(c);
    }
    out
}

/// The invented shop at one time, and its owner at the screen.
async fn invented() -> (Shop, Browser) {
    let now = Instant::parse("2026-06-16T15:00:00Z").expect("a time");
    let shop = Shop::on(tempfile::tempdir().expect("a folder"), now).await;
    let files = tempfile::tempdir().expect("a folder");
    let printed = demo::make(&shop.app.store, &Codes::cheap(), files.path(), now)
        .await
        .expect("an invented shop");
    let mut owner = shop.browser.clone();
    assert!(
        owner
            .post("/device", &[("code", printed.admission.as_str())])
            .await
            .status
            .is_redirection()
    );
    let person = owner.get("/sign-in").await.body;
    let id = person
        .split("name=\"person\" value=\"")
        .skip(1)
        .find(|tile| tile.contains("Perrin Hask"))
        .and_then(|tile| tile.split('"').next());
    let signed = owner
        .post(
            "/sign-in",
            &[
                ("person", id.expect("the owner")),
                ("pin", printed.people[0].code),
            ],
        )
        .await;
    assert!(signed.status.is_redirection(), "{}", signed.body);
    (shop, owner)
}

/// The addresses of a route in the invented shop.
fn addresses(path: &str) -> Vec<String> {
    if !path.contains('{') {
        return vec![path.to_owned()];
    }
    let one = |number: u32| {
        path.replace("{number}", &number.to_string())
            .replace("{mark}", "h1")
    };
    // A task's form is the same on every open order.
    if path.contains("{task}") {
        return TASKS
            .iter()
            .map(|task| one(418).replace("{task}", task))
            .collect();
    }
    if path.starts_with("/orders/{number}") {
        return ORDERS.iter().map(|n| one(*n)).collect();
    }
    vec![
        path.replace("{number}", "187")
            .replace("{tag}", "1")
            .replace("{n}", "1"),
    ]
}

#[tokio::test]
async fn every_page_reads_as_it_did() {
    let (_shop, mut owner) = invented().await;
    let mut read_pages = 0;
    for route in router::routes().iter().filter(|r| {
        r.method == Method::GET
            && !LEFT_OUT.iter().any(|p| r.path.starts_with(p))
            && !r.path.ends_with("/events")
    }) {
        for address in addresses(route.path)
            .into_iter()
            .filter(|a| !a.contains('{'))
        {
            let answer = owner.get(&address).await;
            assert!(
                !answer.status.is_server_error(),
                "{address}: {}",
                answer.status
            );
            if !answer.body.starts_with("<!doctype html>") || !answer.status.is_success() {
                continue;
            }
            read_pages += 1;
            let name = address.trim_matches('/').replace('/', "-");
            insta::with_settings!({ snapshot_path => "snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
                insta::assert_snapshot!(if name.is_empty() { "today".to_owned() } else { name }, read(&answer.body));
            });
        }
    }
    assert!(read_pages > 60, "{read_pages}");
}
