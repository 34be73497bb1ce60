//! The drawing: riser, floor and switch fronts; tap an item to take it away and see what falls silent.

use super::Query;
use super::figures::{count, item_link, time};
use super::later;
use super::linecheck;
use super::moment;
use super::part::Part;
use super::query::encoded;
use super::tabs::tabs;
use crate::engine::{Gone, Picture, Proved, checked, line_check, picture, takeable};
use crate::store::View;
use loomwright_model::{Item, Plan};
use loomwright_proof::report::{FailureLine, SilentLine};
use maud::{Markup, PreEscaped, html};
use std::collections::BTreeMap;

/// Most items that can be taken away at once. Own choice: the proof knows pairs; more is curiosity.
const MOST_GONE: usize = 8;

/// What of the drawing is shown, as the address says it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Which drawing.
    pub view: &'static str,
    /// Which switch or network of the panel drawing.
    pub of: Option<String>,
    /// Layers that are on.
    pub layers: Vec<&'static str>,
    /// What is taken away.
    pub without: Vec<String>,
    /// Taken-away switches stay linked but forward nothing.
    pub frozen: bool,
    /// The delivery whose worst moment is shown: stream, receiver, network, number of its packet stream.
    pub late: Option<[String; 4]>,
}

/// The layers: word and name.
const LAYERS: [(&str, &str); 6] = [
    ("networks", "Networks"),
    ("labels", "Labels"),
    ("load", "Load"),
    ("delay", "Delay"),
    ("hang", "What hangs on it"),
    ("linecheck", "Line check"),
];
const VIEWS: [(&str, &str); 3] = [("riser", "Riser"), ("floor", "Floor"), ("panel", "Switch fronts")];

impl Shown {
    /// Reads the address.
    pub fn of(query: &Query) -> Self {
        let view = VIEWS.iter().map(|(word, _)| *word).find(|word| query.get("view") == Some(word)).unwrap_or("riser");
        let asked = query.get("layers").map(|_| query.list("layers"));
        let layers = LAYERS.iter().map(|(word, _)| *word);
        let layers = match asked {
            Some(asked) => layers.filter(|word| asked.iter().any(|one| one == word)).collect(),
            None => vec!["networks", "labels"],
        };
        let mut without = query.list("without");
        without.retain(|item| item.parse::<Item>().is_ok());
        without.truncate(MOST_GONE);
        let late = query.get("late").filter(|_| without.is_empty()).map(|late| late.split(',').map(str::to_owned).collect::<Vec<_>>());
        let late = late.and_then(|late| late.try_into().ok());
        Self { view, of: query.get("of").map(str::to_owned), layers, without, frozen: query.get("frozen").is_some(), late }
    }

    /// The address that shows this.
    pub fn address(&self) -> String {
        let mut address = format!("/drawing?view={}", self.view);
        let late = self.late.as_ref().filter(|_| self.without.is_empty()).map_or(String::new(), |late| late.join(","));
        let of = self.of.clone().unwrap_or_default();
        for (name, value) in [("of", of), ("layers", self.layer_words()), ("without", self.without.join(",")), ("late", late)] {
            if !value.is_empty() {
                address += &format!("&{name}={}", encoded(&value));
            }
        }
        if self.frozen {
            address += "&frozen=1";
        }
        address
    }

    fn layer_words(&self) -> String {
        if self.layers.is_empty() { "none".to_owned() } else { self.layers.join(",") }
    }

    fn with(&self, change: impl FnOnce(&mut Self)) -> String {
        let mut other = self.clone();
        change(&mut other);
        other.address()
    }
}

