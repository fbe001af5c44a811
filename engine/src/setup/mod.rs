//! A setup: which parts a board has, and their parameters.
//!
//! ```yaml
//! setup: 1                       # version of this format
//! title: A board for a light rider
//! based_on: board.yaml           # optional, relative to this file; see `inherit`
//! parts:
//!   water: {temperature: 18 °C}  # the kind of part is its name …
//!   front_wing:
//!     part: foil                 # … unless it is said
//!     from: {downwash: mast}     # optional: from which part a quantity is taken
//!     span: 900 mm
//! ```
//!
//! Everything is read strictly: a key nobody asked for is an error. A file may
//! have [`LIMIT`] = 256 KiB, and no file outside the project folder is read.

mod change;
mod describe;
mod difference;
pub(crate) mod files;
mod fit;
mod head;
mod inherit;
mod locate;
mod node;
mod param;
mod param_number;
mod param_table;
mod param_word;
mod params;
mod sheet;
mod tree;
mod write;
mod yaml;

#[cfg(test)]
mod tests;

use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::part::{Part, PartKind};
pub use change::Change;
pub(crate) use describe::near_kind;
pub use describe::{PartDoc, describe};
pub use difference::Difference;
pub(crate) use difference::word;
pub use files::LIMIT;
use files::{Source, Sources};
pub(crate) use inherit::named_here;
use node::{FileId, Node, Step};
pub use param::{Param, Sort};
pub use param_table::AskedTable;
use params::Reader;
pub use params::{Asked, Invalid, Params};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use yaml::Target;

/// A setup that has been read, not yet understood: its parts are read by [`Setup::read_parts`].
#[derive(Debug, Clone)]
pub struct Setup {
    root: PathBuf,
    tree: Node,
    /// The tree as it was read.
    origin: Arc<Node>,
    sources: Sources,
    /// Path and new value of each change.
    changes: Vec<(String, Change)>,
}

/// A part with its name in the setup.
pub struct Instance {
    /// Name in the setup.
    pub name: String,
    /// Name of its kind.
    pub kind: &'static str,
    /// The part.
    pub part: Box<dyn Part>,
    /// Quantity and the part it is to be taken from, where the setup chooses.
    pub from: Vec<(String, String)>,
    /// Values outside their usual range.
    pub warnings: Vec<Diagnostic>,
}

impl std::fmt::Debug for Instance {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Instance")
            .field("name", &self.name)
            .field("kind", &self.kind)
            .field("from", &self.from)
            .field("warnings", &self.warnings)
            .finish_non_exhaustive()
    }
}

impl Setup {
    /// Reads a setup, what it is based on and the tables it names. `root` is the
    /// project folder: no file outside it is read.
    ///
    /// # Errors
    /// Everything wrong with the files and their frame.
    pub fn load(path: impl AsRef<Path>, root: impl AsRef<Path>) -> Result<Setup, Diagnostics> {
        let (path, root) = (path.as_ref(), root.as_ref());
        let name = path.display().to_string();
        if files::inside(root, path).is_err() {
            let error =
                Diagnostic::error(format!("\"{name}\" is outside the project folder {}", root.display()));
            return Err(error.into());
        }
        let text = files::read(path)?;
        Self::new(Source { name, path: Some(path.into()), text, document: true }, root)
    }

    /// Reads a setup from a text; `name` is how messages call it.
    ///
    /// # Errors
    /// As [`Setup::load`].
    pub fn from_text(name: &str, text: &str, root: &Path) -> Result<Setup, Diagnostics> {
        if text.len() as u64 > files::LIMIT {
            return Err(
                Diagnostic::error(format!("the text is larger than {} KiB", files::LIMIT / 1024)).into()
            );
        }
        Self::new(Source { name: name.into(), path: None, text: text.into(), document: true }, root)
    }

