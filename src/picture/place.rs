//! Finding free places for labels inside a panel.

use super::clip::Point;

/// A rectangle in pixels, y downwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rect {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
}

impl Rect {
    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    /// The pixel at a place of the unit square.
    pub fn at(&self, place: Point) -> Point {
        (self.left + place.0 * self.width, self.bottom() - place.1 * self.height)
    }

    pub fn holds(&self, p: Point) -> bool {
        (self.left..=self.right()).contains(&p.0) && (self.top..=self.bottom()).contains(&p.1)
    }

    /// The nearest point of the rectangle.
    pub fn nearest(&self, p: Point) -> Point {
        (p.0.max(self.left).min(self.right()), p.1.max(self.top).min(self.bottom()))
    }

    fn meets(&self, other: &Rect) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    /// Moved, not resized, to lie inside `frame` with a little air.
    fn inside(self, frame: &Rect) -> Rect {
        let air = 3.0;
        Rect {
            left: self.left.min(frame.right() - air - self.width).max(frame.left + air),
            top: self.top.min(frame.bottom() - air - self.height).max(frame.top + air),
            ..self
        }
    }
}

/// What is already in a panel.
pub(super) struct Room {
    frame: Rect,
    taken: Vec<Rect>,
    lines: Vec<Point>,
}

impl Room {
    pub fn new(frame: Rect) -> Room {
        Room { frame, taken: Vec::new(), lines: Vec::new() }
    }

    /// Notes a rectangle that labels must not cover.
    pub fn take(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Notes a polyline, in pixels, that labels should not cover.
    pub fn line(&mut self, points: &[Point]) {
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let count = ((b.0 - a.0).hypot(b.1 - a.1) / 3.0).ceil().clamp(1.0, 2000.0);
            let at = |k: f64| (a.0 + k / count * (b.0 - a.0), a.1 + k / count * (b.1 - a.1));
            self.lines.extend((0..=count as u32).map(|k| at(f64::from(k))));
        }
    }

    /// Takes the best of some places, earlier ones preferred, moved into the frame. `from` is the
    /// point that a leader line would come from; it should cross no label either.
    pub fn choose(&mut self, wishes: &[Rect], from: Option<Point>) -> Option<Rect> {
        let scored = wishes.iter().enumerate().map(|(rank, wish)| {
            let rect = wish.inside(&self.frame);
            let leader = from.map_or(0.0, |p| self.leader_cost(p, rect.nearest(p)));
            (self.cost(&rect) + leader + rank as f64 * 0.1 + moved(wish, &rect), rect)
        });
        let best = scored.min_by(|a, b| a.0.total_cmp(&b.0))?.1;
        self.taken.push(best);
        Some(best)
    }

    fn leader_cost(&self, from: Point, to: Point) -> f64 {
        let at = |k: f64| (from.0 + k * (to.0 - from.0), from.1 + k * (to.1 - from.1));
        // The dot itself is taken; what counts is the way between.
        let way: Vec<Point> = (3..=9).map(|k| at(f64::from(k) / 10.0)).collect();
        let crossed = self.taken.iter().filter(|t| way.iter().any(|&p| t.holds(p))).count();
        300.0 * crossed as f64
    }

    fn cost(&self, rect: &Rect) -> f64 {
        let clashes = self.taken.iter().filter(|t| t.meets(rect)).count();
        let crossed = self.lines.iter().filter(|&&p| rect.holds(p)).count();
        1000.0 * clashes as f64 + 2.0 * crossed as f64
    }
}

/// A wish pushed by the frame has lost its relation to its line or point.
fn moved(wish: &Rect, rect: &Rect) -> f64 {
    ((wish.left - rect.left).abs() + (wish.top - rect.top).abs()) * 0.5
}
