//! `loomwright options PLAN`: designs side by side.

use super::design::wiring_text;
use super::load::{self, Opened};
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::paint::{self, paint};
use crate::table::{Side, Table};
use crate::text::{count, wrapped};
use crate::{files, output, progress};
use loomwright_design::options::{Built, DesignOption, Fall, Figures, Price, Shape, Wish, any_two_difference, options};
use serde::Serialize;

/// One shape, for programs. Times in nanoseconds, lengths in millimetres, money in hundredths.
#[derive(Serialize)]
struct Told {
    name: &'static str,
    title: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    cannot_be_built: Option<String>,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    built: Option<ToldBuilt>,
}

/// A shape that was built, for programs.
#[derive(Serialize)]
struct ToldBuilt {
    ready: bool,
    stops: Vec<String>,
    gives_up: Vec<String>,
    beaten_by: Option<&'static str>,
    beaten_because: Option<String>,
    usual: bool,
    wired: bool,
    switches: usize,
    cables: usize,
    cable_mm: u64,
    copper_mm: u64,
    fibre_mm: u64,
    ends: usize,
    modules: usize,
    cost_hundredths: u64,
    cost_parts: Vec<(&'static str, u64)>,
    not_priced: Vec<String>,
    not_in_stock: usize,
    worst_delay_ns: Option<u64>,
    clock_error_ns: Option<u64>,
    one_failure_silences: usize,
    one_failure_silences_essential: usize,
    worst_failure: Vec<String>,
    worst_failure_frozen: bool,
    pairs: u64,
    availability: Option<f64>,
    free_ports: usize,
    ports: usize,
}

/// Compares, and writes the wiring of one shape if asked.
pub fn run(arguments: &arguments::Options) -> Result<Outcome, Failure> {
    let wanted = arguments.write.as_deref().map(shape).transpose()?;
    let opened = load::open(&arguments.plan)?;
    let wish = Wish { any_two: arguments.any_two || wanted == Some(Shape::AnyTwo) };
    let found = progress::during("comparing designs", || options(&opened.loaded.plan, &opened.loaded.wiring, wish));
    let difference = if wish.any_two { any_two_difference(&opened.loaded.plan, &found) } else { Vec::new() };
    if arguments.json {
        output::json(&serde_json::json!({ "options": found.iter().map(told).collect::<Vec<_>>(), "any_two": difference }))?;
    } else {
        output::data(&said(&found, &difference))?;
    }
    match wanted {
        Some(shape) => write(&opened, &found, shape),
        None => Ok(Outcome::ready_if(found.iter().any(|option| option.outcome.as_ref().is_ok_and(|built| built.figures.is_ready)))),
    }
}

fn shape(word: &str) -> Result<Shape, Failure> {
    let known: Vec<&str> = Shape::ALL.iter().map(|shape| shape.word()).collect();
    Shape::from_word(word)
        .ok_or_else(|| Failure::new(format!("`{word}` is not the name of a design"), format!("Write one of: {}.", known.join(", "))))
}

fn write(opened: &Opened, found: &[DesignOption], shape: Shape) -> Result<Outcome, Failure> {
    let outcome = found.iter().find(|option| option.shape == shape).map(|option| &option.outcome);
    match outcome {
        Some(Ok(built)) => {
            files::replace(&opened.paths.wiring, wiring_text(opened, &built.designed.wiring)?.as_bytes())?;
            output::talk(&format!("Wrote {}: {}.", opened.paths.wiring.display(), shape.title()));
            Ok(Outcome::ready_if(built.figures.is_ready))
        }
        Some(Err(why)) => {
            Err(Failure::new(format!("{} cannot be built: {}", shape.title(), why.trim_end_matches('.')), "Nothing was written."))
        }
        None => Err(Failure::new(format!("{} was not tried", shape.title()), "Nothing was written.")),
    }
}

fn said(found: &[DesignOption], difference: &[String]) -> String {
    let mut table = Table::new(&[
        ("", Side::Left),
        ("name", Side::Left),
        ("ready", Side::Left),
        ("cost", Side::Right),
        ("switches", Side::Right),
        ("cable", Side::Right),
        ("ends", Side::Right),
        ("worst delay", Side::Right),
        ("clock error", Side::Right),
        ("one failure silences", Side::Left),
        ("stays up", Side::Right),
        ("free ports", Side::Right),
    ]);
    let built = || found.iter().filter_map(|option| Some((option.shape, option.outcome.as_ref().ok()?)));
    built().for_each(|(shape, built)| table.row(row(shape, built)));
    let mut text = table.text();
    text.push_str("  * no other is as good in everything and better in something\n");
    if let Some((_, built)) = built().find(|(_, built)| !built.price.missing.is_empty()) {
        text.push_str(&wrapped(
            "  + ",
            &format!(
                "cost counts what has a price in the plan only, not: {}. Prices stand in [labour] and with each gear type.",
                built.price.missing.join(", ")
            ),
        ));
    }
    built().for_each(|(shape, built)| text.push_str(&about(shape, built)));
    for option in found {
        if let Err(why) = &option.outcome {
            text.push_str(&format!("\n{}: {}, cannot be built\n", paint(paint::STRONG, option.shape.word()), option.shape.title()));
            text.push_str(&wrapped("  ", why));
        }
    }
    if !difference.is_empty() {
        text.push_str(&format!("\n{}\n", paint(paint::STRONG, "To survive any two failures")));
        difference.iter().for_each(|line| text.push_str(&wrapped("  ", line)));
    }
    text
}

fn row(shape: Shape, built: &Built) -> [String; 12] {
    let (price, figures) = (&built.price, &built.figures);
    let time = |time: Option<loomwright_model::Time>| time.map_or("no bound".to_owned(), |time| time.to_string());
    [
        if built.standing.beaten_by.is_none() { "*" } else { "" }.to_owned(),
        shape.word().to_owned(),
        if figures.is_ready { "yes".to_owned() } else { format!("no: {}", count(figures.stops.len(), "stop", "stops")) },
        cost(price),
        price.switches.to_string(),
        price.cable().to_string(),
        price.ends.to_string(),
        time(figures.worst_delay),
        time(figures.clock_error),
        silences(&figures.worst_failure),
        figures.availability.map_or("-".to_owned(), |up| format!("{:.4} %", up * 100.0)),
        format!("{} of {}", figures.free_ports[0], figures.free_ports[1]),
    ]
}

fn cost(price: &Price) -> String {
    format!("{}{}", price.known(), if price.missing.is_empty() { "" } else { " +" })
}

fn silences(fall: &Fall) -> String {
    match (fall.silent, fall.essential) {
        (0, _) => "nothing".to_owned(),
        (all, essential) => format!("{all}, {essential} essential"),
    }
}

fn about(shape: Shape, built: &Built) -> String {
    let mut text = format!("\n{}: {}\n", paint(paint::STRONG, shape.word()), shape.title());
    let mut line = |says: &str| text.push_str(&wrapped("  ", says));
    if built.is_wired {
        line("This is how it is wired now.");
    }
    if built.is_usual {
        line("This is what `design` decides.");
    }
    built.gives_up.iter().for_each(|says| line(says));
    stops(&built.figures).iter().for_each(|says| line(says));
    let fall = &built.figures.worst_failure;
    if !fall.without.is_empty() {
        line(&format!("Worst single failure: {}{}.", fall.without.join(", "), if fall.is_frozen { ", frozen" } else { "" }));
    }
    if let Some((_, says)) = &built.standing.beaten_by {
        line(&format!("Not worth it by these figures. {says}"));
    }
    text
}

fn stops(figures: &Figures) -> Vec<String> {
    let Some(first) = figures.stops.first() else { return Vec::new() };
    let more = match figures.stops.len() - 1 {
        0 => String::new(),
        more => format!(" And {more} more."),
    };
    vec![format!("Stops the show: {first}{more}")]
}

fn told(option: &DesignOption) -> Told {
    Told {
        name: option.shape.word(),
        title: option.shape.title(),
        cannot_be_built: option.outcome.as_ref().err().cloned(),
        built: option.outcome.as_ref().ok().map(|built| told_built(built)),
    }
}

fn told_built(built: &Built) -> ToldBuilt {
    let (price, figures) = (&built.price, &built.figures);
    ToldBuilt {
        ready: figures.is_ready,
        stops: figures.stops.clone(),
        gives_up: built.gives_up.clone(),
        beaten_by: built.standing.beaten_by.as_ref().map(|(shape, _)| shape.word()),
        beaten_because: built.standing.beaten_by.as_ref().map(|(_, says)| says.clone()),
        usual: built.is_usual,
        wired: built.is_wired,
        switches: price.switches,
        cables: built.designed.wiring.cables.len(),
        cable_mm: price.cable().millimetres(),
        copper_mm: price.copper.millimetres(),
        fibre_mm: price.fibre.millimetres(),
        ends: price.ends,
        modules: price.modules,
        cost_hundredths: price.known().hundredths(),
        cost_parts: price.parts.iter().map(|(what, sum)| (*what, sum.hundredths())).collect(),
        not_priced: price.missing.clone(),
        not_in_stock: price.not_in_stock,
        worst_delay_ns: figures.worst_delay.map(loomwright_model::Time::nanoseconds_up),
        clock_error_ns: figures.clock_error.map(loomwright_model::Time::nanoseconds_up),
        one_failure_silences: figures.worst_failure.silent,
        one_failure_silences_essential: figures.worst_failure.essential,
        worst_failure: figures.worst_failure.without.clone(),
        worst_failure_frozen: figures.worst_failure.is_frozen,
        pairs: figures.pairs,
        availability: figures.availability,
        free_ports: figures.free_ports[0],
        ports: figures.free_ports[1],
    }
}
