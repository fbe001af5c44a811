//! Intervals, sensitivity indices and nets against published numbers and closed forms.

use engine::sampling::{Distribution, Draws, Scheme};
use engine::statistics::indices::{Index, Indices, first_and_total};
use engine::statistics::{proportion, quantile, tails};
use std::f64::consts::PI;

#[track_caller]
fn within(found: f64, expected: f64, absolute: f64) {
    assert!((found - expected).abs() <= absolute, "found {found}, expected {expected} within {absolute:e}");
}

/// Responses of `f` to the points of `draws`, set by set.
fn responses(draws: &Draws, f: impl Fn(&[f64]) -> f64) -> Vec<Vec<f64>> {
    let mut u = vec![0.0; draws.dimensions()];
    let mut response = |i| {
        draws.at(i, &mut u);
        f(&u)
    };
    let all: Vec<f64> = (0..draws.len()).map(&mut response).collect();
    all.chunks(draws.per_set() as usize).map(<[f64]>::to_vec).collect()
}

/// R. G. Newcombe, Statistics in Medicine 17 (1998), pp. 857–872, table I, method 5 (Clopper and Pearson's
/// tail areas), 95 %; the limits from memory, to four places.
#[test]
fn val_exact_intervals_of_newcombe() {
    for (successes, n, low, high) in
        [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)]
    {
        let found = proportion::exact(successes, n, 0.95).unwrap();
        // half of the last place
        within(found.low, low, 0.5e-4);
        within(found.high, high, 0.5e-4);
    }
}

/// Clopper and Pearson's limits of nothing in n tries solve (1 − p)ⁿ = α/2; the rule of three (J. A. Hanley and
/// A. Lippman-Hand, Journal of the American Medical Association 249 (1983), pp. 1743–1745) puts the one-sided
/// 95 % limit, α = 10 %, near 3/n.
#[test]
fn val_nothing_in_many_tries() {
    for n in [30, 300, 100_000] {
        let limit = proportion::exact(0, n, 0.9).unwrap().high;
        let closed = 1.0 - 0.05f64.powf(1.0 / n as f64);
        // round-off of 1 − p, and the rounding of log-gammas of 100 000
        within(limit / closed, 1.0, 1e-9);
        // −ln 0.05 is 2.996, and p − p²/2 … of it another 5 % at n = 30
        within(limit * n as f64, 3.0, 0.16);
    }
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, upper critical values of Student's t.
#[test]
fn val_student_t_of_the_handbook() {
    for (freedom, of_90, of_95, of_99) in [
        (1.0, 6.314, 12.706, 63.657),
        (2.0, 2.920, 4.303, 9.925),
        (7.0, 1.895, 2.365, 3.499),
        (15.0, 1.753, 2.131, 2.947),
        (30.0, 1.697, 2.042, 2.750),
        (100.0, 1.660, 1.984, 2.626),
        // the row of the normal distribution
        (1e7, 1.645, 1.960, 2.576),
    ] {
        for (confidence, expected) in [(0.9, of_90), (0.95, of_95), (0.99, of_99)] {
            // half of the last place
            within(tails::student_t(confidence, freedom).unwrap(), expected, 0.5e-3);
        }
    }
}

/// The same table's last row: the normal distribution at 0.90, 0.95, 0.975, 0.99, 0.995 and 0.999.
#[test]
fn val_normal_quantiles_of_the_handbook() {
    let normal = Distribution::Normal { mean: 0.0, deviation: 1.0 };
    for (p, z) in [(0.9, 1.282), (0.95, 1.645), (0.975, 1.960), (0.99, 2.326), (0.995, 2.576), (0.999, 3.090)]
    {
        // half of the last place
        within(normal.quantile(p), z, 0.5e-3);
        within(normal.quantile(1.0 - p), -z, 0.5e-3);
    }
}

/// Ranks that bound a median, with their confidence in per cent: table A.7 of a textbook of statistics
/// (*Confidence intervals for the population median*, p. 656; read from an excerpt that does not name it).
#[test]
fn val_ranks_of_the_median() {
    for (n, low, high, printed) in [
        (6, 1, 6, 96.9),
        (9, 2, 8, 96.1),
        (10, 2, 9, 97.9),
        (12, 3, 10, 96.1),
        (15, 4, 12, 96.5),
        (17, 5, 13, 95.1),
        (18, 5, 14, 96.9),
        (19, 5, 15, 98.1),
        (20, 6, 15, 95.9),
    ] {
        assert_eq!(quantile::ranks(n, 0.5, 0.95).unwrap(), (Some(low), Some(high)), "{n}");
        let (n, low, high) = (n as u64, low as u64, high as u64);
        let confidence =
            100.0 * (tails::binomial_at_least(low, n, 0.5) - tails::binomial_at_least(high, n, 0.5));
        // half of the last place; the table's 98.1 for 19 is 98.08 and its 96.1 are 96.14 and 96.09
        within(confidence, printed, 0.05 + 1e-9);
    }
}

#[track_caller]
fn agrees(index: Index, expected: f64, widest: f64) {
    let interval = index.interval.unwrap();
    let half = 0.5 * (interval.high - interval.low);
    // twice the half-width of 95 % is some four standard errors
    within(index.value, expected, 2.0 * half + 1e-12);
    // and the interval is not so wide that everything agrees
    assert!(half <= widest, "{half}");
}

fn indices(n: u64, sets: u64, dimensions: usize, f: impl Fn(&[f64]) -> f64) -> Indices {
    let draws = Draws::new(Scheme::Indices { n, sets }, dimensions, 3).unwrap();
    let groups: Vec<Vec<Option<f64>>> =
        responses(&draws, f).into_iter().map(|set| set.into_iter().map(Some).collect()).collect();
    first_and_total(&groups, dimensions, 0.95).unwrap().unwrap()
}

/// T. Ishigami and T. Homma, Proceedings of ISUMA '90 (1990), pp. 398–403, with the constants of A. Saltelli et
/// al., *Global Sensitivity Analysis: The Primer* (2008): a = 7, b = 0.1. Closed forms of the variances.
#[test]
fn val_indices_of_ishigami_and_homma() {
    let (a, b) = (7.0, 0.1);
    let angle = Distribution::Uniform { low: -PI, high: PI };
    let found = indices(512, 16, 3, |u| {
        let [x, y, z] = [u[0], u[1], u[2]].map(|u| angle.quantile(u));
        x.sin() + a * y.sin().powi(2) + b * z.powi(4) * x.sin()
    });
    let first = 0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2);
    let second = a * a / 8.0;
    let first_and_third = b * b * PI.powi(8) * 8.0 / 225.0;
    let all = first + second + first_and_third;
    // errors of one set of 512 rows, found from 200 of them: up to 0.04 (first) and 0.06 (total); sixteen sets have a quarter,
    // Student's factor is 2.1
    agrees(found.first[0], first / all, 0.03);
    agrees(found.first[1], second / all, 0.03);
    agrees(found.first[2], 0.0, 0.03);
    agrees(found.total[0], (first + first_and_third) / all, 0.04);
    agrees(found.total[1], second / all, 0.03);
    agrees(found.total[2], first_and_third / all, 0.03);
    within(found.mean, 0.5 * a, 0.02);
    within(found.variance / all, 1.0, 0.02);
}

