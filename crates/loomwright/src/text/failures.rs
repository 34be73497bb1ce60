//! What failures do.

use super::{count, time, wrapped};
use crate::paint::{self, paint};
use crate::table::{Side, Table};
use loomwright_proof::report::{FailureLine, SilentLine};
use loomwright_proof::{DelayChange, DelaysAfter};
use std::fmt::Write;

/// Every failure in a row.
pub fn table(failures: &[FailureLine]) -> String {
    let columns = [
        ("without", Side::Left),
        ("silent", Side::Left),
        ("one leg left", Side::Right),
        ("longest gap", Side::Right),
        ("clock", Side::Left),
    ];
    let mut table = Table::new(&columns);
    for failure in failures {
        let gap = failure.gap_ns.values().max().map_or("-".to_owned(), |gap| time(*gap));
        let clock = if failure.clock_changes.is_empty() { "-".to_owned() } else { failure.clock_changes.join("; ") };
        table.row([without(failure), in_short(&failure.silent), failure.one_leg_left.len().to_string(), gap, clock]);
    }
    let silencing = failures.iter().filter(|failure| !failure.silent.is_empty()).count();
    format!("{}, {silencing} of them silence a stream\n\n{}", count(failures.len(), "failure", "failures"), table.text())
}

/// One failure in full.
pub fn one(failure: &FailureLine) -> String {
    let mut text = format!("{} {}\n", paint(paint::STRONG, "Without"), without(failure));
    if !failure.gone_too.is_empty() {
        text.push_str(&wrapped("  and with it: ", &failure.gone_too.join(", ")));
    }
    list(&mut text, ("falls silent", "nothing falls silent"), &failure.silent);
    list(&mut text, ("carries on with fewer legs", ""), &failure.one_leg_left);
    if !failure.gap_ns.is_empty() {
        let _ = writeln!(text, "\n{}", paint(paint::STRONG, "interrupted, then back"));
        failure.gap_ns.iter().for_each(|(pair, gap)| _ = writeln!(text, "  {} for at most {}", pair.replace('>', " at "), time(*gap)));
    }
    for change in &failure.clock_changes {
        let _ = writeln!(text, "\n{} {change}", paint(paint::STRONG, "clock leader changes:"));
    }
    text
}

/// How many later streams are named. Own choice: what is worst stands first.
const LATER_NAMED: usize = 5;

/// What a failure does to the delays of what still arrives.
pub fn delays(after: &DelaysAfter) -> String {
    let later: Vec<&DelayChange> = after.changed.iter().filter(|change| change.is_later()).collect();
    let sooner = after.changed.len() - later.len();
    let late = after.changed.iter().filter(|change| change.is_too_late_now()).count();
    let mut text = format!("\n{}\n", paint(paint::STRONG, "delays, once the network has found itself again"));
    let arrivals = count(after.arriving, "arrival", "arrivals");
    let _ = match late {
        _ if after.arriving == 0 => writeln!(text, "  nothing arrives any more"),
        _ if after.changed.is_empty() => writeln!(text, "  as they were, at {arrivals}"),
        0 => writeln!(
            text,
            "  of {arrivals}, {} can come later than before, {sooner} cannot be as late; none is newly over what is allowed",
            later.len()
        ),
        late => writeln!(
            text,
            "  of {arrivals}, {} can come later than before, {sooner} cannot be as late; {late} may now be TOO LATE",
            later.len()
        ),
    };
    let in_time = |delay: Option<u64>| delay.map_or("without bound".to_owned(), time);
    for change in later.iter().take(LATER_NAMED) {
        let DelayChange { stream, to, network, before_ns, after_ns, allowed_ns } = change;
        let _ = writeln!(
            text,
            "  {stream} at {to} on {network}: {}, was {}, allowed {}",
            in_time(*after_ns),
            in_time(*before_ns),
            time(*allowed_ns)
        );
    }
    if later.len() > LATER_NAMED {
        let _ = writeln!(text, "  and {} more later than before; --json lists all", later.len() - LATER_NAMED);
    }
    text
}

/// What to do, in order; nothing where there is no advice.
pub fn steps(steps: &[String]) -> String {
    if steps.is_empty() {
        return String::new();
    }
    let numbered = steps.iter().zip(1..).map(|(step, n)| wrapped(&format!("  {n} "), step));
    format!("\n{}\n{}", paint(paint::STRONG, "what to do"), numbered.collect::<String>())
}

fn list(text: &mut String, (some, none): (&str, &str), lines: &[SilentLine]) {
    if !lines.is_empty() {
        let _ = writeln!(text, "\n{} ({})", paint(paint::STRONG, some), lines.len());
        lines.iter().for_each(|line| _ = writeln!(text, "  {} at {}", line.stream, line.to));
    } else if !none.is_empty() {
        let _ = writeln!(text, "\n{}", paint(paint::READY, none));
    }
}

fn without(failure: &FailureLine) -> String {
    let items = failure.without.join(" + ");
    if failure.frozen { format!("{items} (frozen)") } else { items }
}

/// `nothing`, or the first few with how many more.
fn in_short(lines: &[SilentLine]) -> String {
    let named: Vec<String> = lines.iter().take(2).map(|line| format!("{} at {}", line.stream, line.to)).collect();
    match lines.len() {
        0 => "nothing".to_owned(),
        n if n > named.len() => format!("{}, {} more", named.join(", "), n - named.len()),
        _ => named.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_falls_silent_and_what_carries_on() {
        let line = |stream: &str| SilentLine { stream: stream.into(), to: "desk".into() };
        let failure = FailureLine {
            without: vec!["switch:sw".into()],
            frozen: true,
            silent: vec![line("a"), line("b"), line("c")],
            gap_ns: [("d>desk".to_owned(), 2_000_000)].into(),
            ..FailureLine::default()
        };
        let table = anstream::adapter::strip_str(&table(std::slice::from_ref(&failure))).to_string();
        assert!(table.contains("switch:sw (frozen)  a at desk, b at desk, 1 more"), "{table}");
        let one = anstream::adapter::strip_str(&one(&failure)).to_string();
        assert!(one.contains("falls silent (3)") && one.contains("d at desk for at most 2 ms"), "{one}");
    }
}
