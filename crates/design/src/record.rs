//! The two declarations of the format: a record with its keys, and a choice of words.
//!
//! They are macros because one declaration must give a struct, its reader and its table of keys;
//! written thrice by hand the three would drift apart.

/// Declares a record: a struct with one field a key, its reader, and its table of keys.
///
/// A key is written with its description, its spelling, its field and its type, which is a
/// [`Given`](crate::Given) value, a [`List`](crate::List), or [`Named`](crate::Named) things.
macro_rules! record {
    ($(#[doc = $about:literal])* $name:ident {
        $($(#[doc = $key_about:literal])* $key:literal $field:ident: $type:ty,)*
    }) => {
        $(#[doc = $about])*
        #[derive(Debug, Clone, Default)]
        pub struct $name {
            /// Where the block stands.
            pub place: $crate::Place,
            /// Part of the block could not be read: stay silent about what is missing.
            pub broken: bool,
            /// The keys that are given and could not be read, whole or in part.
            pub unread: Vec<&'static str>,
            $($(#[doc = $key_about])* pub $field: $type,)*
        }

        impl $name {
            /// Whether a key is given and could not be read, so that what it says is not known.
            pub fn has_unread(&self, key: &str) -> bool {
                self.unread.iter().any(|unread| *unread == key)
            }

            /// The record as a table, for the schema, completion and hover.
            pub const INFO: $crate::RecordInfo = $crate::RecordInfo {
                name: stringify!($name),
                about: concat!($($about, "\n",)* ""),
                fields: &[$($crate::FieldInfo {
                    key: $key,
                    about: concat!($($key_about, "\n",)* ""),
                    shape: <$type as $crate::Field>::shape,
                },)*],
            };
        }

        impl $crate::Value for $name {
            const EMPTY_IS_A_BLOCK: bool = true;

            fn read(node: &yaml_tree::Node, reader: &mut $crate::Reader) -> Option<Self> {
                static INFO: $crate::RecordInfo = $name::INFO;
                let mut it = $name { place: node.place, broken: node.broken, ..Default::default() };
                let seen = reader.seen;
                reader.fields(node, &INFO, |reader, key, value| {
                    let seen = reader.seen;
                    let key = match key {
                        $($key => {
                            it.$field = $crate::Field::read(value, reader);
                            $key
                        })*
                        _ => return false,
                    };
                    if reader.seen > seen {
                        it.unread.push(key);
                    }
                    true
                });
                it.broken |= reader.seen > seen;
                Some(it)
            }

            fn shape() -> $crate::Shape {
                static INFO: $crate::RecordInfo = $name::INFO;
                $crate::Shape::Record(&INFO)
            }

            fn plain(&self) -> serde_json::Value {
                let all = [$(($key, $crate::Field::plain(&self.$field)),)*];
                all.into_iter().filter(|(_, value)| !value.is_null()).map(|(key, value)| (key.to_string(), value)).collect()
            }
        }

        impl $crate::Block for $name {
            fn is_broken(&self) -> bool {
                self.broken
            }

            fn has_unread(&self, key: &str) -> bool {
                self.has_unread(key)
            }

            fn plain_of(&self, key: &str) -> Option<serde_json::Value> {
                match key {
                    $($key => Some($crate::Field::plain(&self.$field)),)*
                    _ => None,
                }
            }
        }

        /// A block that is left out is one with no keys.
        impl $crate::Field for $name {
            fn read(node: &yaml_tree::Node, reader: &mut $crate::Reader) -> Self {
                <$name as $crate::Value>::read(node, reader).unwrap_or_default()
            }

            fn shape() -> $crate::Shape {
                <$name as $crate::Value>::shape()
            }

            fn plain(&self) -> serde_json::Value {
                $crate::Value::plain(self)
            }
        }
    };
}

/// Declares a choice of words: an enum, its reader, its words with their descriptions.
macro_rules! words {
    ($(#[doc = $about:literal])* $name:ident {
        $($(#[doc = $word_about:literal])* $word:literal $variant:ident,)*
    }) => {
        $(#[doc = $about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[doc = $word_about])* $variant,)* }

        impl $name {
            /// Every word with what it means.
            pub const WORDS: &'static [(&'static str, &'static str)] =
                &[$(($word, concat!($($word_about, "\n",)* "")),)*];

            /// Every one of them, in the order in which they are declared.
            pub const ALL: &'static [$name] = &[$($name::$variant,)*];

            /// The word as it is written in a design.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word,)* }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }

        impl $crate::Value for $name {
            fn read(node: &yaml_tree::Node, reader: &mut $crate::Reader) -> Option<Self> {
                let text = reader.text(node)?;
                match text {
                    $($word => Some($name::$variant),)*
                    _ => {
                        reader.unknown_word(node, Self::WORDS);
                        None
                    }
                }
            }

            fn shape() -> $crate::Shape {
                $crate::Shape::Word(Self::WORDS)
            }

            fn plain(&self) -> serde_json::Value {
                self.word().into()
            }
        }
    };
}

/// Says under which kind of name the records of a type stand.
macro_rules! named {
    ($($type:ty: $kind:ident),+ $(,)?) => {
        $(impl $crate::Nameable for $type { const KIND: $crate::Kind = $crate::Kind::$kind; })+
    };
}

pub(crate) use {named, record, words};
