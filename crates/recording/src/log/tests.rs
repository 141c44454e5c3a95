use super::*;
use crate::digests::{Digests, sha256};
use crate::disk::Disk;
use crate::disk::fake::{Fault, FaultError, LimitedDisk};
use crate::testing::{RUN, entries, entry, folder, is_full, memory, read_log, write_log};
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;
use stream::LogEntry;

const SEGMENT: &str = "rec/log/000001.seg";

fn prefix(disk: &Arc<dyn Disk>) -> (Prefix, Vec<LogEntry>) {
    let mut found = Vec::new();
    let p = entries_from_segment(disk.as_ref(), folder(), RUN, 1, |e| found.extend_from_slice(e)).unwrap();
    (p, found)
}

fn expected(n: u64) -> Vec<LogEntry> {
    (0..n).map(entry).collect()
}

#[test]
fn a_log_reads_back_from_segments_and_parquet_mixed() {
    let (memory, disk) = memory();
    let mut log = write_log(&disk, 5, 40);
    let first = log.roll().unwrap().unwrap();
    assert_eq!((first.ordinals.clone(), first.entries), (0..200, 200));
    (200..300).for_each(|i| log.append(&entry(i)).unwrap());
    let second = log.roll().unwrap().unwrap();
    (300..350).for_each(|i| log.append(&entry(i)).unwrap());
    assert_eq!(log.sync().unwrap(), 350);
    assert_eq!(read_log(&disk).unwrap(), expected(350));
    segment_to_parquet(&disk, folder(), &second, &["bench".into()]).unwrap();
    assert_eq!(memory.content(Path::new("rec/log/000002.seg")), None);
    assert_eq!(read_log(&disk).unwrap(), expected(350));
    segment_to_parquet(&disk, folder(), &first, &["bench".into()]).unwrap();
    let (third, closed) = log.close();
    closed.unwrap();
    segment_to_parquet(&disk, folder(), &third.unwrap(), &["bench".into()]).unwrap();
    assert_eq!(read_log(&disk).unwrap(), expected(350));
    assert_eq!(Digests::read(disk.as_ref(), folder(), RUN).unwrap().lines.len(), 3);
}

#[test]
fn a_closed_file_that_changed_is_not_read() {
    let (memory, disk) = memory();
    let (closed, _) = write_log(&disk, 2, 10).close();
    let path = segment_to_parquet(&disk, folder(), &closed.unwrap(), &[]).unwrap();
    let whole = memory.content(&path).unwrap();
    for at in [10, whole.len() / 2, whole.len() - 20] {
        let mut changed = whole.clone();
        changed[at] ^= 1;
        memory.put(&path, &changed);
        let e = read_log(&disk).unwrap_err().to_string();
        assert_eq!(
            e,
            "rec/log/000001.parquet: was changed after it was written: its SHA-256 is not the one in `digests`; bring it back \
             from a copy of the recording"
        );
    }
}

#[test]
fn progress_ends_at_one() {
    let (_, disk) = memory();
    let mut log = write_log(&disk, 2, 20);
    let first = log.roll().unwrap().unwrap();
    segment_to_parquet(&disk, folder(), &first, &[]).unwrap();
    (40..60).for_each(|i| log.append(&entry(i)).unwrap());
    log.flush().unwrap();
    let mut reader = LogReader::open(&disk, folder(), RUN).unwrap();
    let mut last = 0.0;
    while let Some(e) = reader.next() {
        e.unwrap();
        assert!(reader.progress() >= last);
        last = reader.progress();
    }
    assert_eq!(reader.progress(), 1.0);
}

