//! Who may use whom: read off the `use` lines and the paths in the code.
use std::path::{Path, PathBuf};

fn sources(folder: &Path, all: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, all);
        } else if path.extension().is_some_and(|e| e == "rs") {
            all.push(path);
        }
    }
}

#[test]
fn rooms_use_what_lies_below_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let never: [(&str, &[&str]); 5] = [
        ("shop", &["crate::store", "crate::work", "crate::web", "crate::plot"]),
        ("store", &["crate::work", "crate::web", "crate::plot"]),
        ("work", &["crate::web", "crate::plot"]),
        ("plot", &["crate::store", "crate::work", "crate::web"]),
        ("web", &["sqlx::"]),
    ];
    let mut read = 0;
    for (room, forbidden) in never {
        let mut files = Vec::new();
        sources(&root.join(room), &mut files);
        for file in files {
            let text = std::fs::read_to_string(&file).expect("text");
            read += 1;
            for word in forbidden {
                // A test inside a room may look at its neighbours.
                let code = text.split("#[cfg(test)]").next().unwrap_or_default();
                assert!(!code.contains(word), "{} uses {word}", file.display());
            }
        }
    }
    assert!(read > 60, "{read}");
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
