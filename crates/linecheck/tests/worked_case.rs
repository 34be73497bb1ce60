//! A fault worked out by hand: a chain of four, one silent receiver.
//!
//! Structure after the tree with a chained device of the usual consistency-based diagnosis (Reiter 1987, de Kleer
//! and Williams 1987, from memory); suspects found here by hand.

use loomwright_demo::{MEETING_ROOM, read};
use loomwright_forwarding::{Fabric, forward};
use loomwright_linecheck::{Answer, Trouble};
use loomwright_survival::Survival;
use std::collections::BTreeSet;

/// Suspects that fit after these answers, and the sentence about them.
fn fitting(answers: &[(&str, bool)]) -> (BTreeSet<String>, String) {
    let loaded = read(&MEETING_ROOM).expect("the demo is read without a problem");
    let (plan, wiring) = (&loaded.plan, &loaded.wiring);
    let fabric = Fabric::new(plan, wiring);
    let forwarding = forward(plan, wiring, &fabric);
    let survival = Survival::new(plan, wiring, &fabric, &forwarding.blocked);
    let singles = survival.single_failures();
    let trouble = Trouble::new((plan, wiring), &fabric, (&survival, &singles));
    let ask = |(name, is_good): &(&str, bool)| {
        let asks = trouble.asks(name).expect("the names are the demo's");
        asks.into_iter().map(|ask| Answer { ask, is_good: *is_good }).collect::<Vec<_>>()
    };
    let inquiry = trouble.inquire(&answers.iter().flat_map(ask).collect::<Vec<_>>());
    let names = inquiry.fitting().map(|suspect| suspect.losses.iter().map(ToString::to_string).collect::<Vec<_>>().join(" + "));
    (names.collect(), trouble.lines(&inquiry, 3, None).says)
}

fn named(names: &[&str]) -> BTreeSet<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

/// table-mics - A-001 - room-dsp - A-002 - room-amp - A-003 - room-recorder, all on one feed.
#[test]
fn what_is_heard_clears_its_way() {
    let (found, _) = fitting(&[("heard:table@room-recorder", false), ("heard:table@room-dsp", true)]);
    assert_eq!(found, named(&["cable:A-002", "device:room-amp", "cable:A-003", "device:room-recorder"]));
    let (found, _) = fitting(&[("heard:table@room-recorder", false), ("heard:table@room-dsp", true), ("heard:room-mix@room-amp", true)]);
    assert_eq!(found, named(&["cable:A-003", "device:room-recorder"]));
    let (found, says) = fitting(&[("heard:table@room-recorder", false), ("heard:room-mix@room-amp", true), ("power:room-recorder", true)]);
    assert_eq!(found, named(&["cable:A-003", "cable:A-001", "device:table-mics", "route:floor-duct"]), "{says}");
}

/// Sender and amplifier silent for each other's neighbours, with sound between: two faults.
#[test]
fn two_faults_are_found_where_one_cannot_be() {
    let answers = [
        ("heard:table@room-dsp", false),
        ("heard:room-mix@room-amp", true),
        ("heard:room-mix@room-recorder", false),
        ("power:table-mics", true),
        ("power:room-recorder", true),
    ];
    let (found, says) = fitting(&answers);
    assert_eq!(found, named(&["cable:A-001 + cable:A-003", "cable:A-003 + route:floor-duct"]), "{says}");
}

#[test]
fn nothing_silent_nobody_suspected() {
    let (found, says) = fitting(&[("heard:table", true)]);
    assert!(found.is_empty() && says.contains("nobody to suspect"), "{says}");
}
