//! The mast: a strut from the board down to the wing.

pub mod strut;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::smooth;
use engine::units::{FRACTION, LENGTH, MASS, NUMBER};

use crate::handbook::body_point::{Body, Point, Water, Wrench};
use crate::handbook::{G, mass};
use crate::nomenclature::{BOARD_LENGTH, ENERGY_SINK, WETTED_LENGTH};
use strut::{Spray, Strut};

/// Entry in the list of parts.
pub const PART: PartKind =
    PartKind { name: "mast", about: "the strut between board and wing, through the surface", read };

/// Length of the mast under water.
pub const IMMERSED_LENGTH: Kind = Kind::single("immersed_length", "m", "length of the mast under water");

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let length =
        p.value("length", LENGTH, "from the board's bottom to the foot").within(0.05, 2.0).required();
    let chord = p.value("chord", LENGTH, "chord c").within(0.02, 0.4).usual(0.08, 0.16).or("120 mm");
    let thickness = p.value("thickness", LENGTH, "thickness t").within(0.002, 0.1).or("16 mm");
    let forward = p.value("forward", LENGTH, "middle of its chord forward of the tail").required();
    let mass = p.value("mass", MASS, "mass").within(0.0, 50.0).required();
    let laminar = p
        .value("laminar", FRACTION, "laminar share of the boundary layer")
        .within(0.0, 1.0)
        .source("towed struts at Re 6e5: uncertain, about half-way")
        .or("0.5");
    let c_d = p
        .value("drag", NUMBER, "profile drag coefficient; from friction and thickness if left out")
        .within(0.0, 0.2)
        .optional();
    let spray = p.choice("spray", &["towed", "hoerner", "chapman"], "form of the spray drag").or("towed");
    let corners =
        p.count("corners", "corners with wing or pod at the foot, for junction drag").within(0, 8).or(1);
    p.part(|| {
        if thickness > 0.5 * chord {
            let problem = "more than half the chord, not a streamlined section";
            return Err(Invalid::at("thickness", problem));
        }
        let spray = match spray {
            "hoerner" => Spray::Hoerner,
            "chapman" => Spray::Chapman,
            _ => Spray::Towed,
        };
        let strut = Strut::new((chord, thickness, length), laminar, c_d, spray, f64::from(corners));
        Ok(Mast { strut, forward, mass })
    })
}

struct Mast {
    strut: Strut,
    forward: f64,
    mass: f64,
}

/// Force against the motion of a point through the water, D along −v/V.
fn against(drag: f64, point: Point, stream: f64, speed: f64) -> (Point, f64, f64) {
    let per_speed = -drag / (speed + f64::MIN_POSITIVE);
    (point, per_speed * (point.v_x - stream), per_speed * point.v_z)
}

impl Part for Mast {
    fn declare(&self, m: &mut Declare) {
        let (forward, length) = (self.forward, self.strut.length);
        mass::place(
            m,
            mass::Mass {
                mass: self.mass,
                forward,
                below: 0.5 * length,
                inertia: self.mass * length * length / 12.0,
            },
        );

        m.equation("drag and buoyancy", |e| {
            let body = Body::reads(e);
            let water = Water::reads(e);
            let (wetted, board) = (e.reads_or(&WETTED_LENGTH, 0.0), e.reads_or(&BOARD_LENGTH, 1.0));
            let wrench = Wrench::adds(e);
            let immersed = e.writes(&IMMERSED_LENGTH);
            let [profile, spray, junction, buoyancy, current] =
                ["profile", "spray", "junction", "buoyancy", "current"]
                    .map(|label| e.adds_as(&ENERGY_SINK, label));
            let strut = self.strut.clone();
            let section = strut::section_area(strut.chord, strut.thickness);
            move |at| {
                let (rho, nu, stream) = (at[water.rho], at[water.nu], at[water.current]);
                let foot = body.point(at, forward, length);
                let wet = strut::immersed_length(foot.depth, length, body.pitch(at).1);
                let middle = body.point(at, forward, length - 0.5 * wet);
                let surface = body.point(at, forward, length - wet);
                let speed = |point: &Point| {
                    let v_x = point.v_x - stream;
                    (v_x * v_x + point.v_z * point.v_z).sqrt()
                };

                let (v_middle, v_surface, v_foot) = (speed(&middle), speed(&surface), speed(&foot));
                let d_profile = wet * strut.profile(v_middle, rho, nu);
                let emerged = 1.0 - smooth::smoothstep(at[wetted] / (0.1 * at[board]));
                let d_spray = strut.spray(v_surface, rho, G, emerged, wet);
                let d_junction = strut.junction(v_foot, rho, foot.depth);
                let float = rho * G * section * wet;

                let forces = [
                    against(d_profile, middle, stream, v_middle),
                    against(d_spray, surface, stream, v_surface),
                    against(d_junction, foot, stream, v_foot),
                    (middle, 0.0, -float),
                ];
                wrench.put(at, &forces, 0.0);

                at[profile] = d_profile * v_middle;
                at[spray] = d_spray * v_surface;
                at[junction] = d_junction * v_foot;
                at[buoyancy] = float * middle.v_z;
                at[current] = -(forces[0].1 + forces[1].1 + forces[2].1) * stream;
                at[immersed] = wet;
            }
        });
    }
}
