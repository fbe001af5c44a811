//! The answer for a machine.

use serde_json::{Map, Value, json};

use super::bound::disagreement;
use super::outlook::{Measure, Stage};
use super::plan::{Advice, Step};
use super::table::{measures, stages};
use super::text::contained;
use super::{Doubt, Found, Hump};

/// One object; SI but for rpm.
pub fn document(found: &Found) -> Map<String, Value> {
    let mut map = Map::new();
    let mut put = |key: &str, value: Value| _ = map.insert(key.into(), value);
    put("motor_current_is", json!("DC-equivalent"));
    put("throttle", json!(found.throttle));
    put("moves", json!(found.nominal.moves));
    put("draws", json!(found.spread.stages.first().map(|s| s.told.len())));
    put(
        "standard_uncertainties",
        match found.doubt {
            Doubt::Stated(d) => {
                json!({"thrust_factor": d.thrust, "torque_factor": d.torque, "cut_exponents": d.exponent})
            }
            Doubt::Fitted { rows, exponent, misfit } => {
                json!({"fitted_to_rows": rows, "cut_exponents": exponent, "model_fits": !misfit})
            }
        },
    );
    put(
        "k_hump",
        match found.hump {
            Hump::Drawn(share) => json!({"greater_by": share, "less_by": 0.5 * share}),
            Hump::Sought => json!("as fitted"),
            Hump::Left => Value::Null,
        },
    );
    put("stages", stages(found).map(|pair| stage(found, pair)).collect());
    let best = found.best.iter().map(|b| {
        json!({"measure": key(b.measure), "cut": b.way, "removed_m": b.removed, "value": b.value, "gain": b.gain,
               "gain_of_scaled_blade": b.yardstick, "at_greatest_cut": b.at_end})
    });
    put("best", best.collect());
    let apart = disagreement(&found.best, &found.nominal);
    put(
        "tub_and_water_disagree",
        json!(apart.map(|a| json!({"by": key(a.by), "behind_best": a.behind, "gain_over_now": a.gain}))),
    );
    let plans = found.plans.iter().map(|p| {
        let advice = match p.plan.advice {
            Advice::Cut => "cut the first step, test, fit, ask again",
            Advice::Measure => "measure first",
            Advice::Stop => "stop",
        };
        json!({"measure": key(p.measure), "cut": p.way, "advice": advice, "acceptable_regret": p.plan.acceptable,
               "best": p.plan.best.map(step), "steps": p.plan.steps.iter().copied().map(step).collect::<Vec<_>>()})
    });
    put("plans", plans.collect());
    let of_water = found.nominal.moves.then(|| contained(found.hump));
    put("notes", found.notes.iter().cloned().chain(of_water).map(Value::from).collect());
    map
}

fn key(measure: Measure) -> String {
    let (name, unit) = measure.name();
    format!("{name}_{}", unit.replace('/', "_"))
}

fn step(s: Step) -> Value {
    json!({"removed_m": s.removed, "gain": s.gain, "standard_uncertainty": s.sd, "regret": s.regret})
}

fn stage(found: &Found, (stage, drawn): (&Stage, &Stage)) -> Value {
    let told = measures(found).iter().map(|&m| {
        let value = json!({"expected": stage.mean(m), "standard_uncertainty": drawn.sd(m), "draws_that_tell": drawn.given(m)});
        (key(m), value)
    });
    json!({"cut": stage.way, "removed_m": stage.removed, "blade_area_m2": stage.shape.area,
           "diameter_m": stage.shape.diameter, "mean_pitch_m": stage.shape.pitch,
           "keller_area_needed_over_area": stage.area_needed, "held_by": stage.held,
           "measures": told.collect::<Map<String, Value>>()})
}
