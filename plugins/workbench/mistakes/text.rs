//! The judgement in words.

use engine::calibration::Calibrated;
use engine::text_table::figure;
pub use engine::text_table::paragraph;

use super::cut::BEYOND;
use super::judge::{Judged, Judgement, TELLING, Verdict};
use super::zero::Zero;
use crate::workbench::belief::measure;

/// Most mistakes named in a row.
const NAMED: usize = 4;

/// The word for a machine.
pub fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Diagnosed => "diagnosed",
        Verdict::Excluded => "not",
        Verdict::Open => "cannot tell",
    }
}

fn names(all: &[&Judged]) -> String {
    let named: Vec<&str> = all.iter().take(NAMED).map(|j| j.name.as_str()).collect();
    match all.len().saturating_sub(NAMED) {
        0 => named.join("; "),
        more => format!("{}; and {more} more", named.join("; ")),
    }
}

/// What is diagnosed, what is not, what cannot be told and what would tell.
pub fn text(found: &Calibrated, judgement: &Judgement, zero: Option<&Zero>) -> String {
    let of = |verdict: Verdict| -> Vec<&Judged> {
        let mut all: Vec<&Judged> = judgement.all.iter().filter(|j| j.verdict == verdict).collect();
        all.sort_by(|a, b| b.gain.total_cmp(&a.gain));
        all
    };
    let mut out = String::from("Were columns misread?\n");
    if let Some(zero) = zero {
        out.push_str(&paragraph(&tare(zero)));
    }
    if judgement.all.is_empty() && zero.is_none() {
        out.push_str(&paragraph("None of the columns is one that is usually misread."));
        return out;
    }
    let (told, open, not) = (of(Verdict::Diagnosed), of(Verdict::Open), of(Verdict::Excluded));
    match told[..] {
        [] => {}
        [only] => out.push_str(&paragraph(&format!(
            "{}: {}. Read so, {} less is left over of the weighted squares{}.",
            if judgement.fits { "Diagnosed" } else { "Likeliest of what was looked for" },
            only.name,
            figure(only.gain),
            scattered(judgement)
        ))),
        ref several => out.push_str(&paragraph(&format!(
            "{}, one of these that the readings do not tell apart: {}. Read so, up to {} less is left over of \
             the weighted squares{}.",
            if judgement.fits { "Diagnosed" } else { "Likeliest of what was looked for" },
            names(several),
            figure(several[0].gain),
            scattered(judgement)
        ))),
    }
    if !told.is_empty() && !judgement.fits {
        out.push_str(&paragraph(
            "Even so the model does not fit: there is something else, and this may be a wrong explanation of it; or the uncertainty \
             that was told went with the heading and not with what is in the column.",
        ));
    }
    if !told.is_empty() {
        out.push_str(&paragraph(
            "The fit above took the readings as they are written: look into it, put the column right, and fit again \
             before anything that was found is used.",
        ));
    }
    if !open.is_empty() {
        out.push_str(&paragraph(&format!(
            "Cannot tell: {}. {}",
            names(&open),
            would_tell(found, judgement, &open)
        )));
    }
    if !not.is_empty() {
        out.push_str(&paragraph(&format!("Not: {}.", groups(&not).join("; "))));
    }
    if judgement.as_read.odd > 0 {
        let n = judgement.as_read.odd;
        out.push_str(&paragraph(&format!(
            "{n} odd {} beyond {BEYOND} standard uncertainties {} for no more than that in this comparison.",
            if n == 1 { "reading" } else { "readings" },
            if n == 1 { "counts" } else { "count" },
        )));
    }
    out
}

fn tare(zero: &Zero) -> String {
    format!(
        "{}: the scale shows {} ± {} kg too {} at every pull (a tare not taken, a hook or a line weighed along). Read so, {} less is \
         left over of the weighted squares. Hang nothing on it and look; or let it be found: find(\"lever.scale_offset\", \
         normal(\"0 kg\", \"3 kg\")).",
        if zero.likeliest { "Likeliest" } else { "It may also be" },
        figure(zero.shown.abs()),
        figure(zero.error),
        if zero.shown > 0.0 { "much" } else { "little" },
        figure(zero.gain),
    )
}

fn scattered(judgement: &Judgement) -> String {
    if judgement.scatter > 1.05 {
        format!(" (over {}, what is left over per degree of freedom)", figure(judgement.scatter))
    } else {
        String::new()
    }
}

/// Names of what is excluded; the many ratios of pole pairs are one.
fn groups(not: &[&Judged]) -> Vec<String> {
    let mut all: Vec<String> = not.iter().filter(|j| !j.ratio).map(|j| j.name.clone()).collect();
    let ratios = not.iter().filter(|j| j.ratio).count();
    if ratios > 0 {
        all.push(format!("rpm counted with wrong pole pairs ({ratios} ratios)"));
    }
    all
}

/// The reading that would tell most.
fn would_tell(found: &Calibrated, judgement: &Judgement, open: &[&Judged]) -> String {
    let worst = open[0];
    let smallest = open.iter().filter_map(|j| j.separation).fold(f64::INFINITY, f64::min);
    let apart = match smallest.is_finite() {
        true if smallest >= TELLING => format!(
            "They differ by {} standard uncertainties or more, and yet neither way of reading is clearly the better: something \
             else is likely wrong. ",
            figure(smallest)
        ),
        true => format!("They would differ by {} standard uncertainties or more. ", figure(smallest)),
        false => String::new(),
    };
    let channel = worst
        .problem
        .as_ref()
        .zip(worst.values.as_ref())
        .and_then(|(problem, x)| measure::telling(&found.problem, &judgement.as_read.fitted, problem, x));
    match channel {
        Some((usual, apart_by)) if apart_by >= 2.0 => format!(
            "{apart}{} would tell: between this and the readings as written it differs by {} standard uncertainties \
             (known to {}).",
            capital(usual.says),
            figure(apart_by),
            usual.known()
        ),
        Some((usual, apart_by)) if apart_by >= 0.1 => format!(
            "{apart}No single reading of another kind would tell; the best is {} ({} standard uncertainties).",
            usual.says,
            figure(apart_by)
        ),
        _ => format!(
            "{apart}No reading of another kind would tell; a check of the instrument itself, or a tape measure, would."
        ),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
