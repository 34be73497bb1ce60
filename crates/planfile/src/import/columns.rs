//! Which column means what.

use super::sheet::Sheet;
use indexmap::IndexMap;

/// What a column can say about a device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// Its name.
    Name,
    /// Its gear type.
    Gear,
    /// Where it stands.
    Place,
    /// How many of them.
    Quantity,
    /// What people call it.
    Title,
    /// What feeds it with power.
    Feeds,
    /// Networks it has to be on.
    Networks,
    /// How its two ports are set.
    Pairing,
}

impl Field {
    /// Every field, in the order in which columns are tried.
    pub const ALL: [Self; 8] =
        [Self::Name, Self::Gear, Self::Place, Self::Quantity, Self::Title, Self::Feeds, Self::Networks, Self::Pairing];

    /// What to call it on a page.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Gear => "gear",
            Self::Place => "place",
            Self::Quantity => "quantity",
            Self::Title => "title",
            Self::Feeds => "feeds",
            Self::Networks => "networks",
            Self::Pairing => "pairing",
        }
    }

    /// Column names that mean it, in lower case without signs, parted by `|`. Common practice in English, German and French lists, no source.
    const fn synonyms(self) -> &'static str {
        match self {
            Self::Name => {
                "name|device|id|device name|device id|name id|unit|label|hostname|host|equipment|item|gerät|gerätename|bezeichnung|nom|appareil|équipement"
            }
            Self::Gear => {
                "gear|type|gear type|device type|equipment type|model|model generic|generic model|kind|product|typ|gerätetyp|modell|modèle"
            }
            Self::Place => "place|room|location|rack|position|area|where|zone|site|raum|ort|standort|platz|lieu|emplacement|salle|baie",
            Self::Quantity => "quantity|qty|count|pcs|pieces|amount|number|no|how many|anzahl|menge|stück|stk|quantité|qté|nombre",
            Self::Title => "title|description|purpose|function|role|use|titel|beschreibung|zweck|funktion|désignation",
            Self::Feeds => "feed|feeds|power|power feed|circuit|mains|supply|strom|stromkreis|einspeisung|alimentation",
            Self::Networks => "network|networks|net|nets|netz|netze|netzwerk|réseau|réseaux",
            Self::Pairing => "pairing|port mode|ports|port setting|redundancy|redundanz",
        }
    }
}

/// Which column means what. A person may change it before the preview.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Mapping {
    /// The column of each field, from 0.
    pub columns: IndexMap<Field, usize>,
    /// Whether places that the plan does not know are added to it.
    pub creates_places: bool,
    /// What was decided, for the person to check.
    pub notes: Vec<String>,
}

/// Finds out from its header what each column means.
pub fn map_columns(sheet: &Sheet) -> Mapping {
    let mut mapping = Mapping::default();
    for (n, name) in sheet.header.iter().enumerate() {
        let Some(field) = field_of(name) else {
            if !name.is_empty() {
                mapping.notes.push(format!("Column `{name}` is not used."));
            }
            continue;
        };
        match mapping.columns.get(&field) {
            Some(first) => {
                let first = &sheet.header[*first];
                mapping.notes.push(format!("Column `{name}` is not used: `{first}` is taken as {}.", field.word()));
            }
            None => drop(mapping.columns.insert(field, n)),
        }
    }
    let missing = [Field::Gear, Field::Place].into_iter().filter(|field| !mapping.columns.contains_key(field));
    mapping.notes.extend(missing.map(|field| format!("No column says the {}: name one of them `{}`.", field.word(), field.word())));
    mapping
}

fn field_of(name: &str) -> Option<Field> {
    let name = plain(name);
    Field::ALL.into_iter().find(|field| field.synonyms().split('|').any(|known| known == name))
}

/// Lower case, signs as spaces, single spaces; what stands in brackets left out.
fn plain(name: &str) -> String {
    let name = name.split(['(', '[']).next().unwrap_or_default().to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.join(" ")
}

/// How many different fields a row of column names would give.
pub(super) fn score(cells: &[String]) -> usize {
    Field::ALL.into_iter().filter(|field| cells.iter().any(|cell| field_of(cell) == Some(*field))).count()
}
