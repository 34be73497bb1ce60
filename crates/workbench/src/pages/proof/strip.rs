//! A stream's worst case as a strip: one block per hop, each cut into where its time goes, to scale.

use super::super::figures::time;
use loomwright_proof::report::{DelayLine, HopLine};
use maud::{Markup, html};

/// The parts of a hop: class and name, in the order they are drawn.
pub const PARTS: [(&str, &str); 5] = [
    ("serialise", "onto the cable"),
    ("blocked", "behind one frame already sending"),
    ("wait", "behind other streams"),
    ("propagate", "along the cable"),
    ("forward", "inside the next box"),
];

/// The parts of one hop in nanoseconds, in the order of [`PARTS`]. They add up to the hop.
pub fn parts_of(hop: &HopLine) -> [u64; 5] {
    [hop.serialise_ns, hop.blocked_ns, hop.wait_ns.saturating_sub(hop.blocked_ns), hop.propagate_ns, hop.forward_ns]
}

/// Thousandths of the strip's width.
fn place(nanoseconds: u64, scale: u64) -> u64 {
    u64::try_from(u128::from(nanoseconds) * 1000 / u128::from(scale.max(1))).unwrap_or(u64::MAX).min(1000)
}

/// The strip. `scale` is what its whole width stands for; `limit` draws the line that must not be crossed.
pub fn strip(delay: &DelayLine, scale: u64, limit: Option<u64>) -> Markup {
    let mut from = 0_u64;
    let blocks: Vec<Markup> = delay.per_hop.iter().map(|hop| block(hop, &mut from, scale)).collect();
    html! {
        svg.strip viewBox="0 0 1000 20" preserveAspectRatio="none" role="img" aria-label={ "At most " (time(delay.worst_ns)) " in " (delay.per_hop.len()) " hops" } {
            rect.all width="1000" height="20" {}
            @for block in blocks { (block) }
            @if let Some(limit) = limit.filter(|limit| *limit <= scale) {
                @let x = place(limit, scale);
                line.limit x1=(x) x2=(x) y1="0" y2="20" {}
            }
        }
    }
}

fn block(hop: &HopLine, from: &mut u64, scale: u64) -> Markup {
    let start = place(*from, scale);
    let pieces: Vec<Markup> = PARTS
        .iter()
        .zip(parts_of(hop))
        .map(|((class, _), length)| {
            let x = place(*from, scale);
            *from = from.saturating_add(length);
            html! { rect class=(class) x=(x) y="2" width=(place(*from, scale).saturating_sub(x)) height="16" {} }
        })
        .collect();
    html! {
        g {
            title { (hop.at) ": " @for ((_, name), length) in PARTS.iter().zip(parts_of(hop)).filter(|(_, length)| *length > 0) { (time(length)) " " (name) "; " } }
            @for piece in pieces { (piece) }
            line.hop x1=(start) x2=(start) y1="0" y2="20" {}
        }
    }
}

/// What the colours and hatches mean.
pub fn legend() -> Markup {
    html! {
        ul.legend aria-label="Parts of a hop" {
            @for (class, name) in PARTS { li { svg.swatch viewBox="0 0 20 12" aria-hidden="true" { rect class=(class) width="20" height="12" {} } (name) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_blocks_fill_the_worst_case_exactly() {
        let hop = HopLine {
            at: "port:a/1".into(),
            serialise_ns: 100,
            wait_ns: 300,
            forward_ns: 50,
            propagate_ns: 50,
            blocked_ns: 120,
            behind: vec![],
        };
        assert_eq!(parts_of(&hop), [100, 120, 180, 50, 50]);
        let delay = DelayLine { least_ns: 0, worst_ns: 1000, known_tight: true, per_hop: vec![hop.clone(), hop], ..DelayLine::default() };
        let drawn = strip(&delay, 1000, Some(800)).into_string();
        assert!(drawn.contains("class=\"forward\" x=\"950\" y=\"2\" width=\"50\""), "{drawn}");
        assert!(drawn.contains("class=\"limit\" x1=\"800\""));
        assert!(!strip(&delay, 1000, Some(1001)).into_string().contains("limit"));
    }
}
