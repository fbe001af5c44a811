//! The answer for a person.

use engine::text_table::{figure, paragraph, table};

use super::bound::{Best, disagreement};
use super::outlook::{Measure, Stage};
use super::plan::{Advice, Plan};
use super::states::THROTTLE;
use super::table::{measures, stages};
use super::{Doubt, Found, Hump, Planned};
use crate::steady::tub::text as tub;

const ASSUMED: &str = "\
A cut blade is taken for the series propeller of its diameter, mean pitch, area and number of blades: an assumption, not \
evidence. Thin or blunt edges, changed sections, balance and strength of the cut blade are outside the model. `scale` is \
a smaller propeller of the same drawing: no file makes it, it is told as a yardstick.";

const CAUTIONS: &str = "\
Cautions for cutting: metal does not grow back, so cut all blades alike and less than you mean to. A blade that was cut may crack, and \
what breaks off flies: balance it before it turns, first runs guarded, from a distance, out of the plane of the blades. \
Eye protection; clamp the blade for the file, fingers away from power tools; dust of carbon, glass or bronze is not for \
lungs. No sharp edge where people are. A maker's limits and warranty end with the first stroke.";

/// What a small ± on the water is not.
const KNOWN: &str = "\
± as drawn, to compare cuts by. The values themselves are known less well: take-off time to some 30 %, hump margin to \
-25 / +50 % of the board's resistance.";

/// Said at the end.
pub fn closing() -> String {
    [paragraph(ASSUMED), paragraph(CAUTIONS), tub::closing()].concat()
}

/// A spread of the board's factor at the hump.
fn of_hump(share: f64) -> String {
    format!("-{} / +{} %", figure(50.0 * share), figure(100.0 * share))
}

/// What the ± of hump margin, take-off and top speed contain and what they do not.
pub fn contained(hump: Hump) -> String {
    let board = match hump {
        Hump::Drawn(share) => {
            format!("of the propeller and of the board at the hump (k_hump {})", of_hump(share))
        }
        Hump::Sought => "of the propeller and of the board at the hump as far as the fit leaves it".into(),
        Hump::Left => format!(
            "of the propeller alone, not the board's at the hump (k_hump {})",
            of_hump(super::spread::HUMP_SPREAD)
        ),
    };
    format!(
        "the ± of hump margin, take-off and top speed contain the doubt {board}. They do not contain that of masses, wings, \
         drive and rider, nor that of the board past C_v 1.5 (some 4 m/s), where k_hump no longer acts and the least margin \
         often lies: all in all, take-off time is known to some 30 % (this project's estimate)"
    )
}

