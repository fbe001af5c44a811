//! One coefficient, K_T or K_Q, on and beyond the advance ratios it is given for.

use engine::real::Real;
use engine::root::bracketed;
use engine::table::Curve;

/// One cubic `c_0 + c_1 s + c_2 s² + c_3 s³`, s = J − start.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub start: f64,
    pub c: [f64; 4],
}

/// K(J) in the middle and its two quadratic forms `a n² + b n v + c v²`.
#[derive(Debug, Clone)]
pub(super) struct Coefficient {
    pieces: Box<[Piece]>,
    /// The end of the middle.
    pub j_c: f64,
    windmill: [f64; 3],
    astern: [f64; 3],
}

impl Coefficient {
    pub(super) fn new(pieces: Box<[Piece]>, j_c: f64, stopped: f64) -> Coefficient {
        let mut k = Coefficient { pieces, j_c, windmill: [0.0; 3], astern: [0.0; 3] };
        // Value and slope of a + b J − c J² match those of the middle at J_c, and
        // those of K(0) + K′(0) J + c J² at rest.
        let (value, slope) = k.middle_and_slope(j_c);
        let b = slope + 2.0 * stopped * j_c;
        k.windmill = [value - b * j_c + stopped * j_c * j_c, b, -stopped];
        let (value, slope) = k.middle_and_slope(0.0);
        k.astern = [value, slope, stopped];
        k
    }

    /// K times a constant, everywhere.
    pub(super) fn scaled(&self, factor: f64) -> Coefficient {
        let times = |piece: &Piece| Piece { start: piece.start, c: piece.c.map(|c| factor * c) };
        Coefficient {
            pieces: self.pieces.iter().map(times).collect(),
            j_c: self.j_c,
            windmill: self.windmill.map(|k| factor * k),
            astern: self.astern.map(|k| factor * k),
        }
    }

    fn piece(&self, j: f64) -> &Piece {
        let after = self.pieces.partition_point(|piece| piece.start <= j);
        &self.pieces[after.max(1) - 1]
    }

    fn middle<R: Real>(&self, j: R) -> R {
        let Piece { start, c } = self.piece(j.value());
        let s = j - *start;
        ((s * c[3] + c[2]) * s + c[1]) * s + c[0]
    }

    pub(super) fn middle_and_slope(&self, j: f64) -> (f64, f64) {
        let Piece { start, c } = self.piece(j);
        let s = j - start;
        (self.middle(j), c[1] + s * (2.0 * c[2] + 3.0 * c[3] * s))
    }

    /// n² K(v/n) and its continuations.
    pub(super) fn at<R: Real>(&self, n: R, v: R) -> R {
        if n.value() < 0.0 {
            return -self.turning_ahead(-n, -v);
        }
        self.turning_ahead(n, v)
    }

    fn turning_ahead<R: Real>(&self, n: R, v: R) -> R {
        let form = |[a, b, c]: [f64; 3]| (n * a + v * b) * n + v * v * c;
        if v.value() <= 0.0 {
            form(self.astern)
        } else if v.value() >= n.value() * self.j_c {
            form(self.windmill)
        } else {
            n * n * self.middle(v / n)
        }
    }
}

/// The cubics of a curve between knots; two knots or more.
pub(super) fn pieces(curve: &Curve, knots: &[f64]) -> Box<[Piece]> {
    let piece = |ends: &[f64]| {
        let (h, (y0, m0), (y1, m1)) =
            (ends[1] - ends[0], curve.value_and_slope(ends[0]), curve.value_and_slope(ends[1]));
        let d = (y1 - y0) / h;
        Piece { start: ends[0], c: [y0, m0, (3.0 * d - 2.0 * m0 - m1) / h, (m0 + m1 - 2.0 * d) / (h * h)] }
    };
    knots.windows(2).map(piece).collect()
}

/// First J at which K vanishes: in the middle, or else windmilling, where K falls like −J².
pub(super) fn zero(k: &Coefficient) -> f64 {
    let at = |j: f64| k.at(1.0, j);
    let step = k.j_c / 100.0;
    let mut j = 0.0;
    // K(0) > 0 and K → −∞, so a sign change comes; the cap only guards a table without blades.
    while at(j) > 0.0 && j < 100.0 * k.j_c {
        j += step;
    }
    bracketed(at, (j - step).max(0.0), j).unwrap_or(j)
}
