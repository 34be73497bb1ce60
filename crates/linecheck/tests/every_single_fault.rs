//! Every single fault of the demo plans is found from the signs that the failure model gives it, and in few tests.

use loomwright_demo::{Campus, WRITTEN, campus, read};
use loomwright_forwarding::{Fabric, forward};
use loomwright_linecheck::{Answer, Ask, Inquiry, Trouble};
use loomwright_model::{Plan, Wiring};
use loomwright_survival::{Loss, Signs, Singles, Survival};

/// The demos with their wirings: two written, one from a seed, smaller than the built-in one.
fn demos() -> Vec<(Plan, Wiring)> {
    let written = WRITTEN.iter().map(|files| {
        let loaded = read(files).expect("the written plans are read without a problem");
        (loaded.plan, loaded.wiring)
    });
    let plan = campus(Campus { devices: 60, ..Campus::default() });
    let wiring = loomwright_design::design(&plan, &Wiring::default()).wiring;
    written.chain([(plan, wiring)]).collect()
}

struct Ready {
    plan: Plan,
    wiring: Wiring,
    fabric: Fabric,
    survival: Survival,
    singles: Singles,
}

impl Ready {
    fn new((plan, wiring): (Plan, Wiring)) -> Self {
        let fabric = Fabric::new(&plan, &wiring);
        let forwarding = forward(&plan, &wiring, &fabric);
        let survival = Survival::new(&plan, &wiring, &fabric, &forwarding.blocked);
        let singles = survival.single_failures();
        Self { plan, wiring, fabric, survival, singles }
    }

    fn trouble(&self) -> Trouble<'_> {
        Trouble::new((&self.plan, &self.wiring), &self.fabric, (&self.survival, &self.singles))
    }

    /// What somebody who looks would answer, worked out here again from the signs.
    fn truth(&self, ask: &Ask, (signs, trouble): (&Signs, &Trouble)) -> bool {
        match ask {
            Ask::Leg(leg) => signs.heard[*leg as usize],
            Ask::Heard(demand) => trouble.legs().iter().zip(&signs.heard).any(|(leg, heard)| leg.demand == *demand && *heard),
            Ask::Power(item) => !signs.taken.dark.contains(item),
            Ask::Sound(cable) => !signs.taken.broken.contains(cable),
            Ask::Lights(cable) => {
                let ends = &self.wiring.cables[cable].ends;
                !signs.taken.broken.contains(cable)
                    && !signs.taken.dark.iter().any(|dark| ends.iter().any(|end| dark.name() == end.item.as_str()))
            }
        }
    }
}

/// Whether `loss` is still in it, and nothing else that a test could part from it is as likely.
fn is_found(inquiry: &Inquiry, loss: &Loss, trouble: &Trouble) -> bool {
    let [first, rest @ ..] = &inquiry.suspects[..] else { return false };
    let is_it = |losses: &[Loss]| losses == std::slice::from_ref(loss);
    (is_it(&first.losses) && first.chance > 0.9)
        || (trouble.next_tests(inquiry, None).is_empty() && rest.iter().chain([first]).any(|suspect| is_it(&suspect.losses)))
}

/// How many tests it takes from these answers, and how many suspects there are at first.
fn hunt(ready: &Ready, loss: &Loss, mut answers: Vec<Answer>) -> (usize, usize) {
    let trouble = ready.trouble();
    let signs = ready.survival.signs(std::slice::from_ref(loss));
    let mut inquiry = trouble.inquire(&answers);
    let at_first = inquiry.fitting().count();
    let mut tests = 0;
    assert!(inquiry.fitting().any(|suspect| suspect.losses == [loss.clone()]), "{loss} is no suspect");
    while !is_found(&inquiry, loss, &trouble) {
        let next = trouble.next_tests(&inquiry, None);
        let ask = next.first().unwrap_or_else(|| panic!("{loss}: no test left")).ask.clone();
        let is_good = ready.truth(&ask, (&signs, &trouble));
        answers.push(Answer { ask, is_good });
        tests += 1;
        inquiry = trouble.inquire(&answers);
        assert!(inquiry.fitting().any(|suspect| suspect.losses == [loss.clone()]), "{loss} was struck off");
    }
    (tests, at_first)
}

/// Legs that are silent now and were not.
fn silent_legs(ready: &Ready, loss: &Loss) -> Vec<u32> {
    let (before, after) = (ready.survival.signs(&[]).heard, ready.survival.signs(std::slice::from_ref(loss)).heard);
    (0..after.len()).filter(|&leg| before[leg] && !after[leg]).map(|leg| leg as u32).collect()
}

/// Average tests over all faults that silence a leg, and the average of log2(suspects) + 1.
fn average(ready: &Ready, report: impl Fn(&[u32], usize) -> Vec<Answer>) -> (f64, f64, usize) {
    let (mut tests, mut allowed, mut faults) = (0.0, 0.0, 0usize);
    for loss in ready.singles.losses() {
        let silent = silent_legs(ready, loss);
        if silent.is_empty() {
            continue;
        }
        let (taken, suspects) = hunt(ready, loss, report(&silent, ready.survival.legs().len()));
        tests += taken as f64;
        allowed += (suspects as f64).log2() + 1.0;
        faults += 1;
    }
    (tests / faults as f64, allowed / faults as f64, faults)
}

#[test]
fn every_fault_is_found_from_all_that_is_silent_and_heard() {
    for demo in demos() {
        let ready = Ready::new(demo);
        let all = |silent: &[u32], legs: usize| {
            (0..legs as u32).map(|leg| Answer { ask: Ask::Leg(leg), is_good: silent.binary_search(&leg).is_err() }).collect()
        };
        let (tests, allowed, faults) = average(&ready, all);
        println!("{}: {faults} faults, {tests:.2} tests, {allowed:.2} allowed", ready.plan.about.name);
        assert!(tests <= allowed, "{}: {tests} tests on average, {allowed} allowed", ready.plan.about.name);
    }
}

#[test]
fn every_fault_is_found_from_one_silent_receiver() {
    for demo in demos() {
        let ready = Ready::new(demo);
        let one = |silent: &[u32], _: usize| vec![Answer { ask: Ask::Leg(silent[0]), is_good: false }];
        let (tests, allowed, faults) = average(&ready, one);
        println!("{}: {faults} faults, {tests:.2} tests, {allowed:.2} allowed", ready.plan.about.name);
        assert!(tests <= allowed, "{}: {tests} tests on average, {allowed} allowed", ready.plan.about.name);
    }
}
