//! Which designs are worth a thought: those that no other beats in everything.

use super::{Built, DesignOption, Shape};
use loomwright_model::Time;

/// How a design stands among the others.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Standing {
    /// The design that is as good or better in everything and better in something, with the sentence that says so.
    pub beaten_by: Option<(Shape, String)>,
}

/// One thing that designs are compared by: its name and a number that is better when smaller.
type Axis = (&'static str, u64);

/// Marks every design that another beats. Compared are: ready or not, cost, worst delay, clock error, what the worst
/// single failure silences, and the chance to stay up. Where the plan names no price for something, switches, metres
/// and ends are compared instead of cost. Free ports are shown, not compared: more of them is not better for everybody.
pub(super) fn stand(options: &mut [DesignOption]) {
    let is_priced = options.iter().filter_map(|option| option.outcome.as_ref().ok()).all(|built| built.price.missing.is_empty());
    let axes: Vec<(Shape, Vec<Axis>)> =
        options.iter().filter_map(|option| Some((option.shape, axes(option.outcome.as_ref().ok()?, is_priced)))).collect();
    for option in options {
        let Ok(built) = &mut option.outcome else { continue };
        let Some((_, own)) = axes.iter().find(|(shape, _)| *shape == option.shape) else { continue };
        let better = axes.iter().filter(|(_, other)| beats(other, own));
        // Of several the one that is best itself: the one that no other beats.
        let best = better.clone().find(|(_, other)| !axes.iter().any(|(_, third)| beats(third, other))).or(better.clone().next());
        built.standing.beaten_by = best.map(|(shape, other)| (*shape, sentence(*shape, own, other)));
    }
}

fn axes(built: &Built, is_priced: bool) -> Vec<Axis> {
    let figures = &built.figures;
    let time = |time: Option<Time>| time.map_or(u64::MAX, Time::nanoseconds_up);
    // Unavailability in parts of 10^12, so that equal chances are equal numbers.
    let down = figures.availability.map_or(u64::MAX, |up| ((1.0 - up).max(0.0) * 1e12).round() as u64);
    let mut axes = vec![
        ("readiness", u64::from(!figures.is_ready)),
        ("streams that do not arrive", (figures.arriving[1] - figures.arriving[0]) as u64),
    ];
    if is_priced {
        axes.push(("cost", built.price.known().hundredths()));
    } else {
        axes.extend([
            ("switches", built.price.switches as u64),
            ("metres", built.price.cable().millimetres()),
            ("ends", built.price.ends as u64),
        ]);
    }
    axes.extend([
        ("worst delay", time(figures.worst_delay)),
        ("clock error", time(figures.clock_error)),
        ("essential streams that one failure silences", figures.worst_failure.essential as u64),
        ("streams that one failure silences", figures.worst_failure.silent as u64),
        ("chance to stay up", down),
    ]);
    axes
}

fn beats(one: &[Axis], other: &[Axis]) -> bool {
    let pairs = || one.iter().zip(other).map(|((_, one), (_, other))| one.cmp(other));
    pairs().all(|order| order.is_le()) && pairs().any(|order| order.is_lt())
}

fn sentence(shape: Shape, own: &[Axis], other: &[Axis]) -> String {
    let better: Vec<&str> = own.iter().zip(other).filter(|((_, own), (_, other))| other < own).map(|((name, _), _)| *name).collect();
    format!("{} is as good in everything and better in: {}.", upper(shape.title()), better.join(", "))
}

fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What `other` takes more than `base`, and what it brings, in sentences.
pub(super) fn difference(base: &Built, other: &Built) -> Vec<String> {
    let (from, to) = (&base.price, &other.price);
    let mut says = Vec::new();
    let more = |from: u64, to: u64, unit: &str| match to.cmp(&from) {
        std::cmp::Ordering::Greater => Some(format!("{}{unit} more", to - from)),
        std::cmp::Ordering::Less => Some(format!("{}{unit} less", from - to)),
        std::cmp::Ordering::Equal => None,
    };
    let metres = |length: loomwright_model::Length| length.millimetres() / 1_000;
    let parts: Vec<String> = [
        more(from.switches as u64, to.switches as u64, " switches"),
        more(metres(from.cable()), metres(to.cable()), " m of cable"),
        more(from.ends as u64, to.ends as u64, " ends"),
        more(from.modules as u64, to.modules as u64, " modules"),
    ]
    .into_iter()
    .flatten()
    .collect();
    says.push(if parts.is_empty() { "It takes nothing more.".to_owned() } else { format!("It takes {}.", parts.join(", ")) });
    let (before, after) = (from.known(), to.known());
    let priced = if to.missing.is_empty() { String::new() } else { format!(", not counting {}", to.missing.join(", ")) };
    says.push(match after.cmp(&before) {
        std::cmp::Ordering::Equal => format!("It costs the same{priced}."),
        std::cmp::Ordering::Greater => {
            format!("It costs {} more{priced}.", loomwright_model::Money::from_hundredths(after.hundredths() - before.hundredths()))
        }
        std::cmp::Ordering::Less => {
            format!("It costs {} less{priced}.", loomwright_model::Money::from_hundredths(before.hundredths() - after.hundredths()))
        }
    });
    says.push(format!("Pairs of failures that silence an essential stream: {} instead of {}.", other.figures.pairs, base.figures.pairs));
    if other.figures.pairs > 0 {
        says.push(
            "A device with two ports is silent when both its legs fail; only gear with more ports, or two of it, survives that.".to_owned(),
        );
    }
    says
}
