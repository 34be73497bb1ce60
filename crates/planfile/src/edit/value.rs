//! Values as an edit gives them.

use crate::print::{key, quoted};
use toml::de::DeValue;

/// A new value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A text, such as a name or a quantity with its unit.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number with a point. **Range**: finite; anything else is written as 0.
    Decimal(f64),
    /// True or false.
    Flag(bool),
    /// A date as written, `2026-05-02`, without quotes.
    Date(String),
    /// A list.
    List(Vec<Value>),
    /// An inline table.
    Table(Vec<(String, Value)>),
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl Value {
    /// A list of texts.
    pub fn texts<T: AsRef<str>>(items: impl IntoIterator<Item = T>) -> Self {
        Self::List(items.into_iter().map(|item| Self::from(item.as_ref())).collect())
    }

    /// As it stands in a file.
    pub(crate) fn written(&self) -> String {
        match self {
            Self::Text(text) => quoted(text),
            Self::Whole(number) => number.to_string(),
            Self::Decimal(number) if !number.is_finite() => "0.0".to_owned(),
            Self::Decimal(number) => format!("{number:?}"),
            Self::Flag(flag) => flag.to_string(),
            Self::Date(date) if date.parse::<toml::value::Datetime>().is_ok() => date.clone(),
            Self::Date(date) => quoted(date),
            Self::List(items) => format!("[{}]", items.iter().map(Self::written).collect::<Vec<_>>().join(", ")),
            Self::Table(keys) if keys.is_empty() => "{}".to_owned(),
            Self::Table(keys) => {
                let pairs: Vec<String> = keys.iter().map(|(name, value)| format!("{} = {}", key(name), value.written())).collect();
                format!("{{ {} }}", pairs.join(", "))
            }
        }
    }

    /// Whether a value in a file already says the same, however it is spelt.
    pub(crate) fn is_said_by(&self, old: &DeValue<'_>) -> bool {
        match (self, old) {
            (Self::Text(new), DeValue::String(old)) => new == old,
            (Self::Whole(new), DeValue::Integer(old)) => i64::from_str_radix(old.as_str(), old.radix()).is_ok_and(|old| old == *new),
            (Self::Decimal(new), DeValue::Float(old)) => old.as_str().parse::<f64>().is_ok_and(|old| old == *new),
            (Self::Flag(new), DeValue::Boolean(old)) => new == old,
            (Self::Date(new), DeValue::Datetime(old)) => *new == old.to_string(),
            (Self::List(new), DeValue::Array(old)) => {
                new.len() == old.len() && new.iter().zip(old.iter()).all(|(new, old)| new.is_said_by(old.get_ref()))
            }
            (Self::Table(new), DeValue::Table(old)) => {
                new.len() == old.len()
                    && new.iter().all(|(key, new)| old.get(key.as_str()).is_some_and(|old| new.is_said_by(old.get_ref())))
            }
            _ => false,
        }
    }
}
