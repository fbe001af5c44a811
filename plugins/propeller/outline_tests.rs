//! Cuts as parameters, and traced blades.

use crate::PARTS as KINDS;
use crate::handbook::bench::{Bench, State};
use crate::propeller::b_series::BSeries;
use crate::propeller::blade::Blade;
use engine::setup::Setup;
use std::path::Path;

const PARTS: &str = "  water: {temperature: 15 °C}\n  propeller: {part: propeller_series, diameter: 165 mm, pitch_ratio: 0.75, area_ratio: 0.55, forward: 0.6 m, below: 0.7 m}\n";

fn state() -> State {
    State { omega: 250.0, cg_depth: 1.0, ..State::default() }
}

fn with(more: &str) -> String {
    PARTS.replace("diameter", &format!("{more}, diameter"))
}

fn error(parts: &str) -> String {
    let setup = Setup::from_text("a.yaml", &format!("setup: 1\nparts:\n{parts}"), Path::new(".")).unwrap();
    setup.read_parts(KINDS).map(|_| ()).unwrap_err().to_string()
}

#[test]
fn a_cut_of_nothing_is_the_series_to_the_last_bit() {
    for cut in ["none", "tip", "outline", "scale"] {
        let parts = with(&format!("cut: {cut}, removed: 0 mm, cut_thrust_exponent: 0.4"));
        let moving = State { u: 3.0, ..state() };
        for quantity in ["thrust", "torque", "reynolds_number", "efficiency", "expanded_area"] {
            let name = format!("propeller.{quantity}");
            assert_eq!(
                Bench::new(&parts, moving).get(&name),
                Bench::new(PARTS, moving).get(&name),
                "{cut} {name}"
            );
        }
    }
}

#[test]
fn a_cut_lowers_diameter_area_and_thrust_at_the_same_revolutions() {
    let get = |parts: &str, name: &str| Bench::new(parts, state()).get(&format!("propeller.{name}"));
    for cut in ["tip", "outline", "scale"] {
        let parts = with(&format!("cut: {cut}, removed: 5 mm"));
        assert!(get(&parts, "diameter") < 0.1551, "{cut}");
        for name in ["expanded_area", "thrust", "torque"] {
            assert!(get(&parts, name) < get(PARTS, name), "{cut} {name}");
        }
    }
    let scale = with("cut: scale, removed: 5 mm");
    // K_T and K_Q of a scaled propeller are the same: thrust goes with D⁴, torque with D⁵; round-off of P/D and A_E/A_0
    let ratio = 155.0_f64 / 165.0;
    assert!((get(&scale, "thrust") / get(PARTS, "thrust") / ratio.powi(4) - 1.0).abs() < 1e-11);
    assert!((get(&scale, "torque") / get(PARTS, "torque") / ratio.powi(5) - 1.0).abs() < 1e-11);
    let learnt = with("cut: scale, removed: 5 mm, cut_thrust_exponent: 0.5, cut_torque_exponent: -0.3");
    assert!((get(&learnt, "thrust") / get(&scale, "thrust") / ratio.powf(0.5) - 1.0).abs() < 1e-12);
    assert!((get(&learnt, "torque") / get(&scale, "torque") / ratio.powf(-0.3) - 1.0).abs() < 1e-12);
}

#[test]
fn a_cut_is_told_to_be_an_assumption_and_leaving_the_series_is_told_once() {
    let advice = |parts: &str| Bench::new(parts, state()).advice();
    let said = |parts: &str, what: &str| advice(parts).iter().filter(|a| a.contains(what)).count();
    assert_eq!((said(PARTS, "assumption"), said(PARTS, "outside the B-series")), (0, 0));
    let mild = with("cut: tip, removed: 4 mm");
    assert_eq!((said(&mild, "assumption"), said(&mild, "outside the B-series")), (1, 0));
    let narrow = with("cut: outline, removed: 9 mm").replace("area_ratio: 0.55", "area_ratio: 0.4");
    assert_eq!(said(&narrow, "outside the B-series"), 1);
}

#[test]
fn a_cut_without_a_way_or_of_too_much_is_refused() {
    assert!(error(&with("removed: 4 mm")).contains("say how it is cut"));
    assert!(error(&with("cut: tip, removed: 70 mm")).contains("less than a third"));
    assert!(error(&with("cut: tips, removed: 4 mm")).contains("tip"));
    assert!(error(&with("cut: tip, removed: -4 mm")).contains("out of range"));
}

