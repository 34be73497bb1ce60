//! The part of an address after the question mark.

use std::fmt::Write;

/// Names and values in order. A name may come several times.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Query(Vec<(String, String)>);

impl Query {
    /// Reads `a=1&b=2`; what cannot be read stays as it is written.
    pub fn read(text: &str) -> Self {
        let pairs = text.split('&').filter(|pair| !pair.is_empty()).map(|pair| {
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            (decoded(name), decoded(value))
        });
        Self(pairs.collect())
    }

    /// The first value of `name`.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// The comma-separated words of every `name`, without repeats.
    pub fn list(&self, name: &str) -> Vec<String> {
        let mut words: Vec<String> = Vec::new();
        for word in self.0.iter().filter(|(key, _)| key == name).flat_map(|(_, value)| value.split(',')) {
            let word = word.trim().to_owned();
            if !word.is_empty() && !words.contains(&word) {
                words.push(word);
            }
        }
        words
    }
}

/// Text as it may stand in a query: everything but letters, digits and `-._~/:,` is written `%XX`.
pub fn encoded(text: &str) -> String {
    text.bytes().fold(String::with_capacity(text.len()), |mut out, byte| {
        if byte.is_ascii_alphanumeric() || b"-._~/:,".contains(&byte) {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
        out
    })
}

/// The reverse of [`encoded`]; `+` is a space.
pub fn decoded(text: &str) -> String {
    let bytes = text.as_bytes();
    let (mut out, mut at) = (Vec::with_capacity(bytes.len()), 0);
    while at < bytes.len() {
        let hex = bytes.get(at + 1..at + 3).and_then(|two| std::str::from_utf8(two).ok()).and_then(|two| u8::from_str_radix(two, 16).ok());
        let (byte, step) = match (bytes[at], hex) {
            (b'%', Some(byte)) => (byte, 3),
            (b'+', _) => (b' ', 1),
            (byte, _) => (byte, 1),
        };
        out.push(byte);
        at += step;
    }
    String::from_utf8_lossy(&out).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_it_writes() {
        for text in ["cable:A-001", "Bühne 2", "a&b=c+d%", "port:box-sl/1,feed:ups-1", ""] {
            assert_eq!(decoded(&encoded(text)), text);
        }
        assert_eq!(decoded("%"), "%");
        assert_eq!(decoded("%zz"), "%zz");
    }

    #[test]
    fn lists_join_and_lose_repeats() {
        let query = Query::read("without=cable:A-1,feed:x&view=riser&without=cable:A-1,route:t");
        assert_eq!(query.list("without"), ["cable:A-1", "feed:x", "route:t"]);
        assert_eq!((query.get("view"), query.get("layer")), (Some("riser"), None));
    }
}
