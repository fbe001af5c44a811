//! Within what a given share of all attempts stays.
//!
//! A failure never arrives: it counts as +∞, and a result of +∞ reads "not
//! within the time tried".

use super::proportion::Effective;
use super::tails::binomial_at_least;
use super::{Interval, StatisticsError, confident};

/// A level and how sure it is. A limit of −∞ or +∞ says that there are too few
/// outcomes, or too many failures, to bound it on that side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The value that the asked-for share of outcomes does not exceed.
    pub value: f64,
    /// Limits with the confidence asked for.
    pub interval: Interval,
}

/// The smallest outcome that a share `level` of all outcomes does not exceed:
/// number ⌈level · n⌉ in ascending order.
///
/// # Errors
/// Without outcomes, with one that is no number, or a level outside (0, 1).
pub fn value(outcomes: &[f64], level: f64) -> Result<f64, StatisticsError> {
    let sorted = sorted(outcomes)?;
    let rank = rank(sorted.len(), levelled(level)?);
    Ok(at(&sorted, rank).unwrap_or(f64::INFINITY))
}

/// Which of `n` independent outcomes, in ascending order and counted from 1,
/// bound the true value at a level; `None` where none of them does.
///
/// The number of outcomes up to the true value is binomial, so the limits hold
/// whatever the distribution; each misses with half the doubt at most.
///
/// # Errors
/// Without outcomes, or a level or confidence that is none.
///
/// # Source
/// H. A. David and H. N. Nagaraja, *Order Statistics*, 3rd ed. (2003), section 7.1.
pub fn ranks(
    n: usize,
    level: f64,
    confidence: f64,
) -> Result<(Option<usize>, Option<usize>), StatisticsError> {
    let (level, confidence) = (levelled(level)?, confident(confidence)?);
    if n == 0 {
        return Err(StatisticsError::NoOutcomes { set: None });
    }
    let (tail, hits) = (0.5 * (1.0 - confidence), n as u64);
    // smallest number of hits that is too many, and of misses
    let too_many = |p: f64| {
        let (mut low, mut high) = (0, hits + 1);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if binomial_at_least(middle, hits, p) <= tail { high = middle } else { low = middle }
        }
        (high <= hits).then_some(high as usize)
    };
    let low = too_many(1.0 - level).map(|misses| n + 1 - misses);
    Ok((low, too_many(level)))
}

/// Value at a level from independent outcomes.
///
/// # Errors
/// As in [`value`] and [`ranks`].
pub fn independent(outcomes: &[f64], level: f64, confidence: f64) -> Result<Estimate, StatisticsError> {
    let sorted = sorted(outcomes)?;
    let (low, high) = ranks(sorted.len(), level, confidence)?;
    let value = at(&sorted, rank(sorted.len(), level)).unwrap_or(f64::INFINITY);
    let low = low.and_then(|rank| at(&sorted, rank)).unwrap_or(f64::NEG_INFINITY);
    let high = high.and_then(|rank| at(&sorted, rank)).unwrap_or(f64::INFINITY);
    Ok(Estimate { value, interval: Interval { low, high } })
}

