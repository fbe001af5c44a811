//! Ratios of times that mean something on a busy machine: all candidates take
//! turns within one process, and medians are compared.

use std::time::Instant;

/// Something to be timed, with its name.
pub type Candidate<'a> = (&'a str, Box<dyn FnMut() + 'a>);

/// Rounds in which every candidate has its turn.
const ROUNDS: usize = 61;

/// Times `repeats` calls of each candidate in turn, prints each median per call
/// and its ratio to that of `reference`, and returns the medians in seconds.
pub fn compare(title: &str, reference: usize, repeats: usize, candidates: Vec<Candidate>) -> Vec<f64> {
    let (names, mut runs): (Vec<&str>, Vec<_>) = candidates.into_iter().unzip();
    let mut times = vec![Vec::with_capacity(ROUNDS); runs.len()];
    for round in 0..=ROUNDS {
        for (run, times) in runs.iter_mut().zip(&mut times) {
            let begin = Instant::now();
            for _ in 0..repeats {
                run();
            }
            // the first round only warms up
            if round > 0 {
                times.push(begin.elapsed().as_secs_f64() / repeats as f64);
            }
        }
    }
    let medians: Vec<f64> = times
        .into_iter()
        .map(|mut times| {
            times.sort_by(f64::total_cmp);
            times[ROUNDS / 2]
        })
        .collect();
    println!("\n{title}: medians of {ROUNDS} rounds in turn");
    for (name, median) in names.iter().zip(&medians) {
        let ratio = median / medians[reference];
        println!("  {name:<44} {:>10.2} µs   ratio {ratio:.3}", 1e6 * median);
    }
    medians
}
