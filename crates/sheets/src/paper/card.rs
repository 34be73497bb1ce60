//! The card on a rack's door: if this goes dark, what falls silent, what keeps playing, what to do, which spare.
//! One page for each rack, readable at arm's length, black on white.

use super::{Look, Mark, PLAIN, Page, WHITE};
use crate::cautions;
use crate::tables::failures::streams_of;
use crate::tables::{Source, walking_order};
use loomwright_drawing::Typeface;
use loomwright_drawing::geometry::Area;
use loomwright_model::{Id, Item};
use loomwright_proof::advice::settings;
use loomwright_proof::{Advice, Analysis, Effect, Emergency};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// Portrait A4. **Source**: ISO 216, 210 mm by 297 mm.
const PORTRAIT: (f64, f64) = (595.3, 841.9);
/// The place's name.
const TITLE: Look = Look { face: Typeface::CondensedBold, size: 30.0, tint: BLACK };
/// Names of boxes.
const NAME: Look = Look { face: Typeface::CondensedBold, size: 17.0, tint: BLACK };
/// What is read in the dark at arm's length: 13 points. Common practice, no source.
const TEXT: Look = Look { face: Typeface::Condensed, size: 13.0, tint: BLACK };
const BOLD: Look = Look { face: Typeface::CondensedBold, size: 13.0, tint: BLACK };
const BLACK: super::Tint = super::Tint(0, 0, 0);
/// Space inside a box.
const PAD: f64 = 9.0;
/// Between two boxes.
const GAP: f64 = 8.0;
/// Most streams that are named; the rest are counted. Own choice: what a glance takes in.
const NAMED: usize = 6;
/// Most cables that get a line of their own.
const CABLES: usize = 8;
/// Most feeds that get a line of their own.
const FEEDS: usize = 4;
/// Room kept at the foot of the boxes for what is only counted.
const REST_H: f64 = 34.0;

/// A card for each place with a switch, in walking order; without title blocks.
pub(crate) fn pages(source: &Source<'_>) -> Vec<Page> {
    let (plan, wiring) = (source.scene.plan, source.scene.wiring);
    let mut racks: BTreeMap<&Id, Vec<&Id>> = BTreeMap::new();
    for (id, switch) in &wiring.switches {
        racks.entry(&switch.place).or_default().push(id);
    }
    if racks.is_empty() {
        return Vec::new();
    }
    let analysis = Analysis::new(plan, wiring);
    let emergency = Emergency::new(&analysis);
    let cards = Cards { source, analysis: &analysis, emergency: &emergency };
    walking_order(plan).into_iter().filter_map(|place| Some(cards.page(place, racks.get(place)?))).collect()
}

struct Cards<'c, 'a> {
    source: &'c Source<'a>,
    analysis: &'c Analysis,
    emergency: &'c Emergency<'c>,
}

/// One box of a card, broken into lines.
struct Block {
    head: String,
    side: String,
    lines: Vec<(Look, f64, String)>,
}

impl Block {
    fn height(&self) -> f64 {
        NAME.leading() + self.lines.iter().map(|(look, ..)| look.leading()).sum::<f64>() + 2.0 * PAD
    }

    fn write(&mut self, (look, indent): (Look, f64), text: &str, width: f64) {
        self.lines.extend(look.wrap(text, width - indent).into_iter().map(|line| (look, indent, line)));
    }

    fn draw(&self, page: &mut Page, area: Area) {
        page.marks.push(Mark::Outline { area, tint: BLACK, width: 1.4 });
        let bar = Area::new(area.x, area.y, area.w, NAME.leading() + PAD);
        page.marks.push(Mark::Fill { area: bar, tint: BLACK });
        let mut y = area.y + PAD / 2.0 + NAME.size;
        let side = BOLD.tinted(WHITE);
        let room = area.w - 3.0 * PAD - side.width(&self.side);
        let head = NAME.tinted(WHITE);
        page.text((area.x + PAD, y), head.face.fit(&self.head, head.size, room).into_owned(), head);
        page.text_end((area.right() - PAD, y), &self.side, side);
        y = bar.bottom() + PAD / 2.0;
        for (look, indent, line) in &self.lines {
            y += look.leading();
            page.text((area.x + PAD + indent, y - 3.0), line.clone(), *look);
        }
    }
}

