//! A raster of what labels must leave open to view: the ground a vehicle covers and the vehicle itself, and lines.
use super::labels::Rect;
use super::scene::{Geom, Item, Panel, Role};
use crate::geometry::Point;

/// Side of a cell, page units.
const CELL: f64 = 4.0;

/// Cells of a panel, as sums over the rectangle from its upper left corner, so that a box is counted at once.
#[derive(Clone, Debug)]
pub(super) struct Ink {
    columns: usize,
    rows: usize,
    path: Vec<u32>,
    lines: Vec<u32>,
    solid: Vec<u32>,
}

/// Layer of cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Layer {
    /// Ground a vehicle covers.
    Path,
    /// Lines.
    Lines,
    /// Obstacles, on the ground or overhead.
    Solid,
}

/// Ground that a vehicle covers, or the vehicle: no label lies on it.
const fn is_path(role: Role) -> bool {
    matches!(
        role,
        Role::Envelope | Role::Stand | Role::Ghost | Role::Waiting | Role::InRoad | Role::Hit | Role::Leaf
    )
}

/// Things with a name of their own: the name of another would be taken for theirs.
const fn is_solid(role: Role) -> bool {
    matches!(role, Role::Obstacle | Role::Low | Role::Overhead)
}

/// Lines that labels avoid.
const fn is_line(role: Role) -> bool {
    matches!(
        role,
        Role::Fence
            | Role::Path
            | Role::LeadPath
            | Role::WheelPath
            | Role::GateLine
            | Role::PostNeeded
            | Role::Arc
            | Role::Sight
            | Role::CenterLine
            | Role::Road
            | Role::Drive
            | Role::Obstacle
            | Role::Low
            | Role::Overhead
    )
}

/// A count of cells: whole, not negative, and no more than a panel has.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a panel has some hundred cells a side"
)]
const fn index(cells: f64) -> usize {
    cells as usize
}

impl Ink {
    pub(super) fn of(panel: &Panel) -> Self {
        let view = &panel.view;
        let cells = |length: f64| index((length / CELL).ceil().max(1.0));
        let (columns, rows) = (cells(view.width), cells(view.height));
        let empty = vec![0; (columns + 1) * (rows + 1)];
        let mut ink = Self { columns, rows, path: empty.clone(), lines: empty.clone(), solid: empty };
        for item in &panel.items {
            ink.paint(item, &|p| view.page(p));
        }
        for layer in [&mut ink.path, &mut ink.lines, &mut ink.solid] {
            for row in 1..=rows {
                for column in 1..=columns {
                    let at = row * (columns + 1) + column;
                    layer[at] += layer[at - 1] + layer[at - columns - 1] - layer[at - columns - 2];
                }
            }
        }
        ink
    }

    fn paint(&mut self, item: &Item, page: &dyn Fn(Point) -> Point) {
        let on_page = |points: &[Point]| points.iter().map(|p| page(*p)).collect::<Vec<_>>();
        let layer = match item.role {
            role if is_path(role) => Layer::Path,
            role if is_line(role) => Layer::Lines,
            _ => return,
        };
        match &item.geom {
            Geom::Area(rings) | Geom::Smooth(rings) => {
                let rings: Vec<Vec<Point>> = rings.iter().map(|ring| on_page(ring)).collect();
                for ring in &rings {
                    let closed = ring.iter().chain(ring.first()).copied().collect::<Vec<_>>();
                    self.draw(&closed, layer);
                }
                if layer == Layer::Path {
                    self.fill(&rings, layer);
                }
                if is_solid(item.role) {
                    self.fill(&rings, Layer::Solid);
                }
            }
            Geom::Line(points) | Geom::Curve(points) => self.draw(&on_page(points), layer),
            Geom::Disc { center, radius_m } if is_solid(item.role) => {
                let around = |i: u32| {
                    *center + Point::at_angle(f64::from(i) * std::f64::consts::TAU / 24.0) * *radius_m
                };
                self.fill(&[(0..24).map(|i| page(around(i))).collect()], Layer::Solid);
            }
            _ => {}
        }
    }

