//! Pages into PDF. Same pages, same bytes: no clock, no random numbers.

use super::{Look, Mark, Page, Tint};
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document, destination::XyzDestination};
use krilla_svg::{SurfaceExt, SvgSettings};
use loomwright_drawing::geometry::Area;
use loomwright_drawing::{Drawing, Typeface};
use std::sync::Arc;

/// What stands in the file's properties.
#[derive(Debug, Clone, Default)]
pub(crate) struct About {
    pub(crate) title: String,
    pub(crate) author: Option<String>,
    /// Year, month, day.
    pub(crate) date: Option<(u16, u8, u8)>,
}

/// Writes pages as one PDF.
///
/// **Errors**: what the PDF writer refuses; `None` stands for a font that cannot be read.
pub(crate) fn pdf(pages: &[Page], about: &About) -> Result<Vec<u8>, String> {
    let press = Press::new().ok_or("the built-in font cannot be read")?;
    let mut document = Document::new();
    for page in pages {
        press.print(&mut document, page)?;
    }
    document.set_outline(outline(pages));
    document.set_metadata(metadata(about));
    document.finish().map_err(|error| format!("{error:?}"))
}

fn metadata(about: &About) -> Metadata {
    let mut data = Metadata::new().title(about.title.clone()).creator("Loomwright".to_owned()).language("en".to_owned());
    if let Some(author) = &about.author {
        data = data.authors(vec![author.clone()]);
    }
    if let Some((year, month, day)) = about.date {
        data = data.creation_date(DateTime::new(year).month(month).day(day));
    }
    data
}

/// One bookmark for each sheet.
fn outline(pages: &[Page]) -> Outline {
    let mut outline = Outline::new();
    let mut last = "";
    for (n, page) in pages.iter().enumerate() {
        if page.sheet != last {
            outline.push_child(OutlineNode::new(page.sheet.clone(), XyzDestination::new(n, Point::from_xy(0.0, 0.0))));
        }
        last = &page.sheet;
    }
    outline
}

struct Press {
    fonts: [Font; 4],
    shapes: usvg::Options<'static>,
}

impl Press {
    fn new() -> Option<Self> {
        let [a, b, c, d] = Typeface::ALL.map(|face| Font::new(face.data().to_vec().into(), 0));
        let mut shapes = usvg::Options { font_family: "DejaVu Sans".to_owned(), ..usvg::Options::default() };
        let fonts = Arc::make_mut(&mut shapes.fontdb);
        for face in [Typeface::Regular, Typeface::Bold] {
            fonts.load_font_data(face.data().to_vec());
        }
        Some(Self { fonts: [a?, b?, c?, d?], shapes })
    }

    fn print(&self, document: &mut Document, page: &Page) -> Result<(), String> {
        let settings = PageSettings::from_wh(page.size.0 as f32, page.size.1 as f32).ok_or("a page without size")?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        for mark in &page.marks {
            self.put(&mut surface, mark)?;
        }
        surface.finish();
        sheet.finish();
        Ok(())
    }

    fn put(&self, surface: &mut Surface<'_>, mark: &Mark) -> Result<(), String> {
        match mark {
            Mark::Text { x, y, text, look } => self.write(surface, (*x, *y, text), look),
            Mark::Fill { area, tint } => fill(surface, rectangle(area), *tint),
            Mark::Fills { areas, by, tint } => fill(surface, rectangles(areas, *by), *tint),
            Mark::Outline { area, tint, width } => stroke(surface, rectangle(area), (*tint, *width)),
            Mark::Line { from, to, width, tint } => stroke(surface, line(*from, *to), (*tint, *width)),
            Mark::Picture { area, drawing } => self.picture(surface, area, drawing)?,
        }
        Ok(())
    }

    fn write(&self, surface: &mut Surface<'_>, (x, y, text): (f64, f64, &str), look: &Look) {
        let glyph = |(at, letter): (usize, char)| {
            let shape = GlyphId::new(u32::from(look.face.glyph(letter)));
            let advance = look.face.advance(letter) as f32;
            KrillaGlyph::new(shape, advance, 0.0, 0.0, 0.0, at..at + letter.len_utf8(), None)
        };
        let glyphs: Vec<KrillaGlyph> = text.char_indices().map(glyph).collect();
        surface.set_stroke(None);
        surface.set_fill(Some(paint(look.tint)));
        let font = self.fonts[look.face as usize].clone();
        surface.draw_glyphs(Point::from_xy(x as f32, y as f32), &glyphs, font, text, look.size as f32, false);
    }

    fn picture(&self, surface: &mut Surface<'_>, area: &Area, drawing: &Drawing) -> Result<(), String> {
        let tree = usvg::Tree::from_str(&drawing.svg, &self.shapes).map_err(|error| error.to_string())?;
        let size = Size::from_wh(area.w as f32, area.h as f32).ok_or("a drawing without size")?;
        surface.push_transform(&Transform::from_translate(area.x as f32, area.y as f32));
        surface.draw_svg(&tree, size, SvgSettings::default());
        surface.pop();
        Ok(())
    }
}

fn paint(tint: Tint) -> Fill {
    Fill { paint: rgb::Color::new(tint.0, tint.1, tint.2).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
}

fn fill(surface: &mut Surface<'_>, path: Option<Path>, tint: Tint) {
    if let Some(path) = path {
        surface.set_stroke(None);
        surface.set_fill(Some(paint(tint)));
        surface.draw_path(&path);
    }
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, (tint, width): (Tint, f64)) {
    if let Some(path) = path {
        surface.set_fill(None);
        surface.set_stroke(Some(Stroke {
            paint: rgb::Color::new(tint.0, tint.1, tint.2).into(),
            width: width as f32,
            ..Stroke::default()
        }));
        surface.draw_path(&path);
    }
}

fn rectangle(area: &Area) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.push_rect(Rect::from_xywh(area.x as f32, area.y as f32, area.w as f32, area.h as f32)?);
    path.finish()
}

fn rectangles(areas: &[Area], by: (f64, f64)) -> Option<Path> {
    let mut path = PathBuilder::new();
    for area in areas {
        path.push_rect(Rect::from_xywh((area.x + by.0) as f32, (area.y + by.1) as f32, area.w as f32, area.h as f32)?);
    }
    path.finish()
}

fn line(from: (f64, f64), to: (f64, f64)) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.move_to(from.0 as f32, from.1 as f32);
    path.line_to(to.0 as f32, to.1 as f32);
    path.finish()
}
