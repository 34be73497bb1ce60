//! A table of what a person saw: comma-, semicolon- or tab-separated, first line headings, columns in any order.
//!
//! **Shape**: the headings tell what a row is.
//! - `device, port, neighbour, neighbour port`: this port's cable leads there.
//! - `device, address, mac` (any two): this address belongs to that device.
//! - `device, stream, heard` (stream may be left out): `yes` or `no`.

use super::complain;
use crate::evidence::Evidence;
use crate::facts::{Advertisement, Binding, BindingSource, Hearing, IdentifierKind, Neighbour};
use crate::protocol::lldp::written;
use crate::seen::{Seen, Spot, Trust};

/// Headings and the words that mean them. **Source**: own choice.
const DEVICE: &[&str] = &["device", "box", "from", "receiver", "name"];
const PORT: &[&str] = &["port", "from port"];
const NEIGHBOUR: &[&str] = &["neighbour", "neighbor", "to", "far device"];
const NEIGHBOUR_PORT: &[&str] = &["neighbour port", "neighbor port", "to port", "far port"];
const ADDRESS: &[&str] = &["address", "ip", "ip address"];
const HARDWARE: &[&str] = &["mac", "hardware address", "mac address"];
const STREAM: &[&str] = &["stream"];
const HEARD: &[&str] = &["heard", "hears", "sound"];

/// Whether a line is the headings of such a table.
pub fn is_heading(line: &str) -> bool {
    let words: Vec<String> = line.split(separator(line)).map(plain).collect();
    let has = |names: &[&str]| words.iter().any(|word| names.contains(&word.as_str()));
    words.len() >= 2 && (has(DEVICE) || has(ADDRESS)) && (has(NEIGHBOUR) || has(ADDRESS) || has(HARDWARE) || has(HEARD))
}

fn separator(line: &str) -> char {
    [';', '\t', ','].into_iter().max_by_key(|c| line.matches(*c).count()).unwrap_or(',')
}

/// `Neighbour_Port ` as `neighbour port`.
fn plain(word: &str) -> String {
    word.trim().trim_matches('"').to_lowercase().replace(['_', '-'], " ")
}

/// Where each heading stands.
struct Columns(Vec<String>);

impl Columns {
    fn get<'a>(&self, row: &'a csv::StringRecord, names: &[&str]) -> Option<&'a str> {
        let at = self.0.iter().position(|heading| names.contains(&heading.as_str()))?;
        row.get(at).map(str::trim).filter(|value| !value.is_empty())
    }
}

/// Reads the table.
pub fn read(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    let heading = text.lines().find(|line| is_heading(line)).unwrap_or_default();
    let separator = u8::try_from(separator(heading)).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new().delimiter(separator).has_headers(false).flexible(true).from_reader(text.as_bytes());
    let mut columns: Option<Columns> = None;
    for row in reader.records() {
        match row {
            Ok(row) => {
                let spot = Spot::Line(row.position().map_or(0, csv::Position::line));
                match &columns {
                    Some(columns) => add(columns, &row, spot, &mut evidence),
                    None => {
                        columns = Some(Columns(row.iter().map(plain).collect()))
                            .filter(|c| c.0.iter().any(|h| DEVICE.contains(&h.as_str()) || ADDRESS.contains(&h.as_str())))
                    }
                }
            }
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line);
                complain(&mut evidence, Spot::Line(line), format!("no table row: {error}"));
            }
        }
    }
    evidence
}

fn add(columns: &Columns, row: &csv::StringRecord, spot: Spot, evidence: &mut Evidence) {
    let own = |names: &[&str]| columns.get(row, names).map(str::to_owned);
    let seen = Seen::at(spot, Trust::Noted);
    let mut is_used = false;
    if let (Some(device), Some(neighbour)) = (own(DEVICE), own(NEIGHBOUR)) {
        let says = Advertisement {
            port: own(NEIGHBOUR_PORT).map(|port| written(IdentifierKind::Other, port)),
            name: Some(neighbour),
            ..Advertisement::default()
        };
        let local_port = own(PORT);
        evidence.neighbours.push(Neighbour { seen, system: Some(device), local_port, local_number: None, sender: None, vlan: None, says });
        is_used = true;
    }
    if let Some(address) = own(ADDRESS) {
        match address.split('/').next().unwrap_or_default().parse() {
            Ok(address) => {
                let mac = columns.get(row, HARDWARE).and_then(|mac| mac.parse().ok());
                let by = BindingSource::Note;
                evidence.bindings.push(Binding { seen, by, address, mac, name: own(DEVICE), system: None, port: None, vlan: None });
                is_used = true;
            }
            Err(_) => complain(evidence, spot, format!("`{address}` is no address")),
        }
    }
    if let (Some(receiver), Some(heard)) = (own(DEVICE), own(HEARD)) {
        match answer(&heard) {
            Some(is_heard) => {
                evidence.hearings.push(Hearing { seen, receiver, stream: own(STREAM), is_heard });
                is_used = true;
            }
            None => complain(evidence, spot, format!("`{heard}`: write yes or no")),
        }
    }
    if !is_used && row.iter().any(|value| !value.trim().is_empty()) {
        complain(evidence, spot, "a row that says nothing that can be used");
    }
}

fn answer(word: &str) -> Option<bool> {
    match plain(word).as_str() {
        "yes" | "y" | "true" | "1" | "x" | "heard" | "ok" => Some(true),
        "no" | "n" | "false" | "0" | "silent" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_tell_what_a_row_is() {
        let evidence =
            read("Device;Port;Neighbour;Neighbour_Port;Heard;Stream\nbox-1;1;sw-1;5;;\nbox-2;;;;no;foh\nbox-3;;;;maybe;\n;;;;;\n");
        assert_eq!(evidence.neighbours.len(), 1);
        assert_eq!(evidence.neighbours[0].says.port.as_ref().map(|port| port.text.as_str()), Some("5"));
        assert_eq!((evidence.hearings.len(), evidence.hearings[0].is_heard), (1, false));
        assert_eq!(evidence.complaints.iter().map(|c| c.spot).collect::<Vec<_>>(), [Spot::Line(4), Spot::Line(4)]);
        assert_eq!(read("ip,mac\n10.0.0.1,02:00:5e:10:00:01\n10.0.0,\n").bindings.len(), 1);
    }
}
