//! A lane for each queue, time to the right: bars are packets on the cable, thin lines below are packets that wait for it.

use super::super::super::figures::count;
use super::micros;
use crate::engine::Moment;
use loomwright_model::Time;
use loomwright_replay::{Passing, QueueTimeline, Whose};
use maud::{Markup, html};

/// Most packets drawn in a lane. Own choice.
const MOST: usize = 60;
/// Pixels: the names on the left, the margin on the right, the axis above, a bar, a line that waits, a letter. Own choice.
const LEFT: f64 = 150.0;
const RIGHT: f64 = 20.0;
const AXIS: f64 = 40.0;
const BAR: f64 = 22.0;
const WAIT: f64 = 5.0;
const LETTER: f64 = 6.6;
/// The plot is this wide, and wider, up to the second, where the shortest packet needs it. Own choice.
const WIDTHS: [f64; 2] = [810.0, 2_400.0];
/// The shortest packet is drawn this wide if there is room. Own choice.
const SHORTEST: f64 = 1.5;

/// What is drawn of a queue.
struct Lane<'a> {
    port: &'a str,
    packets: &'a [Passing],
    left_out: usize,
    /// For each packet the line on which it waits.
    waits_on: Vec<Option<usize>>,
    top: f64,
}

impl<'a> Lane<'a> {
    fn new(queue: &'a QueueTimeline, port: &'a str, (begin, top): (Time, f64)) -> Self {
        let first = queue.packets.iter().position(|packet| packet.ends > begin).unwrap_or(0);
        let first = first.max(queue.packets.len().saturating_sub(MOST));
        let packets = &queue.packets[first..];
        Self { port, packets, left_out: first, waits_on: lines(packets), top }
    }

    fn bar(&self) -> f64 {
        self.top + 32.0
    }

    fn bottom(&self) -> f64 {
        let lines = self.waits_on.iter().flatten().max().map_or(0, |line| line + 1);
        self.bar() + BAR + 8.0 + lines as f64 * WAIT
    }
}

/// Gives each packet that waits the first line that is free.
fn lines(packets: &[Passing]) -> Vec<Option<usize>> {
    let mut order: Vec<usize> = (0..packets.len()).filter(|at| packets[*at].starts > packets[*at].arrives).collect();
    order.sort_by_key(|at| packets[*at].arrives);
    let (mut free_from, mut on) = (Vec::<Time>::new(), vec![None; packets.len()]);
    for at in order {
        let line = free_from.iter().position(|free| *free < packets[at].arrives).unwrap_or(free_from.len());
        free_from.resize(free_from.len().max(line + 1), Time::ZERO);
        free_from[line] = packets[at].starts;
        on[at] = Some(line);
    }
    on
}

/// The first moment worth drawing: the release, or the first arrival of those that the packet has to wait for.
fn begin(moment: &Moment) -> Time {
    let in_the_way = |queue: &'_ QueueTimeline| {
        let last = &queue.packets[queue.packets.len().saturating_sub(MOST)..];
        let gap = last.windows(2).rposition(|two| two[0].ends < two[1].starts);
        last[gap.map_or(0, |gap| gap + 1)..].iter().map(|packet| packet.arrives).min()
    };
    moment.replay.queues.iter().filter_map(in_the_way).chain([moment.replay.released]).min().unwrap_or_default()
}

/// Time to pixels.
struct Scale {
    from: u64,
    to: u64,
    width: f64,
}