    /// Reads a setup that will stand in a file, from its text; what it is based on is found from there.
    ///
    /// # Errors
    /// As [`Setup::load`].
    pub fn to_stand_at(path: &Path, text: &str, root: &Path) -> Result<Setup, Diagnostics> {
        let name = path.display().to_string();
        Self::new(Source { name, path: Some(path.into()), text: text.into(), document: true }, root)
    }

    fn new(first: Source, root: &Path) -> Result<Setup, Diagnostics> {
        let mut sources = Sources::default();
        let tree = inherit::family(first, root, &mut sources)?;
        let origin = Arc::new(tree.clone());
        let mut setup = Setup { root: root.into(), tree, origin, sources, changes: Vec::new() };
        if setup.parts().is_empty() {
            let place = setup.sources.place(0, &[], Target::Value);
            return Err(Diagnostic::error("there are no parts").help("add `parts:`").at(place).into());
        }
        setup.read_tables()?;
        Ok(setup)
    }

    /// Title, empty if there is none.
    pub fn title(&self) -> &str {
        self.tree.get("title").and_then(Node::text).unwrap_or("")
    }

    /// Name, kind and wiring of each part, in the order of the setup.
    pub fn instances(&self) -> impl Iterator<Item = (&str, &str, Vec<(String, String)>)> {
        self.parts().iter().map(|(name, node)| (name.as_str(), kind_name(name, node), wiring(node)))
    }

    /// The file it was read from; none if it was a text.
    pub fn file(&self) -> Option<&Path> {
        self.sources.iter().next().and_then(|source| source.path.as_deref())
    }

    /// What was changed since, in order: the path and the new value.
    pub fn changes(&self) -> &[(String, Change)] {
        &self.changes
    }

