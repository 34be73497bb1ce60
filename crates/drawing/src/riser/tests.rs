//! Layout checks: labels apart, everything on the sheet, every trunk there.

use super::*;
use crate::options::Layers;
use crate::testing::{playhouse, stress};
use crate::theme::Theme;

#[test]
fn labels_are_apart_and_every_trunk_is_there() {
    for show in [playhouse(), stress()] {
        for (theme, load) in [(Theme::Page, false), (Theme::Print, true)] {
            let options = Options { theme, layers: Layers { load, ..Layers::default() }, ..Options::default() };
            let drawing = riser(&show.scene(), &options);
            let sheet = Area::new(0.0, 0.0, drawing.width, drawing.height);
            for (n, a) in drawing.labels.iter().enumerate() {
                assert!(sheet.contains(&a.area), "{} leaves the sheet", a.text);
                assert!(drawing.labels[n + 1..].iter().all(|b| !a.area.overlaps(&b.area)), "{} is overlapped", a.text);
            }
            assert!(drawing.texts.iter().all(|text| sheet.contains(&text.area)));
            let scene = show.scene();
            for (id, cable) in show.wiring.cables.iter().filter(|(_, cable)| scene.is_trunk(cable)) {
                let wanted = format!("{id} \u{b7} {} {}", cable.medium, cable.length);
                assert!(drawing.labels.iter().any(|label| label.text.starts_with(&wanted)), "{wanted}");
            }
        }
    }
}

#[test]
fn higher_places_stand_higher() {
    let show = playhouse();
    let drawing = riser(&show.scene(), &Options::default());
    let y_of = |text: &str| drawing.texts.iter().find(|placed| placed.text == text).map(|placed| placed.area.y);
    assert!(y_of("Grid, amplifier loft").expect("the grid") < y_of("Front of house").expect("the front of house"));
}
