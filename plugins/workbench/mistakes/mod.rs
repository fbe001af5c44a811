//! Columns that were misread: battery and motor amps exchanged, motor amps or pole pairs counted
//! otherwise, a lever the other way about, newtons for kilograms …
//!
//! Each mistake is a change of columns or, of the lever's arms and the scale's zero, of the craft; the readings are fitted as
//! they are and as they would be without it. A factor on a reading and on its uncertainty alike leaves the likelihood of what was
//! written as it was, and columns that are exchanged take their uncertainties along: so the sums of squares
//! that are left over compare as they stand, priors included. So that no single odd reading looks
//! like a mistake, none counts for more than 4² in any of the sums.
//!
//! Beside them a tare that was not taken is looked for, one number more in the fit.
//!
//! Limits: one mistake at a time (two at once are not tried), the same all through a file, and
//! only those of this list. A model that is wrong can look like a mistake.

mod cut;
mod estimate;
mod family;
mod judge;
mod lever;
mod linear;
mod other;
mod text;
mod zero;

pub use judge::{Judged, Judgement, THRESHOLD, Verdict, judge};
pub use zero::{Zero, zero};

use engine::analysis::Answer;
use engine::calibration::{Calibrated, Set};
use engine::diagnostic::Diagnostics;
use engine::inquiry::{Inquiry, Key, Said};
use serde_json::{Map, Value, json};

/// The word of the script.
pub const INQUIRY: Inquiry = Inquiry {
    name: "mistakes",
    about: "whether columns look as if they had been misread",
    keys: &[Key {
        name: "in_time",
        about: "\"yes\" to try readings along runs as well, which takes a run for every trial",
        required: false,
    }],
    always: true,
    answer,
};

fn answer(found: &Calibrated, said: &Said) -> Result<Answer, Diagnostics> {
    let asked = said.text("in_time")? == Some("yes");
    let timed = found.problem.sets.iter().any(Set::in_time);
    if timed && !asked {
        let words = "Misread columns were not looked for: readings along a run take a run for every trial. Ask for it with \
                     mistakes(#{in_time: \"yes\"}).";
        let mut values = Map::new();
        values.insert("looked_for".into(), json!(false));
        return Ok(Answer { text: text::paragraph(words), values, ..Answer::default() });
    }
    let judgement = judge(found);
    let zero = zero(found, &judgement);
    let text = text::text(found, &judgement, zero.as_ref());
    let finite = |x: f64| if x.is_finite() { json!(x) } else { Value::Null };
    let one = |judged: &Judged| {
        json!({"mistake": judged.name, "verdict": text::word(judged.verdict), "gain": finite(judged.gain),
               "separation": judged.separation.map(finite)})
    };
    let mut values = Map::new();
    values.insert("looked_for".into(), json!(true));
    values.insert("threshold".into(), json!(THRESHOLD));
    values.insert("odd_readings".into(), json!(judgement.as_read.odd));
    values.insert("fits".into(), json!(judgement.fits));
    let told: Vec<&str> = judgement.diagnosed().map(|j| j.name.as_str()).collect();
    values.insert("diagnosed".into(), json!(told));
    values.insert("mistakes".into(), judgement.all.iter().map(one).collect());
    let zero = zero.map(|z| json!({"shown_kg": z.shown, "standard_error_kg": z.error, "gain": z.gain}));
    values.insert("scale_zero".into(), json!(zero));
    Ok(Answer { text, values, ..Answer::default() })
}

impl Judgement {
    /// Mistakes that were made, as far as the readings tell.
    pub fn diagnosed(&self) -> impl Iterator<Item = &Judged> {
        self.all.iter().filter(|judged| judged.verdict == Verdict::Diagnosed)
    }
}
