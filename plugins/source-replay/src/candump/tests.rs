use super::*;
use plugin_api::Options;
use std::path::PathBuf;

fn opened(options: &str, texts: &[&str]) -> (tempfile::TempDir, Result<Captures, OpenError>) {
    let folder = tempfile::tempdir().unwrap();
    let files: Vec<PathBuf> = (0..texts.len()).map(|i| folder.path().join(format!("bus{i}.log"))).collect();
    files.iter().zip(texts).for_each(|(f, t)| std::fs::write(f, t).unwrap());
    let options = Options::from_text(options);
    let setup = CaptureSetup { id: SourceId(2), name: "bus".to_owned(), options, files };
    (folder, open(&setup))
}

fn capture(options: &str, text: &str) -> (tempfile::TempDir, Box<dyn Capture>) {
    let (folder, all) = opened(options, &[text]);
    (folder, all.unwrap().pop().unwrap())
}

fn refusal(options: &str, texts: &[&str]) -> String {
    let (folder, refused) = opened(options, texts);
    refused.err().unwrap().to_string().replace(&folder.path().display().to_string(), "DIR")
}

fn next(c: &mut Box<dyn Capture>) -> Option<RawRecord> {
    match c.next_entry().unwrap()? {
        EntryBody::Record(r) => Some(r),
        other => panic!("{other:?}"),
    }
}

fn times(options: &str, text: &str) -> Vec<i64> {
    let (_folder, mut c) = capture(options, text);
    std::iter::from_fn(|| next(&mut c)).map(|r| r.event_time.0).collect()
}

#[test]
fn one_interface_of_two_and_the_rest_counted() {
    let text = "# heading\n(1000000001.5) can0 123#01\n(1000000001.6) can1 124#02\n\n(1000000001.7) can0 00000125#03\n";
    let (_folder, mut c) = capture("interface = \"can0\"", text);
    let a = next(&mut c).unwrap();
    assert_eq!((a.event_time, a.sequence, a.source), (EventTime(1_000_000_001_500_000_000), 0, SourceId(2)));
    assert_eq!(next(&mut c).unwrap().sequence, 1);
    assert!(next(&mut c).is_none());
    let unused = [("blank lines and comments".to_owned(), 2), ("frames of can1".to_owned(), 1)];
    assert_eq!(c.unused(), unused);
}

#[test]
fn one_name_is_one_interface_in_every_file() {
    let one = "(1000000001.5) can0 123#01\n(1000000001.6) can1 123#02\n";
    let two = "(1000000001.5) can1 123#03\n(1000000001.6) can2 123#04\n(1000000001.7) can0 123#05\n";
    let (_folder, all) = opened("", &[one, two]);
    let mut seen = Vec::new();
    for mut c in all.unwrap() {
        seen.extend(std::iter::from_fn(|| next(&mut c)).map(|r| (r.payload[6], r.payload[7])));
    }
    assert_eq!(seen, [(0, 1), (1, 2), (1, 3), (2, 4), (0, 5)]);
}

#[test]
fn a_bad_line_is_told_and_the_next_one_read() {
    let (_folder, mut c) = capture("", "(1000000001.5) can0 12G#01\n(1000000001.6) can0 123#02\n");
    let e = c.next_entry().unwrap_err().to_string();
    assert!(e.contains("bus0.log:1:"), "{e}");
    assert_eq!(next(&mut c).unwrap().sequence, 0);
}

#[test]
fn a_last_frame_without_line_end_is_told_and_not_used() {
    for cut in ["(1000000001.6) can0 12", "(1000000001.6) can0 123#01", "(1000000001.6) can0 123#0102"] {
        let (_folder, mut c) = capture("", &format!("(1000000001.5) can0 123#01\n{cut}"));
        next(&mut c).unwrap();
        let e = c.next_entry().unwrap_err().to_string();
        assert!(e.contains(&format!("bus0.log:2:{}: {CUT_OFF}", cut.len() + 1)), "{e}");
        assert!(next(&mut c).is_none());
    }
}

#[test]
fn stamps_that_do_not_say_when() {
    let text = "(000.000000) can0 123#01\n(000.250000) can1 123#02\n(000.500000) can0 123#03\n";
    let e = refusal("", &[text]);
    assert!(e.starts_with("DIR/bus0.log:1:1: the time stamps do not count from 1970: write times ="), "{e}");
    let start = "start = \"2001-09-09T01:46:40Z\"\ninterface = \"can0\"\n";
    let ms = |options: &str, text: &str| -> Vec<i64> {
        times(&format!("{start}{options}"), text).iter().map(|t| (t - ABSOLUTE_FROM_NS) / 1_000_000).collect()
    };
    assert_eq!(ms("times = \"from-start\"", text), [0, 500]);
    assert_eq!(ms("times = \"differences\"", text), [0, 750], "frames of other interfaces count");
    for (options, texts, what) in [
        ("times = \"from-start\"", &[text][..], "do not say when the capture began"),
        ("start = \"2001-09-09T01:46:40Z\"", &[text], "absolute time stamps need no start"),
        ("times = \"differences\"\nstart = \"2001-09-09T01:46:40Z\"", &[text, text], "several files"),
        ("times = \"differences\"\nstart = \"monday\"", &[text], "start \"monday\""),
        ("zone = \"+01:00\"", &["(1000000001.5) can0 123#01\n"], "the time stamps are no dates"),
    ] {
        let e = refusal(options, texts);
        assert!(e.contains(what), "{options}: {e}");
    }
}

#[test]
fn a_bad_line_among_differences_keeps_the_later_times_right_or_ends_the_file() {
    let options = "times = \"differences\"\nstart = \"2001-09-09T01:46:40Z\"";
    let (_folder, mut c) =
        capture(options, "(0.0) can0 123#01\n(0.5) can0 123#0\n(0.5) can0 123#02\n(x) can0 123#02\n");
    next(&mut c).unwrap();
    assert!(matches!(c.next_entry(), Err(CaptureError::Line { line: 2, .. })));
    assert_eq!(next(&mut c).unwrap().event_time.0 - ABSOLUTE_FROM_NS, 1_000_000_000);
    let e = c.next_entry().unwrap_err();
    assert!(matches!(e, CaptureError::File { .. }) && e.to_string().contains("line 4, column 2"), "{e}");
}

#[test]
fn the_terminal_form_and_dates() {
    let seconds = " (1000000001.500000)  can0  123   [2]  01 02\n";
    let dated = " (2001-09-09 03:46:41.500000)  can0  123   [2]  01 02\n";
    let log = "(2001-09-09 03:46:41.500000) can0 123#0102\n";
    for (options, text) in [("", seconds), ("zone = \"+02:00\"", dated), ("zone = \"+02:00\"", log)] {
        assert_eq!(times(options, text), [1_000_000_001_500_000_000], "{text}");
    }
    let e = refusal("", &[dated]);
    assert!(e.contains("DIR/bus0.log:1:1: the time stamps are local dates"), "{e}");
    // Without stamps there is no time at all; the file opens, and every line says so.
    let (_folder, mut c) = capture("", "  can0  123   [2]  01 02\n");
    let e = c.next_entry().unwrap_err().to_string();
    assert!(e.contains("bus0.log:1:3: no time stamp: nothing says when the frame came; record with candump -L"), "{e}");
}
