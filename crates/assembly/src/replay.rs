//! Recordings and captures through the same core as fast as it goes.

use crate::assign::is_capture;
use crate::compare::{Compared, Comparison};
use crate::error::Error;
use crate::files::Files;
use crate::load::{Assembled, CaptureFiles, SourceSpec, load};
use crate::merge::{Merge, Unused, event_time};
use crate::record::{free_folder, program, source_ends};
use crate::rename::Renaming;
use crate::salvage::{plan_of, stored_files};
use crate::sensors::states;
use pipeline::{Core, Counts, Plan, Sequencer};
use plugin_api::Carries;
use recording::manifest::{CaptureFile, ConfigFile, End, Ending, SensorState};
use recording::{
    Disk, IntegrityError, Manifest, Recording, RunId, State, Stored, TablesOptions, TablesWriter, WholeLog,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Anchor, Batch, EntryBody, EventTime, LogEntry, Span};

/// Entries through the core, or snapshots made of them, before results are handed on.
const STRIDE: usize = 4096;
/// A longer pause in captures is not gone through: there are no snapshots from one minute on, and an event says so.
const LONGEST_BRIDGED: Span = Span::from_secs(24 * 3600);
/// Snapshots that one tick closes at most.
const A_TICK: i64 = 500;

/// How a replay is done.
pub struct ReplayOptions<'a> {
    /// The disk that recordings are on.
    pub disk: Arc<dyn Disk>,
    /// Another configuration than the stored one; needed for captures.
    pub with: Option<PathBuf>,
    /// Make a new recording in this folder.
    pub out: Option<PathBuf>,
    /// Compare with what is stored.
    pub compare: bool,
    /// Told how far it is, 0 to 1.
    pub progress: &'a mut dyn FnMut(f64),
}

/// How a replay went.
pub struct Replayed {
    /// What was replayed, for a person.
    pub what: String,
    /// What the core counted.
    pub counts: Counts,
    /// The plan it ran.
    pub plan: Arc<Plan>,
    /// First and last event time.
    pub span: Option<(EventTime, EventTime)>,
    /// The recording made of it.
    pub folder: Option<PathBuf>,
    /// What the comparison found.
    pub compared: Option<Compared>,
    /// What of the captures was not used.
    pub unused: Unused,
    /// What a person should know.
    pub notes: Vec<String>,
}

/// What a path is that a replay is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// A recording's folder, or what is left of one.
    Recording,
    /// A file that something else recorded.
    Capture,
    /// Something else.
    Neither,
}

/// Looks what a path is.
///
/// # Errors
/// Where there is nothing.
pub fn what_is(path: &Path) -> Result<Named, Error> {
    if !path.exists() {
        return Err(Error::NotThere(path.to_owned()));
    }
    let left = [recording::manifest::FILE, recording::folder::LOCK, recording::digests::FILE];
    Ok(match path {
        p if left.iter().any(|name| p.join(name).is_file()) => Named::Recording,
        p if is_capture(p) => Named::Capture,
        _ => Named::Neither,
    })
}

/// Where results of a replay go.
struct Results<'a> {
    core: Core,
    batch: Batch,
    waiting: usize,
    tables: Option<TablesWriter>,
    comparison: Option<Comparison<'a>>,
    span: Option<(EventTime, EventTime)>,
}

