//! How wide a text is, so that nothing is cut off and nothing overlaps.

use std::borrow::Cow;
use std::sync::OnceLock;
use ttf_parser::Face;

/// The faces used on drawings and sheets. **Source** of the letter shapes: the DejaVu fonts 2.37.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Typeface {
    /// Running text on drawings.
    Regular,
    /// Names on drawings.
    Bold,
    /// Running text in tables.
    Condensed,
    /// Names in tables.
    CondensedBold,
}

/// Stands where letters were left out.
const ELLIPSIS: char = '\u{2026}';
/// Characters whose width is looked up once: printable ASCII.
const CACHED: usize = 128;

struct Metrics {
    face: Option<Face<'static>>,
    per_em: f64,
    ascii: [f64; CACHED],
}

impl Metrics {
    fn new(data: &'static [u8]) -> Self {
        let face = Face::parse(data, 0).ok();
        let per_em = face.as_ref().map_or(1.0, |face| f64::from(face.units_per_em()));
        let mut metrics = Self { face, per_em, ascii: [0.0; CACHED] };
        for code in 0..CACHED as u8 {
            metrics.ascii[code as usize] = metrics.look_up(code as char);
        }
        metrics
    }

    fn look_up(&self, letter: char) -> f64 {
        let advance = self.face.as_ref().and_then(|face| {
            let glyph = face.glyph_index(letter).unwrap_or(ttf_parser::GlyphId(0));
            face.glyph_hor_advance(glyph)
        });
        f64::from(advance.unwrap_or(0)) / self.per_em
    }

    fn advance(&self, letter: char) -> f64 {
        self.ascii.get(letter as usize).copied().unwrap_or_else(|| self.look_up(letter))
    }
}

impl Typeface {
    /// Every face, in order.
    pub const ALL: [Self; 4] = [Self::Regular, Self::Bold, Self::Condensed, Self::CondensedBold];

    /// The font file.
    pub fn data(self) -> &'static [u8] {
        match self {
            Self::Regular => dejavu::sans::regular(),
            Self::Bold => dejavu::sans::bold(),
            Self::Condensed => dejavu::sans_condensed::regular(),
            Self::CondensedBold => dejavu::sans_condensed::bold(),
        }
    }

    fn metrics(self) -> &'static Metrics {
        static FACES: [OnceLock<Metrics>; 4] = [const { OnceLock::new() }; 4];
        FACES[self as usize].get_or_init(|| Metrics::new(self.data()))
    }

    /// How far one letter moves the pen, in ems.
    pub fn advance(self, letter: char) -> f64 {
        self.metrics().advance(letter)
    }

    /// The number of the letter's shape in the font file; 0 where the font has none.
    pub fn glyph(self, letter: char) -> u16 {
        self.metrics().face.as_ref().and_then(|face| face.glyph_index(letter)).map_or(0, |glyph| glyph.0)
    }

    /// Width of `text` at `size`, in the unit of `size`.
    pub fn width(self, text: &str, size: f64) -> f64 {
        let metrics = self.metrics();
        text.chars().map(|letter| metrics.advance(letter)).sum::<f64>() * size
    }

    /// `text`, or as much as fits into `width`, with a mark where letters are left out: of a name its
    /// beginning and end, of several words their beginning.
    pub fn fit(self, text: &str, size: f64, width: f64) -> Cow<'_, str> {
        if self.width(text, size) <= width {
            return Cow::Borrowed(text);
        }
        let letters: Vec<char> = text.chars().collect();
        // The end of a name tells it from its neighbours ("amp-left-12"), so both ends are kept.
        let is_prose = letters.contains(&' ');
        for kept in (1..letters.len()).rev() {
            let shorter = if is_prose { beginning(&letters, kept) } else { without_middle(&letters, kept) };
            if self.width(&shorter, size) <= width {
                return Cow::Owned(shorter);
            }
        }
        Cow::Owned(ELLIPSIS.to_string())
    }

    /// `text` broken into lines no wider than `width`; a word that is too wide alone is broken where it must.
    pub fn wrap(self, text: &str, size: f64, width: f64) -> Vec<String> {
        let mut lines = Vec::new();
        for paragraph in text.split('\n') {
            self.wrap_paragraph(paragraph, (size, width), &mut lines);
        }
        lines
    }

    fn wrap_paragraph(self, text: &str, (size, width): (f64, f64), lines: &mut Vec<String>) {
        let mut line = String::new();
        for word in text.split_whitespace() {
            let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self.width(&joined, size) <= width {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            line = self.break_word(word, (size, width), lines);
        }
        lines.push(line);
    }

    /// Pushes full lines of a too-wide word and returns the rest. Breaks after a joining sign if one is near.
    fn break_word(self, word: &str, (size, width): (f64, f64), lines: &mut Vec<String>) -> String {
        let mut rest: &str = word;
        while self.width(rest, size) > width {
            let at = self.break_at(rest, size, width);
            lines.push(rest[..at].to_owned());
            rest = &rest[at..];
        }
        rest.to_owned()
    }

    fn break_at(self, word: &str, size: f64, width: f64) -> usize {
        let (mut used, mut last, mut joint) = (0.0, 0, 0);
        for (at, letter) in word.char_indices() {
            used += self.advance(letter) * size;
            if used > width && last > 0 {
                break;
            }
            last = at + letter.len_utf8();
            if matches!(letter, '-' | '/' | '_' | '.' | ',' | ':') {
                joint = last;
            }
        }
        if joint * 2 > last && joint < word.len() { joint } else { last }
    }
}

fn beginning(letters: &[char], kept: usize) -> String {
    let words: String = letters[..kept].iter().collect();
    format!("{}{ELLIPSIS}", words.trim_end())
}

fn without_middle(letters: &[char], kept: usize) -> String {
    let tail = kept / 2;
    let head = kept - tail;
    letters[..head].iter().chain([&ELLIPSIS]).chain(&letters[letters.len() - tail..]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_follow_the_font() {
        // DejaVu Sans: advance of "0" is 1303 of 2048 units, of "i" 569 (read from the font file).
        assert!((Typeface::Regular.width("0", 2048.0) - 1303.0).abs() < 1e-6);
        assert!((Typeface::Regular.width("i", 2048.0) - 569.0).abs() < 1e-6);
        assert!(Typeface::Condensed.width("stage", 10.0) < Typeface::Regular.width("stage", 10.0));
    }

    #[test]
    fn shortened_names_fit_and_keep_both_ends() {
        let name = "amplifier-rack-upstage-left-12";
        let short = Typeface::Bold.fit(name, 12.0, 110.0);
        assert!(Typeface::Bold.width(&short, 12.0) <= 110.0, "{short}");
        assert!(short.starts_with("amp") && short.ends_with("12") && short.contains(ELLIPSIS), "{short}");
        assert!(Typeface::Bold.fit("Amplifier with four channels", 12.0, 110.0).starts_with("Amplifier with"));
        assert_eq!(Typeface::Bold.fit("amp-1", 12.0, 110.0), "amp-1");
    }

    #[test]
    fn wrapped_lines_fit_and_lose_no_letter() {
        let text = "Move 2 of these 9 streams to the trunk sw-front-of-house-left-network-a/23, or make the link faster";
        for width in [40.0, 90.0, 300.0] {
            let lines = Typeface::Condensed.wrap(text, 9.0, width);
            assert!(lines.iter().all(|line| Typeface::Condensed.width(line, 9.0) <= width), "{lines:?}");
            let bare = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            assert_eq!(bare(&lines.concat()), bare(text));
        }
        assert_eq!(Typeface::Regular.wrap("", 9.0, 50.0), [""]);
    }
}
