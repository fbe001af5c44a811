//! Mistakes made on purpose: are they found, and are none found where none was made?
//!
//! The full count takes about a quarter of an hour on two cores with nothing else to do; DRAWS=200 before it counts fewer:
//!
//! ```text
//! cargo test --release --test bench -- --ignored --nocapture --test-threads 1 mistakes
//! ```

use std::rc::Rc;

use engine::calibration::{Calibrated, Problem};
use engine::fit::{Options, fit};
use foilborne::workbench::mistakes::{Verdict, judge};
use rayon::prelude::*;

use crate::bench::{Bench, Chance, Line};

/// Columns of [`Bench::demo`].
const SCALE: &str = "scale";
const VOLTS: &str = "volts";
const PACK: &str = "pack amps";
const MOTOR: &str = "motor amps";
const RPM: &str = "rpm";

/// A mistake, by what is done to the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mistake {
    None,
    AmpsExchanged,
    /// Counted as this, stated as phase rms; what is shown over what would be.
    Counted(&'static str, f64),
    /// True speed i/j of what is written.
    PolePairs(u32, u32),
    LeverTurned,
    Newtons,
    Pounds,
    AtThePack,
    SetsExchanged,
}

/// Over the rms of a sine: DC-equivalent amperes √3/√2, peak √2, power-invariant √3.
const MISTAKES: [Mistake; 11] = [
    Mistake::AmpsExchanged,
    Mistake::Counted("dc-equivalent", 1.224_744_871),
    Mistake::Counted("phase peak", std::f64::consts::SQRT_2),
    Mistake::Counted("power-invariant", 1.732_050_808),
    Mistake::PolePairs(1, 7),
    Mistake::PolePairs(6, 7),
    Mistake::LeverTurned,
    Mistake::Newtons,
    Mistake::Pounds,
    Mistake::AtThePack,
    Mistake::SetsExchanged,
];

/// Arms of the demo lever, m.
const ARMS: (f64, f64) = (0.64, 0.8);

impl Mistake {
    /// Factor on what a column shows.
    fn factor(self) -> Option<(&'static str, f64)> {
        match self {
            Mistake::Counted(_, factor) => Some((MOTOR, factor)),
            Mistake::PolePairs(i, j) => Some((RPM, f64::from(j) / f64::from(i))),
            // it should have shown T a_p/a_s and shows T a_s/a_p
            Mistake::LeverTurned => Some((SCALE, (ARMS.1 / ARMS.0).powi(2))),
            Mistake::Newtons => Some((SCALE, 9.80665)),
            Mistake::Pounds => Some((SCALE, 1.0 / 0.453_592_37)),
            _ => None,
        }
    }

    fn columns(self) -> &'static [&'static str] {
        match self {
            Mistake::None => &[],
            Mistake::AmpsExchanged => &[PACK, MOTOR],
            Mistake::AtThePack => &[VOLTS],
            Mistake::SetsExchanged => &[RPM],
            _ => match self.factor() {
                Some((MOTOR, _)) => &[MOTOR],
                Some((RPM, _)) => &[RPM],
                _ => &[SCALE],
            },
        }
    }

    fn is(self, name: &str) -> bool {
        match self {
            Mistake::None => false,
            Mistake::AmpsExchanged => name.starts_with("battery amps and motor amps"),
            Mistake::Counted(word, _) => name.contains(&format!("counted as {word},")),
            Mistake::PolePairs(i, j) => name.contains(&format!("true speed {i}/{j} ")),
            Mistake::LeverTurned => name.starts_with("lever"),
            Mistake::Newtons => name.contains("newtons"),
            Mistake::Pounds => name.contains("pounds"),
            Mistake::AtThePack => name.starts_with("volts"),
            Mistake::SetsExchanged => name.starts_with("readings of"),
        }
    }

    /// The readings with the mistake in them.
    fn made(self, bench: &Bench, seed: u64) -> Problem {
        let place = |heading: &str| bench.instruments.iter().position(|i| i.heading == heading);
        let spoil = |lines: &mut [Line]| match self {
            Mistake::AmpsExchanged => {
                let (Some(a), Some(b)) = (place(PACK), place(MOTOR)) else { return };
                lines.iter_mut().for_each(|line| line.shown.swap(a, b));
            }
            Mistake::SetsExchanged => {
                let (one, other) = lines.split_at_mut(bench.throttles.len() * bench.repeats);
                one.iter_mut().zip(other).for_each(|(a, b)| std::mem::swap(&mut a.shown, &mut b.shown));
            }
            _ => {
                let Some((heading, factor)) = self.factor() else { return };
                let Some(column) = place(heading) else { return };
                lines.iter_mut().for_each(|line| line.shown[column] *= factor);
            }
        };
        if self != Mistake::AtThePack {
            return bench.draw_with(seed, spoil).problem;
        }
        let mut at_the_pack = bench.clone();
        for instrument in at_the_pack.instruments.iter_mut().filter(|i| i.heading == VOLTS) {
            instrument.quantity = "terminal_voltage";
        }
        bench.problem(&at_the_pack.draw(seed).text)
    }
}

