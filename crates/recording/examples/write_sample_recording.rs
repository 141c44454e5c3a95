//! Writes a small recording of invented values, to try other programs on its files:
//! `cargo run -p recording --example write_sample_recording -- FOLDER [GRID TIMES]`

use recording::log::segment_to_parquet;
use recording::manifest::{ConfigFile, End, Ending, SourceEnd};
use recording::{ClosedSegment, Disk, LogWriter, Manifest, RealDisk, Recording, RunId, TablesOptions, TablesWriter};
use std::error::Error;
use std::path::PathBuf;
use std::sync::Arc;
use stream::*;

const START: i64 = 1_772_352_900_000_000_000;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args_os().skip(1);
    let folder = PathBuf::from(args.next().ok_or("which folder? It must not be there yet, or be empty.")?);
    let times = match args.next() {
        Some(n) => n.to_string_lossy().parse()?,
        None => 2000,
    };
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let recording = Recording::create(disk.clone(), &folder, manifest()?)?;
    let entries = write_log(&recording, times)?;
    let rows = write_tables(&recording, times)?;
    recording.finish(End {
        how: Ending::Complete,
        ended: time(times),
        entries,
        rows,
        not_recorded: vec![],
        sources: vec![SourceEnd { name: "bench".into(), records: times * 2, ..SourceEnd::default() }],
        cuts: vec![],
        not_used: vec![],
        missing: Vec::new(),
        tables_complete: true,
    })?;
    println!("{}: {entries} entries, {rows:?}", folder.display());
    Ok(())
}

fn time(i: u64) -> EventTime {
    EventTime(START + i as i64 * 100_000_000)
}

fn manifest() -> Result<Manifest, Box<dyn Error>> {
    let column = |name: &str, unit: &str, ucum: &str, origin| Column {
        name: name.to_owned(),
        unit: unit.to_owned(),
        ucum: ucum.to_owned(),
        origin,
        provenance: format!("bench/{name}"),
        with_uncertainty: false,
        about: Vec::new(),
    };
    let bench = Origin::Channel(SourceId(0));
    let layout = Layout {
        run: "sample".to_owned(),
        grid: Span::from_millis(100),
        sources: vec![SourceInfo {
            name: "bench".into(),
            kind: "serial".into(),
            devices: vec!["loop".into()],
            simulated: true,
        }],
        columns: vec![
            column("pack_outlet.temperature", "K", "K", bench),
            column("pack_outlet.pressure", "Pa", "Pa", bench),
            column("pack.flow", "kg/s", "kg/s", bench),
            column("exchanger.effectiveness", "1", "1", Origin::Derived),
        ],
        limits: vec![LimitInfo { name: "outlet hot".into(), column: ChannelId(0), source: "invented".into() }],
    };
    Ok(Manifest {
        program: concat!("bise ", env!("CARGO_PKG_VERSION")).to_owned(),
        run_id: RunId::random()?,
        simulated: true,
        started: time(0),
        lateness: Span::from_millis(50),
        anchor: Anchor { event_time: time(0), wall_offset_ns: 0 },
        layout,
        files: vec![ConfigFile { role: "run".into(), path: "run.toml".into(), text: "# invented\n".into() }],
        sensors: vec![],
        captures: vec![],
        end: None,
    })
}

/// Two lines and a tick per grid time, in two segments; then one entry of every other kind.
fn write_log(recording: &Recording, times: u64) -> Result<u64, Box<dyn Error>> {
    let mut log = recording.log(1 << 20)?;
    let mut ordinal = 0;
    let mut put = |log: &mut LogWriter, at: EventTime, body| {
        log.append(&LogEntry { ordinal, logged_at: at, body })?;
        ordinal += 1;
        Ok::<u64, recording::LogError>(ordinal)
    };
    let close = |c: Option<ClosedSegment>| {
        c.map(|c| segment_to_parquet(recording.disk(), recording.folder(), &c, &recording.manifest().source_names()))
            .transpose()
    };
    for i in 0..times {
        for n in 0..2 {
            let mut payload = Payload::from_slice(&[0, 0]);
            payload.extend_from_slice(format!("T{n} {}", 280 + i % 40).as_bytes());
            let (source, sequence, kind) = (SourceId(0), 2 * i + n, RecordKind::TextLine);
            put(
                &mut log,
                time(i),
                EntryBody::Record(RawRecord { source, sequence, event_time: time(i), kind, payload }),
            )?;
        }
        put(&mut log, time(i), EntryBody::Tick)?;
        if i == times / 2 {
            close(log.roll()?)?;
        }
        if i % 10 == 0 {
            log.sync()?;
        }
    }
    let (t, source) = (time(times), SourceId(0));
    put(&mut log, t, EntryBody::Gap(Gap { source: None, lost: 3, from: t, to: t, cause: GapCause::Suspend }))?;
    let (state, detail) = (LinkState::Down, "unplugged".to_owned());
    put(&mut log, t, EntryBody::Link(Link { source, device: Some(0), event_time: t, state, detail }))?;
    put(&mut log, t, EntryBody::Anchor(Anchor { event_time: t, wall_offset_ns: 1_000_000_000 }))?;
    let content = OperatorContent::Note("steady since five minutes".to_owned());
    put(&mut log, t, EntryBody::Operator(OperatorAction { author: "A. Tester".into(), pressed_at: t, content }))?;
    let entries = put(&mut log, t, EntryBody::End)?;
    let (closed, result) = log.close();
    result?;
    close(closed)?;
    Ok(entries)
}

fn write_tables(recording: &Recording, times: u64) -> Result<recording::tables::Rows, Box<dyn Error>> {
    let manifest = recording.manifest();
    let options = TablesOptions { part_rows: times.max(1), ..TablesOptions::default() };
    let (disk, folder) = (recording.disk().clone(), recording.folder());
    let mut tables = TablesWriter::create(disk, folder, manifest.run_id, &manifest.layout, options)?;
    for i in 0..times {
        let value = |c: u64| 280.0 + ((i * 7 + c) % 400) as f64 * 0.0125;
        let reading = |c: u64| match (i + c) % 50 {
            0 => Reading::Uncertain(value(c), Reason::Range),
            1 => Reading::Bad(Reason::Crc),
            2 => Reading::Stale,
            3 => Reading::Missing(Reason::SourceDown),
            _ => Reading::Good(value(c)),
        };
        let limit = if i % 100 < 20 { LimitState::Outside } else { LimitState::Inside };
        let event = || Event {
            time: time(i),
            ordinal: 3 * i,
            kind: EventKind::LimitCrossed,
            source: (i % 200 == 0).then_some(SourceId(0)),
            subject: "outlet hot".into(),
            value: (i % 200 == 0).then(|| value(0)),
            text: "above its limit".into(),
        };
        tables.write(&Batch {
            samples: (0..3)
                .map(|c| Sample { time: time(i), channel: ChannelId(c as u16), reading: reading(c) })
                .collect(),
            snapshots: vec![Snapshot {
                time: time(i),
                readings: (0..4).map(reading).collect(),
                uncertainties: [].into(),
                limits: [limit].into(),
                alarms: Box::default(),
            }],
            events: if i % 100 == 0 { vec![event()] } else { vec![] },
        })?;
    }
    let (summary, result) = tables.close();
    result?;
    Ok(summary.written)
}
