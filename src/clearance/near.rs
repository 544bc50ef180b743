//! Which standing pieces can be near a box: a grid over them, so that a site of ten thousand trees costs a pose no more
//! than the few it comes near.
//!
//! It only leaves out what is farther away than asked, and tells the rest in the order of the site: what is measured
//! with it is measured to the last bit as without it.
use super::surroundings::Standing;
use crate::geometry::Point;

/// With fewer pieces than this a look at each of them is faster.
const WORTH_A_GRID: usize = 48;
/// Side of a cell: about the width of a vehicle.
const CELL_M: f64 = 2.0;
/// Pieces farther from the gate than this are not indexed; who drives there looks at all of them.
const WINDOW_M: f64 = 200.0;
/// A piece over more cells than this, such as a long wall, is told for every box: it would fill the grid.
const MOST_CELLS: usize = 256;

/// A grid over the standing pieces of a site, in the gate's frame.
#[derive(Clone, Debug)]
pub(super) struct Nearby {
    low: Point,
    high: Point,
    columns: usize,
    rows: usize,
    /// Whether all pieces lie in the window.
    whole: bool,
    /// Where each cell's pieces begin in `pieces`; one more than there are cells.
    starts: Vec<u32>,
    pieces: Vec<u32>,
    /// Pieces that are told for every box.
    everywhere: Vec<u32>,
}

impl Nearby {
    /// A grid over these pieces; none where it would not pay.
    pub(super) fn new(standing: &[Standing]) -> Option<Self> {
        if standing.len() < WORTH_A_GRID {
            return None;
        }
        let boxes: Vec<(Point, Point)> = standing.iter().map(extent).collect();
        let corners: Vec<Point> = boxes.iter().flat_map(|(low, high)| [*low, *high]).collect();
        let (low, high) = box_around(&corners);
        let clipped = |v: f64| v.clamp(-WINDOW_M, WINDOW_M);
        let (inner_low, inner_high) =
            (Point::new(clipped(low.x), clipped(low.y)), Point::new(clipped(high.x), clipped(high.y)));
        let whole = inner_low == low && inner_high == high;
        let (columns, rows) = (cells(inner_high.x - inner_low.x), cells(inner_high.y - inner_low.y));
        let (low, high) = (inner_low, inner_high);
        let mut grid = Self {
            low,
            high,
            columns,
            rows,
            whole,
            starts: vec![0; columns * rows + 1],
            pieces: Vec::new(),
            everywhere: Vec::new(),
        };
        // Twice over the pieces: counted first, then each put where its cell's share begins.
        let mut spans = Vec::with_capacity(boxes.len());
        for (index, (l, h)) in (0_u32..).zip(&boxes) {
            let span = grid.span(*l, *h).filter(|span| {
                let few = span.len() <= MOST_CELLS;
                if !few {
                    grid.everywhere.push(index);
                }
                few
            });
            span.iter().flat_map(|span| span.cells(columns)).for_each(|cell| grid.starts[cell + 1] += 1);
            spans.push(span);
        }
        for cell in 0..columns * rows {
            grid.starts[cell + 1] += grid.starts[cell];
        }
        let mut next = grid.starts.clone();
        grid.pieces = vec![0; grid.starts[columns * rows] as usize];
        for (index, span) in (0_u32..).zip(&spans) {
            for cell in span.iter().flat_map(|span| span.cells(columns)) {
                grid.pieces[next[cell] as usize] = index;
                next[cell] += 1;
            }
        }
        Some(grid)
    }

    /// Adds the pieces that come within a box, and perhaps some more, in the order of the site. `false`, and nothing is
    /// added, where the grid does not know.
    pub(super) fn within(&self, low: Point, high: Point, found: &mut Vec<usize>) -> bool {
        let inside =
            low.x >= self.low.x && low.y >= self.low.y && high.x <= self.high.x && high.y <= self.high.y;
        let sound = low.x <= high.x && low.y <= high.y;
        if !sound || !(self.whole || inside) {
            return false;
        }
        found.extend(self.everywhere.iter().map(|i| *i as usize));
        for cell in self.span(low, high).iter().flat_map(|span| span.cells(self.columns)) {
            let (from, to) = (self.starts[cell] as usize, self.starts[cell + 1] as usize);
            found.extend(self.pieces[from..to].iter().map(|i| *i as usize));
        }
        found.sort_unstable();
        found.dedup();
        true
    }

