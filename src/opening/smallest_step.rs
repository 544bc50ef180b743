//! Least whole number of steps that is enough, with as few searches as possible.
//!
//! Each evaluation returns how much is still missing, so the next number is guessed from that (the rule of false
//! position), and the bracket is halved where the guess makes no progress. What is missing need not shrink evenly, nor
//! at all.

/// Two searches in a row that gain less than this show that more steps lead nowhere: a centimeter.
const LEADS_NOWHERE_M: f64 = 0.01;

/// Returns the least number of steps found that leaves nothing missing, at most `most`; `None` if none is.
///
/// `missing_m` is what is missing with none; `ask` returns what is missing with a number of steps (not more than 0:
/// enough), or `None` where that many cannot be. The search starts at `first` and doubles until something is enough,
/// then narrows. Where enough is followed by too little again, the result is the least of one stretch that is enough,
/// not of all.
pub(super) fn least(
    most: u32,
    first: u32,
    missing_m: f64,
    ask: &mut dyn FnMut(u32) -> Option<f64>,
) -> Option<u32> {
    // `low` is too little; `limit` is the least number known to be impossible.
    let (mut low, mut low_m, mut limit) = (0_u32, missing_m, most.saturating_add(1));
    let mut idle = 0;
    let (mut high, mut high_m) = loop {
        let wanted = if low == 0 { first.max(1) } else { low.saturating_mul(2) };
        let next = if wanted < limit {
            wanted
        } else if limit > most {
            // The largest number, unless it is known not to do.
            most
        } else {
            low + (limit - low) / 2
        };
        if next <= low {
            return None;
        }
        match ask(next) {
            None => limit = next,
            Some(missing) if missing <= 0.0 => break (next, missing),
            Some(missing) => {
                idle = if low_m - missing < LEADS_NOWHERE_M && low_m.is_finite() { idle + 1 } else { 0 };
                if idle == 2 {
                    return None;
                }
                (low, low_m) = (next, missing);
            }
        }
    };
    let mut halve = false;
    while high - low > 1 {
        let share = low_m / (low_m - high_m);
        let guess = if halve || !share.is_finite() { 0.5 } else { share };
        // A hair less, so that a whole result is not rounded up by one.
        let middle = low + steps(guess * f64::from(high - low) - 1e-6).clamp(1, high - low - 1);
        let width = high - low;
        match ask(middle) {
            Some(missing) if missing <= 0.0 => (high, high_m) = (middle, missing),
            Some(missing) => (low, low_m) = (middle, missing),
            None => (low, low_m) = (middle, f64::INFINITY),
        }
        halve = high - low > width / 2;
    }
    Some(high)
}

/// Smallest whole number not below `x`.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held to what a u32 holds")]
pub(super) fn steps(x: f64) -> u32 {
    x.ceil().clamp(0.0, f64::from(u32::MAX)) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The answer, and the number of evaluations.
    fn asked(
        most: u32,
        first: u32,
        missing: f64,
        tell: impl Fn(u32) -> Option<f64>,
    ) -> (Option<u32>, Vec<u32>) {
        let mut asked = Vec::new();
        let found = least(most, first, missing, &mut |n| {
            asked.push(n);
            tell(n)
        });
        (found, asked)
    }

    #[test]
    fn even_slopes_take_few_questions() {
        for need in 1..=120_u32 {
            let (found, asked) = asked(120, 4, f64::from(need), |n| Some(f64::from(need) - f64::from(n)));
            assert_eq!(found, Some(need));
            assert!(asked.len() <= 9, "{need}: {asked:?}");
        }
    }

    #[test]
    fn a_cliff_is_found_by_halving() {
        for need in 1..=64_u32 {
            let (found, asked) =
                asked(64, 4, f64::INFINITY, |n| Some(if n >= need { -0.1 } else { f64::INFINITY }));
            assert_eq!(found, Some(need));
            assert!(asked.len() <= 11, "{need}: {asked:?}");
        }
    }

    /// Much is missing until suddenly a hair too much is there: the guess always lands next to what is enough, and
    /// without halving it would creep down one by one.
    #[test]
    fn a_lopsided_slope_is_halved() {
        for need in 1..=100_u32 {
            let tell = |n: u32| Some(if n < need { 100.0 - 0.02 * f64::from(n) } else { -1e-3 });
            let (found, asked) = asked(128, 4, 100.0, tell);
            assert_eq!(found, Some(need));
            assert!(asked.len() <= 18, "{need}: {asked:?}");
        }
    }

    #[test]
    fn what_cannot_be_ends_the_range() {
        // From 23 on it cannot be; 21 is enough.
        let tell = |n: u32| (n < 23).then(|| 21.0 - f64::from(n));
        assert_eq!(asked(90, 3, 21.0, tell).0, Some(21));
        // Nothing below 23 is enough.
        let tell = |n: u32| (n < 23).then(|| 30.0 - f64::from(n));
        assert_eq!(asked(90, 3, 30.0, tell).0, None);
        // Not even the first step can be made.
        let (found, asked) = asked(90, 8, 1.0, |_| None);
        assert_eq!((found, asked), (None, vec![8, 4, 2, 1]));
    }

    #[test]
    fn what_leads_nowhere_is_given_up() {
        let (found, asked) = asked(1000, 2, 0.4, |_| Some(0.4));
        assert_eq!((found, asked), (None, vec![2, 4]));
    }

    #[test]
    fn the_range_is_kept() {
        let (found, asked) = asked(10, 4, 20.0, |n| Some(20.0 - f64::from(n)));
        assert_eq!(found, None);
        assert_eq!(asked, [4, 8, 10]);
    }
}
