//! The time history of a trial as CSV.

use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::model::Probe;
use crate::run::Sampler;
use crate::scenario::{Catalogue, Finished};
use crate::units::number;

/// File for trial number `i`: `name.csv`, `name-2.csv`, …
pub(super) fn numbered(file: &Path, i: usize) -> PathBuf {
    if i == 0 {
        return file.to_path_buf();
    }
    let stem = file.file_stem().unwrap_or_default().to_string_lossy().to_string();
    let end = file.extension().map_or(String::new(), |e| format!(".{}", e.to_string_lossy()));
    file.with_file_name(format!("{stem}-{}{end}", i + 1))
}

/// Time and chosen quantities, a row per interval, units in the headings.
pub(super) fn table(trial: &Finished, catalogue: &Catalogue) -> Result<Vec<u8>, Diagnostics> {
    let model = trial.run.model();
    let probes: Vec<Probe> = if trial.record.is_empty() {
        catalogue.trace.iter().flat_map(|kind| model.providers(kind)).collect()
    } else {
        trial.record.iter().filter_map(|name| model.find(name)).collect()
    };
    let refuse =
        |e: csv::Error| Diagnostics::from(Diagnostic::error(format!("the trace cannot be written: {e}")));
    let mut writer = csv::Writer::from_writer(Vec::new());
    let heading = |p: &Probe| format!("{} [{}]", model.name(*p), model.unit(*p));
    let headings = std::iter::once("time [s]".to_string()).chain(probes.iter().map(heading));
    writer.write_record(headings).map_err(refuse)?;
    let (begin, end) = trial.run.trajectory().span();
    let mut sampler = Sampler::new(model, trial.run.trajectory());
    for t in instants(begin, end, trial.interval) {
        sampler.go(t);
        let mut row = vec![number(t)];
        for &probe in &probes {
            let value = sampler.value(probe);
            if !value.is_finite() {
                let error = format!("the trace cannot be written: {} is {value} at {t} s", model.name(probe));
                return Err(Diagnostic::error(error).into());
            }
            row.push(number(value));
        }
        writer.write_record(row).map_err(refuse)?;
    }
    writer.into_inner().map_err(|e| Diagnostic::error(format!("the trace cannot be written: {e}")).into())
}

/// One instant per interval, and the end of the run, whether it lies on an interval or not.
fn instants(begin: f64, end: f64, interval: f64) -> impl Iterator<Item = f64> {
    // by multiplication: adding up intervals would drift; 1e-9 of an interval is rounding
    let rows = ((end - begin) / interval + 1e-9).floor();
    let at = move |row: usize| (begin + row as f64 * interval).min(end);
    let last = end - at(rows as usize) > 1e-9 * interval;
    (0..=rows as usize).map(at).chain(last.then_some(end))
}

#[cfg(test)]
mod tests {
    use super::instants;

    #[test]
    fn the_end_of_a_run_is_in_the_trace_once() {
        let rows = |end, interval| instants(0.0, end, interval).collect::<Vec<_>>();
        assert_eq!(rows(1.0, 0.5), [0.0, 0.5, 1.0]);
        assert_eq!(rows(1.2, 0.5), [0.0, 0.5, 1.0, 1.2]);
        assert_eq!(rows(0.2, 0.5), [0.0, 0.2]);
        assert_eq!(rows(0.0, 0.5), [0.0]);
        // 0.3 / 0.1 is a little less than 3, and 3 × 0.1 a little more than 0.3
        assert_eq!(rows(0.3, 0.1), [0.0, 0.1, 0.2, 0.3]);
    }
}
