//! A field as the templates draw it.

/// A field as the templates draw it.
#[derive(Debug, Clone, Default)]
pub struct Field {
    /// Name in the form.
    pub name: String,
    /// Id on the page.
    pub id: String,
    /// What it asks.
    pub label: String,
    /// What helps to answer.
    pub hint: String,
    /// What was typed.
    pub value: String,
    /// What is wrong with it.
    pub error: Option<String>,
    /// Must be answered.
    pub required: bool,
    /// Unit, behind the field.
    pub unit: String,
    /// The last value, beside the label; never in the field.
    pub last: String,
    /// How it is drawn.
    pub kind: Kind,
    /// The browser's `autocomplete`.
    pub autocomplete: &'static str,
    /// The browser's `inputmode`.
    pub inputmode: &'static str,
}

/// How a field is drawn.
#[derive(Debug, Clone, Default)]
pub enum Kind {
    /// One line.
    #[default]
    Text,
    /// Several lines.
    Long,
    /// A number.
    Number,
    /// A code of digits, not shown.
    Code,
    /// A date.
    Date,
    /// Date and clock time.
    DateTime,
    /// Electronic mail.
    Email,
    /// Telephone.
    Tel,
    /// A file.
    File,
    /// Not drawn.
    Hidden,
    /// One of these, as tiles.
    Choice(Vec<Opt>),
    /// One of these, in a list that opens.
    Select(Vec<Opt>),
    /// Any of these, as tiles.
    Many(Vec<Opt>),
    /// Yes or not.
    Tick,
}

/// One of several.
#[derive(Debug, Clone, Default)]
pub struct Opt {
    /// What is sent.
    pub value: String,
    /// What is read.
    pub label: String,
    /// Chosen.
    pub chosen: bool,
}

/// Fields that belong together.
#[derive(Debug, Clone, Default)]
pub struct Fieldset {
    /// What they are about.
    pub legend: String,
    /// A sentence before them.
    pub intro: String,
    /// The fields.
    pub fields: Vec<Field>,
}

impl Field {
    /// With a hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }
    /// Must be answered.
    pub fn required(mut self) -> Self {
        self.required = true;
        self
    }
    /// A number with its unit.
    pub fn number(mut self, unit: impl Into<String>) -> Self {
        self.kind = Kind::Number;
        self.inputmode = "decimal";
        self.unit = unit.into();
        self
    }
    /// With the last value beside the label.
    pub fn last(mut self, last: impl Into<String>) -> Self {
        self.last = last.into();
        self
    }
    /// Drawn as.
    pub fn kind(mut self, kind: Kind) -> Self {
        self.kind = kind;
        self
    }
    /// The browser may fill it in.
    pub fn autocomplete(mut self, token: &'static str) -> Self {
        self.autocomplete = token;
        self
    }
}
