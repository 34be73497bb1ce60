//! Reads single values, saying what was expected.

use crate::log::Log;
use crate::near::{listed, nearest};
use loomwright_model::gear::UnknownWord;
use loomwright_model::net::NetError;
use loomwright_model::plan::{Addressing, Carries, Mode, RouterMode};
use loomwright_model::units::UnitError;
use loomwright_model::{
    BitRate, ByteCount, ClockSupport, Dscp, Frequency, GearKind, Hours, Id, InterfaceAddress, Length, Medium, Money, Pairing, PortRef,
    Power, Share, SpanningTree, Subnet, Survive, Time, VlanId,
};
use std::net::Ipv4Addr;
use toml::Spanned;
use toml::de::DeValue;

/// A value with its place in the file.
pub(crate) type Value<'i> = Spanned<DeValue<'i>>;

/// A type that one value of a file can be read into. Problems go to the log.
pub(crate) trait Readable: Sized {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self>;
}

/// What sort of value it is, in plain words.
pub(crate) fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// Reports a value of the wrong sort.
pub(crate) fn wrong_type(value: &Value<'_>, expected: &str, help: impl Into<String>, log: &mut Log) {
    let message = format!("{expected} is expected here, not {}", kind_of(value.get_ref()));
    log.at(value.span()).add("plan/wrong-type", message, help);
}

/// A text, or a problem that says what text was expected.
pub(crate) fn text<'v>(value: &'v Value<'_>, example: &str, log: &mut Log) -> Option<&'v str> {
    if let DeValue::String(text) = value.get_ref() {
        return Some(text);
    }
    wrong_type(value, "a text in quotes", format!("write it like this: {example}"), log);
    None
}

impl Readable for String {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        text(value, "\"some text\"", log).map(str::to_owned)
    }
}

impl Readable for bool {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        if let DeValue::Boolean(flag) = value.get_ref() {
            return Some(*flag);
        }
        wrong_type(value, "true or false", "write `true` or `false`, without quotes", log);
        None
    }
}

impl Readable for Id {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        let text = text(value, "\"name\"", log)?;
        Self::new(text).map_err(|error| log.at(value.span()).add("plan/bad-name", error.to_string(), NAME_HELP)).ok()
    }
}

/// What a name may be made of.
pub(crate) const NAME_HELP: &str = "use letters and digits of any script, `-`, `_` and `.`, and no spaces";

impl Readable for PortRef {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        let text = text(value, "\"foh-desk/1\"", log)?;
        let help = "write the item, a slash and the port's name, for example \"foh-desk/1\"";
        text.parse().map_err(|error| log.at(value.span()).add("plan/bad-port-name", format!("{error}"), help)).ok()
    }
}

/// The number and its unit as given in a type's own example (`a length such as "24 m"`).
fn example_unit(expected: &str) -> &str {
    expected.split('"').nth(1).and_then(|example| example.split_once(' ')).map_or("", |(_, unit)| unit)
}

fn bare_number<T>(value: &Value<'_>, number: &str, expected: &str, log: &mut Log) -> Option<T> {
    let (code, message) = match number {
        _ if is_odd(number) => ("plan/not-a-number", format!("`{number}` is not a number; expected {expected}")),
        _ if number.starts_with('-') => ("plan/negative", format!("`{number}` is negative; expected {expected}")),
        _ => ("plan/missing-unit", format!("`{number}` has no unit; expected {expected}")),
    };
    let unit = example_unit(expected);
    let help = match code {
        "plan/missing-unit" => format!("write the number with its unit in quotes, for example \"{number} {unit}\" if {unit} is meant"),
        _ => format!("write {expected}"),
    };
    log.at(value.span()).add(code, message, help);
    None
}

fn is_odd(number: &str) -> bool {
    number.parse::<f64>().is_ok_and(|number| !number.is_finite())
}

fn quantity<T: std::str::FromStr<Err = UnitError>>(value: &Value<'_>, expected: &str, log: &mut Log) -> Option<T> {
    match value.get_ref() {
        DeValue::String(text) => text.parse().map_err(|error| unit_problem(value.span(), text, &error, log)).ok(),
        DeValue::Integer(number) => bare_number(value, number.as_str(), expected, log),
        DeValue::Float(number) => bare_number(value, number.as_str(), expected, log),
        _ => {
            wrong_type(value, expected, "write the number and its unit in quotes", log);
            None
        }
    }
}

pub(crate) fn unit_problem(span: std::ops::Range<usize>, text: &str, error: &UnitError, log: &mut Log) {
    let unit = example_unit(error.expected);
    let (code, help) = match error.reason {
        "the unit is missing" => {
            ("plan/missing-unit", format!("write the unit after the number, for example \"{} {unit}\" if {unit} is meant", text.trim()))
        }
        "this unit is not known here" => ("plan/wrong-unit", unit_help(text, error)),
        "a negative quantity makes no sense here" => ("plan/negative", format!("write {}", error.expected)),
        _ => ("plan/not-a-number", format!("write {}", error.expected)),
    };
    log.at(span).add(code, format!("`{}`: {}; expected {}", error.found, error.reason, error.expected), help);
}

fn unit_help(text: &str, error: &UnitError) -> String {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.' || c == ' ').trim();
    match error.units.iter().find(|known| known.eq_ignore_ascii_case(unit)) {
        Some(known) => format!("write the unit `{known}`: capitals matter"),
        None => format!("use one of these units: {}", error.units.join(", ")),
    }
}

