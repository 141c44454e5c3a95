//! From what a crash left to a complete recording: the log's valid prefix through the stored configuration.

use crate::error::Error;
use crate::files::Files;
use crate::load::{CaptureFiles, load};
use crate::record::{not_recorded, program, source_ends};
use pipeline::{Core, Counts, Plan};
use recording::manifest::{Cut, End, Ending, NotRecorded};
use recording::{Disk, Manifest, TablesOptions, TablesWriter, WholeLog};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use stream::{Batch, EntryBody, EventTime, GapCause};

/// Entries through the core before the tables are written to.
const STRIDE: usize = 4096;

/// What salvage did.
#[derive(Debug)]
pub struct Salvage {
    /// Entries in the log.
    pub entries: u64,
    /// What was counted on the way.
    pub counts: Counts,
    /// What was cut off or set aside.
    pub cuts: Vec<Cut>,
    /// Ordinals that are not in the log although later ones are, and that no entry explains.
    pub missing: Vec<Range<u64>>,
    /// All stretches that are not recorded, those above included.
    pub not_recorded: Vec<NotRecorded>,
    /// What a person should know: written by another version of the program.
    pub notes: Vec<String>,
}

/// Salvages a recording that a crash left unfinished.
///
/// # Errors
/// Where it is whole already, still being written, or its configuration does not load.
pub fn salvage(disk: &Arc<dyn Disk>, folder: &Path, progress: &mut dyn FnMut(f64)) -> Result<Salvage, Error> {
    rebuild(disk, folder, Ending::Salvaged, None, progress)
}

/// Makes the log whole and every table anew from it. `tail` is what is missing at the end, where that is known.
pub(crate) fn rebuild(
    disk: &Arc<dyn Disk>,
    folder: &Path,
    how: Ending,
    tail: Option<NotRecorded>,
    progress: &mut dyn FnMut(f64),
) -> Result<Salvage, Error> {
    let salvaged = recording::salvage::salvage(disk, folder)?;
    let manifest = salvaged.recording.manifest().clone();
    let mut notes = Vec::new();
    if manifest.program != program() {
        notes.push(format!("recorded by {}, salvaged by {}: results may differ", manifest.program, program()));
    }
    let plan = stored_plan(&manifest)?;
    let mut core = Core::new(Arc::clone(&plan));
    let options = TablesOptions::default();
    let mut tables = TablesWriter::create(Arc::clone(disk), folder, manifest.run_id, &plan.layout, options)?;
    let (mut batch, mut stretches, mut ended) = (Batch::default(), Vec::new(), manifest.started);
    let mut log = WholeLog::open(disk, folder, &manifest)?;
    let mut n = 0;
    while let Some(entry) = log.next_entry()? {
        if let EntryBody::Gap(g) = &entry.body
            && g.cause == GapCause::NotRecorded
        {
            stretches.push(not_recorded(g.from, g.to, g.lost));
        }
        ended = ended.max(entry.logged_at);
        core.push(&entry, &mut batch);
        n += 1;
        if n % STRIDE == 0 {
            tables.write(&batch)?;
            batch.clear();
            progress(log.progress());
        }
    }
    stretches.extend(tail);
    tables.write(&batch)?;
    let (rows, closed) = tables.close();
    closed?;
    let counts = core.counts().clone();
    let end = End {
        how,
        ended,
        entries: log.entries(),
        rows: rows.written,
        not_recorded: stretches.clone(),
        missing: log.missing().to_vec(),
        sources: source_ends(&plan, &counts),
        cuts: salvaged.cuts.clone(),
        not_used: Vec::new(),
        tables_complete: rows.is_complete(),
    };
    salvaged.recording.finish(end)?;
    progress(1.0);
    Ok(Salvage {
        entries: log.entries(),
        counts,
        cuts: salvaged.cuts,
        missing: log.missing().to_vec(),
        not_recorded: stretches,
        notes,
    })
}

/// The plan that a recording stores.
///
/// # Errors
/// Where it does not load any more: another version of the program, a damaged manifest.
pub fn stored_plan(manifest: &Manifest) -> Result<Arc<Plan>, Error> {
    plan_of(manifest, stored_files(manifest))
}

/// The files that a recording stores.
pub(crate) fn stored_files(manifest: &Manifest) -> Files {
    Files::stored(manifest.files.iter().map(|f| (f.path.clone(), f.text.clone())))
}

/// The plan of the recorded run file with these files.
pub(crate) fn plan_of(manifest: &Manifest, files: Files) -> Result<Arc<Plan>, Error> {
    let run = manifest.files.iter().find(|f| f.role == "run");
    let Some(run) = run else {
        return Err(Error::Refused("the recording's manifest names no run file".to_owned()));
    };
    let captures = CaptureFiles::of(manifest);
    Ok(load(&files, Path::new(&run.path), &captures)?.plan)
}

/// Event time as it stands in file names and messages.
pub fn ended_at(manifest: &Manifest) -> Option<EventTime> {
    manifest.end.as_ref().map(|e| e.ended)
}
