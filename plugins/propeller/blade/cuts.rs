//! Three ways to make a blade smaller. Each takes what is removed, x \[m\], and returns the cut blade.
//!
//! Only the outline is changed: pitch stays where it was. **How the new edges are finished is not described**; a
//! blunt edge costs torque and thrust and noise.

use super::{Blade, BladeError, Station};

/// Share of the blade's length outside the hub that a cut must leave: with less there is no blade to speak of.
const LEAST: f64 = 1.0 / 3.0;

fn check(blade: &Blade, removed: f64, left: f64) -> Result<(), BladeError> {
    let hub = blade.hub_radius();
    if !(removed.is_finite() && removed >= 0.0) {
        return Err(BladeError::NoCut { removed });
    }
    if left - hub < LEAST * (blade.tip_radius() - hub) {
        return Err(BladeError::NothingLeft { removed, hub, left });
    }
    Ok(())
}

/// Tip turned off on a lathe: the blade ends bluntly at R − x, all else stays.
///
/// # Errors
/// x is negative or leaves less than a third of the blade.
pub fn tip_turned_off(blade: &Blade, removed: f64) -> Result<Blade, BladeError> {
    let tip = blade.tip_radius() - removed;
    check(blade, removed, tip)?;
    if removed == 0.0 {
        return Ok(blade.clone());
    }
    let mut stations: Vec<Station> = blade.stations().iter().filter(|s| s.r < tip).copied().collect();
    stations.push(blade.at(tip));
    Blade::new(blade.blades(), stations)
}

/// Samples either side of a radius for the distance of an edge.
const SAMPLES: i32 = 24;

/// Outline set back by x all round, square to the edge: leading edge, trailing edge and tip; not at the hub.
///
/// A point stays if a circle of radius x around it lies wholly within the old outline. A tip that is rounded more
/// sharply than x loses a little more than x of radius.
///
/// # Errors
/// x is negative or leaves less than a third of the blade.
pub fn outline_set_back(blade: &Blade, removed: f64) -> Result<Blade, BladeError> {
    check(blade, removed, blade.tip_radius() - removed)?;
    if removed == 0.0 {
        return Ok(blade.clone());
    }
    let end = blade.tip_radius() - removed;
    let fine = blade.refined();
    let set_back = |r: f64| {
        let mut station = fine.at(r);
        let edges = (-SAMPLES..=SAMPLES).map(|k| {
            let along = removed * f64::from(k) / f64::from(SAMPLES);
            let across = (removed * removed - along * along).max(0.0).sqrt();
            // below the hub the blade goes on as at the hub
            let there = fine.at((r + along).max(blade.hub_radius()));
            (there.leading - across, there.trailing - across)
        });
        let (leading, trailing) = edges
            .fold((f64::INFINITY, f64::INFINITY), |(l, t), (leading, trailing)| {
                (l.min(leading), t.min(trailing))
            });
        (station.leading, station.trailing) = (leading, trailing);
        station
    };
    let inner = fine.stations().iter().map(|s| s.r).filter(|&r| r < end);
    let all: Vec<Station> = inner.chain([end]).map(set_back).collect();
    // up to where the edges meet
    let meet = all.iter().position(|s| s.chord() <= 0.0);
    let mut stations = all[..meet.unwrap_or(all.len())].to_vec();
    if let Some(k) = meet
        && let (Some(before), Some(after)) = (k.checked_sub(1).map(|k| all[k]), all.get(k))
    {
        let share = before.chord() / (before.chord() - after.chord());
        let between = |x: f64, y: f64| x + share * (y - x);
        let leading = between(before.leading, after.leading);
        let r = between(before.r, after.r);
        if r > before.r {
            let pitch = between(before.pitch, after.pitch);
            stations.push(Station { r, leading, trailing: -leading, pitch });
        }
    }
    check(blade, removed, stations.last().map_or(0.0, |s| s.r))?;
    Blade::new(blade.blades(), stations)
}

/// Every length of the propeller, hub and pitch with it, times 1 − x/R: a smaller propeller of the same drawing,
/// which no file makes. It is the yardstick for the other two.
///
/// # Errors
/// x is negative or leaves less than a third of the blade's length.
pub fn scaled(blade: &Blade, removed: f64) -> Result<Blade, BladeError> {
    let factor = 1.0 - removed / blade.tip_radius();
    let (hub, length) = (blade.hub_radius(), blade.tip_radius() - blade.hub_radius());
    check(blade, removed, hub + factor * length)?;
    let times = |s: &Station| Station {
        r: factor * s.r,
        leading: factor * s.leading,
        trailing: factor * s.trailing,
        pitch: factor * s.pitch,
    };
    Blade::new(blade.blades(), blade.stations().iter().map(times).collect())
}
