//! Reads the tables of switches by SNMP: only questions (GET, GETBULK), never a setting.
//!
//! What comes back is written as a recorded walk, `number|tag|value`, which the reader of evidence takes.

use snmp2::{Error, Oid, SyncSession, Value, v3};
use std::fmt::Write;
use std::net::Ipv4Addr;
use std::time::Duration;

/// Where agents listen. **Source**: RFC 3417 section 3.1.
pub const PORT: u16 = 161;
/// Rows asked for at a time. **Source**: own choice: their answer fits one Ethernet packet in most cases.
const AT_A_TIME: u32 = 20;
/// Most rows of one switch. **Source**: own choice: a forwarding table of 32,000 addresses has fewer.
const MOST_ROWS: usize = 200_000;
/// How long to wait for one answer, and how often to ask. **Source**: own choice.
const PATIENCE: Duration = Duration::from_secs(2);
const TRIES: usize = 3;

/// What is read: system, interfaces, addresses, Ethernet, bridge, extended interfaces, power, neighbours.
/// **Source**: RFC 3418, RFC 2863, RFC 4293, RFC 3635, RFC 4188 and RFC 4363, RFC 2863, RFC 3621, IEEE 802.1AB-2005 clause 12
/// (from memory).
const TABLES: [&[u64]; 8] = [
    &[1, 3, 6, 1, 2, 1, 1],
    &[1, 3, 6, 1, 2, 1, 2, 2],
    &[1, 3, 6, 1, 2, 1, 4, 20],
    &[1, 3, 6, 1, 2, 1, 10, 7],
    &[1, 3, 6, 1, 2, 1, 17],
    &[1, 3, 6, 1, 2, 1, 31, 1, 1],
    &[1, 3, 6, 1, 2, 1, 105],
    &[1, 0, 8802, 1, 1, 2],
];

/// How an agent is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Secret {
    /// Version 2c: a community, in clear on the wire.
    Community(String),
    /// Version 3: a user, signed and perhaps encrypted.
    User {
        /// Its name.
        name: String,
        /// What signs, and the password for it.
        signed: (Signature, String),
        /// What encrypts, and the password for it; `None` leaves the tables readable on the wire.
        encrypted: Option<(Cipher, String)>,
    },
}

/// What signs messages. **Source**: RFC 3414, RFC 7860.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signature {
    /// HMAC-MD5-96.
    Md5,
    /// HMAC-SHA-96.
    Sha1,
    /// HMAC-192-SHA-256.
    Sha256,
    /// HMAC-384-SHA-512.
    Sha512,
}

/// What encrypts messages. **Source**: RFC 3414, RFC 3826.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cipher {
    /// CBC-DES.
    Des,
    /// CFB128-AES-128.
    Aes128,
}

/// Reads one agent's tables into a recorded walk.
///
/// **Errors**: it does not answer, or refuses; in words, without full stop.
pub fn walk(agent: (Ipv4Addr, u16), secret: &Secret) -> Result<String, String> {
    let mut session = open(agent, secret)?;
    let mut record = String::new();
    let mut rows = 0;
    for table in TABLES {
        rows += walk_table(&mut session, table, &mut record, MOST_ROWS.saturating_sub(rows))?;
    }
    if rows == 0 { Err("it answers, and has none of the tables that are read".to_owned()) } else { Ok(record) }
}

fn open(agent: (Ipv4Addr, u16), secret: &Secret) -> Result<SyncSession, String> {
    let session = match secret {
        Secret::Community(community) => SyncSession::new_v2c(agent, community.as_bytes(), Some(PATIENCE), 1),
        Secret::User { name, signed, encrypted } => {
            SyncSession::new_v3(agent, Some(PATIENCE), 1, security(name, signed, encrypted.as_ref()))
        }
    };
    let mut session = session.map_err(|error| error.to_string())?;
    // Version 3 first learns who the agent is and what its time is.
    again(|| session.init()).map_err(|error| words(&error))?;
    Ok(session)
}

