use super::*;
use plugin_api::{Counters, Options, conformance};
use recording::{Disk, Recording, RunId, Stored};
use std::path::{Path, PathBuf};
use stream::{
    Anchor, ChannelId, Column, EventTime, Layout, Origin, Reading, Sample, Snapshot, SourceId, SourceInfo, Span,
};

fn layout() -> Layout {
    Layout {
        run: "bench".into(),
        grid: Span::from_millis(100),
        sources: vec![SourceInfo { name: "bench".into(), kind: "serial".into(), devices: vec![], simulated: false }],
        columns: vec![Column {
            name: "outlet.temperature".into(),
            unit: "K".into(),
            ucum: "K".into(),
            origin: Origin::Channel(SourceId(0)),
            provenance: "bench/t".into(),
            with_uncertainty: false,
            about: Vec::new(),
        }],
        limits: vec![],
    }
}

fn setup(options: &str, folder: Option<PathBuf>) -> SinkSetup {
    let layout = Arc::new(layout());
    let counters = Arc::new(Counters::new(&layout));
    SinkSetup { options: Options::from_text(options), layout, counters, folder }
}

fn recording(folder: &Path) -> Recording {
    let manifest = Manifest {
        program: "bise 0".into(),
        run_id: RunId(7),
        simulated: false,
        started: EventTime(0),
        lateness: Span::ZERO,
        anchor: Anchor { event_time: EventTime(0), wall_offset_ns: 0 },
        layout: layout(),
        files: vec![],
        sensors: vec![],
        captures: vec![],
        end: None,
    };
    Recording::create(Arc::new(RealDisk), folder, manifest).unwrap()
}

fn batch(from: i64) -> Batch {
    let reading = Reading::Good(from as f64);
    Batch {
        samples: vec![Sample { time: EventTime(from), channel: ChannelId(0), reading }],
        snapshots: vec![Snapshot {
            time: EventTime(from),
            readings: [reading].into(),
            uncertainties: [].into(),
            limits: [].into(),
            alarms: [].into(),
        }],
        events: vec![],
    }
}

#[test]
fn describes_itself() {
    assert_eq!(conformance::sink_description(&PLUGIN), [""; 0]);
}

#[test]
fn writes_tables_that_read_back() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("run");
    let _lock = recording(&folder);
    let mut sink = (PLUGIN.build)(&setup("part_rows = 2\ncompression_level = 3", Some(folder.clone()))).unwrap();
    (0..5).for_each(|i| sink.write(&batch(i)).unwrap());
    sink.close().unwrap();
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let tables = Stored::open(disk.as_ref(), &folder).unwrap().tables(&disk);
    let samples: Vec<Sample> = tables.samples().unwrap().collect::<Result<_, _>>().unwrap();
    assert_eq!(samples, (0..5).flat_map(|i| batch(i).samples).collect::<Vec<_>>());
    assert_eq!(tables.snapshots().unwrap().count(), 5);
    assert_eq!(tables.events().unwrap().count(), 0);
}

/// Rows that do not fit: the sink says so once, goes on, and says at the end what is missing.
#[test]
fn says_once_that_rows_are_missing() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("run");
    let _lock = recording(&folder);
    let mut sink = (PLUGIN.build)(&setup("", Some(folder.clone()))).unwrap();
    let mut wrong = batch(0);
    wrong.samples[0].channel = ChannelId(1);
    let said = sink.write(&wrong).unwrap_err().0;
    assert_eq!(
        said,
        "samples: a sample of channel 1 where the layout has 1; rows are missing from the tables from here on; \
         they can be made again from the log"
    );
    sink.write(&wrong).unwrap();
    sink.write(&batch(1)).unwrap();
    let said = sink.close().unwrap_err().0;
    assert_eq!(said, "2 samples, 0 snapshots and 0 events are missing from the tables");
}

#[test]
fn a_folder_that_is_gone_is_said_at_the_end() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("run");
    let _lock = recording(&folder);
    let mut sink = (PLUGIN.build)(&setup("", Some(folder.clone()))).unwrap();
    std::fs::remove_dir_all(folder.join("samples")).unwrap();
    sink.write(&batch(1)).unwrap();
    let said = sink.close().unwrap_err().0;
    assert!(said.ends_with("; 1 samples, 0 snapshots and 0 events are missing from the tables"), "{said}");
}

#[test]
fn wrong_options_are_named() {
    let message = |options: &str, folder| (PLUGIN.build)(&setup(options, folder)).err().map(|e| e.message).unwrap();
    let place = tempfile::tempdir().unwrap();
    let there = || Some(place.path().to_owned());
    assert_eq!(message("compression_level = 0", there()), "compression_level 0 is not one of zstd's levels");
    assert_eq!(message("part_rows = 0", there()), "a part of 0 rows holds nothing");
    assert_eq!(message("", None), "the tables are part of a recording, and this run has none");
    assert!(message("", there()).starts_with("cannot read "));
    assert!(message("rows = 1", there()).starts_with("unknown field `rows`"));
}
