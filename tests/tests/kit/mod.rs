//! What the tests of live runs share: a run file with lines of text, sources that follow a script, a clock that steps.
#![allow(dead_code)]

use assembly::compare::Compared;
use assembly::files::Files;
use assembly::load::{Assembled, CaptureFiles, SourceSpec, load};
use assembly::replay::ReplayOptions;
use plugin_api::{Carries, Clock, ConfigError, Intake, LinkLost, Port, Source, SourcePlugin, SourceSetup};
use recording::{Disk, LogReader, RealDisk, Stored};
use runtime::{BootClock, Timing};
use std::collections::BTreeMap;
use std::path::Path;
use std::pin::Pin;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use stream::{EntryBody, EventTime, LinkState, LogEntry, Payload, RecordKind};

/// Nothing in these tests takes so long; what does has failed.
pub(crate) const DEADLINE: Duration = Duration::from_secs(300);

/// Waits until something is so.
pub(crate) fn wait_for(what: &str, mut so: impl FnMut() -> bool) {
    let until = Instant::now() + DEADLINE;
    while !so() {
        assert!(Instant::now() < until, "waited in vain for: {what}");
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// What a source does, one after the other.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    /// Says that the link is up.
    Up,
    /// Sends so many lines at once.
    Lines(u64),
    /// Sends so many lines a second until the run is stopped.
    Stream(u64),
    /// Sends lines as fast as it can until the run is stopped.
    Flood,
    Panic,
    /// Blocks its thread.
    Block(Duration),
    /// Loses its link.
    Lose(&'static str),
    /// Waits for the stop.
    Stay,
    /// Goes on for ever, whatever is asked of it.
    IgnoreStop,
}

/// One list of steps for each time a source is run; the last is repeated.
type Script = Vec<Vec<Step>>;

struct Told {
    script: Script,
    runs: usize,
    built: usize,
    sent: u64,
}

/// By the source's name, which therefore must be another in every test of a program.
static TOLD: Mutex<BTreeMap<String, Told>> = Mutex::new(BTreeMap::new());

fn told<T>(name: &str, f: impl FnOnce(&mut Told) -> T) -> T {
    let mut all = TOLD.lock().unwrap_or_else(|e| e.into_inner());
    f(all.get_mut(name).expect("a source with a script"))
}

/// How many lines a source has sent.
pub(crate) fn sent(name: &str) -> u64 {
    told(name, |t| t.sent)
}

/// How often a source was made.
pub(crate) fn built(name: &str) -> usize {
    told(name, |t| t.built)
}

/// A source that follows its script.
pub(crate) static SCRIPTED: SourcePlugin = SourcePlugin {
    kind: "serial",
    summary: "follows a script",
    carries: Carries::DeviceMessages,
    schema: || serde_json::json!({}),
    build,
    probe: |_| Ok(Port { name: String::new(), detail: String::new(), openable: Ok(()) }),
    list: Vec::new,
};

fn build(setup: &SourceSetup) -> Result<Box<dyn Source>, ConfigError> {
    told(&setup.name, |t| t.built += 1);
    Ok(Box::new(Scripted { name: setup.name.clone() }))
}

struct Scripted {
    name: String,
}

impl Source for Scripted {
    fn run<'a>(&'a mut self, intake: &'a mut Intake) -> Pin<Box<dyn Future<Output = Result<(), LinkLost>> + 'a>> {
        let steps = told(&self.name, |t| {
            t.runs += 1;
            t.script.get(t.runs - 1).or(t.script.last()).cloned().unwrap_or_default()
        });
        Box::pin(async move {
            for step in steps {
                self.step(step, intake).await?;
            }
            Ok(())
        })
    }
}

impl Scripted {
    async fn step(&self, step: Step, intake: &mut Intake) -> Result<(), LinkLost> {
        match step {
            Step::Up => intake.link(None, LinkState::Up, "opened"),
            Step::Lines(n) => self.lines(intake, n),
            Step::Stream(rate) => {
                let mut beat = tokio::time::interval(Duration::from_millis(5));
                beat.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
                while !intake.is_stopping() {
                    beat.tick().await;
                    self.lines(intake, rate.div_ceil(200));
                }
            }
            Step::Flood => {
                while !intake.is_stopping() {
                    self.lines(intake, 1000);
                    tokio::task::yield_now().await;
                }
            }
            Step::Panic => panic!("as the script says"),
            Step::Block(time) => std::thread::sleep(time),
            Step::Lose(text) => return Err(LinkLost(text.to_owned())),
            Step::Stay => intake.stopped().await,
            Step::IgnoreStop => std::future::pending().await,
        }
        Ok(())
    }

    fn lines(&self, intake: &mut Intake, n: u64) {
        let first = told(&self.name, |t| {
            t.sent += n;
            t.sent - n
        });
        for i in first..first + n {
            let mut line = Payload::from_slice(&[0, 0]);
            // A saw tooth, so that limits are crossed and met again.
            line.extend_from_slice(format!("V={}.{:03} C", i % 300, i % 1000).as_bytes());
            let now = intake.now();
            intake.record(now, RecordKind::TextLine, line);
        }
    }
}

const RUN: &str = "runs/kit.toml";

/// A run with these sources, each a line of text with one channel and two limits, recorded under `folder`.
pub(crate) fn assembled(folder: &Path, sources: &[(&str, Script)]) -> Assembled {
    let mut run =
        "[run]\nname = \"kit\"\nchannels = [\"../channels/kit.toml\"]\nlimits = [\"../limits/kit.toml\"]\n".to_owned();
    let (mut channels, mut limits) = ("[channel]\n".to_owned(), String::new());
    for (name, script) in sources {
        let told = Told { script: script.clone(), runs: 0, built: 0, sent: 0 };
        assert!(TOLD.lock().unwrap().insert((*name).to_owned(), told).is_none(), "{name}: two tests use this name");
        run += &format!(
            "[[source]]\nname = \"{name}\"\nkind = \"serial\"\nport = \"/dev/{name}\"\nbaud = 9600\nparity = \"none\"\n\
             [[source.device]]\nname = \"line\"\ninstrument = \"../instruments/kit.toml\"\n"
        );
        channels += &format!("\"{name}\" = {{ from = \"{name}/line/value\", unit = \"degC\", range = [-10, 280] }}\n");
        for basis in ["snapshot", "sample"] {
            limits += &format!(
                "[[limit]]\nname = \"{name}-{basis}\"\ncolumn = \"{name}\"\nkind = \"above\"\nthreshold = \"200 degC\"\n\
                 dead_band = \"5 K\"\non_delay = \"0s\"\noff_delay = \"0s\"\nbasis = \"{basis}\"\ndocument = \"TEST\"\n\
                 revision = \"-\"\nparagraph = \"-\"\n"
            );
        }
    }
    let instrument = "framing = \"text-line\"\nsummary = \"a value\"\nlongest = 100\nseparator = \",\"\n[[reading]]\n\
                      name = \"value\"\nposition = 1\nlabel = \"V=\"\nunit = \"degC\"\nunit_text = \"C\"\n";
    let files = [
        (RUN, run),
        ("channels/kit.toml", channels),
        ("limits/kit.toml", limits),
        ("instruments/kit.toml", instrument.to_owned()),
    ];
    let files = Files::embedded_with(files.map(|(p, t)| (p.to_owned(), t)));
    let mut a = load(&files, Path::new(RUN), &CaptureFiles::default()).unwrap_or_else(|e| panic!("{e}"));
    folder.clone_into(&mut a.recordings);
    for s in &mut a.sources {
        if let SourceSpec::Live { plugin, queue, .. } = s {
            // Room for whatever a slow machine holds up: nothing is lost unless a test wants it.
            (*plugin, *queue) = (&SCRIPTED, 10_000_000);
        }
    }
    a
}

/// Times that make a test short.
pub(crate) fn quick() -> Timing {
    Timing {
        sync: Duration::from_millis(20),
        retry: Duration::from_millis(20),
        housekeeping: Duration::from_millis(20),
        ..Timing::default()
    }
}

/// The real clock with a wall clock that can be set.
pub(crate) struct SteppedClock {
    boot: BootClock,
    pub(crate) step_ns: AtomicI64,
}

impl SteppedClock {
    pub(crate) fn new() -> Arc<SteppedClock> {
        Arc::new(SteppedClock { boot: BootClock::start(1.0), step_ns: AtomicI64::new(0) })
    }
}

impl Clock for SteppedClock {
    fn now(&self) -> EventTime {
        self.boot.now()
    }

    fn wall_ns(&self) -> i64 {
        self.boot.wall_ns() + self.step_ns.load(Ordering::Relaxed)
    }
}

/// The disk of this machine.
pub(crate) fn real_disk() -> Arc<dyn Disk> {
    Arc::new(RealDisk)
}

/// All entries of a recording's log.
pub(crate) fn entries(folder: &Path) -> Vec<LogEntry> {
    let stored = Stored::open(&RealDisk, folder).unwrap();
    let all: Result<Vec<LogEntry>, _> =
        LogReader::open(&real_disk(), folder, stored.manifest.run_id).unwrap().collect();
    all.unwrap()
}

/// Checks a finished recording: digests, ordinals, and that a replay comes to the same results. The log's entries.
pub(crate) fn check_recording(folder: &Path) -> Vec<LogEntry> {
    let stored = Stored::open(&RealDisk, folder).unwrap();
    assert!(stored.manifest.end.is_some(), "the recording has an end");
    let verified = stored.verify(&RealDisk).unwrap();
    assert_eq!(verified.wrong, Vec::<String>::new());
    let entries = entries(folder);
    assert_eq!(stored.manifest.end.as_ref().unwrap().entries, entries.len() as u64);
    assert!(entries.windows(2).all(|w| w[0].ordinal < w[1].ordinal && w[0].logged_at <= w[1].logged_at));
    let compared = compare(folder);
    assert_eq!(compared.told, Vec::<String>::new());
    assert_eq!(compared.different, 0);
    assert_eq!(stored.manifest.end.as_ref().unwrap().rows.snapshots, compared.snapshots);
    assert_eq!(stored.manifest.end.as_ref().unwrap().rows.samples, compared.samples);
    entries
}

/// What a replay with comparison finds.
pub(crate) fn compare(folder: &Path) -> Compared {
    let options = ReplayOptions { disk: real_disk(), with: None, out: None, compare: true, progress: &mut |_| {} };
    assembly::replay::recording(folder, options).unwrap_or_else(|e| panic!("{e}")).compared.unwrap()
}

/// The records of each source: their sequence numbers.
pub(crate) fn sequences(entries: &[LogEntry]) -> BTreeMap<u16, Vec<u64>> {
    let mut all: BTreeMap<u16, Vec<u64>> = BTreeMap::new();
    for e in entries {
        if let EntryBody::Record(r) = &e.body {
            all.entry(r.source.0).or_default().push(r.sequence);
        }
    }
    all
}
