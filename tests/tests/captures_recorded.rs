//! A recording of this program as a capture: its sources one by one, merged with what other computers recorded, their
//! clocks corrected only as the run file says.
#![allow(clippy::unwrap_used)]

use assembly::Error;
use assembly::replay::{ReplayOptions, Replayed, captures};
use recording::{RealDisk, Stored};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Event, EventKind, Sample};

fn golden() -> PathBuf {
    tests::root().join("recordings/golden-demo-20s")
}

/// A folder with the files that the golden recording stores, and a run over its three sources.
fn rig() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let stored = Stored::open(&RealDisk, &golden()).unwrap();
    for f in &stored.manifest.files {
        let path = folder.path().join(&f.path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, &f.text).unwrap();
    }
    let mut run = "[run]\nname = \"again\"\nchannels = [\"channels/demo.toml\"]\n\
                   pack = \"packs/demo-three-wheel.toml\"\n"
        .to_owned();
    for name in ["bench", "room", "controller"] {
        let path = golden().display().to_string();
        run += &format!("[[source]]\nname = {name:?}\nkind = \"recording\"\npath = {path:?}\n# {name}\n");
    }
    (folder, run)
}

fn replayed(folder: &Path, run: &str, paths: &[PathBuf]) -> Result<Replayed, Error> {
    let with = folder.join("run.toml");
    fs::write(&with, run).unwrap();
    let (disk, out) = (Arc::new(RealDisk), Some(folder.join("out")));
    captures(paths, ReplayOptions { disk, with: Some(with), out, compare: false, progress: &mut |_| {} })
}

fn refusal(folder: &Path, run: &str) -> String {
    let e = replayed(folder, run, &[]).err().unwrap().to_string();
    e.replace(&golden().display().to_string(), "GOLDEN").replace(&folder.display().to_string(), "DIR")
}

fn samples(folder: &Path) -> Vec<Sample> {
    let disk: Arc<dyn recording::Disk> = Arc::new(RealDisk);
    let tables = Stored::open(&RealDisk, folder).unwrap().tables(&disk);
    let mut all: Vec<Sample> = tables.samples().unwrap().collect::<Result<_, _>>().unwrap();
    all.sort_by_key(|s| (s.channel.0, s.time));
    all
}

fn events(folder: &Path) -> Vec<Event> {
    let disk: Arc<dyn recording::Disk> = Arc::new(RealDisk);
    let tables = Stored::open(&RealDisk, folder).unwrap().tables(&disk);
    tables.events().unwrap().collect::<Result<_, _>>().unwrap()
}

#[test]
fn the_sources_of_a_recording_give_the_samples_it_stores() {
    let (folder, run) = rig();
    let again = replayed(folder.path(), &run, &[]).unwrap_or_else(|e| panic!("{e}"));
    let out = again.folder.clone().unwrap();
    assert_eq!(samples(&out), samples(&golden()));
    let records: u64 = again.counts.sources.iter().map(|s| s.records).sum();
    let end = Stored::open(&RealDisk, &golden()).unwrap().manifest.end.unwrap();
    assert_eq!(records, end.sources.iter().map(|s| s.records).sum::<u64>());
    let links = |folder: &Path| {
        let is_link = |e: &Event| e.kind == EventKind::Link;
        let mut all: Vec<String> = events(folder).into_iter().filter(is_link).map(|e| e.subject + &e.text).collect();
        all.sort();
        all
    };
    assert_eq!(links(&out), links(&golden()));
    let manifest = Stored::open(&RealDisk, &out).unwrap().manifest;
    assert!(manifest.simulated, "what was simulated stays so");
    assert!(manifest.captures.iter().all(|c| c.path.ends_with("golden-demo-20s/digests")), "{:?}", manifest.captures);
    // Every entry is accounted for: three sources, each with those of the other two told as not used.
    let not_used = manifest.end.unwrap().not_used;
    assert_eq!(not_used.iter().filter(|n| n.what.contains("entries of")).count(), 6, "{not_used:#?}");
}

#[test]
fn what_was_made_of_a_recording_compares_to_the_bit() {
    let (folder, run) = rig();
    let out = replayed(folder.path(), &run, &[]).unwrap_or_else(|e| panic!("{e}")).folder.unwrap();
    let disk = Arc::new(RealDisk);
    let options = ReplayOptions { disk, with: None, out: None, compare: true, progress: &mut |_| {} };
    let compared = assembly::replay::recording(&out, options).unwrap_or_else(|e| panic!("{e}")).compared.unwrap();
    assert!(compared.different == 0 && compared.samples > 1000, "{compared:?}");
}

