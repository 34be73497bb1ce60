//! Exact reading and printing of decimal numbers with a unit.

use std::fmt;

/// Why a quantity could not be read. The text says what was expected, for the person who wrote it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitError {
    /// What stood there.
    pub found: String,
    /// What kind of quantity was wanted, with an example (`a length such as "24 m"`).
    pub expected: &'static str,
    /// Units that are understood, smallest first.
    pub units: Vec<&'static str>,
    /// What was wrong, as a clause without full stop.
    pub reason: &'static str,
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}`: {}; expected {}", self.found, self.reason, self.expected)?;
        if !self.units.is_empty() {
            write!(f, " (units: {})", self.units.join(", "))?;
        }
        Ok(())
    }
}

impl std::error::Error for UnitError {}

/// One unit of a quantity: its name and how many base units it holds.
pub(super) type Unit = (&'static str, u64);

/// Reads `"<number> <unit>"` into base units, rounding half up where the base unit is coarser.
pub(super) fn read(text: &str, units: &[Unit], expected: &'static str) -> Result<u64, UnitError> {
    let fail = |reason| UnitError { found: text.trim().to_owned(), expected, units: units.iter().map(|(name, _)| *name).collect(), reason };
    let text = text.trim();
    if text.starts_with('-') {
        return Err(fail("a negative quantity makes no sense here"));
    }
    let split = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    if number.is_empty() {
        return Err(fail("no number at the start"));
    }
    let unit = unit.trim().replace(['µ', 'μ'], "u");
    if unit.is_empty() {
        return Err(fail("the unit is missing"));
    }
    let Some((_, factor)) = units.iter().find(|(name, _)| *name == unit) else {
        return Err(fail("this unit is not known here"));
    };
    scale(number, *factor).ok_or_else(|| fail("not a number that fits"))
}

/// `number * factor`, exactly, rounded half up; `None` when malformed or too large.
pub(super) fn scale(number: &str, factor: u64) -> Option<u64> {
    let (whole, fraction) = number.split_once('.').unwrap_or((number, ""));
    if whole.is_empty() || fraction.contains('.') || (number.contains('.') && fraction.is_empty()) {
        return None;
    }
    let whole: u128 = whole.parse().ok()?;
    let fraction = &fraction[..fraction.len().min(18)];
    let ten = 10u128.pow(u32::try_from(fraction.len()).ok()?);
    let fraction: u128 = if fraction.is_empty() { 0 } else { fraction.parse().ok()? };
    let factor = u128::from(factor);
    let total = whole.checked_mul(factor)?.checked_add((fraction * factor + ten / 2) / ten)?;
    u64::try_from(total).ok()
}

/// Prints base units in the largest unit that leaves at least 1, with up to `digits` decimals.
pub(super) fn write(f: &mut fmt::Formatter<'_>, value: u64, units: &[Unit], digits: u32) -> fmt::Result {
    let (name, factor) = units.iter().rev().find(|(_, factor)| value >= *factor).or(units.first()).copied().unwrap_or(("", 1));
    let scale = 10u128.pow(digits);
    let scaled = (u128::from(value) * scale + u128::from(factor) / 2) / u128::from(factor);
    let (whole, fraction) = (scaled / scale, scaled % scale);
    if fraction == 0 {
        return write!(f, "{whole} {name}");
    }
    let fraction = format!("{fraction:0width$}", width = digits as usize);
    write!(f, "{whole}.{} {name}", fraction.trim_end_matches('0'))
}
