//! A folder of its own for each test, the command run in it, and the studies that are run.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use rand::SeedableRng;
use rand_pcg::Pcg64;

/// A command that takes longer hangs. No measure of speed: a loaded machine has time.
const HANGS: Duration = Duration::from_secs(600);

/// A fresh folder with copies of the demo setups, removed at the end.
pub struct Folder(PathBuf);

/// What a command left behind.
pub struct Done {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

/// A table with its companion.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    pub csv: String,
    pub sidecar: String,
}

impl Folder {
    pub fn new() -> Folder {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("foilborne-sweep-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let folder = Folder(std::env::temp_dir().join(name));
        std::fs::create_dir_all(folder.at("setups")).unwrap();
        let demos = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/setups");
        for demo in std::fs::read_dir(demos).unwrap().map(|entry| entry.unwrap().path()) {
            std::fs::copy(&demo, folder.at("setups").join(demo.file_name().unwrap())).unwrap();
        }
        folder
    }

    /// A folder that holds this study as `s.rhai`.
    pub fn with(study: &str) -> Folder {
        let folder = Folder::new();
        folder.put("s.rhai", study);
        folder
    }

    pub fn at(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        std::fs::write(self.at(name), content).unwrap();
    }

    pub fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.at(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    /// Replaces a text in a file; it must be there.
    #[track_caller]
    pub fn edit(&self, name: &str, old: &str, new: &str) {
        let text = self.text(name);
        assert!(text.contains(old), "{name} does not say {old}");
        self.put(name, text.replacen(old, new, 1));
    }

    /// Names of all files in the folder itself, in order.
    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(&self.0).unwrap().map(|entry| entry.unwrap());
        let files = entries.filter(|entry| entry.file_type().unwrap().is_file());
        let mut names: Vec<String> =
            files.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    pub fn table(&self, name: &str) -> Table {
        Table { csv: self.text(name), sidecar: self.text(&format!("{name}.json")) }
    }

    /// The command with these arguments, separated by blanks, not yet run.
    pub fn command(&self, arguments: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_foilborne"));
        command.args(arguments.split_whitespace()).current_dir(&self.0).env("NO_COLOR", "1");
        command
    }

    /// Runs the command to its end.
    #[track_caller]
    pub fn run(&self, arguments: &str) -> Done {
        finish(start(&mut self.command(arguments)))
    }

    /// Runs the command, which must succeed; returns what it told.
    #[track_caller]
    pub fn runs(&self, arguments: &str) -> String {
        let done = self.run(arguments);
        assert_eq!(done.code, Some(0), "{arguments}: {}{}", done.out, done.err);
        done.out
    }

    /// The table of `s.rhai` made in one go by one thread: what all others must equal.
    #[track_caller]
    pub fn reference(&self) -> Table {
        self.runs("sweep s.rhai --threads 1 --out reference.csv");
        self.table("reference.csv")
    }

    /// Runs the command, which must be refused for all these reasons and leave every file as it was.
    #[track_caller]
    pub fn refuses(&self, arguments: &str, words: &[&str]) {
        let files = || self.names().into_iter().map(|name| (std::fs::read(self.at(&name)).unwrap(), name));
        let before: Vec<_> = files().collect();
        let done = self.run(arguments);
        assert_eq!(
            done.code,
            Some(2),
            "{arguments}: wanted a refusal with {words:?}, found\n{}{}",
            done.out,
            done.err
        );
        for word in words {
            assert!(done.err.contains(word), "{arguments}: {word:?} is missing in\n{}", done.err);
        }
        assert!(!done.err.contains("panicked") && done.err.lines().count() <= 40, "{}", done.err);
        assert_eq!(done.out, "", "standard output of a refusal");
        assert!(files().eq(before), "{arguments}: a refusal has changed a file");
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        _ = std::fs::remove_dir_all(&self.0);
    }
}

pub fn start(command: &mut Command) -> Child {
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Waits for the end of a command, or kills it when it hangs. What it tells fits a pipe.
#[track_caller]
pub fn finish(mut child: Child) -> Done {
    let begin = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begin.elapsed() > HANGS {
            child.kill().unwrap();
            panic!("the command hangs");
        }
        thread::sleep(Duration::from_millis(2));
    }
    let Output { status, stdout, stderr } = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    Done { code: status.code(), out: text(stdout), err: text(stderr) }
}

/// Waits until something has come to pass.
#[track_caller]
pub fn until(what: &str, mut passed: impl FnMut() -> bool) {
    let begin = Instant::now();
    while !passed() {
        assert!(begin.elapsed() < HANGS, "waited in vain: {what}");
        thread::sleep(Duration::from_millis(1));
    }
}

/// Chance that is the same on every machine.
pub fn chance(seed: u64) -> Pcg64 {
    Pcg64::seed_from_u64(seed)
}

/// A tub with its throttle opened, `tub`, and an empty study, `s`, that tries it.
pub const TUB: &str = r#"title("Tub");
seed(7);
let tub = trial("tub", setup("setups/demo_tub.yaml"));
tub.lasts("0.5 s");
tub.ramp("controller.throttle", "100 %", "0.1 s", "0.2 s");
let s = study("Sizes");
s.trial("tub", tub);
"#;

/// Two values of two axes each.
pub const AXES: &str = r#"s.axis("propeller.diameter", list(["150 mm", "170 mm"]));
s.axis("controller.motor_current", list(["30 A", "60 A"]));
"#;

pub const RUN: &str = "let found = s.run();\n";

/// Some two seconds' work for one thread of a slow machine.
pub fn long(points: usize) -> String {
    let points = format!("s.axis(\"propeller.diameter\", linear(\"120 mm\", \"220 mm\", {points}));\n");
    format!("{}{points}{RUN}", TUB.replace("0.5 s", "5 s"))
}
