//! Points, boxes and curves. **Unit**: one SVG user unit throughout; y grows downward.

/// A point.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// From the left.
    pub x: f64,
    /// From the top.
    pub y: f64,
}

/// Shorthand for a point.
pub const fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A box.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Area {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Area {
    /// From its edges and size.
    pub const fn new(x: f64, y: f64, w: f64, h: f64) -> Self {
        Self { x, y, w, h }
    }

    /// Around `centre`.
    pub fn around(centre: Point, w: f64, h: f64) -> Self {
        Self::new(centre.x - w / 2.0, centre.y - h / 2.0, w, h)
    }

    /// Its right edge.
    pub fn right(&self) -> f64 {
        self.x + self.w
    }

    /// Its lower edge.
    pub fn bottom(&self) -> f64 {
        self.y + self.h
    }

    /// Its middle.
    pub fn centre(&self) -> Point {
        at(self.x + self.w / 2.0, self.y + self.h / 2.0)
    }

    /// Grown by `by` on every side.
    pub fn grown(&self, by: f64) -> Self {
        Self::new(self.x - by, self.y - by, self.w + 2.0 * by, self.h + 2.0 * by)
    }

    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.bottom() && other.y < self.bottom()
    }

    /// Whether `other` lies wholly inside.
    pub fn contains(&self, other: &Self) -> bool {
        let slack = 0.01;
        other.x >= self.x - slack
            && other.y >= self.y - slack
            && other.right() <= self.right() + slack
            && other.bottom() <= self.bottom() + slack
    }
}

/// A number as short as one tenth of a unit allows.
pub fn short(value: f64) -> String {
    let tenths = (value * 10.0).round();
    if tenths == 0.0 {
        return "0".to_owned();
    }
    if tenths % 10.0 == 0.0 { format!("{}", tenths / 10.0) } else { format!("{:.1}", tenths / 10.0) }
}

/// A path being written.
#[derive(Debug, Clone, Default)]
pub struct Trace(String);

impl Trace {
    /// Starts at `start`.
    pub fn from(start: Point) -> Self {
        Self(format!("M{} {}", short(start.x), short(start.y)))
    }

    /// Goes on straight.
    #[must_use]
    pub fn line(mut self, to: Point) -> Self {
        self.0 += &format!("L{} {}", short(to.x), short(to.y));
        self
    }

    /// Goes on with one cubic from `from` to `to`, upright at both ends.
    #[must_use]
    pub fn fall(mut self, from: Point, to: Point) -> Self {
        // 0.55 of the height bends softly without a flat middle; own choice by eye.
        let reach = (to.y - from.y) * 0.55;
        let parts = [from.x, from.y + reach, to.x, to.y - reach, to.x, to.y].map(short);
        self.0 += &format!("C{}", parts.join(" "));
        self
    }

    /// Goes on through `corners` with corners of radius `radius` rounded off.
    #[must_use]
    pub fn rounded(mut self, start: Point, corners: &[Point], radius: f64) -> Self {
        let mut previous = start;
        for (n, &corner) in corners.iter().enumerate() {
            let Some(&next) = corners.get(n + 1) else {
                return self.line(corner);
            };
            let r = radius.min(distance(previous, corner) / 2.0).min(distance(corner, next) / 2.0);
            let (enter, leave) = (toward(corner, previous, r), toward(corner, next, r));
            self = self.line(enter);
            let parts = [corner.x, corner.y, leave.x, leave.y].map(short);
            self.0 += &format!("Q{}", parts.join(" "));
            previous = corner;
        }
        self
    }

    /// Goes on with a quadratic curve bent toward `bend`.
    #[must_use]
    pub fn bow(mut self, bend: Point, to: Point) -> Self {
        let parts = [bend.x, bend.y, to.x, to.y].map(short);
        self.0 += &format!("Q{}", parts.join(" "));
        self
    }

    /// As an SVG path.
    pub fn text(&self) -> &str {
        &self.0
    }
}

/// How far apart two points are.
pub fn distance(a: Point, b: Point) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

/// The point `by` away from `from` in the direction of `to`.
pub fn toward(from: Point, to: Point, by: f64) -> Point {
    let length = distance(from, to);
    if length <= f64::EPSILON {
        return from;
    }
    at(from.x + (to.x - from.x) * by / length, from.y + (to.y - from.y) * by / length)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_have_no_minus_zero() {
        for (value, text) in [(0.0, "0"), (-0.01, "0"), (12.0, "12"), (1.25, "1.3"), (-3.12, "-3.1")] {
            assert_eq!(short(value), text);
        }
    }

    #[test]
    fn boxes_that_touch_do_not_overlap() {
        let a = Area::new(0.0, 0.0, 10.0, 10.0);
        assert!(!a.overlaps(&Area::new(10.0, 0.0, 5.0, 5.0)));
        assert!(a.overlaps(&Area::new(9.0, 9.0, 5.0, 5.0)));
        assert!(a.contains(&Area::new(1.0, 1.0, 9.0, 9.0)) && !a.contains(&Area::new(1.0, 1.0, 9.1, 9.0)));
    }
}
