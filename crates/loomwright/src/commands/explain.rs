//! `loomwright explain [CODE]`: what a finding means, why it matters, and where the rule comes from.

use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::output;
use crate::paint::{self, paint};
use crate::table::{Side, Table};
use crate::text::wrapped;
use loomwright_planfile::explain as problems;
use loomwright_proof::findings;
use loomwright_proof::rule::Rule;
use serde::Serialize;

/// One code with its explanation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
struct Told {
    code: String,
    title: String,
    text: String,
    source: String,
}

/// Explains one code, or lists them all.
pub fn run(arguments: &arguments::Explain) -> Result<Outcome, Failure> {
    match &arguments.code {
        Some(code) => explain_one(code, arguments.json)?,
        None => list(arguments.json)?,
    }
    Ok(Outcome::Ready)
}

/// Everything that can be explained, by code: what a proof finds, what a design remarks, what a line check sees and leaves
/// open, and what keeps a
/// file from being read.
fn all() -> Vec<Told> {
    let proof = findings::all().iter().map(Rule::explanation).map(|explanation| Told {
        code: explanation.code.to_owned(),
        title: explanation.title,
        text: explanation.text,
        source: explanation.source,
    });
    let reading = problems::codes().filter_map(|code| Some(of_reading(code, problems::explain(code)?)));
    let design = loomwright_design::explanations().iter().map(|one| told(one.code, one.title, (one.text, one.source)));
    let seen = loomwright_linecheck::explanations().iter().map(|one| told(one.code, one.title, (one.text, one.source)));
    let crew = loomwright_crewlog::explanations().iter().map(|one| told(one.code, one.title, (one.text, one.source)));
    let mut all: Vec<Told> = proof.chain(design).chain(seen).chain(crew).chain(reading).collect();
    all.sort_by(|one, other| one.code.cmp(&other.code));
    all
}

fn told(code: &str, title: &str, (text, source): (&str, &str)) -> Told {
    Told { code: code.to_owned(), title: title.to_owned(), text: text.to_owned(), source: source.to_owned() }
}

/// What, why, and how to mend it stand on lines of their own.
fn of_reading(code: &str, text: &str) -> Told {
    let (title, rest) = text.split_once('\n').unwrap_or((text, ""));
    Told {
        code: code.to_owned(),
        title: title.to_owned(),
        text: rest.replace('\n', "\n\n"),
        source: "the form of the plan file".to_owned(),
    }
}

fn explain_one(code: &str, as_json: bool) -> Result<(), Failure> {
    let all = all();
    let Some(told) = all.iter().find(|told| told.code == code) else {
        let area = code.split('/').next().unwrap_or(code);
        let near: Vec<&str> = all.iter().map(|told| told.code.as_str()).filter(|known| known.split('/').any(|part| part == area)).collect();
        let remedy = if near.is_empty() {
            "List all codes with `loomwright explain`.".to_owned()
        } else {
            format!("Try one of these: {}.", near.join(", "))
        };
        return Err(Failure::new(format!("there is no finding with the code `{code}`"), remedy));
    };
    if as_json { output::json(told) } else { output::data(&said(told)) }
}

fn said(told: &Told) -> String {
    let mut text = format!("{}\n{}", paint(paint::STRONG, &told.code), wrapped("  ", &told.title));
    for paragraph in told.text.split("\n\n").filter(|paragraph| !paragraph.is_empty()) {
        text.push_str(&format!("\n{}", wrapped("  ", paragraph)));
    }
    if !told.source.is_empty() {
        text.push_str(&format!("\n{}", wrapped("  source: ", &told.source)));
    }
    text
}

fn list(as_json: bool) -> Result<(), Failure> {
    if as_json {
        return output::json(&all());
    }
    let mut table = Table::new(&[("code", Side::Left), ("what it is", Side::Left)]);
    all().iter().for_each(|told| table.row([&told.code, &told.title]));
    output::data(&table.text())
}
