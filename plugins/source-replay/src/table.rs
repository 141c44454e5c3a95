//! Rows of a table (CSV).

use crate::lines::{CUT_OFF, Lines};
use decode::capture::table::{TableFormat, TableOptions};
use plugin_api::{Capture, CaptureError, CaptureSetup, ConfigError, OpenError};
use schemars::JsonSchema;
use serde::Deserialize;
use stream::{EventTime, Payload, RawRecord, RecordKind, SourceId};

/// Lines that may stand before the first row.
const HEAD: usize = 8;

/// Options of a `table` source.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TableSourceOptions {
    /// What numbers in the time column count from, as RFC 3339 (`2026-03-01T08:00:00Z`). Default: 1970 in UTC.
    #[serde(default)]
    start: Option<String>,
}

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(TableSourceOptions).to_value()
}

/// What the first file's head says. All files of a source must have the same columns.
///
/// # Errors
/// Options, files that cannot be read, heads that are none or differ.
pub fn format(setup: &CaptureSetup) -> Result<TableFormat, OpenError> {
    heads(setup).map(|(format, _)| format)
}

pub(crate) fn open(setup: &CaptureSetup) -> Result<Box<dyn Capture>, OpenError> {
    let (format, head_lines) = heads(setup)?;
    Ok(Box::new(Table {
        source: setup.id,
        lines: Lines::open(&setup.files)?,
        format,
        head_lines,
        sequence: 0,
        blank: 0,
    }))
}

/// The format, and for each file how many lines stand before its rows.
fn heads(setup: &CaptureSetup) -> Result<(TableFormat, Vec<u64>), OpenError> {
    let options: TableSourceOptions = setup.options.read()?;
    let start_ns = match &options.start {
        Some(s) => Some(nanoseconds(s).map_err(|e| {
            let help = "write date, time and zone: 2026-03-01T08:00:00Z";
            ConfigError::new(format!("start {s:?}: {e}"), help, setup.options.span_of("start"))
        })?),
        None => None,
    };
    let mut all: Option<TableFormat> = None;
    let mut head_lines = Vec::new();
    for file in &setup.files {
        let mut lines = Lines::open(std::slice::from_ref(file))?;
        let mut head: Vec<Vec<u8>> = Vec::new();
        while head.len() < HEAD
            && let Some(l) = lines.next_line()?
        {
            head.push(l.bytes.to_vec());
        }
        let head: Vec<&[u8]> = head.iter().map(Vec::as_slice).collect();
        let name = file.display().to_string();
        let (format, rows) = TableFormat::from_head(&head, TableOptions { start_ns }).map_err(|e| {
            let (line, column) = (e.line as u64, e.column as u64);
            CaptureError::Line { file: name.clone(), line, column, what: e.fault.to_string() }
        })?;
        if let Some(first) = &all
            && (first.readings() != format.readings() || first.separator() != format.separator())
        {
            let what = "has other columns, units or separator than the first file of this source".to_owned();
            return Err(CaptureError::File { file: name, what }.into());
        }
        all.get_or_insert(format);
        head_lines.push(rows as u64);
    }
    match all {
        Some(format) => Ok((format, head_lines)),
        None => Err(CaptureError::File { file: setup.name.clone(), what: "no file is named".to_owned() }.into()),
    }
}

fn nanoseconds(text: &str) -> Result<i64, String> {
    let t: jiff::Timestamp = text.parse().map_err(|_| "is not a moment".to_owned())?;
    i64::try_from(t.as_nanosecond()).map_err(|_| "is before 1678 or after 2261".to_owned())
}

struct Table {
    source: SourceId,
    lines: Lines,
    format: TableFormat,
    head_lines: Vec<u64>,
    sequence: u64,
    blank: u64,
}

