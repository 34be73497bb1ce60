//! Colours and line styles. A network is told by colour, by line style and by letter, never by colour alone.

use loomwright_model::plan::Carries;
use loomwright_model::{Id, Plan};

/// Where a drawing will be seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// A page that sets the colour variables, light or dark.
    #[default]
    Page,
    /// Paper: plain colours.
    Print,
}

/// What a colour is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Main text.
    Text,
    /// Second text.
    Soft,
    /// Thin borders.
    Line,
    /// The sheet.
    Paper,
    /// The ground of a place.
    Zone,
    /// The face of a card.
    Card,
    /// The face of a switch.
    Metal,
    /// Ears and edges of a switch.
    MetalEdge,
    /// Text on a switch.
    MetalText,
    /// A free port.
    Port,
    /// The number on a free port.
    PortText,
    /// Trouble.
    Danger,
    /// Care.
    Caution,
    /// Text on a network colour.
    OnNetwork,
    /// A trunk that carries several networks.
    Trunk,
    /// A network, by its place in the palette.
    Network(usize),
}

/// One colour: the page variable and its values on light and dark ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// CSS variable, with its two dashes.
    pub variable: &'static str,
    /// On light ground and on paper.
    pub light: &'static str,
    /// On dark ground.
    pub dark: &'static str,
}

const fn colour(variable: &'static str, light: &'static str, dark: &'static str) -> Colour {
    Colour { variable, light, dark }
}

/// Network colours, own choice: a dark blue, an orange-brown and a violet differ in lightness and in
/// the blue-yellow direction, which the common forms of colour blindness keep.
const NETWORKS: [Colour; 6] = [
    colour("--net-1", "#1b4f9e", "#86b6ff"),
    colour("--net-2", "#b3550b", "#f2a661"),
    colour("--net-3", "#6d3aa3", "#c7a6f5"),
    colour("--net-4", "#0a6b62", "#63d2c3"),
    colour("--net-5", "#9c2467", "#f394c3"),
    colour("--net-6", "#4a5868", "#b9c5d2"),
];
/// Dash patterns in the order of the colours: solid, dashed, dotted, dash-dot, long dash, short dash.
const DASHES: [&str; 6] = ["", "9 5", "0.1 5.2", "12 5 2.5 5", "18 6", "4.5 4"];
/// The place of control networks in the palette: dotted violet.
const CONTROL: usize = 2;
/// The places of audio networks, in plan order.
const AUDIO: [usize; 5] = [0, 1, 3, 4, 5];

impl Ink {
    /// Its variable and values.
    pub const fn colour(self) -> Colour {
        match self {
            Self::Text => colour("--ink", "#18222d", "#e8edf3"),
            Self::Soft => colour("--ink-soft", "#566474", "#a3b0be"),
            Self::Line => colour("--line", "#c9d2dc", "#3a4653"),
            Self::Paper => colour("--paper", "#ffffff", "#11171e"),
            Self::Zone => colour("--zone", "#f4f6f9", "#182029"),
            Self::Card => colour("--card", "#ffffff", "#1f2933"),
            Self::Metal => colour("--metal", "#27323d", "#0b1015"),
            Self::MetalEdge => colour("--metal-edge", "#414f5d", "#445362"),
            Self::MetalText => colour("--metal-ink", "#f3f6f9", "#e8edf3"),
            Self::Port => colour("--port", "#151c23", "#1c2630"),
            Self::PortText => colour("--port-ink", "#93a1af", "#7f8d9b"),
            Self::Danger => colour("--danger", "#b3141e", "#ff8d86"),
            Self::Caution => colour("--caution", "#8a5a00", "#f0c25a"),
            Self::OnNetwork => colour("--on-net", "#ffffff", "#0e141a"),
            Self::Trunk => colour("--trunk", "#333f4b", "#c4ced8"),
            Self::Network(n) => NETWORKS[n % NETWORKS.len()],
        }
    }

    /// As written into an attribute under `theme`.
    pub fn paint(self, theme: Theme) -> String {
        let Colour { variable, light, .. } = self.colour();
        match theme {
            Theme::Page => format!("var({variable}, {light})"),
            Theme::Print => light.to_owned(),
        }
    }
}

/// Every colour variable a page must set, so that pages and drawings share one list.
pub fn page_colours() -> Vec<Colour> {
    use Ink::*;
    let plain = [Text, Soft, Line, Paper, Zone, Card, Metal, MetalEdge, MetalText, Port, PortText, Danger, Caution, OnNetwork, Trunk];
    plain.iter().map(|ink| ink.colour()).chain(NETWORKS).collect()
}

/// How one network looks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetworkStyle {
    /// The network.
    pub id: Id,
    /// Its letter, one that no other network of the plan has.
    pub letter: char,
    /// Its place in the palette.
    pub slot: usize,
    /// SVG dash pattern; empty for a solid line.
    pub dash: &'static str,
}

impl NetworkStyle {
    /// Its colour.
    pub fn ink(&self) -> Ink {
        Ink::Network(self.slot)
    }

