//! A form as it stands on a page: its fields, their values and choices, and what a browser would send of it.
use html5gum::{StartTag, Token, Tokenizer};
use std::collections::BTreeMap;

/// Why a form cannot be filled in as asked: the page has no such form, field or choice.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FillError {
    /// No form of the page is sent to this address.
    #[error("no form on {page} is sent to {action}")]
    NoForm {
        /// The page.
        page: String,
        /// Where the form would be sent.
        action: String,
    },
    /// The form has no field of this name that somebody can fill in.
    #[error("the form {action} has no field {name}; it has {known}")]
    NoField {
        /// Where the form is sent.
        action: String,
        /// The name asked for.
        name: String,
        /// The names that it has.
        known: String,
    },
    /// The field does not offer this.
    #[error("the field {name} of {action} does not offer {value:?}; it offers {offered:?}")]
    NoChoice {
        /// Where the form is sent.
        action: String,
        /// The field.
        name: String,
        /// What was asked for.
        value: String,
        /// What can be chosen.
        offered: Vec<String>,
    },
}

/// One control of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Control {
    /// A field that is not drawn.
    Hidden { name: String, value: String },
    /// Something that is typed.
    Line { name: String, value: String },
    /// One of several of which one is chosen, or a box; whether it is chosen.
    Tile {
        name: String,
        value: String,
        chosen: bool,
        one_of: bool,
    },
    /// A list; its choices with the chosen one.
    List {
        name: String,
        choices: Vec<String>,
        chosen: Option<String>,
    },
    /// A file.
    File { name: String },
    /// A button that sends the form, with a value of its own.
    Button { name: String, value: String },
}

impl Control {
    fn name(&self) -> &str {
        match self {
            Self::Hidden { name, .. }
            | Self::Line { name, .. }
            | Self::Tile { name, .. }
            | Self::List { name, .. }
            | Self::File { name }
            | Self::Button { name, .. } => name,
        }
    }
}

/// A form of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageForm {
    /// Where it is sent.
    pub action: String,
    /// `post` or `get`.
    pub method: String,
    /// Whether it is sent as `multipart/form-data`.
    pub multipart: bool,
    controls: Vec<Control>,
}

impl PageForm {
    /// All forms of a page, in its order. What stands in a `template` is not on the page.
    pub fn all(html: &str) -> Vec<Self> {
        let mut reader = Reader::default();
        for Ok(token) in Tokenizer::new(html) {
            reader.take(token);
        }
        reader.forms
    }

    /// The form of a page that is posted to this address.
    ///
    /// # Errors
    /// [`FillError::NoForm`].
    pub fn posted_to(html: &str, page: &str, action: &str) -> Result<Self, FillError> {
        let form = Self::all(html)
            .into_iter()
            .find(|f| f.action == action && f.method == "post");
        form.ok_or_else(|| FillError::NoForm {
            page: page.to_owned(),
            action: action.to_owned(),
        })
    }