impl Scale {
    fn new(moment: &Moment, from: Time, lanes: &[Lane<'_>]) -> Self {
        let (from, to) = (from.picoseconds(), moment.replay.heard.picoseconds());
        let packets = lanes.iter().flat_map(|lane| lane.packets);
        let shortest = packets.map(|packet| (packet.ends - packet.starts).picoseconds()).filter(|length| *length > 0).min().unwrap_or(1);
        let needed = SHORTEST * to.saturating_sub(from) as f64 / shortest as f64;
        Self { from, to, width: needed.clamp(WIDTHS[0], WIDTHS[1]) }
    }

    fn x(&self, time: Time) -> f64 {
        let part = time.picoseconds().saturating_sub(self.from) as f64 / self.to.saturating_sub(self.from).max(1) as f64;
        LEFT + self.width * part.min(1.0)
    }

    /// Round times, some ninety pixels apart.
    fn ticks(&self) -> Vec<Time> {
        let wanted = self.to.saturating_sub(self.from) as f64 * 90.0 / self.width;
        let decade = 10_u64.pow(wanted.max(1.0).log10().floor() as u32);
        let step = [1, 2, 5, 10].map(|n| decade.saturating_mul(n)).into_iter().find(|step| *step as f64 >= wanted).unwrap_or(decade).max(1);
        (self.from.div_ceil(step)..=self.to / step).map(|n| Time::from_picoseconds(n.saturating_mul(step))).collect()
    }
}

/// Pixels to a tenth.
fn px(pixels: f64) -> String {
    format!("{pixels:.1}")
}

/// The picture with its legend and, where there is script, a button.
pub fn figure(moment: &Moment) -> Markup {
    let begin = begin(moment);
    let mut lanes: Vec<Lane<'_>> = Vec::new();
    for (queue, port) in moment.replay.queues.iter().zip(&moment.ports) {
        let top = lanes.last().map_or(AXIS, |lane| lane.bottom() + 6.0);
        lanes.push(Lane::new(queue, port, (begin, top)));
    }
    let scale = Scale::new(moment, begin, &lanes);
    let size = [LEFT + scale.width + RIGHT, lanes.last().map_or(AXIS, Lane::bottom) + 8.0];
    html! {
        figure.replay #worst-moment data-from=(scale.from) data-to=(scale.to) data-left=(LEFT) data-width=(px(scale.width)) data-steps=(steps(moment, begin)) {
            p.play { button.second type="button" data-play { "Play" } output {} }
            div.lanes tabindex="0" role="region" aria-label="The worst moment, drawn" {
                svg width=(px(size[0])) height=(px(size[1])) viewBox={ "0 0 " (px(size[0])) " " (px(size[1])) } role="img" aria-label={ "One lane for each of " (count(lanes.len(), "queue", "queues")) "; the table below says the same." } {
                    defs { pattern #replay-hatch width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" { rect.hatch-ground width="6" height="6" {} rect.hatch-line width="2" height="6" {} } }
                    (axis(moment, &scale, size[1]))
                    @for (at, lane) in lanes.iter().enumerate() { (drawn(moment, lane, (&scale, at))) }
                    rect.past x=(LEFT) y=(AXIS) width="0" height=(px(size[1] - AXIS)) {}
                    line.now x1=(LEFT) x2=(LEFT) y1=(AXIS - 6.0) y2=(px(size[1])) {}
                }
            }
            (legend(&lanes))
        }
    }
}

/// The moments of the packet itself, in picoseconds, for those who step from one to the next.
fn steps(moment: &Moment, begin: Time) -> String {
    let own = moment.replay.queues.iter().filter_map(|queue| queue.packets.last());
    let mut times: Vec<u64> = own.flat_map(|own| [own.arrives, own.starts, own.ends]).map(Time::picoseconds).collect();
    times.extend([begin, moment.replay.released, moment.replay.fullest.at, moment.replay.heard].map(Time::picoseconds));
    times.retain(|time| *time >= begin.picoseconds());
    times.sort_unstable();
    times.dedup();
    times.iter().map(u64::to_string).collect::<Vec<_>>().join(" ")
}

fn axis(moment: &Moment, scale: &Scale, height: f64) -> Markup {
    html! {
        text.tick x="0" y="34" { "Time, \u{b5}s" }
        @for tick in scale.ticks() {
            @let x = px(scale.x(tick));
            line.grid x1=(x) x2=(x) y1=(AXIS) y2=(px(height)) {}
            text.tick x=(x) y="34" text-anchor="middle" { (tick.picoseconds() as f64 / 1e6) }
        }
        @for (time, word, anchor) in [(moment.replay.released, "released", "start"), (moment.replay.heard, "heard", "end")] {
            @let x = px(scale.x(time));
            line.edge x1=(x) x2=(x) y1="18" y2=(px(height)) {}
            text.word x=(x) y="14" text-anchor=(anchor) { (word) }
        }
    }
}

fn drawn(moment: &Moment, lane: &Lane<'_>, (scale, at): (&Scale, usize)) -> Markup {
    let (device, port) = lane.port.strip_prefix("port:").unwrap_or(lane.port).rsplit_once('/').unwrap_or((lane.port, ""));
    html! {
        g.lane {
            line.base x1="0" x2=(px(LEFT + scale.width + RIGHT)) y1=(px(lane.top)) y2=(px(lane.top)) {}
            text.name x="0" y=(px(lane.bar() + 6.0)) { (short(device)) title { (lane.port) } }
            text.word x="0" y=(px(lane.bar() + 22.0)) { "port " (short(port)) }
            @if lane.left_out > 0 { text.word x="0" y=(px(lane.top + 14.0)) { (lane.left_out) " before, not drawn" } }
            @for (packet, line) in lane.packets.iter().zip(&lane.waits_on) { (bar(moment, packet, (scale, lane, *line))) }
            (own_label(lane, scale))
            @if at == moment.replay.fullest.queue && moment.replay.fullest.packets > 0 { (fullest(moment, lane, scale)) }
        }
    }
}

/// A name that fits the margin.
fn short(name: &str) -> String {
    let most = (LEFT / LETTER) as usize - 2;
    if name.chars().count() <= most { name.to_owned() } else { name.chars().take(most - 1).chain(['\u{2026}']).collect() }
}

fn class_of(whose: Whose) -> &'static str {
    match whose {
        Whose::Own => "own",
        Whose::Stream(_) => "other",
        Whose::Clock => "sync",
        Whose::Other => "lower",
    }
}