    fn mark(&mut self, column: f64, row: f64, layer: Layer) {
        let (columns, rows) = (self.columns as f64, self.rows as f64);
        if column >= 0.0 && row >= 0.0 && column < columns && row < rows {
            let at = (index(row) + 1) * (self.columns + 1) + index(column) + 1;
            let cells = match layer {
                Layer::Path => &mut self.path,
                Layer::Lines => &mut self.lines,
                Layer::Solid => &mut self.solid,
            };
            cells[at] = 1;
        }
    }

    fn draw(&mut self, line: &[Point], layer: Layer) {
        for pair in line.windows(2) {
            let length = pair[0].distance(pair[1]);
            // A line that starts far off the panel costs no more than the panel's size.
            let steps = (2.0 * length / CELL).ceil().clamp(1.0, 20_000.0);
            let mut step = 0.0;
            while step <= steps {
                let p = pair[0] + (pair[1] - pair[0]) * (step / steps);
                self.mark((p.x / CELL).floor(), (p.y / CELL).floor(), layer);
                step += 1.0;
            }
        }
    }

    /// Cells whose middle lies in the rings (even-odd).
    fn fill(&mut self, rings: &[Vec<Point>], layer: Layer) {
        for row in 0..self.rows {
            let y = (row as f64 + 0.5) * CELL;
            let mut crossings: Vec<f64> = Vec::new();
            for ring in rings {
                for (i, a) in ring.iter().enumerate() {
                    let b = ring[(i + 1) % ring.len()];
                    if (a.y > y) != (b.y > y) {
                        crossings.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                    }
                }
            }
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                let mut column = (pair[0] / CELL - 0.5).ceil().max(0.0);
                while (column + 0.5) * CELL < pair[1] && column < self.columns as f64 {
                    self.mark(column, row as f64, layer);
                    column += 1.0;
                }
            }
        }
    }

    fn count(&self, layer: &[u32], rect: &Rect) -> u32 {
        let clamp = |v: f64, most: usize| index(v.clamp(0.0, most as f64));
        let (x0, x1) =
            (clamp((rect.x0 / CELL).floor(), self.columns), clamp((rect.x1 / CELL).ceil(), self.columns));
        let (y0, y1) =
            (clamp((rect.y0 / CELL).floor(), self.rows), clamp((rect.y1 / CELL).ceil(), self.rows));
        let at = |x: usize, y: usize| layer[y * (self.columns + 1) + x];
        if x1 <= x0 || y1 <= y0 { 0 } else { at(x1, y1) + at(x0, y0) - at(x0, y1) - at(x1, y0) }
    }

    /// Cells under a box that a vehicle covers.
    pub(super) fn path_in(&self, rect: &Rect) -> u32 {
        self.count(&self.path, rect)
    }

    /// Cells under a box that lines cross.
    pub(super) fn lines_in(&self, rect: &Rect) -> u32 {
        self.count(&self.lines, rect)
    }

    /// Cells under a box of things that have names of their own.
    pub(super) fn solid_in(&self, rect: &Rect) -> u32 {
        self.count(&self.solid, rect)
    }

    /// Cells under a line that a vehicle covers.
    pub(super) fn path_under(&self, from: Point, to: Point) -> u32 {
        self.along(from, to, |cell| self.path_in(cell))
    }

    /// Cells under a line that a vehicle covers or another line crosses.
    pub(super) fn under(&self, from: Point, to: Point) -> u32 {
        self.along(from, to, |cell| self.path_in(cell).max(self.lines_in(cell)))
    }

    fn along(&self, from: Point, to: Point, of: impl Fn(&Rect) -> u32) -> u32 {
        let steps = (from.distance(to) / CELL).ceil().clamp(1.0, 1000.0);
        let (mut step, mut count) = (0.0, 0);
        while step <= steps {
            count += of(&Rect::around(from + (to - from) * (step / steps), 0.1, 0.1));
            step += 1.0;
        }
        count
    }
}
