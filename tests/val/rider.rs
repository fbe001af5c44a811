//! The rider's drag and balance against measurements and exact results.

use foilborne::rider::balance;
use foilborne::rider::posture::{Stance, air_drag, rod_inertia, scaled_drag_area};

#[test]
fn val_drag_area_of_a_person() {
    // E. Spring et al., Int. J. Sport Biomechanics 4 (1988) 103–113, abstract: 0.65 ± 0.05 upright,
    // 0.27 ± 0.03 semi-squatting, 80 kg. The bands are the tolerance; scaling leaves 80 kg alone.
    let of = |stance: Stance| scaled_drag_area(stance.drag_area(), 80.0, 1.75);
    assert!((of(Stance::Standing) - 0.65).abs() <= 0.05);
    assert!((of(Stance::Crouched) - 0.27).abs() <= 0.03);
    // 7 m/s in air of 1.225 kg/m³, upright: ½ ρ V² C_D A = 19.5 N (three digits)
    assert!((air_drag(1.225, of(Stance::Standing), 7.0) - 19.5).abs() < 0.05);
}

#[test]
fn val_inertia_is_of_the_measured_size() {
    // upright people, about a transverse axis through the centre of gravity: 10–15 kg·m² (from
    // memory, e.g. W. R. Santschi et al. 1963). A uniform rod overstates it; by no more than double.
    let rod = rod_inertia(75.0, 1.75);
    assert!((10.0..30.0).contains(&rod), "{rod}");
}

#[test]
fn val_delay_has_the_phase_of_a_delay() {
    // exact: e^{−iωT}. Frequencies of balance reach 1 Hz (quiet-standing literature, recalled).
    let delay: f64 = 0.15;
    for hertz in [0.1, 0.5, 1.0] {
        let omega = std::f64::consts::TAU * hertz;
        // response of ẋ_1 = x_2, ẋ_2 = 12(u − x_1)/T² − 6 x_2/T to u = e^{iωt}:
        // x_1 = u/(1 + sT/2 + s²T²/12), output u − T s x_1, with s = iω
        let (step, mut t, mut x) = (1e-5, 0.0, (0.0, 0.0));
        let (mut cos, mut sin) = (0.0, 0.0);
        // settle for whole periods, then one period of correlation
        let period = 1.0 / hertz;
        while t < 4.0 * period {
            let input = (omega * t).cos();
            if t >= 3.0 * period {
                let out = balance::delayed(input, x.1, delay);
                cos += out * (omega * t).cos() * 2.0 * step / period;
                sin += out * (omega * t).sin() * 2.0 * step / period;
            }
            let (r_1, r_2) = balance::delay_rates(input, x, delay);
            x = (x.0 + step * r_1, x.1 + step * r_2);
            t += step;
        }
        // gain 1, lag ωT; Euler steps of 1e-5 s leave 1e-3
        assert!((cos.hypot(sin) - 1.0).abs() < 2e-3);
        assert!((sin.atan2(cos) - omega * delay).abs() < 2e-3, "{hertz} Hz");
    }
}

#[test]
fn val_pitch_follows_the_second_order_response() {
    // textbook: ζ = 1 from rest reaches 1 − (1 + ωt) e^{−ωt} of a step; integrate the wanted
    // acceleration and compare at t = 0.5 s
    let (omega, step) = (6.0, 1e-5);
    let (mut pitch, mut rate, mut t) = (0.0, 0.0, 0.0);
    while t < 0.5 {
        let q_dot = balance::wanted_pitch_acceleration((pitch, 1.0), rate, omega, 1.0);
        pitch += step * rate;
        rate += step * q_dot;
        t += step;
    }
    let exact = 1.0 - (1.0 + omega * t) * (-omega * t).exp();
    // Euler of 1e-5 s
    assert!((pitch - exact).abs() < 2e-4, "{pitch} {exact}");
}