    /// The names of what somebody can fill in.
    pub fn names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = self
            .controls
            .iter()
            .filter(|c| !matches!(c, Control::Hidden { .. }))
            .map(Control::name)
            .collect();
        names.dedup();
        names
    }

    /// Whether it has a field of this name.
    pub fn has(&self, name: &str) -> bool {
        self.controls.iter().any(|c| c.name() == name)
    }

    /// The value of a field that is not drawn.
    pub fn hidden(&self, name: &str) -> Option<&str> {
        self.controls.iter().find_map(|c| match c {
            Control::Hidden { name: n, value } if n == name => Some(value.as_str()),
            _ => None,
        })
    }

    /// What a browser sends after these fields were filled in; each name takes all its values, and an empty value takes back a choice. A field that is
    /// not drawn keeps its value, unless it is the only one of its name.
    ///
    /// # Errors
    /// A field or a choice that the form does not have.
    pub fn filled(&self, set: &[(&str, &str)]) -> Result<Vec<(String, String)>, FillError> {
        let mut wanted: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (name, value) in set {
            wanted.entry(name).or_default().push(value);
        }
        for (name, values) in &wanted {
            self.takes(name, values)?;
        }
        let mut left = wanted.clone();
        let mut sent = Vec::new();
        for control in &self.controls {
            let name = control.name();
            let asked = wanted.get(name);
            let value = match control {
                Control::Hidden { value, .. } if self.is_drawn(name) => Some(value.as_str()),
                Control::Hidden { value, .. } | Control::Line { value, .. } => {
                    match left.get_mut(name) {
                        Some(values) if !values.is_empty() => Some(values.remove(0)),
                        Some(_) => None,
                        None => Some(value.as_str()),
                    }
                }
                Control::Tile { value, chosen, .. } => asked
                    .map_or(*chosen, |values| values.contains(&value.as_str()))
                    .then_some(value.as_str()),
                Control::List { chosen, .. } => {
                    asked.map_or(chosen.as_deref(), |values| values.first().copied())
                }
                Control::File { .. } => None,
                Control::Button { value, .. } => {
                    let pressed = asked.map_or(self.buttons() == 1, |values| {
                        values.contains(&value.as_str())
                    });
                    pressed.then_some(value.as_str())
                }
            };
            sent.extend(value.map(|value| (name.to_owned(), value.to_owned())));
        }
        Ok(sent)
    }

    fn buttons(&self) -> usize {
        self.controls
            .iter()
            .filter(|c| matches!(c, Control::Button { .. }))
            .count()
    }

    fn is_drawn(&self, name: &str) -> bool {
        self.controls
            .iter()
            .any(|c| c.name() == name && !matches!(c, Control::Hidden { .. }))
    }

    /// Whether the form can take these values under this name.
    fn takes(&self, name: &str, values: &[&str]) -> Result<(), FillError> {
        let drawn = self.is_drawn(name);
        let mine: Vec<&Control> = self
            .controls
            .iter()
            .filter(|c| c.name() == name && !(drawn && matches!(c, Control::Hidden { .. })))
            .collect();
        if mine.is_empty() {
            return Err(FillError::NoField {
                action: self.action.clone(),
                name: name.to_owned(),
                known: self.names().join(", "),
            });
        }
        let mut offered: Vec<String> = Vec::new();
        let mut lines = 0;
        let mut one_of = false;
        for control in mine {
            match control {
                Control::Hidden { .. } | Control::Line { .. } => lines += 1,
                Control::Tile {
                    value, one_of: one, ..
                } => {
                    one_of |= *one;
                    offered.push(value.clone());
                }
                Control::List { choices, .. } => {
                    one_of = true;
                    offered.extend(choices.iter().cloned());
                }
                Control::Button { value, .. } => offered.push(value.clone()),
                Control::File { .. } => {}
            }
        }
        let refused = values
            .iter()
            .find(|v| lines == 0 && !v.is_empty() && !offered.iter().any(|o| o == *v));
        let too_many = if lines > 0 {
            values.len() > lines
        } else {
            one_of && values.len() > 1
        };
        match refused.or(values.last().filter(|_| too_many)) {
            Some(value) => Err(FillError::NoChoice {
                action: self.action.clone(),
                name: name.to_owned(),
                value: (*value).to_owned(),
                offered,
            }),
            None => Ok(()),
        }
    }
}

/// Collects forms from the tokens of a page.
#[derive(Default)]
struct Reader {
    forms: Vec<PageForm>,
    open: bool,
    templates: usize,
    /// The list or long field that is open, with what was read of it.
    list: Option<(String, Vec<String>, Option<String>)>,
    long: Option<(String, String)>,
}

impl Reader {
    fn take(&mut self, token: Token) {
        match token {
            Token::StartTag(tag) if *tag.name == b"template" => self.templates += 1,
            Token::EndTag(tag) if *tag.name == b"template" => {
                self.templates = self.templates.saturating_sub(1)
            }
            _ if self.templates > 0 => {}
            Token::StartTag(tag) => self.begin(&tag),
            Token::EndTag(tag) => self.end(&tag.name),
            Token::String(text) => {
                if let Some((_, value)) = &mut self.long {
                    value.push_str(&String::from_utf8_lossy(&text));
                }
            }
            Token::Comment(_) | Token::Doctype(_) | Token::Error(_) => {}
        }
    }

    fn begin(&mut self, tag: &StartTag<()>) {
        if *tag.name == b"form" {
            let method = attribute(tag, "method")
                .unwrap_or_else(|| "get".into())
                .to_lowercase();
            let multipart = attribute(tag, "enctype").is_some_and(|e| e == "multipart/form-data");
            self.forms.push(PageForm {
                action: attribute(tag, "action").unwrap_or_default(),
                method,
                multipart,
                controls: Vec::new(),
            });
            self.open = true;
            return;
        }
        if attribute(tag, "disabled").is_some() {
            return;
        }
        match tag.name.as_slice() {
            b"select" => self.list = attribute(tag, "name").map(|name| (name, Vec::new(), None)),
            b"option" => {
                if let Some((_, choices, chosen)) = &mut self.list {
                    let value = attribute(tag, "value").unwrap_or_default();
                    if attribute(tag, "selected").is_some() || chosen.is_none() {
                        *chosen = Some(value.clone());
                    }
                    choices.push(value);
                }
            }
            b"textarea" => self.long = attribute(tag, "name").map(|name| (name, String::new())),
            b"input" | b"button" => {
                let control = attribute(tag, "name").and_then(|name| control(tag, name));
                self.add(control);
            }
            _ => {}
        }
    }

