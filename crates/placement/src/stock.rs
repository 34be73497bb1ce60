//! Which cable from the truck for which run.
//!
//! Longest run first, each takes the shortest piece left that is long enough. That serves as many runs as any choice
//! can, leaves out the shortest ones (the cheapest to buy or rent), and takes the least length off the truck.

/// Pieces of one length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pieces {
    /// How long each is.
    pub length: u64,
    /// How many there are; `None` is as many as wanted.
    pub count: Option<u32>,
}

/// What each run gets: a position in the stock, or `None` if it has to be bought, made or rented.
pub fn choose(runs: &[u64], stock: &[Pieces]) -> Vec<Option<usize>> {
    let mut left: Vec<Option<u32>> = stock.iter().map(|pieces| pieces.count).collect();
    let mut by_length: Vec<usize> = (0..stock.len()).collect();
    by_length.sort_by_key(|at| (stock[*at].length, *at));
    let mut order: Vec<usize> = (0..runs.len()).collect();
    order.sort_by_key(|at| (std::cmp::Reverse(runs[*at]), *at));
    let mut chosen = vec![None; runs.len()];
    for run in order {
        let fits = by_length.iter().copied().find(|at| stock[*at].length >= runs[run] && left[*at] != Some(0));
        if let Some(at) = fits {
            left[at] = left[at].map(|count| count - 1);
        }
        chosen[run] = fits;
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    /// Runs not served, then length bought, then length taken: least over every choice.
    fn slow(runs: &[u64], pieces: &mut Vec<u64>) -> (usize, u64, u64) {
        let Some((first, rest)) = runs.split_first() else { return (0, 0, 0) };
        let without = slow(rest, pieces);
        let mut best = (without.0 + 1, without.1 + first, without.2);
        for at in 0..pieces.len() {
            let piece = pieces[at];
            if piece >= *first {
                pieces[at] = 0;
                let with = slow(rest, pieces);
                best = best.min((with.0, with.1, with.2 + piece));
                pieces[at] = piece;
            }
        }
        best
    }

    #[test]
    fn nothing_serves_more_or_takes_less() {
        let mut random = Random::new(2);
        for _ in 0..300 {
            let runs: Vec<u64> = (0..1 + random.below(5)).map(|_| 1 + random.below(20) as u64).collect();
            let stock: Vec<Pieces> =
                (0..4).map(|_| Pieces { length: 1 + random.below(22) as u64, count: Some(random.below(3) as u32) }).collect();
            let mut pieces: Vec<u64> = stock.iter().flat_map(|own| vec![own.length; own.count.unwrap_or(0) as usize]).collect();
            let chosen = choose(&runs, &stock);
            let missing = runs.iter().zip(&chosen).filter(|(_, chosen)| chosen.is_none());
            let bought = missing.clone().map(|(run, _)| *run).sum();
            let taken = chosen.iter().flatten().map(|at| stock[*at].length).sum();
            assert_eq!((missing.count(), bought, taken), slow(&runs, &mut pieces), "{runs:?} {stock:?}");
        }
    }

    #[test]
    fn stock_without_counts_never_ends() {
        let stock = [Pieces { length: 20, count: None }, Pieces { length: 10, count: None }];
        assert_eq!(choose(&[9, 11, 10, 21], &stock), [Some(1), Some(0), Some(1), None]);
    }
}
