//! Strips: the band of headings that a towed unit can have along one line, over cells of q, bounded by straight lines.
//!
//! A cell is a stretch of the line `cell_m` long. Over the part of it where the lead's axle can be, the heading of the
//! towed unit lies between two straight lines in q, each given by its values at the ends of the whole cell. An addition
//! to a cell is joined by the larger (smaller) value at each end: two straight lines both lie below the one through the
//! larger of their ends. So nothing is ever lost, and a band that is straight is carried from line to line without
//! widening, however the cells lie.
use super::interval::Interval;

/// States possible in one cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Range of the lead's axle (q).
    pub place: Interval,
    /// Least heading, at either end of the cell.
    pub low: [f64; 2],
    /// Largest heading, at either end of the cell.
    pub high: [f64; 2],
}

/// A band over a stretch that is not aligned to the cells.
#[derive(Clone, Copy, Debug)]
pub struct Slice {
    /// Range of the lead's axle (q).
    pub place: Interval,
    /// Two places at which the bounds are given.
    pub at: (f64, f64),
    /// Least heading there.
    pub low: [f64; 2],
    /// Largest heading there.
    pub high: [f64; 2],
}

/// Cells along a line, from the first one that holds anything.
#[derive(Clone, Debug, Default)]
pub struct Strip {
    first: i32,
    cells: Vec<Cell>,
}

impl Cell {
    /// The empty cell.
    pub const NONE: Self = Self {
        place: (f64::INFINITY, f64::NEG_INFINITY),
        low: [f64::INFINITY; 2],
        high: [f64::NEG_INFINITY; 2],
    };

    /// True if the cell is empty.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.place.0 > self.place.1
    }

    /// Joins another band of the same cell, which begins at `from`.
    pub fn join(&mut self, other: &Self, (from, cell_m): (f64, f64)) {
        if other.is_empty() {
            return;
        }
        if self.is_empty() {
            *self = *other;
            return;
        }
        let share = |place: Interval| [place.0, place.1].map(|q| (q - from) / cell_m);
        let (mine, theirs) = (share(self.place), share(other.place));
        self.high = above((self.high, mine), (other.high, theirs));
        let upside_down = |ends: [f64; 2]| ends.map(|low| -low);
        self.low = upside_down(above((upside_down(self.low), mine), (upside_down(other.low), theirs)));
        self.place = (self.place.0.min(other.place.0), self.place.1.max(other.place.1));
    }

    /// True if it contains another band of the same cell.
    #[must_use]
    pub fn holds(&self, other: &Self, (from, cell_m): (f64, f64)) -> bool {
        let (least, most) = other.place;
        self.place.0 <= least
            && most <= self.place.1
            && [least, most].into_iter().all(|q| {
                let at = |ends: &[f64; 2]| value(ends, q, from, cell_m);
                at(&self.low) <= at(&other.low) && at(&other.high) <= at(&self.high)
            })
    }

    /// Returns it slightly enlarged.
    #[must_use]
    pub fn grown(&self, by_m: f64, by_rad: f64) -> Self {
        Self {
            place: (self.place.0 - by_m, self.place.1 + by_m),
            low: self.low.map(|low| low - by_rad),
            high: self.high.map(|high| high + by_rad),
        }
    }
}

/// Returns a straight line above two, each over its own stretch of a cell; all by the values at the cell's ends.
///
/// Either suffices once it is raised to lie above the other where that counts; and so does the one through the larger
/// of their ends. The lowest of these over both stretches is returned.
fn above((a, of_a): ([f64; 2], [f64; 2]), (b, of_b): ([f64; 2], [f64; 2])) -> [f64; 2] {
    let at = |ends: &[f64; 2], share: f64| ends[0] + (ends[1] - ends[0]) * share;
    let raised = |line: [f64; 2], over: &[f64; 2], stretch: [f64; 2]| {
        let short = stretch.map(|share| at(over, share) - at(&line, share));
        let by = short[0].max(short[1]).max(0.0);
        line.map(|end| end + by)
    };
    let all = [raised(a, &b, of_b), raised(b, &a, of_a), [a[0].max(b[0]), a[1].max(b[1])]];
    let (from, to) = (of_a[0].min(of_b[0]), of_a[1].max(of_b[1]));
    let height = |line: &[f64; 2]| at(line, from) + at(line, to);
    let [first, second, third] = all;
    let lower = if height(&second) < height(&first) { second } else { first };
    if height(&third) < height(&lower) { third } else { lower }
}

/// Value at `q` of the straight line that has these values at the ends of the cell that begins at `from`.
#[must_use]
pub fn value(ends: &[f64; 2], q: f64, from: f64, cell_m: f64) -> f64 {
    ends[0] + (ends[1] - ends[0]) * ((q - from) / cell_m)
}

/// Number of the cell in which q lies.
#[must_use]
#[allow(clippy::cast_possible_truncation, reason = "clamped to a million")]
pub fn cell_of(q: f64, cell_m: f64) -> i32 {
    (q / cell_m).floor().clamp(-1e6, 1e6) as i32
}

impl Strip {
    /// Adds a band.
    pub fn add(&mut self, cell_m: f64, slice: &Slice) {
        let (from, to) = (cell_of(slice.place.0, cell_m), cell_of(slice.place.1, cell_m));
        let length = slice.at.1 - slice.at.0;
        let slope = |ends: &[f64; 2]| (ends[1] - ends[0]) / length;
        let (low, high) = (slope(&slice.low), slope(&slice.high));
        for number in from..=to {
            let ends = [f64::from(number) * cell_m, f64::from(number + 1) * cell_m];
            let there = Cell {
                place: (slice.place.0.max(ends[0]), slice.place.1.min(ends[1])),
                low: ends.map(|q| slice.low[0] + low * (q - slice.at.0)),
                high: ends.map(|q| slice.high[0] + high * (q - slice.at.0)),
            };
            self.at(number).join(&there, (ends[0], cell_m));
        }
    }

    /// Returns the cell with a number.
    pub fn at(&mut self, number: i32) -> &mut Cell {
        if self.cells.is_empty() {
            self.first = number;
        }
        if number < self.first {
            let more = usize::try_from(self.first - number).unwrap_or(0);
            self.cells.splice(0..0, std::iter::repeat_n(Cell::NONE, more));
            self.first = number;
        }
        let index = usize::try_from(number - self.first).unwrap_or(0);
        if index >= self.cells.len() {
            self.cells.resize(index + 1, Cell::NONE);
        }
        &mut self.cells[index]
    }

    /// Returns the states possible in the cell with a number.
    #[must_use]
    pub fn get(&self, number: i32) -> Cell {
        let index = usize::try_from(number - self.first).ok();
        index.and_then(|index| self.cells.get(index)).copied().unwrap_or(Cell::NONE)
    }

    /// Iterates over the nonempty cells, with their numbers.
    pub fn iter(&self) -> impl Iterator<Item = (i32, Cell)> + '_ {
        (self.first..).zip(&self.cells).filter(|(_, cell)| !cell.is_empty()).map(|(at, cell)| (at, *cell))
    }

    /// Range from the first to the last place where the lead's axle can be.
    #[must_use]
    pub fn place(&self) -> Option<Interval> {
        let all = self.iter().map(|(_, cell)| cell.place);
        all.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }
}
