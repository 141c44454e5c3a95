//! A live run: from an assembled plan to a finished recording.

use crate::error::Error;
use crate::load::{Assembled, SourceSpec};
use crate::salvage;
use pipeline::{Counts, Plan};
use plugin_api::{Clock, Counters, Options, SinkSetup};
use recording::manifest::{End, Ending, NotRecorded, SensorState, SourceEnd};
use recording::tables::Rows;
use recording::{Disk, Manifest, Recording, RunId};
use runtime::{LogSlot, Outcome, Run, RunSetup, SinkSlot, SourceSlot, Timing};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use stream::{Anchor, EventTime, OperatorAction};

/// Bytes of a log segment before it is closed and turned into Parquet.
pub const SEGMENT_BYTES: u64 = 64 << 20;

/// How a run is recorded, beside what its run file says.
pub struct RecordOptions {
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// The disk.
    pub disk: Arc<dyn Disk>,
    /// Whether the values come from a simulator.
    pub simulated: bool,
    /// Bytes of a log segment.
    pub segment_bytes: u64,
    /// How long is waited for what.
    pub timing: Timing,
}

/// A run being recorded.
pub struct Session {
    run: Run,
    recording: Recording,
    plan: Arc<Plan>,
    counters: Arc<Counters>,
}

/// How a recorded run went.
#[derive(Debug)]
pub struct Recorded {
    /// The recording's folder.
    pub folder: PathBuf,
    /// What the core counted.
    pub counts: Counts,
    /// The sensors as they stood when the run started.
    pub sensors: Vec<SensorState>,
    /// Entries in the log.
    pub entries: u64,
    /// Entries that could not be written.
    pub not_recorded: u64,
    /// What went wrong, in words; empty for a clean run.
    pub troubles: Vec<String>,
}

/// Name and version of this program, as recordings store it.
pub fn program() -> String {
    concat!("bise ", env!("CARGO_PKG_VERSION")).to_owned()
}

impl Session {
    /// Makes the recording and starts everything.
    ///
    /// # Errors
    /// Where the folder cannot be made, the port for metrics is taken, or a plugin refuses.
    pub fn start(assembled: Assembled, options: RecordOptions) -> Result<Session, Error> {
        let Assembled { plan, sources, recordings, metrics, files, sensors, .. } = assembled;
        // First what may be refused, so that no recording is begun in vain.
        let listener = metrics.map(runtime::http::listen).transpose()?;
        let counters = Arc::new(Counters::new(&plan.layout));
        let mut slots = Vec::new();
        for s in sources {
            let SourceSpec::Live { plugin, setup, queue } = s else {
                let text = "this run file names captures; replay them with `bise replay`, record needs live sources";
                return Err(Error::Refused(text.to_owned()));
            };
            let source = (plugin.build)(&setup)?;
            slots.push(SourceSlot { plugin, setup, source, queue });
        }
        let started = options.clock.now();
        let folder = free_folder(options.disk.as_ref(), &recordings, &plan.layout.run, started)?;
        let manifest = Manifest {
            program: program(),
            run_id: RunId::random().map_err(Error::io("reading random numbers for the run's id"))?,
            simulated: options.simulated || plan.layout.sources.iter().any(|s| s.simulated),
            started,
            lateness: plan.lateness,
            anchor: Anchor { event_time: started, wall_offset_ns: options.clock.wall_ns() - started.0 },
            layout: (*plan.layout).clone(),
            files,
            sensors: crate::sensors::states(&sensors, started),
            captures: Vec::new(),
            end: None,
        };
        let recording = Recording::create(Arc::clone(&options.disk), &folder, manifest)?;
        let writer = recording.log(options.segment_bytes)?;
        let sinks = sinks(&plan, &counters, &folder, metrics)?;
        let log = Some(LogSlot { writer, disk: options.disk, folder });
        let setup = RunSetup {
            plan: Arc::clone(&plan),
            sources: slots,
            sinks,
            log,
            tap: None,
            listener,
            clock: options.clock,
            counters: Arc::clone(&counters),
            timing: options.timing,
        };
        let run = Run::start(setup)?;
        Ok(Session { run, recording, plan, counters })
    }

    /// Where it records.
    pub fn folder(&self) -> &Path {
        self.recording.folder()
    }

    /// Where metrics are served.
    pub fn address(&self) -> Option<SocketAddr> {
        self.run.address()
    }

    /// What is counted.
    pub fn counters(&self) -> &Arc<Counters> {
        &self.counters
    }

    /// The plan.
    pub fn plan(&self) -> &Arc<Plan> {
        &self.plan
    }

    /// Hands over what an operator did; false where too much waits already.
    pub fn operator(&self, action: OperatorAction) -> bool {
        self.run.operator(action)
    }

    /// Whether the run has come to its end by itself, which is a failure.
    pub fn is_over(&self) -> bool {
        self.run.is_over()
    }

