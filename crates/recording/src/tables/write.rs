//! Writing the tables: rows are collected, written to a part under a temporary name, renamed when it is whole.

use super::rows::{Collect, Events, Samples, Snapshots};
use super::{EVENTS, Rows, SAMPLES, SNAPSHOTS, Summary, TableError, TablesOptions, schema};
use crate::digests::Line;
use crate::disk::{Disk, doing};
use crate::manifest::RunId;
use crate::part::{Part, note};
use arrow_schema::SchemaRef;
use parquet::file::properties::WriterProperties;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Batch, Layout};

/// Writes the tables of a recording. Not closed, it leaves whole parts and temporary files; salvage makes the
/// tables again.
pub struct TablesWriter {
    samples: Table<Samples>,
    snapshots: Table<Snapshots>,
    events: Table<Events>,
}

impl TablesWriter {
    /// Starts the tables of the recording in `folder`; parts are numbered on from those that are there.
    ///
    /// # Errors
    /// Where folders cannot be made, an option is out of range, or columns or sources share a name.
    pub fn create(
        disk: Arc<dyn Disk>,
        folder: &Path,
        run_id: RunId,
        layout: &Layout,
        options: TablesOptions,
    ) -> Result<TablesWriter, TableError> {
        schema::check_names(layout)?;
        let place = Place { disk, folder: folder.to_owned(), run_id, options };
        Ok(TablesWriter {
            samples: place.table(layout, SAMPLES, schema::samples(), Samples::new(layout))?,
            snapshots: place.table(layout, SNAPSHOTS, schema::snapshots(layout), Snapshots::new(layout))?,
            events: place.table(layout, EVENTS, schema::events(), Events::new(layout))?,
        })
    }

    /// Takes a batch.
    ///
    /// # Errors
    /// The first. A table that failed has dropped the rows of its part that was not whole yet and starts a new
    /// part with the next batch; the other tables go on.
    pub fn write(&mut self, batch: &Batch) -> Result<(), TableError> {
        let samples = self.samples.write(&batch.samples);
        let snapshots = self.snapshots.write(&batch.snapshots);
        let events = self.events.write(&batch.events);
        samples.and(snapshots).and(events)
    }

    /// Completes the parts being written; the next batch starts new ones.
    ///
    /// # Errors
    /// As [`TablesWriter::write`].
    pub fn roll(&mut self) -> Result<(), TableError> {
        let samples = self.samples.end_part();
        let snapshots = self.snapshots.end_part();
        let events = self.events.end_part();
        samples.and(snapshots).and(events)
    }

    /// What became of the rows so far; rows of parts that are not whole yet are in neither count.
    pub fn summary(&self) -> Summary {
        let of = |f: fn(&Counts) -> u64| Rows {
            samples: f(&self.samples.counts),
            snapshots: f(&self.snapshots.counts),
            events: f(&self.events.counts),
        };
        Summary { written: of(|c| c.written), dropped: of(|c| c.dropped) }
    }

    /// Completes everything. A table without rows gets an empty part, so that its columns can be seen.
    pub fn close(mut self) -> (Summary, Result<(), TableError>) {
        let samples = self.samples.close();
        let snapshots = self.snapshots.close();
        let events = self.events.close();
        (self.summary(), samples.and(snapshots).and(events))
    }
}

#[derive(Clone)]
struct Place {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    run_id: RunId,
    options: TablesOptions,
}

#[derive(Default)]
struct Counts {
    written: u64,
    dropped: u64,
}

struct Table<C> {
    place: Place,
    name: &'static str,
    schema: SchemaRef,
    properties: WriterProperties,
    next: u32,
    part: Option<Part>,
    rows: C,
    counts: Counts,
    /// Digests of whole parts that could not be noted yet.
    unnoted: Vec<Line>,
}

