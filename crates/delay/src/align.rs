//! Which items of a list are those of an earlier list.

use crate::network::NONE;

/// How far to look for where two lists go on alike. Own choice: the streams or inputs of one box.
const AHEAD: usize = 64;

/// For every new item: the place of an equal one in the old list, places rising, or [`NONE`]. An item in its old place is found
/// there; others where a few come or go. O(items) where little changed.
pub(crate) fn aligned<T: PartialEq>(old: &[T], new: &[T]) -> Vec<u32> {
    let mut places = Vec::with_capacity(new.len());
    let mut at = 0;
    while let Some(item) = new.get(places.len()) {
        let here = places.len();
        if old.get(at) == Some(item) {
            places.push(at as u32);
            at += 1;
        } else if old.get(at + 1).is_some() && old.get(at + 1) == new.get(here + 1) {
            places.push(NONE);
            at += 1;
        } else if let Some(skipped) = old.iter().skip(at).take(AHEAD).position(|old| old == item) {
            at += skipped;
        } else {
            places.push(NONE);
            let comes_back = new[here..].iter().take(AHEAD).any(|new| Some(new) == old.get(at));
            at += usize::from(!comes_back);
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stayed_is_found() {
        let cases: [(&[u8], &[u8], &[u32]); 8] = [
            (&[1, 2, 3], &[1, 2, 3], &[0, 1, 2]),
            (&[1, 2, 3], &[1, 9, 3], &[0, NONE, 2]),
            (&[1, 2, 3], &[1, 3], &[0, 2]),
            (&[1, 2, 3], &[1, 7, 8, 2, 3], &[0, NONE, NONE, 1, 2]),
            (&[1, 2, 3, 4], &[3, 4], &[2, 3]),
            (&[], &[1], &[NONE]),
            (&[1], &[], &[]),
            (&[1, 2], &[1, 9], &[0, NONE]),
        ];
        for (old, new, expected) in cases {
            assert_eq!(aligned(old, new), expected, "{old:?} {new:?}");
        }
    }
}
