//! The texts a setup is made of.

use super::node::{FileId, Node, Step, path_text, quoted};
use super::yaml::{self, Target};
use crate::diagnostic::{Diagnostic, Place, Position, suggest};
use std::collections::HashMap;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex};

/// Largest file that is read, in bytes. A setup has a few kilobytes.
pub const LIMIT: u64 = 256 * 1024;

/// More places than this are not looked up: each costs one reading of the text,
/// and a screen holds fewer.
const LOOKUPS: usize = 24;

/// A text and where it came from.
#[derive(Debug, Clone)]
pub struct Source {
    /// File as it was named, or the origin of a change.
    pub name: String,
    /// On disk; `None` for a change.
    pub path: Option<PathBuf>,
    /// The text.
    pub text: Arc<str>,
    /// Whether it is a whole document, in which places can be shown.
    pub document: bool,
}

type Places = HashMap<(FileId, Target, Vec<Step>), Option<Position>>;

/// All texts of one setup, in the order they were read.
#[derive(Debug, Default)]
pub struct Sources {
    list: Vec<Source>,
    places: Mutex<Places>,
}

impl Clone for Sources {
    fn clone(&self) -> Self {
        Sources { list: self.list.clone(), places: Mutex::default() }
    }
}

impl Sources {
    /// Adds a text and says under which number.
    pub fn add(&mut self, source: Source) -> FileId {
        self.list.push(source);
        self.list.len() - 1
    }

    /// All of them.
    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.list.iter()
    }

    /// The text of a file that has been read.
    pub fn file(&self, path: &Path) -> Option<&Source> {
        self.list.iter().find(|s| s.path.as_deref() == Some(path))
    }

    /// The file that names in this text are relative to: itself, or the first for a change.
    pub fn home(&self, file: FileId) -> PathBuf {
        let source = &self.list[if self.list[file].document { file } else { 0 }];
        source.path.clone().unwrap_or_else(|| PathBuf::from(&source.name))
    }

    /// Where a path leads in one of the texts.
    pub fn place(&self, file: FileId, path: &[Step], target: Target) -> Place {
        let source = &self.list[file];
        let mut place = Place { file: source.name.clone(), key: path_text(path), ..Place::default() };
        if source.document {
            place.position = self.position(file, path, target);
            place.source = Some(source.text.clone());
        }
        place
    }

    fn position(&self, file: FileId, path: &[Step], target: Target) -> Option<Position> {
        let key = (file, target, path.to_vec());
        let mut places = self.places.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(known) = places.get(&key) {
            return *known;
        }
        if places.len() >= LOOKUPS {
            return None;
        }
        let found = yaml::locate(&self.list[file].text, path, target);
        places.insert(key, found);
        found
    }

    /// Reads a YAML text that has been added.
    pub fn parse(&self, file: FileId) -> Result<Node, Diagnostic> {
        let source = &self.list[file];
        yaml::parse(&source.text, file).map_err(|problem| {
            let mut place =
                Place { file: source.name.clone(), key: path_text(&problem.path), ..Place::default() };
            if source.document {
                place.position = problem.position;
                place.source = Some(source.text.clone());
            }
            Diagnostic { help: problem.help, ..Diagnostic::error(problem.message) }.at(place)
        })
    }
}

/// Where a file named inside another one lies: relative to that one, and inside `root`.
///
/// # Errors
/// Says what is wrong with the name.
pub fn resolve(root: &Path, from: &Path, name: &str) -> Result<PathBuf, Diagnostic> {
    let relative = Path::new(name);
    let outside = || {
        Diagnostic::error(format!("{} is outside the project folder", quoted(name)))
            .help("name a file inside the folder, relative to this one")
    };
    if name.is_empty() || name.contains('\0') {
        return Err(Diagnostic::error("a file name is missing"));
    }
    if relative.is_absolute() || relative.components().any(|c| matches!(c, Component::Prefix(_))) {
        return Err(outside());
    }
    // `a/../b` is `b`: done on the text, so that names in messages stay short.
    let mut path = PathBuf::new();
    for step in from.parent().unwrap_or(Path::new("")).join(relative).components() {
        match step {
            Component::ParentDir if matches!(path.components().next_back(), Some(Component::Normal(_))) => {
                path.pop();
            }
            Component::CurDir if !path.as_os_str().is_empty() => {}
            step => path.push(step),
        }
    }
    inside(root, &path).map(|()| path).map_err(|()| outside())
}

/// Whether a path lies in the root, links followed. A file that does not exist
/// is judged by the nearest folder that does.
pub fn inside(root: &Path, path: &Path) -> Result<(), ()> {
    let dot = |p: &Path| {
        if p.as_os_str().is_empty() { PathBuf::from(".") } else { p.to_owned() }
    };
    let root = dot(root).canonicalize().map_err(|_| ())?;
    let mut known = path;
    loop {
        if let Ok(real) = dot(known).canonicalize() {
            return if real.starts_with(&root) { Ok(()) } else { Err(()) };
        }
        known = known.parent().ok_or(())?;
    }
}

/// Reads a text file of at most [`LIMIT`] bytes.
///
/// # Errors
/// Says what is wrong with the file: missing (and what lies there instead), a
/// folder, too large, not text. The key of the place is the file's name.
pub fn read(path: &Path) -> Result<Arc<str>, Diagnostic> {
    let name = path.display().to_string();
    // a fault of the file as a whole: its name leads the message
    let place = Place { key: name.clone(), ..Place::default() };
    let large =
        || Diagnostic::error(format!("the file is larger than {} KiB", LIMIT / 1024)).at(place.clone());
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => missing(path),
        _ => Diagnostic::error(format!("the file cannot be read: {error}")).at(place.clone()),
    };
    // Asked before the file is opened: opening a pipe would wait for ever.
    let about = std::fs::metadata(path).map_err(failed)?;
    if about.is_dir() {
        return Err(Diagnostic::error("this is a folder").expected("a file").at(place));
    }
    if !about.is_file() {
        return Err(Diagnostic::error("this is not a file but a device or pipe").at(place));
    }
    if about.len() > LIMIT {
        return Err(large());
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(failed)?;
    file.take(LIMIT + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > LIMIT {
        return Err(large());
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(&text).into()),
        Err(error) => {
            let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
            let good = String::from_utf8_lossy(good);
            let line = good.matches('\n').count() + 1;
            let column = good.rsplit('\n').next().unwrap_or("").chars().count() + 1;
            let place = Place { file: name, position: Some(Position { line, column }), ..Place::default() };
            Err(Diagnostic::error("not UTF-8 text").help("save the file in UTF-8").at(place))
        }
    }
}

/// A missing file, with the name in that folder that is most like it.
fn missing(path: &Path) -> Diagnostic {
    let place = Place { key: path.display().to_string(), ..Place::default() };
    let wanted = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let error = Diagnostic::error("there is no such file").at(place);
    let Ok(entries) = std::fs::read_dir(folder) else {
        return error.help(format!("the folder {} does not exist", folder.display()));
    };
    let mut names: Vec<_> =
        entries.flatten().take(10_000).map(|e| e.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    error.near(suggest(&wanted, names.iter().map(String::as_str)))
}
