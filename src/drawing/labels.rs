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

/// Keeps boxes apart on one panel.
#[derive(Clone, Debug)]
pub struct Placer {
    panel: Rect,
    taken: Vec<Rect>,
    busy: Vec<Rect>,
}

impl Placer {
    /// An empty panel.
    #[must_use]
    pub const fn new(width: f64, height: f64) -> Self {
        Self {
            panel: Rect { x0: 4.0, y0: 4.0, x1: width - 4.0, y1: height - 4.0 },
            taken: Vec::new(),
            busy: Vec::new(),
        }
    }

    /// Marks a place that no label may cover.
    pub fn block(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Marks a place that labels avoid while they can.
    pub fn avoid(&mut self, rect: Rect) {
        self.busy.push(rect);
    }

    /// The boxes placed and blocked so far.
    #[must_use]
    pub fn taken(&self) -> &[Rect] {
        &self.taken
    }

    /// Takes `rect` if it is on the panel and free.
    pub fn take(&mut self, rect: Rect) -> bool {
        let free = self.panel.holds(&rect) && !self.taken.iter().any(|t| t.overlaps(&rect));
        if free {
            self.taken.push(rect);
        }
        free
    }

    /// The nearest free place for a box of this size around one of some points, tried ring by ring from `nearest` page
    /// units to `farthest`; right, above, left and below first. Busy places are used only if nothing else is free.
    pub fn place(
        &mut self,
        at: &[Point],
        width: f64,
        height: f64,
        nearest: f64,
        farthest: f64,
    ) -> Option<Rect> {
        self.search(at, width, height, (nearest, farthest), true)
            .or_else(|| self.search(at, width, height, (nearest, farthest), false))
    }

    /// Does the same as [`Self::place`], without regard to busy places.
    pub fn place_near(
        &mut self,
        at: &[Point],
        width: f64,
        height: f64,
        nearest: f64,
        farthest: f64,
    ) -> Option<Rect> {
        self.search(at, width, height, (nearest, farthest), false)
    }

    /// A free place for a box centered on one of some points that satisfies a condition; not on busy places if
    /// possible.
    pub fn place_on(
        &mut self,
        at: &[Point],
        width: f64,
        height: f64,
        good: impl Fn(&Rect) -> bool,
    ) -> Option<Rect> {
        for quiet in [true, false] {
            for middle in at {
                let rect = Rect::around(*middle, width, height);
                let free = !quiet || !self.busy.iter().any(|b| b.overlaps(&rect));
                if free && good(&rect) && self.take(rect) {
                    return Some(rect);
                }
            }
        }
        None
    }

    fn search(
        &mut self,
        at: &[Point],
        width: f64,
        height: f64,
        (nearest, farthest): (f64, f64),
        quiet: bool,
    ) -> Option<Rect> {
        const WAYS: [(f64, f64); 12] = [
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
        ];
        let mut gap = nearest;
        while gap <= farthest {
            for at in at {
                for (x, y) in WAYS {
                    let middle = *at + Point::new(x * (gap + width / 2.0), y * (gap + height / 2.0));
                    let rect = Rect::around(middle, width, height);
                    let free = !quiet || !self.busy.iter().any(|b| b.overlaps(&rect));
                    if free && self.take(rect) {
                        return Some(rect);
                    }
                }
            }
            gap += height * 0.7;
        }
        None
    }
}
