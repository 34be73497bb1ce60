//! Chance that can be repeated, and trees of boxes.

/// Numbers that look random and are the same every time.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 24) % sides.max(1)
    }

    pub fn pick(&mut self, values: &[u64]) -> u64 {
        values[self.below(values.len() as u64) as usize]
    }
}

/// Boxes in a tree; box 0 is the root. Port `2 b` leads from box `b` to its parent, `2 b + 1` back.
pub struct Tree {
    parent: Vec<usize>,
    /// Picoseconds per bit of the link of each box to its parent.
    pub bit: Vec<u64>,
}

impl Tree {
    /// 3 to 11 boxes, links of one of the speeds in `bits`.
    pub fn random(dice: &mut Dice, bits: &[u64]) -> Self {
        let boxes = 3 + dice.below(9);
        let parent = (0..boxes).map(|at| dice.below(at) as usize).collect();
        Self { parent, bit: (0..boxes).map(|_| dice.pick(bits)).collect() }
    }

    pub fn boxes(&self) -> usize {
        self.parent.len()
    }

    /// Ports from one box to another.
    pub fn way(&self, mut from: usize, mut to: usize) -> Vec<usize> {
        let (mut up, mut down) = (Vec::new(), Vec::new());
        while from != to {
            if from > to {
                up.push(2 * from);
                from = self.parent[from];
            } else {
                down.push(2 * to + 1);
                to = self.parent[to];
            }
        }
        up.extend(down.into_iter().rev());
        up
    }

    /// The box that frames leaving by `port` come from.
    pub fn sender(&self, port: usize) -> usize {
        if port.is_multiple_of(2) { port / 2 } else { self.parent[port / 2] }
    }
}
