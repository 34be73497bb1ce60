//! Takes every single move that helps, until none does.

use crate::problem::{Cost, MOST};
use crate::state::State;

/// Most rounds through all moves. Own choice: far more than were ever needed.
const ROUNDS: usize = 60;

/// Makes `state` as cheap as shifts, swaps and closings of places can.
pub(crate) fn polish(state: &mut State) {
    for _ in 0..ROUNDS {
        let before = state.total;
        shifts(state);
        swaps(state);
        closings(state);
        if state.total >= before {
            return;
        }
    }
}

fn shifts(state: &mut State) {
    for item in 0..state.instance.items {
        let instance = state.instance;
        let best = instance.reach[item].iter().map(|place| (state.shifting(item, *place as usize), *place)).min();
        if let Some((_, place)) = best.filter(|(added, _)| *added < 0) {
            state.shift(item, place as usize);
        }
    }
}

fn swaps(state: &mut State) {
    let instance = state.instance;
    for one in 0..instance.items {
        let here = state.home[one] as usize;
        if here == instance.places {
            continue;
        }
        // Only where this item itself gets a shorter cable: the other way round comes up from the other side.
        for there in instance.reach[one].iter().take_while(|place| instance.cable(one, **place as usize) < instance.cable(one, here)) {
            let there = *there as usize;
            let reaches = |other: &&u32| instance.cable(**other as usize, here) < MOST;
            let best = state.members[there].iter().filter(reaches).map(|other| (state.swapping(one, *other as usize), *other)).min();
            if let Some((_, other)) = best.filter(|(added, _)| *added < 0) {
                state.shift(one, there);
                state.shift(other as usize, here);
                break;
            }
        }
    }
}

fn closings(state: &mut State) {
    while state.open > state.instance.most_open {
        // Too many are open: the one that is missed least goes first.
        let open = (0..state.instance.places).filter(|place| !state.members[*place].is_empty()).collect::<Vec<usize>>();
        let best = open.into_iter().map(|place| (closing(&mut state.clone(), place), place)).min();
        let Some((_, place)) = best.filter(|(added, _)| *added < 0) else { return };
        closing(state, place);
    }
    for place in 0..state.instance.places {
        closing(state, place);
    }
}

/// Closes a place if that is cheaper: each of its items goes where it adds least. Says what was added.
fn closing(state: &mut State, place: usize) -> Cost {
    let before = state.total;
    let moved = state.members[place].clone();
    for item in &moved {
        let instance = state.instance;
        let others = instance.reach[*item as usize].iter().filter(|other| **other as usize != place);
        let open = others.filter(|other| **other as usize == instance.places || !state.members[**other as usize].is_empty());
        let Some((_, to)) = open.map(|other| (state.shifting(*item as usize, *other as usize), *other)).min() else { break };
        state.shift(*item as usize, to as usize);
    }
    if state.total >= before {
        moved.iter().for_each(|item| {
            state.shift(*item as usize, place);
        });
    }
    state.total - before
}
