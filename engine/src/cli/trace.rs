//! The time history of a trial as CSV.

use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::model::Probe;
use crate::run::Sampler;
use crate::scenario::{Catalogue, Finished};

/// File for trial number `i`: `name.csv`, `name-2.csv`, …
pub(super) fn numbered(file: &Path, i: usize) -> PathBuf {
    if i == 0 {
        return file.to_path_buf();
    }
    let stem = file.file_stem().unwrap_or_default().to_string_lossy().to_string();
    let end = file.extension().map_or(String::new(), |e| format!(".{}", e.to_string_lossy()));
    file.with_file_name(format!("{stem}-{}{end}", i + 1))
}

/// File that says where a trace came from.
pub(super) fn sidecar(file: &Path) -> PathBuf {
    let mut name = file.file_name().unwrap_or_default().to_os_string();
    name.push(".json");
    file.with_file_name(name)
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
    let rows = ((end - begin) / trial.interval + 1e-9).floor() as usize;
    for row in 0..=rows {
        // by multiplication: adding up intervals would drift
        let t = begin + row as f64 * trial.interval;
        sampler.go(t);
        let values = std::iter::once(t).chain(probes.iter().map(|&p| sampler.value(p)));
        writer.write_record(values.map(|v| v.to_string())).map_err(refuse)?;
    }
    writer.into_inner().map_err(|e| Diagnostic::error(format!("the trace cannot be written: {e}")).into())
}
