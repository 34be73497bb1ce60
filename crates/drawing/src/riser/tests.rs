//! Layout checks: labels apart, everything on the sheet, every trunk there.

use super::*;
use crate::options::Layers;
use crate::testing::{playhouse, stress};
use crate::theme::Theme;

#[test]
fn labels_are_apart_and_every_trunk_is_there() {
    for show in [playhouse(), stress()] {
        for (theme, load, hang) in [(Theme::Page, false, false), (Theme::Print, true, false), (Theme::Print, false, true)] {
            let options = Options { theme, layers: Layers { load, hang, ..Layers::default() }, ..Options::default() };
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

#[test]
fn what_hangs_on_an_item_is_told_by_width_and_figure() {
    use loomwright_proof::report::{FailureLine, SilentLine};
    let show = playhouse();
    let mut report = show.scene().report.clone();
    let scene = show.scene();
    let (id, _) = show.wiring.cables.iter().find(|(_, cable)| scene.is_trunk(cable)).expect("a trunk");
    let line = |n: usize| SilentLine { stream: format!("s{n}").into(), to: "desk".into() };
    report.failures = vec![FailureLine {
        without: vec![format!("cable:{id}")],
        silent: (0..19).map(line).collect(),
        one_leg_left: (0..51).map(line).collect(),
        ..FailureLine::default()
    }];
    let scene = Scene { report: &report, ..scene };
    let drawn = |hang| riser(&scene, &Options { layers: Layers { hang, ..Layers::default() }, ..Options::default() });
    let is_told = |drawing: &Drawing| drawing.labels.iter().any(|label| label.text.ends_with("\u{b7} 19/51"));
    let is_explained = |drawing: &Drawing| drawing.texts.iter().any(|text| text.text.contains("19 deliveries fall silent"));
    let is_broad = |drawing: &Drawing| drawing.svg.contains("stroke-width=\"9\"");
    let (on, off) = (drawn(true), drawn(false));
    assert!(is_told(&on) && is_explained(&on) && is_broad(&on));
    assert!(!is_told(&off) && !is_explained(&off) && !is_broad(&off));
}
