use super::{Draws, SamplingError, Scheme};

fn points(draws: &Draws) -> Vec<Vec<f64>> {
    (0..draws.len())
        .map(|i| {
            let mut u = vec![f64::NAN; draws.dimensions()];
            draws.at(i, &mut u);
            u
        })
        .collect()
}

const SCHEMES: [Scheme; 4] = [
    Scheme::Random { n: 4096 },
    Scheme::LatinHypercube { n: 512, sets: 8 },
    Scheme::Sobol { n: 512, sets: 8 },
    Scheme::Indices { n: 128, sets: 4 },
];

#[test]
fn a_latin_hypercube_visits_each_stratum_once() {
    for n in [1, 2, 97, 512] {
        let draws = Draws::new(Scheme::LatinHypercube { n, sets: 3 }, 5, 11).unwrap();
        for set in points(&draws).chunks(n as usize) {
            for dimension in 0..5 {
                let mut seen: Vec<u64> = set.iter().map(|u| (u[dimension] * n as f64) as u64).collect();
                seen.sort_unstable();
                assert_eq!(seen, (0..n).collect::<Vec<_>>(), "dimension {dimension}");
            }
        }
    }
}

#[test]
fn a_net_fills_every_elementary_interval_of_two_dimensions() {
    // the first two dimensions of Sobol's sequence are a (0, m, 2)-net in base 2: each of the
    // 2^m boxes of any shape 2^-k by 2^-(m-k) holds one point, whatever the scramble
    for m in [4, 8, 12] {
        let n = 1u64 << m;
        let draws = Draws::new(Scheme::Sobol { n, sets: 3 }, 2, 5).unwrap();
        for set in points(&draws).chunks(n as usize) {
            for k in 0..=m {
                let (wide, high) = (1u64 << k, 1u64 << (m - k));
                let mut boxes: Vec<u64> = set
                    .iter()
                    .map(|u| (u[0] * wide as f64) as u64 * high + (u[1] * high as f64) as u64)
                    .collect();
                boxes.sort_unstable();
                assert_eq!(boxes, (0..n).collect::<Vec<_>>(), "m {m}, k {k}");
            }
        }
    }
}

#[test]
fn a_net_is_stratified_in_each_of_many_dimensions() {
    let draws = Draws::new(Scheme::Sobol { n: 65536, sets: 1 }, 9, 5).unwrap();
    let all = points(&draws);
    for dimension in 0..9 {
        let mut seen: Vec<u64> = all.iter().map(|u| (u[dimension] * 65536.0) as u64).collect();
        seen.sort_unstable();
        seen.dedup();
        assert_eq!(seen.len(), 65536, "dimension {dimension}");
    }
}

#[test]
fn marginals_are_uniform_and_strictly_inside() {
    for scheme in SCHEMES {
        let draws = Draws::new(scheme, 3, 2024).unwrap();
        let all = points(&draws);
        for dimension in 0..3 {
            let mut u: Vec<f64> = all.iter().map(|u| u[dimension]).collect();
            assert!(u.iter().all(|&u| u > 0.0 && u < 1.0), "{scheme:?}");
            u.sort_unstable_by(f64::total_cmp);
            let n = u.len() as f64;
            let gap = u.iter().enumerate().map(|(i, u)| (u - (i as f64 + 0.5) / n).abs()).fold(0.0, f64::max);
            // Kolmogorov: 1.95/√n is passed once in 1000; the design for indices repeats its 512 rows
            let independent = if let Scheme::Indices { n, sets } = scheme { (n * sets) as f64 } else { n };
            assert!(gap < 1.95 / independent.sqrt(), "{scheme:?} {dimension}: {gap}");
        }
    }
}

#[test]
fn digits_below_those_of_the_sequence_are_used() {
    let draws = Draws::new(Scheme::Sobol { n: 1024, sets: 1 }, 2, 1).unwrap();
    let below = points(&draws).iter().map(|u| (u[0] * f64::from(1 << 23)).fract()).collect::<Vec<_>>();
    let mean = below.iter().sum::<f64>() / 1024.0;
    // standard deviation 0.29/√1024 = 0.009; four of them
    assert!((mean - 0.5).abs() < 0.036, "{mean}");
}

#[test]
fn points_follow_from_seed_and_number() {
    for scheme in SCHEMES {
        let first = points(&Draws::new(scheme, 3, 7).unwrap());
        let again = Draws::new(scheme, 3, 7).unwrap();
        let shared = again.clone();
        for i in (0..again.len()).rev() {
            let mut u = [0.0; 3];
            shared.at(i, &mut u);
            assert_eq!(u, first[i as usize][..], "{scheme:?} {i}");
        }
        assert_ne!(first, points(&Draws::new(scheme, 3, 8).unwrap()));
    }
}

