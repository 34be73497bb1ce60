//! Writes SVG in layers, keeps a record of every text and label for checks of the layout.

use crate::geometry::{Area, Point, short};
use crate::measure::Typeface;
use crate::theme::{Ink, Theme};
use loomwright_model::Item;
use std::collections::BTreeSet;

/// What lies above what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Layer {
    /// Zones and faces.
    #[default]
    Ground,
    /// Cables.
    Lines,
    /// Cards, ports and their tabs.
    Boxes,
    /// Labels on cables.
    Marks,
}

/// Where a text hangs on its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// Begins there.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Ends there.
    End,
}

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Its face.
    pub face: Typeface,
    /// Its size.
    pub size: f64,
    /// Its colour.
    pub ink: Ink,
    /// Where it hangs.
    pub anchor: Anchor,
}

impl Lettering {
    /// Text that begins at its point.
    pub const fn new(face: Typeface, size: f64, ink: Ink) -> Self {
        Self { face, size, ink, anchor: Anchor::Start }
    }

    /// The same, hung by its middle.
    #[must_use]
    pub const fn middle(mut self) -> Self {
        self.anchor = Anchor::Middle;
        self
    }

    /// The same, hung by its end.
    #[must_use]
    pub const fn end(mut self) -> Self {
        self.anchor = Anchor::End;
        self
    }
}

/// How an outline or line looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub ink: Ink,
    /// Its width.
    pub width: f64,
    /// SVG dash pattern; empty for solid.
    pub dash: &'static str,
}

impl Pen {
    /// A solid line.
    pub const fn solid(ink: Ink, width: f64) -> Self {
        Self { ink, width, dash: "" }
    }
}

/// How a box looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// Its inside; `None` for see-through.
    pub ink: Option<Ink>,
    /// Its outline.
    pub edge: Option<Pen>,
    /// Radius of its corners.
    pub radius: f64,
}

/// A text or label that was drawn, for checks of the layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// What it says.
    pub text: String,
    /// The box it fills.
    pub area: Area,
}

/// A finished drawing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Width in user units.
    pub width: f64,
    /// Height in user units.
    pub height: f64,
    /// The SVG text.
    pub svg: String,
    /// Smallest text size used, in user units.
    pub smallest_text: f64,
    /// Every text, for checks of the layout.
    pub texts: Vec<Placed>,
    /// Every label on a cable or route, for checks of the layout.
    pub labels: Vec<Placed>,
}

/// A drawing being made.
#[derive(Debug)]
pub(crate) struct Canvas<'a> {
    theme: Theme,
    dim: &'a BTreeSet<Item>,
    gone: &'a BTreeSet<Item>,
    layers: [String; 4],
    layer: Layer,
    smallest_text: f64,
    texts: Vec<Placed>,
    labels: Vec<Placed>,
}

/// How faint dimmed parts are.
const DIMMED: &str = "0.28";

impl<'a> Canvas<'a> {
    pub(crate) fn new(theme: Theme, dim: &'a BTreeSet<Item>, gone: &'a BTreeSet<Item>) -> Self {
        let layers = std::array::from_fn(|_| String::new());
        Self { theme, dim, gone, layers, layer: Layer::Ground, smallest_text: f64::MAX, texts: Vec::new(), labels: Vec::new() }
    }

    /// Draws on `layer` from now on.
    pub(crate) fn on(&mut self, layer: Layer) -> &mut Self {
        self.layer = layer;
        self
    }

    fn put(&mut self, text: &str) {
        self.layers[self.layer as usize].push_str(text);
    }

    /// Opens a group that stands for `item`. `says` is read out; a reachable group can be tapped and focused.
    pub(crate) fn open(&mut self, item: &Item, says: &str, is_reachable: bool) {
        let mut tag = String::from("<g");
        if self.theme == Theme::Page {
            tag += &format!(" data-item=\"{}\"", escaped(&item.to_string()));
            if is_reachable {
                tag += &format!(" tabindex=\"0\" role=\"button\" aria-label=\"{}\"", escaped(says));
            }
        }
        if self.gone.contains(item) {
            tag += " class=\"gone\" opacity=\"0.5\"";
        } else if self.dim.contains(item) {
            tag += &format!(" class=\"dim\" opacity=\"{DIMMED}\"");
        }
        tag += ">";
        if self.theme == Theme::Page {
            tag += &format!("<title>{}</title>", escaped(says));
        }
        self.put(&tag);
    }

    /// Opens a group that is faint when any of `items`, which it belongs to, is taken away or dimmed.
    pub(crate) fn open_part(&mut self, items: &[Item]) {
        let is_faint = items.iter().any(|item| self.dim.contains(item) || self.gone.contains(item));
        let tag = if is_faint { format!("<g opacity=\"{DIMMED}\">") } else { "<g>".to_owned() };
        self.put(&tag);
    }

    /// Closes the group opened last on this layer.
    pub(crate) fn close(&mut self) {
        self.put("</g>");
    }

    /// Whether `item` was taken away.
    pub(crate) fn is_gone(&self, item: &Item) -> bool {
        self.gone.contains(item)
    }

