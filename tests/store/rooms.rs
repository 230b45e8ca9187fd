//! Who may use whom: read off the `use` lines and the paths in the code.
use std::path::{Path, PathBuf};

pub fn sources(folder: &Path, all: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, all);
        } else if path.extension().is_some_and(|e| e == "rs") {
            all.push(path);
        }
    }
}

/// The rooms that a file of the crate uses: `crate::room`, also inside `use crate::{…}`.
fn rooms_used(code: &str) -> Vec<String> {
    let mut rooms = Vec::new();
    let mut rest = code;
    while let Some(at) = rest.find("crate::") {
        rest = &rest[at + "crate::".len()..];
        let Some(group) = rest.strip_prefix('{') else {
            rooms.push(
                rest.chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect(),
            );
            continue;
        };
        let (mut depth, mut word) = (0, String::new());
        for c in group.chars() {
            match c {
                '}' if depth == 0 => break,
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 0 => rooms.push(std::mem::take(&mut word)),
                c => word.push(if depth == 0 { c } else { ' ' }),
            }
        }
        rooms.push(word);
    }
    rooms
        .iter()
        .map(|r| {
            r.trim()
                .split("::")
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned()
        })
        .filter(|r| !r.is_empty())
        .collect()
}

#[test]
fn groups_are_read_too() {
    assert_eq!(
        rooms_used(
            "use crate::{\n    shop::{Actor, Role},\n    work::DeedError,\n};\nlet x = crate::web::App;"
        ),
        ["shop", "work", "web"]
    );
}

#[test]
fn rooms_use_what_lies_below_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let may: [(&str, &[&str]); 7] = [
        ("shop", &["shop"]),
        ("store", &["shop", "store"]),
        ("work", &["shop", "store", "work"]),
        ("plot", &["plot", "shop"]),
        ("tls", &["shop", "tls"]),
        ("web", &["plot", "shop", "store", "tls", "work", "web"]),
        ("demo", &["shop", "store", "work", "web", "demo"]),
    ];
    let mut read = 0;
    for (room, allowed) in may {
        let mut files = Vec::new();
        sources(&root.join(room), &mut files);
        for file in files {
            let text = std::fs::read_to_string(&file).expect("text");
            // A test inside a room may look at its neighbours.
            let code = text.split("#[cfg(test)]").next().unwrap_or_default();
            for used in rooms_used(code) {
                read += 1;
                assert!(
                    allowed.contains(&used.as_str()),
                    "{} uses {used}",
                    file.display()
                );
            }
            assert!(
                !matches!(room, "web" | "demo" | "plot" | "tls") || !code.contains("sqlx"),
                "{} uses sqlx",
                file.display()
            );
        }
    }
    assert!(read > 120, "{read}");
}

/// Statements stand in the store alone; the calculation has neither clock nor database nor web among what it depends on.
#[test]
fn the_calculation_is_pure_and_statements_stay_in_the_store() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    for file in files.iter().filter(|f| !f.starts_with(root.join("store"))) {
        let text = std::fs::read_to_string(file).expect("text");
        assert!(!text.contains("sqlx::query"), "{}", file.display());
    }
    let manifest = std::fs::read_to_string(root.join("calc/Cargo.toml")).expect("text");
    for word in ["sqlx", "axum", "tokio", "time ="] {
        assert!(!manifest.contains(word), "{word}");
    }
}