/// Benches differ: some instruments are up to twenty times worse than the demo's, and one may be missing.
fn bench(seed: u64, mistake: Mistake) -> Bench {
    let mut bench = Bench::demo();
    // away from the seeds of the readings themselves
    let chance = Chance::new(seed + 1_000_000, 2);
    // what is told of the instruments stays with what they would have shown: newtons read as kilograms scatter more than is told
    bench.noise = 20f64.powf(chance.unit(0));
    let spare: Vec<usize> = (0..bench.instruments.len())
        .filter(|&i| !mistake.columns().contains(&bench.instruments[i].heading))
        .collect();
    let place = (chance.unit(1) * 2.0 * spare.len() as f64) as usize;
    if let Some(&out) = spare.get(place) {
        bench.instruments.remove(out);
    }
    bench
}

/// What a mistake shifts a derived quantity by, in its combined standard uncertainty: at the row where that is most, from
/// single readings and what is known beforehand, without a fit. `None` where a reading for it is missing.
///
/// Motor amps, amps exchanged, pole pairs: the duty from amps, I_b/I_m, beside that from speed and volts, (K ω + R I_m)/V.
/// Scale and lever: the thrust coefficient, T/n², beside that of the propeller as it is known. Sets: the
/// speeds of both at one throttle. Volts: the drop over the cables.
fn shift(mistake: Mistake, bench: &Bench) -> Option<f64> {
    let all = Bench { instruments: Bench::demo().instruments, ..bench.clone() };
    let problem = all.problem(&all.draw(1).text);
    let x: Vec<f64> = problem.unknowns().iter().map(|u| u.start).collect();
    let at = |x: &[f64]| problem.predict(x).expect("the demo drive turns");
    let (now, mut pitched) = (at(&x), x.clone());
    let pitch = problem.unknowns().iter().position(|u| u.name == "propeller.pitch_ratio")?;
    pitched[pitch] += problem.unknowns()[pitch].prior?.sd;
    let (moved, observations) = (at(&pitched), problem.observations());
    let n = all.instruments.len();
    let has = |heading: &str| bench.instruments.iter().any(|i| i.heading == heading);
    let needed: &[&str] = match mistake {
        Mistake::None => return None,
        Mistake::LeverTurned | Mistake::Newtons | Mistake::Pounds => &[SCALE, RPM],
        Mistake::SetsExchanged => &[RPM],
        Mistake::AtThePack => &[VOLTS, PACK],
        _ => &[PACK, MOTOR, RPM, VOLTS],
    };
    if !needed.iter().all(|heading| has(heading)) {
        return None;
    }
    let column = |heading: &str| all.instruments.iter().position(|i| i.heading == heading);
    let (scale, volts, pack, motor, rpm) =
        (column(SCALE)?, column(VOLTS)?, column(PACK)?, column(MOTOR)?, column(RPM)?);
    let [r, k_v] = [x[0], x[1]];
    // the uncertainties as they are told, relative to what is predicted
    let u = |row: usize, i: usize| observations[row * n + i].sd / now[row * n + i];
    let rows = now.len() / n;
    let z = |row: usize| -> f64 {
        let v = |i: usize| now[row * n + i];
        // setups take it in rad/s per volt
        let (emf, drop) = (v(rpm) / k_v, r * v(motor));
        let share = emf / (emf + drop);
        let duty = (emf + drop).ln();
        let factor = mistake.factor().map_or(1.0, |(_, factor)| factor);
        let known = [
            u(row, pack),
            u(row, motor),
            u(row, volts),
            share * u(row, rpm),
            share * 1.03f64.ln(),
            (1.0 - share) * 1.2f64.ln(),
        ];
        let duty_u = known.iter().fold(0.0f64, |sum, u| sum.hypot(*u));
        match mistake {
            Mistake::AmpsExchanged => {
                // each under the other's heading: what was read as motor amps is battery amps, counted as rms
                let (rms, dc) = (1.224_744_871, v(motor));
                let (wrong_pack, wrong_motor) = (dc / rms, v(pack) * rms);
                let amps = (wrong_pack / wrong_motor / (v(pack) / dc)).ln();
                let volts = (emf + r * wrong_motor).ln() - duty;
                (amps - volts).abs() / duty_u
            }
            Mistake::Counted(..) => {
                let volts = (emf + factor * drop).ln() - duty;
                (-factor.ln() - volts).abs() / duty_u
            }
            Mistake::PolePairs(..) => ((factor * emf + drop).ln() - duty).abs() / duty_u,
            Mistake::SetsExchanged => {
                let other = (row + rows / 2) % rows;
                (v(rpm) / now[other * n + rpm]).ln().abs() / u(row, rpm).hypot(u(other, rpm))
            }
            Mistake::AtThePack => {
                let (cables, unknown) = (CABLES * v(pack), 0.005 * 1.8f64.ln() * v(pack));
                cables / (observations[row * n + volts].sd).hypot(unknown)
            }
            _ => {
                let coefficient = |p: &[f64]| p[row * n + scale] / p[row * n + rpm].powi(2);
                let before = (coefficient(&moved) / coefficient(&now)).ln();
                factor.ln().abs() / u(row, scale).hypot(2.0 * u(row, rpm)).hypot(before)
            }
        }
    };
    Some((0..rows).map(z).fold(0.0, f64::max))
}

