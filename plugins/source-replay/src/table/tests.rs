use super::*;
use plugin_api::Options;

fn setup(folder: &tempfile::TempDir, options: &str, texts: &[&str]) -> CaptureSetup {
    let files = (0..texts.len()).map(|i| folder.path().join(format!("{i}.csv"))).collect::<Vec<_>>();
    files.iter().zip(texts).for_each(|(f, t)| std::fs::write(f, t).unwrap());
    CaptureSetup { id: SourceId(0), name: "bench".to_owned(), options: Options::from_text(options), files }
}

fn one(folder: &tempfile::TempDir, text: &str) -> Box<dyn Capture> {
    open(&setup(folder, "", &[text])).unwrap().pop().unwrap()
}

fn next(c: &mut Box<dyn Capture>) -> Option<RawRecord> {
    match c.next_entry().unwrap()? {
        EntryBody::Record(r) => Some(r),
        other => panic!("{other:?}"),
    }
}

#[test]
fn rows_of_two_files_and_relative_time() {
    let folder = tempfile::tempdir().unwrap();
    let texts = ["time,t1\ns,degC\n0.0,20\n0.5,21\n", "time,t1\ns,degC\n\n1.0,22\n"];
    let all = open(&setup(&folder, "start = \"2000-01-01T00:00:00Z\"", &texts)).unwrap();
    let (mut times, mut unused) = (Vec::new(), Vec::new());
    for mut c in all {
        while let Some(r) = next(&mut c) {
            times.push((r.event_time.0 - 946_684_800_000_000_000, r.sequence));
        }
        unused.push(c.unused());
    }
    assert_eq!(times, [(0, 0), (500_000_000, 1), (1_000_000_000, 0)]);
    assert_eq!(unused, [vec![], vec![("blank lines".to_owned(), 1)]]);
}

#[test]
fn another_head_in_the_second_file_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let e = open(&setup(&folder, "", &["time,t1\ns,degC\n0,1\n", "time,t1\ns,K\n0,1\n"])).err().unwrap();
    assert!(e.to_string().contains("1.csv: has other columns, units or separator"), "{e}");
}

#[test]
fn a_last_row_without_line_end_is_told_and_not_used() {
    let folder = tempfile::tempdir().unwrap();
    let whole = "time,t1\ns,degC\n0,20.5\n1,21.5";
    for cut in [whole, &whole[..whole.len() - 2], &whole[..whole.len() - 5]] {
        let mut c = one(&folder, cut);
        assert_eq!(next(&mut c).unwrap().event_time, EventTime(0));
        let e = c.next_entry().unwrap_err().to_string();
        let column = cut.len() - "time,t1\ns,degC\n0,20.5\n".len() + 1;
        assert!(e.contains(&format!("0.csv:4:{column}: {CUT_OFF}")), "{e}");
        assert!(next(&mut c).is_none());
    }
    let mut c = one(&folder, "time,t1\ns,degC\n0,20.5\n  ");
    next(&mut c).unwrap();
    assert!(next(&mut c).is_none(), "blanks hold nothing");
}

#[test]
fn a_bad_row_is_told_and_the_next_one_read() {
    let folder = tempfile::tempdir().unwrap();
    let mut c = one(&folder, "time,t1\ns,degC\nzero,1\n1,2,3\n2,3\n");
    for line in [3, 4] {
        let e = c.next_entry().unwrap_err().to_string();
        assert!(e.contains(&format!("0.csv:{line}:")), "{e}");
    }
    assert_eq!(next(&mut c).unwrap().event_time, EventTime(2_000_000_000));
}

#[test]
fn options_that_contradict_each_other_are_refused_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    for (options, what) in [
        ("thousands = \"point\"", "thousands and decimal are the same"),
        ("start = \"2000-01-01T00:00:00Z\"\nstart_line = \"S\"", "both start and start_line"),
        ("start_format = \"hh:mm\"", "start_format is for start_line"),
        ("time_format = \"DD.MM.YY hh:mm\"", "time_format: `YY hh:mm` begins with no part of a pattern"),
        ("zone = \"Europe/Somewhere\"", "is no distance from UTC"),
        ("words = { OVER = \"over\" }", "words: \"over\" is not known"),
        ("names = { first = \"a\" }", "names: \"first\" is no number"),
        ("comment = \"\"", "comment is empty"),
        ("long = { channel = \"c\", value = \"v\", quality = \"q\" }", "quality and good belong together"),
        ("decimal = \"komma\"", "unknown variant"),
    ] {
        let e = open(&setup(&folder, options, &["time,t1\ns,degC\n0,1\n"])).err().unwrap().to_string();
        assert!(e.contains(what), "{options}: {e}");
    }
}
