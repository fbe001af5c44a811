//! What is known, what is not, and what follows from it.

use super::*;

#[test]
fn a_reading_and_a_prior_make_a_weighted_mean() {
    // value 3 ± 1 read, 1 ± 2 before: precision 1 + 1/4, mean (3 + 1/4)/(5/4) = 2.6
    let unknowns = [Unknown::new("a", 5.0).about(1.0, 2.0)];
    let found = fit(&unknowns, &observed(&[3.0], 1.0), &mut |p| Ok(p.to_vec()), &Options::default()).unwrap();
    // slopes by differences of a straight line: round-off over the step, 1e-16/6e-6
    near(found.values[0], 2.6, 1e-9);
    near(found.errors[0], 0.8f64.sqrt(), 1e-9);
    // what is left: 0.4² + 0.8² = 0.8 with one degree of freedom
    near(found.chi2, 0.8, 1e-9);
    assert_eq!((found.dof, found.freedom, found.scatter), (1, f64::INFINITY, 1.0));
    // of a normal number: P(|z| > √0.8) = erfc(√0.4)
    near(found.chance().unwrap(), 0.371_093_369_522_698, 1e-8);
}

#[test]
fn a_log_normal_prior_is_normal_in_the_logarithm() {
    // ln a read as ln 4 ± 0.1, before ln 2 ± 0.1: the mean is halfway, √8, and the error 0.1/√2 of it
    let unknowns = [Unknown::new("a", 1.0).near(2.0, 0.1)];
    let mut predict = |p: &[f64]| Ok(vec![p[0].ln()]);
    let found = fit(&unknowns, &observed(&[4f64.ln()], 0.1), &mut predict, &Options::default()).unwrap();
    near(found.values[0], 8f64.sqrt(), 1e-9);
    near(found.errors[0], 0.005f64.sqrt() * 8f64.sqrt(), 1e-8);
    let limits = found.interval("a", 0.95).unwrap();
    near(limits.low * limits.high, 8.0, 1e-9);
}

#[test]
fn units_and_scales_do_not_matter() {
    let y: Vec<f64> = line(&[1.0, 0.5]).unwrap().iter().zip(noise(10, 1)).map(|(y, e)| y + 0.1 * e).collect();
    let one = fit(
        &[Unknown::new("a", 0.3), Unknown::new("b", 3.0)],
        &observed(&y, 0.1),
        &mut line,
        &Options::default(),
    )
    .unwrap();
    // b in units a million times as large
    let unknowns = [Unknown::new("a", 0.3), Unknown { scale: 1e-6, ..Unknown::new("b", 3e-6) }];
    let mut scaled = |p: &[f64]| line(&[p[0], 1e6 * p[1]]);
    let two = fit(&unknowns, &observed(&y, 0.1), &mut scaled, &Options::default()).unwrap();
    near(1e6 * two.values[1], one.values[1], 1e-8);
    near(1e6 * two.errors[1], one.errors[1], 1e-8);
    near(two.correlations[0][1], one.correlations[0][1], 1e-8);
    assert!(one.unidentified.is_empty() && one.at_bound.is_empty());
}

