//! Friction against Reynolds number, worked out once and read off often.

use engine::table::Curve;

use super::friction::c_f_plate;

/// Points per decade of Re.
const PER_DECADE: f64 = 15.0;

/// The same between [`TRANSITION`], where the formula bends sharply.
const PER_DECADE_THERE: f64 = 120.0;

/// Reynolds numbers around the natural transition of [`c_f_plate`].
const TRANSITION: (f64, f64) = (4e5, 7e5);

/// `factor` · C_F(Re) of a plate with the given laminar share, see [`c_f_plate`]; within 0.3 %.
///
/// Up to Re 10⁸, and to be held above, where no part of a board gets.
pub fn plate(factor: f64, laminar: f64) -> Curve {
    let mut re = vec![0.0, 5e3];
    let mut next: f64 = 1e4;
    while next < 0.95e8 {
        re.push(next);
        let there = (TRANSITION.0..TRANSITION.1).contains(&next);
        next *= 10f64.powf(1.0 / if there { PER_DECADE_THERE } else { PER_DECADE });
    }
    re.push(1e8);
    let c_f: Vec<f64> = re.iter().map(|&re| factor * c_f_plate(re, laminar)).collect();
    Curve::new(&re, &c_f).expect("rising Reynolds numbers, finite friction")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn follows_the_formula() {
        for laminar in [0.0, 0.5, 1.0] {
            let curve = plate(2.0, laminar);
            let mut worst: f64 = 0.0;
            for i in 0..=2600 {
                // from Re 600 on: a chord of 0.1 m at 6 mm/s
                let re = 600.0 * 10f64.powf(f64::from(i) / 500.0);
                worst = worst.max((curve.held(re) / (2.0 * c_f_plate(re, laminar)) - 1.0).abs());
            }
            // as promised: far inside the scatter of any friction line
            assert!(worst < 3e-3, "laminar {laminar}: {worst}");
        }
    }
}