/// Value at a level from independent sets, whose own outcomes may lean on each
/// other.
///
/// The value is that of all outcomes together. It is bounded by the outcomes
/// at which the share up to there, with the interval of
/// [`proportion::replicated`](super::proportion::replicated), is surely below
/// the level, and surely above.
///
/// The obvious way, each set's own value as one draw and the limits of their
/// median by rank, is not taken: rank ⌈level · n⌉ of a small set is biased, and
/// the more surely wrong the closer the sets agree. In the trials told of
/// there, the highest 5 % never arriving, it held 49 to 99 % (worst: the
/// median from 32 sets of 16), with finite limits 1.3 to 1.7 times as wide;
/// this one held 94 to 98 %, 92 % at the least in any shape.
///
/// # Errors
/// As in [`value`], and with fewer than two sets or an empty one.
///
/// # Source
/// The duality of tests and intervals for a quantile: R. S. Woodruff, *Confidence intervals for medians and
/// other position measures*, Journal of the American Statistical Association 47 (1952), pp. 635–646.
pub fn replicated<S: AsRef<[f64]>>(
    sets: &[S],
    level: f64,
    confidence: f64,
) -> Result<Estimate, StatisticsError> {
    let (level, confidence) = (levelled(level)?, confident(confidence)?);
    if sets.len() < 2 {
        return Err(StatisticsError::TooFewSets { sets: sets.len() });
    }
    let mut own = Vec::with_capacity(sets.len());
    for (set, outcomes) in sets.iter().enumerate() {
        if outcomes.as_ref().is_empty() {
            return Err(StatisticsError::NoOutcomes { set: Some(set) });
        }
        own.push(sorted(outcomes.as_ref())?);
    }
    let all = sorted(&own.concat())?;
    let value = at(&all, rank(all.len(), level)).unwrap_or(f64::INFINITY);

    // how sure the share of outcomes up to a value is
    let sure = |value: f64| {
        let shares: Vec<f64> = own.iter().map(|o| up_to(o, value) as f64 / o.len() as f64).collect();
        Effective::of(&shares, all.len() as f64, confidence).0
    };
    // outwards from the estimate to the first value whose share is surely below the level, or above
    let mut low = value;
    loop {
        let below = all.partition_point(|&o| o < low);
        let Some(next) = at(&all, below) else {
            // no outcome at all lies below: that much is sure only if so few could not be chance
            let none = vec![0.0; own.len()];
            let surely = Effective::of(&none, all.len() as f64, confidence).0.below(level, confidence);
            low = if surely { low } else { f64::NEG_INFINITY };
            break;
        };
        if sure(next).below(level, confidence) {
            break;
        }
        low = next;
    }
    let mut high = value;
    while high < f64::INFINITY && !sure(high).above(level, confidence) {
        high = at(&all, up_to(&all, high) + 1).unwrap_or(f64::INFINITY);
    }
    Ok(Estimate { value, interval: Interval { low, high } })
}

/// Outcomes of a sorted list that do not exceed a value.
fn up_to(sorted: &[f64], value: f64) -> usize {
    sorted.partition_point(|&o| o <= value)
}

/// Rank of a level among `n`, from 1. Products such as 0.07 · 100 exceed the
/// whole number they stand for by round-off, which must not count as one more.
fn rank(n: usize, level: f64) -> usize {
    ((level * n as f64 * (1.0 - 1e-12)).ceil() as usize).clamp(1, n)
}

/// Outcome of a rank, from 1.
fn at(sorted: &[f64], rank: usize) -> Option<f64> {
    rank.checked_sub(1).and_then(|index| sorted.get(index)).copied()
}

fn sorted(outcomes: &[f64]) -> Result<Vec<f64>, StatisticsError> {
    if outcomes.is_empty() {
        return Err(StatisticsError::NoOutcomes { set: None });
    }
    if outcomes.iter().any(|o| o.is_nan()) {
        return Err(StatisticsError::NotANumber);
    }
    let mut sorted = outcomes.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    Ok(sorted)
}

fn levelled(level: f64) -> Result<f64, StatisticsError> {
    if level > 0.0 && level < 1.0 { Ok(level) } else { Err(StatisticsError::Level { level }) }
}

#[cfg(test)]
mod tests {
    use super::{StatisticsError, independent, ranks, replicated, value};

    const NEVER: f64 = f64::INFINITY;

    #[test]
    fn a_level_is_the_outcome_that_enough_others_do_not_exceed() {
        let ten: Vec<f64> = (1..=10).rev().map(f64::from).collect();
        assert_eq!(value(&ten, 0.9).unwrap(), 9.0);
        assert_eq!(value(&ten, 0.91).unwrap(), 10.0);
        assert_eq!(value(&ten, 0.01).unwrap(), 1.0);
        // 0.07 · 100 is 7.000000000000001 in binary
        let hundred: Vec<f64> = (1..=100).map(f64::from).collect();
        assert_eq!(value(&hundred, 0.07).unwrap(), 7.0);
    }

