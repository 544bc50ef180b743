//! Segmentation of the wheel positions of a path into a few: for each leg the stretches of nearly one position, by
//! dynamic programming over their ends.
use super::{StepsProblem, curvature_at, ramp_m, share_of};
use crate::motion::{Direction, Leg};

/// Spacing of the samples of the wheel along the path, meters.
const LOOK_M: f64 = 0.25;
/// The wheel counts as unchanged since the start while within this share of its travel.
const AS_AT_START: f64 = 0.02;
/// Shortest piece at first, in samples.
const SHORTEST: usize = 3;

/// Initial layout of turns of the wheel, and its variables.
#[derive(Clone, Debug)]
pub(super) struct Begun {
    /// Direction of each leg, and its number of turns.
    pub(super) legs: Vec<(Direction, usize)>,
    /// Variables: offset in the lane, distance rolled before the first turn, then for each turn its share and roll.
    pub(super) x: Vec<f64>,
    /// Station of the start along the lane, and its offset.
    pub(super) station_m: f64,
}

/// Wheel positions of one leg.
struct Profile {
    direction: Direction,
    /// Distance rolled with the wheel as at the start; the first leg alone.
    lead_in_m: f64,
    shares: Vec<f64>,
    look_m: f64,
}

/// Layout of the known path with this many turns of the wheel in all, not yet adjusted. `None` where it has more legs
/// than that.
pub(super) fn begin(asked: &StepsProblem, turns: usize) -> Option<Begun> {
    let steering = &asked.problem.vehicle.steering;
    let lane = asked.problem.lane;
    let (station_m, offset_m) = lane.station_and_offset(&asked.known.start.lead);
    let straight = share_of(steering, asked.known.start.curvature);
    let profiles: Vec<Profile> = asked
        .known
        .legs
        .iter()
        .enumerate()
        .map(|(index, leg)| profile(asked, leg, (index == 0).then_some(straight)))
        .collect();
    let spare = turns.checked_sub(profiles.len())?;
    let tables: Vec<Table> = profiles.iter().map(|p| Table::new(&p.shares, spare + 1)).collect();
    // The remaining turns go where each reduces the squares most.
    let mut counts = vec![1; profiles.len()];
    for _ in 0..spare {
        let gain = |at: usize| tables[at].cost(counts[at]) - tables[at].cost(counts[at] + 1);
        let Some(most) = (0..counts.len()).max_by(|a, b| gain(*a).total_cmp(&gain(*b)).then(b.cmp(a))) else {
            break;
        };
        counts[most] += 1;
    }
    let mut begun = Begun { legs: Vec::new(), x: vec![offset_m, 0.0], station_m };
    for (index, ((profile, table), count)) in profiles.iter().zip(&tables).zip(&counts).enumerate() {
        let pieces = table.pieces(&profile.shares, *count);
        begun.legs.push((profile.direction, pieces.len()));
        // A turn begins half of its ramp before the middle of the change.
        let before =
            if index == 0 { asked.known.start.curvature } else { curvature_at(steering, pieces[0].0) };
        let mut k = before;
        let early: Vec<f64> = pieces
            .iter()
            .map(|(share, _)| {
                let to = curvature_at(steering, *share);
                0.5 * ramp_m(steering, std::mem::replace(&mut k, to), to)
            })
            .collect();
        if index == 0 {
            begun.x[1] = (profile.lead_in_m - early[0]).max(0.0);
        }
        for (at, (share, looks)) in pieces.iter().enumerate() {
            let later = early.get(at + 1).copied().unwrap_or(0.0);
            let rolled = *looks * profile.look_m + early[at] - later;
            begun.x.extend([*share, rolled.max(2.0 * early[at]).max(0.1)]);
        }
    }
    Some(begun)
}

