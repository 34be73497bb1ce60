//! Whether the ways of sound hang together, and whether receivers named in step receive anything.

use super::Context;
use crate::log::{File, Log};
use crate::near::listed;
use loomwright_model::plan::Journey;
use loomwright_model::{Id, Stream};

/// How many names a hint lists. Own choice: a line of a terminal.
const NAMED: usize = 6;

pub(super) fn check(context: &Context<'_, '_>, log: &mut Log) {
    for (id, journey) in &context.plan.listening.journeys {
        through(context, (id, journey), log);
        end(context, (id, journey), log);
    }
    for (id, group) in &context.plan.listening.in_phase {
        let streams: Vec<&Stream> = group.streams.iter().filter_map(|stream| heard(context, stream)).collect();
        if streams.is_empty() || streams.len() < group.streams.len() {
            continue;
        }
        for device in group.to.iter().filter(|device| !streams.iter().any(|stream| stream.to.contains(device))) {
            let receivers = names(streams.iter().flat_map(|stream| &stream.to));
            let message = format!("`{device}` receives none of the streams of `{id}`");
            context.at((File::Plan, &["in-phase", id.as_str(), "to"]), log).add("plan/not-a-receiver", message, receivers);
        }
    }
}

/// A stream that could be read and has a receiver; others were reported.
fn heard<'a>(context: &Context<'a, '_>, stream: &Id) -> Option<&'a Stream> {
    context.plan.streams.get(stream).filter(|stream| !stream.to.is_empty())
}

/// Each stream has to end in the device that sends the next.
fn through(context: &Context<'_, '_>, (id, journey): (&Id, &Journey), log: &mut Log) {
    for pair in journey.through.windows(2) {
        let [Some(first), Some(next)] = [&pair[0], &pair[1]].map(|stream| heard(context, stream)) else { continue };
        if first.to.contains(&next.from) {
            continue;
        }
        let message = format!("journey `{id}` breaks: `{}` does not reach `{}`, which sends `{}`", pair[0], next.from, pair[1]);
        let onward = context.plan.streams.iter().filter(|(_, stream)| first.to.contains(&stream.from)).map(|(id, _)| id.as_str());
        let onward: Vec<&str> = onward.collect();
        let help = match onward.as_slice() {
            [] => format!("nothing goes on from where `{}` ends; end the journey with it", pair[0]),
            some => format!("after `{}` comes one of: {}", pair[0], listed(some.iter().copied(), NAMED)),
        };
        context.at((File::Plan, &["journey", id.as_str(), "through"]), log).add("plan/journey-breaks", message, help);
    }
}

fn end(context: &Context<'_, '_>, (id, journey): (&Id, &Journey), log: &mut Log) {
    let last = journey.through.last().and_then(|stream| context.plan.streams.get_key_value(stream));
    let (Some((stream, last)), Some(to)) = (last, &journey.to) else { return };
    if !last.to.contains(to) {
        let message = format!("journey `{id}` ends at `{to}`, which does not receive `{stream}`");
        context.at((File::Plan, &["journey", id.as_str(), "to"]), log).add("plan/not-a-receiver", message, names(last.to.iter()));
    }
}

fn names<'a>(devices: impl Iterator<Item = &'a Id>) -> String {
    let devices: Vec<&str> = devices.map(Id::as_str).collect();
    format!("name one of its receivers: {}", listed(devices.iter().copied(), NAMED))
}