/// The series blade itself, traced; along the shaft or laid out.
fn traced(blade: &Blade, projected: bool) -> String {
    let column = |of: &dyn Fn(&crate::propeller::blade::Station) -> f64| -> String {
        let all: Vec<String> = blade.stations().iter().map(|s| format!("{:.7}", 1e3 * of(s))).collect();
        all.join(", ")
    };
    let angle = |s: &crate::propeller::blade::Station| (s.pitch / (std::f64::consts::TAU * s.r)).atan();
    let seen = |s: &crate::propeller::blade::Station| if projected { angle(s).cos() } else { 1.0 };
    let at = |r: f64| angle(&blade.at(r)).to_degrees();
    format!(
        "  water: {{temperature: 15 °C}}\n  propeller: {{part: propeller_outline, outline: {{\"r [mm]\": [{}], \
         \"leading_edge [mm]\": [{}], \"trailing_edge [mm]\": [{}]}}, blade_angle: {{\"r [mm]\": [30, 60], \
         \"angle [deg]\": [{}, {}]}}, outline_is: {}, forward: 0.6 m, below: 0.7 m}}\n",
        column(&|s| s.r),
        column(&|s| seen(s) * s.leading),
        column(&|s| seen(s) * s.trailing),
        at(0.03),
        at(0.06),
        if projected { "projected" } else { "expanded" }
    )
}

#[test]
fn a_series_blade_traced_is_the_series_again() {
    let series = BSeries { blades: 3, area_ratio: 0.55, pitch_ratio: 0.75 };
    let blade = series.blade(0.165).unwrap();
    for projected in [true, false] {
        let parts = traced(&blade, projected);
        let get = |name: &str| Bench::new(&parts, state()).get(&format!("propeller.{name}"));
        assert!((get("diameter") - 0.165).abs() < 1e-9);
        // digits of the text; 1e-4 where foreshortening is undone between stations
        assert!((get("mean_pitch") / (0.75 * 0.165) - 1.0).abs() < 1e-6);
        assert!((get("expanded_area") / blade.expanded_area() - 1.0).abs() < 1e-4, "{projected}");
        // the table's area is within 1.5 % of A_E/A_0, and so is the thrust
        let wanted = Bench::new(PARTS, state()).get("propeller.thrust");
        assert!((get("thrust") / wanted - 1.0).abs() < 0.015);
        assert!(Bench::new(&parts, state()).advice()[0].contains("traced"));
    }
}

#[test]
fn a_trace_that_is_no_blade_is_refused() {
    let blade = BSeries { blades: 3, area_ratio: 0.55, pitch_ratio: 0.75 }.blade(0.165).unwrap();
    let good = traced(&blade, true);
    assert!(
        error(
            &good.replace("\"angle [deg]\": [", "\"angle [deg]\": [88, ").replace("[30, 60]", "[20, 30, 60]")
        )
        .contains("no blade angle")
    );
    assert!(error(&good.replace("forward", "hub_radius: 90 mm, forward")).contains("not the diameter"));
    assert!(
        error(&good.replace("forward", "cut: tip, forward").replace("[mm]", "[m]")).contains("tip radius")
    );
    let crossed = "  propeller: {part: propeller_outline, outline: {\"r [mm]\": [20, 50, 80], \"leading_edge [mm]\": [20, 20, 5], \"trailing_edge [mm]\": [10, -30, 0]}, blade_angle: {\"r [mm]\": [50], \"angle [deg]\": [20]}, forward: 0 m, below: 0 m}\n";
    assert!(error(crossed).contains("chord"));
}

#[test]
fn the_traced_example_of_the_readme_thrusts() {
    let readme = include_str!("README.md");
    let example: String = readme
        .lines()
        .skip_while(|line| !line.starts_with("## propeller_outline"))
        .skip_while(|line| !line.starts_with("    propeller:"))
        .take_while(|line| line.starts_with("    "))
        .map(|line| format!("{}\n", &line[2..]))
        .collect();
    let mut bench = Bench::new(&format!("  water: {{}}\n{example}"), state());
    assert!((bench.get("propeller.diameter") - 0.16).abs() < 1e-12);
    // 2π · 55 mm · tan 19° is 119 mm, about the middle of three angles that fall with it
    assert!(
        (bench.get("propeller.mean_pitch") - 0.119).abs() < 0.003,
        "{}",
        bench.get("propeller.mean_pitch")
    );
    assert!(bench.get("propeller.thrust") > 0.0);
}
