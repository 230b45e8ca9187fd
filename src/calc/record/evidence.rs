//! What every piece of evidence carries, and the macro that writes it into each type once.

/// What every piece of evidence may carry.
pub trait Evidence {
    /// The id that findings point to it by.
    fn id(&self) -> Option<&str>;
    /// A later entry stands in its place: it does not count.
    fn superseded(&self) -> bool;
    /// Its time is approximate: the order of the list decides between equal times.
    fn approximate(&self) -> bool;
    /// The same under this id, its time approximate if it was or is said to be.
    fn named(self, id: &str, approximate: bool) -> Self
    where
        Self: Sized;
}

/// Whether a field says nothing and is left out of the JSON.
pub(super) fn absent<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// Declares a part of the record of which every key is optional, absent keys being left out when it is written.
macro_rules! section {
    ($(#[$doc:meta])* pub struct $name:ident { $($(#[$field_doc:meta])* pub $field:ident: $type:ty,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $(
                $(#[$field_doc])*
                #[serde(default, skip_serializing_if = "crate::record::evidence::absent")]
                pub $field: $type,
            )*
        }
    };
}

/// Declares a piece of evidence: a [`section!`] that also carries `id`, `superseded` and `approximate`.
macro_rules! evidence {
    ($(#[$doc:meta])* pub struct $name:ident { $($(#[$field_doc:meta])* pub $field:ident: $type:ty,)* }) => {
        section! {
            $(#[$doc])*
            pub struct $name {
                /// What findings point to it by; without one, its position in its list.
                pub id: Option<String>,
                $($(#[$field_doc])* pub $field: $type,)*
                /// A later entry stands in its place: it does not count.
                pub superseded: bool,
                /// Its time is approximate: the order of the list decides between equal times.
                pub approximate: bool,
            }
        }
        impl $crate::record::Evidence for $name {
            fn id(&self) -> Option<&str> {
                self.id.as_deref()
            }
            fn superseded(&self) -> bool {
                self.superseded
            }
            fn approximate(&self) -> bool {
                self.approximate
            }
            fn named(mut self, id: &str, approximate: bool) -> Self {
                self.id = Some(id.to_owned());
                self.approximate |= approximate;
                self
            }
        }
    };
}

/// Declares a closed set of words.
macro_rules! words {
    ($(#[$doc:meta])* pub enum $name:ident { $($(#[$word_doc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
        pub enum $name {
            $(
                $(#[$word_doc])*
                #[serde(rename = $word)]
                $variant,
            )+
        }
        impl $name {
            /// Every word of the set, in the order in which it is offered.
            pub const ALL: &[Self] = &[$(Self::$variant),+];
            /// The word as the record writes it.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
        impl std::str::FromStr for $name {
            type Err = crate::units::QuantityError;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::ALL.iter().copied().find(|word| word.word() == text).ok_or_else(|| {
                    crate::units::QuantityError::new(format!(
                        "{text:?} is none of {}",
                        Self::ALL.iter().map(|word| word.word()).collect::<Vec<_>>().join(", ")
                    ))
                })
            }
        }
    };
}
