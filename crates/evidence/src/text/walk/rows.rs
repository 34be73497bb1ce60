//! Rows of a walk as programs print and record them.
//!
//! **Shape**: `NUMBER = KIND: VALUE`, where the number may begin with a name, a text may go on over lines, and octets that are no text
//! are printed as hexadecimal pairs, also over lines. A record is `NUMBER|TAG|VALUE`, the tag with `x` for hexadecimal.

use super::names;
use super::tree::{Tree, Value};
use crate::seen::Spot;

/// What a value that is not there is called. **Source**: RFC 3416 section 4.2.1, in the words programs print.
const MISSING: [&str; 3] = ["No Such Object", "No Such Instance", "No more variables"];
/// Longest value that is joined from lines. **Unit**: octet. **Source**: own choice.
const LONGEST: usize = 1 << 20;

type Read = (Tree, Vec<(Spot, &'static str)>);

/// Reads what a walk printed.
pub fn walk(text: &str) -> Read {
    let mut names = names::Names::default();
    let mut tree = Tree::default();
    let mut wrong = Vec::new();
    let mut waiting: Option<(String, String, Spot)> = None;
    let mut finish = |row: Option<(String, String, Spot)>, wrong: &mut Vec<(Spot, &'static str)>| {
        let Some((number, told, spot)) = row else { return };
        match names.number(&number) {
            Some(number) => tree.add(number, value(&told), spot),
            None => wrong.push((spot, "a row under a name that is not known here")),
        }
    };
    for (n, line) in text.lines().enumerate() {
        let spot = super::super::line_number(n);
        match begins(line) {
            Some((number, told)) => {
                let begun = (number.to_owned(), told.to_owned(), spot);
                finish(waiting.replace(begun), &mut wrong);
            }
            None => match &mut waiting {
                Some((_, told, _)) if told.len() < LONGEST => {
                    told.push('\n');
                    told.push_str(line);
                }
                Some(_) => {}
                None if line.trim().is_empty() => {}
                None => wrong.push((spot, "a line that is no row")),
            },
        }
    }
    finish(waiting, &mut wrong);
    (tree, wrong)
}

/// A row's number and the rest, if the line begins one.
fn begins(line: &str) -> Option<(&str, &str)> {
    let (number, told) = line.split_once(" = ").or_else(|| Some((line.strip_suffix(" =")?, "")))?;
    let number = number.trim();
    let first = number.bytes().next()?;
    let looks_right = !number.contains(' ') || number.contains('\'') || number.contains('"');
    let is_number = first == b'.' || first.is_ascii_digit() || number.starts_with("iso.") || number.contains("::");
    (looks_right && is_number && number.contains('.')).then_some((number, told))
}

fn value(told: &str) -> Value {
    let told = told.trim_start();
    let told = told.strip_prefix("Wrong Type").and_then(|rest| rest.split_once("): ")).map_or(told, |(_, rest)| rest);
    if MISSING.iter().any(|missing| told.starts_with(missing)) {
        return Value::Other;
    }
    let (kind, rest) = told.split_once(':').map_or(("", told), |(kind, rest)| (kind.trim(), rest.strip_prefix(' ').unwrap_or(rest)));
    match kind {
        "STRING" => Value::Octets(string(rest)),
        "Hex-STRING" | "BITS" => Value::Octets(hexadecimal(rest)),
        "INTEGER" | "Gauge32" | "Counter32" | "Counter64" | "Unsigned32" | "Timeticks" | "UInteger32" => number(rest),
        "IpAddress" => rest.trim().parse::<std::net::Ipv4Addr>().map_or(Value::Other, |address| Value::Octets(address.octets().to_vec())),
        "Network Address" => Value::Octets(rest.split(':').filter_map(|pair| u8::from_str_radix(pair.trim(), 16).ok()).collect()),
        "OID" | "Opaque" => Value::Other,
        _ if told.starts_with('"') => Value::Octets(string(told)),
        _ => number(told),
    }
}

/// A text without its quotes; a quote inside has a backslash before it.
fn string(told: &str) -> Vec<u8> {
    let inner = told.trim_end_matches(['\r', '\n']);
    match inner.strip_prefix('"') {
        Some(rest) => rest.strip_suffix('"').unwrap_or(rest).replace("\\\"", "\"").replace("\\\\", "\\").into_bytes(),
        None => inner.as_bytes().to_vec(),
    }
}

/// Pairs of digits; what follows them, such as the names of bits, is left out.
fn hexadecimal(told: &str) -> Vec<u8> {
    let pairs = told.split_whitespace().map_while(|pair| (pair.len() == 2).then(|| u8::from_str_radix(pair, 16).ok()).flatten());
    pairs.collect()
}

/// `up(1)`, `(2160) 0:00:21.60`, `1500 octets`, `-1`.
fn number(told: &str) -> Value {
    let told = told.trim();
    let inside = told.split_once('(').and_then(|(_, rest)| rest.split_once(')')).map(|(inside, _)| inside);
    let word = inside.or_else(|| told.split_whitespace().next()).unwrap_or_default();
    match word.parse::<i128>() {
        Ok(number) => Value::Number(u64::try_from(number.max(0)).unwrap_or(u64::MAX)),
        Err(_) => Value::Other,
    }
}

/// Reads a recorded walk.
pub fn record(text: &str) -> Read {
    let mut tree = Tree::default();
    let mut wrong = Vec::new();
    for (n, line) in text.lines().enumerate() {
        let spot = super::super::line_number(n);
        let mut parts = line.splitn(3, '|');
        let (number, tag, told) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default(), parts.next());
        let number = names::plain_number(number);
        match (number, told) {
            (Some(number), Some(told)) => tree.add(number, recorded(tag, told), spot),
            _ if line.trim().is_empty() || line.starts_with('#') => {}
            _ => wrong.push((spot, "a line that is no row")),
        }
    }
    (tree, wrong)
}

/// By the number of the kind. **Source**: RFC 3416 section 3 and X.690 universal types.
fn recorded(tag: &str, told: &str) -> Value {
    let pairs = |told: &str| -> Vec<u8> {
        let digits: Vec<u8> = told.bytes().filter(u8::is_ascii_hexdigit).collect();
        let (pairs, _) = digits.as_chunks::<2>();
        pairs.iter().filter_map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()).collect()
    };
    match tag {
        "2" | "65" | "66" | "67" | "70" => number(told),
        "4" => Value::Octets(told.as_bytes().to_vec()),
        "64" => told.parse::<std::net::Ipv4Addr>().map_or(Value::Other, |address| Value::Octets(address.octets().to_vec())),
        "4x" | "64x" => Value::Octets(pairs(told)),
        _ => Value::Other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_in_every_dress() {
        for (told, expected) in [
            ("STRING: \"a \\\"b\\\"\"", Value::Octets(b"a \"b\"".to_vec())),
            ("STRING: p24", Value::Octets(b"p24".to_vec())),
            ("Hex-STRING: 02 EB 3B \n07 DC 2D ", Value::Octets(vec![2, 0xeb, 0x3b, 7, 0xdc, 0x2d])),
            ("BITS: 28 00 bridge(2) router(4) ", Value::Octets(vec![0x28, 0])),
            ("INTEGER: up(1)", Value::Number(1)),
            ("Timeticks: (2160) 0:00:21.60", Value::Number(2_160)),
            ("Wrong Type (should be INTEGER): Gauge32: 5", Value::Number(5)),
            ("INTEGER: -1", Value::Number(0)),
            ("\"\"", Value::Octets(Vec::new())),
            ("No Such Object available on this agent at this OID", Value::Other),
            ("IpAddress: 10.0.0.1", Value::Octets(vec![10, 0, 0, 1])),
        ] {
            assert_eq!(value(told), expected, "{told}");
        }
    }

    #[test]
    fn texts_go_on_over_lines() {
        let (tree, wrong) = walk("junk\n.1.3.6.1.2.1.1.1.0 = STRING: \"one\ntwo\"\n.1.3.6.1.2.1.1.5.0 = STRING: \"sw\"\n");
        assert_eq!(tree.single(&[1, 3, 6, 1, 2, 1, 1, 1]), Some(&Value::Octets(b"one\ntwo".to_vec())));
        assert_eq!(tree.place(&[1, 3, 6, 1, 2, 1, 1, 5]), Some(Spot::Line(4)));
        assert_eq!(wrong, [(Spot::Line(1), "a line that is no row")]);
    }

    #[test]
    fn records_have_tags() {
        let (tree, wrong) = record("1.3.6.1.2.1.2.2.1.6.2|4x|02005E100001\n1.3.6.1.2.1.2.2.1.8.2|2|1\nx\n");
        assert_eq!(tree.get(&[1, 3, 6, 1, 2, 1, 2, 2, 1, 6], &[2]).and_then(Value::mac), "02:00:5e:10:00:01".parse().ok());
        assert_eq!(wrong.len(), 1);
    }
}
