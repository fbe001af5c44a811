//! Setups in files: inheritance, tables, and what can be wrong with a file.

use super::*;
use std::fs;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A folder of its own for a test, removed with it.
struct Folder(PathBuf);

impl Folder {
    fn new() -> Self {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let unique = format!("setup-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let folder = std::env::temp_dir().join(unique);
        fs::create_dir_all(folder.join("project/sub")).unwrap();
        Folder(folder)
    }
    fn root(&self) -> PathBuf {
        self.0.join("project")
    }
    fn put(&self, name: &str, text: impl AsRef<[u8]>) -> &Self {
        fs::write(self.root().join(name), text).unwrap();
        self
    }
    fn load(&self, name: &str) -> Result<Setup, Diagnostics> {
        Setup::load(self.root().join(name), self.root())
    }
    /// The only thing wrong with a setup, from the name of its file on.
    #[track_caller]
    fn fault(&self, name: &str) -> String {
        let error = self.load(name).and_then(|setup| setup.read_parts(KINDS)).unwrap_err();
        assert_eq!(error.0.len(), 1, "{error}");
        error.0[0].to_string().replace(&format!("{}/", self.root().display()), "")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        _ = fs::remove_dir_all(&self.0);
    }
}

#[track_caller]
fn begins(text: &str, wanted: &str) {
    assert!(text.starts_with(wanted), "wanted: {wanted}\nfound:  {text}");
}

const BASE: &str = "setup: 1
title: Base
parts:
  water: {}
  pod:
    diameter: 100 mm
    mass: 2 kg
    curve: {J: [0, 1], time: [0 s, 1 s]}
    from: {speed: water, depth: water}
  spare:
    part: water
";

#[test]
fn a_setup_is_laid_on_its_base() {
    let f = Folder::new();
    f.put("base.yaml", BASE).put(
        "sub/light.yaml",
        "setup: 1\nbased_on: ../base.yaml\nparts:\n  spare: ~\n  pod:\n    diameter: 50 mm\n    mass: ~\n    \
         curve: [{J: 2, time: 0 s}, {J: 3, time: 5 s}]\n    from: {depth: ~}\n  other: {part: water}\n",
    );
    let setup = f.load("sub/light.yaml").unwrap();
    let pod = pod(&setup).unwrap();
    assert_eq!((pod.diameter, pod.mass), (0.05, None));
    assert_eq!(pod.curve, Some([vec![2.0, 3.0], vec![0.0, 5.0]]));
    assert_eq!(setup.title(), "Base");
    let parts: Vec<_> = setup.instances().collect();
    let names: Vec<_> = parts.iter().map(|(name, ..)| *name).collect();
    assert_eq!(names, ["water", "pod", "other"]);
    assert_eq!(parts[1].2, [("speed".into(), "water".into())]);
    assert_eq!(setup.files().count(), 2);
}

#[test]
fn a_fault_is_named_in_the_file_it_stands_in() {
    let f = Folder::new();
    let wrong = BASE.replace("2 kg", "2 A");
    f.put("base.yaml", wrong).put("a.yaml", "setup: 1\nbased_on: base.yaml\nparts:\n  pod: {length: 1 m}\n");
    begins(&f.fault("a.yaml"), "base.yaml:7:11: pod.mass: another kind of quantity");
    f.put("a.yaml", "setup: 1\nbased_on: base.yaml\nparts:\n  pod: {mass: 1 kg, lenght: 1 m}\n");
    begins(&f.fault("a.yaml"), "a.yaml:4:21: pod.lenght: a pod has no such parameter");
    // A part of another kind does not inherit parameters it does not have.
    f.put("a.yaml", "setup: 1\nbased_on: base.yaml\nparts:\n  pod: {part: water}\n");
    assert!(f.load("a.yaml").unwrap().read_parts(KINDS).is_ok());
    f.put("a.yaml", "setup: 1\nbased_on: base.yaml\nparts:\n  pod: {curve: {time: [0 s, 1 s]}}\n");
    assert!(f.load("a.yaml").unwrap().read_parts(KINDS).unwrap_err().to_string().contains("`J` is missing"));
}

#[test]
fn rings_and_ways_out_are_refused() {
    let f = Folder::new();
    let on = |name: &str| format!("setup: 1\nbased_on: {name}\nparts: {{water: {{}}}}\n");
    f.put("a.yaml", on("sub/b.yaml")).put("sub/b.yaml", on("../c.yaml")).put("c.yaml", on("./a.yaml"));
    let ring = f.fault("a.yaml").replace(&format!("{}/", f.root().display()), "");
    begins(
        &ring,
        "c.yaml:2:11: based_on: the setups are based on each other: a.yaml → sub/b.yaml → c.yaml → a.yaml",
    );
    f.put("a.yaml", on("a.yaml"));
    assert!(f.fault("a.yaml").contains("a.yaml → a.yaml"));
    fs::write(f.0.join("secret.yaml"), on("x")).unwrap();
    for way in
        ["../secret.yaml", "/etc/hostname", "sub/../../secret.yaml", "sub/../../project/../secret.yaml"]
    {
        f.put("a.yaml", on(way));
        begins(
            &f.fault("a.yaml"),
            &format!("a.yaml:2:11: based_on: \"{way}\" is outside the project folder"),
        );
    }
    f.put("a.yaml", on("sub/../../project/base.yaml")).put("base.yaml", BASE);
    assert!(f.load("a.yaml").is_ok());
    let outside = Setup::load(f.0.join("secret.yaml"), f.root()).unwrap_err();
    assert!(outside.to_string().contains("outside the project folder"));
    let up = Setup::load(f.root().join("../secret.yaml"), f.root()).unwrap_err();
    assert!(up.to_string().contains("outside the project folder"));
}

#[cfg(unix)]
#[test]
fn links_and_devices_are_refused() {
    let f = Folder::new();
    fs::write(f.0.join("secret.yaml"), "setup: 1\n").unwrap();
    std::os::unix::fs::symlink(f.0.join("secret.yaml"), f.root().join("link.yaml")).unwrap();
    f.put("a.yaml", "setup: 1\nbased_on: link.yaml\nparts: {water: {}}\n");
    assert!(f.fault("a.yaml").contains("outside the project folder"));
    let endless = Setup::load("/dev/zero", "/dev").unwrap_err();
    assert!(endless.to_string().contains("not a file but a device"), "{endless}");
}

#[test]
fn unreadable_files_say_why() {
    let f = Folder::new();
    f.put("board.yaml", BASE);
    begins(&f.fault("baord.yaml"), "baord.yaml: there is no such file; did you mean `board.yaml`?");
    begins(&f.fault("nowhere/board.yaml"), "nowhere/board.yaml: there is no such file; the folder");
    begins(&f.fault("sub"), "sub: this is a folder: expected a file");
    f.put("latin.yaml", b"setup: 1\ntitle: Gr\xfc\xdfe\n");
    begins(&f.fault("latin.yaml"), "latin.yaml:2:10: not UTF-8 text");
    f.put("large.yaml", vec![b'#'; LIMIT as usize + 1]);
    begins(&f.fault("large.yaml"), "large.yaml: the file is larger than 256 KiB");
    f.put("zero.yaml", b"setup: 1\0\n");
    begins(&f.fault("zero.yaml"), "zero.yaml:1:9: a control character, U+0000");
    f.put("a.yaml", "setup: 1\nbased_on: baord.yaml\nparts: {}\n");
    let wanted = "a.yaml:2:11: based_on: \"baord.yaml\": there is no such file; did you mean `board.yaml`?";
    begins(&f.fault("a.yaml"), wanted);
    let bom = format!("\u{feff}{BASE}");
    assert!(f.put("bom.yaml", bom).load("bom.yaml").is_ok());
    let windows = BASE.replace('\n', "\r\n");
    assert!(f.put("windows.yaml", windows).load("windows.yaml").is_ok());
}

#[test]
fn tables_come_from_csv_files() {
    let f = Folder::new();
    let setup = "setup: 1\nparts:\n  pod:\n    diameter: 0.1 m\n    curve: {file: curve.csv}\n";
    f.put("a.yaml", setup);
    begins(&f.fault("a.yaml"), "a.yaml:5:19: pod.curve.file: \"curve.csv\": there is no such file");
    f.put("curve.csv", "# source\nJ [1],note,time [ms]\n0,start,0\n0.5,\"a, b\",250\n");
    let read = f.load("a.yaml").unwrap();
    assert_eq!(pod(&read).unwrap().curve, Some([vec![0.0, 0.5], vec![0.0, 0.25]]));
    assert_eq!(read.files().count(), 2);
    let cases = [
        ("", "curve.csv:1:1: pod.curve: the file is empty"),
        ("J,t\n0,1\n", "curve.csv:1:1: pod.curve: the column `time` is missing"),
        ("J,time [s]\n0,1\n1\n", "curve.csv:3:1: pod.curve: this row does not fit: found 1 cells under 2"),
        ("J,time [s]\n0,1\n1, x\n", "curve.csv:3:3: pod.curve: not a number: expected a number, found \"x\""),
        ("J,time [s]\n0,1\n1,nan\n", "curve.csv:3:3: pod.curve: not a finite number"),
        ("J,time [m]\n0,1\n1,2\n", "curve.csv:2:3: pod.curve: another kind of quantity"),
        ("J,time\n0,1\n1,2\n", "curve.csv:2:3: pod.curve: the unit is missing"),
        (
            "J,time [s]\n0,1\n0,2\n",
            "curve.csv:3:1: pod.curve: `J` must rise from row to row: found 0 after 0",
        ),
        ("J,time [s],J\n0,1,1\n1,2,1\n", "curve.csv:1:12: pod.curve: a second column `J`"),
    ];
    for (csv, wanted) in cases {
        begins(&f.put("curve.csv", csv).fault("a.yaml"), wanted);
    }
    f.put("a.yaml", setup.replace("curve.csv", "../../x.csv"));
    begins(&f.fault("a.yaml"), "a.yaml:5:19: pod.curve.file: \"../../x.csv\" is outside");
    f.put("a.yaml", setup.replace("csv}", "csv, J: [1]}"));
    begins(&f.fault("a.yaml"), "a.yaml:5:30: pod.curve.J: a table from a file has no other keys");
    f.put("a.yaml", setup.replace("curve.csv", "[1]"));
    begins(&f.fault("a.yaml"), "a.yaml:5:19: pod.curve.file: no file: expected the name of a CSV file");
}

#[test]
fn a_written_setup_reads_back_the_same() {
    let f = Folder::new();
    f.put("base.yaml", BASE.replace("{J: [0, 1], time: [0 s, 1 s]}", "{file: curve.csv}"));
    f.put("curve.csv", "J,time [ms]\n0,0.1\n0.3,1e-9\n");
    f.put("a.yaml", "setup: 1\nbased_on: base.yaml\nnotes: 'a: b'\nparts:\n  pod: {outline: square}\n");
    let mut setup = f.load("a.yaml").unwrap();
    setup.change("pod.mass", 0.1 + 0.2, "test").unwrap();
    setup.change("pod.warm", -1.5e-7, "test").unwrap();
    let text = setup.write(KINDS).unwrap();
    let again = Setup::from_text("written.yaml", &text, Path::new("/nowhere")).unwrap();
    assert_eq!(pod(&again).unwrap(), pod(&setup).unwrap());
    let parts = |setup: &Setup| {
        setup.instances().map(|(a, b, c)| (a.to_owned(), b.to_owned(), c)).collect::<Vec<_>>()
    };
    assert_eq!(parts(&again), parts(&setup));
    assert_eq!(again.write(KINDS).unwrap(), text);
    for line in ["    length: 250 mm\n", "    corner: 5 mm\n", "    blades: 3\n", "notes: 'a: b'\n"] {
        assert!(text.contains(line), "{line} in\n{text}");
    }
}

#[test]
fn the_hash_follows_contents_and_changes_only() {
    let (f, g) = (Folder::new(), Folder::new());
    let hash = |f: &Folder| f.put("b.yaml", BASE).load("b.yaml").unwrap();
    assert_eq!(hash(&f).hash(), hash(&g).hash());
    assert_eq!(hash(&f).hash().len(), 64);
    let mut setup = hash(&f);
    setup.change("pod.mass", "3 kg", "here").unwrap();
    let mut other = hash(&g);
    other.change("pod.mass", "3 kg", "there").unwrap();
    assert_eq!(setup.hash(), other.hash());
    assert_ne!(setup.hash(), hash(&f).hash());
    other.change("pod.mass", "4 kg", "there").unwrap();
    assert_ne!(setup.hash(), other.hash());
    f.put("b.yaml", format!("{BASE}#\n"));
    assert_ne!(f.load("b.yaml").unwrap().hash(), hash(&g).hash());
}
