//! `fit`: parameters from readings, and the setups that result.

use std::path::{Path, PathBuf};

use super::output::{Output, aside, whole_files, writable};
use super::run::{ending, not_an_input, told};
use super::{Ending, document, root_of};
use crate::calibration::{Written, relative};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::scenario::{Catalogue, perform};
use crate::sweep::sidecar_of;

pub(super) fn fit(
    catalogue: &Catalogue,
    scenario: &Path,
    (out, csv): (Option<&Path>, Option<&Path>),
    json: bool,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let out = out.map_or_else(|| default_name(scenario), Path::to_path_buf);
    writable(&out)?;
    if let Some(csv) = csv {
        writable(csv)?;
        writable(&sidecar_of(csv))?;
    }
    if csv == Some(&*out) {
        let error = Diagnostic::error(format!("setup and table cannot both be {}", out.display()));
        return Err(error.help("give --out and --csv different names").into());
    }
    let root = root_of(scenario)?;
    let outcome = perform(scenario, &root, catalogue)?;
    aside(&outcome.prints);
    if outcome.fits.is_empty() {
        let error = Diagnostic::error(format!("{} does no fit", scenario.display()));
        return Err(error
            .help("a scenario does one with `fit(title, setup)` and its `run()`; `run` is for trials")
            .into());
    }
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let named = |file: &Path| relative(file, folder).to_string_lossy().replace('\\', "/");
    let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::new();
    for (i, fitting) in outcome.fits.iter().enumerate() {
        // what no search has ended at is no setup to go on with
        if fitting.found.fitted.unfinished.is_some() {
            continue;
        }
        for written in fitting.found.written(&named)? {
            let Written { set, text, .. } = &written;
            let from = format!(
                "# Written by {} {} from {}; readings: {}\n",
                catalogue.name,
                env!("CARGO_PKG_VERSION"),
                scenario.display(),
                fitting.title
            );
            let name = unused(own_name(&out, i, set), &files);
            written.check(&name, catalogue.parts)?;
            files.push((name, format!("{from}{text}").into_bytes()));
        }
    }
    if let Some(csv) = csv {
        for (i, fitting) in outcome.fits.iter().enumerate() {
            let (headings, rows) = fitting.found.rows();
            let bytes = crate::scenario::table(&headings, &rows);
            let mut origin = document::origin(catalogue, scenario, &outcome, None);
            origin.insert("fit".into(), fitting.title.clone().into());
            let file = own_name(csv, i, "");
            files.push((sidecar_of(&file), document::pretty(&origin).into_bytes()));
            files.push((file, bytes));
        }
    }
    not_an_input(&files, &outcome, &root)?;
    whole_files(&files)?;
    if json {
        output.text(&document::pretty(&document::fits(catalogue, scenario, &outcome)))?;
    } else {
        output.text(&told(&outcome))?;
        let names: Vec<String> = files.iter().map(|(path, _)| path.display().to_string()).collect();
        output.text(&format!(
            "\nWritten: {}\n",
            if names.is_empty() { "nothing".into() } else { names.join(", ") }
        ))?;
    }
    Ok(ending(&outcome))
}

fn default_name(scenario: &Path) -> PathBuf {
    let stem = scenario.file_stem().unwrap_or_default().to_string_lossy();
    PathBuf::from(format!("{stem}_fitted.yaml"))
}

/// A name that no file has yet: sets may differ in what a file's name does not show.
fn unused(name: PathBuf, files: &[(PathBuf, Vec<u8>)]) -> PathBuf {
    let taken = |name: &Path| files.iter().any(|(file, _)| file == name);
    let stem = name.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let extension = name.extension().map_or_else(String::new, |e| format!(".{}", e.to_string_lossy()));
    let others = (2..).map(|n: usize| name.with_file_name(format!("{stem}_{n}{extension}")));
    let free = std::iter::once(name.clone()).chain(others).find(|name| !taken(name));
    free.unwrap_or(name)
}

/// A name for each fit and each set of readings with a craft of its own.
fn own_name(out: &Path, fit: usize, set: &str) -> PathBuf {
    let stem = out.file_stem().unwrap_or_default().to_string_lossy();
    let plain: String = set.chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect();
    let number = if fit > 0 { format!("_{}", fit + 1) } else { String::new() };
    let set = if plain.is_empty() { String::new() } else { format!("_{plain}") };
    let extension = out.extension().map_or_else(String::new, |e| format!(".{}", e.to_string_lossy()));
    out.with_file_name(format!("{stem}{number}{set}{extension}"))
}
