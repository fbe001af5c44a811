//! Readings made up from truths that are drawn from what is known beforehand: do the intervals of a fit hold these truths
//! as often as they say? Seeds are 1, 2, 3 and so on, fixed beforehand; a fit that fails counts as one that holds nothing.
//!
//! The full count takes minutes on two cores:
//!
//! ```text
//! cargo test --release --test bench -- --ignored --nocapture --test-threads 1 coverage
//! ```

use std::rc::Rc;

use engine::sampling::Distribution;
use engine::statistics::proportion;
use rayon::prelude::*;

use crate::bench::{Bench, Known};

/// Confidence of the intervals.
const CONFIDENCE: f64 = 0.95;
/// What they shall hold at least and at most.
const HELD: (f64, f64) = (0.93, 0.97);
/// Trials of the full count: coverage scatters by 0.49 %, so an interval that is right misses 93 to 97 % by chance once in
/// 25 000 times.
const TRIALS: u64 = 2000;

/// The demo drive with what two propellers are off their series by: nine unknowns.
fn whole() -> Bench {
    let mut bench = Bench::demo();
    for (set, _) in bench.sets.clone() {
        for (parameter, factor) in [("propeller.thrust_factor", 1.06), ("propeller.torque_factor", 1.08)] {
            let before = Distribution::LogNormal { median: 1.0, factor };
            bench.unknowns.push(Known { parameter, set: Some(set), before, unit: "" });
        }
    }
    bench
}

/// The same without some of its instruments.
fn without(headings: &[&str]) -> Bench {
    let mut bench = whole();
    bench.instruments.retain(|i| !headings.contains(&i.heading));
    bench
}

/// Benches as makers have them.
fn benches() -> Vec<(&'static str, Bench)> {
    let one_propeller = {
        let mut bench = without(&["motor amps"]);
        bench.sets.truncate(1);
        bench.unknowns.retain(|known| known.set.is_none_or(|set| set == bench.sets[0].0));
        bench.repeats = 1;
        bench
    };
    vec![
        ("all channels", whole()),
        ("no rpm", without(&["rpm"])),
        ("no motor amps", without(&["motor amps"])),
        ("neither rpm nor motor amps", without(&["rpm", "motor amps"])),
        ("scale and pack amps alone", without(&["rpm", "motor amps", "volts"])),
        ("one propeller, three readings, no motor amps", one_propeller),
        ("all channels, five times the scatter", Bench { noise: 5.0, ..whole() }),
    ]
}

/// What one fit said of one parameter.
#[derive(Debug, Clone, Copy)]
struct Said {
    held: bool,
    /// Of the interval, over that of what was known beforehand.
    width: f64,
    /// Found less true, in standard errors, in the logarithm where that is what is normal.
    error: f64,
}

/// What one fit said.
struct Trial {
    of: Vec<Said>,
    /// Of what is left over.
    chance: f64,
}

fn trial(bench: &Bench, seed: u64) -> Result<Trial, String> {
    let drawn = bench.draw(seed);
    let found = Rc::new(drawn.problem).fit().map_err(|told| format!("seed {seed}: {told}"))?;
    let (unknowns, fitted) = (found.problem.unknowns(), &found.fitted);
    let of = unknowns.iter().zip(&drawn.truth).enumerate().map(|(j, (unknown, &truth))| {
        let limits = fitted.interval(&unknown.name, CONFIDENCE).map_err(|e| format!("seed {seed}: {e}"))?;
        let prior = unknown.prior.ok_or("nothing known beforehand")?;
        let (value, error) = (fitted.values[j], fitted.errors[j]);
        let normal = |x: f64| if prior.log { x.ln() } else { x };
        let sd = if prior.log { error / value } else { error };
        // 2 × 1.96
        let before = 3.919_928 * prior.sd;
        Ok(Said {
            held: (limits.low..=limits.high).contains(&truth),
            width: (normal(limits.high) - normal(limits.low)) / before,
            error: (normal(value) - normal(truth)) / sd,
        })
    });
    let of = of.collect::<Result<Vec<Said>, String>>()?;
    Ok(Trial { of, chance: fitted.chance().ok_or(format!("seed {seed}: no chance"))? })
}

/// What many fits said.
struct Count {
    names: Vec<String>,
    trials: u64,
    done: Vec<Trial>,
    failed: Vec<String>,
}