/// The page.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    let shown = Shown::of(query);
    let addresses: Vec<String> = VIEWS.iter().map(|(word, _)| shown.with(|other| (other.view, other.of) = (word, None))).collect();
    let pages: Vec<(&str, &str)> = VIEWS.iter().zip(&addresses).map(|((_, name), address)| (address.as_str(), *name)).collect();
    let here = VIEWS.iter().position(|(word, _)| *word == shown.view).map_or("", |n| addresses[n].as_str());
    let mut parts = vec![tabs("Drawing", &pages, here)];
    match &view.good.plan {
        Some(plan) => parts.append(&mut drawn(plan, &shown, view)),
        None => parts.push(Part::new("stage", html! { p #stage.calm { "There is nothing to draw until the plan file can be read." } })),
    }
    parts
}

fn drawn(plan: &Plan, shown: &Shown, view: &View) -> Vec<Part> {
    let proved = &view.good;
    let items: Vec<Item> = shown.without.iter().filter_map(|item| item.parse().ok()).collect();
    let effect = (!items.is_empty()).then(|| proved.without(&items, shown.frozen));
    let moment = shown.late.as_ref().map(|late| moment::of(late, view));
    let request = Picture {
        view: shown.view,
        of: shown.of.as_deref(),
        layers: &shown.layers,
        gone: &items,
        effect: effect.as_ref(),
        moment: moment.as_ref().and_then(|moment| moment.as_ref().ok()),
    };
    let check = shown.layers.contains(&"linecheck").then(|| line_check(proved, &view.seen));
    let drawing = picture(proved, &request).map(|svg| match &check {
        Some(comparison) => checked(&svg, proved, (&view.crew.book, comparison.as_deref())),
        None => svg,
    });
    let stage = html! {
        div #stage.stage {
            div #canvas.canvas tabindex="0" aria-label="Drawing; tap an item to take it away" { @match drawing { Some(svg) => { (PreEscaped(svg)) } None => { p.calm { "There is no wiring to draw yet. " a href="/design" { "Design it" } "." } } } }
            div.beside { @if let Some(comparison) = &check { (linecheck::beside(view, comparison.as_deref())) } @if let (Some(late), Some(moment)) = (&shown.late, &moment) { (moment::beside(late, moment, (&shown.with(|other| other.late = None), view))) } (side(plan, shown, effect.as_ref(), view)) }
        }
    };
    vec![layers(shown, proved), Part::new("stage", stage)]
}

fn layers(shown: &Shown, proved: &Proved) -> Part {
    Part::new(
        "layers",
        html! {
            div #layers.bar-of-tools {
                @for (word, name) in LAYERS {
                    @let on = shown.layers.contains(&word);
                    a.switch href=(shown.with(|other| toggle(&mut other.layers, word))) aria-pressed=(on) role="button" { (name) }
                }
                @if shown.view == "panel" { (which_panel(shown, proved)) }
                span.zoom { button.quiet type="button" data-zoom="out" aria-label="Smaller" { "\u{2212}" } button.quiet type="button" data-zoom="fit" { "Fit" } button.quiet type="button" data-zoom="in" aria-label="Larger" { "+" } }
            }
        },
    )
}

fn toggle(layers: &mut Vec<&'static str>, word: &'static str) {
    match layers.iter().position(|one| *one == word) {
        Some(at) => drop(layers.remove(at)),
        None => layers.push(word),
    }
}

fn which_panel(shown: &Shown, proved: &Proved) -> Markup {
    let networks = proved.plan.iter().flat_map(|plan| plan.networks.keys()).map(|id| (format!("network:{id}"), format!("Network {id}")));
    let switches = proved.wiring.switches.keys().map(|id| (format!("switch:{id}"), id.to_string()));
    html! {
        form.pick method="get" action="/drawing" {
            input type="hidden" name="view" value="panel";
            @if !shown.without.is_empty() { input type="hidden" name="without" value=(shown.without.join(",")); }
            select name="of" aria-label="Which fronts" { @for (word, name) in networks.chain(switches) { option value=(word) selected[shown.of.as_deref() == Some(word.as_str())] { (name) } } }
            button.second type="submit" { "Show" }
        }
    }
}

fn side(plan: &Plan, shown: &Shown, effect: Option<&FailureLine>, view: &View) -> Markup {
    html! {
        aside #side.side.panel aria-live="polite" {
            @match effect {
                None => {
                    h2 { "Take something away" }
                    p.calm { "Tap a cable, switch, device or route in the drawing, or choose it here. What falls silent dims." }
                }
                Some(effect) => (aftermath(plan, shown, effect, view))
            }
            form.pick method="get" action="/drawing" {
                input type="hidden" name="view" value=(shown.view);
                input type="hidden" name="layers" value=(shown.layer_words());
                @if let Some(of) = &shown.of { input type="hidden" name="of" value=(of); }
                @if !shown.without.is_empty() { input type="hidden" name="without" value=(shown.without.join(",")); }
                label.unseen for="take" { "Item to take away" }
                select #take name="without" {
                    @for (kind, items) in takeable(&view.good) { optgroup label=(kind) { @for item in items { option value=(item) { (item.split_once(':').map_or("", |(_, name)| name)) } } } }
                }
                button.second type="submit" { "Take away" }
            }
        }
    }
}