    #[test]
    fn failures_are_never_within_the_time() {
        let mut outcomes = vec![1.0; 89];
        outcomes.extend([NEVER; 11]);
        assert_eq!(value(&outcomes, 0.89).unwrap(), 1.0);
        assert_eq!(value(&outcomes, 0.9).unwrap(), NEVER);
        let found = independent(&outcomes, 0.89, 0.95).unwrap();
        assert_eq!((found.value, found.interval.low, found.interval.high), (1.0, 1.0, NEVER));
        let never = replicated(&[[NEVER; 16]; 8], 0.9, 0.95).unwrap();
        assert_eq!((never.value, never.interval.low), (NEVER, NEVER));
    }

    #[test]
    fn too_few_outcomes_bound_nothing() {
        // five of five lie on one side of the median with probability 2 · 2⁻⁵ = 6 % > 5 %
        assert_eq!(ranks(5, 0.5, 0.95).unwrap(), (None, None));
        assert_eq!(ranks(6, 0.5, 0.95).unwrap(), (Some(1), Some(6)));
        // 0.9ⁿ < 2.5 % from 36 on
        assert_eq!(ranks(35, 0.9, 0.95).unwrap().1, None);
        assert_eq!(ranks(36, 0.9, 0.95).unwrap().1, Some(36));
        assert_eq!(independent(&[1.0, 2.0], 0.5, 0.95).unwrap().interval.low, f64::NEG_INFINITY);
    }

    #[test]
    fn ranks_mirror_each_other() {
        let (low, high) = ranks(1000, 0.9, 0.95).unwrap();
        let (mirrored_low, mirrored_high) = ranks(1000, 0.1, 0.95).unwrap();
        assert_eq!(low.map(|low| 1001 - low), mirrored_high);
        assert_eq!(high.map(|high| 1001 - high), mirrored_low);
    }

    #[test]
    fn sets_whose_order_is_known_bound_a_level_closely() {
        // stratified sets: the level's place is known to a few points of all 256
        let sets: Vec<Vec<f64>> =
            (0..8).map(|s| (0..32).map(|i| f64::from(i) + f64::from(3 * s % 8) / 8.0).collect()).collect();
        let found = replicated(&sets, 0.5, 0.95).unwrap();
        assert_eq!(found.value, 15.875);
        assert!(found.interval.low >= 14.5 && found.interval.high <= 17.5, "{found:?}");
        assert!(found.interval.low < found.value && found.value < found.interval.high);
        // as independent draws: 2 √256/2 ranks of eight to a step either way, two steps
        let loose = independent(&sets.concat(), 0.5, 0.95).unwrap();
        assert!(loose.interval.high - loose.interval.low > 2.0 * (found.interval.high - found.interval.low));
    }

    #[test]
    fn equal_outcomes_are_their_own_bounds() {
        let found = replicated(&[[3.0; 20]; 4], 0.5, 0.95).unwrap();
        // that a share of 1 exceeds ½ is not sure from four sets, 0.025^(1/4) = 0.40; from six it is
        assert_eq!((found.value, found.interval.low, found.interval.high), (3.0, f64::NEG_INFINITY, NEVER));
        let found = replicated(&[[3.0; 20]; 6], 0.5, 0.95).unwrap();
        assert_eq!((found.value, found.interval.low, found.interval.high), (3.0, 3.0, 3.0));
    }

    #[test]
    fn nonsense_is_refused() {
        assert_eq!(value(&[], 0.5), Err(StatisticsError::NoOutcomes { set: None }));
        assert_eq!(value(&[1.0, f64::NAN], 0.5), Err(StatisticsError::NotANumber));
        assert_eq!(value(&[1.0], 1.0), Err(StatisticsError::Level { level: 1.0 }));
        assert!(matches!(ranks(9, 0.5, 1.0), Err(StatisticsError::Confidence { .. })));
        assert_eq!(replicated(&[[1.0]], 0.5, 0.95), Err(StatisticsError::TooFewSets { sets: 1 }));
        let empty = [vec![1.0], vec![]];
        assert_eq!(replicated(&empty, 0.5, 0.95), Err(StatisticsError::NoOutcomes { set: Some(1) }));
    }
}
