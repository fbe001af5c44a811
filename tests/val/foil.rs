//! Wing, stall and wave drag against theory and towed or blown models.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use foilborne::foil::added_mass::added_mass;
use foilborne::foil::forces::{Flow, Geometry, WAVE_FACTOR, Wing};
use foilborne::foil::wing::{self, Section};

/// Rows of a reference table without its heading.
pub fn rows(name: &str) -> Vec<csv::StringRecord> {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap();
    reader.records().map(Result::unwrap).collect()
}

pub fn number(row: &csv::StringRecord, column: usize) -> f64 {
    row[column].trim().parse().unwrap()
}

fn quantity(rows: &[csv::StringRecord], case: &str, name: &str) -> f64 {
    let row = rows.iter().find(|r| &r[0] == case && &r[1] == name);
    number(row.unwrap(), 2)
}

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    let off = (found / expected - 1.0).abs();
    assert!(off <= relative, "found {found}, expected {expected}: off by {off:.4}");
}

fn thin() -> Section {
    Section {
        lift_slope: TAU,
        zero_lift_angle: 0.0,
        c_l_max: 1.2,
        c_l_min: -1.2,
        c_l_ideal: 0.0,
        k_2: 0.01,
        c_m: 0.0,
        thickness: 0.12,
    }
}

fn geometry(span: f64, area: f64, section: Section) -> Geometry {
    Geometry {
        span,
        area,
        incidence: 0.0,
        delta: 0.0,
        wave_factor: 1.0,
        c_d0: Some(0.008),
        laminar: 0.5,
        section,
    }
}

/// Water moving past a level wing at angle of attack `alpha`, `speed` and `depth`.
fn flow(alpha: f64, speed: f64, depth: f64) -> Flow {
    Flow {
        v_x: speed * alpha.cos(),
        v_z: speed * alpha.sin(),
        sin_pitch: 0.0,
        cos_pitch: 1.0,
        depth,
        downwash: 0.0,
        rho: 1000.0,
        nu: 1.1e-6,
        g: 9.80665,
    }
}

/// Deep enough for every surface effect to be below round-off of the checks here.
const DEEP: f64 = 1e7;

#[test]
fn val_anderson_example_5_1() {
    let printed = rows("foil/finite_wing.csv");
    let of = |name| quantity(&printed, "Anderson 5.1", name);
    let slope = wing::lifting_line_slope(TAU, 8.0, 0.055);
    // the text carries three digits: 4.97, and 0.0867 per degree, half a unit of which is 0.06 %
    near(slope, of("a"), 1e-3);
    let c_l = slope * 5f64.to_radians();
    near(c_l, of("C_L"), 1e-3);
    // squared, and printed to three digits
    near(wing::induced_drag(c_l, 8.0, 0.055), of("C_Di"), 2.5e-3);
}

#[test]
fn val_anderson_example_5_2() {
    // C_Di = 0.01 at A = 6 and 5.4° from zero lift; the same wing with A = 10
    let c_l = (0.01 * PI * 6.0 / 1.055f64).sqrt();
    let a_6 = c_l / 5.4f64.to_radians();
    let a_0 = a_6 / (1.0 - a_6 * 1.055 / (PI * 6.0));
    let a_10 = wing::lifting_line_slope(a_0, 10.0, 0.055);
    let c_di = wing::induced_drag(a_10 * 5.4f64.to_radians(), 10.0, 0.055);
    let printed = rows("foil/finite_wing.csv");
    // printed to three digits after roundings on the way
    near(c_di, quantity(&printed, "Anderson 5.2", "C_Di"), 3e-3);
    // the inversion above is the forward formula's
    near(wing::lifting_line_slope(a_0, 6.0, 0.055), a_6, 1e-12);
}

#[test]
fn val_helmbold_limits() {
    // an endless wing is its section; 2a_0/(πA) is the first term left out
    near(wing::helmbold_slope(TAU, 1e9), TAU, 1e-8);
    // R. T. Jones, NACA Report 835 (1946): slender wing, a = πA/2
    near(wing::helmbold_slope(TAU, 1e-4), PI * 1e-4 / 2.0, 1e-4);
    // between them it lies below the lifting line of an elliptic wing, and near it when slender
    for aspect_ratio in [4.0, 8.0, 20.0] {
        let line = wing::lifting_line_slope(TAU, aspect_ratio, 0.0);
        let found = wing::helmbold_slope(TAU, aspect_ratio);
        assert!(found < line);
        // the next term of the series is 2/A²
        near(found, line, 2.0 / (aspect_ratio * aspect_ratio));
    }
}