impl<'a> Results<'a> {
    fn new(plan: &Arc<Plan>, tables: Option<TablesWriter>, comparison: Option<Comparison<'a>>) -> Results<'a> {
        let core = Core::new(Arc::clone(plan));
        Results { core, batch: Batch::default(), waiting: 0, tables, comparison, span: None }
    }

    /// Takes an entry; true when a stride is through.
    fn take(&mut self, entry: &LogEntry) -> Result<bool, Error> {
        let first = self.span.map_or(entry.logged_at, |s| s.0);
        self.span = Some((first, entry.logged_at));
        self.core.push(entry, &mut self.batch);
        self.waiting += 1;
        if self.waiting < STRIDE && self.batch.snapshots.len() < STRIDE {
            return Ok(false);
        }
        self.hand_on()?;
        Ok(true)
    }

    fn hand_on(&mut self) -> Result<(), Error> {
        self.waiting = 0;
        if let Some(c) = &mut self.comparison {
            c.take(&self.batch)?;
        }
        if let Some(t) = &mut self.tables {
            t.write(&self.batch)?;
        }
        self.batch.clear();
        Ok(())
    }
}

/// Replays one recording: its stored entries straight into the core.
///
/// # Errors
/// Where it cannot be read, is not whole, or its configuration does not load.
pub fn recording(folder: &Path, options: ReplayOptions<'_>) -> Result<Replayed, Error> {
    with_limits(folder, options, &[])
}

/// The same with other limit files than the recorded ones; none: the recorded ones.
///
/// # Errors
/// As for [`recording`], and where a limit file cannot be read or used.
pub fn with_limits(folder: &Path, options: ReplayOptions<'_>, limits: &[PathBuf]) -> Result<Replayed, Error> {
    let stored = Stored::open(options.disk.as_ref(), folder)?;
    refuse_unfinished(&stored)?;
    refuse_comparing_with(&options)?;
    let mut notes = check(&stored, &options)?;
    if !stored.manifest.captures.is_empty() {
        return again(&stored, options, limits, notes);
    }
    let started = stored.manifest.started;
    let (plan, files, sensors, renaming) = match &options.with {
        None => {
            let Manifest { files, sensors, .. } = stored.manifest.clone();
            let stored_files = stored_files(&stored.manifest).with_limits(limits)?;
            (plan_of(&stored.manifest, stored_files)?, files, sensors, None)
        }
        Some(run) => {
            let Assembled { plan, files, sensors, .. } = load(&Files::disk(), run, &CaptureFiles::default())?;
            let renaming = Renaming::new(&stored.manifest.layout, &plan.layout);
            (plan, files, states(&sensors, started), Some(renaming))
        }
    };
    if stored.manifest.program != program() {
        notes.push(format!("recorded by {}, replayed by {}", stored.manifest.program, program()));
    }
    let digests = folder.join("digests");
    let origin = vec![capture_file(options.disk.as_ref(), "recording", &digests)?];
    let out = Out::create(&options, &plan, files, origin, started, stored.manifest.simulated, sensors)?;
    let tables = stored.tables(&options.disk);
    let comparison = if options.compare { Some(Comparison::with(&tables)?) } else { None };
    let (out, writer) = out.map_or((None, None), |(o, w)| (Some(o), Some(w)));
    let mut results = Results::new(&plan, writer, comparison);
    let mut log = WholeLog::as_told(&options.disk, folder, &stored.manifest)?;
    let mut renaming = renaming;
    while let Some(mut entry) = log.next_entry()? {
        if let Some(r) = &mut renaming {
            r.apply(&mut entry);
        }
        if results.take(&entry)? {
            (options.progress)(log.progress());
        }
    }
    if let Some(said) = stored.manifest.end.as_ref().map(|e| e.entries).filter(|n| *n != log.entries()) {
        return Err(IntegrityError::Entries { folder: folder.to_owned(), said, found: log.entries() }.into());
    }
    for m in log.missing() {
        notes.push(format!(
            "entries {} to {} are missing, as the manifest says: started afresh after them",
            m.start,
            m.end - 1
        ));
    }
    if let Some(r) = renaming {
        notes.extend(r.notes());
    }
    finish(results, out, plan, folder.display().to_string(), Unused::default(), notes, options.progress)
}

/// Replays captures through a run file.
///
/// # Errors
/// Where the run file or a capture cannot be read.
pub fn captures(paths: &[PathBuf], options: ReplayOptions<'_>) -> Result<Replayed, Error> {
    let Some(run) = options.with.clone() else {
        let text = "captures need a run file that says what their words mean: --with RUN.toml; \
                    `bise new replay` writes one";
        return Err(Error::Refused(text.to_owned()));
    };
    if options.compare {
        let text = "captures hold no results to compare with; compare a recording made from them";
        return Err(Error::Refused(text.to_owned()));
    }
    let files = crate::assign::assign(&run, paths)?;
    let mut assembled = load(&Files::disk(), &run, &files)?;
    assembled.notes.extend(not_named(&assembled.sources, &files));
    let what = match paths {
        [] => run.display().to_string(),
        paths => paths.iter().map(|p| p.display().to_string()).collect::<Vec<_>>().join(", "),
    };
    through(assembled, what, None, options)
}

/// What the run file does to the times of its captures.
fn clocks(sources: &[SourceSpec]) -> impl Iterator<Item = String> + '_ {
    sources.iter().filter_map(|s| match s {
        SourceSpec::Capture { setup, clock: Some(clock), .. } => {
            Some(format!("times of {} are corrected as the run file says: {clock}", setup.name))
        }
        _ => None,
    })
}

/// Where some captures were named, which sources read others, as the run file says.
pub(crate) fn not_named(sources: &[SourceSpec], named: &CaptureFiles) -> Vec<String> {
    let mut notes = Vec::new();
    for s in sources {
        let SourceSpec::Capture { setup, .. } = s else { continue };
        if !named.by_source.is_empty() && !named.by_source.iter().any(|(n, _)| *n == setup.name) {
            let files: Vec<String> = setup.files.iter().map(|f| f.display().to_string()).collect();
            let what = if files.is_empty() {
                "nothing".to_owned()
            } else {
                format!("{}, as the run file says", files.join(", "))
            };
            notes.push(format!("no capture was named for {}: it reads {what}", setup.name));
        }
    }
    notes
}