impl Cards<'_, '_> {
    fn page(&self, place: &Id, switches: &[&Id]) -> Page {
        let name = self
            .source
            .scene
            .plan
            .places
            .get(place)
            .map_or(place.as_str(), |known| if known.name.is_empty() { place.as_str() } else { &known.name });
        let mut page = Page::new(PORTRAIT, format!("Rack card, {name}"), &self.cautions());
        let body = page.body();
        page.text((body.x, body.y + 12.0), "IF THIS GOES DARK", BOLD);
        page.text((body.x, body.y + 42.0), TITLE.face.fit(name, TITLE.size, body.w).into_owned(), TITLE);
        let mut y = page.paragraph((body.x, body.y + 62.0, body.w), &self.whole_rack(place), TEXT) - 4.0;
        let mut told: Vec<Advice> = switches.iter().filter_map(|id| self.emergency.advice(&Item::Switch((*id).clone()))).collect();
        told.sort_by_key(|advice| Reverse((self.essential(advice), advice.silent.len(), advice.one_leg_left)));
        let mut blocks: Vec<Block> = told.iter().map(|advice| self.block(advice, body.w - 2.0 * PAD)).collect();
        blocks.extend(self.preparations(&told, body.w - 2.0 * PAD));
        let cables = self.feeds(place, switches, body.w - 2.0 * PAD).into_iter().chain(self.cables(place, body.w - 2.0 * PAD));
        let mut left = Vec::new();
        for block in blocks.into_iter().chain(cables) {
            let height = block.height();
            if y + height > body.bottom() - REST_H {
                left.push(block.head);
                continue;
            }
            block.draw(&mut page, Area::new(body.x, y, body.w, height));
            y += height + GAP;
        }
        let rest = match left.len() {
            0 => "Everything else that can fail: sheet \"What falls silent\".".to_owned(),
            _ => format!("No room here for {}: see the sheet \"What falls silent\".", left.join(", ")),
        };
        page.paragraph((body.x, y + 10.0, body.w), &rest, PLAIN.sized(10.0).tinted(BLACK));
        page
    }

