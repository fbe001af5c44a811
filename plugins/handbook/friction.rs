//! Skin friction of a smooth flat plate: mean coefficient C_F over the wetted
//! length, on one side, against Reynolds number Re = V L / ν.
//!
//! D = ½ ρ V² S C_F. Every line here is finite for every Re: the published
//! formulas have a pole at small Re, so **below [`RE_LOW`] each one goes on
//! along its tangent** (value and slope equal at the joint, so C_F is C1 and
//! the drag falls to zero with V²). A board of 1 m passes RE_LOW at 1 cm/s,
//! a chord of 0.1 m at 10 cm/s: the drag concerned is a fraction of a newton.
//! The sign of Re is ignored.

use engine::smooth;
use std::f64::consts::LN_10;

/// Reynolds number below which each line is replaced by its tangent.
pub const RE_LOW: f64 = 1e4;

/// Prandtl's constant A in C_F = C_F,turb − A/Re, for transition at Re 5·10⁵.
///
/// # Source
/// H. Schlichting, *Boundary-Layer Theory*, ch. 21 (A = 1700 for Re_crit 5·10⁵;
/// quoted by later texts, not read in the original).
pub const A_TRANSITION: f64 = 1700.0;

/// `line` above [`RE_LOW`]; below it the tangent there, given value and slope.
fn with_low_end(re: f64, value: f64, slope: f64, line: impl Fn(f64) -> f64) -> f64 {
    let re = re.abs();
    if re >= RE_LOW { line(re) } else { value + slope * (re - RE_LOW) }
}

/// ITTC 1957 model–ship correlation line, C_F = 0.075 / (log10 Re − 2)².
/// It holds some 12 % form effect already.
///
/// # Source
/// 8th International Towing Tank Conference, Madrid 1957; ITTC Recommended
/// Procedure 7.5-02-02-01. Tangent below [`RE_LOW`] (module page).
pub fn c_f_ittc57(re: f64) -> f64 {
    // at Re 10⁴: log10 Re − 2 = 2
    let value = 0.075 / 4.0;
    let slope = -2.0 * 0.075 / (8.0 * LN_10 * RE_LOW);
    with_low_end(re, value, slope, |re| {
        let x = re.log10() - 2.0;
        0.075 / (x * x)
    })
}

/// Schoenherr's turbulent line, 0.242/√C_F = log10(Re C_F), solved for C_F.
///
/// With y = 1/√C_F this is 0.242 y + 2 log10 y = log10 Re: smooth, rising and
/// concave, so Newton's method from the left converges without a guard.
///
/// # Source
/// K. E. Schoenherr, *Trans. SNAME* 40 (1932) 279–313; the line used by
/// Savitsky (1964). Tangent below [`RE_LOW`] (module page).
pub fn c_f_schoenherr(re: f64) -> f64 {
    let solve = |re: f64| {
        let rhs = re.log10();
        let mut y: f64 = 5.0; // C_F 0.04, above every C_F at Re ≥ RE_LOW
        for _ in 0..7 {
            let residual = 0.242 * y + 2.0 * y.log10() - rhs;
            y -= residual / (0.242 + 2.0 / (LN_10 * y));
        }
        1.0 / (y * y)
    };
    let value = solve(RE_LOW);
    // implicit differentiation of log10 Re = 0.242 y + 2 log10 y, C_F = y⁻²
    let y = 1.0 / value.sqrt();
    let slope = -2.0 * value / (y * RE_LOW * LN_10 * (0.242 + 2.0 / (LN_10 * y)));
    with_low_end(re, value, slope, solve)
}

/// Laminar plate, C_F = 1.328/√Re.
///
/// # Source
/// H. Blasius, *Z. Math. Phys.* 56 (1908) 1–37. Laminar flow holds to about
/// Re 5·10⁵ on a smooth plate in quiet water. Tangent below [`RE_LOW`].
pub fn c_f_blasius(re: f64) -> f64 {
    let value = 1.328 / 1e2;
    with_low_end(re, value, -0.5 * value / RE_LOW, |re| 1.328 / re.sqrt())
}

/// Turbulent plate from the leading edge, C_F = 0.455/(log10 Re)^2.58.
///
/// # Source
/// L. Prandtl and H. Schlichting, *Werft, Reederei, Hafen* 13 (1932) 1–4
/// (formula as in Schlichting, *Boundary-Layer Theory*, ch. 21).
/// Tangent below [`RE_LOW`].
pub fn c_f_prandtl_schlichting(re: f64) -> f64 {
    let value = 0.455 * 0.027_969_533_466_499_136; // 4^-2.58
    let slope = -2.58 * value / (4.0 * LN_10 * RE_LOW);
    with_low_end(re, value, slope, |re| 0.455 * re.log10().powf(-2.58))
}

