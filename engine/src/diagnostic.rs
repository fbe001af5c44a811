//! What is wrong, where, and what to do: one form for setups, scripts and runs.

mod line;
#[cfg(test)]
mod tests;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::fmt;
use std::io::IsTerminal;
use std::sync::Arc;

use line::{printable, shown_line};

/// How much it matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// The run cannot be made.
    Error,
    /// The run can be made, but its result may not be what was meant.
    Warning,
}

/// A line and column, both counted from 1; columns in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// Where something stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place {
    /// File, or whatever else the text came from.
    pub file: String,
    /// Key or quantity, such as `battery.capacity`; empty where there is none.
    pub key: String,
    /// Line and column, where known.
    pub position: Option<Position>,
    /// Characters to underline; 0 for "to the end of the word".
    pub length: usize,
    /// Whole text of that file, to show the line from.
    pub source: Option<Arc<str>>,
}

impl Place {
    /// A place in a text of which line and column are known.
    pub fn at(file: impl Into<String>, line: usize, column: usize, source: Arc<str>) -> Self {
        let position = Some(Position { line, column });
        Place { file: file.into(), position, source: Some(source), ..Place::default() }
    }
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// How much it matters.
    pub severity: Severity,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// Where.
    pub place: Option<Box<Place>>,
    /// What was found there.
    pub found: Option<String>,
    /// What would have been right.
    pub expected: Option<String>,
    /// What to do.
    pub help: Option<String>,
}

impl Diagnostic {
    /// An error with this message.
    pub fn error(message: impl Into<String>) -> Self {
        let severity = Severity::Error;
        Diagnostic { severity, message: message.into(), place: None, found: None, expected: None, help: None }
    }

    /// A warning with this message.
    pub fn warning(message: impl Into<String>) -> Self {
        Diagnostic { severity: Severity::Warning, ..Self::error(message) }
    }

    /// Adds where it is.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(Box::new(place));
        self
    }

    /// Adds what was found.
    pub fn found(mut self, found: impl Into<String>) -> Self {
        self.found = Some(found.into());
        self
    }

    /// Adds what was expected.
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = Some(expected.into());
        self
    }

    /// Adds what to do.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds "did you mean …?" if there is something near.
    pub fn near(self, near: Option<&str>) -> Self {
        match near {
            Some(near) => self.help(format!("did you mean `{near}`?")),
            None => self,
        }
    }

    /// Line and column, where known.
    pub fn position(&self) -> Option<(usize, usize)> {
        let position = self.place.as_ref()?.position?;
        Some((position.line, position.column))
    }

    /// Key with message, what was expected and what was found.
    pub fn title(&self) -> String {
        let mut title = match &self.place {
            Some(place) if !place.key.is_empty() => format!("{}: {}", place.key, self.message),
            _ => self.message.clone(),
        };
        let tail = match (&self.expected, &self.found) {
            (Some(expected), Some(found)) => format!(": expected {expected}, found {found}"),
            (Some(expected), None) => format!(": expected {expected}"),
            (None, Some(found)) => format!(": found {found}"),
            (None, None) => String::new(),
        };
        title.push_str(&tail);
        title
    }

    /// With the line it is about, underlined.
    pub fn render(&self, colour: bool) -> String {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let title = printable(&self.title());
        let help = self.help.as_deref().map(printable);
        let line = self.place.as_deref().and_then(shown_line);
        let mut group = match (&line, &self.place) {
            (Some((number, text, span)), Some(place)) => {
                let mark = AnnotationKind::Primary.span(span.clone());
                let snippet = Snippet::source(text.as_str()).line_start(*number);
                level.primary_title(title).element(snippet.path(printable(&place.file)).annotation(mark))
            }
            (None, Some(place)) if !place.file.is_empty() => {
                let position =
                    place.position.map(|p| format!(":{}:{}", p.line, p.column)).unwrap_or_default();
                let origin = format!("in {}{position}", printable(&place.file));
                level.primary_title(title).element(Level::NOTE.message(origin))
            }
            _ => Group::with_title(level.primary_title(title)),
        };
        if let Some(help) = help {
            group = group.element(Level::HELP.message(help));
        }
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        renderer.render(&[group])
    }
}

