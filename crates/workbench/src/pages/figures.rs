//! Numbers and items as the pages write them.

use super::query::encoded;
use loomwright_model::{BitRate, Item, Length, Power, Time};
use maud::{Markup, html};

/// A time, with the proper micro sign.
pub fn time(nanoseconds: u64) -> String {
    Time::from_nanoseconds(nanoseconds).to_string().replace(" us", " \u{b5}s")
}

/// A sentence with the proper micro sign wherever a figure in `us` stands.
pub fn micro(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(" us") {
        let after = &rest[at + 3..];
        let is_figure = rest[..at].ends_with(|letter: char| letter.is_ascii_digit()) && !after.starts_with(char::is_alphanumeric);
        out += &rest[..at];
        out += if is_figure { " \u{b5}s" } else { " us" };
        rest = after;
    }
    out + rest
}

/// A rate.
pub fn rate(bits_per_second: u64) -> String {
    BitRate::from_bits_per_second(bits_per_second).to_string()
}

/// A length.
pub fn length(millimetres: u64) -> String {
    Length::from_millimetres(millimetres).to_string()
}

/// A power.
pub fn power(milliwatts: u64) -> String {
    Power::from_milliwatts(milliwatts).to_string()
}

/// A part of a whole in percent, one digit below ten.
pub fn percent(part: u64, whole: u64) -> String {
    if whole == 0 {
        return "no limit".to_owned();
    }
    let tenths = u128::from(part) * 1_000 / u128::from(whole);
    if tenths < 100 { format!("{}.{} %", tenths / 10, tenths % 10) } else { format!("{} %", tenths / 10) }
}

/// A count with its noun in the right number.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Where the drawing shows an item as taken away; `None` for items that cannot be taken away.
pub fn drawing_of(item: &str) -> Option<String> {
    let can_fail = matches!(
        item.parse(),
        Ok(Item::Cable(_) | Item::Switch(_) | Item::Device(_) | Item::Feed(_) | Item::Route(_) | Item::Hazard(_) | Item::Port(_))
    );
    can_fail.then(|| format!("/drawing?without={}", encoded(item)))
}

/// An item as a link to where it is shown.
pub fn item_link(item: &str) -> Markup {
    let (kind, name) = item.split_once(':').unwrap_or(("", item));
    let target = match kind {
        "stream" => Some(format!("/proof/streams?stream={}", encoded(name))),
        "place" => Some("/gear/places".to_owned()),
        "gear" => Some("/gear".to_owned()),
        _ => drawing_of(item),
    };
    let words = html! { @if !kind.is_empty() { span.kind { (kind) } " " } (name) };
    html! {
        @match target {
            Some(target) => { a.item href=(target) { (words) } }
            None => { span.item { (words) } }
        }
    }
}

/// Several items in a row; more than a handful fold away.
pub fn items(all: &[String]) -> Markup {
    let (first, rest) = all.split_at(all.len().min(HANDFUL));
    html! {
        @for item in first { (item_link(item)) " " }
        @if !rest.is_empty() { details.rest { summary { "and " (rest.len()) " more" } @for item in rest { (item_link(item)) " " } } }
    }
}

/// How many items stand in a row before the rest folds away. Own choice.
const HANDFUL: usize = 6;

/// How much harm a finding does: by shape, word and colour.
pub fn severity(word: &str) -> Markup {
    html! { span class={ "severity " (word) } { (mark(word)) (word) } }
}

/// The shape that stands for a severity, or for `ready`: it can be told without colour.
pub fn mark(word: &str) -> Markup {
    html! {
        svg.mark viewBox="0 0 24 24" aria-hidden="true" focusable="false" {
            @match word {
                "stop" => { path d="M8 2h8l6 6v8l-6 6H8l-6-6V8z" {} path.on d="M8 8l8 8M16 8l-8 8" {} }
                "warn" => { path d="M12 2.5L23 21.5H1z" {} path.on d="M12 9v6M12 17.6v1.2" {} }
                "ready" => { rect x="2" y="2" width="20" height="20" rx="5" {} path.on d="M7 12.5l3.6 3.6L17.4 8.6" {} }
                _ => { circle cx="12" cy="12" r="10" {} path.on d="M12 10.8v6.4M12 6.8v1.2" {} }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_written_for_people() {
        assert_eq!(time(212_340), "212.34 \u{b5}s");
        assert_eq!((percent(7, 100).as_str(), percent(412, 1000).as_str(), percent(1, 0).as_str()), ("7.0 %", "41 %", "no limit"));
        assert_eq!((count(1, "cable", "cables").as_str(), count(0, "cable", "cables").as_str()), ("1 cable", "0 cables"));
    }

    #[test]
    fn only_figures_get_the_micro_sign() {
        assert_eq!(micro("within 524.54 us of 1 ms; use us, 3 users, 7 us."), "within 524.54 \u{b5}s of 1 ms; use us, 3 users, 7 \u{b5}s.");
    }

    #[test]
    fn items_lead_to_where_they_are_shown() {
        assert_eq!(drawing_of("cable:A-001").as_deref(), Some("/drawing?without=cable:A-001"));
        assert_eq!(drawing_of("stream:x"), None);
        assert!(item_link("stream:sl-mics").into_string().contains("/proof/streams?stream=sl-mics"));
        assert!(item_link("plan").into_string().contains("<span class=\"item\">plan</span>"));
    }
}