impl Count {
    fn of(bench: &Bench, trials: u64) -> Count {
        let all: Vec<Result<Trial, String>> =
            (1..=trials).into_par_iter().map(|seed| trial(bench, seed)).collect();
        let (done, failed): (Vec<_>, Vec<_>) = all.into_iter().partition(Result::is_ok);
        let name = |known: &Known| match known.set {
            Some(set) => format!("{} ({set})", known.parameter),
            None => known.parameter.into(),
        };
        Count {
            names: bench.unknowns.iter().map(name).collect(),
            trials,
            done: done.into_iter().flatten().collect(),
            failed: failed.into_iter().filter_map(Result::err).collect(),
        }
    }

    /// Trials in which the interval held the truth.
    fn held(&self, j: usize) -> u64 {
        self.done.iter().filter(|trial| trial.of[j].held).count() as u64
    }

    fn share(&self, j: usize) -> f64 {
        self.held(j) as f64 / self.trials as f64
    }

    fn mean(&self, of: impl Fn(&Trial) -> f64) -> f64 {
        self.done.iter().map(of).sum::<f64>() / self.done.len().max(1) as f64
    }

    /// Mean and standard deviation of the normalised error.
    fn error(&self, j: usize) -> (f64, f64) {
        let mean = self.mean(|trial| trial.of[j].error);
        (mean, self.mean(|trial| (trial.of[j].error - mean).powi(2)).sqrt())
    }

    /// Greatest distance between the distribution of the chances and the uniform one.
    fn kolmogorov(&self) -> f64 {
        let mut chances: Vec<f64> = self.done.iter().map(|trial| trial.chance).collect();
        chances.sort_by(f64::total_cmp);
        let n = chances.len().max(1) as f64;
        let apart = |(i, p): (usize, &f64)| ((i + 1) as f64 / n - p).max(p - i as f64 / n);
        chances.iter().enumerate().map(apart).fold(0.0, f64::max)
    }

    fn tell(&self, title: &str) {
        println!("\n{title}: {} trials, {} fits failed", self.trials, self.failed.len());
        println!(
            "parameter                          held        (95 % of it)   width/prior    error: mean    sd"
        );
        for (j, name) in self.names.iter().enumerate() {
            let held = self.held(j);
            let of = proportion::exact(held, self.trials, 0.95).expect("a share");
            let (mean, sd) = self.error(j);
            println!(
                "{name:<34} {:.4}   {:.4} to {:.4}   {:>8.3}   {mean:>12.3}   {sd:.3}",
                self.share(j),
                of.low,
                of.high,
                self.mean(|trial| trial.of[j].width),
            );
        }
        let below = |p: f64| self.mean(|trial| f64::from(trial.chance < p));
        println!(
            "chance of what is left over: below 1 % {:.4}, 5 % {:.4}, 50 % {:.4}; farthest from uniform {:.4}",
            below(0.01),
            below(0.05),
            below(0.5),
            self.kolmogorov()
        );
        self.failed.iter().take(5).for_each(|told| println!("  {told}"));
    }
}

/// Sixty trials. An interval of 95 % holds the truth in fewer than 45 of them once in ten million times, so nine
/// of them fail by chance less often than once in a million; one that held 60 % would nearly always fail.
#[test]
fn intervals_hold_the_truth_as_often_as_sixty_trials_can_tell() {
    let count = Count::of(&without(&["motor amps"]), 60);
    assert!(count.failed.is_empty(), "{:?}", count.failed);
    for (j, name) in count.names.iter().enumerate() {
        assert!(count.held(j) >= 45, "{name}: {}", count.held(j));
    }
    // Dvoretzky, Kiefer and Wolfowitz: √(ln(2/10⁻⁶)/(2 · 60))
    assert!(count.kolmogorov() < 0.348, "{}", count.kolmogorov());
}

/// The motor's current limit just binds at the best fit: predictions have a kink there, along which the search once crept
/// until it had made all the predictions it may.
#[test]
fn regress_a_best_fit_on_a_kink_is_found() {
    trial(&whole(), 1751).map(drop).expect("a fit");
}

#[test]
#[ignore = "takes minutes; see the head of this file"]
fn intervals_hold_the_truth_in_95_of_100_trials() {
    let mut wrong = Vec::new();
    for (title, bench) in benches() {
        let count = Count::of(&bench, TRIALS);
        count.tell(title);
        let n = TRIALS as f64;
        // 1 in 10 000 by Dvoretzky, Kiefer and Wolfowitz
        let apart = (2e4f64.ln() / (2.0 * n)).sqrt();
        if count.kolmogorov() > apart {
            wrong.push(format!("{title}: chances {} from uniform", count.kolmogorov()));
        }
        for (j, name) in count.names.iter().enumerate() {
            if !(HELD.0..=HELD.1).contains(&count.share(j)) {
                wrong.push(format!("{title}: {name} held in {}", count.share(j)));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
