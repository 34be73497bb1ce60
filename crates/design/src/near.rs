//! Says how near the cheapest possible a finished wiring is.

use crate::cost;
use crate::draft::Draft;
use crate::placement::{self, Question};
use crate::sites::Sites;
use loomwright_model::{Item, Money};
use loomwright_placement::solve::gap_millionths;

/// Adds the decision, where a bound could be proved and the wiring keeps the rules that it holds for.
pub(crate) fn tell(draft: &mut Draft, sites: &Sites, question: &mut Question) {
    let wiring = &draft.done.wiring;
    let held = wiring.switches.values().any(|switch| switch.hold) || wiring.cables.values().any(|cable| cable.hold);
    if held || sites.places().is_empty() {
        return;
    }
    let cost = cost::added(draft.plan, wiring);
    let Some(bound) = placement::bound(sites, question, cost).filter(|bound| *bound <= cost && *bound > 0) else { return };
    let [built, least] = [cost, bound].map(Money::from_hundredths);
    let whole = |hundredths: u64| i64::try_from(hundredths).unwrap_or(i64::MAX);
    let says = match gap_millionths(whole(cost), whole(bound)) {
        0 => format!("Switches and cables cost {built}: no wiring that keeps to the same rules is cheaper."),
        gap => format!("Switches and cables cost {built}: within {} % of the cheapest possible.", per_cent(gap)),
    };
    let prices =
        if cost::is_priced(&draft.plan.labour, question.models) { "the plan's prices" } else { "typical prices where the plan names none" };
    let because = format!(
        "it is proved that nothing costs less than {least}. Priced, with {prices}: switches, cable by the metre, ends and modules. \
         The rules: the devices of a place share one place's switches, and as few of those as will do; spare ports stay free; \
         both legs lie and hang apart where they can"
    );
    draft.decide(Item::Plan, says, because);
}

/// Millionths as per cent with one decimal, rounded up.
fn per_cent(millionths: u64) -> String {
    let tenths = millionths.div_ceil(1_000);
    format!("{}.{}", tenths / 10, tenths % 10)
}