    /// Stops in order and finishes the recording. Tables that do not hold everything are made again from the log.
    pub fn stop(self) -> Recorded {
        let Session { run, recording, plan, counters } = self;
        let mut outcome = run.stop();
        let r = &counters.recording;
        let (mut entries, lost) = (r.entries.load(Ordering::Relaxed), r.lost.load(Ordering::Relaxed));
        let folder = recording.folder().to_owned();
        let sensors = recording.manifest().sensors.clone();
        let parquet = |names: &[String]| names.iter().any(|n| n == sink_parquet::PLUGIN.kind);
        let tables_complete = !parquet(&outcome.incomplete_sinks);
        let finished = if parquet(&outcome.abandoned_sinks) {
            Err(Error::Refused("its tables may still be written to".to_owned()))
        } else if outcome.log_whole && tables_complete {
            finish(recording, &plan, &outcome, entries, tables_complete)
        } else {
            let again = "log or tables did not get everything: the tables are made again from the log";
            outcome.troubles.push(again.to_owned());
            rebuild(recording, &outcome).map(|n| entries = n)
        };
        if let Err(e) = finished {
            let text = format!("the recording is not finished: {e}; `bise salvage {}` completes it", folder.display());
            outcome.troubles.push(text);
        }
        Recorded { folder, counts: outcome.counts, sensors, entries, not_recorded: lost, troubles: outcome.troubles }
    }
}

/// Makes the log whole where it can be, and the tables anew; how many entries there are.
fn rebuild(recording: Recording, outcome: &Outcome) -> Result<u64, Error> {
    let (disk, folder) = (Arc::clone(recording.disk()), recording.folder().to_owned());
    let tail = outcome.tail_lost.map(|(lost, from)| NotRecorded { from, to: outcome.ended, lost });
    // The lock is given back first: salvage takes it.
    drop(recording);
    let how = if outcome.in_order { Ending::Complete } else { Ending::Salvaged };
    Ok(salvage::rebuild(&disk, &folder, how, tail, &mut |_| {})?.entries)
}

/// Ends a recording whose log is whole; the sink for tables has said whether they are.
fn finish(
    recording: Recording,
    plan: &Plan,
    outcome: &Outcome,
    entries: u64,
    tables_complete: bool,
) -> Result<(), Error> {
    let counts = &outcome.counts;
    let end = End {
        how: Ending::Complete,
        ended: outcome.ended,
        entries,
        rows: Rows {
            samples: counts.sources.iter().map(|s| s.samples).sum(),
            snapshots: counts.snapshots,
            events: counts.events,
        },
        not_recorded: Vec::new(),
        missing: Vec::new(),
        sources: source_ends(plan, counts),
        cuts: Vec::new(),
        not_used: Vec::new(),
        tables_complete,
    };
    recording.finish(end)?;
    Ok(())
}

/// The counts of each source for the manifest.
pub(crate) fn source_ends(plan: &Plan, counts: &Counts) -> Vec<SourceEnd> {
    let end = |(info, c): (&stream::SourceInfo, &pipeline::SourceCounts)| SourceEnd {
        name: info.name.clone(),
        records: c.records,
        lost: c.lost,
        faults: c.faults.iter().sum(),
        late: c.late,
    };
    plan.layout.sources.iter().zip(&counts.sources).map(end).collect()
}

/// A stretch not recorded, for the manifest.
pub(crate) fn not_recorded(from: EventTime, to: EventTime, lost: u64) -> NotRecorded {
    NotRecorded { from, to, lost }
}

/// The sinks of a recorded run: always Parquet; metrics where an address is given.
fn sinks(
    plan: &Plan,
    counters: &Arc<Counters>,
    folder: &Path,
    metrics: Option<SocketAddr>,
) -> Result<Vec<SinkSlot>, Error> {
    let setup = SinkSetup {
        options: Options::from_text(""),
        layout: Arc::clone(&plan.layout),
        counters: Arc::clone(counters),
        folder: Some(folder.to_owned()),
    };
    let slot = |p: &'static plugin_api::SinkPlugin| -> Result<SinkSlot, Error> {
        Ok(SinkSlot { name: p.kind.to_owned(), sink: (p.build)(&setup)? })
    };
    let mut all = vec![slot(&sink_parquet::PLUGIN)?];
    if metrics.is_some() {
        all.push(slot(&sink_prometheus::PLUGIN)?);
    }
    Ok(all)
}

/// `20260301-081500Z-name`, with a number behind it where that is taken.
pub(crate) fn free_folder(disk: &dyn Disk, parent: &Path, name: &str, t: EventTime) -> Result<PathBuf, Error> {
    let text = t.to_string();
    let digits: String = text.chars().take(19).filter(char::is_ascii_digit).collect();
    let (day, time) = digits.split_at(8.min(digits.len()));
    for n in 1..1000 {
        let number = if n == 1 { String::new() } else { format!("-{n}") };
        let folder = parent.join(format!("{day}-{time}Z-{name}{number}"));
        let there = disk.list(&folder).map_err(Error::io(format!("looking into {}", folder.display())))?;
        if there.is_empty() && !folder.exists() {
            return Ok(folder);
        }
    }
    Err(Error::Refused(format!("{} holds a thousand recordings of this second", parent.display())))
}