fn aftermath(plan: &Plan, shown: &Shown, effect: &FailureLine, view: &View) -> Markup {
    let essential = |line: &&SilentLine| plan.streams.get(line.stream.as_str()).is_some_and(|stream| stream.essential);
    let hurt = effect.silent.iter().filter(essential).count();
    let items: Vec<Item> = shown.without.iter().filter_map(|item| item.parse().ok()).collect();
    let gone = Gone::new(&view.good, &items);
    html! {
        h2 { "Without" }
        ul.gone-list { @for (n, item) in shown.without.iter().enumerate() {
            li { (item_link(item)) a href=(shown.with(|other| drop(other.without.remove(n)))) { "put back" span.unseen { " " (item) } } (hold(item, shown, view)) }
        } }
        @if shown.without.iter().any(|item| item.starts_with("switch:")) {
            p { @if shown.frozen { "The switch is frozen: links stay up, nothing is forwarded. " a href=(shown.with(|other| other.frozen = false)) { "Without power instead" } } @else { "The switch has no power. " a href=(shown.with(|other| other.frozen = true)) { "Frozen instead" } } }
        }
        p.tally {
            @if effect.silent.is_empty() { strong.effect.well { "Nothing falls silent." } }
            @else { strong.effect.silent { (count(effect.silent.len(), "delivery falls", "deliveries fall")) " silent" @if hurt > 0 { ", " (hurt) " essential" } } }
        }
        @if !effect.silent.is_empty() { h3 { "Silent" } (deliveries(&effect.silent, &|_| html! {})) }
        @if !effect.one_leg_left.is_empty() { details open[effect.one_leg_left.len() < 8] { summary { (count(effect.one_leg_left.len(), "delivery carries", "deliveries carry")) " on with one leg" } (deliveries(&effect.one_leg_left, &|line| carries_on(line, (&gone, effect, view)))) } }
        @if let [item] = items.as_slice() { @if let Some(orders) = view.good.orders(item) { (super::proof::failure::what_to_do(&orders)) } }
        h3 { "Clock" }
        @if effect.clock_changes.is_empty() { p { "The leader stays." } } @else { ul { @for change in &effect.clock_changes { li { (super::proof::failures::leader_change(change, view)) } } } }
        (later::delays(&view.good.delays_without(&items, shown.frozen), view))
        @if let Some(gap) = effect.gap_ns.values().max().filter(|gap| **gap > 0) { p { "Longest gap before it comes back: " strong { (time(*gap)) } "." } }
        p.ways { a href=(shown.with(|other| other.without.clear())) { "Put everything back" } a href=(shown.address()) { "Link to this view" } }
    }
}

/// Holds or frees a switch or cable for the next design.
fn hold(item: &str, shown: &Shown, view: &View) -> Markup {
    let wiring = &view.good.wiring;
    let held = match item.parse::<Item>() {
        Ok(Item::Switch(id)) => wiring.switches.get(&id).map(|switch| switch.hold),
        Ok(Item::Cable(id)) => wiring.cables.get(&id).map(|cable| cable.hold),
        _ => None,
    };
    html! {
        @if let Some(held) = held {
            form.hold method="post" action="/hold" data-live {
                input type="hidden" name="item" value=(item);
                input type="hidden" name="hold" value=(!held);
                input type="hidden" name="back" value=(shown.address());
                button.quiet type="submit" { (if held { "Held: free it" } else { "Hold for the next design" }) span.unseen { " " (item) } }
            }
        }
    }
}

/// Receivers by stream; `after` says what stands behind each stream and receiver.
fn deliveries(lines: &[SilentLine], after: &dyn Fn(&SilentLine) -> Markup) -> Markup {
    let mut streams: BTreeMap<&str, Vec<&SilentLine>> = BTreeMap::new();
    for line in lines {
        streams.entry(&line.stream).or_default().push(line);
    }
    html! {
        ul { @for (stream, lines) in &streams { li {
            span { (item_link(&format!("stream:{stream}"))) }
            span.to { @for (n, line) in lines.iter().enumerate() { @if n > 0 { ", " } (line.to) (after(line)) } }
        } } }
    }
}

/// Which leg carries on, and how long the gap was.
fn carries_on(line: &SilentLine, (gone, effect, view): (&Gone, &FailureLine, &View)) -> Markup {
    let legs = gone.legs_left(&view.good, &line.stream, &line.to);
    let gap = effect.gap_ns.get(&format!("{}>{}", line.stream, line.to)).filter(|gap| **gap > 0);
    html! {
        @if legs.len() == 1 { @for leg in legs { " " (super::proof::streams::net(view, leg)) } }
        @if let Some(gap) = gap { " gap " (time(*gap)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_says_what_is_shown() {
        for text in [
            "view=riser&layers=networks,labels",
            "view=panel&of=switch:sw-a&layers=load&without=cable:A-001,feed:ups-1",
            "view=floor&layers=none&without=switch:sw-a&frozen=1",
            "view=riser&layers=labels&late=mics,desk,a,2",
        ] {
            assert_eq!(Shown::of(&Query::read(text)).address(), format!("/drawing?{text}"));
        }
    }

    #[test]
    fn nonsense_in_the_address_is_left_out() {
        let shown = Shown::of(&Query::read("view=x&without=cable:A,nonsense,cable:A,port:a/1&layers=load,other"));
        assert_eq!((shown.view, shown.layers.as_slice()), ("riser", ["load"].as_slice()));
        assert_eq!(shown.without, ["cable:A", "port:a/1"]);
    }
}