/// Resistance of the demo drive's cables, Ω: 0.6 m of 16 mm² copper and contacts, roughly.
const CABLES: f64 = 1.2e-3;

/// What came of one draw.
struct Outcome {
    seed: u64,
    mistake: Mistake,
    shift: Option<f64>,
    /// What is said of the mistake that was made.
    said: Option<Verdict>,
    /// Mistakes diagnosed.
    diagnosed: usize,
    /// Of those, whether only others than the one that was made.
    wrong: bool,
    /// Whether there was a fit to ask.
    fitted: bool,
}

fn outcome(seed: u64, mistake: Mistake) -> Outcome {
    let bench = bench(seed, mistake);
    let shift = shift(mistake, &bench);
    let Some(found) = found(mistake.made(&bench, seed)) else {
        // without a fit nobody asks for mistakes: one that was made is not found
        return Outcome { seed, mistake, shift, said: None, diagnosed: 0, wrong: false, fitted: false };
    };
    let judgement = judge(&found);
    // one mistake may be told in several ways: in newtons, with what was told of them in kilograms or in newtons
    let mine: Vec<Verdict> =
        judgement.all.iter().filter(|judged| mistake.is(&judged.name)).map(|judged| judged.verdict).collect();
    let of = [Verdict::Diagnosed, Verdict::Open, Verdict::Excluded];
    let said = of.into_iter().find(|verdict| mine.contains(verdict));
    let diagnosed = judgement.diagnosed().count();
    let wrong = diagnosed > 0 && said != Some(Verdict::Diagnosed);
    Outcome { seed, mistake, shift, said, diagnosed, wrong, fitted: true }
}

/// A fit that gives up sooner than one at the command line, which would search for minutes where nothing fits.
pub(crate) fn found(problem: Problem) -> Option<Calibrated> {
    let options = Options { evaluations: 1000, ..problem.options() };
    let mut predict = |x: &[f64]| problem.predict(x);
    let fitted = fit(&problem.unknowns(), &problem.observations(), &mut predict, &options).ok()?;
    Some(Calibrated { problem: Rc::new(problem), fitted, elsewhere: Vec::new() })
}

/// Mistakes in turn over the seeds.
fn made(seeds: impl IntoIterator<Item = u64>) -> Vec<Outcome> {
    let seeds: Vec<u64> = seeds.into_iter().collect();
    println!("{} draws with a mistake", seeds.len());
    seeds.par_iter().map(|&s| outcome(s, MISTAKES[s as usize % MISTAKES.len()])).collect()
}

fn clean(seeds: impl IntoIterator<Item = u64>) -> Vec<Outcome> {
    let seeds: Vec<u64> = seeds.into_iter().collect();
    seeds.par_iter().map(|&s| outcome(s, Mistake::None)).collect()
}

fn share(part: usize, whole: usize) -> f64 {
    part as f64 / whole.max(1) as f64
}

