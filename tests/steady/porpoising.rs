//! Porpoising of the bare planing board against the chart.

use foilborne::steady::curve::station::Stability;
use foilborne::steady::trim::Trim;

use crate::craft::{find, model};

const SETUP: &str = "tests/steady/setups/planing_board.yaml";

/// Trim, deg, and stability of the board with its weight at a place, m forward of the tail, at a speed, m/s.
fn at(forward: f64, speed: f64) -> Option<(f64, Stability)> {
    let place = format!("{forward} m");
    let trim = Trim::of(&model(SETUP, &[("board.cg_forward", &place), ("ballast.forward", &place)]))
        .expect("a craft");
    let pitch = find(trim.model(), "motion.pitch");
    let (found, _) = trim.all_at(speed);
    let point = found.iter().find(|p| p.value(pitch).to_degrees() > 0.3)?;
    Some((point.value(pitch).to_degrees(), Stability::of(&trim, point)?))
}

#[test]
fn explore() {
    let (mass, rho, beam) = (80.0, 998.6, 0.68);
    for s in [0.13f64, 0.15, 0.2, 0.25, 0.3] {
        let c_l = 2.0 * s * s;
        let speed = (mass * 9.80665 / (0.5 * rho * beam * beam * c_l)).sqrt();
        println!("sqrt(C_L/2) {s}: {speed:.2} m/s, C_v {:.2}", speed / (9.81f64 * beam).sqrt());
        for k in 0..28 {
            let forward = 2.4 - 0.08 * f64::from(k);
            match at(forward, speed) {
                Some((trim, st)) => {
                    println!("  {forward:.2} m: trim {trim:.2}, {:?} {:?}", st.least_damped, st.unstable)
                }
                None => println!("  {forward:.2} m: none"),
            }
        }
    }
}
