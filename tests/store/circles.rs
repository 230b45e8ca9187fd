//! No two files of a room import each other in a circle: read off the `use` lines and paths, re-exports followed to where the thing is declared.
use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};
use syn::{Item, UseTree, visit::Visit};

/// A room's files by their path in the crate (`web::bench::hold`), less the room's name.
struct Room {
    name: &'static str,
    files: BTreeMap<String, File>,
}

/// What a file names.
#[derive(Default)]
struct File {
    /// Paths that it uses, as written.
    uses: Vec<Vec<String>>,
    /// Names that it hands on, with what they stand for.
    hands_on: BTreeMap<String, Vec<String>>,
}

impl Room {
    fn read(name: &'static str) -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(name);
        let mut paths = Vec::new();
        super::rooms::sources(&root, &mut paths);
        let mut files = BTreeMap::new();
        for path in paths {
            let relative = path
                .strip_prefix(&root)
                .expect("below the room")
                .with_extension("");
            let mut words: Vec<String> = relative
                .iter()
                .map(|w| w.to_string_lossy().into_owned())
                .collect();
            if words.last().is_some_and(|w| w == "mod") {
                words.pop();
            }
            let text = std::fs::read_to_string(&path).expect("text");
            let mut file = File::default();
            let mut parsed =
                syn::parse_file(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            // A test inside a room may look at its neighbours.
            parsed.items.retain(
                |item| !matches!(item, Item::Mod(m) if m.ident == "tests" && m.content.is_some()),
            );
            file.visit_file(&parsed);
            files.insert(words.join("::"), file);
        }
        Self { name, files }
    }

    /// The file in which a path of `from` is declared; `None` where it leads out of the room.
    fn declared(&self, from: &str, path: &[String], depth: usize) -> Option<String> {
        let mut at: Vec<&str> = from.split("::").filter(|w| !w.is_empty()).collect();
        let mut rest: Vec<&str> = path.iter().map(String::as_str).collect();
        match rest.first().copied()? {
            "crate" => {
                if rest.get(1) != Some(&self.name) {
                    return None;
                }
                at.clear();
                rest.drain(..2);
            }
            "self" => {
                rest.remove(0);
            }
            "super" => {
                while rest.first() == Some(&"super") {
                    at.pop()?;
                    rest.remove(0);
                }
            }
            first => {
                let mut child = at.clone();
                child.push(first);
                if !self.files.contains_key(&child.join("::")) {
                    return None;
                }
            }
        }
        while let Some(next) = rest.first() {
            let mut child = at.clone();
            child.push(next);
            if !self.files.contains_key(&child.join("::")) {
                break;
            }
            at = child;
            rest.remove(0);
        }
        let file = at.join("::");
        match rest
            .first()
            .and_then(|name| self.files.get(&file)?.hands_on.get(*name))
        {
            Some(other) if depth < 8 => self.declared(&file, other, depth + 1),
            _ => Some(file),
        }
    }

    /// Groups of files that lead to each other.
    fn circles(&self) -> Vec<BTreeSet<String>> {
        let direct: BTreeMap<&String, BTreeSet<String>> = self
            .files
            .iter()
            .map(|(name, file)| {
                let leads = file
                    .uses
                    .iter()
                    .filter_map(|path| self.declared(name, path, 0))
                    .filter(|to| to != name && !to.is_empty());
                (name, leads.collect())
            })
            .collect();
        let reached = |from: &String| {
            let mut seen = BTreeSet::new();
            let mut open = vec![from.clone()];
            while let Some(next) = open.pop() {
                for to in direct.get(&next).into_iter().flatten() {
                    if seen.insert(to.clone()) {
                        open.push(to.clone());
                    }
                }
            }
            seen
        };
        let all: BTreeMap<&String, BTreeSet<String>> = self
            .files
            .keys()
            .map(|name| (name, reached(name)))
            .collect();
        let circle = |name: &String| {
            all[name]
                .iter()
                .filter(|other| all.get(other).is_some_and(|back| back.contains(name)))
                .cloned()
                .collect::<BTreeSet<_>>()
        };
        let found: BTreeSet<BTreeSet<String>> = self
            .files
            .keys()
            .map(circle)
            .filter(|c| c.len() > 1)
            .collect();
        found.into_iter().collect()
    }
}

impl<'ast> Visit<'ast> for File {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let mut leaves = Vec::new();
        flatten(&item.tree, &mut Vec::new(), &mut leaves);
        for (name, path) in leaves {
            if !matches!(item.vis, syn::Visibility::Inherited) {
                self.hands_on.insert(name, path);
            } else {
                self.uses.push(path);
            }
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        if path.segments.len() > 1 {
            self.uses
                .push(path.segments.iter().map(|s| s.ident.to_string()).collect());
        }
        syn::visit::visit_path(self, path);
    }
}

fn flatten(tree: &UseTree, before: &mut Vec<String>, leaves: &mut Vec<(String, Vec<String>)>) {
    match tree {
        UseTree::Path(path) => {
            before.push(path.ident.to_string());
            flatten(&path.tree, before, leaves);
            before.pop();
        }
        UseTree::Name(name) if name.ident == "self" => {
            leaves.push((before.last().cloned().unwrap_or_default(), before.clone()))
        }
        UseTree::Name(name) => leaves.push((
            name.ident.to_string(),
            before
                .iter()
                .cloned()
                .chain([name.ident.to_string()])
                .collect(),
        )),
        UseTree::Rename(name) => leaves.push((
            name.rename.to_string(),
            before
                .iter()
                .cloned()
                .chain([name.ident.to_string()])
                .collect(),
        )),
        UseTree::Glob(_) => leaves.push(("*".into(), before.clone())),
        UseTree::Group(group) => group
            .items
            .iter()
            .for_each(|tree| flatten(tree, before, leaves)),
    }
}

#[test]
fn no_room_has_files_in_a_circle() {
    for name in ["shop", "store", "work", "plot", "tls", "web", "demo"] {
        let room = Room::read(name);
        assert!(room.files.len() > 2, "{name}");
        assert_eq!(room.circles(), Vec::<BTreeSet<String>>::new(), "{name}");
    }
}

/// The test itself sees a circle where there is one.
#[test]
fn a_circle_is_seen() {
    let file = |uses: &[&str]| File {
        uses: uses
            .iter()
            .map(|u| u.split("::").map(str::to_owned).collect())
            .collect(),
        ..File::default()
    };
    let mut files = BTreeMap::from([
        ("a".to_owned(), file(&["super::b::B"])),
        ("b".to_owned(), file(&["crate::room::c::C"])),
        ("c".to_owned(), file(&[])),
    ]);
    assert!(
        Room {
            name: "room",
            files: std::mem::take(&mut files)
        }
        .circles()
        .is_empty()
    );
    files = BTreeMap::from([
        ("a".to_owned(), file(&["super::b::B"])),
        ("b".to_owned(), file(&["crate::room::a::A"])),
    ]);
    assert_eq!(
        Room {
            name: "room",
            files
        }
        .circles()
        .len(),
        1
    );
}
