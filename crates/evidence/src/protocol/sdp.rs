//! Descriptions of streams. **Source**: RFC 8866 section 5, RFC 4570 (senders), RFC 7104 (duplicates), RFC 7273 (clocks).

use crate::facts::Media;
use std::net::IpAddr;

/// Most media of one description. **Source**: own choice.
const MOST_MEDIA: usize = 64;

/// What a description says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Session {
    /// Its name.
    pub name: String,
    /// Its number, version and the address in its origin line.
    pub origin: Option<(u64, u64, String)>,
    /// Media in order.
    pub media: Vec<Media>,
    /// Media that are duplicates of each other.
    pub duplicates: Vec<Vec<String>>,
    /// Lines that make no sense: which, from 1, and why.
    pub wrong: Vec<(usize, &'static str)>,
}

/// Reads a description. What stands before the first medium is good for all of them.
pub fn read(text: &str) -> Session {
    let mut session = Session::default();
    let mut general = Media::default();
    for (n, line) in text.lines().enumerate() {
        let line = line.trim_end();
        let Some((kind, value)) = line.split_once('=') else {
            if !line.trim_matches('\0').is_empty() {
                session.wrong.push((n + 1, "a line without `=`"));
            }
            continue;
        };
        let known = match kind {
            "s" => {
                value.trim().clone_into(&mut session.name);
                Some(())
            }
            "o" => origin(value, &mut session),
            "m" if session.media.len() < MOST_MEDIA => begin(value, &general, &mut session),
            "i" | "c" | "a" => {
                let target = session.media.last_mut().unwrap_or(&mut general);
                let group = value.strip_prefix("group:DUP ").filter(|_| kind == "a");
                match group {
                    Some(group) => session.duplicates.push(group.split_whitespace().map(str::to_owned).collect()),
                    None => field(kind, value, target),
                }
                Some(())
            }
            _ => Some(()),
        };
        if known.is_none() {
            session.wrong.push((n + 1, "a line that makes no sense"));
        }
    }
    session.wrong.truncate(MOST_MEDIA);
    session
}

/// `o=- 1 2 IN IP4 10.0.0.1`.
fn origin(value: &str, session: &mut Session) -> Option<()> {
    let mut words = value.split_whitespace();
    let number = words.nth(1)?.parse().ok()?;
    let version = words.next()?.parse().ok()?;
    session.origin = Some((number, version, words.nth(2)?.to_owned()));
    Some(())
}

/// `m=audio 5004 RTP/AVP 98 99`.
fn begin(value: &str, general: &Media, session: &mut Session) -> Option<()> {
    let mut words = value.split_whitespace();
    let kind = words.next()?.to_owned();
    let udp_port = words.next()?.split('/').next()?.parse().ok()?;
    let payload_type = words.nth(1).and_then(|word| word.parse().ok());
    session.media.push(Media { kind, udp_port, payload_type, ..general.clone() });
    Some(())
}

fn field(kind: &str, value: &str, media: &mut Media) {
    match kind {
        "i" => media.title = Some(value.trim().to_owned()),
        "c" => connection(value, media),
        _ => {
            let (name, value) = value.split_once(':').unwrap_or((value, ""));
            attribute(name, value.trim(), media);
        }
    }
}

/// `c=IN IP4 239.69.0.1/32`.
fn connection(value: &str, media: &mut Media) {
    let Some(address) = value.split_whitespace().nth(2) else { return };
    let mut parts = address.split('/');
    media.group = parts.next().and_then(|address| address.parse().ok());
    // Only IPv4 groups state how far they travel.
    media.hops = parts.next().and_then(|hops| hops.parse().ok()).filter(|_| media.group.is_some_and(|group: IpAddr| group.is_ipv4()));
}

fn attribute(name: &str, value: &str, media: &mut Media) {
    let own = || Some(value.to_owned());
    match name {
        "rtpmap" => rtpmap(value, media),
        "ptime" => media.packet_time = nanoseconds(value),
        "source-filter" => media.sender = value.split_whitespace().nth(4).and_then(|sender| sender.parse().ok()),
        "ts-refclk" => media.reference_clock = own(),
        "mediaclk" => media.media_clock = own(),
        "mid" => media.mid = own(),
        _ => {}
    }
}

/// `a=rtpmap:98 L24/48000/8`.
fn rtpmap(value: &str, media: &mut Media) {
    let Some((number, format)) = value.split_once(' ') else { return };
    let number = number.parse().ok();
    if number.is_none() || media.payload_type.is_some() && number != media.payload_type {
        return;
    }
    media.payload_type = number;
    let mut parts = format.trim().split('/');
    media.encoding = parts.next().map(str::to_owned);
    media.sample_rate = parts.next().and_then(|rate| rate.parse().ok());
    // One channel need not be said. **Source**: RFC 8866 section 6.6.
    media.channels = Some(parts.next().and_then(|channels| channels.parse().ok()).unwrap_or(1)).filter(|_| media.kind == "audio");
}

/// Decimal milliseconds, such as `0.125`, exactly.
fn nanoseconds(value: &str) -> Option<u64> {
    let (whole, part) = value.split_once('.').unwrap_or((value, ""));
    let digits: String = part.chars().chain("000000".chars()).take(6).collect();
    let whole = if whole.is_empty() { 0 } else { whole.parse::<u64>().ok()? };
    let is_plain = digits.bytes().all(|b| b.is_ascii_digit());
    is_plain.then(|| whole.checked_mul(1_000_000)?.checked_add(digits.parse().ok()?)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lines follow RFC 8866 and RFC 7273 section 4.8.
    const TWO_LEGS: &str = "v=0\r\no=- 7 3 IN IP4 10.0.0.1\r\ns= Front of house \r\nt=0 0\r\na=group:DUP p s\r\n\
        a=ts-refclk:ptp=IEEE1588-2008:39-A7-94-FF-FE-07-CB-D0:0\r\nm=audio 5004 RTP/AVP 98\r\nc=IN IP4 239.69.0.1/32\r\n\
        a=rtpmap:98 L24/48000/8\r\na=ptime:0.125\r\na=mid:p\r\na=source-filter: incl IN IP4 239.69.0.1 10.0.0.1\r\n\
        m=audio 5006 RTP/AVP 99\r\nc=IN IP4 239.69.1.1/16\r\na=rtpmap:98 L16/44100\r\na=rtpmap:99 L24/96000\r\na=mid:s\r\njunk\r\n";

    #[test]
    fn reads_both_legs_of_a_stream() {
        let session = read(TWO_LEGS);
        assert_eq!((session.name.as_str(), session.origin), ("Front of house", Some((7, 3, "10.0.0.1".to_owned()))));
        assert_eq!(session.duplicates, [["p", "s"]]);
        assert_eq!(session.wrong, [(18, "a line without `=`")]);
        let [first, second] = &session.media[..] else { panic!("two media") };
        assert_eq!((first.packet_time, first.channels, first.hops), (Some(125_000), Some(8), Some(32)));
        assert_eq!(first.sender, "10.0.0.1".parse().ok());
        assert_eq!((second.sample_rate, second.channels, second.udp_port), (Some(96_000), Some(1), 5006));
        assert_eq!(first.reference_clock, second.reference_clock);
        assert!(first.reference_clock.is_some());
    }

    #[test]
    fn packet_times_are_exact() {
        for (text, expected) in [("1", Some(1_000_000)), ("0.33", Some(330_000)), (".25", Some(250_000)), ("x", None), ("1.-2", None)] {
            assert_eq!(nanoseconds(text), expected, "{text}");
        }
    }
}