/// Holds a recording against its digests. Tables that are not as they were written stop only a comparison; otherwise
/// they are told.
fn check(stored: &Stored, options: &ReplayOptions<'_>) -> Result<Vec<String>, Error> {
    let tables = stored.check(options.disk.as_ref())?;
    let notes = tables.iter().map(|t| format!("{t}; nothing is read from it")).collect();
    match tables.into_iter().next() {
        Some(e) if options.compare => Err(e.into()),
        _ => Ok(notes),
    }
}

pub(crate) fn refuse_unfinished(stored: &Stored) -> Result<(), Error> {
    let folder = stored.folder.display();
    match stored.state {
        State::BeingWritten => Err(Error::Refused(format!("{folder} is still being written; wait until it ends"))),
        State::Unfinished => {
            Err(Error::Refused(format!("{folder} was left unfinished; run `bise salvage {folder}` first")))
        }
        State::Complete | State::Salvaged => Ok(()),
    }
}

fn refuse_comparing_with(options: &ReplayOptions<'_>) -> Result<(), Error> {
    if options.compare && options.with.is_some() {
        let text = "compare is for the stored configuration; leave out either --with or --compare";
        return Err(Error::Refused(text.to_owned()));
    }
    Ok(())
}

/// Replays the captures that a recording was made from, after checking that they are the same files.
fn again(
    stored: &Stored,
    mut options: ReplayOptions<'_>,
    limits: &[PathBuf],
    notes: Vec<String>,
) -> Result<Replayed, Error> {
    let sources = stored.manifest.source_names();
    if stored.manifest.captures.iter().any(|c| c.source == "recording" && !sources.contains(&c.source)) {
        let text = format!(
            "{} was made from another recording ({}); replay that one",
            stored.folder.display(),
            stored.manifest.captures[0].path
        );
        return Err(Error::Refused(text));
    }
    for c in &stored.manifest.captures {
        let now = capture_file(options.disk.as_ref(), &c.source, Path::new(&c.path))?;
        if now.sha256 != c.sha256 {
            let text = format!("{} has changed since it was replayed into {}", c.path, stored.folder.display());
            return Err(Error::Refused(text));
        }
    }
    let captures = CaptureFiles::of(&stored.manifest);
    let mut assembled = match options.with.take() {
        Some(run) => load(&Files::disk(), &run, &captures)?,
        None => {
            let run = stored.manifest.files.iter().find(|f| f.role == "run").map(|f| f.path.clone());
            let files = stored_files(&stored.manifest).with_limits(limits)?;
            load(&files, Path::new(&run.unwrap_or_default()), &captures)?
        }
    };
    assembled.notes.extend(notes);
    through(assembled, stored.folder.display().to_string(), Some(stored), options)
}

/// The moments between two records of captures at which time is told to go on, as it does in a live run: what is stale
/// by then is stale in the snapshots. Live ticks are denser and close the same snapshots.
pub(crate) fn ticks(from: EventTime, to: EventTime, grid: Span) -> impl Iterator<Item = EventTime> {
    let step = Span(grid.0.saturating_mul(A_TICK).min(pipeline::core::LONGEST_PAUSE.0));
    let end = if to - from > LONGEST_BRIDGED { from } else { to };
    std::iter::successors(Some(from + step), move |t| Some(*t + step)).take_while(move |t| *t < end)
}

/// Captures, merged, through sequencer and core; time is event time.
fn through(
    assembled: Assembled,
    what: String,
    stored: Option<&Stored>,
    options: ReplayOptions<'_>,
) -> Result<Replayed, Error> {
    let mut merge = Merge::open(&assembled.sources)?;
    let mut notes = assembled.notes;
    notes.extend(clocks(&assembled.sources));
    let origin = captures_of(options.disk.as_ref(), &assembled.sources)?;
    let plan = assembled.plan;
    let mut first = merge.next_entry()?;
    let started = first.as_ref().map_or(EventTime(0), event_time);
    let simulated = simulated(&options.disk, &assembled.sources)?;
    let sensors = states(&assembled.sensors, started);
    let out = Out::create(&options, &plan, assembled.files, origin, started, simulated, sensors)?;
    let (out, writer) = out.map_or((None, None), |(o, w)| (Some(o), Some(w)));
    let tables = stored.map(|s| s.tables(&options.disk));
    let comparison = match &tables {
        Some(t) if options.compare => Some(Comparison::with(t)?),
        _ => None,
    };
    let mut results = Results::new(&plan, writer, comparison);
    let mut sequencer = Sequencer::new(plan.layout.grid);
    let mut last = started;
    while let Some(entry) = first.take().map_or_else(|| merge.next_entry(), |e| Ok(Some(e)))? {
        let now = last.max(event_time(&entry));
        for t in ticks(last, now, plan.layout.grid) {
            results.take(&sequencer.push(EntryBody::Tick, t))?;
        }
        last = now;
        let entry = sequencer.push(entry, last);
        if results.take(&entry)? {
            (options.progress)(merge.progress());
        }
    }
    // Past the end by the lateness, so that the last snapshots close as they would have live.
    let end = sequencer.push(EntryBody::End, last + plan.lateness);
    results.take(&end)?;
    finish(results, out, plan, what, merge.unused(), notes, options.progress)
}