    fn end(&mut self, name: &[u8]) {
        match name {
            b"form" => self.open = false,
            b"select" => {
                let list = self
                    .list
                    .take()
                    .map(|(name, choices, chosen)| Control::List {
                        name,
                        choices,
                        chosen,
                    });
                self.add(list);
            }
            b"textarea" => {
                let long = self
                    .long
                    .take()
                    .map(|(name, value)| Control::Line { name, value });
                self.add(long);
            }
            _ => {}
        }
    }

    fn add(&mut self, control: Option<Control>) {
        if let (true, Some(control), Some(form)) = (self.open, control, self.forms.last_mut()) {
            form.controls.push(control);
        }
    }
}

fn attribute(tag: &StartTag<()>, name: &str) -> Option<String> {
    tag.attributes
        .get(name.as_bytes())
        .map(|value| String::from_utf8_lossy(value).into_owned())
}

fn control(tag: &StartTag<()>, name: String) -> Option<Control> {
    let value = attribute(tag, "value").unwrap_or_default();
    let kind = attribute(tag, "type").unwrap_or_default();
    if *tag.name == b"button" {
        return (kind.is_empty() || kind == "submit").then_some(Control::Button { name, value });
    }
    Some(match kind.as_str() {
        "hidden" => Control::Hidden { name, value },
        "radio" => Control::Tile {
            name,
            value,
            chosen: attribute(tag, "checked").is_some(),
            one_of: true,
        },
        "checkbox" => Control::Tile {
            name,
            value,
            chosen: attribute(tag, "checked").is_some(),
            one_of: false,
        },
        "file" => Control::File { name },
        "submit" => Control::Button { name, value },
        "button" | "reset" | "image" => return None,
        _ => Control::Line { name, value },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = r#"<form action="/a" method="post"><input type="hidden" name="deed" value="7"><input type="hidden" name="by" value="me">
        <input name="plate" value="KD &amp; 1"><textarea name="note">two
lines</textarea><input type="radio" name="how" value="one" checked><input type="radio" name="how" value="two">
        <input type="checkbox" name="all" value="a" checked><input type="checkbox" name="all" value="b">
        <select name="unit"><option value=""></option><option value="kPa" selected>kPa</option></select><input name="off" value="x" disabled>
        <template><input name="not"></template><button>Save</button></form><form action="/b"><input name="q"></form>"#;

    fn filled(set: &[(&str, &str)]) -> Result<String, FillError> {
        let pairs = PageForm::posted_to(PAGE, "/a", "/a")?.filled(set)?;
        Ok(pairs
            .iter()
            .map(|(k, v)| format!("{k}={v}"))
            .collect::<Vec<_>>()
            .join("&"))
    }

    #[test]
    fn a_form_is_sent_as_a_browser_sends_it() {
        assert_eq!(
            filled(&[]).as_deref(),
            Ok("deed=7&by=me&plate=KD & 1&note=two\nlines&how=one&all=a&unit=kPa")
        );
        let all = [
            ("plate", "x"),
            ("how", "two"),
            ("all", "b"),
            ("all", "a"),
            ("unit", ""),
            ("note", ""),
        ];
        assert_eq!(
            filled(&all).as_deref(),
            Ok("deed=7&by=me&plate=x&note=&how=two&all=a&all=b&unit=")
        );
        assert_eq!(
            filled(&[("all", ""), ("how", "")]).as_deref(),
            Ok("deed=7&by=me&plate=KD & 1&note=two\nlines&unit=kPa")
        );
    }

    #[test]
    fn what_the_page_does_not_have_cannot_be_sent() {
        for set in [
            ("colour", "red"),
            ("how", "three"),
            ("unit", "psi"),
            ("off", "y"),
            ("not", "y"),
            ("q", "y"),
        ] {
            assert!(filled(&[set]).is_err(), "{set:?}");
        }
        assert!(filled(&[("how", "one"), ("how", "two")]).is_err());
        assert!(
            PageForm::posted_to(PAGE, "/a", "/b").is_err(),
            "a form that is fetched is not posted"
        );
    }

    /// Two fields of one name, one of them not drawn: both are sent, as a browser does.
    #[test]
    fn a_field_that_is_not_drawn_keeps_its_value_beside_one_that_is() {
        let page = r#"<form action="/f" method="post"><input type="hidden" name="by" value="me"><input type="radio" name="by" value="flushed"></form>"#;
        let pairs = PageForm::posted_to(page, "/f", "/f")
            .and_then(|f| f.filled(&[("by", "flushed")]))
            .expect("filled");
        assert_eq!(
            pairs,
            [
                ("by".to_owned(), "me".to_owned()),
                ("by".to_owned(), "flushed".to_owned())
            ]
        );
    }
}
