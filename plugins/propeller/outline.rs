//! A propeller of which one has a traced outline and some blade angles, nothing else.

use engine::part::Part;
use engine::setup::{Invalid, Params};
use engine::units::{ANGLE, LENGTH};
use std::f64::consts::TAU;

use super::blade::{Blade, BladeError, Station, expanded_chord, pitch_of_angle};
use super::cut::Cut;
use super::installation::Installation;
use super::series::PropellerSeries;

/// Blade angles a gauge may show, rad: above 75° a section hardly turns.
const ANGLES: (f64, f64) = (0.02, 1.31);

/// What was measured, SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// Z.
    pub blades: u32,
    /// r, leading edge ahead of the blade's line, trailing edge behind it; r ascending.
    pub outline: [Vec<f64>; 3],
    /// r, angle of the face against the plane of rotation; r ascending.
    pub angles: [Vec<f64>; 2],
    /// Where the hub ends; the first radius of the outline if not known.
    pub hub: Option<f64>,
    /// Whether the outline was seen along the shaft, so that sections are foreshortened.
    pub projected: bool,
}

impl Traced {
    /// Pitch at radius r: in a straight line between the radii of the angles, the same beyond them.
    fn pitch(&self, r: f64) -> f64 {
        let [radii, angles] = &self.angles;
        let known: Vec<(f64, f64)> =
            radii.iter().zip(angles).map(|(&r, &a)| (r, pitch_of_angle(r, a))).collect();
        let within = known.windows(2).find(|w| (w[0].0..=w[1].0).contains(&r));
        match (within, known.first(), known.last()) {
            (Some(w), ..) => w[0].1 + (r - w[0].0) / (w[1].0 - w[0].0) * (w[1].1 - w[0].1),
            (None, Some(first), _) if r < first.0 => first.1,
            (None, _, last) => last.map_or(0.0, |last| last.1),
        }
    }

    /// The expanded blade.
    ///
    /// # Errors
    /// The edges cross, or the hub lies beyond the tip.
    pub fn blade(&self) -> Result<Blade, BladeError> {
        let [radii, leading, trailing] = &self.outline;
        let seen = |(&r, (&leading, &trailing)): (&f64, (&f64, &f64))| Station {
            r,
            leading,
            trailing,
            pitch: self.pitch(r),
        };
        let rows: Vec<Station> = radii.iter().zip(leading.iter().zip(trailing)).map(seen).collect();
        // interpolated as it was seen, then laid out
        let as_seen = Blade::new(self.blades, rows)?.refined();
        let hub = self.hub.unwrap_or(as_seen.hub_radius());
        let outer = as_seen.stations().iter().filter(|s| s.r > hub).copied();
        let laid_out = |s: Station| {
            let pitch = self.pitch(s.r);
            let angle = (pitch / (TAU * s.r)).atan();
            let wide = |x: f64| if self.projected { expanded_chord(x, angle) } else { x };
            Station { leading: wide(s.leading), trailing: wide(s.trailing), pitch, ..s }
        };
        Blade::new(self.blades, [as_seen.at(hub)].into_iter().chain(outer).map(laid_out).collect())
    }
}

pub(super) fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let outline = p
        .table(
            "outline",
            &[("r", LENGTH), ("leading_edge", LENGTH), ("trailing_edge", LENGTH)],
            "one blade from hub to tip: leading edge ahead of a straight line from the centre, trailing edge behind it",
        )
        .rows(3)
        .ascending()
        .required();
    let angles = p
        .table(
            "blade_angle",
            &[("r", LENGTH), ("angle", ANGLE)],
            "angle of the blade's face against the plane of rotation at one to three radii",
        )
        .ascending()
        .required();
    let blades = p.count("blades", "number of blades Z").within(2, 7).or(3);
    let hub = p
        .value("hub_radius", LENGTH, "radius of the hub; the outline's first if left out")
        .within(0.002, 0.4)
        .optional();
    let seen = p
        .choice(
            "outline_is",
            &["projected", "expanded"],
            "how it was taken: seen along the shaft, as on a photograph, or laid out along the blade's sections",
        )
        .or("projected");
    let cut = Cut::read(p);
    let installation = Installation::read(p);
    p.part(|| {
        if let Some(angle) = angles[1].iter().find(|a| !(ANGLES.0..=ANGLES.1).contains(*a)) {
            let error = format!("{:.1}° is no blade angle; expected 1° to 75°", angle.to_degrees());
            return Err(Invalid::at("blade_angle", error).help("measure the face against the plane of rotation"));
        }
        let tip = outline[0].last().copied().unwrap_or(0.0);
        if hub.is_some_and(|hub| hub >= tip) {
            let error = format!("reaches to the tip, r = {tip} m");
            return Err(Invalid::at("hub_radius", error).help("give the radius, not the diameter"));
        }
        if !(0.015..=0.5).contains(&tip) {
            let error = format!("ends at r = {tip} m; expected a tip radius of 0.015 m to 0.5 m");
            return Err(Invalid::at("outline", error).help("r counts from the shaft's centre, with its unit"));
        }
        let traced = Traced { blades, outline, angles, hub, projected: seen == "projected" };
        let blade = traced.blade().map_err(|error| Invalid::at("outline", format!("the blade {error}")))?;
        let mut like = cut.equivalent(&blade, blade.area_ratio())?;
        like.advice.insert(
            0,
            "a traced blade is taken for the B-series propeller of its diameter, mean pitch, area and number of \
             blades: its sections and its true pitch are not known, so calibrate it with a bench reading"
                .into(),
        );
        PropellerSeries::of_blade(like, installation).map_err(|error| {
            Invalid::at("outline", format!("the series propeller of this blade {error}"))
                .help("it lies too far outside the series: see its pitch and area")
        })
    })
}