fn security(name: &str, signed: &(Signature, String), encrypted: Option<&(Cipher, String)>) -> v3::Security {
    let signature = match signed.0 {
        Signature::Md5 => v3::AuthProtocol::Md5,
        Signature::Sha1 => v3::AuthProtocol::Sha1,
        Signature::Sha256 => v3::AuthProtocol::Sha256,
        Signature::Sha512 => v3::AuthProtocol::Sha512,
    };
    let level = encrypted.map_or(v3::Auth::AuthNoPriv, |(cipher, password)| v3::Auth::AuthPriv {
        cipher: match cipher {
            Cipher::Des => v3::Cipher::Des,
            Cipher::Aes128 => v3::Cipher::Aes128,
        },
        privacy_password: password.as_bytes().to_vec(),
    });
    v3::Security::new(name.as_bytes(), signed.1.as_bytes()).with_auth_protocol(signature).with_auth(level)
}

/// Tries again where an answer did not come, or the agent's clock had to be learnt first.
fn again<T>(mut question: impl FnMut() -> Result<T, Error>) -> Result<T, Error> {
    let mut last = question();
    for _ in 1..TRIES {
        match last {
            Err(Error::Receive | Error::AuthUpdated | Error::RequestIdMismatch) => last = question(),
            _ => return last,
        }
    }
    last
}

/// Appends one table; how many rows it had.
fn walk_table(session: &mut SyncSession, table: &[u64], record: &mut String, most: usize) -> Result<usize, String> {
    let mut at: Vec<u64> = table.to_vec();
    let mut rows = 0;
    while rows < most {
        let got = again(|| bulk(session, &at)).map_err(|error| words(&error))?;
        let mut is_done = got.is_empty();
        for (number, row) in got {
            // An agent that goes back would be asked for ever.
            is_done = !number.starts_with(table) || number <= at || rows >= most;
            if is_done {
                break;
            }
            if let Some(row) = row {
                record.push_str(&row);
                rows += 1;
            }
            at = number;
        }
        if is_done {
            break;
        }
    }
    Ok(rows)
}

type Row = (Vec<u64>, Option<String>);

/// The next rows after a number.
fn bulk(session: &mut SyncSession, after: &[u64]) -> Result<Vec<Row>, Error> {
    let after = Oid::from(after).map_err(|_| Error::ValueOutOfRange)?;
    let answer = session.getbulk(&[&after], 0, AT_A_TIME)?;
    let mut rows = Vec::new();
    for (number, value) in answer.varbinds {
        if matches!(value, Value::EndOfMibView) {
            break;
        }
        let Some(parts) = number.iter() else { break };
        let parts: Vec<u64> = parts.collect();
        let row = recorded(&value).map(|(tag, told)| line(&parts, tag, &told));
        rows.push((parts, row));
    }
    Ok(rows)
}

fn line(number: &[u64], tag: &str, told: &str) -> String {
    let number: Vec<String> = number.iter().map(ToString::to_string).collect();
    format!("{}|{tag}|{told}\n", number.join("."))
}

/// Tag and value as a recorded walk has them: the tag is the one of the encoding, `x` means hexadecimal. **Source**: RFC 3416
/// section 3 and X.690 for the tags; the form is common practice.
fn recorded(value: &Value<'_>) -> Option<(&'static str, String)> {
    Some(match value {
        Value::Integer(number) => ("2", number.to_string()),
        Value::OctetString(octets) => ("4x", hexadecimal(octets)),
        Value::ObjectIdentifier(number) => ("6", number.to_string()),
        Value::IpAddress(octets) => ("64x", hexadecimal(octets)),
        Value::Counter32(number) => ("65", number.to_string()),
        Value::Unsigned32(number) => ("66", number.to_string()),
        Value::Timeticks(number) => ("67", number.to_string()),
        Value::Counter64(number) => ("70", number.to_string()),
        _ => return None,
    })
}

fn hexadecimal(octets: &[u8]) -> String {
    octets.iter().fold(String::new(), |mut text, octet| {
        let _ = write!(text, "{octet:02x}");
        text
    })
}

fn words(error: &Error) -> String {
    match error {
        Error::Receive => "it does not answer".to_owned(),
        Error::Send => "the question could not be sent".to_owned(),
        Error::CommunityMismatch => "it answers with another community".to_owned(),
        Error::AuthFailure(_) | Error::AuthUpdated => "it refuses the user or its passwords".to_owned(),
        other => other.to_string(),
    }
}
