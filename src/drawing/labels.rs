//! Label placement: boxes on a panel that meet neither each other nor anything they must not hide.
use super::advance::thousandths;
use crate::geometry::Point;
use crate::geometry::length::whole_words;

/// Height of the label's text, page units: 11 pixels on a phone.
pub const TEXT_SIZE: f64 = 18.0;

/// A box on the page, y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x0: f64,
    /// Upper edge.
    pub y0: f64,
    /// Right edge.
    pub x1: f64,
    /// Lower edge.
    pub y1: f64,
}

impl Rect {
    /// A box around a middle.
    #[must_use]
    pub fn around(middle: Point, width: f64, height: f64) -> Self {
        let (w, h) = (width / 2.0, height / 2.0);
        Self { x0: middle.x - w, y0: middle.y - h, x1: middle.x + w, y1: middle.y + h }
    }
    /// True if two boxes share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.x0 < other.x1 && other.x0 < self.x1 && self.y0 < other.y1 && other.y0 < self.y1
    }
    /// True if the other box lies in this one.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        self.x0 <= other.x0 && self.y0 <= other.y0 && self.x1 >= other.x1 && self.y1 >= other.y1
    }
    /// The corners.
    #[must_use]
    pub const fn corners(&self) -> [Point; 4] {
        [
            Point::new(self.x0, self.y0),
            Point::new(self.x1, self.y0),
            Point::new(self.x1, self.y1),
            Point::new(self.x0, self.y1),
        ]
    }
    /// True if a segment lies in the box or crosses it.
    #[must_use]
    pub fn meets_line(&self, from: Point, to: Point) -> bool {
        let [a, b, c, d] = self.corners();
        let inside = from.x > self.x0 && from.x < self.x1 && from.y > self.y0 && from.y < self.y1;
        inside || [(a, b), (b, c), (c, d), (d, a)].into_iter().any(|edge| cross(edge, (from, to)))
    }
    /// The point of the box nearest to a point.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Point {
        Point::new(p.x.clamp(self.x0, self.x1), p.y.clamp(self.y0, self.y1))
    }
    /// The middle.
    #[must_use]
    pub fn middle(&self) -> Point {
        Point::new((self.x0 + self.x1) / 2.0, (self.y0 + self.y1) / 2.0)
    }
}

/// Width of a text in page units: the letters' own widths in the face the sheets embed, without kerning.
#[must_use]
pub fn text_width(text: &str, size: f64, strong: bool) -> f64 {
    let thousandths: f64 = text.chars().map(|c| thousandths(c, strong)).sum();
    thousandths * size / 1000.0
}

/// A text broken into lines no wider than `width`.
#[must_use]
pub fn wrap(text: &str, size: f64, strong: bool, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in whole_words(text) {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size, strong) <= width => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// Keeps boxes and the lines that lead from them apart on one panel.
#[derive(Clone, Debug)]
pub struct Placer {
    panel: Rect,
    taken: Vec<Rect>,
    texts: Vec<Rect>,
    leaders: Vec<(Point, Point)>,
}

impl Placer {
    /// An empty panel.
    #[must_use]
    pub const fn new(width: f64, height: f64) -> Self {
        Self {
            panel: Rect { x0: 4.0, y0: 4.0, x1: width - 4.0, y1: height - 4.0 },
            taken: Vec::new(),
            texts: Vec::new(),
            leaders: Vec::new(),
        }
    }

    /// Half the width of the panel.
    #[must_use]
    pub const fn middle(&self) -> f64 {
        (self.panel.x0 + self.panel.x1) / 2.0
    }

    /// Marks a place that no label may cover.
    pub fn block(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Marks the place of a text, which no label may cover and no line may run through.
    pub fn text(&mut self, rect: Rect) {
        self.taken.push(rect);
        self.texts.push(rect);
    }

    /// Marks a line that no label may cover and no other line may cross.
    pub fn lead(&mut self, from: Point, to: Point) {
        self.leaders.push((from, to));
    }

    /// True if a box is on the panel and meets nothing placed so far.
    #[must_use]
    pub fn free(&self, rect: &Rect) -> bool {
        self.panel.holds(rect)
            && !self.taken.iter().any(|t| t.overlaps(rect))
            && !self.leaders.iter().any(|(a, b)| rect.meets_line(*a, *b))
    }

    /// Takes `rect` for a text if it is free.
    pub fn take(&mut self, rect: Rect) -> bool {
        let free = self.free(&rect);
        if free {
            self.text(rect);
        }
        free
    }

    /// The price of a line from a text to what it names, or `None` if it crosses another line or runs through a text. Marks
    /// are better left alone, except at its end, where the mark it leads to stands.
    #[must_use]
    pub fn lead_price(&self, from: Point, to: Point) -> Option<f64> {
        let free = !self.leaders.iter().any(|(a, b)| cross((from, to), (*a, *b)))
            && !self.texts.iter().any(|t| t.meets_line(from, to));
        let back = (from - to).unit().map_or(Point::default(), |way| way * 14.0_f64.min(from.distance(to)));
        let marks = self.taken.iter().filter(|t| t.meets_line(from, to + back)).count();
        free.then_some(if marks > 0 { 40.0 } else { 0.0 })
    }

    /// The nearest free place for a box of this size around one of some points, tried ring by ring from `nearest` page
    /// units to `farthest`. `cost` returns the price of a box with the point it would stand for in page units of
    /// distance, or `None` for a box that may not be. Returns the cheapest box and its price, without taking it.
    #[must_use]
    pub fn place(
        &self,
        at: &[Point],
        (width, height): (f64, f64),
        (nearest, farthest): (f64, f64),
        cost: impl Fn(&Rect, Point) -> Option<f64>,
    ) -> Option<(f64, Rect)> {
        let mut best: Option<(f64, Rect)> = None;
        let mut gap = nearest;
        while gap <= farthest && best.is_none_or(|(least, _)| gap < least) {
            for at in at {
                for (x, y) in WAYS {
                    let middle = *at + Point::new(x * (gap + width / 2.0), y * (gap + height / 2.0));
                    let rect = Rect::around(middle, width, height);
                    if best.is_some_and(|(least, _)| gap >= least) || !self.free(&rect) {
                        continue;
                    }
                    if let Some(price) = cost(&rect, *at).map(|price| gap + price)
                        && best.is_none_or(|(least, _)| price < least)
                    {
                        best = Some((price, rect));
                    }
                }
            }
            gap += height * 0.5;
        }
        best
    }
}

/// Directions in which a box may stand from its point.
const WAYS: [(f64, f64); 24] = [
    (1.0, 0.0),
    (0.0, -1.0),
    (-1.0, 0.0),
    (0.0, 1.0),
    (0.7, -0.7),
    (-0.7, -0.7),
    (0.7, 0.7),
    (-0.7, 0.7),
    (0.9, -0.4),
    (-0.9, -0.4),
    (0.9, 0.4),
    (-0.9, 0.4),
    (0.4, -0.9),
    (-0.4, -0.9),
    (0.4, 0.9),
    (-0.4, 0.9),
    (1.0, -0.2),
    (-1.0, -0.2),
    (1.0, 0.2),
    (-1.0, 0.2),
    (0.2, -1.0),
    (-0.2, -1.0),
    (0.2, 1.0),
    (-0.2, 1.0),
];

/// True if two segments cross or touch.
#[must_use]
pub fn cross((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    let apart = a.x.max(b.x) < c.x.min(d.x)
        || c.x.max(d.x) < a.x.min(b.x)
        || a.y.max(b.y) < c.y.min(d.y)
        || c.y.max(d.y) < a.y.min(b.y);
    !apart && side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}
