//! The demonstration: a simulated pack behind real pseudo-terminals and CAN frames, through the real plugins.

use crate::error::Error;
use crate::files::{EMBEDDED, Files};
use crate::load::{CaptureFiles, load};
use crate::record::{RecordOptions, Recorded, SEGMENT_BYTES, Session};
use recording::RealDisk;
use runtime::{BootClock, RunError, Timing};
pub use source_simulator::RigReport;
use source_simulator::{CanOut, Rig, RigOptions, VirtualInterface};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

/// The run file of the demonstration among the embedded ones.
const RUN: &str = "runs/demo.toml";
/// How many times faster than real time the fast demonstration runs.
pub const FAST: f64 = 10.0;

/// How the demonstration runs.
pub struct DemoOptions {
    /// Times real time.
    pub pace: f64,
    /// A virtual CAN interface to send on; `None` sends over an in-process link.
    pub can: Option<String>,
    /// The folder recordings are made in.
    pub recordings: PathBuf,
    /// Where metrics are served instead of where the run file says.
    pub metrics: Option<SocketAddr>,
}

/// The demonstration at work.
pub struct Demo {
    /// The run.
    pub session: Session,
    rig: Rig,
    links: Links,
    /// Frames sent before anybody listened.
    before: u64,
    /// When the run listened, in the rig's seconds: a slow disk may hold its start up.
    began: f64,
}

/// The folder of the rig's links, removed at the end.
struct Links(PathBuf);

impl Links {
    fn new() -> Result<Links, Error> {
        static NUMBER: AtomicU32 = AtomicU32::new(0);
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let links = Links(std::env::temp_dir().join(format!("bise-demo-{}-{number}", std::process::id())));
        sweep();
        std::fs::create_dir_all(&links.0).map_err(Error::io(format!("making {}", links.0.display())))?;
        Ok(links)
    }
}

/// Removes the folders of demonstrations that were killed: their processes are gone.
fn sweep() {
    for entry in std::fs::read_dir(std::env::temp_dir()).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let process =
            name.strip_prefix("bise-demo-").and_then(|n| n.split('-').next()).and_then(|p| p.parse::<u32>().ok());
        if process.is_some_and(|p| !Path::new(&format!("/proc/{p}")).exists()) {
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

impl Drop for Links {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

impl Demo {
    /// Starts rig and run.
    ///
    /// # Errors
    /// Where the interface named is not virtual, or the run cannot start.
    pub fn start(options: DemoOptions) -> Result<Demo, Error> {
        let links = Links::new()?;
        let (can_out, interface) = match &options.can {
            Some(name) => (CanOut::Virtual(virtual_interface(name)?), name.clone()),
            None => {
                let path = links.0.join("can");
                (CanOut::Link(path.clone()), format!("unix:{}", path.display()))
            }
        };
        let mut rig = RigOptions::demonstration(links.0.clone(), can_out);
        rig.pace = options.pace;
        let rig = Rig::start(rig).map_err(|e| Error::Refused(format!("the demonstration cannot start: {e}")))?;
        let session = start_session(&links.0, &interface, &options)?;
        let deadline = Instant::now() + Duration::from_secs(2);
        let all_up = || session.counters().sources.iter().all(|s| s.link.load(Ordering::Relaxed) == 1);
        while !all_up() && Instant::now() < deadline {
            std::thread::sleep(Duration::from_millis(1));
        }
        let before = rig.report().can_frames;
        let began = rig.now();
        Ok(Demo { session, rig, links, before, began })
    }

    /// Simulated seconds that the run has listened so far.
    pub fn now(&self) -> f64 {
        self.rig.now() - self.began
    }

    /// Stops run and rig; what was recorded, and what the rig sent and injected.
    pub fn stop(self) -> (Recorded, RigReport) {
        let Demo { session, rig, links, before, .. } = self;
        // Counted before the run stops: what the rig does after that nobody can have seen.
        let mut report = rig.report();
        report.can_frames -= before;
        let recorded = session.stop();
        rig.stop();
        drop(links);
        (recorded, report)
    }
}

/// The embedded run file with the rig's links in place of `demo/`, started. Where its port for metrics is taken
/// (another demonstration), any free one does.
fn start_session(links: &Path, interface: &str, options: &DemoOptions) -> Result<Session, Error> {
    let text = EMBEDDED.get_file(RUN).and_then(|f| f.contents_utf8()).unwrap_or_default();
    let text = text
        .replace("\"unix:demo/can\"", &format!("{interface:?}"))
        .replace("\"demo/", &format!("\"{}/", links.display()));
    // A busy machine holds threads up in real time: the faster event time runs, the more of it that is.
    let lateness = format!("lateness = \"{}ms\"", (250.0 * options.pace.max(1.0)) as u64);
    let text = text.replace("lateness = \"250ms\"", &lateness);
    let start = |metrics: Option<SocketAddr>| {
        let files = Files::embedded_with([(RUN.to_owned(), text.clone())]);
        let mut assembled = load(&files, Path::new(RUN), &CaptureFiles::default())?;
        assembled.recordings.clone_from(&options.recordings);
        assembled.metrics = metrics.or(assembled.metrics);
        let record = RecordOptions {
            clock: Arc::new(BootClock::start(options.pace)),
            disk: Arc::new(RealDisk),
            simulated: true,
            segment_bytes: SEGMENT_BYTES,
            timing: Timing::default(),
        };
        Session::start(assembled, record)
    };
    match start(options.metrics) {
        Err(Error::Run(RunError::Listen { address, .. })) if options.metrics.is_none() => {
            tracing::warn!("{address} is taken: metrics are served on a free port");
            start(Some(SocketAddr::new(address.ip(), 0)))
        }
        r => r,
    }
}

fn virtual_interface(name: &str) -> Result<VirtualInterface, Error> {
    let found = source_can::is_virtual(name).map_err(|e| Error::Refused(e.to_string()))?;
    VirtualInterface::checked(name, |_| found).map_err(|e| Error::Refused(e.to_string()))
}