#[test]
fn sets_are_unrelated() {
    for scheme in [Scheme::LatinHypercube { n: 256, sets: 2 }, Scheme::Sobol { n: 256, sets: 2 }] {
        let all = points(&Draws::new(scheme, 4, 3).unwrap());
        let (one, other) = all.split_at(256);
        for dimension in 0..4 {
            let correlation: f64 =
                one.iter().zip(other).map(|(a, b)| 12.0 * (a[dimension] - 0.5) * (b[dimension] - 0.5)).sum();
            // of unrelated columns: 1/√256 = 0.0625; five of them
            assert!((correlation / 256.0).abs() < 0.31, "{scheme:?} {dimension}: {correlation}");
        }
    }
}

#[test]
fn the_design_for_indices_exchanges_one_coordinate_at_a_time() {
    let d = 3;
    let draws = Draws::new(Scheme::Indices { n: 8, sets: 2 }, d, 1).unwrap();
    assert_eq!((draws.len(), draws.per_set(), draws.sets()), (80, 40, 2));
    let all = points(&draws);
    for row in all.chunks(d + 2) {
        for j in 0..d {
            let mut expected = row[0].clone();
            expected[j] = row[1][j];
            assert_eq!(row[2 + j], expected);
            assert_ne!(row[0][j], row[1][j]);
        }
    }
    // A and B are a net of twice the dimensions
    let net = points(&Draws::new(Scheme::Sobol { n: 8, sets: 2 }, 2 * d, 1).unwrap());
    for (row, point) in all.chunks(d + 2).zip(net) {
        assert_eq!([&row[0][..], &row[1][..]].concat(), point);
    }
}

#[test]
fn sets_follow_each_other_and_the_last_point_is_followed_by_the_first() {
    let draws = Draws::new(Scheme::Sobol { n: 4, sets: 3 }, 2, 1).unwrap();
    let sets: Vec<u64> = (0..13).map(|i| draws.set_of(i)).collect();
    assert_eq!(sets, [0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 0]);
    let (mut first, mut thirteenth) = ([0.0; 2], [0.0; 2]);
    draws.at(0, &mut first);
    draws.at(12, &mut thirteenth);
    assert_eq!(first, thirteenth);
    // too little or too much room is no harm
    let mut long = [9.0; 4];
    draws.at(0, &mut long);
    assert_eq!(long, [first[0], first[1], 9.0, 9.0]);
    draws.at(0, &mut []);
}

#[test]
fn what_cannot_be_drawn_is_refused_with_numbers() {
    let error = |scheme, dimensions| Draws::new(scheme, dimensions, 1).map(|d| d.len()).unwrap_err();
    assert_eq!(error(Scheme::Random { n: 0 }, 1), SamplingError::NoPoints);
    assert_eq!(error(Scheme::Random { n: 1 }, 0), SamplingError::NoDimensions);
    assert_eq!(error(Scheme::Sobol { n: 4, sets: 0 }, 2), SamplingError::NoSets);
    assert_eq!(
        error(Scheme::Sobol { n: 100, sets: 1 }, 2),
        SamplingError::NotPowerOfTwo { n: 100, below: 64, above: 128 }
    );
    assert_eq!(
        error(Scheme::Sobol { n: 1 << 17, sets: 1 }, 2),
        SamplingError::TooManyPoints { n: 1 << 17, limit: 1 << 16 }
    );
    assert_eq!(
        error(Scheme::Indices { n: 4, sets: 1 }, 129),
        SamplingError::TooManyDimensions { dimensions: 129, limit: 128 }
    );
    for scheme in [
        Scheme::LatinHypercube { n: 1 << 40, sets: 1 },
        Scheme::LatinHypercube { n: u64::MAX, sets: 2 },
        Scheme::Sobol { n: 65536, sets: u64::MAX },
        Scheme::Sobol { n: u64::MAX, sets: 2 },
        Scheme::Indices { n: 65536, sets: u64::MAX / 65536 },
    ] {
        error(scheme, 3);
    }
    let indices = Draws::new(Scheme::Indices { n: 4, sets: 1 }, usize::MAX, 1);
    assert!(indices.is_err());
}

#[test]
fn draws_may_be_shared_among_threads() {
    fn shareable<T: Send + Sync + Clone>() {}
    shareable::<Draws>();
}
