//! Two drives at the same throttle, side by side.

use serde_json::{Value, json};

use super::differs;
use super::reading::Reading;
use super::{Row, held::Held};

/// Less than this share is told as no difference: a drive's data are not known better.
const TELLING: f64 = 5e-3;

/// Which way a value differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    Less,
    Same,
    More,
}

impl Way {
    /// Of `b` against `a`, relative to the larger; both at least 0.
    pub fn of(a: f64, b: f64) -> Way {
        let share = (b - a) / a.abs().max(b.abs()).max(f64::MIN_POSITIVE);
        if share > TELLING {
            Way::More
        } else if share < -TELLING {
            Way::Less
        } else {
            Way::Same
        }
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Way::Less => "less",
            Way::Same => "as much",
            Way::More => "more",
        }
    }
}

/// Two readings at one throttle, A and B.
#[derive(Debug, Clone, Copy)]
pub struct Pair<'a> {
    pub a: &'a Reading,
    pub b: &'a Reading,
}

impl<'a> Pair<'a> {
    /// From two rows.
    pub fn of((a, b): (&'a Row, &'a Row)) -> Pair<'a> {
        Pair { a: &a.reading, b: &b.reading }
    }

    /// How B differs in a quantity.
    pub fn way(&self, of: impl Fn(&Reading) -> f64) -> Way {
        Way::of(of(self.a), of(self.b))
    }

    /// Both values of a quantity.
    pub fn both(&self, of: impl Fn(&Reading) -> f64) -> (f64, f64) {
        (of(self.a), of(self.b))
    }

    /// How B's propeller differs in the torque it asks for at the same speed; `None` if one stands still.
    pub fn asked(&self) -> Option<Way> {
        self.a.torque_per_revs2().zip(self.b.torque_per_revs2()).map(|(a, b)| Way::of(a, b))
    }

    /// What holds the two, and which way battery current, motor current, duty, speed, thrust and the
    /// propeller's demand differ: pairs of the same sort are explained alike.
    pub fn sort(&self) -> (Held, Held, bool, bool, [Way; 5], Option<Way>) {
        let ways = [
            self.way(|r| r.battery_current),
            self.way(|r| r.motor_current),
            self.way(|r| r.duty),
            self.way(|r| r.omega),
            self.way(|r| r.thrust),
        ];
        (self.a.held, self.b.held, self.a.by_throttle(), self.b.by_throttle(), ways, self.asked())
    }
}

/// A pair for a machine; the words compare B with A.
pub fn values(pair: &Pair) -> Value {
    json!({
        "throttle": pair.a.throttle,
        "held_by": [pair.a.held.code(), pair.b.held.code()],
        "battery_current": pair.way(|r| r.battery_current).word(),
        "motor_current": pair.way(|r| r.motor_current).word(),
        "thrust": pair.way(|r| r.thrust).word(),
        "duty": pair.way(|r| r.duty).word(),
        "shaft_speed": pair.way(|r| r.omega).word(),
        "torque_per_speed_squared": pair.asked().map(Way::word),
        "in_words": differs::in_words(pair),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_below_half_a_per_cent_are_none() {
        let cases = [
            (100.0, 100.4, Way::Same),
            (100.0, 101.0, Way::More),
            (100.0, 99.0, Way::Less),
            (0.0, 0.0, Way::Same),
        ];
        for (a, b, way) in cases {
            assert_eq!(Way::of(a, b), way, "{a} {b}");
        }
        // the same difference whichever comes first
        assert_eq!((Way::of(0.0, 1.0), Way::of(1.0, 0.0)), (Way::More, Way::Less));
    }
}