#[test]
fn what_has_no_effect_is_named() {
    let unknowns = [Unknown::new("a", 1.0), Unknown::new("b", 1.0), Unknown::new("idle", 7.0)];
    let y = line(&[2.0, 0.3]).unwrap();
    let found = fit(&unknowns, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
    assert_eq!(found.unidentified, [Unidentified { name: "idle".into(), why: Why::NoEffect }]);
    assert_eq!((found.values[2], found.errors[2], found.dof), (7.0, f64::INFINITY, 8));
    assert!(found.errors[0].is_finite() && found.correlations.iter().flatten().all(|c| c.is_finite()));
    assert!(matches!(found.samples(3, 1), Err(FitError::Unbounded(name)) if name == "idle"));
    let without = found.predict_with(&mut |p| Ok(p[0] + p[1])).unwrap();
    assert!(without.sd.is_finite() && found.predict_with(&mut |p| Ok(p[2])).unwrap().sd == f64::INFINITY);
}

#[test]
fn a_product_is_told_but_not_its_factors() {
    let unknowns = [Unknown::new("gain", 2.0), Unknown::new("load", 5.0)];
    let mut product = |p: &[f64]| Ok((1..6).map(|i| p[0] * p[1] * f64::from(i)).collect());
    let y: Vec<f64> = (1..6).map(|i| 12.0 * f64::from(i)).collect();
    let found = fit(&unknowns, &observed(&y, 0.1), &mut product, &Options::default()).unwrap();
    near(found.values[0] * found.values[1], 12.0, 1e-9);
    let Why::Together { moves } = &found.unidentified[0].why else {
        panic!("{:?}", found.unidentified);
    };
    // the product stays as it is: d gain/gain = −d load/load
    let relative: Vec<f64> = moves.iter().zip(&found.values).map(|((_, by), v)| by / v).collect();
    near(relative[0], -relative[1], 1e-6);
    assert_eq!(found.errors, [f64::INFINITY; 2]);
    // the product itself is known: Σ i² = 55
    let told = found.predict_with(&mut |p| Ok(p[0] * p[1])).unwrap();
    near(told.sd, 0.1 / 55f64.sqrt(), 1e-6);
    // a prior on one settles both, and the readings still do not tell that one
    let unknowns = [Unknown::new("gain", 2.0).near(2.0, 0.05), Unknown::new("load", 5.0)];
    let found = fit(&unknowns, &observed(&y, 0.1), &mut product, &Options::default()).unwrap();
    near(found.values[0], 2.0, 1e-6);
    let whys: Vec<&str> = found.unidentified.iter().map(|u| u.name.as_str()).collect();
    assert_eq!(whys, ["gain", "gain"], "{:?}", found.unidentified);
    assert!(matches!(found.unidentified[0].why, Why::OnlyPrior { ratio } if ratio > 0.999));
    assert!(matches!(found.unidentified[1].why, Why::Correlated { correlation, .. } if correlation < -0.99));
}

#[test]
fn fewer_readings_than_unknowns_end_with_a_combination() {
    let unknowns = [Unknown::new("a", 0.0), Unknown::new("b", 0.0)];
    let mut sum = |p: &[f64]| Ok(vec![p[0] + p[1]]);
    let found = fit(&unknowns, &observed(&[3.0], 0.1), &mut sum, &Options::default()).unwrap();
    near(found.values[0] + found.values[1], 3.0, 1e-9);
    assert_eq!(found.dof, 0);
    assert!(found.chance().is_none() && matches!(found.unidentified[0].why, Why::Together { .. }));
}

#[test]
fn a_common_scatter_is_found_with_priors_too() {
    // 200 readings of 1, sd 0.5 told as 1; a prior that says 0 ± 0.05
    let y: Vec<f64> = noise(200, 3).iter().map(|e| 1.0 + 0.5 * e).collect();
    let unknowns = [Unknown::new("a", 0.5).about(0.0, 0.05)];
    let options = Options { scatter: Scatter::Estimated, ..Options::default() };
    let mut same = |p: &[f64]| Ok(vec![p[0]; 200]);
    let found = fit(&unknowns, &observed(&y, 1.0), &mut same, &options).unwrap();
    // by hand: s² = Σ (y − a)²/(200 − γ), γ = the readings' share of the precision, a = γ mean
    let mean = y.iter().sum::<f64>() / 200.0;
    let (mut s2, mut gamma) = (1.0, 0.0);
    for _ in 0..500 {
        gamma = (200.0 / s2) / (200.0 / s2 + 400.0);
        s2 = y.iter().map(|y| (y - gamma * mean).powi(2)).sum::<f64>() / (200.0 - gamma);
    }
    // the rounds end at changes below 1e-9
    near(found.scatter, f64::sqrt(s2), 1e-7);
    near(found.values[0], gamma * mean, 1e-7);
    near(found.freedom, 200.0 - gamma, 1e-9);
    assert!(found.chance().is_none());
}

#[test]
fn draws_have_the_moments_of_the_fit_and_repeat() {
    let y: Vec<f64> = line(&[1.0, 0.5]).unwrap().iter().zip(noise(10, 2)).map(|(y, e)| y + 0.1 * e).collect();
    let unknowns = [Unknown::new("a", 0.3), Unknown::new("b", 3.0)];
    let found = fit(&unknowns, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
    let n = 4000;
    let draws = found.samples(n, 5).unwrap();
    assert_eq!(draws, found.samples(n, 5).unwrap());
    assert_ne!(draws, found.samples(n, 6).unwrap());
    let at_7 = |p: &[f64]| p[0] + 7.0 * p[1];
    let values: Vec<f64> = draws.iter().map(|p| at_7(p)).collect();
    let mean = values.iter().sum::<f64>() / n as f64;
    let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
    let outlook = found.predict_with(&mut |p| Ok(at_7(p))).unwrap();
    // four standard errors: of a mean 1/√n, of a standard deviation 1/√(2n)
    assert!((mean - outlook.mean).abs() < 4.0 * outlook.sd / (n as f64).sqrt(), "{mean} {outlook:?}");
    near(sd, outlook.sd, 4.0 / (2.0 * n as f64).sqrt());
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let y: Vec<f64> = line(&[1.0, 0.5]).unwrap().iter().zip(noise(10, 2)).map(|(y, e)| y + 0.1 * e).collect();
    let unknowns = [Unknown::new("a", 0.3).between(0.0, 5.0), Unknown::new("b", 3.0).near(1.0, 1.0)];
    let run = || fit(&unknowns, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
    assert_eq!(run(), run());
}
