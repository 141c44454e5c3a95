//! The sources of a run file.

use super::{CaptureFiles, LoadedSource, SourceSpec, Text, databases, instruments};
use crate::clock::ClockFix;
use crate::config::run::{DeviceTable, NOT_THE_PLUGINS, RunFile, SourceCommon};
use crate::config::wording;
use crate::files::{Files, beside};
use crate::problem::{Problem, Problems};
use crate::registry::{self, SourceKind};
use decode::can::CanDatabase;
use decode::{Decoder, DeviceFormat, Format};
use plugin_api::{
    CapturePlugin, CaptureSetup, Carries, ConfigError, DeviceSetup, Options, Query, SourcePlugin, SourceSetup,
};
use std::path::{Path, PathBuf};
use std::time::Duration;
use stream::{SourceId, Span};
use toml::Spanned;

/// A queue holds ten seconds at the planned rate, and never fewer than this.
const SHORTEST_QUEUE: usize = 1000;
/// Records a second planned for where the run file says nothing. A frame of 8 data bytes takes 111 bits before bits are
/// stuffed, the space between frames included (11-bit identifier; ISO 11898-1, from memory): a full bus of 1 Mbit/s
/// carries at most 9009 of them a second. Shorter ones alone, and CAN FD with a fast data phase, can be more.
fn usual_rate(carries: Carries) -> u32 {
    match carries {
        Carries::CanFrames => 12_000,
        Carries::DeviceMessages | Carries::Rows | Carries::Recorded => 2000,
    }
}

/// The unit id of a Modbus TCP device that is no gateway. Source: MODBUS Messaging on TCP/IP V1.0b, 4.4.2 (from
/// memory).
const DEVICE_ITSELF: u8 = 255;

fn queries(requests: Vec<[u8; 8]>) -> Vec<Query> {
    requests.into_iter().map(|r| Query { bytes: r.to_vec(), period: None }).collect()
}

pub(super) struct Context<'a> {
    files: &'a Files,
    run_path: &'a Path,
    pub(super) text: &'a Text,
    captures: &'a CaptureFiles,
    /// Whether the run has a channel map.
    has_channels: bool,
}

/// The sources of a run, and the names of those that did not load and have told why.
#[allow(clippy::too_many_arguments)]
pub(crate) fn load(
    files: &Files,
    run_path: &Path,
    text: &Text,
    run: &RunFile,
    captures: &CaptureFiles,
    notes: &mut Vec<String>,
    bad: &mut Problems,
) -> (Vec<LoadedSource>, Vec<String>) {
    let c = Context { files, run_path, text, captures, has_channels: !run.run.channels.is_empty() };
    if run.source.is_empty() {
        bad.0.push(text.problem(&run.run.name, "the run has no [[source]]", "name at least one"));
    }
    let (mut all, mut failed): (Vec<LoadedSource>, Vec<String>) = (Vec::new(), Vec::new());
    for (i, s) in run.source.iter().enumerate() {
        let name = s.get_ref().name.get_ref();
        if all.iter().any(|o| o.name == *name) {
            let message = format!("two sources are called {name:?}");
            bad.0.push(text.problem(&s.get_ref().name, message, "give one of them another name"));
        }
        if name.is_empty() || name.contains('/') {
            let message = format!("{name:?} cannot be a source's name");
            bad.0.push(text.problem(&s.get_ref().name, message, "use a word without /"));
        }
        match c.source(i, s, notes, bad) {
            Some(source) => all.push(source),
            None => failed.push(name.clone()),
        }
    }
    one_source_a_port(text, run, &all, bad);
    let live = all.iter().filter(|s| matches!(s.spec, SourceSpec::Live { .. }));
    let live: Vec<&str> = live.map(|s| s.name.as_str()).collect();
    if !live.is_empty() && live.len() < all.len() {
        let (message, help) = if captures.by_source.is_empty() {
            (
                "live sources and captures cannot be mixed in one run".to_owned(),
                "write one run file to record and one to replay",
            )
        } else {
            let help = "name a capture for each, or write a run file without them";
            (format!("no capture was named for {}", live.join(", ")), help)
        };
        bad.0.push(text.problem(&run.run.name, message, help));
    }
    (all, failed)
}

/// Two sources on one port, be it under two names, would take each other's bytes.
fn one_source_a_port(text: &Text, run: &RunFile, all: &[LoadedSource], bad: &mut Problems) {
    #[derive(serde::Deserialize)]
    struct Port {
        port: Option<String>,
    }
    let mut taken: Vec<(PathBuf, &str)> = Vec::new();
    for s in all {
        let SourceSpec::Live { setup, .. } = &s.spec else { continue };
        let Some(port) = setup.options.read::<Port>().ok().and_then(|p| p.port) else { continue };
        let path = std::fs::canonicalize(&port).unwrap_or_else(|_| PathBuf::from(&port));
        if let Some((_, other)) = taken.iter().find(|(p, _)| *p == path) {
            let message = format!("source {:?} has the port of source {other:?}: {port}", s.name);
            let span = setup.options.span_of("port").or_else(|| Some(run.run.name.span()));
            let help = "one source a port; several devices on a line are several [[source.device]]";
            bad.0.push(Problem::at(&text.name, &text.text, span, message, help));
        }
        taken.push((path, &s.name));
    }
}