#[test]
fn val_elliptic_wing_deep_down() {
    // lifting line, elliptic loading: D_i = L²/(½ρV² π b²) whatever the area; and the wing sits
    // in half of its far downwash, so D_i = L ε/2
    let wing = Wing::new(geometry(0.9, 0.12, thin()));
    let flow = flow(0.06, 5.0, DEEP);
    let at = wing.attitude(&flow);
    let f = wing.forces(&flow, &at, at.c_l);
    // surface terms at this depth are of order c/h
    near(f.induced, f.lift * f.lift / (0.5 * 1000.0 * 25.0 * PI * 0.81), 1e-6);
    near(f.induced, 0.5 * f.lift * wing.downwash(&at, at.c_l), 1e-6);
    near(at.c_l, wing.slope() * 0.06, 1e-6);
}

#[test]
fn val_wave_drag_of_towed_wings() {
    // Beaver and Zseleczky (2009), full-size wings towed at 6 m/s: C_Dw = k_w C_L² c/h with
    // k_w 0.022–0.039 (quoted). Chord and depth of those wings, 0.10–0.12 m and 3–5 chords, are
    // assumed. The factor was chosen on this band, so the check is that one number serves all three.
    for (chord, chords) in [(0.10, 3.0), (0.11, 4.0), (0.12, 5.0)] {
        let wing = Wing::new(Geometry {
            wave_factor: WAVE_FACTOR,
            ..geometry(10.0 * chord, 10.0 * chord * chord, thin())
        });
        let flow = flow(0.08, 6.0, chords * chord);
        let at = wing.attitude(&flow);
        let q_s = 18_000.0 * 10.0 * chord * chord;
        let k_w = wing.forces(&flow, &at, 0.4).wave / q_s / 0.16 * chords;
        assert!((0.0215..0.039).contains(&k_w), "{k_w}");
    }
}

#[test]
fn val_lift_builds_up_like_wagners() {
    // Wagner's function in R. T. Jones' form, 1 − 0.165 e^{−0.0455 s} − 0.335 e^{−0.3 s}, s in
    // half-chords (NACA Report 681, 1940, from memory)
    let wagner = |s: f64| 1.0 - 0.165 * (-0.0455 * s).exp() - 0.335 * (-0.3 * s).exp();
    let (chord, speed, step) = (0.12, 4.0, 1e-5);
    let (mut lagging, mut t, mut worst): (f64, f64, f64) = (0.0, 0.0, 0.0);
    while speed * t / chord < 12.0 {
        let off = wing::lagged_lift(1.0, lagging) - wagner(2.0 * speed * t / chord);
        worst = worst.max(off.abs());
        lagging += step * wing::lag_rate(1.0, lagging, speed, chord);
        t += step;
    }
    // one exponential for two: 0.05 of the final lift at most
    assert!(worst < 0.05, "{worst}");
}

#[test]
fn val_low_aspect_plate_to_25_degrees() {
    // semi-span aspect ratio 1 on a wall is a wing of A = 2; thin plate: no camber, stalls at 0.72
    let plate = Section { c_l_max: 0.72, c_l_min: -0.72, k_2: 0.0, thickness: 0.02, ..thin() };
    let mut given = geometry(2.0, 2.0, plate);
    given.c_d0 = Some(0.015);
    let wing = Wing::new(given);
    for row in rows("foil/low_aspect_plate.csv") {
        let (degrees, c_l, c_d) = (number(&row, 0), number(&row, 1), number(&row, 2));
        let flow = flow(degrees.to_radians(), 5.0, DEEP);
        let at = wing.attitude(&flow);
        let f = wing.forces(&flow, &at, at.c_l);
        let found_d = f.drag() / (0.5 * 1000.0 * 25.0 * 2.0);
        println!("{degrees}: {:.3} {c_l}, {found_d:.3} {c_d}", at.c_l);
        // Helmbold leaves out the lift of the side edges (a tenth at A = 2), the data are rounded
        // to 0.03
        assert!((at.c_l - c_l).abs() < 0.1 * c_l + 0.03, "{degrees}: {} {c_l}", at.c_l);
        // A sharp-edged plate has no leading-edge suction: C_D = C_D0 + C_L tan α, as measured.
        // The wing model keeps the suction until it stalls, so it reads low in between, up to
        // half at 10–15°; at 0–6° and past the stall it must agree (data ±0.02).
        if degrees <= 6.0 || degrees >= 20.0 {
            assert!((found_d - c_d).abs() < 0.15 * c_d + 0.02, "{degrees}: {found_d} {c_d}");
        } else {
            assert!((0.45 * c_d..1.1 * c_d).contains(&found_d), "{degrees}: {found_d} {c_d}");
        }
    }
}

#[test]
fn val_added_mass_of_a_plate() {
    for row in rows("foil/added_mass_plate.csv") {
        let (ratio, c_a) = (number(&row, 0), number(&row, 1));
        let found = added_mass(1000.0, ratio, 1.0) / (250.0 * PI * ratio);
        // printed to three decimals; rows between the table's points are interpolated
        assert!((found - c_a).abs() < 2e-3, "b/a {ratio}: {found} {c_a}");
    }
    // an endless strip: ρ π c²/4 per metre, exact potential flow
    near(added_mass(1000.0, 1e6, 1.0) / 1e6, 250.0 * PI, 1e-5);
}