/// A recording being made by a replay.
struct Out {
    recording: Recording,
}

impl Out {
    fn create(
        options: &ReplayOptions<'_>,
        plan: &Arc<Plan>,
        files: Vec<ConfigFile>,
        captures: Vec<CaptureFile>,
        started: EventTime,
        simulated: bool,
        sensors: Vec<SensorState>,
    ) -> Result<Option<(Out, TablesWriter)>, Error> {
        let Some(parent) = &options.out else { return Ok(None) };
        let folder = free_folder(options.disk.as_ref(), parent, &plan.layout.run, started)?;
        let manifest = Manifest {
            program: program(),
            run_id: RunId::random().map_err(Error::io("reading random numbers for the run's id"))?,
            simulated: simulated || plan.layout.sources.iter().any(|s| s.simulated),
            started,
            lateness: plan.lateness,
            anchor: Anchor { event_time: started, wall_offset_ns: 0 },
            layout: (*plan.layout).clone(),
            files,
            sensors,
            captures,
            end: None,
        };
        let run_id = manifest.run_id;
        let recording = Recording::create(Arc::clone(&options.disk), &folder, manifest)?;
        let disk = Arc::clone(&options.disk);
        let tables = TablesWriter::create(disk, &folder, run_id, &plan.layout, TablesOptions::default())?;
        Ok(Some((Out { recording }, tables)))
    }
}

fn finish(
    mut results: Results<'_>,
    out: Option<Out>,
    plan: Arc<Plan>,
    what: String,
    unused: Unused,
    notes: Vec<String>,
    progress: &mut dyn FnMut(f64),
) -> Result<Replayed, Error> {
    results.hand_on()?;
    let Results { core, tables, comparison, span, .. } = results;
    let counts = core.counts().clone();
    let compared = comparison.map(Comparison::end).transpose()?;
    let mut folder = None;
    if let (Some(out), Some(tables)) = (out, tables) {
        let (rows, closed) = tables.close();
        closed?;
        let end = End {
            how: Ending::Complete,
            ended: span.map_or(EventTime(0), |s| s.1),
            entries: 0,
            rows: rows.written,
            not_recorded: Vec::new(),
            missing: Vec::new(),
            sources: source_ends(&plan, &counts),
            cuts: Vec::new(),
            not_used: unused.for_manifest(),
            tables_complete: rows.is_complete(),
        };
        folder = Some(out.recording.folder().to_owned());
        out.recording.finish(end)?;
    }
    progress(1.0);
    Ok(Replayed { what, counts, plan, span, folder, compared, unused, notes })
}

/// Whether a recording that is read again came from a simulator.
fn simulated(disk: &Arc<dyn Disk>, sources: &[SourceSpec]) -> Result<bool, Error> {
    for s in sources {
        let SourceSpec::Capture { plugin, setup, .. } = s else { continue };
        for f in setup.files.iter().filter(|_| plugin.carries == Carries::Recorded) {
            let folder = source_replay::recorded::folder(f);
            if Manifest::read(disk.as_ref(), &folder)?.simulated {
                return Ok(true);
            }
        }
    }
    Ok(false)
}

fn captures_of(disk: &dyn Disk, sources: &[SourceSpec]) -> Result<Vec<CaptureFile>, Error> {
    let mut all = Vec::new();
    for s in sources {
        if let SourceSpec::Capture { setup, clock, .. } = s {
            let clock = clock.as_ref().map_or_else(String::new, ToString::to_string);
            for f in &setup.files {
                all.push(CaptureFile { clock: clock.clone(), ..capture_file(disk, &setup.name, f)? });
            }
        }
    }
    Ok(all)
}

fn capture_file(disk: &dyn Disk, source: &str, path: &Path) -> Result<CaptureFile, Error> {
    // A recording is told by its digests.
    let path = &if path.is_dir() { path.join(recording::digests::FILE) } else { path.to_owned() };
    let reading = || format!("reading {}", path.display());
    let bytes = disk.size(path).map_err(Error::io(reading()))?.unwrap_or(0);
    let sha256 = recording::digests::sha256_of_file(disk, path).map_err(recording::FolderError::from)?;
    let (source, path, clock) = (source.to_owned(), path.display().to_string(), String::new());
    Ok(CaptureFile { source, path, bytes, sha256, clock })
}
