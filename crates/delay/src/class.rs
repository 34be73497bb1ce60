//! Which queue a packet goes to.

use loomwright_model::{Dscp, Plan};

/// Clock event messages: first in every box.
pub const CLOCK: u8 = 3;
/// Audio.
pub const MEDIA: u8 = 2;
/// Control.
pub const CONTROL: u8 = 1;
/// Everything else; shared with traffic that is not planned.
pub const REST: u8 = 0;

/// The class of a code point: the plan's clock and media code points make the two upper classes; any
/// other goes by its default priority, at or above the clock's, the media's, or above zero.
/// **Source**: four queues clock, media, control, rest: common practice; default priority from RFC 8325
/// section 2.3.
pub fn class_of(dscp: Dscp, plan: &Plan) -> u8 {
    let (clock, media) = (plan.stream_format.clock_dscp, plan.stream_format.media_dscp);
    let priority = dscp.default_priority();
    match dscp {
        _ if dscp == clock => CLOCK,
        _ if dscp == media => MEDIA,
        _ if priority >= clock.default_priority() => CLOCK,
        _ if priority >= media.default_priority() => MEDIA,
        _ if priority > 0 => CONTROL,
        _ => REST,
    }
}