macro_rules! quantities {
    ($($name:ident),+) => { $(
        impl Readable for $name {
            fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
                quantity(value, Self::EXPECTED, log)
            }
        }
    )+ };
}
quantities!(BitRate, ByteCount, Frequency, Length, Power, Hours, Time);

fn word<T: std::str::FromStr<Err = UnknownWord>>(value: &Value<'_>, known: &[&'static str], log: &mut Log) -> Option<T> {
    let example = format!("one of {}", listed(known.iter().copied(), 12).replace('`', "\""));
    let text = text(value, &example, log)?;
    let report = |_| {
        let help =
            nearest(text, known.iter().copied()).map_or_else(|| format!("write {example}"), |near| format!("did you mean \"{near}\"?"));
        log.at(value.span()).add("plan/unknown-word", format!("`{text}` is not one of: {}", known.join(", ")), help);
    };
    text.parse().map_err(report).ok()
}

macro_rules! word_types {
    ($($name:ident),+) => { $(
        impl Readable for $name {
            fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
                let known: Vec<&'static str> = Self::ALL.iter().map(|word| word.word()).collect();
                word(value, &known, log)
            }
        }
    )+ };
}
word_types!(Addressing, Carries, ClockSupport, GearKind, Medium, Mode, Pairing, RouterMode, SpanningTree, Survive);

fn address<T: std::str::FromStr<Err = NetError>>(value: &Value<'_>, example: &str, log: &mut Log) -> Option<T> {
    let text = text(value, example, log)?;
    text.parse()
        .map_err(|error: NetError| {
            log.at(value.span()).add("plan/bad-address", error.to_string(), format!("write it like this: {example}"))
        })
        .ok()
}

impl Readable for Subnet {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        address(value, "\"10.10.0.0/22\"", log)
    }
}

impl Readable for InterfaceAddress {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        address(value, "\"10.10.1.11/22\"", log)
    }
}

impl Readable for Ipv4Addr {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        let text = text(value, "\"239.192.10.1\"", log)?;
        let message = || format!("`{text}` is not an IPv4 address");
        text.parse()
            .map_err(|_| {
                log.at(value.span()).add(
                    "plan/bad-address",
                    message(),
                    "write four numbers from 0 to 255 with dots, for example \"239.192.10.1\"",
                )
            })
            .ok()
    }
}

/// A whole number within `range`.
pub(crate) fn whole(value: &Value<'_>, range: std::ops::RangeInclusive<i64>, log: &mut Log) -> Option<i64> {
    let (least, most) = (range.start(), range.end());
    let help = format!("write a whole number from {least} to {most}");
    let DeValue::Integer(number) = value.get_ref() else {
        match value.get_ref() {
            DeValue::Float(float) if is_odd(float.as_str()) => {
                log.at(value.span()).add("plan/not-a-number", format!("`{}` is not a number", float.as_str()), help);
            }
            _ => wrong_type(value, "a whole number without quotes or unit", help, log),
        }
        return None;
    };
    match i64::from_str_radix(number.as_str(), number.radix()) {
        Ok(number) if range.contains(&number) => Some(number),
        Ok(number) if number < 0 && *least >= 0 => {
            log.at(value.span()).add("plan/negative", format!("`{number}` is negative"), help);
            None
        }
        _ => {
            log.at(value.span()).add("plan/out-of-range", format!("`{number}` is outside {least} to {most}"), help);
            None
        }
    }
}

impl Readable for u32 {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        whole(value, 0..=i64::from(Self::MAX), log).and_then(|number| Self::try_from(number).ok())
    }
}

impl Readable for u8 {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        whole(value, 0..=i64::from(Self::MAX), log).and_then(|number| Self::try_from(number).ok())
    }
}

impl Readable for VlanId {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        whole(value, 1..=4094, log).and_then(|number| Self::new(number).ok())
    }
}

impl Readable for Dscp {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        whole(value, 0..=63, log).and_then(|number| Self::new(number).ok())
    }
}

/// A plain finite number, whole or not.
pub(crate) fn number(value: &Value<'_>, help: &str, log: &mut Log) -> Option<f64> {
    let number = match value.get_ref() {
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).ok().map(|number| number as f64),
        DeValue::Float(number) => number.as_str().parse().ok(),
        _ => {
            wrong_type(value, "a plain number", help, log);
            return None;
        }
    };
    let finite = number.filter(|number: &f64| number.is_finite());
    if finite.is_none() {
        log.at(value.span()).add("plan/not-a-number", "this is not a number that can be used", help);
    }
    finite
}

impl Readable for Share {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        let help = "write a share from 0 to 1 without quotes, for example 0.75 for 75 %";
        let number = number(value, help, log)?;
        let code = if number < 0.0 { "plan/negative" } else { "plan/out-of-range" };
        Self::from_fraction(number).or_else(|| {
            log.at(value.span()).add(code, format!("`{number}` is not a share from 0 to 1"), help);
            None
        })
    }
}

impl Readable for Money {
    fn read(value: &Value<'_>, log: &mut Log) -> Option<Self> {
        let help = "write a plain number without quotes or currency, for example 900 or 12.50";
        let number = number(value, help, log)?;
        let code = if number < 0.0 { "plan/negative" } else { "plan/out-of-range" };
        if (0.0..=MOST_MONEY).contains(&number) {
            return Some(Self::from_hundredths((number * 100.0).round() as u64));
        }
        log.at(value.span()).add(code, format!("`{number}` is not a sum of money that can be used"), help);
        None
    }
}

/// Largest sum that a price may have: one thousand million. Own choice, far above any gear, far below rounding trouble.
const MOST_MONEY: f64 = 1e9;