#[test]
fn a_segment_cut_at_any_byte_gives_whole_blocks() {
    let (memory, disk) = memory();
    let mut log = LogWriter::create(disk.clone(), folder(), LogOptions::new(RUN)).unwrap();
    let mut ends = vec![(format::HEAD_BYTES as u64, 0)];
    for n in 0..6 {
        (n * 5..n * 5 + 5).for_each(|i| log.append(&entry(i)).unwrap());
        log.flush().unwrap();
        ends.push((log.written(), n * 5 + 5));
    }
    let whole = memory.content(Path::new(SEGMENT)).unwrap();
    assert_eq!(whole.len() as u64, log.written());
    for cut in 0..=whole.len() {
        memory.put(Path::new(SEGMENT), &whole[..cut]);
        let (p, found) = prefix(&disk);
        let (bytes, entries) = ends.iter().rev().find(|e| e.0 <= cut as u64).copied().unwrap_or((0, 0));
        assert_eq!(found, expected(entries), "cut at {cut}");
        assert_eq!((p.whole.bytes, p.whole.entries, p.blocks), (bytes, entries, entries / 5), "cut at {cut}");
        assert_eq!(p.cut_bytes, cut as u64 - bytes);
        assert_eq!(p.reason.is_some(), p.cut_bytes > 0 || cut == 0);
        // Read as a log, it gives the same entries and then says what is wrong.
        let read: Vec<_> = LogReader::open(&disk, folder(), RUN).unwrap().collect();
        assert_eq!(read.iter().filter(|e| e.is_ok()).count() as u64, entries);
        assert_eq!(read.iter().filter(|e| e.is_err()).count(), usize::from(p.reason.is_some()));
    }
}

#[test]
fn any_bit_that_flips_is_found() {
    let (memory, disk) = memory();
    write_log(&disk, 3, 4);
    let whole = memory.content(Path::new(SEGMENT)).unwrap();
    for bit in 0..whole.len() * 8 {
        let mut damaged = whole.clone();
        damaged[bit / 8] ^= 1 << (bit % 8);
        memory.put(Path::new(SEGMENT), &damaged);
        let (p, found) = prefix(&disk);
        assert!(p.reason.is_some(), "bit {bit}");
        assert_eq!(found, expected(found.len() as u64), "bit {bit}");
        assert!(found.len() < 12);
    }
}

#[test]
fn a_block_of_another_run_or_segment_does_not_pass() {
    let (memory, disk) = memory();
    let mut log = write_log(&disk, 1, 3);
    log.roll().unwrap();
    (3..6).for_each(|i| log.append(&entry(i)).unwrap());
    log.flush().unwrap();
    let (first, second) = (Path::new(SEGMENT), Path::new("rec/log/000002.seg"));
    let mut both = memory.content(first).unwrap();
    both.extend_from_slice(&memory.content(second).unwrap()[format::HEAD_BYTES..]);
    memory.put(first, &both);
    assert_eq!(prefix(&disk).0.reason, Some(format::Fault::Checksum("block")));
    memory.put(first, &memory.content(second).unwrap());
    let e = entries_from_segment(disk.as_ref(), folder(), RUN, 1, |_| {}).unwrap_err();
    assert!(matches!(e, LogError::Segment { fault: format::Fault::Foreign { number: 2, .. }, .. }), "{e}");
}

#[test]
fn ordinals_must_rise() {
    let (_, disk) = memory();
    let mut log = write_log(&disk, 1, 3);
    let e = log.append(&entry(2)).unwrap_err();
    assert_eq!(e.to_string(), "entry 2 cannot be recorded: entry 2 was recorded before it");
    log.append(&entry(7)).unwrap();
    log.append(&entry(9)).unwrap();
    log.flush().unwrap();
    let ordinals: Vec<u64> = read_log(&disk).unwrap().iter().map(|e| e.ordinal).collect();
    assert_eq!(ordinals, [0, 1, 2, 7, 9]);
}

/// Writes 40 entries in flushes of 5 and rolls once, going on after every failure; what was not reported lost.
fn write_through_faults(disk: Arc<dyn Disk>) -> Result<(Vec<u64>, Vec<ClosedSegment>), LogError> {
    let mut log = LogWriter::create(disk, folder(), LogOptions::new(RUN))?;
    let (mut kept, mut closed) = (Vec::new(), Vec::new());
    let failed = |e: LogError, kept: &mut Vec<u64>| match e {
        LogError::NotWritten { lost, .. } => kept.retain(|o| !lost.contains(o)),
        LogError::NotSynced { .. } | LogError::Disk(_) => {}
        e => panic!("{e}"),
    };
    for i in 0..40 {
        if !log.is_recording() {
            closed.extend(log.resume().unwrap_or(None));
        }
        match log.append(&entry(i)) {
            Ok(()) => kept.push(i),
            Err(LogError::NotRecording { ordinal }) => assert_eq!(ordinal, i),
            Err(e) => panic!("{e}"),
        }
        let synced = if i % 5 == 4 { log.sync().map(drop) } else { Ok(()) };
        if let Err(e) = synced {
            failed(e, &mut kept);
        }
        if i == 24 {
            match log.roll() {
                Ok(c) => closed.extend(c),
                Err(e) => failed(e, &mut kept),
            }
        }
    }
    let (last, result) = log.close();
    closed.extend(last);
    if let Err(e) = result {
        failed(e, &mut kept);
    }
    Ok((kept, closed))
}

