//! Path costs in the range that a kernel bridge takes.

/// Highest path cost of a kernel bridge port. **Source**: Linux `net/bridge/br_private_stp.h`, BR_MAX_PATH_COST (from memory).
const MOST: u32 = 65_535;

/// How planned costs become the kernel's: divided by one number, so that sums compare as before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scale {
    divisor: u32,
    is_exact: bool,
}

/// Finds the scale for `costs`: exact where all share a divisor that is large enough.
pub(crate) fn scale(costs: impl Iterator<Item = u32>) -> Scale {
    let (mut shared, mut most) = (0, 0);
    for cost in costs {
        shared = divisor(shared, cost);
        most = most.max(cost);
    }
    let needed = most.div_ceil(MOST).max(1);
    match shared {
        shared if shared >= needed => Scale { divisor: shared.max(1), is_exact: true },
        _ => Scale { divisor: needed, is_exact: needed == 1 },
    }
}

fn divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { divisor(b, a % b) }
}

impl Scale {
    pub(crate) fn of(self, cost: u32) -> u32 {
        (cost / self.divisor).clamp(1, MOST)
    }

    /// What to tell where costs had to be rounded.
    pub(crate) fn note(self) -> Option<String> {
        let says = || {
            format!(
                "Planned path costs do not fit the kernel's 1 to {MOST}: they were divided by {} and rounded. Near ties may fall otherwise.",
                self.divisor
            )
        };
        (!self.is_exact).then(says)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_costs_keep_their_ratios() {
        let costs = [20_000, 200_000, 2_000, 20_001];
        let exact = scale(costs[..3].iter().copied());
        assert_eq!(costs.map(|cost| exact.of(cost))[..3], [10, 100, 1]);
        assert_eq!(exact.note(), None);
        let rounded = scale(costs.into_iter());
        assert_eq!(rounded.of(200_000), 50_000);
        assert!(rounded.note().is_some_and(|note| note.contains("rounded")));
        assert_eq!(scale([].into_iter()).of(7), 7);
    }
}
