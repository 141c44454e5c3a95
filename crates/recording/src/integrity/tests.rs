use super::*;
use crate::digests::{self, Line};
use crate::disk::Disk;
use crate::disk::fake::MemoryDisk;
use crate::folder::Recording;
use crate::log::segment_to_parquet;
use crate::manifest::Manifest;
use crate::tables::{TablesOptions, TablesWriter};
use crate::testing::{RUN, end, entry, folder, layout, manifest, memory, plain_batch};

/// A recording of three closed files that has ended.
fn ended() -> MemoryDisk {
    let (memory, disk) = memory();
    let recording = Recording::create(disk.clone(), folder(), manifest()).unwrap();
    let mut log = recording.log(1 << 20).unwrap();
    for part in 0..3 {
        (part * 10..part * 10 + 10).for_each(|i| log.append(&entry(i)).unwrap());
        let closed = if part < 2 { log.roll().unwrap() } else { None };
        closed.iter().for_each(|c| drop(segment_to_parquet(&disk, folder(), c, &[]).unwrap()));
    }
    let (closed, result) = log.close();
    result.unwrap();
    closed.iter().for_each(|c| drop(segment_to_parquet(&disk, folder(), c, &[]).unwrap()));
    let mut tables = TablesWriter::create(disk, folder(), RUN, &layout(), TablesOptions::default()).unwrap();
    tables.write(&plain_batch(0, 20)).unwrap();
    tables.close().1.unwrap();
    recording.finish(end()).unwrap();
    memory
}

fn check(memory: &MemoryDisk) -> Result<Vec<String>, String> {
    let stored = Stored::open(memory, folder()).map_err(|e| e.to_string())?;
    let tables = stored.check(memory).map_err(|e| e.to_string())?;
    Ok(tables.iter().map(ToString::to_string).collect())
}

/// What `check` says after something was done to a recording.
fn after(change: impl FnOnce(&MemoryDisk)) -> String {
    let memory = ended();
    change(&memory);
    check(&memory).map_or_else(|e| e, |tables| format!("tables only: {}", tables.join(" | ")))
}

fn edit(memory: &MemoryDisk, name: &str, change: impl FnOnce(&mut Vec<u8>)) {
    let path = folder().join(name);
    let mut bytes = memory.content(&path).unwrap();
    change(&mut bytes);
    memory.put(&path, &bytes);
}

#[test]
fn what_was_written_passes() {
    assert_eq!(check(&ended()), Ok(vec![]));
}

#[test]
fn every_way_to_change_a_recording_is_named() {
    let told = [
        after(|m| m.remove(&folder().join("log/000002.parquet")).unwrap()),
        after(|m| m.remove(&folder().join("log/000003.parquet")).unwrap()),
        after(|m| m.put(&folder().join("log/000004.parquet"), b"PAR1")),
        after(|m| m.put(&folder().join("log/000004.seg"), b"")),
        after(|m| edit(m, "manifest.toml", |b| *b = String::from_utf8_lossy(b).replace("true", "false").into_bytes())),
        after(|m| m.remove(&folder().join("digests")).unwrap()),
        after(|m| edit(m, "digests", |b| b[70] ^= 1)),
        after(|m| edit(m, "digests", |b| b.truncate(b.len() - 40))),
        after(|m| m.remove(&folder().join("samples/000001.parquet")).unwrap()),
        after(|m| edit(m, "events/000001.parquet", |b| b[20] ^= 1)),
        after(|m| m.put(&folder().join("snapshots/000009.parquet"), b"PAR1")),
    ];
    insta::assert_snapshot!(told.join("\n"));
}

/// A digest made to fit a changed file does not help: the chain over the lines is another.
#[test]
fn a_line_made_to_fit_breaks_the_chain() {
    let memory = ended();
    edit(&memory, "manifest.toml", |b| b.push(b'\n'));
    let changed = digests::sha256(&memory.content(&folder().join("manifest.toml")).unwrap());
    let stored: Manifest = Stored::open(&memory, folder()).unwrap().manifest;
    let lines = digests::Digests::read(&memory, folder(), stored.run_id).unwrap().lines;
    let old: &Line = lines.last().unwrap();
    edit(&memory, "digests", |b| *b = String::from_utf8_lossy(b).replace(&old.sha256, &changed).into_bytes());
    assert!(check(&memory).unwrap_err().contains("the chain is broken"));
}
