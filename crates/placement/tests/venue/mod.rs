//! Reads the made-up venues of `checks/placement/instances`.

use loomwright_placement::{Demand, Item, Layer, MOST, Model, Problem, Reach};

/// Hundredths for a decimetre of copper and of trunk, and to open a place; then the models. As in the origin of the values.
const COPPER: i64 = 12;
const TRUNK: i64 = 25;
const OPENING: i64 = 12_000;
const MODELS: [Model; 4] = [model(8, 60, 18_000), model(16, 120, 33_000), model(24, 190, 52_000), model(48, 370, 98_000)];

const fn model(ports: u32, power: u64, price: i64) -> Model {
    Model { ports, power, price, stock: None }
}

/// The problem in a file.
pub fn problem(text: &str) -> Problem {
    let mut lines = text.lines().map(|line| line.split(' ').map(|word| word.parse::<i64>().ok()).collect::<Vec<Option<i64>>>());
    let head = lines.next().expect("a first line");
    let trunks = lines.next().expect("a second line");
    let opening = trunks.iter().map(|trunk| OPENING + TRUNK * trunk.unwrap_or(MOST)).collect();
    let items = lines.map(|line| item(&line)).collect::<Vec<Item>>();
    assert_eq!((items.len() as i64, trunks.len() as i64), (head[0].unwrap_or(0), head[1].unwrap_or(0)), "the file is whole");
    let layers = vec![Layer { models: MODELS.to_vec(), opening, reserved_ports: 1, fewest: false }];
    Problem { places: trunks.len(), layers, items, most_open: None }
}

fn item(line: &[Option<i64>]) -> Item {
    let power = line[0].expect("every device has its watts") as u64;
    let near = line[1..].iter().enumerate().filter_map(|(place, decimetres)| decimetres.map(|way| Reach { place, cost: COPPER * way }));
    Item { demand: vec![Demand { ports: 1, power }], reach: near.collect() }
}