#[test]
fn a_fault_at_any_operation_loses_only_what_it_reports() {
    let counting = LimitedDisk::new(memory().1);
    write_through_faults(Arc::new(counting.clone())).unwrap();
    assert!(counting.operations() > 20);
    for at in 0..counting.operations() {
        for error in [FaultError::Full, FaultError::Io] {
            for lasting in [false, true] {
                let (_, inner) = memory();
                let limited = LimitedDisk::new(inner.clone());
                limited.set_fault(Some(Fault { at, lasting, error }));
                let Ok((kept, closed)) = write_through_faults(Arc::new(limited)) else { continue };
                for c in &closed {
                    segment_to_parquet(&inner, folder(), c, &[]).unwrap();
                }
                if lasting {
                    remove_empty_segments(&inner);
                }
                let read: Vec<u64> = read_log(&inner).unwrap().iter().map(|e| e.ordinal).collect();
                assert_eq!(read, kept, "operation {at}, lasting {lasting}, {error:?}");
                if !lasting {
                    assert!(kept.len() >= 35, "operation {at}: {} of 40", kept.len());
                }
            }
        }
    }
}

/// A block that was whole before a write failed is made durable before anything else is recorded, or is said to
/// be in doubt.
#[test]
fn what_was_flushed_before_a_failure_is_not_forgotten() {
    let limited = LimitedDisk::new(memory().1);
    let mut log = LogWriter::create(Arc::new(limited.clone()), folder(), LogOptions::new(RUN)).unwrap();
    log.append(&entry(0)).unwrap();
    assert_eq!(log.sync().unwrap(), 1);
    log.append(&entry(1)).unwrap();
    log.flush().unwrap();
    log.append(&entry(2)).unwrap();
    let fail_next = || Fault { at: limited.operations(), lasting: false, error: FaultError::Io };
    limited.set_fault(Some(fail_next()));
    let e = log.flush().unwrap_err();
    assert!(matches!(&e, LogError::NotWritten { lost, .. } if *lost == (2..3)), "{e}");
    assert_eq!(log.sync().unwrap(), 1);
    limited.set_fault(Some(fail_next()));
    let e = log.resume().unwrap_err();
    assert_eq!(
        e.to_string(),
        "entries 1 to 1 may not survive a crash: cannot sync rec/log/000001.seg: Input/output error (os error 5)"
    );
    assert_eq!(log.sync().unwrap(), 1);
    assert_eq!(log.resume().unwrap().unwrap().ordinals, 0..2);
    log.append(&entry(3)).unwrap();
    assert_eq!(log.sync().unwrap(), 4);
}

/// What a disk that refuses everything does not let go: segments that were never started whole.
fn remove_empty_segments(disk: &Arc<dyn Disk>) {
    for part in read::log_parts(disk.as_ref(), folder()).unwrap().iter().filter(|p| p.segment) {
        let p = entries_from_segment(disk.as_ref(), folder(), RUN, part.number, |_| {}).unwrap();
        assert_eq!(p.whole.entries, 0);
        disk.remove(&folder().join(FOLDER).join(segment_name(part.number))).unwrap();
    }
}

