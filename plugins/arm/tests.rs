use engine::setup::Setup;
use std::path::Path;

use crate::handbook::bench::{Bench, State};

const OTHERS: &str = "  water: {}\n  propeller: {part: propeller_series, diameter: 150 mm, pitch_ratio: 0.8, area_ratio: 0.55, \
                      forward: 0 mm, below: 400 mm}\n  lever: {propeller_arm: 600 mm, scale_arm: 900 mm}\n";

fn margins(arm: &str, omega: f64) -> [f64; 2] {
    let mut bench =
        Bench::new(&format!("{OTHERS}  arm: {arm}\n"), State { omega, cg_depth: 1.0, ..State::default() });
    assert!(bench.all().into_iter().all(|(_, value)| value.is_finite()));
    [bench.get("arm.rig_margin.strength"), bench.get("arm.rig_margin.blade clearance")]
}

#[test]
fn margins_fall_with_speed_weld_and_slit() {
    let arm = |more: &str| {
        format!(
            "{{height: 40 mm, width: 40 mm, wall: 3 mm, clearance: 60 mm, propeller_radius: 75 mm, lateral_offset: 50 mm{more}}}"
        )
    };
    let (rest, slow, fast) = (margins(&arm(""), 0.0), margins(&arm(""), 100.0), margins(&arm(""), 200.0));
    assert_eq!(rest, [1.0; 2]);
    assert!((0..2).all(|k| fast[k] < slow[k] && slow[k] < 1.0));
    assert!(margins(&arm(", welded: no"), 200.0)[0] > fast[0]);
    let slit = margins(&arm(", section: slit_box"), 200.0);
    assert!((0..2).all(|k| slit[k] < fast[k]));
}

#[test]
fn what_cannot_be_an_arm_is_refused_with_its_numbers() {
    for (arm, part) in [
        ("{height: -40 mm, width: 40 mm, wall: 3 mm}", "height"),
        ("{height: 40 mm, width: 40 mm, wall: 20 mm}", "20.00 mm"),
        ("{height: 40 mm, width: 40 mm}", "needs a wall"),
        ("{section: rectangle, height: 40 mm, width: 30 mm}", "30.0 mm thick"),
        ("{section: tube, height: 40 mm, width: 40 mm, wall: 2 mm}", "has no width"),
        ("{height: 40 mm, width: 40 mm, wall: 3 mm, clearance: 50 mm}", "propeller_radius"),
    ] {
        let text = format!("setup: 1\nparts:\n  arm: {arm}\n");
        let setup = Setup::from_text("test", &text, Path::new(".")).expect("a setup");
        let told = setup.read_parts(crate::PARTS).map(|_| ()).expect_err(arm).render(false);
        assert!(told.contains(part), "{arm}: {told}");
    }
}
