//! A CAN log to the tables of a recording; frames to numbers.

use crate::again::again;
use crate::cost::Stretch;
use crate::error::Error;
use crate::{Figures, Place, configs};
use assembly::files::Files;
use assembly::load::{Assembled, CaptureFiles, load};
use assembly::merge::{Merge, event_time};
use assembly::replay::{self, ReplayOptions};
use decode::Raw;
use decode::can::{CanDatabase, CanFrame};
use pipeline::{Core, Sequencer};
use recording::{RealDisk, RunId, TablesOptions, TablesWriter};
use std::path::Path;
use std::sync::Arc;
use stream::{Batch, EntryBody, EventTime};

/// Entries through the core before results are handed on, as in a replay.
const STRIDE: u64 = 4096;

/// Text to samples, snapshots and events in a folder: capture, merge, sequencer, core, tables, as a replay has them;
/// the file is read inside. Outside: loading the configuration, and the digest that a replay takes of its captures.
pub(crate) fn text_long(place: &Place, times: usize) -> Result<Figures, Error> {
    let (log, dbc) = (place.data.join("frames.log"), place.data.join("bus.dbc"));
    let run = configs::whole_bus(&place.out, &log, &dbc)?;
    let Assembled { plan, sources, .. } = load(&Files::disk(), &run, &CaptureFiles::default())?;
    let sources: Vec<_> = sources.into_iter().map(|s| again(s, times)).collect();
    let run_id = RunId::random().map_err(Error::io("reading random numbers for", &place.out))?;

    let stretch = Stretch::start();
    let (disk, options) = (Arc::new(RealDisk), TablesOptions::default());
    let mut tables = TablesWriter::create(disk, &place.out, run_id, &plan.layout, options)?;
    let mut merge = Merge::open(&sources)?;
    let mut sequencer = Sequencer::new(plan.layout.grid);
    let (mut core, mut batch, mut last) = (Core::new(plan.clone()), Batch::default(), EventTime(i64::MIN));
    while let Some(entry) = merge.next_entry()? {
        last = last.max(event_time(&entry));
        core.push(&sequencer.push(entry, last), &mut batch);
        if core.counts().entries.is_multiple_of(STRIDE) {
            tables.write(&batch)?;
            batch.clear();
        }
    }
    core.push(&sequencer.push(EntryBody::End, last + plan.lateness), &mut batch);
    tables.write(&batch)?;
    let (rows, closed) = tables.close();
    closed?;
    let cost = stretch.stop();

    let source = core.counts().sources.first().cloned().unwrap_or_default();
    if source.records == 0
        || merge.unused().bad_lines + source.undecodable + source.unmapped + source.late > 0
        || !rows.is_complete()
    {
        return Err(Error::Failed(format!("not every frame was used: {source:?}, {rows:?}")));
    }
    let mut figures = cost.figures("ns_per_frame", source.records);
    figures.insert("frames".to_owned(), source.records.into());
    figures.insert("rows".to_owned(), rows.written.samples.into());
    figures.insert("snapshots".to_owned(), rows.written.snapshots.into());
    figures.insert("bytes_samples".to_owned(), size(&place.out.join("samples"))?.into());
    figures.insert("bytes_snapshots".to_owned(), size(&place.out.join("snapshots"))?.into());
    Ok(figures)
}

/// The same as one would type it, `bise replay`: with the configuration, the digest of the capture and the manifest.
pub(crate) fn text_replay(place: &Place) -> Result<Figures, Error> {
    let (log, dbc) = (place.data.join("frames.log"), place.data.join("bus.dbc"));
    let run = configs::whole_bus(&place.out, &log, &dbc)?;
    let stretch = Stretch::start();
    let options = ReplayOptions {
        disk: Arc::new(RealDisk),
        with: Some(run),
        out: Some(place.out.clone()),
        compare: false,
        progress: &mut |_| {},
    };
    let replayed = replay::captures(&[log], options)?;
    let frames = replayed.counts.sources.first().map_or(0, |s| s.records);
    let mut figures = stretch.stop().figures("ns_per_frame", frames);
    figures.insert("frames".to_owned(), frames.into());
    Ok(figures)
}

/// Frames in memory (24 bytes each: time, identifier, length, data) to numbers, which are summed.
pub(crate) fn bin_decode(place: &Place) -> Result<Figures, Error> {
    let (bin, dbc) = (place.data.join("frames.bin"), place.data.join("bus.dbc"));
    let text = std::fs::read_to_string(&dbc).map_err(Error::io("reading", &dbc))?;
    let database = CanDatabase::load(&text, "bus.dbc").map_err(|e| Error::Failed(e.to_string()))?;
    let bytes = std::fs::read(&bin).map_err(Error::io("reading", &bin))?;
    let (mut sum, mut signals, mut frames) = (0.0, 0u64, 0u64);
    let stretch = Stretch::start();
    for frame in bytes.as_chunks::<24>().0 {
        let [_, _, _, _, _, _, _, _, a, b, c, d, length, _, _, _, data @ ..] = frame;
        let data = &data[..usize::from(*length).min(8)];
        let frame = CanFrame::data(u32::from_le_bytes([*a, *b, *c, *d]), 0, data);
        let decoded = database.decode_frame(&frame, &mut |_, raw| {
            if let Raw::Number(x) = raw {
                sum += x;
                signals += 1;
            }
        });
        decoded.map_err(|e| Error::Failed(e.to_string()))?;
        frames += 1;
    }
    let mut figures = stretch.stop().figures("ns_per_frame", frames);
    figures.insert("frames".to_owned(), frames.into());
    figures.insert("signals".to_owned(), signals.into());
    figures.insert("check".to_owned(), sum.into());
    Ok(figures)
}

fn size(folder: &Path) -> Result<u64, Error> {
    let mut sum = 0;
    for file in std::fs::read_dir(folder).map_err(Error::io("listing", folder))? {
        let facts = file.and_then(|f| f.metadata()).map_err(Error::io("listing", folder))?;
        sum += facts.len();
    }
    Ok(sum)
}
