//! The cable schedule. Columns: common practice of the trade, no source.

use super::{Source, natural};
use crate::cautions;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_model::{Cable, Id, Medium, PortRef};

/// One cable with the end it is pulled from first.
struct Pull<'a> {
    id: &'a Id,
    cable: &'a Cable,
    from: &'a PortRef,
    to: &'a PortRef,
    /// Rank of the two places in walking order.
    ranks: (usize, usize),
}

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Cables,
        columns([
            ("From place", Role::Text),
            ("Cable", Role::Name),
            ("Net", Role::Text),
            ("Medium", Role::Text),
            ("Length", Role::Figure),
            ("From", Role::Text),
            ("To", Role::Text),
            ("To place", Role::Text),
            ("Routes", Role::Text),
            ("PoE", Role::Text),
            ("Speed", Role::Figure),
            ("Done", Role::Tick),
            ("Initials", Role::Write),
        ]),
    );
    let round = source.walk();
    let round = round.order.first().copied().map_or(String::new(), |first| round.says(source.scene.place_name(first)));
    table.note = format!(
        "By place in walking order; within a place the cables that stay, then those that leave. {round} Label both ends before pulling."
    );
    table.grouped_by = Some(0);
    table.units.insert(4, "m");
    let pulls = pulls(source);
    table.cautions = cautions_for(source, &pulls);
    table.rows = pulls.iter().map(|pull| row(source, pull)).collect();
    table
}

fn pulls<'a>(source: &Source<'a>) -> Vec<Pull<'a>> {
    let order = &source.walk().order;
    let rank = |end: &PortRef| {
        let place = source.scene.place_of(&end.item);
        place.and_then(|place| order.iter().position(|other| *other == place)).unwrap_or(order.len())
    };
    let mut pulls: Vec<Pull<'a>> = source
        .scene
        .wiring
        .cables
        .iter()
        .map(|(id, cable)| {
            let (a, b) = (rank(&cable.ends[0]), rank(&cable.ends[1]));
            let (near, far) = if a <= b { (0, 1) } else { (1, 0) };
            Pull { id, cable, from: &cable.ends[near], to: &cable.ends[far], ranks: (a.min(b), a.max(b)) }
        })
        .collect();
    pulls.sort_by(|a, b| (a.ranks.0, a.ranks.1).cmp(&(b.ranks.0, b.ranks.1)).then_with(|| natural(a.id.as_str(), b.id.as_str())));
    pulls
}

fn cautions_for(source: &Source<'_>, pulls: &[Pull<'_>]) -> Vec<&'static str> {
    let mut found = vec![cautions::SOUND, cautions::TRIP];
    if pulls.iter().any(|pull| pull.cable.medium == Medium::Fibre) {
        found.push(cautions::FIBRE);
    }
    if pulls.iter().any(|pull| source.poe(pull.cable).is_some()) {
        found.push(cautions::POE);
    }
    // Two metres and more count as height. Common practice; local code decides.
    if source.scene.plan.places.values().any(|place| place.at.is_some_and(|at| at.z >= 2_000)) {
        found.push(cautions::HEIGHT);
    }
    found
}

fn row(source: &Source<'_>, pull: &Pull<'_>) -> Row {
    let cable = pull.cable;
    let routes: Vec<&str> = cable.routes.iter().map(Id::as_str).collect();
    let length = Cell { text: cable.length.to_string(), number: Some(cable.length.metres()) };
    Row::new(vec![
        source.place_name(&pull.from.item).into(),
        pull.id.as_str().into(),
        source.networks(&cable.networks).into(),
        cable.medium.word().into(),
        length,
        pull.from.to_string().into(),
        pull.to.to_string().into(),
        source.place_name(&pull.to.item).into(),
        routes.join(", ").into(),
        source.poe(cable).map_or("", |class| class.word()).into(),
        source.speed(cable).map_or(String::new(), |speed| speed.to_string()).into(),
        Cell::default(),
        Cell::default(),
    ])
}
