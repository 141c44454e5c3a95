use super::*;
use crate::disk::fake::{Fault, FaultError, LimitedDisk, MemoryDisk};
use crate::disk::write_whole;
use crate::testing::{capture, end, folder, manifest, memory};
use std::sync::Arc;

fn read(text: &str) -> Result<Manifest, ManifestError> {
    let disk = MemoryDisk::default();
    disk.put(&folder().join(FILE), text.as_bytes());
    Manifest::read(&disk, folder())
}

fn message(text: &str) -> String {
    read(text).unwrap_err().to_string()
}

#[test]
fn it_reads_back() {
    let start = manifest();
    assert_eq!(read(&start.to_text().unwrap()).unwrap(), start);
    let ended = Manifest { end: Some(end()), captures: vec![capture()], simulated: false, ..start };
    assert_eq!(read(&ended.to_text().unwrap()).unwrap(), ended);
}

#[test]
fn times_are_there_for_people_too() {
    let text = Manifest { end: Some(end()), ..manifest() }.to_text().unwrap();
    assert!(text.contains("started = \"2023-11-14T22:13:20.000000001Z\""), "{text}");
    assert!(text.contains("ended = \"2023-11-14T22:14:20.000000000Z\""), "{text}");
}

/// Whatever happens while the last manifest is written: the old or the new one is there, whole.
#[test]
fn a_crash_while_it_is_written_leaves_one_of_the_two() {
    let (start, ended) = (manifest(), Manifest { end: Some(end()), ..manifest() });
    let mut seen = (0, 0);
    for at in 0..6 {
        let (_, disk) = memory();
        write_whole(disk.as_ref(), folder(), FILE, start.to_text().unwrap().as_bytes()).unwrap();
        let limited = LimitedDisk::new(Arc::clone(&disk));
        limited.set_fault(Some(Fault { at, lasting: true, error: FaultError::Io }));
        write_whole(&limited, folder(), FILE, ended.to_text().unwrap().as_bytes()).unwrap_err();
        match Manifest::read(disk.as_ref(), folder()).unwrap() {
            m if m == start => seen.0 += 1,
            m if m == ended => seen.1 += 1,
            m => panic!("operation {at}: {m:?}"),
        }
    }
    assert_eq!(seen, (5, 1));
}

#[test]
fn messages() {
    let text = manifest().to_text().unwrap();
    insta::assert_snapshot!(
        message("format = 7\nother = 1\n"),
        @"rec/manifest.toml: format 7 is newer than the newest this program reads (1); use a newer program"
    );
    insta::assert_snapshot!(message("nothing = 1\n"), @"rec/manifest.toml: line 1, column 1: missing field `format`");
    insta::assert_snapshot!(
        message("format = 1\nprogram = \"x\"\nrun_id = 5\n"),
        @"rec/manifest.toml: line 3, column 10: invalid type: integer `5`, expected a string"
    );
    insta::assert_snapshot!(
        message(&text.replace("wall_offset_ns", "wall")),
        @"rec/manifest.toml: line 15, column 1: unknown field `wall`, expected `event_time_ns` or `wall_offset_ns`"
    );
    insta::assert_snapshot!(
        message(&text.replace("8899aabb", "")),
        @r#"rec/manifest.toml: run_id "0011223344556677ccddeeff" is not 32 hexadecimal digits"#
    );
    insta::assert_snapshot!(
        message(&text.replace("column = \"outlet.temperature\"", "column = \"gone\"")),
        @r#"rec/manifest.toml: limit "hot" watches column "gone", which is not there"#
    );
    insta::assert_snapshot!(
        message(&text.replace("source = \"bus\"", "source = \"bud\"")),
        @r#"rec/manifest.toml: column "outlet.pressure" is of source "bud", which is not there"#
    );
    let disk = MemoryDisk::default();
    insta::assert_snapshot!(
        Manifest::read(&disk, folder()).unwrap_err(),
        @"cannot read rec/manifest.toml: entity not found"
    );
    disk.put(&folder().join(FILE), b"format = 1 # \xff");
    insta::assert_snapshot!(Manifest::read(&disk, folder()).unwrap_err(), @"rec/manifest.toml: is not UTF-8 text");
}
