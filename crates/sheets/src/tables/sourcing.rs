//! Where each cable comes from: a piece in the truck, a reel to cut from, or a shop.

use loomwright_drawing::Scene;
use loomwright_model::{Id, Length, Medium};
use loomwright_placement::reels;
use loomwright_placement::stock::{self, Pieces};

/// Where one cable comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// A piece from the truck.
    Piece {
        /// How long it is.
        length: Length,
        /// How many of them there are, if they are counted.
        of: Option<u32>,
    },
    /// Cut from a reel.
    Reel {
        /// How long the reel is.
        length: Length,
        /// Its number among reels of that length, from 1.
        number: usize,
        /// Where the cut begins.
        from: Length,
    },
    /// The truck does not hold it.
    Buy,
    /// The plan names no stock for its medium: made as long as it is.
    Made,
}

/// One cable with where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sourced<'a> {
    /// Whether it is copper; else fibre.
    pub is_copper: bool,
    /// Its name.
    pub cable: &'a Id,
    /// How long it is.
    pub length: Length,
    /// Where it comes from.
    pub origin: Origin,
}

/// Every cable of the wiring, copper first, by where it comes from. Pieces go to the longest cables first and reels are cut so
/// that as few as possible are needed.
pub fn sourced<'a>(scene: &Scene<'a>) -> Vec<Sourced<'a>> {
    let mut all = Vec::new();
    for is_copper in [true, false] {
        let own = scene.wiring.cables.iter().filter(|(_, cable)| (cable.medium == Medium::Copper) == is_copper);
        let cables: Vec<(&Id, Length)> = own.map(|(id, cable)| (id, cable.length)).collect();
        let origins = origins(scene, is_copper, &cables);
        let with = |((cable, length), origin): ((&'a Id, Length), Origin)| Sourced { is_copper, cable, length, origin };
        all.extend(cables.into_iter().zip(origins).map(with));
    }
    all.sort_by(|one, other| {
        (!one.is_copper, one.origin)
            .cmp(&(!other.is_copper, other.origin))
            .then_with(|| super::natural(one.cable.as_str(), other.cable.as_str()))
    });
    all
}

fn origins(scene: &Scene<'_>, is_copper: bool, cables: &[(&Id, Length)]) -> Vec<Origin> {
    let stock = &scene.plan.stock;
    let medium = if is_copper { Medium::Copper } else { Medium::Fibre };
    let counted = stock.counted(medium);
    if !stock.has_lengths(medium) && stock.reels(medium).is_empty() {
        return vec![Origin::Made; cables.len()];
    }
    let unlimited = stock.lengths(medium).filter(|length| counted.iter().all(|own| own.length != *length));
    let mut pieces: Vec<(Length, Option<u32>)> = unlimited.map(|length| (length, None)).collect();
    pieces.extend(counted.iter().map(|own| (own.length, Some(own.count))));
    let lengths: Vec<u64> = cables.iter().map(|(_, length)| length.millimetres()).collect();
    let given: Vec<Pieces> = pieces.iter().map(|(length, count)| Pieces { length: length.millimetres(), count: *count }).collect();
    let chosen = stock::choose(&lengths, &given);
    let piece = |at: usize| Origin::Piece { length: pieces[at].0, of: pieces[at].1 };
    let mut origins: Vec<Origin> = chosen.iter().map(|chosen| chosen.map_or(Origin::Buy, piece)).collect();
    for reel in stock.reels(medium) {
        cut_from(reel.length, reel.count as usize, (&lengths, &mut origins));
    }
    origins
}

/// Cuts what has to be bought so far from `count` reels; the fullest reels are used if there are not enough.
fn cut_from(reel: Length, count: usize, (lengths, origins): (&[u64], &mut [Origin])) {
    let open: Vec<usize> = (0..origins.len()).filter(|at| origins[*at] == Origin::Buy).collect();
    let wanted: Vec<u64> = open.iter().map(|at| lengths[*at]).collect();
    let mut cut = reels::cut(&wanted, reel.millimetres()).reels;
    cut.sort_by_key(|own| std::cmp::Reverse(own.iter().map(|at| wanted[*at]).sum::<u64>()));
    for (number, own) in cut.into_iter().take(count).enumerate() {
        let mut from = 0;
        for at in own {
            origins[open[at]] = Origin::Reel { length: reel, number: number + 1, from: Length::from_millimetres(from) };
            from += wanted[at];
        }
    }
}
