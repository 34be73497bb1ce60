//! The cheapest deliveries from depots to customers (the transport problem), by cheapest augmenting paths.

use crate::problem::Cost;

/// Parts of a unit in which the cost for one unit of demand is kept. Own choice.
const SCALE: i128 = 1 << 20;

/// Farther than any way.
const FAR: i128 = i128::MAX / 4;

/// What delivering everything costs at least, rounded up; `None` if supply does not suffice. `rows` holds each demand and
/// what delivering all of it from each supply costs.
pub(crate) fn cheapest(supply: &[u64], rows: &[(u64, Vec<Cost>)]) -> Option<Cost> {
    let needed = rows.iter().fold(0u64, |sum, row| sum.saturating_add(row.0));
    if supply.iter().fold(0u64, |sum, own| sum.saturating_add(*own)) < needed {
        return None;
    }
    let unit: Vec<Vec<i128>> = rows
        .iter()
        .map(|(demand, costs)| costs.iter().map(|cost| i128::from(*cost) * SCALE / i128::from((*demand).max(1))).collect())
        .collect();
    let mut flow = Flow { unit, sent: vec![vec![0; supply.len()]; rows.len()], left: supply.to_vec() };
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by_key(|row| (std::cmp::Reverse(rows[*row].0), *row));
    for row in order {
        flow.serve(row, rows[row].0)?;
    }
    let part = |row: usize, depot: usize| {
        let (demand, costs) = &rows[row];
        (i128::from(costs[depot]) * SCALE * i128::from(flow.sent[row][depot])) / i128::from((*demand).max(1))
    };
    let sum: i128 =
        (0..rows.len()).flat_map(|row| (0..supply.len()).map(move |depot| (row, depot))).map(|(row, depot)| part(row, depot)).sum();
    let free: Cost = rows.iter().filter(|row| row.0 == 0).filter_map(|row| row.1.iter().min()).sum();
    Cost::try_from((sum + SCALE - 1) / SCALE).ok().map(|cost| cost.saturating_add(free))
}

struct Flow {
    /// By customer, then depot: cost for one unit.
    unit: Vec<Vec<i128>>,
    sent: Vec<Vec<u64>>,
    left: Vec<u64>,
}

impl Flow {
    /// Delivers `demand` to one customer, moving what others get where that is cheaper.
    ///
    /// A path goes from the customer to a depot, from there over a customer that it serves to another depot, and so on to
    /// one with something left. Depots alone are the nodes; the step between two is the cheapest customer to move.
    fn serve(&mut self, row: usize, demand: u64) -> Option<()> {
        let mut open = demand;
        while open > 0 {
            let (cost, before) = self.search(row);
            let end = (0..self.left.len()).filter(|depot| self.left[*depot] > 0 && cost[*depot] < FAR).min_by_key(|depot| cost[*depot])?;
            let mut amount = open.min(self.left[end]);
            let mut at = end;
            while let Some((from, moved)) = before[at] {
                amount = amount.min(self.sent[moved][from]);
                at = from;
            }
            self.sent[row][at] += amount;
            self.left[end] -= amount;
            at = end;
            while let Some((from, moved)) = before[at] {
                self.sent[moved][from] -= amount;
                self.sent[moved][at] += amount;
                at = from;
            }
            open -= amount;
        }
        Some(())
    }

    /// Cheapest way to every depot (Bellman and Ford: steps can cost less than nothing, circles cannot).
    fn search(&mut self, row: usize) -> (Vec<i128>, Vec<Option<(usize, usize)>>) {
        let depots = self.left.len();
        let mut step = vec![vec![(FAR, 0usize); depots]; depots];
        for (customer, sent) in self.sent.iter().enumerate() {
            for from in (0..depots).filter(|from| sent[*from] > 0) {
                for (to, best) in step[from].iter_mut().enumerate() {
                    *best = (*best).min((self.unit[customer][to] - self.unit[customer][from], customer));
                }
            }
        }
        let mut cost = self.unit[row].clone();
        let mut before = vec![None; depots];
        for _ in 0..depots {
            let mut changed = false;
            for from in 0..depots {
                for (to, (more, moved)) in step[from].iter().copied().enumerate() {
                    if more < FAR && cost[from] + more < cost[to] && from != to {
                        (cost[to], before[to]) = (cost[from] + more, Some((from, moved)));
                        changed = true;
                    }
                }
            }
            if !changed {
                break;
            }
        }
        (cost, before)
    }
}
