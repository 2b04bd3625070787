//! How a value of a JSON file of ours (a model, a mapping) is read and written: one trait, and the macros that implement it for objects,
//! for values that are named by their only key, and for words.
//!
//! The reader goes on after a problem, so that all problems of a file are reported at once, each at its place.

use super::document::Document;
use super::json::Json;
use super::suggest;
use crate::problem::{Finding, Path, Problem, Severity};
use crate::quantity::{Dimension, Quantity};
use jsonc_parser::ast::Object;
pub use jsonc_parser::ast::Value;

/// A value of the model file.
pub trait Typed: Sized {
    /// Reads the value at `reader`'s path. `None` if it cannot be had; the problem is noted then.
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self>;

    /// The way back; `None` leaves the key out.
    fn write(&self) -> Option<Json>;

    /// What an absent key means; `None` if it is required.
    fn absent() -> Option<Self> {
        None
    }
}

/// The form with one key that says what it is.
pub trait Tagged: Sized {
    /// Reads `{"tag": ...}`.
    fn read_tagged(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self>;

    /// The way back.
    fn write_tagged(&self) -> Option<Json>;
}

/// Reads values and notes problems, each with its place.
pub struct Reader<'d, 't> {
    document: &'d Document<'t>,
    /// Where it is.
    pub path: Path,
    /// What was noted so far.
    pub problems: Vec<Problem>,
}

impl<'d, 't> Reader<'d, 't> {
    /// At the root of a document.
    #[must_use]
    pub fn new(document: &'d Document<'t>) -> Self {
        Self { document, path: Path::default(), problems: Vec::new() }
    }

    /// Notes a problem with the value at the present path, and gives `None`.
    pub fn refuse<T>(&mut self, what: impl Into<String>, hint: impl Into<String>) -> Option<T> {
        let finding = Finding {
            severity: Severity::Error,
            path: self.path.clone(),
            what: what.into(),
            hint: hint.into(),
        };
        self.problems.push(self.document.locate(finding));
        None
    }

    /// Refuses a value that is not of the kind that is due.
    pub fn refuse_kind<T>(&mut self, due: &str, value: &Value<'_>, hint: impl Into<String>) -> Option<T> {
        self.refuse(format!("{due} is due here, not {}", in_words(value)), hint)
    }

    /// Reads the element at `place` or the value of a key, with the path one step longer.
    fn within<T>(&mut self, path: Path, read: impl FnOnce(&mut Self) -> Option<T>) -> Option<T> {
        let before = std::mem::replace(&mut self.path, path);
        let result = read(self);
        self.path = before;
        result
    }

    /// The object at the present path; unknown and repeated keys are noted.
    pub fn object<'v, 'a>(&mut self, value: &'v Value<'a>, known: &[&str]) -> Option<&'v Object<'a>> {
        let Value::Object(object) = value else {
            return self.refuse_kind("an object { ... }", value, format!("its keys: {}", known.join(", ")));
        };
        for (place, property) in object.properties.iter().enumerate() {
            let name = property.name.as_str();
            let path = self.path.key(name);
            if !known.contains(&name) {
                self.at_name(property, path, format!("unknown key \"{name}\""), suggest::hint(name, known));
            } else if object.properties[..place].iter().any(|before| before.name.as_str() == name) {
                self.at_name(
                    property,
                    path,
                    format!("\"{name}\" stands here a second time"),
                    "keep one of the two".into(),
                );
            }
        }
        Some(object)
    }

    /// Notes a problem with the name of a key.
    pub fn at_name(
        &mut self,
        property: &jsonc_parser::ast::ObjectProp<'_>,
        path: Path,
        what: String,
        hint: String,
    ) {
        use jsonc_parser::common::Ranged;
        let finding = Finding { severity: Severity::Error, path, what, hint };
        self.problems.push(self.document.at(property.name.range(), finding));
    }

