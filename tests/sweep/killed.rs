//! Killed without warning at any moment, a study goes on with `--resume` as if nothing had been.

use std::thread;
use std::time::Duration;

use crate::harness::{Folder, Table, chance, long, start};
use rand::RngExt;

/// What kills have hit.
#[derive(Debug, Default)]
pub struct Hits {
    /// Before there was a table.
    pub before: u64,
    /// The table was there, and not all rows were in it.
    pub rows: u64,
    /// Of these, the last line was torn.
    pub torn: u64,
    /// All rows were written, the companion did not say so yet.
    pub end: u64,
    /// Tables made whole by resuming.
    pub tables: u64,
}

impl Hits {
    pub fn kills(&self) -> u64 {
        self.before + self.rows + self.end
    }
}

/// Kills and resumes the study `s.rhai` until `kills` have hit it and every table begun is whole.
pub fn kill(f: &Folder, reference: &Table, kills: u64, seed: u64, longest: Duration) -> Hits {
    let mut chance = chance(seed);
    let mut hits = Hits::default();
    let mut begun = false;
    loop {
        let mut command = f.command("sweep s.rhai --out k.csv --resume");
        let threads = chance.random_range(1..=3).to_string();
        let mut child = start(command.args(["--threads", &threads]));
        if hits.kills() < kills {
            thread::sleep(longest.mul_f64(chance.random()));
            // SIGKILL: nothing of the process runs any more
            child.kill().unwrap();
        }
        let status = child.wait().unwrap();
        let csv = std::fs::read_to_string(f.at("k.csv")).unwrap_or_default();
        let whole = csv.len() == reference.csv.len();
        match status.code() {
            None if csv.is_empty() => hits.before += 1,
            None if whole => hits.end += 1,
            None => {
                hits.rows += 1;
                hits.torn += u64::from(!csv.ends_with('\n'));
            }
            Some(code) => assert_eq!(code, 0, "a kill must not spoil what resuming needs"),
        }
        // what is there is right at every moment
        assert!(reference.csv.starts_with(&csv), "rows that the whole table does not begin with:\n{csv}");
        begun |= !csv.is_empty();
        if status.code() == Some(0) {
            assert_eq!(&f.table("k.csv"), reference);
            hits.tables += 1;
            if hits.kills() >= kills {
                assert!(begun);
                return hits;
            }
            std::fs::remove_file(f.at("k.csv")).unwrap();
            std::fs::remove_file(f.at("k.csv.json")).unwrap();
        }
    }
}

#[test]
fn five_kills_leave_no_trace_in_the_table() {
    let f = Folder::with(&long(400));
    let reference = f.reference();
    let hits = kill(&f, &reference, 5, 1, Duration::from_millis(900));
    assert_eq!(hits.kills(), 5, "{hits:?}");
    // a kill may leave a temporary companion behind, nothing else
    let left = f.names();
    let known = ["k.csv", "k.csv.json", "reference.csv", "reference.csv.json", "s.rhai"];
    assert!(left.iter().all(|n| known.contains(&n.as_str()) || n.ends_with(".tmp")), "{left:?}");
}

#[test]
fn a_part_that_was_killed_is_made_by_the_same_command() {
    let f = Folder::with(&long(400));
    let reference = f.reference();
    let mut chance = chance(2);
    for part in ["1/2", "2/2"] {
        for _ in 0..2 {
            let mut child = start(&mut f.command(&format!("sweep s.rhai --part {part}")));
            thread::sleep(Duration::from_millis(chance.random_range(0..300)));
            child.kill().unwrap();
            child.wait().unwrap();
        }
        f.runs(&format!("sweep s.rhai --part {part}"));
    }
    f.runs("merge m.csv s.part-2-of-2.csv s.part-1-of-2.csv");
    assert_eq!(f.table("m.csv"), reference);
}
