//! Struts through the surface against towed struts and handbook forms.

use foilborne::mast::strut::{self, Spray, Strut};

fn coefficients(form: &str) -> (f64, f64) {
    let path = format!("{}/tests/reference/strut/spray_drag.csv", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).unwrap();
    let row = reader.records().map(Result::unwrap).find(|row| &row[0] == form).unwrap();
    (row[1].parse().unwrap(), row[2].parse().unwrap())
}

/// The strut at which the sources meet: c 0.12 m, t 0.016 m.
const SIZE: (f64, f64) = (0.12, 0.016);

#[test]
fn val_spray_forms_carry_the_published_coefficients() {
    assert_eq!(Spray::Hoerner.coefficients(), coefficients("Hoerner"));
    assert_eq!(Spray::Chapman.coefficients(), coefficients("Chapman 66-series"));
    let towed = Spray::Towed.coefficients().1;
    let (low, high) = (coefficients("Beaver-Zseleczky low").1, coefficients("Beaver-Zseleczky high").1);
    assert!((low..=high).contains(&towed));
}

#[test]
fn val_spray_forms_agree_at_the_size_of_a_mast() {
    // at 5 m/s, fully developed (F_c 4.6): Hoerner and Chapman 0.77 N; Coffee and McKann 0.66 N
    let drag = |spray| {
        let strut = Strut::new((SIZE.0, SIZE.1, 0.75), 0.5, None, spray, 0.0);
        strut.spray(5.0, 1000.0, 9.80665, 1.0, 0.5)
    };
    let (k_ct, k_tt) = coefficients("Coffee-McKann 66-series");
    let third = 12_500.0 * (k_ct * SIZE.0 * SIZE.1 + k_tt * SIZE.1 * SIZE.1);
    for form in [Spray::Hoerner, Spray::Chapman] {
        // the printed 0.77 N has two digits
        assert!((drag(form) - 0.77).abs() < 0.005);
        // independent test series scatter by 15 %
        assert!((drag(form) / third - 1.0).abs() < 0.18);
    }
    // the middle of the towed band lies above them by a quarter
    assert!((drag(Spray::Towed) / drag(Spray::Hoerner) - 1.25).abs() < 1e-9);
}

#[test]
fn val_profile_drag_of_towed_struts() {
    // Beaver and Zseleczky (2009): C_D 0.0066–0.0104 of struts of t/c 0.13–0.15 at Re 6·10⁵ (quoted)
    // A boundary layer half laminar falls inside; 0.3 reaches the upper edge, 0.8 the lower.
    for ratio in [0.13, 0.14, 0.15] {
        let strut = Strut::new((0.12, 0.12 * ratio, 1.0), 0.5, None, Spray::Towed, 0.0);
        let c_d = strut.c_d(6e5);
        assert!((0.0066..0.0104).contains(&c_d), "{ratio}: {c_d}");
    }
}

#[test]
fn val_junction_drag() {
    // Hoerner, ch. 8 (quoted): 0.195 t² at t/c 0.12, to three digits
    let t = 0.0144;
    assert!((strut::junction_area(0.12, t) / (t * t) - 0.195).abs() < 5e-4);
    // never thrust
    assert!(strut::junction_area(0.12, 0.002) >= 0.0);
}

#[test]
fn val_spray_waits_for_its_range() {
    // all sources: chord Froude number above about 3; V = 3 √(g c) is 3.25 m/s here
    let full = 3.0 * (9.80665f64 * 0.12).sqrt();
    assert_eq!(strut::spray_growth(full + 1e-9, 0.12, 9.80665), 1.0);
    assert_eq!(strut::spray_growth(1.0, 0.12, 9.80665), 0.0);
}