/// Words and tables.
pub fn tell(found: &Found) -> String {
    let mut out = match &*found.title {
        "" => "How much to cut off the blades\n".to_string(),
        title => format!("How much to cut off the blades | {title}\n"),
    };
    let draws = found.spread.stages.first().map_or(0, |s| s.told.len());
    let doubt = match found.doubt {
        Doubt::Stated(d) => format!(
            "K_T {} and K_Q {} uncertain, and the exponents of (D'/D) by which a cut changes them besides, ±{}. The first two \
             cannot be told from rules: a bench reading replaces them",
            tub::percent(d.thrust),
            tub::percent(d.torque),
            figure(d.exponent)
        ),
        Doubt::Fitted { rows, exponent, .. } => {
            let exponents = exponent.map_or_else(
                || "with the exponents of the cut among what was sought".into(),
                |e| {
                    format!(
                        "and the exponents of (D'/D) by which a cut changes K_T and K_Q besides, ±{}",
                        figure(e)
                    )
                },
            );
            let rows = if rows == 1 { "one row".into() } else { format!("{rows} rows") };
            format!("as far as {rows} of readings leave it, {exponents}")
        }
    };
    out.push('\n');
    out.push_str(&paragraph(&format!(
        "{}, cold, a fresh pack. Removed counts from the whole blade. ± is a standard uncertainty from {draws} \
         fixed draws: {doubt}.",
        throttle_in_words(found.throttle)
    )));
    if found.nominal.moves {
        out.push_str(&paragraph(&format!("On the water {}.", contained(found.hump))));
    }
    if found.nominal.stages.iter().any(|s| s.held == THROTTLE) {
        out.push_str(&paragraph(
            "Where the throttle holds the drive, one setting of it is compared, not what each propeller can do at most: opened \
             further it would give more thrust.",
        ));
    }
    if matches!(found.doubt, Doubt::Fitted { misfit: true, .. }) {
        out.push_str(&paragraph(
            "Warning: the model does not fit these readings within their uncertainties. Every ± and probability here is too \
             small: find out why before anything is cut.",
        ));
    }
    if stages(found).any(|(stage, drawn)| held_fast(stage, drawn)) {
        out.push_str(&paragraph(
            "± 0: a limit holds this value as far as the draws reach, one standard uncertainty to either side. Further out it \
             may let go.",
        ));
    }
    out.push_str(&paragraph(
        "Thrust is the propeller's own. What a scale or the board feels of it is less by guard and thrust deduction.",
    ));
    if !found.nominal.moves {
        out.push_str(&paragraph(
            "This setup stands in a tub and does not move: nothing is told of hump, take-off and top speed, which may \
             ask for another cut than thrust at rest does.",
        ));
    }
    for way in &found.nominal.ways {
        out.push_str(&format!("\n{}{}\n", named(way), if found.nominal.moves { ": at rest" } else { "" }));
        out.push_str(&at_rest(found, way));
        if found.nominal.moves {
            out.push_str(&format!("\n{}: on the water\n", named(way)));
            out.push_str(&paragraph(KNOWN));
            out.push_str(&on_the_water(found, way));
        }
    }
    out.push('\n');
    out.push_str(&paragraph(
        "Keller area: blade area that Keller's criterion for cavitation asks for at rest, over what there is. Above 100 % the \
         propeller likely cavitates.",
    ));
    if found.nominal.moves {
        out.push_str(&paragraph(
            "Hump margin: least surplus of thrust coming from rest, until the board has all but come clear; - where no \
             equilibria lead there.",
        ));
    }
    if stages(found).any(|(stage, drawn)| measures(found).iter().any(|&m| some_only(stage, drawn, m))) {
        out.push_str(&paragraph(
            "(9/10) in the place of ±: only 9 of 10 draws have this value at all, the others do not get over the hump, or off \
             the water.",
        ));
    }
    out.push('\n');
    for best in &found.best {
        out.push_str(&paragraph(&best_in_words(best, found)));
    }
    if let Some(apart) = disagreement(&found.best, &found.nominal) {
        let (unit, by) = (apart.by.name().1, said(apart.by));
        let number = |x: f64| figure((10.0 * x).round() / 10.0);
        let there = match (apart.behind, apart.gain) {
            (Some(behind), Some(gain)) => format!(
                "is {} {unit} worse by {by} than the best cut there, and {} {unit} {} than now",
                number(behind),
                number(gain.abs()),
                if gain < 0.0 { "worse" } else { "better" }
            ),
            (Some(behind), None) => {
                format!("is {} {unit} worse by {by} than the best cut there", number(behind))
            }
            (None, _) => format!("leaves nothing to be told by {by}"),
        };
        out.push_str(&paragraph(&format!(
            "Warning: tub and water disagree. The cut that pushes hardest in the tub {there}. The water decides whether the \
             board flies."
        )));
    }
    let on_water = |p: &Planned| p.measure != Measure::Thrust;
    if found.nominal.moves && !found.plans.iter().any(on_water) {
        out.push_str(&paragraph(
            "No plan by what happens on the water: some draws tell no margin at the hump and no take-off. A plan by thrust \
             at rest alone may lead astray.",
        ));
    }
    let now = found.nominal.stages.first().map_or(0.0, |s| s.removed);
    for planned in &found.plans {
        out.push_str(&format!("\nPlan by {}: {}\n", said(planned.measure), named(&planned.way)));
        out.push_str(&plan(planned, now));
    }
    if !found.notes.is_empty() {
        out.push('\n');
    }
    for note in &found.notes {
        out.push_str(&paragraph(&format!("Note: {note}")));
    }
    out
}

