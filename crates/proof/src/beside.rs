//! Two pieces of work that have nothing in common: one after the other here, side by side where the caller may start threads.

/// A piece of work.
pub type Work<'a> = &'a mut (dyn FnMut() + Send);

/// Does both pieces of work and returns when both are done. **Invariant**: each is called once.
pub type Beside = fn(Work<'_>, Work<'_>);

/// One after the other.
pub fn in_turn(one: Work<'_>, two: Work<'_>) {
    one();
    two();
}

/// Both results.
pub(crate) fn both<A: Send, B: Send>(beside: Beside, one: impl FnOnce() -> A + Send, two: impl FnOnce() -> B + Send) -> (A, B) {
    let (mut first, mut second) = (None, None);
    let (mut one, mut two) = (Some(one), Some(two));
    beside(&mut || first = one.take().map(|work| work()), &mut || second = two.take().map(|work| work()));
    (first.expect("both are done"), second.expect("both are done"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_results_come_back_in_either_order() {
        let backwards: Beside = |one, two| in_turn(two, one);
        for beside in [in_turn as Beside, backwards] {
            assert_eq!(both(beside, || 1, || "two"), (1, "two"));
        }
    }
}
