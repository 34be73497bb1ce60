//! Shows problems with the lines they stand in.

use crate::problem::{Problem, floor_boundary};
use crate::read::Source;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

/// Problems with their lines and carets, styled for a terminal.
pub fn render(problems: &[Problem], sources: &[Source<'_>]) -> String {
    with(&Renderer::styled(), problems, sources)
}

/// The same without styling, for pages and tests.
pub fn render_plain(problems: &[Problem], sources: &[Source<'_>]) -> String {
    with(&Renderer::plain(), problems, sources)
}

fn with(renderer: &Renderer, problems: &[Problem], sources: &[Source<'_>]) -> String {
    let blocks: Vec<String> = problems.iter().map(|problem| one(renderer, problem, sources)).collect();
    blocks.join("\n\n")
}

fn one(renderer: &Renderer, problem: &Problem, sources: &[Source<'_>]) -> String {
    let source = sources.iter().find(|source| source.name == problem.file);
    let title = Level::ERROR.primary_title(problem.message.as_str()).id(problem.code);
    let help = Level::HELP.message(problem.help.as_str());
    match source {
        None => format!("{problem}"),
        Some(source) => {
            let (text, first, span) = window(source.text, problem);
            let mark = AnnotationKind::Primary.span(span);
            let snippet = Snippet::source(text).path(problem.file.as_str()).line_start(first).annotation(mark);
            renderer.render(&[Group::with_title(title).element(snippet).element(help)])
        }
    }
}

/// The lines that a problem spans, at most [`MOST_LINES`], so that a large file costs nothing.
fn window<'a>(text: &'a str, problem: &Problem) -> (&'a str, usize, std::ops::Range<usize>) {
    let start = floor_boundary(text, problem.span.start);
    let end = floor_boundary(text, problem.span.end).max(start);
    let first = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
    let last = text[first..].match_indices('\n').map(|(n, _)| first + n).take(MOST_LINES).find(|newline| *newline >= end);
    let cut = last.or_else(|| text[start..].find('\n').map(|n| start + n)).unwrap_or(text.len());
    let end = end.min(cut);
    (&text[first..cut], problem.line as usize, start - first..end - first)
}

/// Longest stretch shown for one problem: own choice, a screen of a phone.
const MOST_LINES: usize = 6;
