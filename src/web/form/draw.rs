//! The fields of a form, with what was typed and what is wrong with it.
use super::{Field, Form, Kind, Opt};
use chillwright_calc::record::Refrigerant;

impl Form {
    /// A field with what was typed and what is wrong with it.
    pub fn field(&self, name: &str, label: &str) -> Field {
        Field {
            name: name.to_owned(),
            id: format!(
                "f-{}",
                name.replace(|c: char| !c.is_ascii_alphanumeric(), "-")
            ),
            label: label.to_owned(),
            value: self
                .values
                .iter()
                .find(|(k, _)| k == name)
                .map_or_else(String::new, |(_, v)| v.clone()),
            error: self.errors.get(name).cloned(),
            ..Field::default()
        }
    }

    /// Tiles of which one can be chosen; nothing is, until somebody does.
    pub fn tiles(
        &self,
        name: &str,
        label: &str,
        options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>,
    ) -> Field {
        let chosen = self.get(name);
        let options = self.options(options, |value| value == chosen);
        Field {
            kind: Kind::Choice(options),
            ..self.field(name, label)
        }
    }

    /// The refrigerants of the record, as tiles.
    pub fn refrigerants(&self, name: &str, label: &str) -> Field {
        self.tiles(
            name,
            label,
            Refrigerant::ALL.iter().map(|r| (r.word(), r.word())),
        )
    }

    /// A list of which one can be chosen; it begins with an empty line.
    pub fn select(
        &self,
        name: &str,
        label: &str,
        options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>,
    ) -> Field {
        let chosen = self.get(name);
        let options = self.options(options, |value| value == chosen);
        Field {
            kind: Kind::Select(options),
            ..self.field(name, label)
        }
    }

    /// Tiles of which any can be chosen.
    pub fn many(
        &self,
        name: &str,
        label: &str,
        options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>,
    ) -> Field {
        let chosen: Vec<&str> = self.all(name).collect();
        let options = self.options(options, |value| chosen.contains(&value));
        Field {
            kind: Kind::Many(options),
            ..self.field(name, label)
        }
    }

    /// One box.
    pub fn tick(&self, name: &str, label: &str) -> Field {
        Field {
            kind: Kind::Tick,
            value: if self.ticked(name) {
                "yes".into()
            } else {
                String::new()
            },
            ..self.field(name, label)
        }
    }

    fn options(
        &self,
        options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>,
        chosen: impl Fn(&str) -> bool,
    ) -> Vec<Opt> {
        options
            .into_iter()
            .map(|(value, label)| {
                let value = value.into();
                Opt {
                    chosen: !self.values.is_empty() && chosen(&value),
                    label: label.into(),
                    value,
                }
            })
            .collect()
    }
}
