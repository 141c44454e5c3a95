//! `kill -9` at any moment: what was durable is there, once, in order, and a salvage makes a whole recording of it.
//!
//! The process that is killed is this test program itself, started again with what it has to do in its environment.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::record::{RecordOptions, Recorded, Session};
use kit::{Step, assembled, check_recording, quick, wait_for};
use plugin_api::Clock;
use recording::{FolderError, SalvageError};
use runtime::{BootClock, Timing};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use stream::{EntryBody, LogEntry, OperatorAction, OperatorContent};

/// What a child is to do: `record` or `salvage`, in which folder.
const TASK: &str = "BISE_TEST_TASK";
const FOLDER: &str = "BISE_TEST_FOLDER";

/// The children's work, and when nothing is asked in the environment the case of a run that nobody kills.
#[test]
fn nobody_is_killed() {
    let folder = std::env::var_os(FOLDER).map(PathBuf::from);
    match (std::env::var(TASK).as_deref(), folder) {
        (Ok("record"), Some(folder)) => {
            let told = record(&folder, || std::io::stdin().lock().lines().next().is_some());
            assert_eq!(told.troubles, Vec::<String>::new());
        }
        (Ok("salvage"), Some(folder)) => drop(salvage(&folder).unwrap()),
        _ => {
            let dir = tempfile::tempdir().unwrap();
            let recorded = record(dir.path(), || {
                std::thread::sleep(Duration::from_millis(300));
                true
            });
            assert_eq!(recorded.troubles, Vec::<String>::new());
            check_whole(&recorded.folder, 0);
            let again = salvage(&recorded.folder).unwrap_err().to_string();
            assert!(again.contains("nothing to salvage"), "{again}");
        }
    }
}

/// Records until `stop` returns and tells on standard output how much is durable.
fn record(folder: &Path, stop: impl FnOnce() -> bool + Send) -> Recorded {
    let steady = || vec![vec![Step::Up, Step::Stream(3000)]];
    let shaky = vec![vec![Step::Up, Step::Lines(200), Step::Panic], vec![Step::Up, Step::Stream(500)]];
    let a = assembled(folder, &[("one", steady()), ("two", steady()), ("shaky", shaky)]);
    let clock: Arc<dyn Clock> = Arc::new(BootClock::start(1.0));
    // Small segments, so that one is closed or converted at most moments.
    let options = RecordOptions {
        clock: clock.clone(),
        disk: kit::real_disk(),
        simulated: true,
        segment_bytes: 30_000,
        timing: Timing { patience: Duration::from_secs(1), ..quick() },
    };
    let s = Session::start(a, options).unwrap();
    let mut out = std::io::stdout();
    std::thread::scope(|scope| {
        let stopping = scope.spawn(stop);
        while !stopping.is_finished() {
            let content = OperatorContent::Note("going on".to_owned());
            s.operator(OperatorAction { author: "A. Tester".to_owned(), pressed_at: clock.now(), content });
            // Not by `println!`, which the test harness may keep to itself.
            let _ = writeln!(out, "synced {}", s.counters().recording.synced.load(Ordering::Relaxed));
            std::thread::sleep(Duration::from_millis(1));
        }
    });
    s.stop()
}

fn salvage(folder: &Path) -> Result<assembly::salvage::Salvage, assembly::Error> {
    assembly::salvage::salvage(&kit::real_disk(), folder, &mut |_| {})
}

/// A child at work, killed when dropped.
struct Running {
    child: Child,
    input: Option<ChildStdin>,
    synced: Arc<AtomicU64>,
    reader: Option<JoinHandle<()>>,
}

