//! The worst moment of one packet beside the drawing: who stands in front of it at every queue of its way.

use super::figures::{item_link, micro};
use super::proof::replay;
use super::proof::streams::net;
use super::query::encoded;
use crate::engine::{Moment, NoMoment, Wanted};
use crate::store::View;
use maud::{Markup, html};

/// The moment that is asked for, or why there is none.
pub fn of(late: &[String; 4], view: &View) -> Result<Moment, NoMoment> {
    view.good.moment(&wanted(late))
}

fn wanted([stream, to, network, packets]: &[String; 4]) -> Wanted<'_> {
    Wanted { stream, to, network, packets: packets.parse().ok() }
}

/// What is drawn, in figures; `back` is the address of the drawing without it.
pub fn beside(late: &[String; 4], moment: &Result<Moment, NoMoment>, (back, view): (&str, &View)) -> Markup {
    let [stream, to, network, packets] = late;
    let address =
        format!("/proof/replay?stream={}&to={}&network={}&packets={}", encoded(stream), encoded(to), encoded(network), encoded(packets));
    html! {
        aside #moment.side.panel {
            h2 { "The worst moment" }
            p { (item_link(&format!("stream:{stream}"))) " at " (to) " " (net(view, network)) }
            @match moment {
                Err(reason) => p.calm { (replay::refusal(*reason, &wanted(late))) },
                Ok(moment) => {
                    p { "Reached " strong { (micro(&moment.reached.to_string())) } ", bound " strong { (micro(&moment.bound.to_string())) } ". The drawing shows its way; labels say who is ahead of it and how long it waits." }
                    ol { @for (port, queue) in moment.ports.iter().zip(&moment.replay.queues) { li { div { (item_link(port)) " " span.to { (micro(&Moment::note(queue))) } } } } }
                }
            }
            p.ways { a href=(address) { "Packet by packet" } a href=(back) { "Put it away" } }
        }
    }
}