    pub(crate) fn area(&mut self, area: Area, fill: &Fill) {
        let Area { x, y, w, h } = area;
        let mut tag = format!("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"", short(x), short(y), short(w), short(h));
        if fill.radius > 0.0 {
            tag += &format!(" rx=\"{}\"", short(fill.radius));
        }
        let inside = fill.ink.map_or("none".to_owned(), |ink| ink.paint(self.theme));
        tag += &format!(" fill=\"{inside}\"{}/>", fill.edge.map_or(String::new(), |pen| self.stroke(&pen)));
        self.put(&tag);
    }

    pub(crate) fn trace(&mut self, path: &str, pen: &Pen) {
        let stroke = self.stroke(pen);
        self.put(&format!("<path d=\"{path}\" fill=\"none\"{stroke}/>"));
    }

    /// A shape with its inside filled.
    pub(crate) fn shape(&mut self, path: &str, ink: Ink) {
        let paint = ink.paint(self.theme);
        self.put(&format!("<path d=\"{path}\" fill=\"{paint}\"/>"));
    }

    /// A broad line that cannot be seen, to tap on.
    pub(crate) fn touch(&mut self, path: &str) {
        if self.theme == Theme::Page {
            self.put(&format!(
                "<path d=\"{path}\" fill=\"none\" stroke=\"#000\" stroke-opacity=\"0\" stroke-width=\"14\" pointer-events=\"stroke\"/>"
            ));
        }
    }

    pub(crate) fn dot(&mut self, centre: Point, radius: f64, ink: Ink) {
        let paint = ink.paint(self.theme);
        self.put(&format!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{paint}\"/>", short(centre.x), short(centre.y), short(radius)));
    }

    fn stroke(&self, pen: &Pen) -> String {
        let mut text = format!(" stroke=\"{}\" stroke-width=\"{}\"", pen.ink.paint(self.theme), short(pen.width));
        if !pen.dash.is_empty() {
            text += &format!(" stroke-dasharray=\"{}\" stroke-linecap=\"round\"", pen.dash);
        }
        text
    }

    /// Draws `text` with its baseline at `point`.
    pub(crate) fn text(&mut self, point: Point, text: &str, look: &Lettering) {
        if text.is_empty() {
            return;
        }
        let width = look.face.width(text, look.size);
        let (anchor, left) = match look.anchor {
            Anchor::Start => ("", point.x),
            Anchor::Middle => (" text-anchor=\"middle\"", point.x - width / 2.0),
            Anchor::End => (" text-anchor=\"end\"", point.x - width),
        };
        let weight = if matches!(look.face, Typeface::Bold | Typeface::CondensedBold) { " font-weight=\"700\"" } else { "" };
        let (x, y, size, paint) = (short(point.x), short(point.y), short(look.size), look.ink.paint(self.theme));
        self.put(&format!("<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" fill=\"{paint}\"{weight}{anchor}>{}</text>", escaped(text)));
        // Ascent and descent of capitals and tails: 0.76 and 0.24 of the size in this face.
        let area = Area::new(left, point.y - 0.76 * look.size, width, look.size);
        self.texts.push(Placed { text: text.to_owned(), area });
        self.smallest_text = self.smallest_text.min(look.size);
    }

    /// Draws as much of `text` as fits into `width`; the whole is shown when pointed at.
    pub(crate) fn text_within(&mut self, point: Point, text: &str, (look, width): (&Lettering, f64)) {
        let shown = look.face.fit(text, look.size, width);
        if shown == text || self.theme == Theme::Print {
            self.text(point, &shown, look);
        } else {
            self.put(&format!("<g><title>{}</title>", escaped(text)));
            self.text(point, &shown, look);
            self.put("</g>");
        }
    }

    /// Keeps a record of a label's box.
    pub(crate) fn record_label(&mut self, text: &str, area: Area) {
        self.labels.push(Placed { text: text.to_owned(), area });
    }

    /// The finished drawing of the given size, read out as `says`.
    pub(crate) fn finish(self, (width, height): (f64, f64), says: &str) -> Drawing {
        let (w, h) = (short(width), short(height));
        let paper = Ink::Paper.paint(self.theme);
        let size = match self.theme {
            Theme::Page => format!("class=\"drawing\" role=\"group\" aria-label=\"{}\"", escaped(says)),
            Theme::Print => format!("width=\"{w}\" height=\"{h}\""),
        };
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" {size} font-family=\"DejaVu Sans, Verdana, sans-serif\">"
        );
        svg += &format!("<rect width=\"{w}\" height=\"{h}\" fill=\"{paper}\"/>");
        for layer in &self.layers {
            svg += layer;
        }
        svg += "</svg>\n";
        let smallest_text = if self.texts.is_empty() { 0.0 } else { self.smallest_text };
        Drawing { width, height, svg, smallest_text, texts: self.texts, labels: self.labels }
    }
}

/// `text` with the signs that mean something to XML replaced, and control characters, which XML forbids, dropped.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            control if control.is_control() && control != '\n' => {}
            '\u{FFFE}' | '\u{FFFF}' => {}
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_of_xml_are_replaced() {
        assert_eq!(escaped("a<b>&\"c\"\u{1}"), "a&lt;b&gt;&amp;&quot;c&quot;");
    }

    #[test]
    fn layers_come_out_in_order_whatever_the_order_of_drawing() {
        let none = BTreeSet::new();
        let mut canvas = Canvas::new(Theme::Print, &none, &none);
        canvas.on(Layer::Marks).shape("M0 0", Ink::Text);
        canvas.on(Layer::Ground).shape("M1 1", Ink::Text);
        let svg = canvas.finish((10.0, 10.0), "test").svg;
        assert!(svg.find("M1 1") < svg.find("M0 0"));
    }
}
