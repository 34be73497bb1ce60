//! Says why a switch could not be joined to the others.

use crate::lengths::{self, COPPER_LIMIT, FIBRE_LIMIT};
use crate::trunks::Tree;
use loomwright_model::{Item, Length, Medium};

/// Adds the finding for the switch of `rack`.
pub(crate) fn tell(tree: &mut Tree, rack: usize) {
    let (Some(switch), Some(root)) = (tree.switch(rack).cloned(), tree.switch(tree.root).cloned()) else { return };
    let places = [tree.place(rack), tree.place(tree.root)];
    let [from, to] = places.map(|place| tree.draft.place(place).clone());
    let away = |medium| {
        let way = tree.draft.ways.shortest(medium, places[0], places[1])?;
        Some(lengths::cut(tree.draft.plan, medium, way.length).length)
    };
    let (code, why, remedy) = reason([from.as_str(), to.as_str()], away(Medium::Copper), away(Medium::Fibre));
    let says = format!("{switch} cannot be joined to {root}: {why}.");
    tree.draft.stop(code, vec![Item::Switch(switch), Item::Place(from)], [says, remedy]);
}

fn reason([from, to]: [&str; 2], copper: Option<Length>, fibre: Option<Length>) -> (&'static str, String, String) {
    match (copper, fibre) {
        (None, None) => {
            let why = format!("no route for copper or fibre leads from {from} to {to}");
            ("design/no-way", why, format!("Add the route that a cable from {from} to {to} can take."))
        }
        (Some(copper), None) if copper > COPPER_LIMIT => {
            let why = format!("{from} is {copper} of cable from {to}, copper ends at {COPPER_LIMIT}, and no way there takes fibre");
            ("design/too-far", why, format!("Let a way between {from} and {to} take fibre."))
        }
        (_, Some(fibre)) if fibre > FIBRE_LIMIT => {
            let why = format!("{from} is {fibre} of fibre from {to}, more than {FIBRE_LIMIT}");
            ("design/too-far", why, format!("Put a switch half-way between {from} and {to}."))
        }
        _ => {
            let why = "no free trunk ports of one medium are left at both ends".to_owned();
            ("design/no-trunk-port", why, format!("Allow a switch type with more trunk ports at {from} or {to}."))
        }
    }
}