fn profile(asked: &StepsProblem, leg: &Leg, straight: Option<f64>) -> Profile {
    let steering = &asked.problem.vehicle.steering;
    let total: f64 = leg.segments.iter().map(|s| s.length_m).sum();
    let at = |m: f64| share_of(steering, curvature_on(leg, m));
    let looks = (total / LOOK_M).ceil().max(1.0);
    let mut lead_in_m = 0.0;
    if let Some(straight) = straight {
        let mut i = 0.0;
        while i < looks && (at((i + 0.5) / looks * total) - straight).abs() <= AS_AT_START {
            i += 1.0;
            lead_in_m = i / looks * total;
        }
    }
    let rest = (total - lead_in_m).max(LOOK_M);
    let looks = (rest / LOOK_M).ceil().max(1.0);
    let mut shares = Vec::new();
    let mut i = 0.0;
    while i < looks {
        shares.push(at(total - rest + (i + 0.5) / looks * rest));
        i += 1.0;
    }
    Profile { direction: leg.direction, lead_in_m, shares, look_m: rest / looks }
}

/// Curvature at a distance along a leg.
fn curvature_on(leg: &Leg, along_m: f64) -> f64 {
    let mut left = along_m.max(0.0);
    for segment in &leg.segments {
        if left <= segment.length_m {
            let part = if segment.length_m > 0.0 { left / segment.length_m } else { 0.0 };
            return segment.curvature_start + (segment.curvature_end - segment.curvature_start) * part;
        }
        left -= segment.length_m;
    }
    leg.segments.last().map_or(0.0, |s| s.curvature_end)
}

/// Least sums of squares of the first n samples in k pieces, and the begin of the last piece.
struct Table {
    /// Per number of pieces less one, per number of samples: (sum of squares, begin of the last piece).
    best: Vec<Vec<(f64, usize)>>,
}

impl Table {
    fn new(shares: &[f64], most: usize) -> Self {
        let (mut sums, mut squares) = (vec![0.0], vec![0.0]);
        for share in shares {
            sums.push(sums[sums.len() - 1] + share);
            squares.push(squares[squares.len() - 1] + share * share);
        }
        let off = |from: usize, to: usize| {
            let (n, sum) = (to - from, sums[to] - sums[from]);
            let count = f64::from(u32::try_from(n).unwrap_or(u32::MAX)).max(1.0);
            (squares[to] - squares[from] - sum * sum / count).max(0.0)
        };
        let looks = shares.len();
        let mut best: Vec<Vec<(f64, usize)>> = vec![(0..=looks).map(|to| (off(0, to), 0)).collect()];
        while best.len() < most {
            let last = &best[best.len() - 1];
            let next = (0..=looks).map(|to| {
                let begins = SHORTEST..to.saturating_sub(SHORTEST - 1);
                let of = |from: usize| (last[from].0 + off(from, to), from);
                begins.map(of).min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((f64::INFINITY, 0))
            });
            let next = next.collect();
            best.push(next);
        }
        Self { best }
    }

    /// Sum of squares with this many pieces over all samples.
    fn cost(&self, pieces: usize) -> f64 {
        let row = self.best.get(pieces - 1);
        row.and_then(|row| row.last()).map_or(f64::INFINITY, |(cost, _)| *cost)
    }

    /// This many pieces, or fewer where there are not so many: the mean of each and its length in samples.
    fn pieces(&self, shares: &[f64], count: usize) -> Vec<(f64, f64)> {
        let mut count = count.min(self.best.len()).max(1);
        while count > 1 && self.cost(count).is_infinite() {
            count -= 1;
        }
        let (mut pieces, mut to) = (Vec::new(), shares.len());
        for row in self.best[..count].iter().rev() {
            let from = row[to].1;
            let looks = f64::from(u32::try_from(to - from).unwrap_or(u32::MAX)).max(1.0);
            pieces.push((shares[from..to].iter().sum::<f64>() / looks, looks));
            to = from;
        }
        pieces.reverse();
        pieces
    }
}
