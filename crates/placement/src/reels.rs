//! Cutting lengths from reels: as few reels as possible.
//!
//! **Shape** (bin packing): best fit, longest first, gives an answer; the bound sums what must be apart (Martello and
//! Toth's second bound, from memory). Where they differ, branch and bound places the lengths one by one, longest first,
//! for a fixed number of tries.

/// Tries before the search gives up. Own choice: well under a second.
const TRIES: usize = 200_000;

/// Most lengths that are searched through: each is a level of recursion. Own choice.
const DEEPEST: usize = 500;

/// Which length comes from which reel.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cutting {
    /// Reel by reel: positions of the lengths cut from it.
    pub reels: Vec<Vec<usize>>,
    /// Lengths longer than a reel.
    pub too_long: Vec<usize>,
    /// No cutting needs fewer reels.
    pub bound: usize,
}

/// Cuts `lengths` from reels of length `reel`.
pub fn cut(lengths: &[u64], reel: u64) -> Cutting {
    let (mut order, too_long): (Vec<usize>, Vec<usize>) = (0..lengths.len()).partition(|at| lengths[*at] <= reel);
    order.sort_by_key(|at| (std::cmp::Reverse(lengths[*at]), *at));
    let sorted: Vec<u64> = order.iter().map(|at| lengths[*at]).collect();
    let bound = bound(&sorted, reel);
    let mut search = Search { sorted: &sorted, reel, bound, tries: TRIES, best: best_fit(&sorted, reel) };
    if search.best.len() > bound && lengths.len() <= DEEPEST {
        search.place(0, &mut Vec::new(), &mut Vec::new());
    }
    let proved = if search.tries > 0 && lengths.len() <= DEEPEST { search.best.len() } else { bound };
    let reels = search.best.iter().map(|own| own.iter().map(|at| order[*at]).collect()).collect();
    Cutting { reels, too_long, bound: proved }
}

/// A number of reels that no cutting can undercut. `sorted` is longest first.
///
/// For every `short`: lengths above `reel - short` fill a reel alone as far as those of at least `short` are concerned,
/// lengths above half a reel need one each, and the rest fills what these leave.
fn bound(sorted: &[u64], reel: u64) -> usize {
    let mut best = 0;
    let shorts = sorted.iter().copied().filter(|length| length.saturating_mul(2) <= reel).chain([0]);
    for short in shorts {
        let alone = sorted.iter().filter(|length| **length > reel - short).count();
        let halves = || sorted.iter().filter(|length| length.saturating_mul(2) > reel && **length <= reel - short);
        let rest = sorted
            .iter()
            .filter(|length| length.saturating_mul(2) <= reel && **length >= short)
            .fold(0u64, |sum, length| sum.saturating_add(*length));
        let room = halves().fold(0u64, |sum, length| sum.saturating_add(reel - length));
        let more = rest.saturating_sub(room).div_ceil(reel.max(1)) as usize;
        best = best.max(alone + halves().count() + more);
    }
    best
}

fn best_fit(sorted: &[u64], reel: u64) -> Vec<Vec<usize>> {
    let mut reels: Vec<(u64, Vec<usize>)> = Vec::new();
    for (at, length) in sorted.iter().enumerate() {
        match reels.iter_mut().filter(|(left, _)| left >= length).min_by_key(|(left, _)| *left) {
            Some((left, own)) => {
                *left -= length;
                own.push(at);
            }
            None => reels.push((reel - length, vec![at])),
        }
    }
    reels.into_iter().map(|(_, own)| own).collect()
}

struct Search<'s> {
    sorted: &'s [u64],
    reel: u64,
    bound: usize,
    tries: usize,
    best: Vec<Vec<usize>>,
}

impl Search<'_> {
    /// Places the length at `at` into every reel that differs; true once the bound is met or the tries are used up.
    fn place(&mut self, at: usize, left: &mut Vec<u64>, reels: &mut Vec<Vec<usize>>) -> bool {
        if at == self.sorted.len() {
            self.best.clone_from(reels);
            return self.best.len() <= self.bound;
        }
        self.tries = self.tries.saturating_sub(1);
        if self.tries == 0 {
            return true;
        }
        let rest: u64 = self.sorted[at..].iter().fold(0, |sum, length| sum.saturating_add(*length));
        let room: u64 = left.iter().fold(0, |sum, left| sum.saturating_add(*left));
        if reels.len() + rest.saturating_sub(room).div_ceil(self.reel.max(1)) as usize >= self.best.len() {
            return false;
        }
        let length = self.sorted[at];
        let mut tried: Vec<u64> = Vec::new();
        for number in 0..reels.len() {
            if left[number] < length || tried.contains(&left[number]) {
                continue;
            }
            tried.push(left[number]);
            left[number] -= length;
            reels[number].push(at);
            let done = self.place(at + 1, left, reels);
            reels[number].pop();
            left[number] += length;
            if done {
                return true;
            }
        }
        if reels.len() + 1 >= self.best.len() {
            return false;
        }
        left.push(self.reel - length);
        reels.push(vec![at]);
        let done = self.place(at + 1, left, reels);
        left.pop();
        reels.pop();
        done
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    fn slow(lengths: &[u64], reel: u64, left: &mut Vec<u64>) -> usize {
        let Some((first, rest)) = lengths.split_first() else { return left.len() };
        left.push(reel - first);
        let mut best = slow(rest, reel, left);
        left.pop();
        for at in 0..left.len() {
            if left[at] >= *first {
                left[at] -= first;
                best = best.min(slow(rest, reel, left));
                left[at] += first;
            }
        }
        best
    }

    #[test]
    fn fewest_reels_equal_trying_every_cutting() {
        let mut random = Random::new(5);
        for _ in 0..200 {
            let lengths: Vec<u64> = (0..1 + random.below(7)).map(|_| 5 + random.below(60) as u64).collect();
            let cutting = cut(&lengths, 70);
            assert_eq!(cutting.reels.len(), slow(&lengths, 70, &mut Vec::new()), "{lengths:?}");
            assert_eq!(cutting.bound, cutting.reels.len(), "{lengths:?}");
            assert!(cutting.reels.iter().all(|own| own.iter().map(|at| lengths[*at]).sum::<u64>() <= 70));
            let mut all: Vec<usize> = cutting.reels.into_iter().flatten().collect();
            all.sort_unstable();
            assert_eq!(all, (0..lengths.len()).collect::<Vec<usize>>());
        }
    }

    #[test]
    fn what_is_longer_than_a_reel_is_said() {
        let cutting = cut(&[400, 100, 205], 305);
        assert_eq!((cutting.too_long, cutting.reels, cutting.bound), (vec![0], vec![vec![2, 1]], 1));
    }

    #[test]
    fn a_hundred_runs_come_within_one_reel_of_the_bound() {
        let mut random = Random::new(9);
        let lengths: Vec<u64> = (0..100).map(|_| 8_000 + random.below(80_000) as u64).collect();
        let cutting = cut(&lengths, 305_000);
        assert!(cutting.reels.len() <= cutting.bound + 1, "{} of {}", cutting.reels.len(), cutting.bound);
    }
}
