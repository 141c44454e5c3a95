use super::*;
use crate::digests;
use crate::disk::Disk;
use crate::disk::fake::LimitedDisk;
use crate::part::Chunks;
use crate::testing::{RUN, batch, folder, layout, memory, plain_batch};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;
use stream::{Batch, Event, Layout, Sample, Snapshot};

fn writer(disk: &Arc<dyn Disk>, part_rows: u64) -> TablesWriter {
    let options = TablesOptions { part_rows, ..TablesOptions::default() };
    TablesWriter::create(disk.clone(), folder(), RUN, &layout(), options).unwrap()
}

fn read(disk: &Arc<dyn Disk>) -> Result<Batch, TableError> {
    let reader = TablesReader::open(disk.clone(), folder(), &layout());
    let samples = reader.samples()?.collect::<Result<Vec<Sample>, _>>()?;
    let snapshots = reader.snapshots()?.collect::<Result<Vec<Snapshot>, _>>()?;
    let events = reader.events()?.collect::<Result<Vec<Event>, _>>()?;
    Ok(Batch { samples, snapshots, events })
}

/// Equal to the bit, NaN of events included.
fn same(a: &Batch, b: &Batch) -> bool {
    let sample =
        |(a, b): (&Sample, &Sample)| (a.time, a.channel) == (b.time, b.channel) && a.reading.same_bits(b.reading);
    let snapshot = |(a, b): (&Snapshot, &Snapshot)| {
        a.time == b.time
            && a.limits == b.limits
            && a.readings.len() == b.readings.len()
            && a.readings.iter().zip(&b.readings).all(|(a, b)| a.same_bits(*b))
    };
    let bare = |e: &Event| Event { value: None, ..e.clone() };
    let event = |(a, b): (&Event, &Event)| bare(a) == bare(b) && a.value.map(f64::to_bits) == b.value.map(f64::to_bits);
    (a.samples.len(), a.snapshots.len(), a.events.len()) == (b.samples.len(), b.snapshots.len(), b.events.len())
        && a.samples.iter().zip(&b.samples).all(sample)
        && a.snapshots.iter().zip(&b.snapshots).all(snapshot)
        && a.events.iter().zip(&b.events).all(event)
}