fn bar(moment: &Moment, packet: &Passing, (scale, lane, line): (&Scale, &Lane<'_>, Option<usize>)) -> Markup {
    let [arrives, starts, ends] = [packet.arrives, packet.starts, packet.ends].map(|time| scale.x(time));
    let name = moment.name(packet.whose);
    let has_room = name.chars().count() as f64 * LETTER + 6.0 <= ends - starts;
    let bottom = lane.bar() + BAR;
    let y = bottom + 6.0 + line.unwrap_or(0) as f64 * WAIT;
    html! {
        g class={ "packet " (class_of(packet.whose)) } {
            title { (name) ": arrives " (micros(packet.arrives)) ", sent " (micros(packet.starts)) " to " (micros(packet.ends)) }
            @if line.is_some() { path.waits d={ "M" (px(arrives)) " " (px(y - 2.0)) "v4m0-2H" (px(starts)) "V" (px(bottom)) } {} }
            rect x=(px(starts)) y=(px(lane.bar())) width=(px((ends - starts).max(1.0))) height=(BAR) {}
            @if has_room && packet.whose != Whose::Own { text x=(px(starts + 3.0)) y=(px(lane.bar() + 15.0)) { (name) } }
        }
    }
}

/// Says above its bar which one is the packet itself.
fn own_label(lane: &Lane<'_>, scale: &Scale) -> Markup {
    let Some(own) = lane.packets.last() else { return html! {} };
    let (x, anchor) = side(scale, own.starts, own.ends);
    html! { text.mine x=(px(x)) y=(px(lane.top + 27.0)) text-anchor=(anchor) { "this packet" } }
}

fn fullest(moment: &Moment, lane: &Lane<'_>, scale: &Scale) -> Markup {
    let fullest = &moment.replay.fullest;
    let x = scale.x(fullest.at);
    let (_, anchor) = side(scale, fullest.at, fullest.at);
    let beside = if anchor == "start" { x + 4.0 } else { x - 4.0 };
    html! {
        line.fullest x1=(px(x)) x2=(px(x)) y1=(px(lane.top + 2.0)) y2=(px(lane.bottom())) {}
        text.word x=(px(beside)) y=(px(lane.top + 13.0)) text-anchor=(anchor) { "fullest at " (micros(fullest.at)) ": " (count(fullest.packets, "packet", "packets")) }
    }
}

/// Where words about a stretch of time begin or end, so that they stay in the picture.
fn side(scale: &Scale, from: Time, to: Time) -> (f64, &'static str) {
    let x = scale.x(from);
    if x < LEFT + scale.width / 2.0 { (x, "start") } else { (scale.x(to), "end") }
}

/// What the bars mean, and what is left out.
fn legend(lanes: &[Lane<'_>]) -> Markup {
    let all = [
        ("own", "this packet"),
        ("other", "packet of another stream"),
        ("sync", "clock message"),
        ("lower", "frame of a lower class, already on the cable"),
    ];
    let left_out: usize = lanes.iter().map(|lane| lane.left_out).sum();
    html! {
        ul.legend aria-label="What the bars mean" {
            @for (class, name) in all { li { svg.swatch viewBox="0 0 20 12" aria-hidden="true" { g class={ "packet " (class) } { rect x="1" y="1" width="18" height="10" {} } } (name) } }
            li { svg.swatch viewBox="0 0 20 12" aria-hidden="true" { g.packet.other { path.waits d="M2 4v4m0-2H18V0" {} } } "waits, from arrival to start" }
        }
        @if left_out > 0 { p.calm { (count(left_out, "packet that left earlier is", "packets that left earlier are")) " not drawn: at most " (MOST) " in a lane, and none from before the moment begins." } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn passing([arrives, starts, ends]: [u64; 3]) -> Passing {
        let [arrives, starts, ends] = [arrives, starts, ends].map(Time::from_nanoseconds);
        Passing { whose: Whose::Clock, arrives, starts, ends }
    }

    #[test]
    fn packets_that_wait_at_once_get_lines_of_their_own() {
        let packets = [[0, 0, 9], [2, 9, 12], [3, 12, 15], [20, 21, 30]].map(passing);
        assert_eq!(lines(&packets), [None, Some(0), Some(1), Some(0)]);
    }

    #[test]
    fn no_more_than_sixty_are_drawn_and_the_rest_is_counted() {
        let packets: Vec<Passing> = (0..100).map(|n| passing([0, n * 10, n * 10 + 10])).collect();
        let queue = QueueTimeline { port: 0, packets };
        let lane = Lane::new(&queue, "port:a/1", (Time::ZERO, 0.0));
        assert_eq!((lane.packets.len(), lane.left_out), (MOST, 40));
        assert_eq!(lane.packets.last(), queue.packets.last());
    }

    #[test]
    fn ticks_are_round_and_not_crowded() {
        for to in [1, 999, 123_456_789, 7_000_000_000] {
            let scale = Scale { from: 0, to, width: 840.0 };
            let ticks = scale.ticks();
            assert!(!ticks.is_empty() && ticks.len() <= 11, "{to}: {ticks:?}");
        }
    }
}