impl Capture for Table {
    fn next_record(&mut self) -> Result<Option<RawRecord>, CaptureError> {
        loop {
            let Some(line) = self.lines.next_line()? else { return Ok(None) };
            let (number, unterminated) = (line.number, line.unterminated);
            let bytes = line.bytes;
            let time = if bytes.trim_ascii().is_empty() { None } else { Some(self.format.row_time(bytes)) };
            let payload = Payload::from_slice(bytes);
            if number <= self.head_lines.get(self.lines.index()).copied().unwrap_or(0) {
                continue;
            }
            let event_time = match time {
                None => {
                    self.blank += 1;
                    continue;
                }
                Some(_) if unterminated => {
                    let (file, column, what) = (self.lines.file(), payload.len() as u64 + 1, CUT_OFF.to_owned());
                    return Err(CaptureError::Line { file, line: number, column, what });
                }
                Some(Ok(t)) => EventTime(t),
                Some(Err(e)) => {
                    let (file, column, what) = (self.lines.file(), e.column as u64, e.what.to_string());
                    return Err(CaptureError::Line { file, line: number, column, what });
                }
            };
            let record =
                RawRecord { source: self.source, sequence: self.sequence, event_time, kind: RecordKind::Row, payload };
            self.sequence += 1;
            return Ok(Some(record));
        }
    }

    fn progress(&self) -> f64 {
        self.lines.progress()
    }

    fn unused(&self) -> Vec<(String, u64)> {
        if self.blank > 0 { vec![("blank lines".to_owned(), self.blank)] } else { Vec::new() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugin_api::Options;

    fn setup(folder: &tempfile::TempDir, options: &str, texts: &[&str]) -> CaptureSetup {
        let files = (0..texts.len()).map(|i| folder.path().join(format!("{i}.csv"))).collect::<Vec<_>>();
        files.iter().zip(texts).for_each(|(f, t)| std::fs::write(f, t).unwrap());
        CaptureSetup { id: SourceId(0), name: "bench".to_owned(), options: Options::from_text(options), files }
    }

    #[test]
    fn rows_of_two_files_and_relative_time() {
        let folder = tempfile::tempdir().unwrap();
        let texts = ["time,t1\ns,degC\n0.0,20\n0.5,21\n", "time,t1\ns,degC\n\n1.0,22\n"];
        let mut c = open(&setup(&folder, "start = \"2000-01-01T00:00:00Z\"", &texts)).unwrap();
        let mut times = Vec::new();
        while let Some(r) = c.next_record().unwrap() {
            times.push((r.event_time.0 - 946_684_800_000_000_000, r.sequence));
        }
        assert_eq!(times, [(0, 0), (500_000_000, 1), (1_000_000_000, 2)]);
        assert_eq!(c.unused(), [("blank lines".to_owned(), 1)]);
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
            let mut c = open(&setup(&folder, "", &[cut, "time,t1\ns,degC\n2,22\n"])).unwrap();
            assert_eq!(c.next_record().unwrap().unwrap().event_time, EventTime(0));
            let e = c.next_record().unwrap_err().to_string();
            let column = cut.len() - "time,t1\ns,degC\n0,20.5\n".len() + 1;
            assert!(e.contains(&format!("0.csv:4:{column}: {CUT_OFF}")), "{e}");
            assert_eq!(c.next_record().unwrap().unwrap().event_time, EventTime(2_000_000_000), "the next file goes on");
        }
        let mut c = open(&setup(&folder, "", &["time,t1\ns,degC\n0,20.5\n  "])).unwrap();
        c.next_record().unwrap();
        assert!(c.next_record().unwrap().is_none(), "blanks hold nothing");
    }

    #[test]
    fn a_bad_row_is_told_and_the_next_one_read() {
        let folder = tempfile::tempdir().unwrap();
        let mut c = open(&setup(&folder, "", &["time,t1\ns,degC\nzero,1\n1,2,3\n2,3\n"])).unwrap();
        for line in [3, 4] {
            let e = c.next_record().unwrap_err().to_string();
            assert!(e.contains(&format!("0.csv:{line}:")), "{e}");
        }
        assert_eq!(c.next_record().unwrap().unwrap().event_time, EventTime(2_000_000_000));
    }
}
