//! Pure crates name no file, socket, clock, environment or thread.

use super::Fault;
use super::sources::Source;

/// Crates that may reach outside: everything else is pure.
const REACH_OUTSIDE: &[&str] = &["workbench", "loomwright", "rehearsal", "listening", "xtask"];
const FORBIDDEN: &[&str] =
    &["std::fs", "std::net", "std::env", "std::thread", "std::process", "std::time::Instant", "std::time::SystemTime", "std::time::*"];
/// Addresses are plain data.
const PLAIN_DATA: &[&str] =
    &["std::net::Ipv4Addr", "std::net::Ipv6Addr", "std::net::IpAddr", "std::net::SocketAddrV4", "std::net::AddrParseError"];

/// What a pure crate names although it must not.
pub fn faults(source: &Source) -> Vec<Fault> {
    if source.is_test || REACH_OUTSIDE.contains(&source.package.as_str()) {
        return Vec::new();
    }
    let reaches = |path: &str| begins_with_any(path, FORBIDDEN) && !begins_with_any(path, PLAIN_DATA);
    let named = source.measures.paths.iter().filter(|(_, path)| reaches(path));
    named
        .map(|(line, path)| Fault::new(format!("{}:{line}", source.path), format!("`{path}` in a pure crate: take it as an argument")))
        .collect()
}

fn begins_with_any(path: &str, starts: &[&str]) -> bool {
    starts.iter().any(|start| path.strip_prefix(start).is_some_and(|rest| rest.is_empty() || rest.starts_with("::")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_data_and_sockets_are_not() {
        for (path, text, count) in [
            ("crates/model/src/a.rs", "use std::net::Ipv4Addr;", 0),
            ("crates/model/src/a.rs", "use std::net::UdpSocket;", 1),
            ("crates/model/src/a.rs", "use std::net;", 1),
            ("crates/model/src/a.rs", "fn f() { std::fs::read(\"a\"); }", 1),
            ("crates/model/src/a.rs", "fn f() { assert!(std::env::var(\"A\").is_ok()); }", 1),
            ("crates/model/src/a.rs", "use std::time::Duration;", 0),
            ("crates/model/tests/a.rs", "use std::fs;", 0),
            ("crates/loomwright/src/a.rs", "use std::fs;", 0),
        ] {
            let source = Source::new(path.to_owned(), text.to_owned()).expect("the test's own source");
            assert_eq!(faults(&source).len(), count, "{path}: {text}");
        }
    }
}
