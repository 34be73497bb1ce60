//! Designs side by side.

use crate::judge;
use crate::plans::{add_device, add_network, add_place, add_route, add_stream, empty, id, metres, playhouse};
use crate::rules;
use crate::seeded::sound;
use loomwright_design::design;
use loomwright_design::options::{Built, DesignOption, Shape, Wish, any_two_difference, option, options, price};
use loomwright_model::{Medium, Money, Nowhere, Plan, Severity, SpanningTree, Survive, Wiring};

fn all(plan: &Plan) -> Vec<DesignOption> {
    options(plan, &Wiring::default(), Wish { any_two: true })
}

fn built(options: &[DesignOption], shape: Shape) -> &Built {
    match options.iter().find(|option| option.shape == shape).map(|option| &option.outcome) {
        Some(Ok(built)) => built,
        other => panic!("{shape:?} was not built: {other:?}"),
    }
}

fn why_not(options: &[DesignOption], shape: Shape) -> &str {
    match options.iter().find(|option| option.shape == shape).map(|option| &option.outcome) {
        Some(Err(why)) => why,
        _ => "built",
    }
}

/// A room: four two-port devices and a laptop in two places 30 m apart.
fn room() -> Plan {
    let mut plan = empty();
    add_network(&mut plan, "a", "10.0.0.0/24", None);
    add_place(&mut plan, "stage", &["mains"]);
    add_place(&mut plan, "foh", &["mains"]);
    add_route(&mut plan, "floor", ["stage", "foh"], (30, &[Medium::Copper], &[]));
    for (name, gear, place) in [
        ("desk", "stage-box", "foh"),
        ("box-1", "stage-box", "stage"),
        ("box-2", "stage-box", "stage"),
        ("box-3", "stage-box", "stage"),
        ("laptop", "laptop", "foh"),
    ] {
        add_device(&mut plan, name, gear, place);
    }
    add_stream(&mut plan, "mics", ("box-1", &["desk", "laptop"]), true);
    add_stream(&mut plan, "mix", ("desk", &["box-2", "box-3"]), true);
    plan
}

#[test]
fn every_shape_is_built_or_says_why_not() {
    let found = all(&room());
    assert_eq!(found.len(), Shape::ALL.len());
    assert_eq!(built(&found, Shape::Chain).price.switches, 0);
    assert_eq!(built(&found, Shape::OneSwitch).price.switches, 1);
    assert!(why_not(&found, Shape::Ring).contains("laptop"), "{}", why_not(&found, Shape::Ring));
    assert!(why_not(&found, Shape::TwoNetworks).contains("one audio network"));
    for option in &found {
        if let Err(why) = &option.outcome {
            assert!(why.ends_with('.') && !why.contains('\n'), "{:?}: {why}", option.shape);
        }
    }
}

#[test]
fn chains_inside_places_save_switch_ports() {
    let plan = room();
    let found = all(&plan);
    let (star, mixed) = (built(&found, Shape::OneSwitch), built(&found, Shape::ChainsAndStar));
    // Five devices star: five ports. Chained in two places: two.
    let used = |built: &Built| built.figures.free_ports[1] - built.figures.free_ports[0];
    assert_eq!((used(star), used(mixed)), (5, 2));
    assert_eq!(mixed.figures.arriving, [2, 2]);
    // One broken box silences those behind it: never better than the star.
    assert!(mixed.figures.worst_failure >= star.figures.worst_failure);
}

#[test]
fn a_ring_takes_devices_that_run_a_tree_protocol() {
    let mut plan = room();
    plan.devices.shift_remove(&id("laptop"));
    plan.streams[&id("mics")].to = vec![id("desk")];
    assert!(why_not(&all(&plan), Shape::Ring).contains("storm"));
    plan.gear[&id("stage-box")].spanning_tree = SpanningTree::Rapid;
    add_route(&mut plan, "ceiling", ["stage", "foh"], (45, &[Medium::Copper], &[]));
    let found = all(&plan);
    let (ring, chain) = (built(&found, Shape::Ring), built(&found, Shape::Chain));
    assert_eq!(ring.price.ends, chain.price.ends + 2);
    assert!(ring.figures.worst_failure < chain.figures.worst_failure, "{:?} {:?}", ring.figures, chain.figures);
}

#[test]
fn what_keeps_a_chain_away_is_named() {
    let mut plan = room();
    add_device(&mut plan, "panel-1", "panel", "stage");
    assert!(why_not(&all(&plan), Shape::Chain).contains("panel-1"));
    let mut plan = room();
    add_device(&mut plan, "amp-1", "amp", "stage");
    add_device(&mut plan, "amp-2", "amp", "stage");
    let found = all(&plan);
    assert!(why_not(&found, Shape::Chain).contains("two ends"), "{}", why_not(&found, Shape::Chain));
    let mut plan = room();
    plan.routes[&id("floor")].length = metres(140);
    let found = all(&plan);
    assert!(why_not(&found, Shape::Chain).contains("out of its reach"), "{}", why_not(&found, Shape::Chain));
    assert!(why_not(&found, Shape::OneSwitch).starts_with("One switch cannot serve everything"));
}