    /// The cells a box lies over; none if it lies beside the grid.
    fn span(&self, low: Point, high: Point) -> Option<Span> {
        let beside = high.x < self.low.x || high.y < self.low.y || low.x > self.high.x || low.y > self.high.y;
        if beside {
            return None;
        }
        let cell = |v: f64, from: f64, count: usize| {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 200")]
            let cell = ((v - from) / CELL_M).clamp(0.0, 2.0 * WINDOW_M / CELL_M) as usize;
            cell.min(count - 1)
        };
        Some(Span {
            columns: (cell(low.x, self.low.x, self.columns), cell(high.x, self.low.x, self.columns)),
            rows: (cell(low.y, self.low.y, self.rows), cell(high.y, self.low.y, self.rows)),
        })
    }
}

/// Cells from one to another, both counted in.
struct Span {
    columns: (usize, usize),
    rows: (usize, usize),
}

impl Span {
    const fn len(&self) -> usize {
        (self.columns.1 - self.columns.0 + 1) * (self.rows.1 - self.rows.0 + 1)
    }
    fn cells(&self, columns: usize) -> impl Iterator<Item = usize> + use<> {
        let (from, to) = self.columns;
        (self.rows.0..=self.rows.1).flat_map(move |row| (from..=to).map(move |c| row * columns + c))
    }
}

fn extent(piece: &Standing) -> (Point, Point) {
    let (low, high) = box_around(&piece.corners);
    let r = Point::new(piece.radius_m, piece.radius_m);
    (low - r, high + r)
}

/// Least and largest x and y of some points; of none, a box that is inside out.
pub(super) fn box_around(points: &[Point]) -> (Point, Point) {
    let mut low = Point::new(f64::INFINITY, f64::INFINITY);
    let mut high = Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY);
    for p in points {
        low = Point::new(low.x.min(p.x), low.y.min(p.y));
        high = Point::new(high.x.max(p.x), high.y.max(p.y));
    }
    (low, high)
}

fn cells(length: f64) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and 200")]
    let cells = (length / CELL_M).ceil().clamp(1.0, 2.0 * WINDOW_M / CELL_M) as usize;
    cells
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clearance::surroundings::Material;

    fn piece(corners: Vec<Point>, radius_m: f64) -> Standing {
        let material = Material { what: "tree".to_owned(), bottom_m: 0.0, top_m: 3.0 };
        let center = corners[0];
        Standing { material, corners, radius_m, center, reach_m: radius_m, faces: Vec::new() }
    }

    /// Numbers that look random and are always the same (an LCG of Knuth's), between -1 and 1.
    fn numbers() -> impl FnMut() -> f64 {
        let mut seed = 1_u64;
        move || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            f64::from(u32::try_from(seed >> 33).unwrap_or(0)) / f64::from(1_u32 << 30) - 1.0
        }
    }

    #[test]
    fn nothing_near_is_left_out() {
        let mut n = numbers();
        for scale in [30.0, 180.0, 400.0] {
            let mut standing: Vec<Standing> = (0..300)
                .map(|_| piece(vec![Point::new(scale * n(), scale * n())], 0.5 + 0.4 * n()))
                .collect();
            // A wall across all of it.
            standing.push(piece(vec![Point::new(-scale, -scale), Point::new(scale, scale)], 0.1));
            let grid = Nearby::new(&standing).expect("many pieces");
            let (mut known, mut left_out) = (0, 0);
            for _ in 0..2000 {
                let low = Point::new(1.2 * scale * n(), 1.2 * scale * n());
                let high = low + Point::new(3.0 * n().abs(), 3.0 * n().abs());
                let mut found = Vec::new();
                if !grid.within(low, high, &mut found) {
                    continue;
                }
                known += 1;
                left_out += standing.len() - found.len();
                assert!(found.windows(2).all(|w| w[0] < w[1]), "in the order of the site, each once");
                for (i, piece) in standing.iter().enumerate() {
                    let (l, h) = extent(piece);
                    let meets = l.x <= high.x && h.x >= low.x && l.y <= high.y && h.y >= low.y;
                    assert!(!meets || found.contains(&i), "{i} at {low:?}");
                }
            }
            assert!(known > 200 && left_out > known * 290, "{scale}: {known} boxes, {left_out} left out");
        }
        assert!(Nearby::new(&[]).is_none());
    }
}
