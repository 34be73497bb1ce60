//! What happens when some items are taken away.

use crate::analysis::Analysis;
use crate::assemble::failure_line;
use crate::report::FailureLine;
use loomwright_model::Item;
use loomwright_survival::Loss;

/// What falls silent, what carries on with a leg less, and how long the gaps are when all of `items` go at once.
/// O(devices + cables + streams); the analysis is not done again.
pub fn whatif(analysis: &Analysis, items: &[Item]) -> FailureLine {
    let losses: Vec<Loss> = items.iter().cloned().map(Loss::from).collect();
    whatif_losses(analysis, &losses)
}

/// Like [`whatif`], where a switch may also be frozen: its links stay up and it forwards nothing.
pub fn whatif_losses(analysis: &Analysis, losses: &[Loss]) -> FailureLine {
    failure_line(analysis, &analysis.survival.whatif(losses))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Trial;

    fn silent(items: &[&str]) -> usize {
        let trial = Trial::good();
        let analysis = Analysis::new(&trial.plan, &trial.wiring);
        let items: Vec<Item> =
            items.iter().map(|item| crate::resolve_item(&trial.plan, &trial.wiring, item).expect("a known item")).collect();
        whatif(&analysis, &items).silent.len()
    }

    #[test]
    fn two_networks_survive_one_loss_and_not_two() {
        assert_eq!([silent(&["A-002"]), silent(&["sw-b"]), silent(&["mains-foh"]), silent(&["left"])], [0; 4]);
        assert_eq!([silent(&["A-002", "sw-b"]), silent(&["left", "right"]), silent(&["desk/1", "B-001"])], [1; 3]);
    }

    #[test]
    fn single_failures_say_the_same_as_asking_for_them() {
        let trial = Trial::good();
        let analysis = Analysis::new(&trial.plan, &trial.wiring);
        for (effect, loss) in analysis.survival.effects(&analysis.singles).zip(analysis.singles.losses()) {
            assert_eq!(failure_line(&analysis, &effect), whatif_losses(&analysis, std::slice::from_ref(loss)), "{loss}");
        }
    }
}
