use super::*;
use crate::propeller::b_series::BSeries;

const SERIES: BSeries = BSeries { blades: 3, area_ratio: 0.55, pitch_ratio: 0.75 };

fn series() -> Blade {
    SERIES.blade(0.165).unwrap()
}

/// A rectangle: chord 40 mm from 20 to 80 mm, pitch 120 mm.
fn rectangle() -> Blade {
    let station = |r| Station { r, leading: 0.025, trailing: 0.015, pitch: 0.12 };
    Blade::new(3, vec![station(0.02), station(0.08)]).unwrap()
}

#[test]
fn nothing_removed_changes_nothing() {
    for blade in [series(), rectangle()] {
        for cut in [tip_turned_off, outline_set_back, scaled] {
            assert_eq!(cut(&blade, 0.0).unwrap(), blade);
        }
    }
}

#[test]
fn a_rectangle_is_cut_by_hand() {
    let blade = rectangle();
    // 3 · 40 mm · 60 mm, and exact but for round-off
    assert!((blade.expanded_area() - 3.0 * 0.04 * 0.06).abs() < 1e-15);
    assert!((blade.mean_pitch() - 0.12).abs() < 1e-15);
    let tip = tip_turned_off(&blade, 0.01).unwrap();
    assert!((tip.expanded_area() - 3.0 * 0.04 * 0.05).abs() < 1e-15);
    // 30 mm wide and 55 mm long: a rectangle set back is one again, its corners sharp
    let back = outline_set_back(&blade, 0.005).unwrap();
    assert!((back.expanded_area() - 3.0 * 0.03 * 0.055).abs() < 1e-12);
    assert!((back.diameter() - 0.15).abs() < 1e-15);
}

#[test]
fn an_edge_that_slopes_is_set_back_square_to_itself() {
    // the leading edge falls 30 mm on 60 mm: 5 mm square to it are 5 mm √(1 + ¼) across
    let station = |r: f64| Station { r, leading: 0.06 - 0.5 * r, trailing: 0.03, pitch: 0.1 };
    let blade = Blade::new(2, vec![station(0.03), station(0.09)]).unwrap();
    let back = outline_set_back(&blade, 0.005).unwrap();
    let wanted = blade.at(0.06).leading - 0.005 * 1.25_f64.sqrt();
    // a parabola's top between 49 samples: a thousandth of what is removed
    assert!((back.at(0.06).leading - wanted).abs() < 5e-6);
    assert!((back.at(0.06).trailing - 0.025).abs() < 1e-12);
}

#[test]
fn a_scaled_blade_keeps_its_ratios() {
    let blade = series();
    let small = scaled(&blade, 0.008).unwrap();
    // products with one factor: round-off
    assert!((small.area_ratio() / blade.area_ratio() - 1.0).abs() < 1e-12);
    let ratio = |b: &Blade| b.mean_pitch() / b.diameter();
    assert!((ratio(&small) / ratio(&blade) - 1.0).abs() < 1e-12);
    assert!((small.diameter() - (0.165 - 0.016)).abs() < 1e-15);
}

#[test]
fn a_tip_turned_off_leaves_pitch_and_takes_the_chords_integral() {
    let blade = series();
    let x = 0.007;
    let cut = tip_turned_off(&blade, x).unwrap();
    assert!((cut.mean_pitch() - 0.75 * 0.165).abs() < 1e-12);
    let ratio = cut.mean_pitch() / cut.diameter();
    assert!((ratio - 0.75 * 0.165 / (0.165 - 2.0 * x)).abs() < 1e-12, "P/D rises");
    // by another quadrature of the same chord: midpoints of a thousand strips, error of the second order
    let strips = 1000;
    let width = x / f64::from(strips);
    let chord = |k| blade.at(cut.tip_radius() + (f64::from(k) + 0.5) * width).chord();
    let lost: f64 = 3.0 * width * (0..strips).map(chord).sum::<f64>();
    assert!(((blade.expanded_area() - cut.expanded_area()) / lost - 1.0).abs() < 1e-4);
}

#[test]
fn of_the_same_removed_the_outline_takes_more_area_than_the_tip() {
    let blade = series();
    let mut last = blade.expanded_area();
    for x in [0.002, 0.004, 0.008] {
        let (tip, back) = (tip_turned_off(&blade, x).unwrap(), outline_set_back(&blade, x).unwrap());
        assert!(back.expanded_area() < tip.expanded_area());
        assert!(back.expanded_area() < last, "more removed, less left");
        last = back.expanded_area();
        // a rounded tip may lose a little more than x
        assert!(
            back.tip_radius() <= blade.tip_radius() - x && back.tip_radius() > blade.tip_radius() - 1.2 * x
        );
    }
}

#[test]
fn what_is_no_blade_or_no_cut_is_refused() {
    let s = |r, leading, trailing, pitch| Station { r, leading, trailing, pitch };
    let good = s(0.02, 0.02, 0.01, 0.1);
    let told = |stations: Vec<Station>| Blade::new(3, stations).unwrap_err().to_string();
    assert!(told(vec![good]).contains("two stations"));
    assert!(told(vec![good, s(0.02, 0.02, 0.01, 0.1)]).contains("does not rise"));
    assert!(told(vec![good, s(0.05, 0.02, -0.03, 0.1)]).contains("chord"));
    assert!(told(vec![good, s(0.05, f64::NAN, 0.03, 0.1)]).contains("finite"));
    assert!(told(vec![good, s(0.05, 0.01, 0.03, -0.1)]).contains("pitch"));
    for cut in [tip_turned_off, outline_set_back, scaled] {
        for x in [-0.001, f64::NAN, f64::INFINITY, 0.07, 1.0] {
            assert!(cut(&series(), x).is_err(), "{x}");
        }
    }
}

#[test]
fn a_circular_cut_through_angles_and_projection() {
    let angle: f64 = 0.5;
    assert!((pitch_of_angle(0.05, angle) - 2.0 * std::f64::consts::PI * 0.05 * angle.tan()).abs() < 1e-15);
    assert!((expanded_chord(0.03, angle) * angle.cos() - 0.03).abs() < 1e-15);
}