/// The g-function: I. M. Sobol', Mathematical Modelling and Computational Experiments 1 (1993), pp. 407–414; the
/// eight coefficients are those of A. Saltelli et al., *The Primer* (2008). Closed forms of the variances.
#[test]
fn val_indices_of_the_g_function() {
    let a = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
    let found = indices(512, 16, a.len(), |u| {
        u.iter().zip(a).map(|(u, a)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a)).product()
    });
    let own = a.map(|a| 1.0 / (3.0 * (1.0 + a) * (1.0 + a)));
    let product: f64 = own.iter().map(|v| 1.0 + v).product();
    for (j, v) in own.iter().enumerate() {
        // errors of one set of 512 rows: up to 0.02 with six inputs, 0.0003 for those of 99
        let widest = if a[j] > 50.0 { 0.001 } else { 0.03 };
        agrees(found.first[j], v / (product - 1.0), widest);
        agrees(found.total[j], v * product / (1.0 + v) / (product - 1.0), widest);
    }
}

/// A. B. Owen, *Scrambled net variance for integrals of smooth functions*, Annals of Statistics 25 (1997),
/// pp. 1541–1562: the error of n points falls as n^(−3/2) up to powers of log n, that of independent ones as
/// n^(−1/2).
#[test]
fn val_nets_integrate_smooth_functions_fast() {
    let f = |u: &[f64]| u.iter().map(|u| 1.0 + (u - 0.5) + (u * u - 1.0 / 3.0)).product::<f64>();
    let sets = 64;
    let error = |scheme: Scheme, n: usize| {
        let draws = Draws::new(scheme, 3, 8).unwrap();
        let all = responses(&draws, f).concat();
        let squares = all.chunks(n).map(|set| (set.iter().sum::<f64>() / n as f64 - 1.0).powi(2));
        (squares.sum::<f64>() / sets as f64).sqrt()
    };
    let slope = |scheme: fn(u64) -> Scheme| (error(scheme(4096), 4096) / error(scheme(64), 64)).log2() / 6.0;
    // an error from 64 sets is known to 9 % (1/√128): 0.13 in its binary logarithm, 0.03 in the slope of
    // two of them over six doublings; four of those
    within(slope(|n| Scheme::Random { n: n * 64 }), -0.5, 0.12);
    // log n to the first power, which the theorem allows in three dimensions, takes 0.17 from the slope
    within(slope(|n| Scheme::Sobol { n, sets: 64 }), -1.5, 0.17 + 0.12);
}

