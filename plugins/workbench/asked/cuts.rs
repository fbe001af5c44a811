//! How much to cut off, with what a fit has left in doubt.

use engine::analysis::{Answer, Craft};
use engine::calibration::Calibrated;
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::inquiry::{Inquiry, Said, not_told};
use engine::units::{FRACTION, LENGTH, NUMBER};

use super::key;
use crate::steady::cut::blades::{Blades, propeller};
use crate::steady::cut::spread::{HUMP_SPREAD, hump_draws, humps};
use crate::steady::cut::{Asked, Doubt, Hump, told};

/// The question.
pub const INQUIRY: Inquiry = Inquiry {
    name: "cuts",
    about: "how much to cut off the blades after these readings, with what they leave in doubt, and a plan",
    keys: &[
        key("readings", "whose craft is cut; the only ones if left out"),
        key("board", "a setup that what was found is carried over to: setup(file)"),
        key("removed", "what is taken off in all, such as [\"2 mm\", \"4 mm\"]"),
        key("ways", "ways of cutting that are looked at: tip, outline, scale; all that are open if left out"),
        key("exponent_spread", "standard uncertainty of the cut's exponents, if they were not sought"),
        key("throttle", "at which it is looked at, at rest and on the water; full if left out"),
        key("regret", "greatest probability of regret that is taken"),
    ],
    always: false,
    answer,
};

/// Parameters of the propeller that say what a cut does beside the series.
const EXPONENTS: [&str; 2] = ["cut_thrust_exponent", "cut_torque_exponent"];

fn answer(found: &Calibrated, said: &Said) -> Result<Answer, Diagnostics> {
    let kinds = found.problem.kinds;
    let name = said.text("readings")?.unwrap_or_default();
    let set = found.set(name)?;
    let craft = match said.setups.get("board") {
        Some(setup) => Craft::new(found.as_taken(setup, Some(&set.name))?, kinds)?,
        None => set.craft.clone(),
    };
    let part = propeller(&craft)?;
    let at = |x: &[f64]| found.onto(&craft.setup, Some(&set.name), x);
    let centre = at(&found.fitted.values)?;
    let open: Vec<String> = EXPONENTS.iter().map(|e| format!("{part}.{e}")).collect();
    let open: Vec<&String> = open.iter().filter(|e| centre.iter().all(|(known, _)| known != *e)).collect();
    let exponent = said.number("exponent_spread", NUMBER)?.unwrap_or(0.3);
    if !(0.0..=1.0).contains(&exponent) {
        let error = Diagnostic::error("`exponent_spread` is out of range").expected("0 to 1");
        return Err(error.found(exponent.to_string()).into());
    }
    let open = if exponent > 0.0 { open } else { Vec::new() };
    // a standard deviation up and down in each direction: further out the directions of a fit, straight lines, leave the bent
    // valley of what fits
    let points = match found.fitted.either_side(1.0) {
        Ok(points) => points,
        Err(why) => {
            let help = "say more of it beforehand (normal, log_normal), or read what depends on it";
            return Ok(not_told("How much to cut off the blades", &format!("{why}; {help}")));
        }
    };
    let mut draws: Vec<Vec<(String, f64)>> = points.iter().map(|x| at(x)).collect::<Result<_, _>>()?;
    let [_, _, thrust, torque] = Blades::of(&craft, kinds)?.factors;
    for name in &open {
        let now = if name.ends_with(EXPONENTS[0]) { thrust } else { torque };
        for side in [1.0, -1.0] {
            let mut draw = centre.clone();
            draw.push(((*name).clone(), now + side * exponent));
            draws.push(draw);
        }
    }
    // the board's resistance at the hump is drawn too, unless it was sought
    let (sought, humps): (Vec<_>, Vec<_>) = humps(&craft, kinds)?
        .into_iter()
        .partition(|(path, _)| centre.iter().any(|(known, _)| known == path));
    let hump = match (humps.is_empty(), sought.is_empty()) {
        (false, _) => Hump::Drawn(HUMP_SPREAD),
        (true, false) => Hump::Sought,
        (true, true) => Hump::Left,
    };
    draws.extend(hump_draws(&humps, HUMP_SPREAD, &centre));
    let removed = match said.numbers("removed", LENGTH)? {
        none if none.is_empty() => [0.0, 0.002, 0.004, 0.007, 0.010].to_vec(),
        some => some,
    };
    if let Some(wrong) = removed.iter().find(|x| !(0.0..=0.1).contains(*x)) {
        let error = Diagnostic::error("`removed` is out of range").expected("0 mm to 100 mm");
        return Err(error.found(format!("{} mm", 1e3 * wrong)).into());
    }
    let regret = said.number("regret", FRACTION)?.unwrap_or(0.2);
    let rows = found.problem.sets.iter().map(|set| set.rows.len()).sum();
    let misfit = found.misfits();
    let doubt = Doubt::Fitted { rows, exponent: (!open.is_empty()).then_some(exponent), misfit };
    let ways = said.texts("ways")?;
    let throttle = said.number("throttle", FRACTION)?.unwrap_or(1.0);
    if !(0.01..=1.0).contains(&throttle) {
        let error = Diagnostic::error("`throttle` is out of range").expected("1 % to 100 %");
        return Err(error.found(format!("{} %", 100.0 * throttle)).into());
    }
    told(&Asked {
        craft: &craft,
        kinds,
        removed: &removed,
        ways: &ways,
        throttle,
        centre,
        draws,
        doubt,
        hump,
        regret,
    })
}
