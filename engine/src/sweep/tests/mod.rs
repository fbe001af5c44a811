//! Checks of tables: the same bytes on every way, and no harm done on any other.

mod broken;
mod parts;
mod produced;
mod refused;
mod resumed;
mod stored;

use std::convert::Infallible;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use serde_json::{Map, json};

use super::*;

type Never = Infallible;

/// Changes something of an order.
type Change = fn(&mut Order);

fn origin(seed: u64) -> Map<String, Value> {
    // 0.1 + 0.2 and its like must come back from a companion to the last digit
    let value = json!({
        "program": "1.2.3",
        "seed": seed,
        "step": 0.1 + 0.2,
        "small": 2.2250738585072014e-308,
        "files": {"a.yaml": "00ff", "b.yaml": "ff00"},
    });
    value.as_object().cloned().unwrap_or_default()
}

fn order(rows: u64, seed: u64) -> Order {
    Order {
        origin: origin(seed),
        header: b"n,chance,remark\n".to_vec(),
        rows,
        fields: 3,
        first_field: Box::new(|n| format!("{n}")),
    }
}

/// Row number n: the same from any thread; some with quotes, line ends and great length.
fn row(n: u64, seed: u64) -> Vec<u8> {
    let mut chance = Pcg64::seed_from_u64(seed.wrapping_mul(1 << 32).wrapping_add(n));
    let remark = match n % 7 {
        3 => "two\nlines, \"quoted\"".to_string(),
        5 => "x".repeat(chance.random_range(0..60)),
        _ => String::new(),
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([format!("{n}"), format!("{}", chance.random::<f64>()), remark]).unwrap();
    writer.into_inner().unwrap()
}

fn expected(rows: u64, seed: u64) -> Vec<u8> {
    let rows = (0..rows).flat_map(|n| row(n, seed));
    b"n,chance,remark\n".iter().copied().chain(rows).collect()
}

fn worker(seed: u64) -> impl Fn(&Desk) -> Result<(), Never> + Sync {
    move |desk: &Desk| {
        desk.serve(&mut |n| row(n, seed));
        Ok(())
    }
}

fn write(order: &Order, out: &Path, resume: bool, stop: &Stop) -> Result<Written, SweepError> {
    let seed = order.origin.get("seed").and_then(Value::as_u64).unwrap_or_default();
    write_whole(order, out, resume, 2, stop, &worker(seed), false)
}

/// A folder in memory where there is one: the tests are many, and a disk takes its time to make each file safe.
fn scratch() -> tempfile::TempDir {
    let memory = tempfile::tempdir_in("/dev/shm");
    memory.or_else(|_| tempfile::tempdir()).expect("no folder for temporary files")
}

/// Both files of a table.
fn both(out: &Path) -> (Vec<u8>, String) {
    (fs::read(out).unwrap(), fs::read_to_string(sidecar_of(out)).unwrap())
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<_> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().to_string()).collect();
    names.sort();
    names
}

/// Runs `work` on a thread and fails if it has not ended after so long: what hangs must not hang the tests.
fn in_time<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> T {
    let (send, receive) = mpsc::channel();
    thread::spawn(move || send.send(work()));
    // a hundred times what the slowest of them takes on a busy machine
    receive.recv_timeout(Duration::from_secs(60)).expect("it hangs, or has panicked")
}