impl fmt::Display for Diagnostic {
    /// On one line: `file:line:column: key: message: expected …, found …; help`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = self.place.as_ref().filter(|p| !p.file.is_empty()) {
            write!(f, "{}", place.file)?;
            if let Some(p) = place.position {
                write!(f, ":{}:{}", p.line, p.column)?;
            }
            write!(f, ": ")?;
        }
        write!(f, "{}", self.title())?;
        match &self.help {
            Some(help) => write!(f, "; {help}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Diagnostic {}

/// Everything that is wrong, found in one go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Diagnostics(pub Vec<Diagnostic>);

impl Diagnostics {
    /// More than this many would not fit a screen.
    pub const SHOWN: usize = 12;
    /// Lines that fit a screen beside the last line.
    const LINES: usize = 36;

    /// Nothing wrong so far.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.0.push(diagnostic);
    }

    /// Whether nothing was found.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// One after the other.
    pub fn iter(&self) -> std::slice::Iter<'_, Diagnostic> {
        self.0.iter()
    }

    /// All on one line, without their places.
    pub fn in_short(&self) -> String {
        self.0.iter().map(Diagnostic::title).collect::<Vec<_>>().join("; ")
    }

    /// `value` if nothing is wrong.
    ///
    /// # Errors
    /// Itself, if there is an error in it; warnings alone do not count.
    pub fn or<T>(self, value: T) -> Result<T, Diagnostics> {
        if self.0.iter().any(|d| d.severity == Severity::Error) { Err(self) } else { Ok(value) }
    }

    /// As many with their lines as a screen holds, and how many more there are.
    pub fn render(&self, colour: bool) -> String {
        let mut text = String::new();
        for (i, diagnostic) in self.0.iter().enumerate() {
            let one = diagnostic.render(colour);
            let lines = text.lines().count() + one.lines().count() + 1;
            // the first is always shown, whole
            if i > 0 && (i == Self::SHOWN || lines > Self::LINES) {
                text.push_str(&format!("\n\n… and {} more", self.0.len() - i));
                break;
            }
            text.push_str(if i > 0 { "\n\n" } else { "" });
            text.push_str(&one);
        }
        text
    }

    /// As [`Self::render`], with colour if standard error is a terminal and `NO_COLOR` is not set.
    pub fn for_terminal(&self) -> String {
        let no_colour = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
        self.render(std::io::stderr().is_terminal() && !no_colour)
    }
}

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Diagnostics {}

impl From<Diagnostic> for Diagnostics {
    fn from(one: Diagnostic) -> Self {
        Diagnostics(vec![one])
    }
}

impl IntoIterator for Diagnostics {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl Extend<Diagnostic> for Diagnostics {
    fn extend<T: IntoIterator<Item = Diagnostic>>(&mut self, more: T) {
        self.0.extend(more);
    }
}

/// The candidate most like `name`, if it is like enough to be a slip: at most
/// one letter in three wrong, swapped, missing or too many.
pub fn suggest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let length = name.chars().count();
    // Nobody misspells a name of a hundred letters, and the distance is quadratic.
    if length > 100 {
        return None;
    }
    let lower = name.to_lowercase();
    let rank = |candidate: &'a str| {
        let n = candidate.chars().count();
        let distance = strsim::osa_distance(&lower, &candidate.to_lowercase());
        let allowed = (length.max(n) / 3).clamp(1, 4);
        let near = candidate != name && distance <= allowed && distance < length.min(n);
        near.then_some((distance, n.abs_diff(length), candidate))
    };
    // The first of equals: `min_by_key` keeps it, so the answer follows the order given.
    candidates.into_iter().filter_map(rank).min_by_key(|&(d, n, _)| (d, n)).map(|(_, _, c)| c)
}
