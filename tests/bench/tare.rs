//! A tare that was not taken: is it found, with its size, and none imagined?
//!
//! The full count takes minutes on two cores; DRAWS=200 before it counts fewer:
//!
//! ```text
//! cargo test --release --test bench -- --ignored --nocapture --test-threads 1 tare
//! ```

use engine::sampling::Distribution;
use foilborne::workbench::mistakes::{Zero, judge, zero};
use rayon::prelude::*;

use crate::bench::{Bench, Known, Line};
use crate::mistakes::found;

/// What is said of the scale's zero where it shows so much too much, kg.
fn of_the_zero(bench: &Bench, seed: u64, shown: f64) -> Option<Zero> {
    let spoil = |lines: &mut [Line]| lines.iter_mut().for_each(|line| line.shown[0] += shown);
    let found = found(bench.draw_with(seed, spoil).problem)?;
    zero(&found, &judge(&found))
}

#[test]
fn a_tare_that_was_not_taken_is_found_and_its_size() {
    let bench = Bench::demo();
    for seed in 1..7 {
        for shown in [1.5, -2.0] {
            let told =
                of_the_zero(&bench, seed, shown).unwrap_or_else(|| panic!("seed {seed}: nothing told"));
            // four standard errors in twelve trials: one in a thousand
            assert!((told.shown - shown).abs() < 4.0 * told.error, "seed {seed}: {told:?}, truth {shown}");
            assert!(told.likeliest, "seed {seed}: {told:?}");
        }
        assert_eq!(of_the_zero(&bench, seed, 0.0), None, "seed {seed}");
    }
    // whose zero is known or sought needs no such question
    let mut sought = Bench::demo();
    let known = |before| Known { parameter: "lever.tare", set: None, before, unit: "kg" };
    sought.unknowns.push(known(Distribution::Normal { mean: 0.0, deviation: 3.0 }));
    assert_eq!(of_the_zero(&sought, 2, 1.5), None);
}

/// Seeds fixed beforehand: 1 to 1000. A shift of three standard uncertainties of the zero that such readings leave is told for
/// sure at about the price of looking for it; 1.5 kg are far more.
#[test]
#[ignore = "takes minutes; see the head of this file"]
fn a_forgotten_tare_is_found_and_none_imagined_in_a_thousand_draws() {
    let last = std::env::var("DRAWS").ok().and_then(|n| n.parse().ok()).unwrap_or(1000);
    let count = |shown: f64| -> (u64, u64) {
        let told = |seed: &u64| of_the_zero(&Bench::demo(), *seed, shown).is_some();
        ((1..=last).into_par_iter().filter(told).count() as u64, last)
    };
    let ((found, of), (imagined, clean)) = (count(1.5), count(0.0));
    println!(
        "a tare of 1.5 kg forgotten: told in {found} of {of}; in clean readings told in {imagined} of {clean}"
    );
    assert!(found * 100 >= 95 * of && imagined * 100 <= 2 * clean);
}
