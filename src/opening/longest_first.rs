//! Things done side by side, the largest first.
use crate::geometry::parallel::*;

/// Runs a task for each of several items in parallel, in their order; what is likely to take longest is begun first,
/// so that nobody waits for it in the end.
pub(super) fn longest_first<T: Sync, K: Ord, R: Send>(
    things: Vec<T>,
    size: impl Fn(&T) -> K,
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let mut order: Vec<usize> = (0..things.len()).collect();
    order.sort_by_key(|at| std::cmp::Reverse(size(&things[*at])));
    let done = order.into_par_iter().with_max_len(1).map(|at| (at, work(&things[at])));
    let mut done: Vec<(usize, R)> = done.collect();
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The results come in the order of the items, whichever is begun first.
    #[test]
    fn answers_come_in_the_order_of_the_things() {
        let done = longest_first(vec![3, 1, 4, 1, 5, 9, 2, 6], |n| *n, |n| n * 10);
        assert_eq!(done, [30, 10, 40, 10, 50, 90, 20, 60]);
        assert!(longest_first(Vec::<u32>::new(), |n| *n, |n| *n).is_empty());
    }
}
