//! When an edit of the plan no longer fits the wiring, the wiring yields: what does not fit is taken out,
//! named, and can be designed anew or undone. An edit of the plan is never blocked by what was decided.

use super::change::in_words;
use loomwright_planfile::edit::{Edit, Edited, Refused, TableAt, apply};
use loomwright_planfile::{Problem, Source};

/// Most rounds of taking out; each can bring up what hung on the last. Own choice: cable, address, group and clock hang at most this deep.
const ROUNDS: usize = 8;

/// Makes `edits`; takes out of the wiring what no longer fits. Gives what was made and the items taken out.
///
/// **Errors**: trouble in the plan file itself, in words.
pub fn apply_and_yield(plan: Source<'_>, wiring: Option<Source<'_>>, edits: Vec<Edit>) -> Result<(Edited, Vec<String>), String> {
    let (mut edits, mut out) = (edits, Vec::new());
    let wiring_name = wiring.map(|wiring| wiring.name.to_owned());
    for _ in 0..ROUNDS {
        let refused = match apply(plan, wiring, &edits) {
            Ok(edited) => return Ok((edited, out)),
            Err(refused) => refused,
        };
        let is_only_wiring = wiring_name.as_ref().is_some_and(|name| refused.problems.iter().all(|problem| problem.file == *name));
        let less = if is_only_wiring { cures(&refused) } else { Vec::new() };
        let new: Vec<(Edit, String)> = less.into_iter().filter(|(edit, _)| !edits.contains(edit)).collect();
        if new.is_empty() {
            return Err(in_words(&refused.problems));
        }
        for (edit, name) in new {
            edits.push(edit);
            out.push(name);
        }
    }
    apply(plan, wiring, &edits).map(|edited| (edited, out)).map_err(|refused| in_words(&refused.problems))
}

/// What to take out so that each problem is gone.
fn cures(refused: &Refused) -> Vec<(Edit, String)> {
    let Some(text) = &refused.tried.wiring else { return Vec::new() };
    let mut all: Vec<(Edit, String)> = Vec::new();
    for problem in &refused.problems {
        match cure(text, problem) {
            Some(cure) if !all.iter().any(|(edit, _)| *edit == cure.0) => all.push(cure),
            _ => {}
        }
    }
    all
}

/// The table that holds the problem; of the two tables that only list choices, the line.
fn cure(text: &str, problem: &Problem) -> Option<(Edit, String)> {
    let before = text.get(..=line_end(text, problem.span.start))?;
    let header = before.lines().rev().find(|line| line.trim_start().starts_with('['))?;
    let path = path_of(header)?;
    let words: Vec<&str> = path.iter().map(String::as_str).collect();
    let table = TableAt::wiring(&words);
    if words.len() > 1 {
        return Some((Edit::Remove { table }, format!("{} {}", words[0], words[1..].join(" "))));
    }
    let line = before.lines().next_back()?;
    let key = line.split_once('=')?.0.trim().trim_matches('"').to_owned();
    let name = format!("{} {key}", words[0]);
    Some((Edit::Unset { table, key }, name))
}

fn line_end(text: &str, from: usize) -> usize {
    text.get(from..).and_then(|rest| rest.find('\n')).map_or(text.len().saturating_sub(1), |at| from + at)
}

/// The names in `[cable."A 1".x]`.
fn path_of(header: &str) -> Option<Vec<String>> {
    let inner = header.trim().strip_prefix('[')?.split_once(']')?.0;
    let (mut path, mut word, mut is_quoted) = (Vec::new(), String::new(), false);
    for letter in inner.chars() {
        match letter {
            '"' => is_quoted = !is_quoted,
            '.' if !is_quoted => path.push(std::mem::take(&mut word)),
            ' ' if !is_quoted => {}
            other => word.push(other),
        }
    }
    path.push(word);
    path.iter().all(|word| !word.is_empty()).then_some(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_are_taken_apart() {
        for (header, path) in [
            ("[cable.A-001]", vec!["cable", "A-001"]),
            ("[interface.\"box/1\"] # why", vec!["interface", "box/1"]),
            ("[group.\"a.b\".1]", vec!["group", "a.b", "1"]),
            ("[clock]", vec!["clock"]),
        ] {
            assert_eq!(path_of(header), Some(path.into_iter().map(str::to_owned).collect()), "{header}");
        }
        assert_eq!(path_of("[]"), None);
    }
}
