//! The front: octets of any file in, evidence out.

use crate::container::{Container, Step};
use crate::evidence::{Capture, Evidence, Source};
use crate::gather::Gatherer;
use crate::seen::{Complaint, Spot};
use crate::sniff::{self, Format};
use crate::text;

/// Longest text that is read. **Unit**: octet. **Source**: own choice; the largest walks known to us have less than 1 MB.
const LONGEST_TEXT: usize = 64 * 1024 * 1024;
/// Octets needed to tell a capture. **Source**: the length of the formats' magic numbers.
const MAGIC: usize = 4;
/// How much is worked on at a time. **Unit**: octet. **Source**: own choice.
const PIECE: usize = 1024 * 1024;

/// Reads a whole file, whatever it is. `name` is only for messages and hints.
///
/// ```
/// let notes = b"device,port,neighbour,neighbour port\nbox-1,1,sw-1,5\n";
/// let evidence = loomwright_evidence::read("notes.csv", notes);
/// assert_eq!(evidence.neighbours[0].system.as_deref(), Some("box-1"));
/// ```
pub fn read(name: &str, octets: &[u8]) -> Evidence {
    let mut reader = Reader::new(name);
    reader.feed(octets);
    reader.finish()
}

/// Takes a file piece by piece. A capture is worked on at once and let go; a text waits for its end.
///
/// **Shape**: memory is bounded by the longest frame, the pieces and the number of different things seen, each of which has a limit.
///
/// ```
/// use loomwright_evidence::Reader;
/// let mut reader = Reader::new("lldp.json");
/// for piece in [&b"{\"lldp\""[..], b": {}}"] {
///     reader.feed(piece);
/// }
/// assert!(reader.finish().complaints.is_empty());
/// ```
pub struct Reader {
    name: String,
    octets: u64,
    waiting: Vec<u8>,
    state: State,
    complaints: Vec<Complaint>,
}

enum State {
    Unknown,
    Text,
    Capture(Format, Container, Box<Gatherer>),
    Broken(Format, Container, Box<Gatherer>),
    TooLong,
}

impl Reader {
    /// Ready for the first piece of the file called `name`.
    pub fn new(name: &str) -> Self {
        Self { name: name.to_owned(), octets: 0, waiting: Vec::new(), state: State::Unknown, complaints: Vec::new() }
    }

    /// The next piece of the file, of any length.
    pub fn feed(&mut self, piece: &[u8]) {
        for piece in piece.chunks(PIECE) {
            self.octets = self.octets.saturating_add(u64::try_from(piece.len()).unwrap_or(u64::MAX));
            if !matches!(self.state, State::Broken(..) | State::TooLong) {
                self.waiting.extend_from_slice(piece);
                self.work();
            }
        }
    }

    /// How many octets came so far, for showing progress.
    pub const fn octets(&self) -> u64 {
        self.octets
    }

    fn work(&mut self) {
        if matches!(self.state, State::Unknown) && self.waiting.len() >= MAGIC {
            let format = sniff::capture(&self.waiting);
            let capture = format.and_then(|format| Some((format, Container::new(format)?)));
            self.state = capture.map_or(State::Text, |(format, container)| State::Capture(format, container, Box::default()));
        }
        match &mut self.state {
            State::Capture(..) => self.frames(),
            State::Text if self.waiting.len() > LONGEST_TEXT => {
                self.waiting = Vec::new();
                self.complain(Spot::Whole, format!("longer than {LONGEST_TEXT} octets and no capture: not read"));
                self.state = State::TooLong;
            }
            _ => {}
        }
    }

    fn frames(&mut self) {
        let State::Capture(_, container, gatherer) = &mut self.state else { return };
        let mut used = 0;
        let broken = loop {
            match container.step(self.waiting.get(used..).unwrap_or_default()) {
                Step::Frame(frame, size) => {
                    gatherer.frame(&frame);
                    used += size;
                }
                Step::Passed(size) => used += size,
                Step::More => break None,
                Step::Broken(why) => break Some(why),
            }
        };
        self.waiting.drain(..used);
        if let Some(why) = broken {
            let at = self.octets.saturating_sub(u64::try_from(self.waiting.len()).unwrap_or(u64::MAX));
            self.waiting = Vec::new();
            self.complain(Spot::Offset(at), why);
            if let State::Capture(format, container, gatherer) = std::mem::replace(&mut self.state, State::Unknown) {
                self.state = State::Broken(format, container, gatherer);
            }
        }
    }

    fn complain(&mut self, spot: Spot, says: String) {
        self.complaints.push(Complaint { source: 0, spot, says, times: 1 });
    }

    /// The end of the file: what was seen in it.
    pub fn finish(mut self) -> Evidence {
        match std::mem::replace(&mut self.state, State::Unknown) {
            State::Unknown | State::Text => self.text(),
            State::TooLong => self.evidence(None, None, Evidence::default()),
            State::Broken(format, container, gatherer) => self.capture(format, &container, *gatherer),
            State::Capture(format, container, gatherer) => {
                if !self.waiting.is_empty() {
                    let left = self.waiting.len();
                    let at = self.octets.saturating_sub(u64::try_from(left).unwrap_or(u64::MAX));
                    self.complain(Spot::Offset(at), format!("the file ends within a frame: {left} octets left over"));
                }
                self.capture(format, &container, *gatherer)
            }
        }
    }

    fn capture(mut self, format: Format, container: &Container, gatherer: Gatherer) -> Evidence {
        if let Some((spot, why, times)) = container.skipped() {
            self.complaints.push(Complaint { source: 0, spot, says: why.to_owned(), times });
        }
        let interfaces = container.interfaces();
        let (capture, evidence) = gatherer.finish(&interfaces);
        self.evidence(Some(format), Some(Capture { interfaces, ..capture }), evidence)
    }

    fn text(mut self) -> Evidence {
        let octets = std::mem::take(&mut self.waiting);
        let (text, was_exact) = text::decode(&octets);
        if octets.starts_with(&[0x1f, 0x8b]) {
            self.complain(Spot::Whole, "compressed: unpack it first".to_owned());
            return self.evidence(None, None, Evidence::default());
        }
        let Some(format) = sniff::text(&self.name, &text) else {
            let says = if text.trim().is_empty() { "empty" } else { "neither a capture nor a table that can be read here" };
            self.complain(Spot::Whole, says.to_owned());
            return self.evidence(None, None, Evidence::default());
        };
        if !was_exact && format != Format::Walk && format != Format::WalkRecord {
            self.complain(Spot::Whole, "holds octets that are no text; they are shown as \u{fffd}".to_owned());
        }
        let evidence = text::read(format, &text);
        self.evidence(Some(format), None, evidence)
    }

    fn evidence(self, format: Option<Format>, capture: Option<Capture>, mut evidence: Evidence) -> Evidence {
        let system = evidence.systems.first().and_then(|system| system.name.clone());
        evidence.sources = vec![Source { name: self.name, format, system, octets: self.octets, capture }];
        let mut complaints = self.complaints;
        complaints.append(&mut evidence.complaints);
        evidence.complaints = complaints;
        evidence
    }
}
