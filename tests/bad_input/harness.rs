//! A folder of its own for each case, and the command run in it.

use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// A command that takes longer hangs. No measure of speed: a loaded machine has time.
const HANGS: Duration = Duration::from_secs(60);
/// Lines of one screen.
const SCREEN: usize = 40;

pub fn command() -> Command {
    Command::new(env!("CARGO_BIN_EXE_foilborne"))
}

/// A fresh folder with copies of the demo setups, removed at the end.
pub struct Folder(PathBuf);

/// What a command left behind.
pub struct Done {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
    pub new_files: Vec<String>,
}

impl Folder {
    pub fn new() -> Folder {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("foilborne-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let folder = Folder(std::env::temp_dir().join(name));
        std::fs::create_dir_all(folder.path("project/setups")).unwrap();
        let demos = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/setups");
        for demo in std::fs::read_dir(demos).unwrap().map(|entry| entry.unwrap().path()) {
            if demo.extension().is_some_and(|end| end == "yaml") {
                std::fs::copy(&demo, folder.root().join("setups").join(demo.file_name().unwrap())).unwrap();
            }
        }
        folder
    }

    /// The project folder, in which commands run.
    pub fn root(&self) -> PathBuf {
        self.path("project")
    }

    /// A path beside the project folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub fn put(&self, name: &str, content: impl AsRef<[u8]>) -> &Folder {
        std::fs::write(self.root().join(name), content).unwrap();
        self
    }

    /// A setup of the project with one text replaced; the text must be there.
    #[track_caller]
    pub fn edit(&self, setup: &str, old: &str, new: &str) -> &Folder {
        let text = std::fs::read_to_string(self.root().join(setup)).unwrap();
        assert!(text.contains(old), "{setup} does not say {old}");
        self.put(setup, text.replacen(old, new, 1))
    }

    /// Runs the command in the project folder.
    #[track_caller]
    pub fn run(&self, arguments: &[&str]) -> Done {
        let mut command = command();
        command.args(arguments).stdout(Stdio::piped());
        self.run_as(command)
    }

    /// Runs a prepared command in the project folder.
    #[track_caller]
    pub fn run_as(&self, mut command: Command) -> Done {
        let before = files(&self.0);
        let output = bounded(command.current_dir(self.root()).env("NO_COLOR", "1"));
        let after = files(&self.0);
        Done {
            code: output.status.code(),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
            new_files: after.difference(&before).cloned().collect(),
        }
    }

    /// Runs a script that must be refused for all these reasons.
    #[track_caller]
    pub fn refuses(&self, script: &str, words: &[&str]) {
        self.put("s.rhai", script).run(&["run", "s.rhai"]).is_refused(words);
    }

    /// Runs a script that must be fine, and returns what it printed.
    #[track_caller]
    pub fn takes(&self, script: &str) -> String {
        let done = self.put("s.rhai", script).run(&["run", "s.rhai"]);
        assert_eq!(done.code, Some(0), "{}", done.err);
        done.err
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        _ = std::fs::remove_dir_all(&self.0);
    }
}

impl Done {
    /// Exit code 2, a screen of words that say what is wrong, and nothing else.
    #[track_caller]
    pub fn is_refused(&self, words: &[&str]) {
        let err = &self.err;
        assert_eq!(self.code, Some(2), "wanted a refusal with {words:?}, found\n{}{err}", self.out);
        for word in words {
            assert!(err.contains(word), "{word:?} is missing in\n{err}");
        }
        assert!(err.lines().count() <= SCREEN, "more than a screen:\n{err}");
        assert!(!err.contains("panicked") && !err.contains("setup cannot be used"), "{err}");
        assert_eq!(self.out, "", "standard output of a refusal");
        assert_eq!(self.new_files, [""; 0], "files left behind");
    }
}

/// All files and folders below, by name.
fn files(folder: &Path) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            found.insert(entry.path().display().to_string());
            if entry.file_type().unwrap().is_dir() {
                folders.push(entry.path());
            }
        }
    }
    found
}

/// Runs a command to its end, or kills it when it hangs.
#[track_caller]
fn bounded(command: &mut Command) -> Output {
    let mut child = command.stdin(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    let drain = |stream: Option<Box<dyn Read + Send>>| {
        std::thread::spawn(move || {
            let mut bytes = Vec::new();
            stream.map(|mut stream| stream.read_to_end(&mut bytes));
            bytes
        })
    };
    let out = drain(child.stdout.take().map(|s| Box::new(s) as _));
    let err = drain(child.stderr.take().map(|s| Box::new(s) as _));
    let begin = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if begin.elapsed() > HANGS {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("{command:?} hangs");
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    Output { status, stdout: out.join().unwrap(), stderr: err.join().unwrap() }
}
