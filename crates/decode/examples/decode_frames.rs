//! Decodes a candump log through a database: `decode_frames DATABASE.dbc < frames.log > readings.jsonl`;
//! `decode_frames DATABASE.dbc --signals` lists its signals. What is wrong in the database goes to the error output.
//!
//! One JSON object a frame: `line`, and either `values` (name to number, 17 significant digits, `null` where there
//! is no number), or `unmapped` or `unfit` with the reason. `tests/peers/cantools_equal.py` holds it against cantools.

use decode::can::CanDatabase;
use decode::capture::candump::parse_line;
use decode::{DecodeError, Decoder};
use std::error::Error;
use std::fmt::Write as _;
use std::io::{BufRead, BufWriter, Write as _, stdin, stdout};
use stream::{EventTime, RawRecord, RecordKind, SourceId};

fn main() -> Result<(), Box<dyn Error>> {
    let file = std::env::args().nth(1).ok_or("usage: decode_frames DATABASE.dbc < candump.log")?;
    let database = CanDatabase::load_bytes(&std::fs::read(&file)?, &file).map_err(|e| e.to_string())?;
    for note in database.notes() {
        eprintln!("{note}");
    }
    let decoder = Decoder::can(database).map_err(|e| e.to_string())?;
    if std::env::args().nth(2).is_some_and(|a| a == "--signals") {
        decoder.readings().iter().for_each(|r| println!("{}", r.name));
        return Ok(());
    }
    let mut out = BufWriter::new(stdout().lock());
    for (number, line) in stdin().lock().lines().enumerate() {
        let line = line?;
        let Some(frame) = parse_line(line.as_bytes()).map_err(|e| format!("line {}: {e}", number + 1))? else {
            continue;
        };
        let record = RawRecord {
            source: SourceId(0),
            sequence: number as u64,
            event_time: EventTime(frame.time_ns),
            kind: RecordKind::CanFrame,
            payload: frame.frame(0).payload(),
        };
        let mut values = String::new();
        let outcome = decoder.decode(&record, &mut |i, raw| {
            let name = &decoder.readings()[usize::from(i)].name;
            let comma = if values.is_empty() { "" } else { "," };
            let number = raw.number().map_or("null".to_owned(), |x| format!("{x:.16e}"));
            // Writing to a string does not fail.
            let _ = write!(values, "{comma}\"{name}\":{number}");
        });
        let number = number + 1;
        match outcome {
            Ok(()) => writeln!(out, "{{\"line\":{number},\"values\":{{{values}}}}}")?,
            Err(DecodeError::Unmapped(e)) => writeln!(out, "{{\"line\":{number},\"unmapped\":\"{e}\"}}")?,
            Err(DecodeError::Unfit(e)) => writeln!(out, "{{\"line\":{number},\"unfit\":\"{e}\"}}")?,
        }
    }
    Ok(out.flush()?)
}
