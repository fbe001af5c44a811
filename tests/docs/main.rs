//! What the documents say is so: the result shown, the examples, the folders, the pages of the parts.

use std::path::Path;
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn read(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap()
}

fn foilborne(arguments: &[&str]) -> (String, Option<i32>) {
    let run =
        Command::new(env!("CARGO_BIN_EXE_foilborne")).args(arguments).current_dir(root()).output().unwrap();
    let told = [run.stdout, run.stderr].map(|text| String::from_utf8(text).unwrap()).concat();
    (told, run.status.code())
}

/// Indented blocks of a Markdown text, without their indentation.
fn blocks(text: &str) -> Vec<String> {
    let mut all = vec![String::new()];
    for line in text.lines() {
        match line.strip_prefix("    ") {
            Some(code) => {
                let block = all.last_mut().unwrap();
                block.push_str(code);
                block.push('\n');
            }
            None if line.is_empty() && all.last().is_some_and(|b| !b.is_empty()) => {
                all.last_mut().unwrap().push('\n');
            }
            None => all.push(String::new()),
        }
    }
    all.retain(|block| !block.trim().is_empty());
    all
}

#[test]
fn the_readme_shows_what_the_command_prints() {
    let (told, code) = foilborne(&["run", "scenarios/first_flight.rhai"]);
    assert_eq!(code, Some(0), "{told}");
    let readme = read("README.md");
    let shown = blocks(&readme).into_iter().find(|block| block.contains("FOILBORNE after")).unwrap();
    for line in shown.lines().map(str::trim).filter(|line| !line.is_empty() && *line != "…") {
        // where the processor's library rounds otherwise, the last digit of the ledger's error may differ
        if !line.starts_with("Energy ledger") {
            assert!(told.contains(line), "README shows \"{line}\", but the command prints\n{told}");
        }
    }
}

#[test]
fn the_readme_shows_what_a_fit_tells() {
    let out = std::env::temp_dir().join(format!("foilborne-docs-{}.yaml", std::process::id()));
    let (told, code) = foilborne(&["fit", "scenarios/bench/tub_test.rhai", "--out", out.to_str().unwrap()]);
    for set in ["", "_165_mm", "_140_mm"] {
        std::fs::remove_file(out.to_str().unwrap().replace(".yaml", &format!("{set}.yaml"))).unwrap();
    }
    assert_eq!(code, Some(0), "{told}");
    let readme = read("README.md");
    let shown = readme.split("<!-- fit -->").nth(1).unwrap().split("<!-- end -->").next().unwrap();
    for line in shown.lines().map(str::trim).filter(|line| !line.is_empty()) {
        assert!(told.contains(line), "README shows \"{line}\", but the command prints\n{told}");
    }
}

#[test]
fn the_examples_of_the_readme_work() {
    let readme = read("README.md");
    let folder = std::env::temp_dir().join(format!("foilborne-docs-{}", std::process::id()));
    let setups = folder.join("setups");
    std::fs::create_dir_all(&setups).unwrap();
    for name in ["demo_board.yaml", "demo_drive.yaml", "demo_tub.yaml", "demo_rig.yaml"] {
        std::fs::copy(root().join("scenarios/setups").join(name), setups.join(name)).unwrap();
    }
    let setup = blocks(&readme).into_iter().find(|block| block.starts_with("setup: 1")).unwrap();
    std::fs::write(setups.join("my_board.yaml"), setup).unwrap();
    let script = blocks(&readme).into_iter().find(|block| block.starts_with("title(")).unwrap();
    let file = folder.join("example.rhai");
    std::fs::write(&file, script).unwrap();
    let (told, code) = foilborne(&["run", file.to_str().unwrap()]);
    // whether the example's expectations hold is not the point: that it is understood is
    assert!(matches!(code, Some(0 | 1)), "{told}");
    let study = blocks(&readme).into_iter().find(|block| block.contains("study(")).unwrap();
    std::fs::write(&file, study).unwrap();
    let table = folder.join("table.csv");
    let (told, code) = foilborne(&["sweep", file.to_str().unwrap(), "--out", table.to_str().unwrap()]);
    assert_eq!(code, Some(0), "{told}");
    let readings = blocks(&readme).into_iter().find(|block| block.starts_with("propeller,throttle")).unwrap();
    std::fs::write(folder.join("my_readings.csv"), readings).unwrap();
    let bench = blocks(&readme).into_iter().find(|block| block.contains("fit(\"What the tub says")).unwrap();
    let tub = folder.join("my_tub.rhai");
    std::fs::write(&tub, bench).unwrap();
    let out = folder.join("fitted.yaml");
    let (found, code) = foilborne(&["fit", tub.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert!(matches!(code, Some(0 | 1)), "{found}");
    assert!(std::fs::read_to_string(&out).unwrap().contains("thrust_factor"), "{found}");
    // two diameters, two numbers of blades, 64 draws, and the headings
    let rows = std::fs::read_to_string(&table).unwrap().lines().count();
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!(rows, 2 * 2 * 64 + 1, "{told}");
}

#[test]
fn the_folders_are_those_of_the_guide() {
    let guide = read("DEVELOPERS.md");
    let allowed = ["Cargo.toml", "Cargo.lock", "LICENSE", "README.md", "DEVELOPERS.md", "target"];
    for entry in std::fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let known = name.starts_with('.') || allowed.contains(&name.as_str());
        assert!(known || guide.contains(&format!("| `{name}/` |")), "{name} is not in DEVELOPERS.md");
    }
}

#[test]
fn every_part_has_a_page_and_sound_defaults() {
    for kind in foilborne::PARTS {
        let doc = engine::setup::describe(kind);
        assert!(doc.faults.is_empty(), "{}: {:?}", kind.name, doc.faults);
    }
    for entry in std::fs::read_dir(root().join("plugins")).unwrap() {
        let path = entry.unwrap().path();
        assert!(!path.is_dir() || path.join("README.md").exists(), "{} has no README.md", path.display());
    }
}

/// The engine knows no part by name: its sources hold none of their folders' names as a word.
#[test]
fn the_engine_names_no_part() {
    fn sources(folder: &Path, all: &mut Vec<std::path::PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { sources(&path, all) } else { all.push(path) }
        }
    }
    let mut files = Vec::new();
    sources(&root().join("engine/src"), &mut files);
    // `water`, `air` and `motion` are everyday words too and left out
    let names = [
        "propeller",
        "battery",
        "board",
        "foil",
        "mast",
        "motor",
        "thrust",
        "throttle",
        "rider",
        "wing",
        "hull",
    ];
    for file in files {
        // examples in comments and tests may speak of parts; code and messages may not
        if file.components().any(|c| c.as_os_str() == "tests") || file.ends_with("tests.rs") {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap();
        for line in code.lines().filter(|l| !l.trim_start().starts_with("//")) {
            let words = line.split(|c: char| !c.is_alphanumeric() && c != '_');
            let named = words.into_iter().find(|w| names.contains(&w.to_lowercase().as_str()));
            assert_eq!(named, None, "{}: {line}", file.display());
        }
    }
}