    /// The value of a key of `object`.
    pub fn field<T: Typed>(&mut self, object: &Object<'_>, key: &str) -> Option<T> {
        let path = self.path.key(key);
        match object.properties.iter().find(|property| property.name.as_str() == key) {
            Some(property) => self.within(path, |reader| T::read(&property.value, reader)),
            None => T::absent().or_else(|| {
                self.within(path, |reader| {
                    reader.refuse(format!("\"{key}\" is missing"), "it has no default")
                })
            }),
        }
    }

    /// The only key of an object that names what its value is (`{"lognormal": {...}}`), and that value.
    pub fn tagged<'v, 'a>(
        &mut self,
        what: &str,
        value: &'v Value<'a>,
        known: &[&str],
    ) -> Option<(&'v str, &'v Value<'a>)> {
        let hint = format!("known here: {}", known.join(", "));
        let Value::Object(object) = value else {
            return self.refuse_kind(&format!("{what}, an object with one key,"), value, hint);
        };
        match object.properties.as_slice() {
            [] => self.refuse(format!("{what} is due here, and the object is empty"), hint),
            [property] if known.contains(&property.name.as_str()) => {
                Some((property.name.as_str(), &property.value))
            }
            [property] => {
                let name = property.name.as_str();
                let path = self.path.key(name);
                self.at_name(property, path, format!("\"{name}\" is no {what}"), suggest::hint(name, known));
                None
            }
            [first, second, ..] => {
                let (one, other) = (first.name.as_str(), second.name.as_str());
                let path = self.path.key(other);
                let what = format!("{what} is named by one key, and here are \"{one}\" and \"{other}\"");
                self.at_name(second, path, what, "keep one; its details stand within it".into());
                None
            }
        }
    }

    /// Reads what stands under a tag.
    pub fn under<T: Typed>(&mut self, tag: &str, value: &Value<'_>) -> Option<T> {
        let path = self.path.key(tag);
        self.within(path, |reader| T::read(value, reader))
    }
}

/// A value in words, for "not ...".
pub fn in_words(value: &Value<'_>) -> String {
    match value {
        Value::StringLit(text) if text.value.chars().count() <= 40 => format!("\"{}\"", text.value),
        Value::StringLit(_) => "a text".to_owned(),
        Value::NumberLit(number) if number.value.len() <= 40 => number.value.to_owned(),
        Value::NumberLit(_) => "a number".to_owned(),
        Value::BooleanLit(truth) => truth.value.to_string(),
        Value::Object(_) => "an object".to_owned(),
        Value::Array(_) => "a list".to_owned(),
        Value::NullKeyword(_) => "null".to_owned(),
    }
}

impl Typed for String {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::StringLit(text) => Some(text.value.clone().into_owned()),
            _ => reader.refuse_kind("a text in double quotes", value, ""),
        }
    }
    fn write(&self) -> Option<Json> {
        Some(Json::Text(self.clone()))
    }
}

impl Typed for bool {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::BooleanLit(truth) => Some(truth.value),
            _ => reader.refuse_kind("true or false", value, ""),
        }
    }
    fn write(&self) -> Option<Json> {
        Some(Json::Bare(self.to_string()))
    }
}

impl Typed for f64 {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let Value::NumberLit(number) = value else {
            return reader.refuse_kind("a bare number", value, "counts and shape figures have no unit");
        };
        match number.value.parse::<Self>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                reader.refuse::<()>(format!("{} is too large a number", in_words(value)), "");
                Some(Self::NAN)
            }
        }
    }
    fn write(&self) -> Option<Json> {
        Some(Json::Bare(self.to_string()))
    }
}

impl Typed for u32 {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let Value::NumberLit(number) = value else {
            return reader.refuse_kind("a count", value, "write a whole number without quotes");
        };
        let count = number.value.parse::<f64>().unwrap_or(f64::NAN);
        if count < 0.0 {
            reader.refuse(format!("{} is below 0", in_words(value)), "a count is a whole number from 0")
        } else if count.fract() != 0.0 || !count.is_finite() {
            reader
                .refuse(format!("{} is no whole number", in_words(value)), "a count is a whole number from 0")
        } else if count > f64::from(LARGEST_COUNT) {
            reader.refuse(
                format!("{} is too large a count", in_words(value)),
                format!("at most {LARGEST_COUNT}"),
            )
        } else {
            Some(count as Self)
        }
    }
    fn write(&self) -> Option<Json> {
        Some(Json::Bare(self.to_string()))
    }
}