#[test]
fn what_is_ready_here_is_ready_in_the_proof_and_to_the_plain_judge() {
    let (mut ready, mut judged) = (0, 0);
    for seed in 0..24 {
        let plan = sound(seed);
        for option in all(&plan) {
            let Ok(built) = option.outcome else { continue };
            let report = loomwright_proof::prove(&plan, &built.designed.wiring, &Nowhere);
            assert_eq!(report.ready, built.figures.is_ready, "seed {seed}, {:?}", option.shape);
            assert!(built.designed.findings.iter().all(|finding| finding.severity != Severity::Stop));
            assert_eq!(built.figures.is_ready, built.figures.stops.is_empty());
            // What a shape cannot do is survive or reach in time; how it is plugged is never wrong.
            let sound =
                |code: &str| ["wiring/", "physical/", "address/", "power/", "multicast/"].iter().all(|area| !code.starts_with(area));
            for finding in report.findings.iter().filter(|finding| finding.severity == "stop") {
                assert!(sound(&finding.code), "seed {seed}, {:?}: {}: {}", option.shape, finding.code, finding.says);
            }
            let wiring = &built.designed.wiring;
            let kept = rules::ports_are_sound(&plan, wiring)
                .and_then(|()| rules::cables_can_be_laid(&plan, wiring))
                .and_then(|()| rules::addresses_are_sound(&plan, wiring))
                .and_then(|()| rules::groups_do_not_clash(wiring))
                .and_then(|()| rules::networks_stay_apart(&plan, wiring));
            assert_eq!(kept, Ok(()), "seed {seed}, {:?}", option.shape);
            if built.figures.is_ready {
                ready += 1;
                judged += judge::silences_nothing_essential(&plan, wiring)
                    .unwrap_or_else(|says| panic!("seed {seed}, {:?}: {says}", option.shape));
            }
        }
    }
    assert!(ready >= 20 && judged >= 500, "{ready} options ready, {judged} failures judged: too few to mean anything");
}

#[test]
fn the_cost_is_what_a_crew_would_add_up() {
    let mut plan = room();
    let wiring = option(&plan, &Wiring::default(), Shape::OneSwitch).expect("a star is built");
    let bare = price(&plan, &wiring.wiring);
    assert_eq!(bare.missing.len(), 3, "{:?}", bare.missing);
    plan.labour.per_metre = Some(Money::from_hundredths(150));
    plan.labour.copper_per_metre = Some(Money::from_hundredths(50));
    plan.labour.per_end = Some(Money::from_hundredths(400));
    let full = price(&plan, &wiring.wiring);
    let metres: u64 = wiring.wiring.cables.values().map(|cable| cable.length.millimetres() / 1_000).sum();
    // 2 for each metre, 4 for each of ten ends, 150 for the switch with 8 ports.
    assert_eq!((full.known(), full.missing.len()), (Money::from_hundredths((2 * metres + 40 + 150) * 100), 0));
}

#[test]
fn the_beaten_name_who_beats_them_and_are_beaten() {
    let found = all(&playhouse());
    let mut free = 0;
    for option in &found {
        let Ok(own) = &option.outcome else { continue };
        let Some((shape, says)) = &own.standing.beaten_by else {
            free += 1;
            continue;
        };
        let other = built(&found, *shape);
        assert!(says.contains("better in"), "{says}");
        assert!(other.figures.worst_failure.essential <= own.figures.worst_failure.essential);
        assert!(other.figures.worst_delay <= own.figures.worst_delay && other.figures.availability >= own.figures.availability);
    }
    assert!(free > 0, "somebody is beaten by nobody");
}

#[test]
fn two_failures_have_their_price_named() {
    let plan = playhouse();
    let found = all(&plan);
    let says = any_two_difference(&plan, &found);
    assert!(says.iter().any(|line| line.contains("Pairs of failures")), "{says:?}");
    let mut asked = plan;
    asked.targets.survive = Survive::AnyTwo;
    assert!(all(&asked).iter().any(|option| option.shape == Shape::AnyTwo));
}

#[test]
fn held_parts_stay_in_every_shape() {
    let plan = playhouse();
    let mut before = design(&plan, &Wiring::default()).wiring;
    before.switches[0].hold = true;
    let held = before.switches.get_index(0).map(|(id, switch)| (id.clone(), switch.clone())).expect("there is a switch");
    let found = options(&plan, &before, Wish::default());
    for option in &found {
        if let Ok(built) = &option.outcome {
            assert_eq!(built.designed.wiring.switches.get(&held.0), Some(&held.1), "{:?}", option.shape);
        }
    }
    assert!(why_not(&found, Shape::Chain).contains(held.0.as_str()));
}
