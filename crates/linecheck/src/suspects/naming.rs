//! What a person writes or taps, as questions.
//!
//! `main-left` is a stream at all its receivers, `main-left@amp-3` at one, `main-left@amp-3/a` over one network.

use super::{Ask, Trouble};
use loomwright_model::{Id, Item};
use std::fmt;

/// A name that leads to no question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSuchAsk {
    /// What was written.
    pub found: String,
    /// Why it leads nowhere.
    pub reason: String,
}

impl fmt::Display for NoSuchAsk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}`: {}", self.found, self.reason)
    }
}

impl std::error::Error for NoSuchAsk {}

impl Trouble<'_> {
    /// Questions about a stream: one for each receiver that is meant.
    ///
    /// **Errors**: no such stream, receiver or network, with the names that there are.
    pub fn asks_of_stream(&self, text: &str) -> Result<Vec<Ask>, NoSuchAsk> {
        let wrong = |reason: String| NoSuchAsk { found: text.to_owned(), reason };
        let (stream, place) = text.split_once('@').map_or((text, None), |(stream, place)| (stream, Some(place)));
        let (receiver, network) = match place.map(|place| place.split_once('/').map_or((place, None), |(to, network)| (to, Some(network))))
        {
            Some((receiver, network)) => (Some(receiver), network),
            None => (None, None),
        };
        let demands = self.survival.demands();
        let of_stream: Vec<u32> = (0..demands.len() as u32).filter(|&at| demands[at as usize].stream.as_str() == stream).collect();
        if of_stream.is_empty() {
            return Err(wrong(format!(
                "no stream is called `{stream}`, or nobody hears it; write STREAM, STREAM@DEVICE or STREAM@DEVICE/NETWORK"
            )));
        }
        let meant = of_stream.iter().copied().filter(|&at| receiver.is_none_or(|to| demands[at as usize].to.as_str() == to));
        let meant: Vec<u32> = meant.collect();
        if meant.is_empty() {
            let known: Vec<&str> = of_stream.iter().map(|&at| demands[at as usize].to.as_str()).collect();
            return Err(wrong(format!(
                "`{}` does not receive `{stream}`; its receivers are {}",
                receiver.unwrap_or_default(),
                known.join(", ")
            )));
        }
        let Some(network) = network else { return Ok(meant.into_iter().map(Ask::Heard).collect()) };
        self.asks_of_network(&meant, network).ok_or_else(|| wrong(format!("the stream does not go there over network `{network}`")))
    }

    fn asks_of_network(&self, demands: &[u32], network: &str) -> Option<Vec<Ask>> {
        let number = self.fabric.networks.iter().position(|id| id.as_str() == network)?;
        let is_meant = |leg: &usize| demands.contains(&self.legs[*leg].demand) && usize::from(self.legs[*leg].network.0) == number;
        let asks: Vec<Ask> = (0..self.legs.len()).filter(is_meant).map(|leg| Ask::Leg(leg as u32)).collect();
        (!asks.is_empty()).then_some(asks)
    }

    /// The questions that a name from [`super::TestLine::ask`] stands for.
    ///
    /// **Errors**: an unknown kind before the colon, or an unknown name after it.
    pub fn asks(&self, text: &str) -> Result<Vec<Ask>, NoSuchAsk> {
        match text.split_once(':') {
            Some(("heard", stream)) => self.asks_of_stream(stream),
            Some(("lights", cable)) => self.ask_lights(cable).map(|ask| vec![ask]),
            Some(("sound", cable)) => self.ask_sound(cable).map(|ask| vec![ask]),
            Some(("power", name)) => self.ask_power(name).map(|ask| vec![ask]),
            _ => Err(NoSuchAsk { found: text.to_owned(), reason: "begins with none of heard:, lights:, sound:, power:".to_owned() }),
        }
    }

    /// The question whether a cable's link lights are lit.
    ///
    /// **Errors**: no such cable.
    pub fn ask_lights(&self, cable: &str) -> Result<Ask, NoSuchAsk> {
        self.cable(cable).map(Ask::Lights)
    }

    /// The question whether a cable is sound.
    ///
    /// **Errors**: no such cable.
    pub fn ask_sound(&self, cable: &str) -> Result<Ask, NoSuchAsk> {
        self.cable(cable).map(Ask::Sound)
    }

    /// The question whether a device or switch is on.
    ///
    /// **Errors**: no such box.
    pub fn ask_power(&self, name: &str) -> Result<Ask, NoSuchAsk> {
        let item: Option<Item> = Id::new(name).ok().and_then(|id| self.box_item(&id));
        item.map(Ask::Power).ok_or_else(|| NoSuchAsk { found: name.to_owned(), reason: "no device or switch has this name".to_owned() })
    }

    fn cable(&self, name: &str) -> Result<Id, NoSuchAsk> {
        let id = Id::new(name).ok().filter(|id| self.wiring.cables.contains_key(id));
        id.ok_or_else(|| NoSuchAsk { found: name.to_owned(), reason: "no cable has this name".to_owned() })
    }
}
