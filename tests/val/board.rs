//! The board as a whole: Archimedes, Savitsky's plate, hulls that must be easier to push.

use std::collections::HashMap;

use engine::root;
use foilborne::board::forces::{Board, Coefficients, Forces, Water};
use foilborne::board::hull::{Attitude, Hull, Outline, Shape};
use foilborne::board::mercier_savitsky::{COEFFICIENTS, F_N_VOLUME, Residuary};
use foilborne::board::savitsky;
use foilborne::handbook::friction::c_f_ittc57;

/// A row of a reference table, by heading.
pub struct Row(HashMap<String, String>);

impl Row {
    /// The number under a heading.
    pub fn number(&self, heading: &str) -> f64 {
        self.0[heading].trim().parse().expect(heading)
    }
}

/// Rows of a table in `tests/reference`.
pub fn reference(name: &str) -> Vec<Row> {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).expect(&path);
    let rows: Result<Vec<_>, _> = reader.deserialize().collect();
    rows.unwrap().into_iter().map(Row).collect()
}

const WATER: Water = Water { rho: 1000.0, nu: 1.14e-6, g: 9.80665 };

fn board(shape: Shape) -> Board {
    Board {
        hull: Hull::new(&shape).unwrap(),
        residuary: Residuary::new(25.0, 0.6),
        coefficients: Coefficients { k_hump: 1.0, allowance: 0.0, c_d_nose: 0.6, heave_damping: 0.2 },
    }
}

/// A box, as long and high as the case needs: what the textbook cases are about.
fn barge(length: f64, beam: f64, height: f64) -> Board {
    board(Shape {
        length,
        beam,
        thickness: height,
        volume: length * beam * height,
        nose_length: 0.0,
        nose_rise: 0.0,
        outline: Outline::Square,
    })
}

fn short_board() -> Board {
    board(Shape {
        length: 1.8,
        beam: 0.7,
        thickness: 0.13,
        volume: 0.125,
        nose_length: 0.6,
        nose_rise: 0.12,
        outline: Outline::Round,
    })
}

/// Centre of gravity at the tail's lower edge, so that `depth` is the draught of the tail.
fn at_tail(tau_deg: f64, depth: f64) -> Attitude {
    let (sin, cos) = tau_deg.to_radians().sin_cos();
    Attitude { w: 0.0, q: 0.0, sin, cos, depth, cg_forward: 0.0, cg_below: 0.0 }
}

/// Steady run at trim τ with the board carrying `weight` \[N\]; draught as needed.
fn carrying(board: &Board, v: f64, tau_deg: f64, weight: f64) -> Forces {
    let run = |depth| board.forces(v, &at_tail(tau_deg, depth), WATER);
    let depth = root::bracketed(|d| run(d).total().z + weight, -0.5, 1.0).unwrap();
    let steady = run(depth);
    // vertical equilibrium, to round-off of the root in depth (1e-16 m × 1e4 N/m)
    assert!((steady.total().z + weight).abs() < 1e-8 * weight);
    steady
}

/// Archimedes: mass = ρ L b T, worked by hand: 100 kg on 2.0 m × 0.8 m floats at 62.5 mm.
#[test]
fn val_board_floats_at_the_draught_of_archimedes() {
    let board = barge(2.0, 0.8, 0.12);
    let lift = |d| -board.forces(0.0, &at_tail(0.0, d), WATER).total().z;
    let draught = root::bracketed(|d| lift(d) - 100.0 * WATER.g, 0.0, 0.12).unwrap();
    // exact by construction: round-off
    assert!((draught - 0.0625).abs() < 1e-12, "{draught}");
    // and no further than its volume
    assert!((lift(5.0) - 0.192 * 1000.0 * WATER.g).abs() < 1e-8);
}

/// Hydrostatics of a wedge: a box trimmed by τ with its tail at draught d displaces
/// ½ b l² tan τ, l = d/sin τ along the bottom, with its centroid a third of l from the tail and a
/// third of the tail's immersed height up.
#[test]
fn val_trimmed_box_displaces_a_wedge() {
    let board = barge(3.2, 0.7, 0.6);
    for tau in [1.0f64, 3.0, 8.0] {
        let (sin, cos) = tau.to_radians().sin_cos();
        let wetted = 1.7;
        let at = at_tail(tau, wetted * sin);
        let f = board.forces(0.0, &at, WATER);
        let wedge = 0.5 * 0.7 * wetted * wetted * sin / cos;
        let buoyancy = WATER.rho * WATER.g * wedge;
        // exact but for the 1 mm rounding of the waterline, (1 mm)²/(2 d²) with d ≥ 30 mm: 6e-4
        assert!((-f.total().z / buoyancy - 1.0).abs() < 6e-4, "{tau}");
        // each strip acts at its middle: that moves the moment by dx²/(2 l²) = 1.7e-3; the rounded
        // waterline lies three times as far out as the centroid: 3 × 3e-4 at 1°
        let expected = wedge_centroid(wetted, sin, cos);
        let arm = f.total().m / buoyancy;
        assert!((arm / expected - 1.0).abs() < 2.8e-3, "{tau}°: {arm}, {expected}");
    }
}

/// Horizontal distance from the tail to the centroid of a right-angled wedge of length `l` along
/// the bottom, cut square at the tail (corners: tail bottom, waterline end, tail waterline).
fn wedge_centroid(l: f64, sin: f64, cos: f64) -> f64 {
    // body coordinates of the corners (forward, up): (0, 0), (l, 0), (0, l tan τ)
    let (forward, up) = (l / 3.0, l * sin / cos / 3.0);
    forward * cos - up * sin
}

