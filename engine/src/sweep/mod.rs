//! Long tables: many rows, each made by a worker from its number alone, written in order to one CSV file.
//!
//! Nothing here knows what a row is about. What is promised instead:
//!
//! - The file is at every moment the beginning of the finished one, whatever the number of threads.
//! - It can be stopped, killed and resumed, or made in [parts](write_part) that are [merged](merge);
//!   all ways end with the same bytes.
//! - Beside `table.csv` stands `table.csv.json`, which says what the table was made from. A file that was
//!   made from anything else is refused, and so is one that has no such companion.
//! - Memory does not grow with the number of rows.
//!
//! ```
//! use engine::sweep::{Desk, Order, Stop, write_whole};
//! let squares = Order {
//!     origin: serde_json::Map::from_iter([("about".into(), "squares".into())]),
//!     header: b"n,square\n".to_vec(),
//!     rows: 5,
//!     fields: 2,
//!     first_field: Box::new(|n| n.to_string()),
//! };
//! let worker = |desk: &Desk| -> Result<(), std::convert::Infallible> {
//!     desk.serve(&mut |n| format!("{n},{}\n", n * n).into_bytes());
//!     Ok(())
//! };
//! # let folder = tempfile::tempdir().unwrap();
//! let file = folder.path().join("squares.csv");
//! write_whole(&squares, &file, false, 2, &Stop::never(), &worker, false).unwrap();
//! assert_eq!(std::fs::read_to_string(file).unwrap(), "n,square\n0,0\n1,1\n2,4\n3,9\n4,16\n");
//! ```

mod check;
mod desk;
mod differ;
mod error;
mod file_error;
mod fill;
mod merge;
mod part;
mod place;
mod produce;
mod progress;
mod row;
mod sheet;
mod sidecar;
mod stop;
#[cfg(test)]
mod tests;
mod told;
mod whole;

use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

pub use check::Cut;
pub use desk::Desk;
pub use differ::Difference;
pub use error::{Broken, SweepError};
pub use file_error::{FileError, Rerun};
pub use merge::{Merged, merge};
pub use part::{Part, PartError, write_part};
pub use produce::{AHEAD, Progress, produce};
pub use row::LONGEST;
pub use sidecar::sidecar_of;
pub use stop::Stop;
pub use whole::{Written, write_whole};

/// What is to be made. Whatever decides a byte of the result belongs into `origin`.
pub struct Order {
    /// What the table is made from: version of the program, input hashes, seed, numbers, columns … It goes
    /// into the companion file as it is, and is what two studies are told apart by. The keys `study_sha256`,
    /// `rows`, `state`, `part` and `csv_sha256` are taken.
    pub origin: Map<String, Value>,
    /// First line, with its line end `\n`.
    pub header: Vec<u8>,
    /// Rows of the whole table; they are numbered from 0.
    pub rows: u64,
    /// Fields of each row, and of the header.
    pub fields: usize,
    /// The first field that row number k must have, unquoted: by it a file is checked when work is resumed.
    pub first_field: Box<dyn Fn(u64) -> String + Sync>,
}

impl Order {
    /// SHA-256, in hexadecimal, of the origin (compact JSON, keys in their order), the header and the number
    /// of rows: the same for the same study only.
    pub fn hash(&self) -> String {
        study_hash(&self.origin, &self.header, self.rows)
    }
}

fn study_hash(origin: &Map<String, Value>, header: &[u8], rows: u64) -> String {
    let mut hash = Sha256::new();
    hash.update(Value::Object(origin.clone()).to_string());
    // JSON holds no bare line end, so the three cannot run into one another
    hash.update("\n");
    hash.update(header);
    hash.update(rows.to_string());
    hex(hash)
}

fn hex(hash: Sha256) -> String {
    format!("{:x}", hash.finalize())
}