#[test]
fn val_take_off_of_a_foiling_dinghy() {
    // 960 cm², A 13.8, take-off at 4.4 m/s with C_L 1.03 in sea water (design study of a
    // single-person foiling dinghy, 2025, quoted). The lift there is 98 kg: plausible for craft
    // and sailor, whose weight is not given. The model must carry it 0.8 m down without stalling.
    let span = (13.8f64 * 0.096).sqrt();
    let wing = Wing::new(geometry(span, 0.096, thin()));
    let lift = |alpha: f64| {
        let mut flow = flow(alpha, 4.4, 0.8);
        flow.rho = 1026.0;
        let at = wing.attitude(&flow);
        (at.c_l, wing.forces(&flow, &at, at.c_l).lift, at.stalled)
    };
    let alpha = engine::root::bracketed(|a| lift(a).0 - 1.03, 0.0, 0.25).unwrap();
    let (_, newtons, stalled) = lift(alpha);
    // C_L is printed to three digits, speed to two (±1 %)
    near(newtons, 1.03 * 0.5 * 1026.0 * 4.4 * 4.4 * 0.096, 0.01);
    assert!(stalled < 0.2, "{stalled}");
    // V = √(2W/(ρ S C_L)): a wing of 0.15 m² at C_L 0.9 carries 1000 N from 3.85 m/s (definition)
    near((2.0 * 1000.0 / (1000.0 * 0.15 * 0.9f64)).sqrt(), 3.85, 2e-3);
}

#[test]
fn val_symmetric_section_is_symmetric() {
    // mirror symmetry of the flow deep down: lift odd, drag even in the angle of attack
    let wing = Wing::new(geometry(0.9, 0.12, thin()));
    for degrees in [1.0f64, 8.0, 13.0, 40.0, 89.0, 120.0, 179.0] {
        let of = |alpha: f64| {
            let flow = flow(alpha, 4.0, DEEP);
            let at = wing.attitude(&flow);
            let f = wing.forces(&flow, &at, at.c_l);
            (f.lift, f.drag(), f.moment)
        };
        let (up, down) = (of(degrees.to_radians()), of(-degrees.to_radians()));
        // round-off of the sums
        assert!((up.0 + down.0).abs() < 1e-9 && (up.1 - down.1).abs() < 1e-9);
        assert!((up.2 + down.2).abs() < 1e-9 && up.1 > 0.0);
    }
}

#[test]
fn val_forces_vanish_at_rest_and_never_blow_up() {
    // dimensional analysis: forces go with V², so halving a small speed quarters them at least
    let wing = Wing::new(geometry(0.9, 0.12, thin()));
    let force = |v_x: f64, v_z: f64, depth: f64| {
        let mut flow = flow(0.0, 1.0, depth);
        (flow.v_x, flow.v_z) = (v_x, v_z);
        let at = wing.attitude(&flow);
        let f = wing.forces(&flow, &at, at.c_l);
        (f.x, f.z, f.moment)
    };
    assert_eq!(force(0.0, 0.0, 0.5), (0.0, 0.0, 0.0));
    for depth in [-1.0, 0.0, 0.01, 0.03, 0.5] {
        for i in 0..64 {
            let angle = f64::from(i) / 64.0 * TAU;
            for speed in [1e-300, 1e-9, 1e-3, 0.1, 5.0, 1e3] {
                let (x, z, m) = force(speed * angle.cos(), speed * angle.sin(), depth);
                assert!(x.is_finite() && z.is_finite() && m.is_finite());
                // no force feeds energy into the wing in still water
                let power = x * angle.cos() + z * angle.sin();
                assert!(power <= 1e-9 * (x.abs() + z.abs()), "{depth} {angle} {speed}");
                if depth <= 0.0 {
                    assert_eq!((x, z, m), (0.0, 0.0, 0.0));
                }
                if speed < 0.01 {
                    // C_D and C_L below 2, plus the wave drag, which is of higher order
                    assert!((x.abs() + z.abs()) <= 4.0 * 500.0 * 0.12 * speed * speed);
                }
            }
        }
    }
}

#[test]
fn val_broadside_is_a_plate() {
    // S. F. Hoerner, Fluid-Dynamic Drag (1965), ch. 3: plates across the stream C_D 1.17 (square)
    // to 1.98 (endless); Viterna's 1.11 + 0.018 A gives 1.13 to 1.3 for A 1–10
    let wing = Wing::new(geometry(0.9, 0.1, thin()));
    let flow = flow(FRAC_PI_2, 2.0, DEEP);
    let at = wing.attitude(&flow);
    let c_d = wing.forces(&flow, &at, at.c_l).drag() / (0.5 * 1000.0 * 4.0 * 0.1);
    assert!((1.17..1.5).contains(&c_d), "{c_d}");
}