impl Context<'_> {
    fn source(
        &self,
        i: usize,
        at: &Spanned<SourceCommon>,
        notes: &mut Vec<String>,
        bad: &mut Problems,
    ) -> Option<LoadedSource> {
        let s = at.get_ref();
        let Some(kind) = registry::source_kind(s.kind.get_ref()) else {
            let help = format!("one of: {}", registry::source_kinds().join(", "));
            bad.0.push(self.text.problem(&s.kind, format!("kind {:?} is not known", s.kind.get_ref()), help));
            return None;
        };
        // A replay's file may carry what a live source recorded: frames of a bus replay through its run file.
        let files = self.capture_files(s, bad);
        let kind = match kind {
            SourceKind::Live(p) if !files.is_empty() => match stand_in(p.carries) {
                Some(capture) => SourceKind::Capture(capture),
                None => kind,
            },
            k => k,
        };
        let id = SourceId(i as u16);
        let options = Options::of_table(self.text.text.clone(), "source", i, NOT_THE_PLUGINS);
        let name = s.name.get_ref().clone();
        let (mut unit_places, mut simulated) = (Vec::new(), false);
        let (devices, decoder, spec) = match kind {
            SourceKind::Live(plugin) => {
                let (setups, formats) = self.devices(s, plugin.carries, bad)?;
                if let Some(c) = &s.clock {
                    let message = "clock is for captures; a live source is stamped by this program's own clock";
                    bad.0.push(self.text.problem(c, message, "leave clock out"));
                }
                let decoder = self.decoder(at, plugin.carries, formats, notes, bad);
                let names = setups.iter().map(|d| d.name.clone()).collect();
                let setup = SourceSetup { id, name: name.clone(), options, devices: setups };
                self.try_build(at, plugin, &setup, bad);
                notes.extend(databases::filter_note(&name, &setup.options));
                let queue =
                    (s.rate.unwrap_or(usual_rate(plugin.carries)) as usize).saturating_mul(10).max(SHORTEST_QUEUE);
                (names, decoder, SourceSpec::Live { plugin, setup, queue })
            }
            SourceKind::Capture(plugin) => {
                let live = matches!(registry::source_kind(s.kind.get_ref()), Some(SourceKind::Live(_)));
                let options = if live { only_interface(&options) } else { options };
                let setup = CaptureSetup { id, name: name.clone(), options, files };
                let clock = s.clock.as_ref().and_then(|c| ClockFix::read(self.text, c.get_ref(), bad));
                let mut devices = Vec::new();
                let decoder = match plugin.carries {
                    Carries::Rows => self.table(at, &setup, &mut unit_places, bad),
                    Carries::Recorded => self.recorded(at, &setup, (&mut devices, &mut simulated), notes, bad),
                    carries => self.decoder(at, carries, Vec::new(), notes, bad),
                };
                (devices, decoder, SourceSpec::Capture { plugin, setup, clock })
            }
        };
        let (kind, simulated) = (s.kind.get_ref().clone(), s.simulated || simulated);
        Some(LoadedSource { name, kind, devices, simulated, decoder, unit_places, spec })
    }

    fn capture_files(&self, s: &SourceCommon, bad: &mut Problems) -> Vec<PathBuf> {
        if let Some((_, files)) = self.captures.by_source.iter().find(|(n, _)| n == s.name.get_ref()) {
            return files.clone();
        }
        match &s.path {
            Some(p) if !matches!(registry::source_kind(s.kind.get_ref()), Some(SourceKind::Live(_))) => {
                vec![beside(self.run_path, p.get_ref())]
            }
            Some(p) => {
                let message = "path is for captures; a live source has a port or an interface";
                bad.0.push(self.text.problem(p, message, "leave path out"));
                Vec::new()
            }
            None => Vec::new(),
        }
    }

    fn devices(
        &self,
        s: &SourceCommon,
        carries: Carries,
        bad: &mut Problems,
    ) -> Option<(Vec<DeviceSetup>, Vec<DeviceFormat>)> {
        if carries != Carries::DeviceMessages {
            for d in &s.device {
                let message = format!("a {} source has no devices", s.kind.get_ref());
                bad.0.push(self.text.problem(&d.name, message, "leave [[source.device]] out"));
            }
            return Some((Vec::new(), Vec::new()));
        }
        if s.device.is_empty() {
            let message = format!("source {:?} has no [[source.device]]", s.name.get_ref());
            bad.0.push(self.text.problem(&s.name, message, "name the instrument on the line"));
            return None;
        }
        let all: Vec<_> = s.device.iter().map(|d| self.device(d, s.kind.get_ref(), bad)).collect();
        all.into_iter().collect::<Option<Vec<_>>>().map(|v| v.into_iter().unzip())
    }

    fn device(&self, d: &DeviceTable, kind: &str, bad: &mut Problems) -> Option<(DeviceSetup, DeviceFormat)> {
        let path = beside(self.run_path, d.instrument.get_ref());
        if let Err(p) = self.files.text(&path) {
            bad.0.push(self.text.problem(&d.instrument, p.message, p.help));
            return None;
        }
        let instrument = bad.take(instruments::load(self.files, &path))?;
        let queries = match &instrument.format {
            Format::Modbus(map) if kind == source_net::PLUGIN.kind => {
                let unit = d.address.as_ref().map_or(DEVICE_ITSELF, |a| *a.get_ref());
                queries(map.requests_to_any_unit(unit).unwrap_or_default())
            }
            Format::Modbus(map) => self.requests(d, map, bad)?,
            Format::Text(_) | Format::Binary(_) => instrument.queries,
        };
        let mut time = |t: Option<&Spanned<String>>, default| {
            Duration::from_nanos(self.text.duration(t, Span::from_millis(default), bad).0.unsigned_abs())
        };
        let setup = DeviceSetup {
            name: d.name.get_ref().clone(),
            framing: instrument.framing,
            queries,
            period: time(d.period.as_ref(), 1000),
            time_out: time(d.time_out.as_ref(), 300),
            worst_answer: time(d.worst_answer.as_ref(), 1000),
        };
        Some((setup, DeviceFormat { name: d.name.get_ref().clone(), format: instrument.format }))
    }

    fn requests(&self, d: &DeviceTable, map: &decode::modbus::ModbusMap, bad: &mut Problems) -> Option<Vec<Query>> {
        let Some(address) = &d.address else {
            let message = format!("device {:?} speaks Modbus and has no address", d.name.get_ref());
            bad.0.push(self.text.problem(&d.name, message, "write address = 1 (1 to 247)"));
            return None;
        };
        match map.requests(*address.get_ref()) {
            Ok(r) => Some(queries(r)),
            Err(e) => {
                bad.0.push(self.text.problem(address, e.to_string(), ""));
                None
            }
        }
    }

    fn decoder(
        &self,
        at: &Spanned<SourceCommon>,
        carries: Carries,
        devices: Vec<DeviceFormat>,
        notes: &mut Vec<String>,
        bad: &mut Problems,
    ) -> Option<Decoder> {
        let s = at.get_ref();
        if carries != Carries::CanFrames {
            self.no_databases(s, bad);
        }
        let made = match carries {
            Carries::CanFrames => Decoder::can(self.database(s, notes, bad)?),
            _ => Decoder::devices(devices),
        };
        made.map_err(|e| bad.0.push(self.text.problem(&s.name, e.to_string(), ""))).ok()
    }

    pub(super) fn no_databases(&self, s: &SourceCommon, bad: &mut Problems) {
        if let Some(first) = s.databases.first() {
            let message = format!("a {} source has no CAN databases", s.kind.get_ref());
            bad.0.push(self.text.problem(first, message, "leave databases out"));
        }
    }

    pub(super) fn database(
        &self,
        s: &SourceCommon,
        notes: &mut Vec<String>,
        bad: &mut Problems,
    ) -> Option<CanDatabase> {
        let Context { files, run_path, text, has_channels, .. } = *self;
        if s.databases.is_empty() && !has_channels {
            notes.push(format!("nothing is known of the frames of {}: no database, no channels", s.name.get_ref()));
            let nothing = CanDatabase::load_all(&[]);
            return nothing.map_err(|e| bad.0.push(text.problem(&s.name, e.to_string(), ""))).ok();
        }
        databases::load(files, run_path, text, &s.name, &s.databases, notes, bad)
    }

    /// Builds the source once, so that its options are checked with everything else.
    fn try_build(
        &self,
        at: &Spanned<SourceCommon>,
        plugin: &'static SourcePlugin,
        setup: &SourceSetup,
        bad: &mut Problems,
    ) {
        if let Err(e) = (plugin.build)(setup) {
            bad.0.push(self.option(e, at.span()));
        }
    }

    /// What a plugin says about its options, in the run file.
    pub(super) fn option(&self, e: ConfigError, table: std::ops::Range<usize>) -> Problem {
        let (message, help) = wording::plain(&e.message);
        let help = if e.help.is_empty() { help } else { e.help };
        Problem::at(&self.text.name, &self.text.text, Some(e.span.unwrap_or(table)), message, help)
    }
}

/// The capture that holds what a live source carries.
fn stand_in(carries: Carries) -> Option<&'static CapturePlugin> {
    registry::CAPTURES.iter().copied().find(|c| c.carries == carries)
}

/// Of a live source's options, those that a capture of it has too: which interface.
fn only_interface(options: &Options) -> Options {
    #[derive(serde::Deserialize)]
    struct Interface {
        interface: Option<String>,
    }
    let interface = options.read::<Interface>().ok().and_then(|i| i.interface).filter(|i| !i.contains(':'));
    Options::from_text(&interface.map_or_else(String::new, |i| format!("interface = {i:?}")))
}
