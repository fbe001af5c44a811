//! Balances of tiny models whose equilibria are known by hand.

mod branches;
mod linear;
mod points;

use std::sync::Arc;

use super::*;
use crate::model::{Declare, Instance};
use crate::part::Part;
use crate::quantity::Kind;

const X: Kind = Kind::single("x", "m", "");
const Y: Kind = Kind::single("y", "m/s", "");
const R: Kind = Kind::single("r", "1", "");
const SQUARE: Kind = Kind::single("square", "m²", "");

/// ẋ = f(x, r).
struct Line(fn(f64, f64) -> f64);
impl Part for Line {
    fn declare(&self, m: &mut Declare) {
        let f = self.0;
        m.state(&X, 0.0, 1.0);
        m.input(&R, 0.0).within(-10.0, 10.0);
        m.equation("flow", |e| {
            let (x, r, dx) = (e.reads(&X), e.reads(&R), e.rate_of(&X));
            move |at| at[dx] = f(at[x], at[r])
        });
        // only looked at: no rate depends on it
        m.equation("square", |e| {
            let (x, square) = (e.reads(&X), e.writes(&SQUARE));
            move |at| at[square] = at[x] * at[x]
        });
    }
}

/// (ẋ, ẏ) = f(x, y, r); y has another usual size than x.
struct Plane(fn(f64, f64, f64) -> (f64, f64));
impl Part for Plane {
    fn declare(&self, m: &mut Declare) {
        let f = self.0;
        m.state(&X, 0.0, 1.0);
        m.state(&Y, 0.0, 4.0);
        m.input(&R, 0.0);
        m.equation("flow", |e| {
            let (x, y, r) = (e.reads(&X), e.reads(&Y), e.reads(&R));
            let (dx, dy) = (e.rate_of(&X), e.rate_of(&Y));
            move |at| (at[dx], at[dy]) = f(at[x], at[y], at[r])
        });
    }
}

/// The model of one part, with x, y (if there is one) and r.
struct Tiny {
    model: Arc<Model>,
    x: Probe,
    y: Option<Probe>,
    r: Probe,
}

fn tiny(part: impl Part + 'static) -> Tiny {
    let instance = Instance { name: "a".into(), part: Arc::new(part), from: vec![] };
    let model = Arc::new(Model::build(vec![instance]).unwrap());
    let find = |name: &str| model.find(name);
    let (x, y, r) = (find("a.x").unwrap(), find("a.y"), find("a.r").unwrap());
    Tiny { model, x, y, r }
}

impl Tiny {
    /// x (and y) free without bounds and at rest, r held.
    fn balance(&self, r: f64) -> Balance {
        let mut balance = Balance::of(&self.model);
        assert!(balance.hold(self.r, r));
        for probe in [Some(self.x), self.y].into_iter().flatten() {
            let size = if probe == self.x { 1.0 } else { 4.0 };
            assert!(balance.free(probe, f64::NEG_INFINITY, f64::INFINITY, size));
            assert!(balance.rest(probe));
        }
        balance
    }
}
