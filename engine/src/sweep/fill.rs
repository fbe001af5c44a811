//! Rows from the threads into a file.

use std::fs::File;
use std::io;
use std::ops::Range;
use std::path::Path;

use super::desk::Desk;
use super::error::SweepError;
use super::file_error::FileError;
use super::produce::{Progress, Taker, produce_for};
use super::progress::Bar;
use super::row::check_row;
use super::sheet::{Sheet, Store};
use super::stop::Stop;
use super::{Broken, Order};

/// How the rows are to be made.
pub(super) struct Making<'a, E> {
    pub threads: usize,
    pub stop: &'a Stop,
    pub worker: &'a (dyn Fn(&Desk) -> Result<(), E> + Sync),
    pub progress: bool,
}

/// Checks each row and puts it on the sheet.
struct Filling<'a, S: Store> {
    order: &'a Order,
    sheet: &'a mut Sheet<S>,
    bar: Bar,
    refused: Option<FileError>,
}

impl<S: Store> Taker for Filling<'_, S> {
    fn take(&mut self, number: u64, row: &[u8]) -> io::Result<()> {
        // a row that resuming would cut off must not get into the file in the first place
        if let Err(why) = check_row(row, self.order.fields, &(self.order.first_field)(number)) {
            self.refused = Some(FileError::Row { row: number, why: why.clone() });
            return Err(io::Error::new(io::ErrorKind::InvalidData, why));
        }
        self.bar.row();
        self.sheet.push(row)
    }

    fn idle(&mut self, stopping: bool) -> io::Result<()> {
        self.bar.idle(stopping);
        self.sheet.idle()
    }
}

/// Makes these rows; `done` of the range are on the sheet already. What has been made is written and safe on
/// disk when this returns, whether all of it or not.
pub(super) fn fill<E: Send>(
    order: &Order,
    path: &Path,
    sheet: &mut Sheet<&File>,
    rows: Range<u64>,
    done: u64,
    making: &Making<E>,
) -> Result<Progress, SweepError<E>> {
    let bar = Bar::new(making.progress, done, rows.end.saturating_sub(rows.start));
    let mut filling = Filling { order, sheet, bar, refused: None };
    let rows = rows.start.saturating_add(done)..rows.end;
    let made = produce_for(rows, making.threads, making.stop, making.worker, &mut filling);
    let refused = filling.refused.take();
    let safe = filling.sheet.sync();
    match made {
        Err(Broken::Taking { error, .. }) => {
            Err(refused.unwrap_or_else(|| FileError::io("writing", path)(error)).into())
        }
        Err(broken) => Err(broken.into()),
        Ok(made) => {
            safe.map_err(FileError::io("writing", path))?;
            Ok(made)
        }
    }
}
