//! A bench rig: its arm, its lever, what its materials bear.

use foilborne::arm::beam::{cantilever, reach};
use foilborne::arm::material;
use foilborne::arm::section::Section;
use foilborne::lever::balance::Lever;

/// What is told to so many digits agrees within half of the last.
fn told(found: f64, expected: f64, half_of_last: f64) {
    assert!((found - expected).abs() <= half_of_last, "{found} where {expected} is told");
}

const MM4: f64 = 1e-12;
const BOX: Section = Section::Box { width: 0.04, height: 0.04, wall: 0.003 };
const SLIT: Section = Section::SlitBox { width: 0.04, height: 0.04, wall: 0.003 };
const ALUMINIUM: (f64, f64) = (70e9, 27e9);

/// Bernoulli's cantilever (any textbook): 40 × 40 × 3 mm, 600 mm, 400 N, E 70 GPa, worked by hand:
/// I = (40⁴ − 34⁴)/12 = 101 972 mm⁴.
#[test]
fn val_a_box_bends_as_worked_by_hand() {
    let bent = cantilever(&BOX, 0.6, ALUMINIUM, 400.0, 0.0);
    told(BOX.second_moment() / MM4, 101_972.0, 0.5);
    told(bent.bending / 1e6, 47.1, 0.05);
    told(bent.deflection * 1e3, 4.03, 0.005);
    told(bent.slope.to_degrees(), 0.578, 5e-4);
    // for an end load the slope is 3/2 δ/L, whatever the section; round-off
    told(bent.slope * 0.6 / bent.deflection, 1.5, 1e-12);
}

/// Bredt's closed and the thin open section (formulas of any textbook), the same box with 400 N 100 mm beside its axis, G 27 GPa, by hand:
/// A_m = 37² mm², s = 148 mm.
#[test]
fn val_a_box_twists_as_worked_by_hand_and_slit_a_hundredfold() {
    let (closed, slit) = (BOX.torsion().0, SLIT.torsion().0);
    told(closed / MM4, 151_959.0, 1.0);
    told(slit / MM4, 1332.0, 0.5);
    told(closed / slit, 114.0, 0.5);
    let (whole, open) =
        (cantilever(&BOX, 0.6, ALUMINIUM, 400.0, 0.1), cantilever(&SLIT, 0.6, ALUMINIUM, 400.0, 0.1));
    told(whole.shear / 1e6, 4.87, 0.005);
    told(whole.twist.to_degrees(), 0.34, 0.005);
    told(open.shear / 1e6, 90.0, 0.5);
    // told without decimals
    told(open.twist.to_degrees(), 38.0, 0.5);
    // the disc of a 150 mm propeller, by hand: 4.03 + 75 × 0.01008 + 175 × 0.00585 mm
    told(reach(&whole, 0.075, 0.1) * 1e3, 5.81, 0.01);
}

/// Beer and Johnston, *Mechanics of Materials*, thin-walled hollow shafts, worked example of an extruded tube 4.00 × 2.50 in, wall 0.160 in,
/// 24 kip·in: 8.35 ksi. **Recalled, page unknown; its arithmetic done anew.**
#[test]
fn val_bredt_gives_the_textbook_tube() {
    let tube = Section::Box { width: 2.5, height: 4.0, wall: 0.160 };
    let area = 1.0 / (tube.torsion().1 * 2.0 * 0.160);
    told(area, 8.986, 5e-4);
    // three digits are printed
    told(24.0 * tube.torsion().1, 8.35, 0.005);
}

/// Timoshenko, *Strength of Materials*, on a thin tube slit lengthways (recalled, no page): stiffness down by 3 (r/t)², stress up by 3 r/t.
#[test]
fn val_a_slit_tube_against_timoshenko() {
    let (diameter, wall) = (0.05, 0.0005);
    let ((j, tau), (j_slit, tau_slit)) =
        (Section::Tube { diameter, wall }.torsion(), Section::SlitTube { diameter, wall }.torsion());
    let r = 0.5 * (diameter - wall);
    // our closed tube is exact: it differs from the thin one by (t/2r)² in J, by t/2r = 1 % in stress
    told(j / j_slit / (3.0 * (r / wall).powi(2)), 1.0, 2e-4);
    told(tau_slit / tau / (3.0 * r / wall), 1.0, 0.0101);
}

/// EN 1999-1-1 Table 3.2b for 6060; the others from memory: tests/reference/rig.
#[test]
fn val_grades_are_as_tabled() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/rig/strengths.csv");
    let mut rows = 0;
    for row in csv::Reader::from_path(path).expect(path).records().map(Result::unwrap) {
        let number = |k: usize| row[k].parse::<f64>().unwrap();
        let grade = material::of(&row[0], number(1) * 1e-3).unwrap();
        // the same digits; only the unit is another
        told(grade.proof / 1e6, number(2), 1e-9);
        told(grade.proof_welded / 1e6, number(3), 1e-9);
        rows += 1;
    }
    assert_eq!(rows, 8);
}

/// Moments about the pivot, by hand: arms of 900 and 600 mm, 20.00 kg shown, g = 9.80665 m/s²: 1.5 × 196.133 = 294.2 N.
#[test]
fn val_a_lever_multiplies_as_worked_by_hand() {
    let lever = Lever { propeller_arm: 0.6, scale_arm: 0.9, misalignment: 0.0, pivot_between: true };
    told(lever.pull(20.0 * 9.80665, 0.0), 294.2, 0.05);
}