/// Plate whose boundary layer turns turbulent by itself near Re 5·10⁵:
/// the larger of C_F,turb − A/Re and Blasius, the corner rounded over ±10 % of
/// the laminar value (the rounding adds at most 2.5 %, at the corner).
///
/// # Source
/// Prandtl–Schlichting form with [`A_TRANSITION`]; the rounding is ours.
pub fn c_f_natural_transition(re: f64) -> f64 {
    let laminar = c_f_blasius(re);
    // the tripped part only counts above Re 10⁵, so the floor on Re changes nothing
    let partly = c_f_prandtl_schlichting(re) - A_TRANSITION / re.abs().max(RE_LOW);
    smooth::max(partly, laminar, 0.1 * laminar)
}

/// Plate or section surface between "tripped at the nose" (`laminar` = 0:
/// Prandtl–Schlichting, never below Blasius) and "natural transition in quiet
/// water" (`laminar` = 1: [`c_f_natural_transition`]), by proportion.
///
/// Chop, bubbles and roughness trip the layer; towed struts at Re 6·10⁵ show
/// no laminar bucket (drag coefficient 0.0066–0.0104), yet fully turbulent flow
/// predicts about 25 % too much. `laminar` ≈ 0.5 lies between; it is an
/// uncertain input, not a property of the section.
pub fn c_f_plate(re: f64, laminar: f64) -> f64 {
    let blasius = c_f_blasius(re);
    let tripped = smooth::max(c_f_prandtl_schlichting(re), blasius, 0.1 * blasius);
    tripped + laminar * (c_f_natural_transition(re) - tripped)
}

/// Form factor of a section or strut of thickness ratio t/c,
/// FF = 1 + 2 t/c + 60 (t/c)⁴; profile drag c_d = 2 C_F FF (both sides).
///
/// # Source
/// S. F. Hoerner, *Fluid-Dynamic Drag* (1965), ch. 6 (quoted by later texts,
/// not read in the original). Streamlined sections, t/c up to about 0.25.
pub fn form_factor_section(t_c: f64) -> f64 {
    let square = t_c * t_c;
    1.0 + 2.0 * t_c + 60.0 * square * square
}

#[cfg(test)]
mod tests {
    use super::*;

    type Line = fn(f64) -> f64;
    const LINES: [(&str, Line); 6] = [
        ("ITTC 1957", c_f_ittc57),
        ("Schoenherr", c_f_schoenherr),
        ("Blasius", c_f_blasius),
        ("Prandtl–Schlichting", c_f_prandtl_schlichting),
        ("natural transition", c_f_natural_transition),
        ("plate", |re| c_f_plate(re, 0.5)),
    ];

    #[test]
    fn finite_and_positive_for_every_reynolds_number() {
        for (name, line) in LINES {
            for re in [-1e7, -1.0, 0.0, 1e-300, 1.0, 99.0, 100.0, 1e3, 1e4, 1e12, 1e300] {
                let c_f = line(re);
                assert!(c_f.is_finite() && c_f > 0.0, "{name} at {re}: {c_f}");
            }
        }
    }

    #[test]
    fn value_and_slope_continue_through_the_low_end() {
        for (name, line) in LINES {
            let (h, at) = (1e-3, RE_LOW);
            let below = (line(at) - line(at * (1.0 - h))) / h;
            let above = (line(at * (1.0 + h)) - line(at)) / h;
            // one-sided differences of a curve with second derivative of order C_F: h C_F apart
            assert!((below - above).abs() < 2.0 * h * line(at), "{name}");
        }
    }

    #[test]
    fn slope_has_no_corner_in_the_transition_band() {
        let slope = |x: f64| {
            let h = 1e-6;
            (c_f_plate((x + h).exp(), 1.0) - c_f_plate((x - h).exp(), 1.0)) / (2.0 * h)
        };
        let (low, high, n) = (1e4f64.ln(), 1e7f64.ln(), 20_000);
        let step = (high - low) / n as f64;
        for i in 0..n {
            let x = low + i as f64 * step;
            // an unrounded corner would jump by some 5e-3 within one step; rounded over
            // ±10 %, the slope (per unit of ln Re) changes by at most 0.1 per unit
            assert!((slope(x + step) - slope(x)).abs() < 0.2 * step, "Re {}", x.exp());
        }
    }

    #[test]
    fn schoenherr_satisfies_its_own_equation() {
        for re in [1e4, 1e5, 3.6e8, 1e10] {
            let c = c_f_schoenherr(re);
            // converged to round-off of the logarithm
            assert!((0.242 / c.sqrt() - (re * c).log10()).abs() < 1e-12);
        }
    }

    #[test]
    fn laminar_fraction_spans_its_two_ends() {
        let re = 6e5;
        assert_eq!(c_f_plate(re, 0.0), c_f_prandtl_schlichting(re));
        // proportional: equal up to round-off of one addition
        assert!((c_f_plate(re, 1.0) - c_f_natural_transition(re)).abs() < 1e-17);
        assert_eq!(form_factor_section(0.0), 1.0);
    }
}
