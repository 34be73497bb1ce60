//! Layout checks: labels and names apart, positions true to scale.

use super::*;
use crate::testing::{Show, playhouse, stress};
use crate::theme::Theme;

fn without_coordinates(mut show: Show) -> Show {
    show.plan.places.values_mut().for_each(|place| place.at = None);
    show
}

#[test]
fn names_and_labels_are_apart_and_on_the_sheet() {
    for show in [playhouse(), stress(), without_coordinates(playhouse())] {
        for theme in [Theme::Page, Theme::Print] {
            let drawing = floor(&show.scene(), &Options { theme, ..Options::default() });
            let sheet = Area::new(0.0, 0.0, drawing.width, drawing.height);
            for (n, a) in drawing.texts.iter().enumerate() {
                assert!(sheet.contains(&a.area), "{} leaves the sheet", a.text);
                let other = drawing.texts[n + 1..].iter().find(|b| a.area.overlaps(&b.area));
                assert!(other.is_none(), "{} overlaps {other:?}", a.text);
            }
            for route in show.plan.routes.keys() {
                assert!(drawing.labels.iter().any(|label| label.text.starts_with(&format!("{route} "))), "{route}");
            }
            for hazard in show.plan.routes.values().flat_map(|route| &route.shares) {
                assert!(drawing.labels.iter().any(|label| label.text == hazard.as_str()), "{hazard}");
            }
        }
    }
}

#[test]
fn places_stand_to_scale() {
    let show = playhouse();
    let options = Options::default();
    let desk = Desk::new(&show.scene(), &options);
    let spots = spots(&desk);
    let scale = spots.scale.expect("coordinates are given");
    let of = |name: &str| spots.of(&crate::testing::id(name)).expect("a place");
    let (left, right, house) = (of("stage-left"), of("stage-right"), of("foh"));
    // Stage left to right: 18 m apart at the same depth; front of house 22 m further from the reader's eye, so higher up.
    assert!((right.x - left.x - 18.0 * scale).abs() < 1e-6 && (right.y - left.y).abs() < 1e-6);
    assert!((left.y - house.y - 22.0 * scale).abs() < 1e-6);
}

#[test]
fn made_up_positions_follow_route_lengths_and_say_so() {
    let show = without_coordinates(playhouse());
    let options = Options::default();
    let desk = Desk::new(&show.scene(), &options);
    let spots = spots(&desk);
    let of = |name: &str| spots.of(&crate::testing::id(name)).expect("a place");
    let gap = |a: &str, b: &str| crate::geometry::distance(of(a), of(b));
    // Ladder 18 m, trench 38 m.
    assert!(gap("stage-right", "grid") < gap("stage-left", "foh"));
    let drawing = floor(&show.scene(), &options);
    assert!(drawing.texts.iter().any(|text| text.text.starts_with("Not to scale")));
}

#[test]
fn scale_bars_have_round_lengths() {
    for (least, length) in [(0.9, 1.0), (1.1, 2.0), (3.0, 5.0), (7.0, 10.0), (12.0, 20.0)] {
        assert!((round_length(least) - length).abs() < 1e-9, "{least}");
    }
}