impl Place {
    fn table<C>(
        &self,
        layout: &Layout,
        name: &'static str,
        schema: SchemaRef,
        rows: C,
    ) -> Result<Table<C>, TableError> {
        let folder = self.folder.join(name);
        self.disk.make_folder(&folder).map_err(doing("make", &folder))?;
        self.disk.sync_folder(&self.folder).map_err(doing("sync", &self.folder))?;
        let names = self.disk.list(&folder).map_err(doing("list", &folder))?;
        let number = |name: &String| name.strip_suffix(".parquet")?.parse::<u32>().ok();
        let next = names.iter().filter_map(number).max().unwrap_or(0) + 1;
        let about = schema::about_file(self.run_id, layout, name);
        let properties = schema::properties(name, &schema, about, &self.options)?.build();
        let (part, counts, unnoted) = (None, Counts::default(), Vec::new());
        Ok(Table { place: self.clone(), name, schema, properties, next, part, rows, counts, unnoted })
    }
}

impl<C: Collect> Table<C> {
    fn write(&mut self, rows: &[C::Row]) -> Result<(), TableError> {
        let mut taken = 0;
        let written = self.take_rows(rows, &mut taken);
        if written.is_err() {
            self.counts.dropped += (rows.len() - taken) as u64;
        }
        self.drop_on_error(written)
    }

    fn take_rows(&mut self, rows: &[C::Row], taken: &mut usize) -> Result<(), TableError> {
        let mut rest = rows;
        while !rest.is_empty() {
            let room = self.rows.enough().saturating_sub(self.rows.len()).clamp(1, rest.len());
            let (now, later) = rest.split_at(room);
            for row in now {
                self.rows.push(row).map_err(|what| TableError::Layout { table: self.name, what })?;
                *taken += 1;
            }
            rest = later;
            if self.rows.len() >= self.rows.enough() {
                self.put()?;
                if self.part.as_ref().is_some_and(|p| p.rows >= self.place.options.part_rows) {
                    self.finish_part()?;
                }
            }
        }
        Ok(())
    }

    /// Writes what was collected to the part, which is begun where there is none.
    fn put(&mut self) -> Result<(), TableError> {
        let part = match &mut self.part {
            Some(p) => p,
            None => {
                let name = format!("{}/{:06}.parquet", self.name, self.next);
                let (schema, properties) = (self.schema.clone(), self.properties.clone());
                let mut part = Part::create(&self.place.disk, &self.place.folder, name, schema, properties)?;
                part.group_bytes = self.place.options.group_bytes;
                self.part.insert(part)
            }
        };
        let rows = self.rows.take().map_err(|e| TableError::Layout { table: self.name, what: e.to_string() })?;
        Ok(part.write(&rows)?)
    }

    fn end_part(&mut self) -> Result<(), TableError> {
        let ended = if self.rows.len() > 0 { self.put() } else { Ok(()) };
        let ended = ended.and_then(|()| self.finish_part());
        self.drop_on_error(ended)
    }

    fn finish_part(&mut self) -> Result<(), TableError> {
        if let Some(part) = self.part.take() {
            let rows = part.rows;
            match part.finish() {
                Ok(line) => {
                    self.unnoted.push(line);
                    self.next += 1;
                    self.counts.written += rows;
                }
                Err(e) => {
                    self.counts.dropped += rows;
                    return Err(e.into());
                }
            }
        }
        while let Some(line) = self.unnoted.last() {
            note(self.place.disk.as_ref(), &self.place.folder, self.place.run_id, line.clone())?;
            self.unnoted.pop();
        }
        Ok(())
    }

    fn close(&mut self) -> Result<(), TableError> {
        if self.next == 1 && self.part.is_none() && self.rows.len() == 0 {
            let begun = self.put();
            self.drop_on_error(begun)?;
        }
        self.end_part()
    }

    fn drop_on_error(&mut self, result: Result<(), TableError>) -> Result<(), TableError> {
        if result.is_err() {
            let collected = self.rows.len() as u64;
            let _ = self.rows.take();
            let part = self.part.take();
            self.counts.dropped += collected + part.as_ref().map_or(0, |p| p.rows);
            if let Some(part) = part {
                part.discard();
            }
        }
        result
    }
}
