//! Lists of intervals on a line, sorted and disjoint: the sideways positions of a body.

/// An interval (from, to).
pub type Interval = (f64, f64);

/// Sorts a list and merges overlapping intervals.
pub fn join(list: &mut Vec<Interval>) {
    if list.len() < 2 {
        return;
    }
    list.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept = 0;
    for i in 1..list.len() {
        if list[i].0 <= list[kept].1 {
            list[kept].1 = list[kept].1.max(list[i].1);
        } else {
            kept += 1;
            list[kept] = list[i];
        }
    }
    list.truncate(kept + 1);
}

/// Part of `whole` outside the joined list `without`.
#[must_use]
pub fn complement(without: &[Interval], whole: Interval) -> Vec<Interval> {
    let mut rest = Vec::with_capacity(without.len() + 1);
    let mut from = whole.0;
    for &(a, b) in without {
        if a > from {
            rest.push((from, a.min(whole.1)));
        }
        from = from.max(b);
        if from >= whole.1 {
            return rest;
        }
    }
    rest.push((from, whole.1));
    rest
}

/// Intersection of two joined lists, appended to `shared`. Single points count.
pub fn intersect(a: &[Interval], b: &[Interval], shared: &mut Vec<Interval>) {
    let (mut i, mut j) = (0, 0);
    while i < a.len() && j < b.len() {
        let (low, high) = (a[i].0.max(b[j].0), a[i].1.min(b[j].1));
        if low <= high {
            shared.push((low, high));
        }
        if a[i].1 < b[j].1 {
            i += 1;
        } else {
            j += 1;
        }
    }
}

/// Part of the joined list `a` outside the joined list `b`, appended to `rest`.
pub fn subtract(a: &[Interval], b: &[Interval], rest: &mut Vec<Interval>) {
    let mut j = 0;
    for &(low, high) in a {
        while j < b.len() && b[j].1 < low {
            j += 1;
        }
        let mut from = low;
        let mut covered = false;
        let mut i = j;
        while i < b.len() && b[i].0 <= high {
            if b[i].0 > from {
                rest.push((from, b[i].0));
            }
            from = from.max(b[i].1);
            covered = from >= high;
            i += 1;
        }
        if !covered {
            rest.push((from, high));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn list() -> impl Strategy<Value = Vec<Interval>> {
        proptest::collection::vec((-10.0..10.0f64, 0.0..4.0f64), 0..7).prop_map(|pairs| {
            let mut list: Vec<Interval> = pairs.into_iter().map(|(a, l)| (a, a + l)).collect();
            join(&mut list);
            list
        })
    }

    fn holds(list: &[Interval], x: f64) -> bool {
        list.iter().any(|(a, b)| (*a..=*b).contains(&x))
    }

    proptest! {
        /// The results agree with membership, point by point.
        #[test]
        fn lists_agree_with_points(a in list(), b in list(), x in -10.0..14.0f64) {
            let (mut both, mut rest) = (Vec::new(), Vec::new());
            intersect(&a, &b, &mut both);
            subtract(&a, &b, &mut rest);
            prop_assert_eq!(holds(&both, x), holds(&a, x) && holds(&b, x));
            prop_assert_eq!(holds(&rest, x), holds(&a, x) && !holds(&b, x));
            prop_assert_eq!(holds(&complement(&a, (-10.0, 14.0)), x), !holds(&a, x));
            prop_assert!(a.windows(2).all(|w| w[0].1 < w[1].0));
        }
    }
}
