//! Disks that are full.

use std::io::{self, Write};

use sha2::Sha256;

use super::super::sheet::{Sheet, Store};
use super::*;

/// Holds so many bytes and no more, as a disk does: what fits of a write is written.
struct Small {
    bytes: Vec<u8>,
    room: usize,
}

impl Write for Small {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let fits = bytes.len().min(self.room - self.bytes.len());
        if fits == 0 && !bytes.is_empty() {
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.bytes.extend_from_slice(&bytes[..fits]);
        Ok(fits)
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Store for &mut Small {
    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.bytes.truncate(length as usize);
        Ok(())
    }
    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_store_that_is_full_ends_with_a_whole_row() {
    let all = expected(60, 1);
    for room in (0..all.len()).step_by(7) {
        let mut small = Small { bytes: Vec::new(), room };
        let mut sheet = Sheet::new(&mut small, 0, Sha256::default()).unwrap();
        let pushed = (0..60).try_for_each(|n| {
            sheet.push(&row(n, 1))?;
            if n % 4 == 0 { sheet.flush() } else { Ok(()) }
        });
        let error = pushed.and_then(|()| sheet.sync()).err();
        assert_eq!(
            error.map(|error| error.kind()),
            Some(io::ErrorKind::StorageFull).filter(|_| room < all.len() - 16)
        );
        let rows: Vec<u8> = (0..60).flat_map(|n| row(n, 1)).collect();
        assert!(rows.starts_with(&small.bytes));
        let ends = (0..=60).any(|n| (0..n).map(|n| row(n, 1).len()).sum::<usize>() == small.bytes.len());
        assert!(ends, "{room} bytes of room");
    }
}

/// A device that refuses every byte with the error of a full disk, and cannot be cut either.
#[cfg(target_os = "linux")]
#[test]
fn a_full_device_is_told_and_worth_another_try() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let mut sheet = Endless(&full);
    let mut sheet = Sheet::new(&mut sheet, 0, Sha256::default()).unwrap();
    sheet.push(b"1,2\n").unwrap();
    let error = sheet.sync().unwrap_err();
    assert_eq!(error.kind(), io::ErrorKind::StorageFull);
    let told: SweepError = FileError::io("writing", Path::new("t.csv"))(error).into();
    assert!(told.retry());
    let text = told.diagnostic().to_string();
    assert!(text.contains("t.csv: writing failed") && text.contains("--resume"), "{text}");
}

/// Stands in for a file that exists: the device has no length that could be set.
#[cfg(target_os = "linux")]
struct Endless<'a>(&'a fs::File);

#[cfg(target_os = "linux")]
impl Write for Endless<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }
    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

#[cfg(target_os = "linux")]
impl Store for &mut Endless<'_> {
    fn cut(&mut self, length: u64) -> io::Result<()> {
        if length == 0 { Ok(()) } else { Store::cut(&mut self.0, length) }
    }
    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_all()
    }
}

#[test]
fn errors_say_what_helps() {
    let io = |kind: io::ErrorKind| FileError::io("writing", Path::new("t.csv"))(kind.into());
    assert!(io(io::ErrorKind::StorageFull).retry() && io(io::ErrorKind::TimedOut).retry());
    assert!(!io(io::ErrorKind::PermissionDenied).retry() && !io(io::ErrorKind::NotFound).retry());
    let kept = |kept| SweepError::<Never>::Interrupted {
        path: "t.csv".into(),
        done: 3,
        rows: 9,
        kept,
        cut: Cut::default(),
    };
    let resume = "t.csv: interrupted with 3 of 9 rows made; `--resume` goes on where it ended";
    assert_eq!(kept(true).diagnostic().to_string(), resume);
    assert!(kept(false).diagnostic().to_string().ends_with("make it again"));
}
