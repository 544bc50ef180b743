//! Grid of the proof: the lines on which a vehicle is followed, and bounds on its motion from one to the next.
//!
//! Eight frames, an eighth of a turn apart, share all directions of travel among them. In a frame with axes e (ahead)
//! and n (to the left) a rear axle that travels within [`EXIT_RAD`] of e crosses the parallel lines p = j·step one
//! after the other; on each of them its state is where it crosses, q, and u = sin(θ - θ of e). Along the path
//!
//! du/dp = k and dq/dp = tan θ = u/√(1 - u²),
//!
//! both exact, so that with bins of u whose width divides k_max·step evenly a vehicle changes by at most a whole number
//! of bins from one line to the next, and nothing is lost by rounding however many lines it crosses. It moves farthest
//! sideways between two bins at full lock one way and then the other.
use crate::geometry::trig;

/// Number of frames that share the directions of travel.
pub const FRAMES: usize = 8;
/// Angle between neighboring frames.
pub const TURN_RAD: f64 = std::f64::consts::FRAC_PI_4;
/// Largest angle off a frame's axis; beyond it a vehicle is handed to the next frame: 2.5 degrees beyond the middle
/// between the two, so that it does not come straight back.
pub const EXIT_RAD: f64 = 25.0 * std::f64::consts::PI / 180.0;

/// Grid of one resolution.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Distance between neighboring lines, meters.
    pub step_m: f64,
    /// Number of bins by which the heading can change from one line to the next, either way.
    pub reach: usize,
    /// Width of a bin of u.
    pub bin: f64,
    /// Number of bins; the middle of them is the frame's axis.
    pub bins: usize,
    /// Largest curvature.
    pub curvature: f64,
    /// Number of lines on either side of the gate's middle.
    pub lines: usize,
    /// Number of legs of the maneuver.
    pub legs: usize,
    /// Sideways shifts from bin i to bin i + r - reach, at i·(2·reach + 1) + r: (least, most).
    shifts: Vec<(f64, f64)>,
}

impl Grid {
    /// Creates lines `step_m` apart out to `window_m` from the gate's middle, for a maneuver with this many legs: a
    /// path that stops between lines may turn by a step's worth more for each.
    #[must_use]
    pub fn new(step_m: f64, reach: usize, curvature: f64, window_m: f64, legs: usize) -> Self {
        let bin = curvature * step_m / to_f64(reach);
        let half = count(trig::sin(EXIT_RAD) / bin) + (legs + 1) * reach + 4;
        let lines = count(window_m / step_m);
        let bins = 2 * half;
        let mut grid = Self { step_m, reach, bin, bins, curvature, lines, legs, shifts: Vec::new() };
        for i in 0..bins {
            for r in 0..=2 * reach {
                let turned = to_f64(r) - to_f64(reach);
                let away = grid.sideways(grid.edge(i + 1), turned);
                let back = -grid.sideways(-grid.edge(i), -turned);
                grid.shifts.push((back, away));
            }
        }
        grid
    }

    /// Largest increase of q on one step from u while u changes by `turned` bins: up at full lock, then down.
    fn sideways(&self, from: f64, turned: f64) -> f64 {
        let up_m = 0.5 * self.step_m * (1.0 + turned / to_f64(self.reach));
        let peak = from + self.curvature * up_m;
        let root = |u: f64| (1.0 - (u * u).min(1.0)).sqrt();
        (root(from) + root(from + turned * self.bin) - 2.0 * root(peak)) / self.curvature
    }

    /// Lower edge of a bin (or upper edge of the one before).
    #[must_use]
    pub fn edge(&self, bin: usize) -> f64 {
        (to_f64(bin) - 0.5 * to_f64(self.bins)) * self.bin
    }

    /// Angles off the frame's axis between which a bin lies.
    #[must_use]
    pub fn angles(&self, bin: usize) -> (f64, f64) {
        let angle = |u: f64| trig::asin(u.clamp(-1.0, 1.0));
        (angle(self.edge(bin)), angle(self.edge(bin + 1)))
    }

    /// Bins that u between `low` and `high` can lie in, within the frame's.
    #[must_use]
    pub fn bins_of(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let place = |u: f64| u / self.bin + 0.5 * to_f64(self.bins);
        let from = count_down(place(low - 1e-9)).min(self.bins);
        let to = count_down(place(high + 1e-9)).saturating_add(1).min(self.bins);
        if place(high) < 0.0 { 0..0 } else { from..to }
    }

    /// Neighboring frame that a bin is handed to: 1 to the left, -1 to the right, 0 for none.
    #[must_use]
    pub fn exit(&self, bin: usize) -> i8 {
        let most = trig::sin(EXIT_RAD);
        if self.edge(bin + 1) > most {
            1
        } else if self.edge(bin) < -most {
            -1
        } else {
            0
        }
    }

    /// Least and most sideways shift on one step from `bin` to `bin + r - reach`.
    #[must_use]
    pub fn shift(&self, bin: usize, r: usize) -> (f64, f64) {
        self.shifts[bin * (2 * self.reach + 1) + r]
    }

    /// Number of all lines.
    #[must_use]
    pub fn all_lines(&self) -> usize {
        2 * self.lines + 1
    }

    /// Position p of a line.
    #[must_use]
    pub fn line_p(&self, line: usize) -> f64 {
        (to_f64(line) - to_f64(self.lines)) * self.step_m
    }
}

/// Converts a small count to a floating-point number.
#[must_use]
pub fn to_f64(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// Rounds a number up to a count; nothing below 0.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a million")]
pub fn count(x: f64) -> usize {
    x.ceil().clamp(0.0, 1e6) as usize
}

/// Rounds a number down to a count; nothing below 0.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a million")]
pub fn count_down(x: f64) -> usize {
    x.floor().clamp(0.0, 1e6) as usize
}