impl Running {
    fn start(task: &str, folder: &Path) -> Running {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "nobody_is_killed", "--nocapture"])
            .env(TASK, task)
            .env(FOLDER, folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let synced = Arc::new(AtomicU64::new(0));
        let (out, s) = (child.stdout.take().unwrap(), synced.clone());
        let reader = std::thread::spawn(move || {
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                if let Some(n) = line.strip_prefix("synced ").and_then(|n| n.parse().ok()) {
                    s.store(n, Ordering::Relaxed);
                }
            }
        });
        let input = child.stdin.take();
        Running { child, input, synced, reader: Some(reader) }
    }

    fn stop(&mut self) {
        writeln!(self.input.as_mut().unwrap(), "stop").unwrap();
    }

    fn is_over(&mut self) -> bool {
        self.child.try_wait().unwrap().is_some()
    }

    /// SIGKILL; how much the child had said to be durable.
    fn kill(mut self) -> u64 {
        let _ = self.child.kill();
        self.child.wait().unwrap();
        self.reader.take().unwrap().join().unwrap();
        self.synced.load(Ordering::Relaxed)
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The one recording in a folder, once there is something.
fn recording_in(folder: &Path) -> Option<PathBuf> {
    let mut all: Vec<PathBuf> = std::fs::read_dir(folder).ok()?.map(|e| e.unwrap().path()).collect();
    assert!(all.len() <= 1, "{all:?}");
    all.pop()
}

/// Salvages what a kill left and checks everything: `synced` entries at least, none twice, none left out.
fn check_killed(parent: &Path, synced: u64) -> u64 {
    let Some(folder) = recording_in(parent) else {
        assert_eq!(synced, 0);
        return 0;
    };
    match salvage(&folder) {
        Ok(s) => assert_eq!(s.missing, []),
        Err(assembly::Error::Salvage(SalvageError::Folder(
            FolderError::NeverBegan(_) | FolderError::NotARecording(_),
        ))) => {
            assert_eq!(synced, 0, "nothing was recorded");
            return 0;
        }
        // Killed after the last file was in place.
        Err(assembly::Error::Salvage(SalvageError::Whole { .. })) => {}
        Err(e) => panic!("{e}"),
    }
    let n = check_whole(&folder, synced).len() as u64;
    let again = salvage(&folder).unwrap_err().to_string();
    assert!(again.contains("nothing to salvage"), "{again}");
    n
}

fn check_whole(folder: &Path, synced: u64) -> Vec<LogEntry> {
    let entries = check_recording(folder);
    assert!(entries.len() as u64 >= synced, "{} entries, {synced} were durable", entries.len());
    assert!(entries.iter().enumerate().all(|(i, e)| e.ordinal == i as u64), "every ordinal once");
    for (source, numbers) in kit::sequences(&entries) {
        assert!(numbers.iter().enumerate().all(|(i, n)| *n == i as u64), "source {source}: every record once");
    }
    assert!(entries.iter().take(entries.len().saturating_sub(1)).all(|e| e.body != EntryBody::End));
    entries
}

/// Runs the jobs on a few threads.
fn at_once(jobs: Vec<Box<dyn FnOnce() + Send>>) {
    let jobs = Mutex::new(jobs);
    std::thread::scope(|scope| {
        for _ in 0..3 {
            scope.spawn(|| {
                while let Some(job) = { jobs.lock().unwrap().pop() } {
                    job();
                }
            });
        }
    });
}

#[test]
fn killed_at_any_moment_nothing_durable_is_lost() {
    let dir = tempfile::tempdir().unwrap();
    let durable = Arc::new(AtomicU64::new(0));
    let job = |round: u64| -> Box<dyn FnOnce() + Send> {
        let (parent, durable) = (dir.path().join(round.to_string()), durable.clone());
        Box::new(move || {
            // A dozen moments of the first second and a half, none of them round.
            let moment = Duration::from_micros(round * 125_000 + round.wrapping_mul(2_654_435_761) % 125_000);
            let child = Running::start("record", &parent);
            std::thread::sleep(moment);
            let synced = child.kill();
            let entries = check_killed(&parent, synced);
            println!("killed after {moment:?}: {synced} durable, {entries} salvaged");
            durable.fetch_add(synced, Ordering::Relaxed);
        })
    };
    at_once((0..12).map(job).collect());
    assert!(durable.load(Ordering::Relaxed) > 0, "some of them had recorded something");
}

#[test]
fn a_program_that_stood_still_gives_up_on_nobody() {
    let dir = tempfile::tempdir().unwrap();
    let mut child = Running::start("record", dir.path());
    wait_for("entries", || child.synced.load(Ordering::Relaxed) > 500);
    let send = |signal: &str| {
        let command = format!("kill -{signal} {}", child.child.id());
        assert!(Command::new("sh").args(["-c", &command]).status().unwrap().success());
    };
    send("STOP");
    // Longer than a source may be silent.
    std::thread::sleep(Duration::from_millis(2500));
    send("CONT");
    let so_far = child.synced.load(Ordering::Relaxed);
    wait_for("more entries", || child.synced.load(Ordering::Relaxed) > so_far + 2000);
    child.stop();
    // The child itself checks that there was no trouble.
    assert!(child.child.wait().unwrap().success());
    check_whole(&recording_in(dir.path()).unwrap(), so_far);
}

/// Polls for a path below the recording; false when the child ended before.
fn seen(child: &mut Running, parent: &Path, name: &str) -> bool {
    let until = Instant::now() + kit::DEADLINE;
    loop {
        if recording_in(parent).is_some_and(|r| r.join(name).exists()) {
            return true;
        }
        if child.is_over() {
            return false;
        }
        assert!(Instant::now() < until, "waited in vain for {name}");
        std::thread::sleep(Duration::from_micros(300));
    }
}

#[test]
fn killed_at_the_very_start() {
    let dir = tempfile::tempdir().unwrap();
    let job = |(i, name): (usize, &'static str)| -> Box<dyn FnOnce() + Send> {
        let parent = dir.path().join(i.to_string());
        Box::new(move || {
            let mut child = Running::start("record", &parent);
            assert!(seen(&mut child, &parent, name));
            let synced = child.kill();
            check_killed(&parent, synced);
        })
    };
    let names = ["", "lock", "manifest.toml", "log", "log/000001.seg", "samples", "events", "log/000001.parquet"];
    at_once(names.into_iter().enumerate().map(job).collect());
}

#[test]
fn killed_while_it_closes() {
    let dir = tempfile::tempdir().unwrap();
    let job = |(i, name): (usize, &'static str)| -> Box<dyn FnOnce() + Send> {
        let parent = dir.path().join(i.to_string());
        Box::new(move || {
            let mut child = Running::start("record", &parent);
            assert!(seen(&mut child, &parent, "log/000002.parquet"));
            child.stop();
            // Where the child was faster, it has ended in order, which is checked as well.
            seen(&mut child, &parent, name);
            let synced = child.kill();
            assert!(check_killed(&parent, synced) > 0);
        })
    };
    let names = [
        "samples/000001.parquet",
        "snapshots/000001.parquet",
        "events/000001.parquet.tmp",
        "events/000001.parquet",
        "manifest.toml.tmp",
    ];
    at_once(names.into_iter().enumerate().map(job).collect());
}

/// When a salvage is killed.
#[derive(Clone, Copy, Debug)]
enum When {
    After(Duration),
    Sees(&'static str),
}

#[test]
fn killed_while_it_salvages() {
    let dir = tempfile::tempdir().unwrap();
    let original = dir.path().join("original");
    let child = Running::start("record", &original);
    wait_for("entries", || child.synced.load(Ordering::Relaxed) > 3000);
    let synced = child.kill();
    let crashed = recording_in(&original).unwrap();
    let killed = Arc::new(AtomicU64::new(0));
    let job = |(i, when): (usize, When)| -> Box<dyn FnOnce() + Send> {
        let (parent, crashed, killed) = (dir.path().join(i.to_string()), crashed.clone(), killed.clone());
        Box::new(move || {
            let folder = parent.join("copy");
            copy(&crashed, &folder);
            // Twice at the same place, so that a salvage of a salvage is cut short as well.
            for _ in 0..2 {
                let mut child = Running::start("salvage", &folder);
                match when {
                    When::After(time) => std::thread::sleep(time),
                    When::Sees(name) => drop(seen(&mut child, &parent, name)),
                }
                killed.fetch_add(u64::from(!child.is_over()), Ordering::Relaxed);
                child.kill();
            }
            assert!(check_killed(&parent, synced) > 0, "{when:?}");
        })
    };
    let names = ["digests.salvaged-1", "samples/000001.parquet.tmp", "samples/000001.parquet", "manifest.toml.tmp"];
    let moments = [4, 8, 12, 16, 20, 30].map(|ms| When::After(Duration::from_millis(ms)));
    at_once(names.map(When::Sees).into_iter().chain(moments).enumerate().map(job).collect());
    assert!(killed.load(Ordering::Relaxed) > 0, "at least one was not faster than its kill");
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &to);
        } else {
            std::fs::copy(entry.path(), to).unwrap();
        }
    }
}
