use super::*;
use crate::disk::fake::{Fault, FaultError, LimitedDisk, MemoryDisk};
use crate::testing::{RUN, folder, memory};

fn line(n: u8) -> Line {
    Line { sha256: sha256(&[n]), path: format!("log/{n:06}.parquet") }
}

/// Files 1 to 4 with their digests, and the digests' text.
fn four() -> (MemoryDisk, String) {
    let (memory, disk) = memory();
    for n in 1..=4 {
        memory.put(&folder().join(line(n).path), &[n]);
        append(disk.as_ref(), folder(), RUN, line(n)).unwrap();
    }
    let text = String::from_utf8(memory.content(&folder().join(FILE)).unwrap()).unwrap();
    (memory, text)
}

fn with(memory: &MemoryDisk, text: &str) -> Result<Verified, DigestError> {
    memory.put(&folder().join(FILE), text.as_bytes());
    verify(memory, folder(), RUN, false)
}

#[test]
fn what_was_written_verifies() {
    let (memory, text) = four();
    assert_eq!(text.lines().count(), 8);
    assert_eq!(text, Digests::text_of(RUN, (1..=4).map(line).collect()));
    assert_eq!(with(&memory, &text).unwrap(), Verified { files: 4, wrong: vec![] });
    append(&memory, folder(), RUN, line(2)).unwrap();
    assert_eq!(memory.content(&folder().join(FILE)).unwrap(), text.as_bytes());
}

#[test]
fn a_line_removed_moved_or_changed_is_found() {
    let (memory, text) = four();
    let lines: Vec<&str> = text.lines().collect();
    let pairs: Vec<String> = lines.chunks(2).map(|p| format!("{}\n{}\n", p[0], p[1])).collect();
    for gone in 0..3 {
        let left: String = pairs.iter().enumerate().filter(|(i, _)| *i != gone).map(|p| p.1.as_str()).collect();
        assert!(matches!(with(&memory, &left), Err(DigestError::Line { .. })), "line {gone} removed");
        let mut moved = pairs.clone();
        moved.swap(gone, gone + 1);
        assert!(matches!(with(&memory, &moved.concat()), Err(DigestError::Line { .. })), "line {gone} moved");
    }
    for at in 0..text.len() {
        let mut changed = text.clone().into_bytes();
        changed[at] ^= 1;
        memory.put(&folder().join(FILE), &changed);
        let found = verify(&memory, folder(), RUN, false);
        assert!(found.is_err() || found.is_ok_and(|v| !v.wrong.is_empty()), "byte {at}");
    }
}

#[test]
fn a_file_changed_missing_or_unlisted_is_found() {
    let (memory, text) = four();
    memory.put(&folder().join(line(2).path), &[9]);
    memory.remove(&folder().join(line(3).path)).unwrap();
    memory.put(&folder().join("samples/000001.parquet"), &[9]);
    let wrong = with(&memory, &text).unwrap().wrong;
    assert_eq!(
        wrong,
        [
            "log/000002.parquet: the file was changed: its SHA-256 is another",
            "log/000003.parquet: the file is missing",
            "samples/000001.parquet: the file has no line in digests",
        ]
    );
    let e = append(&memory, folder(), RUN, Line { sha256: sha256(b"x"), ..line(1) }).unwrap_err();
    assert_eq!(
        e.to_string(),
        "rec/digests: log/000001.parquet has a line already, with another digest; a final file must not change"
    );
}

/// Lines taken off the end are found by the manifest's own line, which is the last of what has ended.
#[test]
fn the_end_must_be_there() {
    let (memory, text) = four();
    with(&memory, &text).unwrap();
    let wrong = verify(&memory, folder(), RUN, true).unwrap().wrong;
    assert_eq!(wrong, ["digests: the last line is not that of manifest.toml: lines are missing"]);
}

#[test]
fn a_torn_line_is_written_over() {
    let (memory, text) = four();
    for cut in 1..150 {
        let torn = &text[..text.len() - cut];
        memory.put(&folder().join(FILE), torn.as_bytes());
        append(&memory, folder(), RUN, line(4)).unwrap();
        assert_eq!(memory.content(&folder().join(FILE)).unwrap(), text.as_bytes(), "cut {cut}");
    }
}

#[test]
fn a_failed_append_can_be_repeated() {
    for at in 0..4 {
        let (memory, text) = four();
        memory.put(&folder().join(FILE), &text.as_bytes()[..text.len() / 4 * 3 + 20]);
        let limited = LimitedDisk::new(std::sync::Arc::new(memory.clone()));
        limited.set_fault(Some(Fault { at, lasting: false, error: FaultError::Full }));
        append(&limited, folder(), RUN, line(4)).unwrap_err();
        append(&limited, folder(), RUN, line(4)).unwrap();
        assert_eq!(memory.content(&folder().join(FILE)).unwrap(), text.as_bytes(), "operation {at}");
    }
}
