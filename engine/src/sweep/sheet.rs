//! Rows on their way into a file: whole ones only, and not held back for long.

use std::fs::File;
use std::io::{self, Seek, SeekFrom, Write};
use std::time::{Duration, Instant};

use sha2::{Digest, Sha256};

use super::hex;

/// Rows wait no longer than this (half a second, less the time between two looks).
const WAIT: Duration = Duration::from_millis(350);
/// Nor are more bytes than this held back.
const FULL: usize = 1 << 16;

/// Something that can be written to and cut.
pub(super) trait Store: Write {
    /// Makes it this long, and goes on writing there.
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Puts it where a loss of power does not reach.
    fn sync(&mut self) -> io::Result<()>;
}

impl Store for &File {
    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.set_len(length)?;
        self.seek(SeekFrom::Start(length)).map(|_| ())
    }
    fn sync(&mut self) -> io::Result<()> {
        self.sync_all()
    }
}

/// Writes rows at the end of a store and keeps the checksum of all of it.
pub(super) struct Sheet<S: Store> {
    store: S,
    pending: Vec<u8>,
    since: Option<Instant>,
    /// Bytes of whole rows in the store.
    length: u64,
    hash: Sha256,
}

/// A place to go back to.
pub(super) struct Mark(u64, Sha256);

impl<S: Store> Sheet<S> {
    /// Goes on after `length` bytes that have this checksum; anything beyond is cut off.
    pub fn new(mut store: S, length: u64, hash: Sha256) -> io::Result<Self> {
        store.cut(length)?;
        Ok(Sheet { store, pending: Vec::new(), since: None, length, hash })
    }

    /// Adds a whole row.
    pub fn push(&mut self, row: &[u8]) -> io::Result<()> {
        self.pending.extend_from_slice(row);
        self.hash.update(row);
        self.since.get_or_insert_with(Instant::now);
        if self.pending.len() >= FULL { self.flush() } else { self.idle() }
    }

    /// Writes what has waited long enough.
    pub fn idle(&mut self) -> io::Result<()> {
        match self.since {
            Some(since) if since.elapsed() >= WAIT => self.flush(),
            _ => Ok(()),
        }
    }

    /// Writes what there is. If that fails, what was written of it is cut off again, as far as the store lets
    /// itself be cut, and forgotten: the store then ends with a whole row.
    pub fn flush(&mut self) -> io::Result<()> {
        self.since = None;
        let written = self.store.write_all(&self.pending).and_then(|()| self.store.flush());
        match written {
            Ok(()) => self.length += self.pending.len() as u64,
            // the first error is the one to tell; resuming finds a torn row by itself
            Err(_) => _ = self.store.cut(self.length),
        }
        self.pending.clear();
        written
    }

    /// Writes and makes safe what there is.
    pub fn sync(&mut self) -> io::Result<()> {
        self.flush()?;
        self.store.sync()
    }

    /// The checksum of all that was pushed, in hexadecimal.
    pub fn checksum(&self) -> String {
        hex(self.hash.clone())
    }

    /// Where it ends now.
    pub fn mark(&mut self) -> io::Result<Mark> {
        self.flush()?;
        Ok(Mark(self.length, self.hash.clone()))
    }

    /// As it was then.
    pub fn back(&mut self, mark: Mark) -> io::Result<()> {
        self.pending.clear();
        self.since = None;
        self.store.cut(mark.0)?;
        (self.length, self.hash) = (mark.0, mark.1);
        Ok(())
    }
}
