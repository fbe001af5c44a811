//! What is not known of a cut, as a few craft that differ in it.

use engine::analysis::Craft;
use engine::diagnostic::Diagnostics;
use engine::part::PartKind;
use engine::setup::describe;
use engine::units::{self, NUMBER};

use super::blades::{Blades, FACTORS, value};

/// Standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Of K_T, relative.
    pub thrust: f64,
    /// Of K_Q, relative.
    pub torque: f64,
    /// Of both exponents of (D′/D).
    pub exponent: f64,
    /// Of the board's resistance at the hump, relative, upwards.
    pub hump: f64,
}

/// Factor on the board's resistance at the hump.
const HUMP: &str = "k_hump";
/// No board takes a greater one.
const GREATEST: f64 = 5.0;
/// Share by which it may be greater (one standard uncertainty; half as much less): 68 % lie between 0.75 and 1.5, as the
/// board's page has it.
pub(crate) const HUMP_SPREAD: f64 = 0.5;

/// The boards' factors at the hump as they stand, with their paths.
///
/// # Errors
/// The setup cannot be written out.
pub(crate) fn humps(craft: &Craft, kinds: &[PartKind]) -> Result<Vec<(String, f64)>, Diagnostics> {
    let has = |name: &str| {
        let kind = kinds.iter().find(|kind| kind.name == name);
        kind.is_some_and(|kind| describe(kind).params.iter().any(|p| p.key == HUMP))
    };
    let boards = craft.setup.instances().filter(|(_, kind, _)| has(kind));
    let names: Vec<String> = boards.map(|(name, ..)| name.to_string()).collect();
    if names.is_empty() {
        return Ok(Vec::new());
    }
    let whole = craft.setup.write(kinds)?;
    let now = |name: &String| units::parse(value(&whole, name, HUMP)?, NUMBER).ok();
    Ok(names.iter().filter_map(|name| Some((format!("{name}.{HUMP}"), now(name)?))).collect())
}

/// Draws of such factors, two by two; each begins from `centre`. The distribution is log-normal: at a spread of 50 % its
/// 68 % reach from 0.75 to 1.5, and its median is their geometric mean.
pub(crate) fn hump_draws(
    humps: &[(String, f64)],
    spread: f64,
    centre: &[(String, f64)],
) -> Vec<Vec<(String, f64)>> {
    let mut all = Vec::new();
    for (path, now) in humps.iter().filter(|_| spread > 0.0) {
        for factor in [1.0 + spread, 1.0 - 0.5 * spread] {
            let mut draw = centre.to_vec();
            draw.push((path.clone(), (factor * now).min(GREATEST)));
            all.push(draw);
        }
    }
    all
}

/// Each of the four unknowns of the propeller, and each board's factor at the hump, moved up and down alone, by its
/// standard uncertainty; those that are not in doubt stay. The
/// law of propagation with differences in the place of slopes (JCGM 100:2008, 5.1.3, note 2).
pub fn draws(blades: &Blades, humps: &[(String, f64)], doubt: &Doubt) -> Vec<Vec<(String, f64)>> {
    let [t, q, a, b] = blades.factors;
    let deviations = [t * doubt.thrust, q * doubt.torque, doubt.exponent, doubt.exponent];
    let mut all = Vec::new();
    for (k, deviation) in deviations.into_iter().enumerate().filter(|(_, d)| *d > 0.0) {
        for sign in [1.0, -1.0] {
            let mut values = [t, q, a, b];
            values[k] += sign * deviation;
            let changes =
                FACTORS.iter().zip(values).map(|(key, value)| (format!("{}.{key}", blades.part), value));
            all.push(changes.collect());
        }
    }
    all.extend(hump_draws(humps, doubt.hump, &[]));
    // without any doubt one draw is left, and its spread is nil
    if all.is_empty() {
        all.push(Vec::new());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blades() -> Blades {
        Blades { part: "p".into(), already: None, factors: [0.9, 1.1, 0.1, 0.0], notes: Vec::new() }
    }

    #[test]
    fn the_hump_is_drawn_as_the_boards_page_has_it() {
        let doubt = Doubt { thrust: 0.0, torque: 0.0, exponent: 0.0, hump: HUMP_SPREAD };
        let drawn = draws(&blades(), &[("b.k_hump".into(), 1.2)], &doubt);
        // 0.75 and 1.5 of what it is
        assert_eq!(drawn, [[("b.k_hump".to_string(), 1.5 * 1.2)], [("b.k_hump".to_string(), 0.75 * 1.2)]]);
    }

    #[test]
    fn draws_have_the_spreads_that_were_asked_for() {
        let blades = blades();
        for doubt in [
            Doubt { thrust: 0.06, torque: 0.08, exponent: 0.3, hump: 0.0 },
            Doubt { thrust: 0.06, torque: 0.0, exponent: 0.0, hump: 0.5 },
        ] {
            let draws = draws(&blades, &[], &doubt);
            let wanted = [0.9 * doubt.thrust, 1.1 * doubt.torque, doubt.exponent, doubt.exponent];
            assert_eq!(draws.len(), 2 * wanted.iter().filter(|w| **w > 0.0).count());
            for (k, wanted) in wanted.into_iter().enumerate() {
                let moved = draws.chunks(2).map(|pair| 0.5 * (pair[0][k].1 - pair[1][k].1));
                let sd = moved.map(|d| d * d).sum::<f64>().sqrt();
                let centred = draws
                    .chunks(2)
                    .all(|pair| (0.5 * (pair[0][k].1 + pair[1][k].1) - blades.factors[k]).abs() < 1e-12);
                // round-off
                assert!(centred && (sd - wanted).abs() < 1e-12, "{k}");
            }
        }
        let sure = Doubt { thrust: 0.0, torque: 0.0, exponent: 0.0, hump: 0.0 };
        assert_eq!(super::draws(&blades, &[("b.k_hump".into(), 1.0)], &sure), [Vec::new()]);
    }
}
