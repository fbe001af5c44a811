//! A curve for a spreadsheet and for a machine.

use serde_json::{Map, Value, json};

use super::findings::{Findings, Mark};
use super::over::{Passes, Unseen};
use super::station::Station;
use super::stretches::{Gap, Stretch};
use super::sweep::{Curve, Outcome};

/// A column: heading, and what stands in it.
type Column = (String, Box<dyn Fn(&Station) -> Value>);

fn column(heading: impl Into<String>, read: impl Fn(&Station) -> Value + 'static) -> Column {
    (heading.into(), Box::new(read))
}

/// All columns that depend on the station alone.
fn columns(curve: &Curve) -> Vec<Column> {
    let mut all = vec![
        column("speed [m/s]", |s| json!(s.speed)),
        column("resistance [N]", |s| json!(s.resistance)),
        column("net_thrust [N]", |s| json!(s.thrust)),
        column("margin [N]", |s| json!(s.margin)),
        column("acceleration [m/s²]", |s| json!(s.acceleration)),
        column("limits", |s| json!(s.limits.join("; "))),
    ];
    for (k, name) in curve.gauges.resisting().enumerate() {
        all.push(column(format!("resistance.{name} [N]"), move |s| json!(s.by_part.get(k))));
    }
    all.extend([
        column("pitch [deg]", |s| json!(s.pitch.to_degrees())),
        column("cg_depth [m]", |s| json!(s.depth)),
        column("clearance [m]", |s| json!(s.clearance)),
        column("weight on board [1]", |s| json!(s.on_board)),
        column("weight on wings [1]", |s| json!(s.on_wings)),
        column("reach_used [1]", |s| json!(s.reach)),
        column("rider_shift [m]", |s| json!(s.shift)),
        column("shift_pace [m/s]", |s| json!(s.shift_pace)),
        column("slowest decay [s]", |s| json!(s.stability.as_ref().and_then(|k| k.slowest))),
        column("least damped [Hz]", |s| json!(least(s).map(|(f, _)| f))),
        column("damping ratio [1]", |s| json!(least(s).map(|(_, ratio)| ratio))),
        column("growth [1/s]", |s| {
            json!(s.stability.as_ref().and_then(|k| k.unstable.first()).map(|(g, _)| *g))
        }),
    ]);
    all
}

fn least(s: &Station) -> Option<(f64, f64)> {
    s.stability.as_ref()?.least_damped
}

/// Headings and rows: at each throttle every speed from below, then from above where that differs.
pub fn table(curves: &[Curve]) -> (Vec<String>, Vec<Vec<Value>>) {
    let (mut headings, mut rows) = (Vec::new(), Vec::new());
    for curve in curves {
        let columns = columns(curve);
        headings = ["throttle [1]", "way"].map(String::from).to_vec();
        headings.extend(columns.iter().map(|(heading, _)| heading.clone()));
        headings.push("why none".into());
        let row = |way: &str, speed: f64, outcome: &Outcome| {
            let mut cells = vec![json!(curve.throttle), json!(way)];
            match outcome {
                Ok(station) => {
                    cells.extend(columns.iter().map(|(_, read)| read(station)));
                    cells.push(Value::Null);
                }
                Err(why) => {
                    cells.push(json!(speed));
                    cells.extend((1..columns.len()).map(|_| Value::Null));
                    cells.push(json!(why.to_string()));
                }
            }
            cells
        };
        let speeds = &curve.speeds;
        rows.extend(speeds.iter().zip(&curve.below).map(|(u, outcome)| row("from below", *u, outcome)));
        let differing = speeds.iter().zip(&curve.above).zip(&curve.same).filter(|(_, same)| !**same);
        rows.extend(differing.map(|((u, outcome), _)| row("from above", *u, outcome)));
    }
    (headings, rows)
}

/// A curve at one throttle for a machine; angles in degrees, else SI.
pub fn document(curve: &Curve, found: &Findings) -> Map<String, Value> {
    let columns = columns(curve);
    let way = |way: &[Outcome]| -> Value {
        let one = |(outcome, speed): (&Outcome, &f64)| match outcome {
            Ok(station) => {
                let cells = columns.iter().map(|(name, read)| (name.clone(), read(station)));
                let mut entry: Map<String, Value> = cells.collect();
                entry.insert("limits".into(), json!(station.limits));
                Value::Object(entry)
            }
            Err(why) => json!({ "speed [m/s]": speed, "none": why.to_string() }),
        };
        way.iter().zip(&curve.speeds).map(one).collect()
    };
    let mark = |m: Option<Mark>| {
        m.map(|m| json!({ "speed [m/s]": m.speed, "net_thrust [N]": m.thrust, "resistance [N]": m.resistance, "margin [N]": m.margin() }))
    };
    let stretch = |s: &Stretch| {
        let growth =
            s.growth.map(|(growth, hertz)| json!({ "growth [1/s]": growth, "frequency [Hz]": hertz }));
        json!({ "what": s.what, "from [m/s]": s.from, "to [m/s]": s.to, "from_below": s.from_below, "fastest": growth })
    };
    let stretches = |all: &[Stretch]| all.iter().map(stretch).collect::<Vec<Value>>();
    let mut all = Map::new();
    let mut put = |key: &str, value: Value| _ = all.insert(key.into(), value);
    put("throttle [1]", json!(curve.throttle));
    put("weight [N]", json!(curve.weight));
    put("at_lowest_speed", json!(mark(found.slowest)));
    put("hump", json!(mark(found.hump)));
    put(
        "passes_hump",
        json!(found.over.passes().map(|passes| match passes {
            Passes::Over => "yes",
            Passes::Top => "its top only",
            Passes::No => "no",
        })),
    );
    put("least_margin_at_top_of_hump", json!(mark(found.over.top)));
    put("least_margin_over_hump", json!(mark(found.over.least)));
    put("way_over_hump_not_seen_at [m/s]", json!(found.over.unseen.map(Unseen::speed)));
    put("stays_before_hump_at [m/s]", json!(found.over.stays));
    put("least_margin_before_take_off", json!(mark(found.tightest)));
    put("take_off_speed [m/s]", json!(found.take_off));
    put("slowest_flight [m/s]", json!(found.slowest_flight));
    put("top_speed [m/s]", json!(found.top_speed));
    put("margin_left_at_last_speed", json!(found.faster));
    put("limits", json!(stretches(&found.limits)));
    put("not_held", json!(stretches(&found.short)));
    put("unstable", json!(stretches(&found.unstable)));
    put("out_of_reach", json!(stretches(&found.out_of_reach)));
    put("two_equilibria", json!(found.twofold));
    let gap = |g: &Gap| {
        json!({ "from [m/s]": g.from, "to [m/s]": g.to, "rider_out_of_reach": g.out_of_reach,
            "coming_from_below": g.why[0], "coming_from_above": g.why[1] })
    };
    put("no_equilibrium", found.none.iter().map(gap).collect());
    put("from_below", way(&curve.below));
    put("from_above", way(&curve.above));
    all
}