/// Clopper and Pearson's intervals hold at least what they promise, for every probability (Biometrika 26
/// (1934), pp. 404–413): summed over all outcomes of 40 tries, without chance.
#[test]
fn val_exact_intervals_hold_their_promise() {
    let n = 40;
    let intervals: Vec<_> = (0..=n).map(|k| proportion::exact(k, n, 0.95).unwrap()).collect();
    for p in (1..400).map(|i| f64::from(i) / 400.0) {
        let just = |k: u64| tails::binomial_at_least(k, n, p) - tails::binomial_at_least(k + 1, n, p);
        let held: f64 =
            (0..=n).zip(&intervals).filter(|(_, i)| i.low <= p && p <= i.high).map(|(k, _)| just(k)).sum();
        // round-off of forty differences
        assert!(held >= 0.95 - 1e-12, "{p}: {held}");
    }
}

/// How often, in `trials` studies, intervals hold the truth about a weighted sum of normal quantities, whose
/// distribution is normal in closed form: of the share below its level `level`, and of that level itself, where
/// the higher half of those above never arrive.
fn held(scheme: Scheme, weights: &[f64], level: f64, trials: u64) -> (f64, f64) {
    let normal = Distribution::Normal { mean: 0.0, deviation: 1.0 };
    let norm = weights.iter().map(|w| w * w).sum::<f64>().sqrt();
    let (truth, never) = (normal.quantile(level), normal.quantile(0.5 + 0.5 * level));
    let (mut shares, mut levels) = (0, 0);
    for seed in 0..trials {
        let draws = Draws::new(scheme, weights.len(), seed).unwrap();
        let sets = responses(&draws, |u| {
            let sum = u.iter().zip(weights).map(|(&u, w)| w * normal.quantile(u)).sum::<f64>() / norm;
            if sum > never { f64::INFINITY } else { sum }
        });
        let below = |set: &Vec<f64>| (set.iter().filter(|&&x| x <= truth).count() as u64, set.len() as u64);
        let share = proportion::replicated(&sets.iter().map(below).collect::<Vec<_>>(), 0.95).unwrap();
        shares += u64::from(share.interval.low <= level && level <= share.interval.high);
        let found = quantile::replicated(&sets, level, 0.95).unwrap();
        levels += u64::from(found.interval.low <= truth && truth <= found.interval.high);
    }
    (shares as f64 / trials as f64, levels as f64 / trials as f64)
}

#[track_caller]
fn promise_is_kept(scheme: Scheme, weights: &[f64], level: f64, trials: u64) {
    let (share, of_level) = held(scheme, weights, level, trials);
    // the method's own 2 %, and three standard deviations of the trials
    let least = 0.95 - 0.02 - 3.0 * (0.95 * 0.05 / trials as f64).sqrt();
    assert!(share >= least && of_level >= least, "{scheme:?} {weights:?} {level}: {share}, {of_level}");
}

/// Truth in closed form; see [`held`].
#[test]
fn val_intervals_from_sets_hold_their_promise() {
    for scheme in [Scheme::Sobol { n: 32, sets: 8 }, Scheme::LatinHypercube { n: 32, sets: 8 }] {
        for level in [0.1, 0.5, 0.9] {
            promise_is_kept(scheme, &[1.0, 0.6, 0.4, 0.2], level, 200);
        }
    }
}

/// The same over more sizes, shapes and levels, with more trials.
#[test]
#[ignore = "takes a minute"]
fn val_intervals_from_sets_hold_their_promise_widely() {
    for (n, sets) in [(16, 8), (16, 32), (32, 16), (128, 8), (128, 32)] {
        for scheme in [Scheme::Sobol { n, sets }, Scheme::LatinHypercube { n, sets }] {
            for weights in [&[1.0; 3][..], &[1.0; 6], &[1.0, 0.3, 0.2, 0.1]] {
                for level in [0.02, 0.1, 0.5, 0.9, 0.98, 0.995] {
                    promise_is_kept(scheme, weights, level, 400);
                }
            }
        }
    }
}