    /// Its line style in a word, for legends and for those who cannot see it.
    pub fn line_word(&self) -> &'static str {
        ["solid", "dashed", "dotted", "dash-dot", "long dash", "short dash"][self.slot % DASHES.len()]
    }
}

/// How every network of a plan looks, in plan order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Palette {
    styles: Vec<NetworkStyle>,
}

impl Palette {
    /// Gives each network of `plan` a colour, a line style and a letter.
    pub fn new(plan: &Plan) -> Self {
        let mut audio = AUDIO.iter().cycle();
        let mut styles = Vec::new();
        for (id, network) in &plan.networks {
            let slot = match network.carries {
                Carries::Control => CONTROL,
                Carries::Audio => *audio.next().unwrap_or(&0),
            };
            styles.push(NetworkStyle { id: id.clone(), letter: '?', slot, dash: DASHES[slot] });
        }
        give_letters(&mut styles);
        Self { styles }
    }

    /// The style of network `id`, if the plan has it.
    pub fn get(&self, id: &Id) -> Option<&NetworkStyle> {
        self.styles.iter().find(|style| style.id == *id)
    }

    /// All styles in plan order.
    pub fn iter(&self) -> impl Iterator<Item = &NetworkStyle> + Clone {
        self.styles.iter()
    }

    /// The letters of `networks`, in plan order, joined (`AC`).
    pub fn letters(&self, networks: &[Id]) -> String {
        self.iter().filter(|style| networks.contains(&style.id)).map(|style| style.letter).collect()
    }

    /// `network A`, or `networks A and C`, for lines of text.
    pub fn words(&self, networks: &[Id]) -> String {
        let letters: Vec<String> = self.letters(networks).chars().map(String::from).collect();
        match letters.as_slice() {
            [] => "no network".to_owned(),
            [one] => format!("network {one}"),
            [first @ .., last] => format!("networks {} and {last}", first.join(", ")),
        }
    }

    /// The style a cable is drawn in: that of its one network, or of its one audio network beside
    /// control; `None` when it carries several audio networks or none that is known.
    pub fn main(&self, networks: &[Id]) -> Option<&NetworkStyle> {
        let mut known = self.iter().filter(|style| networks.contains(&style.id));
        let mut audio = known.clone().filter(|style| style.slot != CONTROL);
        match (audio.next(), audio.next()) {
            (Some(one), None) => Some(one),
            (None, _) => known.next(),
            _ => None,
        }
    }

    /// The colour of a cable: as [`Palette::main`], or the trunk colour.
    pub fn ink(&self, networks: &[Id]) -> Ink {
        self.main(networks).map_or(Ink::Trunk, NetworkStyle::ink)
    }
}

/// One-letter names keep theirs; the others take the first free letter of their name, else a digit.
fn give_letters(styles: &mut [NetworkStyle]) {
    let mut taken = Vec::new();
    let single: Vec<bool> = styles.iter().map(|style| style.id.as_str().chars().count() == 1).collect();
    for wanted in [true, false] {
        for (style, _) in styles.iter_mut().zip(&single).filter(|(_, is_single)| **is_single == wanted) {
            style.letter = free_letter(style.id.as_str(), &taken);
            taken.push(style.letter);
        }
    }
}

fn free_letter(name: &str, taken: &[char]) -> char {
    let own = name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase);
    own.chain('1'..='9').chain('A'..='Z').find(|letter| !taken.contains(letter)).unwrap_or('?')
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast. **Source**: WCAG 2.2, definitions of relative luminance and contrast ratio.
    fn luminance(hex: &str) -> f64 {
        let part = |at: usize| {
            let value = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).expect("a hex colour")) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_is_readable_on_its_ground() {
        // WCAG 2.2 success criterion 1.4.3: 4.5 to 1.
        let on = [
            (Ink::Text, Ink::Card),
            (Ink::Text, Ink::Zone),
            (Ink::Soft, Ink::Card),
            (Ink::Soft, Ink::Zone),
            (Ink::MetalText, Ink::Metal),
            (Ink::PortText, Ink::Port),
            (Ink::Danger, Ink::Card),
            (Ink::Caution, Ink::Card),
        ];
        let networks = (0..NETWORKS.len()).flat_map(|n| [(Ink::OnNetwork, Ink::Network(n)), (Ink::Network(n), Ink::Card)]);
        for (text, ground) in on.into_iter().chain(networks) {
            let (text_colour, ground_colour) = (text.colour(), ground.colour());
            assert!(contrast(text_colour.light, ground_colour.light) >= 4.5, "{text:?} on {ground:?}, light");
            assert!(contrast(text_colour.dark, ground_colour.dark) >= 4.5, "{text:?} on {ground:?}, dark");
        }
    }

    #[test]
    fn letters_are_never_shared() {
        let style = |name: &str| NetworkStyle { id: Id::new(name).expect("a name"), letter: '?', slot: 0, dash: "" };
        let mut styles = vec![style("control"), style("c"), style("a"), style("audio"), style("cc")];
        give_letters(&mut styles);
        assert_eq!(styles.iter().map(|s| s.letter).collect::<String>(), "OCAU1");
    }
}