/// Whether some measure at rest is the same in all draws, and another is not.
fn held_fast(stage: &Stage, drawn: &Stage) -> bool {
    let share = |m: &Measure| Some(drawn.sd(*m)? / stage.mean(*m)?.abs());
    // at rest: the board's draws move nothing there
    let shares: Vec<f64> = Measure::ALL.iter().take(Measure::AT_REST).filter_map(share).collect();
    shares.iter().any(|&s| s < 1e-6) && shares.iter().any(|&s| s > 1e-6)
}

fn throttle_in_words(throttle: f64) -> String {
    if throttle >= 1.0 { "Full throttle".into() } else { format!("{} throttle", tub::percent(throttle)) }
}

fn named(way: &str) -> &str {
    match way {
        "tip" => "Tip turned off",
        "outline" => "Outline set back all round",
        "scale" => "Whole blade scaled (a yardstick)",
        other => other,
    }
}

fn said(measure: Measure) -> &'static str {
    match measure {
        Measure::HumpMargin => "margin at the hump",
        Measure::TakeOff => "time to take-off",
        _ => "thrust at rest",
    }
}

fn millimetres(x: f64) -> String {
    format!("{} mm", figure(1e3 * x))
}

/// A value with its doubt: `312 ± 18`.
fn with_doubt(stage: &Stage, drawn: &Stage, measure: Measure, digits: usize) -> String {
    match (stage.mean(measure), drawn.sd(measure)) {
        (Some(value), Some(sd)) => format!("{value:.digits$} ± {sd:.digits$}"),
        (Some(value), None) => {
            format!("{value:.digits$} ({}/{})", drawn.given(measure), drawn.told.len())
        }
        (None, _) => "-".into(),
    }
}

fn at_rest(found: &Found, way: &str) -> String {
    let heads = [
        "removed\nmm",
        "area\ncm²",
        "D\nmm",
        "pitch\nmm",
        "Keller\narea",
        "thrust\nN",
        "shaft\nrpm",
        "motor\nA",
        "battery\nA",
        "held by",
    ];
    let digits = [0, 0, 1, 1];
    let row = |(stage, drawn): (&Stage, &Stage)| {
        let s = stage.shape;
        let mut cells = vec![
            figure(1e3 * stage.removed),
            format!("{:.1}", 1e4 * s.area),
            format!("{:.1}", 1e3 * s.diameter),
            format!("{:.1}", 1e3 * s.pitch),
            format!("{:.0} %", 100.0 * stage.area_needed),
        ];
        let told =
            Measure::ALL.into_iter().zip(digits).map(|(m, digits)| with_doubt(stage, drawn, m, digits));
        cells.extend(told);
        cells.push(stage.held.to_string());
        cells
    };
    table(heads, stages(found).filter(|(stage, _)| stage.way == way).map(row))
}

fn on_the_water(found: &Found, way: &str) -> String {
    let heads = ["removed\nmm", "hump margin\nN", "take-off\ns", "top speed\nm/s"];
    let row = |(stage, drawn): (&Stage, &Stage)| {
        let digits = [(Measure::HumpMargin, 0), (Measure::TakeOff, 1), (Measure::TopSpeed, 2)];
        let told = digits.map(|(m, digits)| with_doubt(stage, drawn, m, digits));
        std::iter::once(figure(1e3 * stage.removed)).chain(told).collect::<Vec<_>>()
    };
    table(heads, stages(found).filter(|(stage, _)| stage.way == way).map(row))
}

