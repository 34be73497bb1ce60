//! Which gear type a word in a list means.

use super::slug::squeezed;
use crate::near::nearest;
use indexmap::IndexMap;
use loomwright_model::{Gear, Id};

/// Trade words that mean exactly one shipped type. Common practice, no source.
const WORDS: &[(&str, &str)] = &[
    ("notebook", "laptop"),
    ("laptop computer", "laptop"),
    ("multitrack recorder", "recorder"),
    ("recording computer", "recorder"),
    ("playback pc", "playback-computer"),
    ("wireless router", "wifi-router"),
    ("wlan router", "wifi-router"),
    ("access point", "wifi-access-point-poe"),
    ("2 channel amplifier", "amplifier-2"),
    ("4 channel amplifier", "amplifier-4"),
    ("8 channel amplifier", "amplifier-8"),
    ("iem transmitter", "in-ear-transmitter-2"),
    ("in ear transmitter", "in-ear-transmitter-2"),
    ("ceiling speaker", "ceiling-loudspeaker-poe"),
    ("ceiling loudspeaker", "ceiling-loudspeaker-poe"),
    ("active speaker", "loudspeaker-active"),
    ("active loudspeaker", "loudspeaker-active"),
    ("monitor desk", "console-monitor"),
    ("monitor console", "console-monitor"),
    ("master clock", "clock-reference"),
    ("reference clock", "clock-reference"),
    ("wall plate", "wall-panel-poe"),
    ("wall panel", "wall-panel-poe"),
    ("personal mixer", "headphone-mixer-poe"),
    ("beam microphone", "beam-microphone-poe"),
];

/// The type that `text` names, with a note unless it is spelt as in the plan.
///
/// **Errors**: why there is none, with the near miss, which is offered but not taken.
pub(super) fn find(text: &str, gear: &IndexMap<Id, Gear>) -> Result<(Id, Option<String>), String> {
    if let Some((id, _)) = gear.get_key_value(text) {
        return Ok((id.clone(), None));
    }
    let wanted = squeezed(text);
    let same = |(id, gear): &(&Id, &Gear)| squeezed(id.as_str()) == wanted || squeezed(&gear.title) == wanted;
    let by_word = WORDS.iter().find(|(word, _)| squeezed(word) == wanted).and_then(|(_, id)| gear.get_key_value(*id));
    match gear.iter().find(same).or(by_word).filter(|_| !wanted.is_empty()) {
        Some((id, _)) => Ok((id.clone(), Some(format!("gear `{text}` is taken as `{id}`")))),
        None => Err(unknown(text, gear)),
    }
}

fn unknown(text: &str, gear: &IndexMap<Id, Gear>) -> String {
    let names = gear.keys().map(|id| id.as_str());
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| word.chars().count() >= 3).collect();
    let shares = |name: &&str| words.iter().any(|word| name.split('-').any(|part| part == *word));
    let near: Vec<&str> = match nearest(text, names.clone()) {
        Some(near) => vec![near],
        None => names.filter(shares).take(MOST_OFFERED).collect(),
    };
    match near.is_empty() {
        true => format!("there is no gear type `{text}`; add a `[gear.NAME]` to the plan or write a type that it knows"),
        false => format!("there is no gear type `{text}`; did you mean {}?", crate::near::listed(near, MOST_OFFERED)),
    }
}

/// Most near misses that are offered. Own choice.
const MOST_OFFERED: usize = 5;