    /// The files read so far.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
        self.sources.iter().filter_map(|source| source.path.as_deref())
    }

    /// The files read so far with their texts.
    pub fn texts(&self) -> impl Iterator<Item = (&Path, &str)> {
        self.sources.iter().filter_map(|s| Some((s.path.as_deref()?, &*s.text)))
    }

    /// SHA-256 of the texts read and the changes made, as 64 hexadecimal digits.
    /// Equal for equal contents, wherever the files lie.
    pub fn hash(&self) -> String {
        let mut hash = Sha256::new();
        let mut add = |text: &str| {
            hash.update((text.len() as u64).to_le_bytes());
            hash.update(text);
        };
        self.sources.iter().filter(|s| s.document).for_each(|source| add(&source.text));
        for (path, value) in &self.changes {
            add(path);
            add(&value.record());
        }
        format!("{:x}", hash.finalize())
    }

    /// The parts as they stand.
    fn parts(&self) -> &[(String, Node)] {
        self.tree.get("parts").map_or(&[], Node::entries)
    }

    /// Reads the files that tables name, once each.
    fn read_tables(&mut self) -> Result<(), Diagnostics> {
        let mut problems = Diagnostics::new();
        let mut wanted = Vec::new();
        for (part, node) in self.parts() {
            for (key, value) in node.entries().iter().filter(|(key, _)| key != "from") {
                if let Some(file) = value.get("file").filter(|file| file.text().is_some()) {
                    wanted.push(([part.clone(), key.clone()], file.clone()));
                }
            }
        }
        for ([part, key], node) in wanted {
            let name = node.text().unwrap_or_default();
            let read = self.path_of(&node).and_then(|path| match self.sources.file(&path) {
                Some(_) => Ok(None),
                None => Ok(Some((files::read(&path).map_err(|e| inherit::about_file(e, name))?, path))),
            });
            match read {
                Ok(None) => {}
                Ok(Some((text, path))) => {
                    let name = path.display().to_string();
                    self.sources.add(Source { name, path: Some(path), text, document: true });
                }
                Err(error) => {
                    let path = ["parts", &part, &key, "file"].map(Step::from);
                    problems.push(error.at(self.sources.place(node.file, &path, Target::Value)));
                }
            }
        }
        problems.or(())
    }

    /// Path of a file that a value names, relative to the file the value stands in.
    fn path_of(&self, node: &Node) -> Result<PathBuf, Diagnostic> {
        let from = self.sources.home(node.file);
        files::resolve(&self.root, &from, node.text().unwrap_or_default())
    }

    /// Reads all parts.
    ///
    /// # Errors
    /// Everything wrong with any of them.
    pub fn read_parts(&self, kinds: &[PartKind]) -> Result<Vec<Instance>, Diagnostics> {
        let mut problems = Diagnostics::new();
        let mut instances = Vec::new();
        for (name, node) in self.parts() {
            match self.read(name, node, kinds) {
                Ok((instance, _)) => instances.push(instance),
                Err(more) => problems.extend(more),
            }
        }
        problems.or(instances)
    }

    /// Reads one part.
    ///
    /// # Errors
    /// Everything wrong with it, or that there is none of this name.
    pub fn read_part(&self, name: &str, kinds: &[PartKind]) -> Result<Instance, Diagnostics> {
        let names = self.parts().iter().map(|(name, _)| name.as_str());
        match self.parts().iter().find(|(known, _)| known == name) {
            Some((name, node)) => self.read(name, node, kinds).map(|(instance, _)| instance),
            None => {
                Err(Diagnostic::error(format!("there is no part `{name}`")).near(suggest(name, names)).into())
            }
        }
    }

    fn reader<'a>(&'a self, instance: &'a str, node: &'a Node) -> Reader<'a> {
        Reader { instance, node, parts: self.parts(), sources: &self.sources, root: &self.root }
    }

    /// Reads a part and keeps what its parameters turned out to be.
    fn read(
        &self,
        name: &str,
        node: &Node,
        kinds: &[PartKind],
    ) -> Result<(Instance, Vec<Param>), Diagnostics> {
        let place = |keys: &[&str], file: FileId, target| {
            let path: Vec<Step> = ["parts", name].iter().chain(keys).map(|key| Step::from(*key)).collect();
            self.sources.place(file, &path, target)
        };
        let kind_name = kind_name(name, node);
        let Some(kind) = kinds.iter().find(|kind| kind.name == kind_name) else {
            let error = Diagnostic::error(format!("there is no kind of part called `{kind_name}`"));
            let at = match node.get("part") {
                Some(kind) => place(&["part"], kind.file, Target::Value),
                None => place(&[], node.file, Target::Key),
            };
            let help = match node.get("part") {
                Some(_) => "the command `parts` lists them",
                None => "add `part: …` if the part has a name of its own",
            };
            let near = near_kind(kind_name, kinds);
            return Err(error.help(near.unwrap_or(help.into())).at(at).into());
        };
        let mut problems = Diagnostics::new();
        for (quantity, target) in node.get("from").map_or(&[][..], Node::entries) {
            let names = || self.parts().iter().map(|(name, _)| name.as_str());
            if let Some(wanted) = target.text().filter(|wanted| !names().any(|name| name == *wanted)) {
                let error =
                    Diagnostic::error(format!("there is no part `{wanted}`")).near(suggest(wanted, names()));
                problems.push(error.at(place(&["from", quantity], target.file, Target::Value)));
            }
        }
        let mut params = Params::reading(kind.name, self.reader(name, node));
        let part = (kind.read)(&mut params);
        let (read, more, warnings) = params.finish(part.is_some());
        problems.extend(more);
        let Some(part) = part.filter(|_| problems.is_empty()) else {
            return Err(problems);
        };
        let instance = Instance { name: name.into(), kind: kind.name, part, from: wiring(node), warnings };
        Ok((instance, read))
    }
}

fn kind_name<'a>(name: &'a str, node: &'a Node) -> &'a str {
    node.get("part").and_then(Node::text).unwrap_or(name)
}

fn wiring(node: &Node) -> Vec<(String, String)> {
    let entries = node.get("from").map_or(&[][..], Node::entries);
    entries.iter().filter_map(|(kind, part)| Some((kind.clone(), part.text()?.into()))).collect()
}