/// Largest count that a model file may name.
pub const LARGEST_COUNT: u32 = 1_000_000_000;

impl<D: Dimension> Typed for Quantity<D> {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::StringLit(text) => Self::parse(&text.value).map_err(|error| {
                reader.refuse::<()>(error.what, error.hint);
            }),
            Value::NumberLit(number) => {
                let (n, unit) = (number.value, D::KIND.usual());
                reader.refuse::<()>("a unit is missing", format!("write \"{n}{unit}\", not {n}"));
                Err(())
            }
            _ => {
                let due = format!("{} with its unit", D::KIND.with_article());
                reader.refuse_kind::<()>(&due, value, format!("as in \"{}\"", D::EXAMPLES[0]));
                Err(())
            }
        }
        .map_or(Some(Self::unreadable()), Some)
    }
    fn write(&self) -> Option<Json> {
        Some(Json::Text(self.to_string()))
    }
}

impl<T: Typed> Typed for Option<T> {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        T::read(value, reader).map(Some)
    }
    fn write(&self) -> Option<Json> {
        self.as_ref().and_then(T::write)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
}

impl<T: Typed> Typed for Box<T> {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        T::read(value, reader).map(Self::new)
    }
    fn write(&self) -> Option<Json> {
        T::write(self)
    }
    fn absent() -> Option<Self> {
        T::absent().map(Self::new)
    }
}

impl<T: Typed> Typed for Vec<T> {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let Value::Array(list) = value else {
            return reader.refuse_kind("a list [ ... ]", value, "");
        };
        let read: Vec<Option<T>> = list
            .elements
            .iter()
            .enumerate()
            .map(|(place, element)| {
                let path = reader.path.element(place);
                reader.within(path, |reader| T::read(element, reader))
            })
            .collect();
        read.into_iter().collect()
    }
    fn write(&self) -> Option<Json> {
        Some(Json::List(self.iter().filter_map(T::write).collect()))
    }
}

/// The key of a field: the stated one, or the field's name.
pub const fn key_of(name: &'static str, stated: &[&'static str]) -> &'static str {
    if let [key] = stated { key } else { name }
}

