//! How the manifest lies in its file. Frozen: a change of meaning is a new format number.

use super::{
    CaptureFile, ConfigFile, Cut, End, Ending, FORMAT, Manifest, NotRecorded, NotUsed, RunId, SensorState, SourceEnd,
};
use serde::{Deserialize, Serialize};
use stream::{Anchor, Column, EventTime, Layout, LimitInfo, Origin, SourceId, SourceInfo, Span};

/// The format number, whatever else the file holds.
pub(super) fn format_of(text: &str) -> Result<u64, String> {
    #[derive(Deserialize)]
    struct Only {
        format: u64,
    }
    toml::from_str::<Only>(text).map(|o| o.format).map_err(|e| placed(text, &e))
}

pub(super) fn parse(text: &str) -> Result<Manifest, String> {
    toml::from_str::<File>(text).map_err(|e| placed(text, &e))?.into_manifest()
}

/// The message with its place, in one line.
pub(crate) fn placed(text: &str, e: &toml::de::Error) -> String {
    let Some(before) = e.span().and_then(|s| text.get(..s.start)) else { return e.message().to_owned() };
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    format!("line {line}, column {column}: {}", e.message())
}

pub(super) fn text(manifest: &Manifest) -> Result<String, String> {
    toml::to_string(&File::of(manifest)).map_err(|e| e.to_string())
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: u32,
    program: String,
    run_id: String,
    #[serde(default, skip_serializing_if = "is_false")]
    simulated: bool,
    run: Run,
    anchor: AnchorRow,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    end: Option<EndTable>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    source: Vec<SourceRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    column: Vec<ColumnRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    limit: Vec<LimitRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    sensor: Vec<SensorRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    capture: Vec<CaptureRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    file: Vec<FileRow>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Run {
    name: String,
    /// For people; `started_ns` counts.
    started: String,
    started_ns: i64,
    grid_ns: i64,
    lateness_ns: i64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AnchorRow {
    event_time_ns: i64,
    wall_offset_ns: i64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceRow {
    name: String,
    kind: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    devices: Vec<String>,
    #[serde(default, skip_serializing_if = "is_false")]
    simulated: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ColumnRow {
    name: String,
    unit: String,
    ucum: String,
    /// The source of a channel; none for a derived quantity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    source: Option<String>,
    provenance: String,
    #[serde(default, skip_serializing_if = "is_false")]
    with_uncertainty: bool,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    about: Vec<(String, String)>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LimitRow {
    name: String,
    column: String,
    source: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SensorRow {
    serial: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    kind: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    calibrated: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    due: Option<String>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    certificate: String,
    /// At the start of the run.
    state: String,
    channels: Vec<String>,
}

impl SensorRow {
    fn of(s: &SensorState) -> SensorRow {
        let SensorState { serial, kind, calibrated, due, certificate, state, channels } = s.clone();
        SensorRow { serial, kind, calibrated, due, certificate, state, channels }
    }

    fn into_state(self) -> SensorState {
        let SensorRow { serial, kind, calibrated, due, certificate, state, channels } = self;
        SensorState { serial, kind, calibrated, due, certificate, state, channels }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CaptureRow {
    path: String,
    bytes: u64,
    sha256: String,
    source: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    clock: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FileRow {
    role: String,
    path: String,
    text: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EndTable {
    how: EndWord,
    /// For people; `ended_ns` counts.
    ended: String,
    ended_ns: i64,
    entries: u64,
    samples: u64,
    snapshots: u64,
    events: u64,
    tables_complete: bool,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    not_recorded: Vec<NotRecordedRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    missing: Vec<MissingRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    source: Vec<SourceEndRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    cut: Vec<CutRow>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    not_used: Vec<NotUsedRow>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NotUsedRow {
    what: String,
    count: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum EndWord {
    Complete,
    Salvaged,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NotRecordedRow {
    /// For people.
    from: String,
    /// For people.
    to: String,
    from_ns: i64,
    to_ns: i64,
    lost: u64,
}

/// Ordinals, `to` included.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct MissingRow {
    from: u64,
    to: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceEndRow {
    name: String,
    records: u64,
    lost: u64,
    faults: u64,
    late: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CutRow {
    file: String,
    at: u64,
    bytes: u64,
    reason: String,
    kept: String,
}

fn is_false(b: &bool) -> bool {
    !b
}

impl File {
    fn of(m: &Manifest) -> File {
        let source = |s: SourceId| m.layout.sources.get(usize::from(s.0)).map(|s| s.name.clone());
        let column = |c: &Column| ColumnRow {
            name: c.name.clone(),
            unit: c.unit.clone(),
            ucum: c.ucum.clone(),
            source: match c.origin {
                Origin::Channel(s) => source(s),
                Origin::Derived => None,
            },
            provenance: c.provenance.clone(),
            with_uncertainty: c.with_uncertainty,
            about: c.about.clone(),
        };
        let limit = |l: &LimitInfo| LimitRow {
            name: l.name.clone(),
            column: m.layout.columns.get(usize::from(l.column.0)).map_or_else(String::new, |c| c.name.clone()),
            source: l.source.clone(),
        };
        File {
            format: FORMAT,
            program: m.program.clone(),
            run_id: m.run_id.to_string(),
            simulated: m.simulated,
            run: Run {
                name: m.layout.run.clone(),
                started: m.started.to_string(),
                started_ns: m.started.0,
                grid_ns: m.layout.grid.0,
                lateness_ns: m.lateness.0,
            },
            anchor: AnchorRow { event_time_ns: m.anchor.event_time.0, wall_offset_ns: m.anchor.wall_offset_ns },
            end: m.end.as_ref().map(EndTable::of),
            source: m
                .layout
                .sources
                .iter()
                .map(|s| SourceRow {
                    name: s.name.clone(),
                    kind: s.kind.clone(),
                    devices: s.devices.clone(),
                    simulated: s.simulated,
                })
                .collect(),
            column: m.layout.columns.iter().map(column).collect(),
            limit: m.layout.limits.iter().map(limit).collect(),
            sensor: m.sensors.iter().map(SensorRow::of).collect(),
            capture: m
                .captures
                .iter()
                .map(|c| CaptureRow {
                    source: c.source.clone(),
                    path: c.path.clone(),
                    bytes: c.bytes,
                    sha256: c.sha256.clone(),
                    clock: c.clock.clone(),
                })
                .collect(),
            file: m
                .files
                .iter()
                .map(|f| FileRow { role: f.role.clone(), path: f.path.clone(), text: f.text.clone() })
                .collect(),
        }
    }

    fn into_manifest(self) -> Result<Manifest, String> {
        let run_id = u128::from_str_radix(&self.run_id, 16)
            .ok()
            .filter(|_| self.run_id.len() == 32)
            .ok_or_else(|| format!("run_id {:?} is not 32 hexadecimal digits", self.run_id))?;
        let layout = Layout {
            run: self.run.name,
            grid: Span(self.run.grid_ns),
            columns: columns(self.column, &self.source)?,
            sources: self
                .source
                .into_iter()
                .map(|s| SourceInfo { name: s.name, kind: s.kind, devices: s.devices, simulated: s.simulated })
                .collect(),
            limits: Vec::new(),
        };
        let limits = self.limit.into_iter().map(|l| match layout.column(&l.column) {
            Some(column) => Ok(LimitInfo { name: l.name, column, source: l.source }),
            None => Err(format!("limit {:?} watches column {:?}, which is not there", l.name, l.column)),
        });
        let limits = limits.collect::<Result<_, String>>()?;
        Ok(Manifest {
            program: self.program,
            run_id: RunId(run_id),
            simulated: self.simulated,
            started: EventTime(self.run.started_ns),
            lateness: Span(self.run.lateness_ns),
            anchor: Anchor {
                event_time: EventTime(self.anchor.event_time_ns),
                wall_offset_ns: self.anchor.wall_offset_ns,
            },
            layout: Layout { limits, ..layout },
            files: self.file.into_iter().map(|f| ConfigFile { role: f.role, path: f.path, text: f.text }).collect(),
            sensors: self.sensor.into_iter().map(SensorRow::into_state).collect(),
            captures: self
                .capture
                .into_iter()
                .map(|c| CaptureFile {
                    source: c.source,
                    path: c.path,
                    bytes: c.bytes,
                    sha256: c.sha256,
                    clock: c.clock,
                })
                .collect(),
            end: self.end.map(EndTable::into_end),
        })
    }
}

fn columns(rows: Vec<ColumnRow>, sources: &[SourceRow]) -> Result<Vec<Column>, String> {
    if rows.len() > usize::from(u16::MAX) || sources.len() > usize::from(u16::MAX) {
        return Err("has more columns or sources than there are ids".to_owned());
    }
    let column = |c: ColumnRow| {
        let origin = match &c.source {
            None => Origin::Derived,
            Some(name) => match sources.iter().position(|s| s.name == *name) {
                Some(i) => Origin::Channel(SourceId(i as u16)),
                None => return Err(format!("column {:?} is of source {name:?}, which is not there", c.name)),
            },
        };
        let ColumnRow { name, unit, ucum, provenance, with_uncertainty, about, .. } = c;
        Ok(Column { name, unit, ucum, origin, provenance, with_uncertainty, about })
    };
    rows.into_iter().map(column).collect()
}

impl EndTable {
    fn of(e: &End) -> EndTable {
        EndTable {
            how: match e.how {
                Ending::Complete => EndWord::Complete,
                Ending::Salvaged => EndWord::Salvaged,
            },
            ended: e.ended.to_string(),
            ended_ns: e.ended.0,
            entries: e.entries,
            samples: e.rows.samples,
            snapshots: e.rows.snapshots,
            events: e.rows.events,
            tables_complete: e.tables_complete,
            not_recorded: e.not_recorded.iter().map(NotRecordedRow::of).collect(),
            missing: e.missing.iter().map(|m| MissingRow { from: m.start, to: m.end.saturating_sub(1) }).collect(),
            source: e.sources.iter().map(SourceEndRow::of).collect(),
            cut: e.cuts.iter().map(CutRow::of).collect(),
            not_used: e.not_used.iter().map(|n| NotUsedRow { what: n.what.clone(), count: n.count }).collect(),
        }
    }

    fn into_end(self) -> End {
        End {
            how: match self.how {
                EndWord::Complete => Ending::Complete,
                EndWord::Salvaged => Ending::Salvaged,
            },
            ended: EventTime(self.ended_ns),
            entries: self.entries,
            rows: crate::tables::Rows { samples: self.samples, snapshots: self.snapshots, events: self.events },
            tables_complete: self.tables_complete,
            not_recorded: self
                .not_recorded
                .into_iter()
                .map(|n| NotRecorded { from: EventTime(n.from_ns), to: EventTime(n.to_ns), lost: n.lost })
                .collect(),
            missing: self.missing.into_iter().map(|m| m.from..m.to.saturating_add(1)).collect(),
            sources: self
                .source
                .into_iter()
                .map(|s| SourceEnd { name: s.name, records: s.records, lost: s.lost, faults: s.faults, late: s.late })
                .collect(),
            cuts: self.cut.into_iter().map(CutRow::into_cut).collect(),
            not_used: self.not_used.into_iter().map(|n| NotUsed { what: n.what, count: n.count }).collect(),
        }
    }
}

impl NotRecordedRow {
    fn of(n: &NotRecorded) -> NotRecordedRow {
        let (from, to) = (n.from.to_string(), n.to.to_string());
        NotRecordedRow { from, to, from_ns: n.from.0, to_ns: n.to.0, lost: n.lost }
    }
}

impl SourceEndRow {
    fn of(s: &SourceEnd) -> SourceEndRow {
        let SourceEnd { name, records, lost, faults, late } = s.clone();
        SourceEndRow { name, records, lost, faults, late }
    }
}

impl CutRow {
    pub(crate) fn of(c: &Cut) -> CutRow {
        let Cut { file, at, bytes, reason, kept } = c.clone();
        CutRow { file, at, bytes, reason, kept }
    }

    pub(crate) fn into_cut(self) -> Cut {
        let CutRow { file, at, bytes, reason, kept } = self;
        Cut { file, at, bytes, reason, kept }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_sources_than_ids_are_refused() {
        let source =
            |i: u32| SourceRow { name: i.to_string(), kind: String::new(), devices: Vec::new(), simulated: false };
        let mut sources: Vec<SourceRow> = (0..65_536).map(source).collect();
        let e = columns(Vec::new(), &sources).unwrap_err();
        assert_eq!(e, "has more columns or sources than there are ids");
        sources.pop();
        assert_eq!(columns(Vec::new(), &sources), Ok(Vec::new()));
    }
}
