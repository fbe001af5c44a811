use super::*;

fn steps() -> Vec<Step> {
    let step = |throttle: f64, thrust: f64| Step {
        label: format!("{:.0} %", 100.0 * throttle),
        expected: Row {
            throttle: Some(throttle),
            thrust: Some(thrust),
            motor_current: Some(0.2 * thrust),
            ..Row::default()
        },
        ..Step::default()
    };
    vec![step(0.5, 200.0), step(1.0, 400.0)]
}

fn read(step: usize, thrust: f64) -> Measured {
    let row = Row { line: step + 2, thrust: Some(thrust), motor_current: Some(40.0), ..Row::default() };
    Measured { step, row, unsure: Unsure { thrust: Some(0.0), ..Unsure::default() } }
}

#[test]
fn marks_stand_beyond_two_and_three() {
    let spread = Spread { thrust: 0.1, ..Spread::default() };
    // 20 N is one standard uncertainty
    for (thrust, shown) in [(238.0, "238 "), (242.0, "242?"), (262.0, "262!"), (138.0, "138!")] {
        let page = filled(&steps(), &[read(0, thrust)], &spread, CurrentConvention::DcEquivalent);
        assert!(page.contains(shown), "{page}");
        assert_eq!(page.contains("standard uncertainties."), shown.contains(['?', '!']), "{page}");
    }
    // the reading's own uncertainty counts too: 62/√(20² + 30²) = 1.7
    let unsure = Measured { unsure: Unsure { thrust: Some(30.0), ..Unsure::default() }, ..read(0, 262.0) };
    let page = filled(&steps(), &[unsure], &spread, CurrentConvention::DcEquivalent);
    assert!(!page.contains("262!") && !page.contains("262?"), "{page}");
    let page = filled(&steps(), &[read(5, 1.0)], &spread, CurrentConvention::DcEquivalent);
    assert!(page.contains("belongs to no step"), "{page}");
}

#[test]
fn columns_nobody_expects_anything_in_are_left_out_and_amperes_are_counted() {
    let page = blank(&steps(), CurrentConvention::PhaseRms);
    assert!(!page.contains("scale") && page.contains("pull"), "{page}");
    // 80 A / √(3/2)
    assert!(page.contains("ph. rms") && page.contains("65.3"), "{page}");
    assert_eq!(page.matches(BLANK).count(), 2 * 5, "{page}");
}