/// Whether there is a value, but not in all draws.
fn some_only(stage: &Stage, drawn: &Stage, measure: Measure) -> bool {
    stage.mean(measure).is_some() && drawn.sd(measure).is_none()
}

fn best_in_words(best: &Best, found: &Found) -> String {
    let unit = best.measure.name().1;
    let by = said(best.measure);
    let number =
        |x: f64| if best.measure == Measure::TakeOff { format!("{x:.1}") } else { format!("{x:.0}") };
    let (value, gain) = (number(best.value), number(best.gain));
    let yard = best.yardstick.filter(|gain| *gain > 0.0);
    let yard = yard
        .map_or(String::new(), |gain| format!(" A scaled blade would gain {} {unit} at best.", number(gain)));
    if best.gain <= 0.0 {
        return format!(
            "By {by}, no cut that was looked at beats the propeller as it is ({value} {unit}).{yard}"
        );
    }
    let there = found.spread.along(&best.way).find(|s| s.removed == best.removed);
    let some = there.filter(|s| s.given(best.measure) < s.told.len()).map_or(String::new(), |s| {
        let (given, all) = (s.given(best.measure), s.told.len());
        format!(" Only {given} of {all} draws get that far there: it may not be had at all.")
    });
    let nominal = found.nominal.along(&best.way).find(|s| s.removed == best.removed);
    let keller = nominal.filter(|s| s.area_needed > 1.0).map_or(String::new(), |s| {
        format!(
            " Keller's criterion asks for {:.0} % of its blade area there: it likely cavitates, and then the gain may not be had.",
            100.0 * s.area_needed
        )
    });
    let end = if best.at_end { " That is the greatest cut looked at: the best may lie beyond." } else { "" };
    format!(
        "By {by}, the best cut looked at: {}, {} removed: {value} {unit}, {gain} {unit} better than now.{some}{keller}{end}{yard}",
        named(&best.way).to_lowercase(),
        millimetres(best.removed),
    )
}

fn plan(planned: &Planned, now: f64) -> String {
    let Plan { advice, steps, best, acceptable } = &planned.plan;
    let unit = planned.measure.name().1;
    let Some(next) = steps.first() else { return String::new() };
    let first = millimetres(next.removed);
    let off = match next.removed - now {
        more if now > 0.0 => format!("Take {} more off, {first} in all, and no more", millimetres(more)),
        _ => format!("Take {first} off, and no more"),
    };
    let regret = tub::percent((100.0 * next.regret).round() / 100.0);
    let aim = best.map_or(String::new(), |best| {
        format!(
            "{:+.1} ± {:.1} {unit} expected at {} (+ is better)",
            best.gain,
            best.sd,
            millimetres(best.removed)
        )
    });
    let told = match advice {
        Advice::Stop => format!(
            "Stop: nothing along this cut is expected to be better than now. After {first} it would be worse with a probability \
             of {regret}."
        ),
        Advice::Measure => format!(
            "Measure first: {aim}, but after {first} it would be worse than now with a probability of {regret}, more than \
             the {} that is taken. A bench reading of the propeller as it is tells more than a cut.",
            tub::percent(*acceptable)
        ),
        Advice::Cut => format!(
            "{off}: {aim}. After this step it is worse than now with a probability of {regret}. Then test, \
             fit thrust and torque factors and cut exponents to the readings, and ask again."
        ),
    };
    let row = |s: &super::plan::Step| {
        [
            figure(1e3 * s.removed),
            format!("{:+.2} ± {:.2}", s.gain, s.sd),
            format!("{:.0} %", 100.0 * s.regret),
        ]
    };
    let heads =
        ["removed\nmm".to_string(), format!("gain\n{unit}"), "worse than now\nprobability".to_string()];
    [paragraph(&told), table(heads, steps.iter().map(row))].concat()
}