#[test]
fn a_candump_of_another_computer_merges_with_a_recording_under_a_corrected_clock() {
    let (folder, run) = rig();
    // The controller's frames as another computer with a wrong clock would have written them: 90 s late, 1000 ppm fast.
    let stored = Stored::open(&RealDisk, &golden()).unwrap();
    let disk: Arc<dyn recording::Disk> = Arc::new(RealDisk);
    let since = stored.manifest.started.0 + 90_000_000_000;
    let mut log = String::new();
    for entry in recording::LogReader::open(&disk, &golden(), stored.manifest.run_id).unwrap() {
        let stream::EntryBody::Record(r) = entry.unwrap().body else { continue };
        if r.source.0 == 2 && r.kind == stream::RecordKind::CanFrame {
            let frame = decode::can::CanFrame::parse(&r.payload).unwrap();
            let t = r.event_time.0 + 90_000_000_000;
            let t = t + (t - since) / 1000;
            let hex: String = frame.data.iter().map(|b| format!("{b:02X}")).collect();
            let id = if frame.is_extended() { format!("{:08X}", frame.number()) } else { format!("{:03X}", frame.id) };
            log += &format!("({}.{:09}) can0 {id}#{hex}\n", t / 1_000_000_000, t % 1_000_000_000);
        }
    }
    fs::write(folder.path().join("bus.log"), log).unwrap();
    let since = stream::EventTime(since);
    let clock = format!(
        "[source.clock]\noffset = \"-90s\"\ndrift_ppm = -999.000999\nsince = \"{since}\"\nfound = \"by construction\"\n"
    );
    let dump = format!(
        "kind = \"candump\"\nsimulated = true\npath = \"bus.log\"\ndatabases = [\"instruments/demo-pack.dbc\"]\n{clock}"
    );
    let recorded = format!("kind = \"recording\"\npath = {:?}\n# controller\n", golden().display().to_string());
    assert!(run.contains(&recorded));
    let merged = replayed(folder.path(), &run.replace(&recorded, &dump), &[]).unwrap_or_else(|e| panic!("{e}"));
    let (ours, theirs) = (samples(&merged.folder.clone().unwrap()), samples(&golden()));
    assert_eq!(ours.len(), theirs.len());
    for (a, b) in ours.iter().zip(&theirs) {
        assert_eq!((a.channel, a.reading), (b.channel, b.reading));
        assert!((a.time - b.time).0.abs() <= 2, "{} {}", a.time, b.time);
    }
    let told = "times of controller are corrected as the run file says: -90.000000000 s -999.000999 ppm since";
    assert!(merged.notes.iter().any(|n| n.starts_with(told)), "{:?}", merged.notes);
    let manifest = Stored::open(&RealDisk, &merged.folder.unwrap()).unwrap().manifest;
    let clocks: Vec<&str> = manifest.captures.iter().map(|c| c.clock.as_str()).collect();
    assert!(clocks[..2] == ["", ""] && clocks[2].ends_with("(by construction)"), "{clocks:?}");
    // Without what the run file says nothing is moved.
    let apart = replayed(folder.path(), &run.replace(&recorded, &dump.replace(&clock, "")), &[]).unwrap();
    let span = apart.span.unwrap();
    assert!((span.1 - span.0).as_secs_f64() > 90.0);
}

#[test]
fn what_cannot_be_read_again_is_refused_with_what_to_do() {
    let (folder, run) = rig();
    let out = replayed(folder.path(), &run, &[]).unwrap_or_else(|e| panic!("{e}")).folder.unwrap();
    let golden = golden().display().to_string();
    let first = |with: &str| run.replacen(&format!("path = {golden:?}\n"), with, 1);
    let told = [
        refusal(folder.path(), &first("path = \"nowhere\"\n")),
        refusal(folder.path(), &first("")),
        refusal(folder.path(), &first(&format!("path = {:?}\n", out.display().to_string())))
            .replace(out.file_name().unwrap().to_str().unwrap(), "OUT"),
        refusal(folder.path(), &first(&format!("path = {golden:?}\nsource = \"bus\"\n"))),
        refusal(folder.path(), &first(&format!("path = {golden:?}\nclock = {{ offset = \"soon\", found = \"\" }}\n"))),
        refusal(
            folder.path(),
            &first(&format!("path = {golden:?}\nclock = {{ offset = \"0s\", drift_ppm = 3, found = \"\" }}\n")),
        ),
    ];
    insta::assert_snapshot!(told.join("\n"));
}
