//! Finds the two ports that a trunk plugs into.

use crate::panel::Panel;
use crate::trunks::GIGABIT;
use loomwright_model::{BitRate, Length, Medium};
use loomwright_physical::length_limit;

/// A medium and a free port on each of two switches for a trunk of at least `speed`, of the media and lengths in
/// `ways`, best first. Ports of equal speed that reach far enough come first: optics of two speeds do not agree.
/// Copper through pluggable modules comes after fibre; slower than 1 Gb/s comes last.
pub(crate) fn pair(panels: [&Panel; 2], ways: &[(Medium, Length)], speed: BitRate) -> Option<(Medium, [usize; 2])> {
    let mut found: Vec<(Rank, Medium, [usize; 2])> = Vec::new();
    for (order, (medium, length)) in ways.iter().enumerate() {
        for native in [true, false] {
            let native_at = |panel: &Panel| panel.trunk_ports(*medium, native);
            let any_at =
                |panel: &Panel| [true, false].into_iter().flat_map(|native| panel.trunk_ports(*medium, native)).collect::<Vec<_>>();
            let [low, high] = panels.map(|panel| if native { native_at(panel) } else { any_at(panel) });
            for (one, other) in pairs(panels, &low, &high) {
                let speeds = [panels[0].port(one).speed, panels[1].port(other).speed];
                let link = speeds[0].min(speeds[1]);
                if link < speed {
                    continue;
                }
                let uneven = *medium != Medium::Copper && speeds[0] != speeds[1];
                let too_long = length_limit(*medium, link).is_some_and(|limit| *length > limit.most);
                found.push(((link < GIGABIT, uneven, too_long, !native, order, link), *medium, [one, other]));
            }
        }
    }
    // Of equal rank the first found is the one with the last ports.
    found.into_iter().min_by_key(|(rank, _, _)| *rank).map(|(_, medium, ports)| (medium, ports))
}

/// Slow, speeds differ, beyond reach, through a module, order of the medium, speed: smaller is better.
type Rank = (bool, bool, bool, bool, usize, BitRate);

/// The last free port of each speed on one side with the last of each speed on the other.
fn pairs(panels: [&Panel; 2], low: &[usize], high: &[usize]) -> Vec<(usize, usize)> {
    let last_of_each = |panel: &Panel, ports: &[usize]| {
        let mut kept: Vec<usize> = Vec::new();
        for port in ports {
            if kept.iter().all(|other| panel.port(*other).speed != panel.port(*port).speed) {
                kept.push(*port);
            }
        }
        kept
    };
    let (low, high) = (last_of_each(panels[0], low), last_of_each(panels[1], high));
    low.iter().flat_map(|one| high.iter().map(|other| (*one, *other))).collect()
}