/// Savitsky (1964): load, drag and centre of pressure of a flat plate at
/// given draught and trim, foil off. The model must be Savitsky's once C_v ≥ 1.5.
#[test]
fn val_planing_board_is_savitskys_flat_plate() {
    let b = 0.7;
    let board = barge(3.2, b, 1.2);
    let mut worst = [0.0f64; 3];
    for c_v in [1.5, 2.0, 3.0, 4.5] {
        for tau in [2.0f64, 3.0, 4.0, 6.0, 10.0, 15.0] {
            for lambda_1 in [0.73, 1.0, 1.5, 2.0, 3.0, 3.6] {
                let v = c_v * (WATER.g * b).sqrt();
                let draught = lambda_1 * b * tau.to_radians().sin();
                let f = board.forces(v, &at_tail(tau, draught), WATER);

                let lambda = savitsky::wave_rise(lambda_1);
                let c_l = savitsky::lift_coefficient_flat(lambda, c_v, tau);
                let load = 0.5 * WATER.rho * v * v * b * b * c_l;
                let v_1 = v * savitsky::mean_velocity_ratio_squared(lambda, tau).sqrt();
                let c_f = c_f_ittc57(v_1 * lambda * b / WATER.nu);
                let viscous = savitsky::viscous_drag(WATER.rho, v_1, lambda, b, 0.0, c_f);
                let drag = savitsky::drag(load, viscous, tau);
                let l_p = savitsky::centre_of_pressure(lambda, c_v) * lambda * b;

                let cos = tau.to_radians().cos();
                let ours = f.total();
                let arm = (f.buoyancy.m + f.planing_lift.m) / f.load / cos;
                worst[0] = worst[0].max((-ours.z / load - 1.0).abs());
                worst[1] = worst[1].max((-ours.x / drag - 1.0).abs());
                worst[2] = worst[2].max((arm / l_p - 1.0).abs());
            }
        }
    }
    // the rounding of √λ near 0 costs 0.25 % at λ = 1; the printed C_p constants 5.21 and
    // 2.39 are rounded quotients (2.18 … 2.38) worth 0.4 %
    assert!(worst[0] < 0.004, "load {worst:?}");
    assert!(worst[1] < 0.004, "drag {worst:?}");
    assert!(worst[2] < 0.006, "centre of pressure {worst:?}");
}

/// A stubby board must be harder to push than longer hulls were measured to be
/// (`slenderer_hulls.csv`, and Beaver & Zseleczky 2009): a direction, not a value.
/// Compared from F_nL 0.5 to 0.7, the hump; above, a board planes and a hull of that length does not.
#[test]
fn val_hump_is_higher_than_of_slenderer_hulls() {
    let board = short_board();
    let weight = 100.0 * WATER.g;
    let resistance = |v: f64, tau| -carrying(&board, v, tau, weight).total().x / weight;
    for row in reference("mercier_savitsky_1973/slenderer_hulls.csv") {
        let f_n = row.number("f_n_length");
        if f_n > 0.7 {
            continue;
        }
        let v = f_n * (WATER.g * 1.8f64).sqrt();
        for tau in [2.0, 4.0, 7.0] {
            let least = row.number("r_per_weight") - row.number("uncertainty");
            assert!(resistance(v, tau) > least, "F_nL {f_n}, {tau}°");
        }
    }
    for i in 6..=30 {
        let v = 0.1 * i as f64;
        assert!(resistance(v, 4.0) > 5.6e-3 * v * v, "{v} m/s");
    }
}

/// Mercier & Savitsky (1973), Table VI, as transcribed: no digit lost on the way into the program.
#[test]
fn val_mercier_savitsky_coefficients() {
    let rows = reference("mercier_savitsky_1973/table_6.csv");
    assert_eq!(rows.len(), COEFFICIENTS.len());
    for (row, ours) in rows.iter().zip(COEFFICIENTS) {
        for (f, ours) in F_N_VOLUME.iter().zip(ours) {
            assert_eq!(row.number(&format!("{f:.1}")), ours);
        }
    }
}

/// Our own earlier evaluation of the regression; no published example exists.
#[test]
fn regress_mercier_savitsky_reference_hull() {
    for row in reference("mercier_savitsky_1973/own_results.csv") {
        let (u, w) = (row.number("u"), row.number("w"));
        let residuary = Residuary::new(0.5 * u * u, w);
        let (x, z) = (row.number("x"), row.number("z"));
        let found = residuary.total_100000_lb(row.number("f_n_volume"), x, z).0;
        // X, Z and U are kept to four figures: up to 1e-4 in a ratio near 0.1
        let kept = row.number("r_per_weight");
        assert!((found - kept).abs() < 2e-4, "{found}, kept {kept}");
    }
}

/// Resistance ÷ weight of the short board, 100 kg at 4°, from rest through the hump.
/// Our own results: to notice changes, not to prove them right.
#[test]
fn regress_hump_of_a_short_board() {
    let board = short_board();
    let weight = 100.0 * WATER.g;
    let kept = [(1.0, 0.0121), (2.0, 0.0588), (2.5, 0.1443), (3.0, 0.1425), (4.0, 0.1052), (5.0, 0.1159)];
    for (v, kept) in kept {
        let found = -carrying(&board, v, 4.0, weight).total().x / weight;
        // kept to four decimals
        assert!((found - kept).abs() < 6e-5, "{v} m/s: {found:.5}");
    }
}