fn joined(batches: &[Batch]) -> Batch {
    let mut all = Batch::default();
    for b in batches {
        all.samples.extend(&b.samples);
        all.snapshots.extend_from_slice(&b.snapshots);
        all.events.extend_from_slice(&b.events);
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn everything_comes_back_to_the_bit(batches in proptest::collection::vec(batch(), 0..4), roll in any::<bool>()) {
        let (_, disk) = memory();
        let mut w = writer(&disk, 30);
        for b in &batches {
            w.write(b).unwrap();
            if roll {
                w.roll().unwrap();
            }
        }
        let (summary, closed) = w.close();
        closed.unwrap();
        let all = joined(&batches);
        prop_assert!(summary.is_complete());
        prop_assert_eq!(summary.written.samples, all.samples.len() as u64);
        prop_assert!(same(&read(&disk).unwrap(), &all));
    }
}

#[test]
fn parts_are_whole_numbered_and_digested() {
    let (memory, disk) = memory();
    let mut w = writer(&disk, 1000);
    w.write(&plain_batch(0, 70_000)).unwrap();
    w.roll().unwrap();
    w.write(&plain_batch(70_000, 10)).unwrap();
    w.close().1.unwrap();
    // A later writer goes on with the numbers.
    let mut w = writer(&disk, 1000);
    w.write(&plain_batch(70_010, 10)).unwrap();
    w.close().1.unwrap();
    assert!(same(&read(&disk).unwrap(), &plain_batch(0, 70_020)));
    let names = memory.list(&folder().join(SAMPLES)).unwrap();
    assert_eq!(names, ["000001.parquet", "000002.parquet", "000003.parquet", "000004.parquet"]);
    assert!(memory.paths().iter().all(|p| p.extension().is_none_or(|e| e != "tmp")));
    let found = digests::verify(disk.as_ref(), folder(), RUN, false).unwrap();
    assert_eq!(found.wrong, [""; 0]);
    assert_eq!(found.files, memory.paths().len() - 1);
}

#[test]
fn tables_without_rows_show_their_columns() {
    let (memory, disk) = memory();
    writer(&disk, 1000).close().1.unwrap();
    assert!(same(&read(&disk).unwrap(), &Batch::default()));
    assert_eq!(memory.list(&folder().join(SNAPSHOTS)).unwrap(), ["000001.parquet"]);
}

#[test]
fn units_places_and_run_are_in_the_files() {
    let (_, disk) = memory();
    let mut w = writer(&disk, 1000);
    w.write(&plain_batch(0, 5)).unwrap();
    w.close().1.unwrap();
    let open = |table: &str| {
        let chunks = Chunks::open(disk.as_ref(), &folder().join(table).join("000001.parquet")).unwrap();
        ParquetRecordBatchReaderBuilder::try_new(chunks).unwrap()
    };
    let file = open(SNAPSHOTS);
    let about = file.schema().field_with_name("outlet.temperature").unwrap().metadata().clone();
    let mut about: Vec<_> = about.into_iter().filter(|a| !a.0.starts_with("PARQUET")).collect();
    about.sort();
    let expected = [
        ("origin", "bench"),
        ("place", "outlet"),
        ("provenance", "bench/t1"),
        ("quantity", "temperature"),
        ("sensors", "T-1"),
        ("ucum", "K"),
        ("unit", "K"),
    ];
    assert_eq!(about, expected.map(|(k, v)| (k.to_owned(), v.to_owned())));
    let notes = |file: &ParquetRecordBatchReaderBuilder<Chunks>, key: &str| {
        let notes = file.metadata().file_metadata().key_value_metadata().unwrap();
        notes.iter().find(|n| n.key == key).and_then(|n| n.value.clone())
    };
    assert_eq!(notes(&file, "bise.run").as_deref(), Some("bench run"));
    assert_eq!(notes(&file, "bise.grid_ns").as_deref(), Some("100000000"));
    assert_eq!(notes(&open(SAMPLES), "unit.outlet.pressure").as_deref(), Some("Pa"));
}

#[test]
fn a_full_disk_drops_a_part_and_the_next_one_is_whole() {
    let (memory, inner) = memory();
    let limited = LimitedDisk::new(inner);
    let disk: Arc<dyn Disk> = Arc::new(limited.clone());
    let mut w = writer(&disk, 1 << 40);
    w.write(&plain_batch(0, 1000)).unwrap();
    w.roll().unwrap();
    limited.set_room(300);
    w.write(&plain_batch(1000, 1000)).unwrap();
    let e = w.roll().unwrap_err();
    assert!(e.to_string().ends_with("No space left on device (os error 28); free some space on that disk"), "{e}");
    let dropped = w.summary().dropped;
    assert_eq!((dropped.samples, dropped.snapshots), (1000, 1000));
    limited.set_room(u64::MAX);
    w.write(&plain_batch(2000, 1000)).unwrap();
    let (summary, closed) = w.close();
    closed.unwrap();
    assert!(!summary.is_complete());
    assert_eq!((summary.written.samples, summary.dropped.samples), (2000, 1000));
    let read = read(&disk).unwrap();
    assert!(same(&read, &joined(&[plain_batch(0, 1000), plain_batch(2000, 1000)])));
    assert!(memory.paths().iter().all(|p| p.extension().is_none_or(|e| e != "tmp")));
}

/// A fault at any operation, once: the tables hold whole parts only, and every row is either there or counted.
#[test]
fn every_row_is_written_or_counted_as_dropped() {
    use crate::disk::fake::{Fault, FaultError};
    let run = |limited: &LimitedDisk| {
        let disk: Arc<dyn Disk> = Arc::new(limited.clone());
        let options = TablesOptions { part_rows: 150, ..TablesOptions::default() };
        let mut w = TablesWriter::create(disk, folder(), RUN, &layout(), options).ok()?;
        for i in 0..3 {
            let _ = w.write(&plain_batch(i * 100, 100));
            let _ = w.roll();
        }
        let (summary, closed) = w.close();
        Some((summary, closed.is_ok()))
    };
    let counting = LimitedDisk::new(memory().1);
    run(&counting).unwrap();
    for at in 0..counting.operations() {
        let (_, inner) = memory();
        let limited = LimitedDisk::new(inner.clone());
        limited.set_fault(Some(Fault { at, lasting: false, error: FaultError::Full }));
        let Some((summary, closed)) = run(&limited) else { continue };
        let there = read(&inner).unwrap();
        let Rows { samples, snapshots, events } = summary.written;
        let found = (there.samples.len() as u64, there.snapshots.len() as u64, there.events.len() as u64);
        assert_eq!((samples, snapshots, events), found, "operation {at}");
        assert_eq!(samples + summary.dropped.samples, 300, "operation {at}");
        assert_eq!(snapshots + summary.dropped.snapshots, 300, "operation {at}");
        let wrong = digests::verify(inner.as_ref(), folder(), RUN, false).unwrap().wrong;
        assert!(wrong.is_empty() || !closed, "operation {at}: {wrong:?}");
    }
}

/// A row group is ended by its size, so that what is held in memory does not grow with the length of the run.
#[test]
fn row_groups_end_by_bytes() {
    let (_, disk) = memory();
    let options = TablesOptions { group_bytes: 1 << 20, ..TablesOptions::default() };
    let mut w = TablesWriter::create(disk.clone(), folder(), RUN, &layout(), options).unwrap();
    // Numbers that do not compress: 65 536 samples are more than the 1 MiB asked for.
    let mut x = 1u64;
    for _ in 0..5 {
        let mut batch = Batch::default();
        for i in 0..=65_535 {
            x ^= x << 13;
            x ^= x >> 7;
            x ^= x << 17;
            let reading = stream::Reading::Good(f64::from_bits(0x3ff0_0000_0000_0000 | (x >> 12)));
            let time = stream::EventTime(x as i64);
            batch.samples.push(Sample { time, channel: stream::ChannelId(i % 3), reading });
        }
        w.write(&batch).unwrap();
    }
    w.close().1.unwrap();
    let chunks = Chunks::open(disk.as_ref(), Path::new("rec/samples/000001.parquet")).unwrap();
    let file = ParquetRecordBatchReaderBuilder::try_new(chunks).unwrap();
    assert_eq!(file.metadata().row_groups().iter().map(|g| g.num_rows()).collect::<Vec<_>>(), [65_536; 5]);
}

#[test]
fn messages() {
    let create = |layout: &Layout, level| {
        let options = TablesOptions { compression_level: level, ..TablesOptions::default() };
        let w = TablesWriter::create(memory().1, folder(), RUN, layout, options);
        w.err().map_or_else(String::new, |e| e.to_string())
    };
    let mut twice = layout();
    twice.columns[2].name = "outlet.temperature.q".into();
    insta::assert_snapshot!(
        create(&twice, 1),
        @r#"snapshots: two columns would be called "outlet.temperature.q"; rename one"#
    );
    let mut twice = layout();
    twice.sources[1].name = "bench".into();
    insta::assert_snapshot!(create(&twice, 1), @r#"events: two sources are called "bench"; rename one"#);
    insta::assert_snapshot!(
        create(&layout(), 99),
        @"tables: compression_level: Parquet error: valid compression range 1..=22 exceeded."
    );

    let (memory, disk) = memory();
    let mut wide = plain_batch(0, 1);
    wide.snapshots[0].limits = Box::default();
    insta::assert_snapshot!(
        writer(&disk, 9).write(&wide).unwrap_err().to_string().replace("limits, ", "limits,\n"),
        @r"
    snapshots: the snapshot at 2023-11-14T22:13:20.000000000Z has 3 readings, 1 uncertainties and 0 limits,
    the layout 3, 1 and 1
    "
    );
    wide.samples[0].channel.0 = 3;
    insta::assert_snapshot!(
        writer(&disk, 9).write(&wide).unwrap_err(),
        @"samples: a sample of channel 3 where the layout has 3"
    );

    let mut w = writer(&disk, 9);
    w.write(&plain_batch(0, 5)).unwrap();
    w.close().1.unwrap();
    let file = Path::new("rec/samples/000001.parquet");
    let whole = memory.content(file).unwrap();
    let mut renamed = layout();
    renamed.columns[1].name = "inlet.pressure".into();
    let reader = TablesReader::open(disk.clone(), folder(), &renamed);
    insta::assert_snapshot!(
        reader.samples().unwrap().find_map(Result::err).unwrap(),
        @r#"rec/samples/000001.parquet: row 1: the word in column "channel" is not known here"#
    );
    insta::assert_snapshot!(
        reader.snapshots().unwrap().find_map(Result::err).unwrap(),
        @r#"rec/snapshots/000001.parquet: there is no column "inlet.pressure""#
    );
    memory.put(file, &whole[..whole.len() - 3]);
    insta::assert_snapshot!(
        read(&disk).unwrap_err(),
        @"rec/samples/000001.parquet: Parquet error: Invalid Parquet file. Corrupt footer"
    );
    let mut damaged = whole.clone();
    damaged[60] ^= 1;
    memory.put(file, &damaged);
    let said = read(&disk).unwrap_err().to_string();
    assert!(said.starts_with("rec/samples/000001.parquet: Parquet"), "{said}");
}