#[test]
fn every_mistake_is_found_with_good_instruments_and_none_is_imagined() {
    let one = |&mistake: &Mistake| {
        let judgement = judge(&found(mistake.made(&Bench::demo(), 3)).expect("a fit"));
        let told: Vec<String> = judgement.diagnosed().map(|judged| judged.name.clone()).collect();
        let open = judgement.all.iter().any(|j| j.verdict == Verdict::Open && mistake.is(&j.name));
        (mistake, told, open)
    };
    let all: Vec<(Mistake, Vec<String>, bool)> = MISTAKES.par_iter().map(one).collect();
    for (mistake, told, open) in all {
        if mistake == Mistake::AtThePack {
            // cables of a milliohm or so: less than the volts are known to
            assert!(told.is_empty() && open, "{told:?}");
        } else {
            // 6/7 and its like cannot be told apart: 11/13 is one in seventy away
            let alone = told.len() == 1 || matches!(mistake, Mistake::PolePairs(..));
            assert!(alone && told.iter().any(|name| mistake.is(name)), "{mistake:?}: {told:?}");
        }
    }
    let judgement = judge(&found(Bench::demo().draw(3).problem).expect("a fit"));
    assert_eq!(judgement.diagnosed().count(), 0);
}

#[test]
fn an_odd_reading_looks_like_no_mistake_and_hides_none() {
    // a third too much, tens of standard uncertainties
    let slip = |lines: &mut [Line]| lines[4].shown[0] *= 1.33;
    let bench = Bench::demo();
    let judgement = judge(&found(bench.draw_with(5, slip).problem).expect("a fit"));
    assert_eq!(judgement.diagnosed().map(|j| &j.name).collect::<Vec<_>>(), Vec::<&String>::new());
    assert_eq!(judgement.as_read.odd, 1);
    let both = |lines: &mut [Line]| {
        slip(lines);
        lines.iter_mut().for_each(|line| line.shown.swap(2, 3));
    };
    let judgement = judge(&found(bench.draw_with(5, both).problem).expect("a fit"));
    let told: Vec<&str> = judgement.diagnosed().map(|j| j.name.as_str()).collect();
    assert!(told.len() == 1 && Mistake::AmpsExchanged.is(told[0]), "{told:?}");
}

#[test]
fn where_a_mistake_hardly_shifts_anything_it_stays_open() {
    // nothing but motor amps, and those badly
    let mut bench = Bench::demo();
    bench.instruments.retain(|i| i.heading == MOTOR);
    (bench.noise, bench.repeats) = (40.0, 1);
    let judgement = judge(&found(bench.draw(7).problem).expect("a fit"));
    assert_eq!(judgement.diagnosed().count(), 0);
    assert!(judgement.all.iter().any(|j| j.verdict == Verdict::Open));
}

/// What is told of a scale in kilograms is a tenth of that in newtons: seeds at which readings ten times as far off as was told
/// once hid what was wrong.
#[test]
fn regress_newtons_are_found_though_their_uncertainty_was_told_in_kilograms() {
    let all = [205, 381, 392, 425, 491, 524, 568, 744, 964, 975].map(|seed| outcome(seed, Mistake::Newtons));
    let missed: Vec<u64> =
        all.iter().filter(|o| o.said != Some(Verdict::Diagnosed)).map(|o| o.seed).collect();
    assert!(missed.is_empty(), "{missed:?}");
}

/// A bench whose scale shows something at no pull, and whose strut leans.
fn with_a_zero() -> Bench {
    let mut bench = Bench::demo();
    let zero = [("lever.scale_offset", "3 kg"), ("lever.tare", "0.5 kg")];
    let strut = [("lever.wet_volume", "2 L"), ("lever.wet_below", "500 mm"), ("lever.lean", "10 deg")];
    bench.changes.extend(zero.into_iter().chain(strut));
    bench
}

fn diagnosed(problem: Problem) -> Vec<String> {
    let judgement = judge(&found(problem).expect("a fit"));
    judgement.diagnosed().map(|judged| judged.name.clone()).collect()
}

#[test]
fn a_lever_turned_about_is_found_whatever_the_scale_shows_at_no_pull() {
    let bench = with_a_zero();
    // the other way about, with what is known of its long arm
    let mut turned = bench.clone();
    turned.changes.extend([("lever.propeller_arm", "800 mm"), ("lever.scale_arm", "640 mm")]);
    for known in &mut turned.unknowns {
        if known.parameter == "lever.scale_arm" {
            known.parameter = "lever.propeller_arm";
        }
    }
    for seed in 1..5 {
        let told = diagnosed(bench.problem(&turned.draw(seed).text));
        assert!(told.len() == 1 && Mistake::LeverTurned.is(&told[0]), "seed {seed}: {told:?}");
        // in two files that share what is sought of an arm it is one mistake
        let mut apart = bench.problem(&turned.draw(seed).text);
        apart.sets[1].file = "other.csv".into();
        let told = diagnosed(apart);
        assert!(
            told.len() == 1 && told[0].contains("lever in bench.csv, other.csv"),
            "seed {seed}: {told:?}"
        );
        let clean = diagnosed(bench.draw(seed).problem);
        assert!(clean.is_empty(), "seed {seed}: {clean:?}");
    }
}

