//! The speed at which a shaft turns steadily.

use engine::model::Probe;
use engine::root;
use engine::run::Run;

use crate::nomenclature::*;

/// Lets every shaft turn steadily. Without inertia a shaft does so by itself; with inertia its speed is
/// a state, and the one is sought at which it does not change. NaN where there is none.
pub fn steadily(run: &mut Run) {
    let model = run.model().clone();
    let sole = |kind: &engine::quantity::Kind| model.providers(kind.name).first().copied();
    let turning = model.providers(SHAFT_SPEED.name).into_iter().filter(|&p| model.state_index(p).is_some());
    for speed in turning.collect::<Vec<Probe>>() {
        let Some((emf, k)) = sole(&BATTERY_EMF).zip(sole(&TORQUE_CONSTANT)) else { continue };
        let Some(state) = model.state_index(speed) else { continue };
        let (emf, k) = (run.value(emf), run.value(k));
        let mut rate = |omega: f64| {
            run.place(speed, omega);
            let y = run.scaled_states().to_vec();
            let mut dy = vec![0.0; y.len()];
            let t = run.time();
            run.with_right_hand_side(|f| f(t, &y, &mut dy));
            dy.get(state).copied().unwrap_or(f64::NAN)
        };
        // beyond emf/K no current flows, and the load brakes
        let omega = if rate(0.0) > 0.0 { root::bracketed(rate, 0.0, 1.5 * emf / k) } else { Some(0.0) };
        run.place(speed, omega.unwrap_or(f64::NAN));
    }
}
