//! Whether a craft gets over the drag hump: one notion, for all who tell it.
//!
//! A craft that gathers speed passes through every speed on its way. It gets over where the margin is positive at
//! each of them, coming from below, up to where the board has all but come clear; the greatest resistance alone
//! does not tell, as the thrust falls on. What is told has to rest on equilibria that hang together: where they
//! end before, resistance may rise further than was seen.

use super::findings::{Mark, extreme};
use super::station::Station;
use super::stretches::cross_over;
use super::sweep::Curve;
use engine::balance::Point;

/// Share of the weight on the board below which its hump is behind: as in a verdict.
pub(super) const AFLOAT: f64 = 0.2;
/// Share of the speed of the hump below which a missing equilibrium hides none.
const SLOW: f64 = 0.5;

/// Where the way from below is not seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unseen {
    /// The equilibria end at this speed, m/s.
    Beyond {
        /// Of the last of them, m/s.
        speed: f64,
        /// Whether the rider is at the end of his reach there.
        out_of_reach: bool,
    },
    /// The speeds that were asked for end here, m/s.
    Last(f64),
    /// They begin here, m/s, where resistance falls already.
    First(f64),
    /// The equilibria begin at this speed only, m/s.
    Before(f64),
}

impl Unseen {
    /// Where seeing ends or begins, m/s.
    pub fn speed(self) -> f64 {
        match self {
            Unseen::Beyond { speed, .. }
            | Unseen::Last(speed)
            | Unseen::First(speed)
            | Unseen::Before(speed) => speed,
        }
    }
}

/// The way over the hump, coming from below.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Over {
    /// Least margin on it, as far as it is seen; none where the board carries nothing.
    pub least: Option<Mark>,
    /// Least margin up to the top: where, past the greatest resistance, the margin begins to rise again; none
    /// where it falls all the way.
    pub top: Option<Mark>,
    /// Where it is not seen, before the board has all but come clear.
    pub unseen: Option<Unseen>,
    /// Speed at which the margin is used up, m/s: there a craft stays that comes from rest.
    pub stays: Option<f64>,
}

/// How far a craft gets that comes from rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passes {
    /// Over the hump, until the board has all but come clear.
    Over,
    /// Over its top, where resistance is greatest, but thrust falls short before the board comes clear.
    Top,
    /// Not over its top.
    No,
}

impl Over {
    /// How far it gets; none where that cannot be told.
    pub fn passes(&self) -> Option<Passes> {
        match (self.least?.margin() >= 0.0, self.unseen) {
            (false, _) if self.top.is_some_and(|top| top.margin() >= 0.0) => Some(Passes::Top),
            (false, _) => Some(Passes::No),
            (true, None) => Some(Passes::Over),
            (true, Some(_)) => None,
        }
    }

    /// Margin of the whole way, N; none where it is not seen whole.
    pub fn margin(&self) -> Option<f64> {
        self.least.filter(|_| self.unseen.is_none()).map(|least| least.margin())
    }

    /// Reads a curve. `hump`: greatest resistance on the water.
    pub(super) fn of(curve: &Curve, hump: Option<Mark>) -> Over {
        let Some(hump) = hump else { return Over::default() };
        let gauges = &curve.gauges;
        let behind = |p: &Point| gauges.flying(p) || gauges.on_board(p).is_some_and(|share| share <= AFLOAT);
        let mut way: Vec<&Station> = Vec::new();
        let mut clear = None;
        let mut unseen = None;
        for (&u, outcome) in curve.speeds.iter().zip(&curve.below) {
            match outcome {
                Ok(s) if behind(&s.point) => {
                    clear = Some(s);
                    break;
                }
                Ok(s) => way.push(s),
                Err(_) if u < SLOW * hump.speed => {}
                Err(_) => {
                    let Some(last) = way.last() else { continue };
                    let out_of_reach = gauges.out_of_reach(&last.point);
                    unseen = Some(Unseen::Beyond { speed: last.speed, out_of_reach });
                    break;
                }
            }
        }
        let (Some(first), Some(last)) = (way.first().copied(), way.last().copied()) else {
            return Over::default();
        };
        let asked = curve.speeds.first().is_some_and(|u| *u == first.speed);
        unseen = unseen.or(match clear {
            None => Some(Unseen::Last(last.speed)),
            _ if !asked && first.speed > SLOW * hump.speed => Some(Unseen::Before(first.speed)),
            _ if hump.speed <= first.speed && way.len() > 1 => Some(Unseen::First(first.speed)),
            _ => None,
        });
        // the place where it has come clear closes the way
        let end = clear.and_then(|clear| cross_over(curve, last, clear, behind));
        way.extend(end.as_ref());
        let spare = |p: &Point| -gauges.margin(p);
        let least = extreme(curve, &way, spare);
        let before = way.iter().rposition(|s| s.speed <= hump.speed).unwrap_or(0);
        let rises = (before..way.len().saturating_sub(1)).find(|&k| way[k + 1].margin > way[k].margin);
        let top = rises.and_then(|k| extreme(curve, &way[..=k + 1], spare));
        let short = way.windows(2).find(|w| w[0].margin >= 0.0 && w[1].margin < 0.0);
        let stays = short.and_then(|w| curve.level(w[0], w[1]));
        Over { least, top, unseen, stays }
    }
}