    fn cautions(&self) -> Vec<&'static str> {
        let mut words = vec![cautions::SOUND, cautions::MAINS, cautions::POE];
        if self.source.scene.plan.streams.values().any(|stream| stream.life_safety) {
            words.push(cautions::LIFE_SAFETY);
        }
        words
    }

    /// What falls silent when everything in the place goes at once.
    fn whole_rack(&self, place: &Id) -> String {
        let effect = self.analysis.survival.whatif(&[Item::Place(place.clone()).into()]);
        let is_essential = |demand: &&u32| self.analysis.survival.demands()[**demand as usize].essential;
        let essential = effect.silent.iter().filter(is_essential).count();
        let all = self.analysis.survival.demands().len();
        format!(
            "The whole rack at once: {} of {all} deliveries (a stream at one receiver) fall silent, {essential} of them essential; the others keep playing.",
            effect.silent.len()
        )
    }

    fn essential(&self, advice: &Advice) -> usize {
        advice.silent.iter().filter(|&&demand| self.analysis.survival.demands()[demand as usize].essential).count()
    }

    fn block(&self, advice: &Advice, width: f64) -> Block {
        let id = advice.item.name();
        let networks =
            self.source.scene.wiring.switches.get(id.as_str()).map(|switch| self.source.networks(&switch.networks)).unwrap_or_default();
        let silent = advice.silent.len();
        let mut block = Block {
            head: id,
            side: format!("NETWORK {networks}   {}", if silent == 0 { "NOTHING SILENT".to_owned() } else { format!("{silent} SILENT") }),
            lines: Vec::new(),
        };
        self.write_effect(advice, (&mut block, width));
        for (n, step) in advice.steps(self.analysis).iter().enumerate() {
            let first = block.lines.len();
            let look = if step.starts_with("Spare") || step.starts_with("Move") || step.starts_with("Put") { BOLD } else { TEXT };
            block.write((look, 16.0), step, width);
            if let Some((_, indent, text)) = block.lines.get_mut(first) {
                (*indent, *text) = (0.0, format!("{}  {text}", n + 1));
            }
        }
        block
    }

    /// What falls silent by name, essential streams first, and what keeps playing.
    fn write_effect(&self, advice: &Advice, (block, width): (&mut Block, f64)) {
        let demands = self.analysis.survival.demands();
        if advice.silent.is_empty() {
            block.write((BOLD, 0.0), &advice.says(self.analysis), width);
            return;
        }
        let pairs = advice.silent.iter().map(|&demand| &demands[demand as usize]);
        let streams = streams_of(self.source, pairs.map(|demand| (demand.stream.as_str(), demand.to.as_str())));
        let is_essential = |stream: &str| self.source.scene.plan.streams.get(stream).is_some_and(|known| known.essential);
        for (word, wanted) in [("SILENT, ESSENTIAL: ", true), ("Silent: ", false)] {
            let names: Vec<&str> =
                streams.iter().filter(|(stream, _)| is_essential(stream) == wanted).map(|(_, says)| says.as_str()).collect();
            if !names.is_empty() {
                let more = if names.len() > NAMED { format!(" and {} more", names.len() - NAMED) } else { String::new() };
                block.write((BOLD, 0.0), &format!("{word}{}{more}", names[..names.len().min(NAMED)].join("; ")), width);
            }
        }
        let own = demands.len() - advice.silent.len();
        let legs = if advice.one_leg_left > 0 { format!(", {} of them with one leg less", advice.one_leg_left) } else { String::new() };
        block.write((TEXT, 0.0), &format!("Keeps playing: {own} deliveries{legs}."), width);
    }

    /// Spare ports that the moves count on.
    fn preparations(&self, told: &[Advice], width: f64) -> Option<Block> {
        let mut ports: BTreeMap<String, Vec<Id>> = BTreeMap::new();
        ports.extend(told.iter().flat_map(Advice::preparations));
        let mut block = Block { head: "Before doors".to_owned(), side: "OPEN THESE SPARE PORTS".to_owned(), lines: Vec::new() };
        for (port, networks) in &ports {
            block.write((TEXT, 0.0), &format!("{port}: {}", settings(self.analysis, networks)), width);
        }
        (!ports.is_empty()).then_some(block)
    }

    /// The feeds of what stands here that silence something.
    fn feeds(&self, place: &Id, switches: &[&Id], width: f64) -> Option<Block> {
        let (plan, wiring) = (self.source.scene.plan, self.source.scene.wiring);
        let of_place = plan.places.get(place).map_or(&[][..], |known| &known.feeds);
        let of_switches = switches.iter().filter_map(|id| wiring.switches.get(*id)).flat_map(|switch| plan.feeds_of(&switch.feeds, place));
        let feeds: BTreeSet<&Id> = of_place.iter().chain(of_switches).collect();
        let effects = feeds.into_iter().map(|feed| (feed, self.analysis.survival.whatif(&[Item::Feed(feed.clone()).into()])));
        let mut told: Vec<(&Id, Effect)> = effects.filter(|(_, effect)| !effect.silent.is_empty()).collect();
        told.sort_by_key(|(_, effect)| Reverse(effect.silent.len()));
        let mut block = Block { head: "A power feed".to_owned(), side: "LICENSED ELECTRICIANS ONLY".to_owned(), lines: Vec::new() };
        for (feed, effect) in told.iter().take(FEEDS) {
            let gone: Vec<String> = effect.gone_too.iter().take(NAMED).map(Item::name).collect();
            let more = effect.gone_too.len().saturating_sub(NAMED);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            block.write((TEXT, 0.0), &format!("{feed}: {} silent. Dark with it: {}{more}.", effect.silent.len(), gone.join(", ")), width);
        }
        (!told.is_empty()).then_some(block)
    }

    /// The cables that end here and hurt most.
    fn cables(&self, place: &Id, width: f64) -> Option<Block> {
        let wiring = self.source.scene.wiring;
        let is_here = |item: &Id| wiring.switches.get(item).is_some_and(|switch| switch.place == *place);
        let here = wiring.cables.iter().filter(|(_, cable)| cable.ends.iter().any(|end| is_here(&end.item)));
        let mut told: Vec<Advice> =
            here.filter_map(|(id, _)| self.emergency.advice(&Item::Cable(id.clone()))).filter(|advice| !advice.silent.is_empty()).collect();
        told.sort_by_key(|advice| Reverse((self.essential(advice), advice.silent.len())));
        let mut block = Block { head: "A single cable".to_owned(), side: "PUSH BOTH PLUGS HOME FIRST".to_owned(), lines: Vec::new() };
        for advice in told.iter().take(CABLES) {
            let [from, to] = &wiring.cables.get(advice.item.name().as_str())?.ends;
            let essential = match self.essential(advice) {
                0 => String::new(),
                n => format!(", {n} essential"),
            };
            let spare = advice.spare.says();
            block.write(
                (TEXT, 0.0),
                &format!("{} ({from} to {to}): {} silent{essential}. {spare}", advice.item.name(), advice.silent.len()),
                width,
            );
        }
        let rest = told.len().saturating_sub(CABLES);
        if rest > 0 {
            block.write((TEXT, 0.0), &format!("and {rest} more that silence something"), width);
        }
        (!told.is_empty()).then_some(block)
    }
}