#[test]
fn a_scale_in_another_unit_is_found_with_its_zero_in_either() {
    let bench = with_a_zero();
    // 3 − 0.5 kg that are true kilograms, or that were read from the same scale as numbers
    for (mistake, unit) in [(Mistake::Newtons, 1.0 / 9.80665), (Mistake::Pounds, 0.453_592_37)] {
        for zero_too in [true, false] {
            let spoil = |lines: &mut [Line]| {
                for line in lines {
                    let zero = if zero_too { 2.5 } else { 0.0 };
                    line.shown[0] = (line.shown[0] - zero) / unit + zero;
                }
            };
            let told = diagnosed(bench.draw_with(2, spoil).problem);
            let right = |name: &String| mistake.is(name) && name.contains("its zero too") == zero_too;
            assert!(told.iter().any(right), "{mistake:?}, {zero_too}: {told:?}");
            assert!(told.iter().all(|name| mistake.is(name)), "{mistake:?}, {zero_too}: {told:?}");
        }
    }
}

/// Seeds fixed beforehand: 1 to 1000, of mistakes and of clean readings.
#[test]
#[ignore = "takes minutes; see the head of this file"]
fn mistakes_are_found_and_none_imagined_in_a_thousand_draws() {
    // fewer while one works on it
    let last = std::env::var("DRAWS").ok().and_then(|n| n.parse().ok()).unwrap_or(1000);
    let (made, clean) = (made(1..=last), clean(1..=last));
    let large = |o: &&Outcome| o.shift.is_some_and(|z| z > 3.0);
    let told = |o: &&Outcome| o.said == Some(Verdict::Diagnosed);
    for mistake in MISTAKES {
        let mine: Vec<&Outcome> = made.iter().filter(|o| o.mistake == mistake).collect();
        let (far, near): (Vec<&Outcome>, Vec<&Outcome>) = mine.iter().partition(|o| large(o));
        let count = |of: &[&Outcome], verdict| of.iter().filter(|o| o.said == Some(verdict)).count();
        for o in mine.iter().filter(|o| large(o) && !told(o)) {
            println!(
                "missed: {mistake:?}, seed {}, shift {:.1}, {:?}, {} others",
                o.seed,
                o.shift.unwrap_or(0.0),
                o.said,
                o.diagnosed
            );
        }
        println!(
            "{mistake:?}: shift above 3: {} of {} diagnosed; else: {} diagnosed, {} cannot tell, {} not, of {}; wrong \
             ones alone {}",
            count(&far, Verdict::Diagnosed),
            far.len(),
            count(&near, Verdict::Diagnosed),
            count(&near, Verdict::Open),
            count(&near, Verdict::Excluded),
            near.len(),
            mine.iter().filter(|o| o.wrong).count(),
        );
    }
    for o in clean.iter().filter(|o| o.diagnosed > 0) {
        println!("false alarm: seed {}, {} diagnosed", o.seed, o.diagnosed);
    }
    let far: Vec<&Outcome> = made.iter().filter(large).collect();
    let near: Vec<&Outcome> = made.iter().filter(|o| !large(o)).collect();
    let found = share(far.iter().copied().filter(|o| told(o)).count(), far.len());
    let open = share(near.iter().filter(|o| o.said == Some(Verdict::Open)).count(), near.len());
    let excluded = share(near.iter().filter(|o| o.said == Some(Verdict::Excluded)).count(), near.len());
    let wrong = share(made.iter().filter(|o| o.wrong).count(), made.len());
    let alone =
        share(made.iter().filter(|o| told(o) && o.diagnosed == 1).count(), made.iter().filter(told).count());
    let alarms = share(clean.iter().filter(|o| o.diagnosed > 0).count(), clean.len());
    println!(
        "{} draws with a mistake, {} clean; no fit of {} and {}, counted as not found\n\
         shift above 3 standard uncertainties: {} draws, diagnosed {found:.3}\n\
         elsewhere: {} draws, cannot tell {open:.3}, not {excluded:.3}\n\
         named alone where diagnosed {alone:.3}; only wrong ones diagnosed {wrong:.3}; false alarms on clean \
         readings {alarms:.3}",
        made.len(),
        clean.len(),
        made.iter().filter(|o| !o.fitted).count(),
        clean.iter().filter(|o| !o.fitted).count(),
        far.len(),
        near.len(),
    );
    assert!(found >= 0.95, "{found}");
    assert!(alarms <= 0.02, "{alarms}");
}