#[test]
fn a_full_disk_keeps_what_was_written_and_recording_resumes() {
    for room in (0..1500).step_by(7) {
        let (_, inner) = memory();
        let limited = LimitedDisk::new(inner.clone());
        let disk: Arc<dyn Disk> = Arc::new(limited.clone());
        let mut log = LogWriter::create(disk.clone(), folder(), LogOptions::new(RUN)).unwrap();
        limited.set_room(room);
        let mut durable = 0;
        let mut lost = None;
        for i in 0..60 {
            log.append(&entry(i)).unwrap();
            if i % 3 == 2 {
                match log.sync() {
                    Ok(n) => durable = n,
                    Err(e) => {
                        assert!(is_full(&e), "{e}");
                        let LogError::NotWritten { lost: l, .. } = e else { panic!("{e}") };
                        lost = Some(l);
                        break;
                    }
                }
            }
        }
        let lost = lost.unwrap();
        assert_eq!(lost, durable..durable + 3);
        assert!(log.resume().is_err() || room > 40);
        limited.set_room(u64::MAX);
        let closed = if log.is_recording() { None } else { log.resume().unwrap() };
        assert!(closed.is_none_or(|c| c.ordinals == (0..durable)));
        (100..110).for_each(|i| log.append(&entry(i)).unwrap());
        log.sync().unwrap();
        let ordinals: Vec<u64> = read_log(&disk).unwrap().iter().map(|e| e.ordinal).collect();
        assert_eq!(ordinals, (0..durable).chain(100..110).collect::<Vec<u64>>());
    }
}

#[test]
fn a_crash_at_any_step_of_closing_can_be_repeated() {
    let closed_log = || {
        let (memory, disk) = memory();
        let (closed, result) = write_log(&disk, 4, 10).close();
        result.unwrap();
        (memory, disk, closed.unwrap())
    };
    let (_, disk, closed) = closed_log();
    let counting = LimitedDisk::new(disk);
    let counted: Arc<dyn Disk> = Arc::new(counting.clone());
    let path = segment_to_parquet(&counted, folder(), &closed, &[]).unwrap();
    assert!(counting.operations() >= 8);
    for at in 0..counting.operations() {
        let (memory, disk, closed) = closed_log();
        let limited = LimitedDisk::new(disk.clone());
        limited.set_fault(Some(Fault { at, lasting: true, error: FaultError::Io }));
        let crashed: Arc<dyn Disk> = Arc::new(limited);
        segment_to_parquet(&crashed, folder(), &closed, &[]).unwrap_err();
        // What the crash left can be read, and every entry is there once.
        assert_eq!(read_log(&disk).unwrap(), expected(40), "operation {at}");
        segment_to_parquet(&disk, folder(), &closed, &[]).unwrap();
        assert_eq!(read_log(&disk).unwrap(), expected(40), "operation {at}");
        let digests = Digests::read(disk.as_ref(), folder(), RUN).unwrap().lines;
        assert_eq!(digests.len(), 1);
        assert_eq!(digests[0].sha256, sha256(&memory.content(&path).unwrap()));
        let names: Vec<String> = memory.paths().iter().map(|p| p.display().to_string()).collect();
        assert_eq!(names, ["rec/digests", "rec/log/000001.parquet"], "operation {at}");
    }
}

#[test]
fn an_empty_segment_closes() {
    let (_, disk) = memory();
    let (closed, _) = write_log(&disk, 0, 0).close();
    segment_to_parquet(&disk, folder(), &closed.unwrap(), &[]).unwrap();
    assert_eq!(read_log(&disk).unwrap(), []);
}

/// What waits in memory and what a reader holds do not grow with the length of the run.
#[test]
fn memory_is_bound_by_a_block() {
    let (_, disk) = memory();
    let mut log = write_log(&disk, 0, 0);
    let mut most = 0;
    for i in 0..20_000 {
        log.append(&entry(i)).unwrap();
        most = most.max(log.waiting());
        if i % 100 == 99 {
            log.flush().unwrap();
        }
    }
    assert!(most < 100 * 64, "{most} bytes wait");
    assert!(log.written() > 20_000 * 20);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_log_reads_back(list in entries(60), flush in 1..20usize) {
        let (_, disk) = memory();
        let mut log = write_log(&disk, 0, 0);
        for (i, e) in list.iter().enumerate() {
            log.append(e).unwrap();
            if i % flush == 0 {
                log.flush().unwrap();
            }
        }
        let (closed, result) = log.close();
        result.unwrap();
        prop_assert_eq!(&read_log(&disk).unwrap(), &list);
        segment_to_parquet(&disk, folder(), &closed.unwrap(), &[]).unwrap();
        prop_assert_eq!(&read_log(&disk).unwrap(), &list);
    }
}