/// Declares an object of the model file. `pub field: Type` has its name as key, `pub field = "key": Type` another;
/// an `Option` may be left out.
#[macro_export]
macro_rules! spec_object {
    ($(#[$meta:meta])* pub struct $name:ident $(<$g:ident>)? {
        $($(#[$field_meta:meta])* pub $field:ident $(= $key:literal)?: $ty:ty,)*
    }) => {
        #[derive(Clone, Debug, PartialEq, schemars::JsonSchema)]
        $(#[$meta])*
        #[schemars(deny_unknown_fields)]
        pub struct $name $(<$g>)? {
            $($(#[$field_meta])* $(#[schemars(rename = $key)])? pub $field: $ty,)*
        }

        impl $(<$g: $crate::spec::typed::Typed>)? $crate::spec::typed::Typed for $name $(<$g>)? {
            fn read(
                value: &$crate::spec::typed::Value<'_>,
                reader: &mut $crate::spec::typed::Reader<'_, '_>,
            ) -> Option<Self> {
                let keys = [$($crate::spec::typed::key_of(stringify!($field), &[$($key)?])),*];
                let object = reader.object(value, &keys)?;
                $(let $field = reader.field(
                    object,
                    $crate::spec::typed::key_of(stringify!($field), &[$($key)?]),
                );)*
                Some(Self { $($field: $field?),* })
            }
            fn write(&self) -> Option<$crate::spec::json::Json> {
                let entries = [$((
                    $crate::spec::typed::key_of(stringify!($field), &[$($key)?]),
                    $crate::spec::typed::Typed::write(&self.$field),
                )),*];
                let present = entries.into_iter().filter_map(|(key, value)| Some((key, value?)));
                Some($crate::spec::json::Json::Object(present.collect()))
            }
        }
    };
}
pub use crate::spec_object;

/// Declares a value that is an object with one key, which says what it is: `{"lognormal": {...}}`.
#[macro_export]
macro_rules! spec_tagged {
    ($(#[$meta:meta])* pub enum $name:ident $(<$g:ident>)? called $what:literal {
        $($(#[$variant_meta:meta])* $variant:ident = $tag:literal ($ty:ty),)*
    }) => {
        #[derive(Clone, Debug, PartialEq, schemars::JsonSchema)]
        $(#[$meta])*
        pub enum $name $(<$g>)? {
            $($(#[$variant_meta])* #[schemars(rename = $tag)] $variant($ty),)*
        }

        impl $(<$g>)? $name $(<$g>)? {
            /// The key that names what this is.
            #[must_use]
            pub fn tag(&self) -> &'static str {
                match self { $(Self::$variant(_) => $tag,)* }
            }
        }

        impl $(<$g: $crate::spec::typed::Typed>)? $crate::spec::typed::Tagged for $name $(<$g>)? {
            fn read_tagged(
                value: &$crate::spec::typed::Value<'_>,
                reader: &mut $crate::spec::typed::Reader<'_, '_>,
            ) -> Option<Self> {
                let (tag, inner) = reader.tagged($what, value, &[$($tag),*])?;
                match tag {
                    $($tag => reader.under(tag, inner).map(Self::$variant),)*
                    _ => None,
                }
            }
            fn write_tagged(&self) -> Option<$crate::spec::json::Json> {
                let inner = match self {
                    $(Self::$variant(inner) => $crate::spec::typed::Typed::write(inner),)*
                }?;
                Some($crate::spec::json::Json::Object(vec![(self.tag(), inner)]))
            }
        }
    };
}
pub use crate::spec_tagged;

/// Implements [`Typed`] for values declared by `spec_tagged!` that have no other form.
#[macro_export]
macro_rules! typed_by_tag {
    ($($name:ident $(<$g:ident>)?),*) => {$(
        impl $(<$g: $crate::spec::typed::Typed>)? $crate::spec::typed::Typed for $name $(<$g>)? {
            fn read(
                value: &$crate::spec::typed::Value<'_>,
                reader: &mut $crate::spec::typed::Reader<'_, '_>,
            ) -> Option<Self> {
                $crate::spec::typed::Tagged::read_tagged(value, reader)
            }
            fn write(&self) -> Option<$crate::spec::json::Json> {
                $crate::spec::typed::Tagged::write_tagged(self)
            }
        }
    )*};
}
pub use crate::typed_by_tag;

/// Declares a value that is one of a few words.
#[macro_export]
macro_rules! spec_words {
    ($(#[$meta:meta])* pub enum $name:ident { $($(#[$variant_meta:meta])* $variant:ident = $word:literal,)* }) => {
        #[derive(Clone, Copy, Debug, PartialEq, Eq, schemars::JsonSchema)]
        $(#[$meta])*
        pub enum $name {
            $($(#[$variant_meta])* #[schemars(rename = $word)] $variant,)*
        }

        impl $crate::spec::typed::Typed for $name {
            fn read(
                value: &$crate::spec::typed::Value<'_>,
                reader: &mut $crate::spec::typed::Reader<'_, '_>,
            ) -> Option<Self> {
                let known = [$($word),*];
                let $crate::spec::typed::Value::StringLit(text) = value else {
                    return reader.refuse_kind("a word", value, format!("one of {}", known.join(", ")));
                };
                match text.value.as_ref() {
                    $($word => Some(Self::$variant),)*
                    other => reader.refuse(
                        format!("\"{other}\" is not known here"),
                        $crate::spec::suggest::hint(other, &known),
                    ),
                }
            }
            fn write(&self) -> Option<$crate::spec::json::Json> {
                let word = match self { $(Self::$variant => $word,)* };
                Some($crate::spec::json::Json::Text(word.to_owned()))
            }
        }
    };
}
pub use crate::spec_words;
