//! What receivers counted, one JSON object a line: `host`, `group` (`ADDRESS:PORT`), `pkts`, `lost`, `ssrcs`, `maxgap_ms`,
//! `silent_at_end_s`, `jitter_us`.

use super::{complain, line_number};
use crate::evidence::Evidence;
use crate::facts::Received;
use crate::seen::{Seen, Trust};
use serde_json::Value;
use std::net::SocketAddrV4;

/// Reads the counts.
pub fn read(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for (n, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        let row = serde_json::from_str::<Value>(line).ok().and_then(|row| received(&row, Seen::at(line_number(n), Trust::Measured)));
        match row {
            Some(row) => evidence.received.push(row),
            None => complain(&mut evidence, line_number(n), "a line that counts nothing: host, group and pkts are needed"),
        }
    }
    evidence
}

fn received(row: &Value, seen: Seen) -> Option<Received> {
    let count = |key: &str| row.get(key).and_then(Value::as_u64);
    let to: SocketAddrV4 = row.get("group")?.as_str()?.parse().ok()?;
    Some(Received {
        seen,
        host: row.get("host")?.as_str()?.to_owned(),
        group: *to.ip(),
        udp_port: to.port(),
        packets: count("pkts")?,
        lost: count("lost").unwrap_or_default(),
        senders: row
            .get("ssrcs")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
            .filter_map(|one| u32::try_from(one.as_u64()?).ok())
            .collect(),
        longest_gap: nanoseconds(row, "maxgap_ms", 6),
        silent_at_end: nanoseconds(row, "silent_at_end_s", 9),
        jitter: nanoseconds(row, "jitter_us", 3),
    })
}

/// A decimal number, exactly; `digits` are those of a nanosecond.
fn nanoseconds(row: &Value, key: &str, digits: usize) -> Option<u64> {
    let text = row.get(key)?.as_number()?.to_string();
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    let part: String = part.chars().chain("000000000".chars()).take(digits).collect();
    format!("{whole}{part}").parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_exact() {
        let text =
            r#"{"host": "e2", "group": "239.69.0.1:5004", "pkts": 7, "lost": 1, "ssrcs": [4097], "maxgap_ms": 36.25, "jitter_us": 25}"#;
        let row = &read(text).received[0];
        assert_eq!((row.longest_gap, row.jitter, row.silent_at_end), (Some(36_250_000), Some(25_000), None));
        assert_eq!(read("{\"host\": 1}\n").complaints.len(), 1);
    }
}
