//! Layout checks: nothing overlaps, nothing leaves the sheet, every cable is there.

use super::*;
use crate::canvas::Placed as Label;
use crate::geometry::Area;
use crate::options::Layers;
use crate::testing::{Show, hall, id, large, playhouse, stress};
use crate::theme::Theme;
use std::collections::BTreeSet;

fn overlapping(labels: &[Label]) -> Vec<(&str, &str)> {
    let mut found = Vec::new();
    for (n, a) in labels.iter().enumerate() {
        found.extend(labels[n + 1..].iter().filter(|b| a.area.overlaps(&b.area)).map(|b| (a.text.as_str(), b.text.as_str())));
    }
    found
}

fn check(show: &Show, subject: &Subject) -> Drawing {
    let layers = [Layers::default(), Layers { load: true, delay: true, ..Layers::default() }];
    for theme in [Theme::Page, Theme::Print] {
        for layers in layers {
            let drawing = panel(&show.scene(), subject, &Options { theme, layers, ..Options::default() });
            let sheet = Area::new(0.0, 0.0, drawing.width, drawing.height);
            assert_eq!(overlapping(&drawing.labels), [], "labels overlap");
            for placed in drawing.texts.iter().chain(&drawing.labels) {
                assert!(sheet.contains(&placed.area), "{} leaves the sheet at {:?}", placed.text, placed.area);
            }
            assert_eq!(overlapping(&drawing.texts), [], "texts overlap");
        }
    }
    panel(&show.scene(), subject, &Options::default())
}

fn cables_in(svg: &str) -> BTreeSet<String> {
    svg.split("data-item=\"cable:").skip(1).filter_map(|rest| rest.split('"').next()).map(str::to_owned).collect()
}

#[test]
fn every_switch_shows_all_its_cables_without_overlaps() {
    for show in [playhouse(), stress()] {
        for hub in show.wiring.switches.keys() {
            let drawing = check(&show, &Subject::Switch(hub.clone()));
            let at_hub = show.wiring.cables.iter().filter(|(_, cable)| cable.ends.iter().any(|end| end.item == *hub));
            for (cable, _) in at_hub {
                assert!(cables_in(&drawing.svg).contains(cable.as_str()), "{hub} lacks {cable}");
            }
        }
    }
}

#[test]
fn a_network_shows_all_its_cables() {
    let show = playhouse();
    for network in show.plan.networks.keys() {
        let drawing = check(&show, &Subject::Network(network.clone()));
        let shown = cables_in(&drawing.svg);
        let wanted = show.wiring.cables.iter().filter(|(_, cable)| cable.networks.contains(network));
        for (cable, _) in wanted {
            assert!(shown.contains(cable.as_str()), "network {network} lacks {cable}");
        }
    }
}

#[test]
fn a_ring_shows_the_cable_that_closes_it() {
    let mut show = playhouse();
    let mut closing = show.wiring.cables[&id("A-023")].clone();
    closing.ends = ["amp-3/2", "sw-a-grid/2"].map(|end| end.parse().expect("a port"));
    show.wiring.cables.insert(id("A-024"), closing);
    for subject in [Subject::Switch(id("sw-a-grid")), Subject::Network(id("a"))] {
        let drawing = check(&show, &subject);
        let shown = cables_in(&drawing.svg);
        for cable in ["A-021", "A-022", "A-023", "A-024"] {
            assert!(shown.contains(cable), "{subject:?} lacks {cable}");
        }
        assert!(drawing.labels.iter().any(|label| label.text == "A-023 to amp-3/1"));
    }
}

#[test]
fn a_chain_without_a_switch_says_where_its_devices_are() {
    let mut show = playhouse();
    show.wiring.cables.retain(|_, cable| !cable.ends.iter().any(|end| end.item.as_str().starts_with("sw-")));
    show.plan.devices[&id("amp-3")].place = id("foh");
    let drawing = check(&show, &Subject::Network(id("a")));
    assert_eq!(cables_in(&drawing.svg).len(), 2);
    assert!(drawing.texts.iter().any(|text| text.text == "in: Front of house"));
}

#[test]
fn unknown_subjects_and_bare_plans_still_draw() {
    let show = playhouse();
    for subject in [Subject::Switch(id("no-such-switch")), Subject::Network(id("no-such-network"))] {
        assert!(panel(&show.scene(), &subject, &Options::default()).svg.ends_with("</svg>\n"));
    }
}

#[test]
fn items_taken_away_and_items_that_fall_silent_are_marked() {
    let show = playhouse();
    let dim = ["device:foh-desk".parse().expect("an item")].into_iter().collect();
    let gone = ["cable:A-006".parse().expect("an item")].into_iter().collect();
    let options = Options { dim, gone, ..Options::default() };
    let svg = panel(&show.scene(), &Subject::Switch(id("sw-a-foh")), &options).svg;
    assert!(svg.contains("class=\"dim\"") && svg.contains("class=\"gone\""));
}

#[test]
fn paper_has_no_variables_and_pages_have_no_style_blocks() {
    let show = playhouse();
    let subject = Subject::Switch(id("sw-a-foh"));
    let paper = panel(&show.scene(), &subject, &Options { theme: Theme::Print, ..Options::default() }).svg;
    assert!(!paper.contains("var(") && !paper.contains("data-item"));
    let page = panel(&show.scene(), &subject, &Options::default()).svg;
    assert!(page.contains("var(--ink, ") && !page.contains("<style") && !page.contains("style=\""));
}

#[test]
fn a_plan_of_two_thousand_devices_draws_one_switch_without_overlaps() {
    let show = large(44);
    assert!(show.plan.devices.len() > 2_000);
    check(&show, &Subject::Switch(id("sw-07")));
    let trunks = crate::riser(&show.scene(), &Options::default());
    assert_eq!(overlapping(&trunks.labels), []);
}

#[test]
fn switches_and_places_of_any_size_draw_without_overlaps() {
    for (ports, per_place) in [(1, 1), (5, 5), (8, 3), (10, 10), (11, 2), (16, 16), (24, 5), (25, 1), (48, 48), (52, 7)] {
        for devices in [0, 1, ports / 2, ports] {
            let show = hall(ports as u32, devices, per_place);
            let drawing = check(&show, &Subject::Switch(id("sw")));
            assert_eq!(cables_in(&drawing.svg).len(), devices, "{ports} ports, {devices} devices");
        }
    }
}
