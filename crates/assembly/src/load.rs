//! Configuration -> plan. Everything is read, looked up and checked; all problems are told, not only the first.

mod accuracy;
mod channel_map;
mod conversions;
mod databases;
mod instruments;
pub(crate) mod limit_list;
pub(crate) mod pack_file;
mod register;
mod run_captures;
mod run_sources;

use crate::clock::ClockFix;
use crate::config::run::{RunFile, RunTable};
use crate::config::{self, text};
use crate::files::{Files, beside};
use crate::nearest;
use crate::problem::{Problem, Problems};
use crate::sensors::Sensor;
use decode::Decoder;
use pack::PlannedDerived;
use pipeline::{Plan, SourcePlan};
use plugin_api::{CapturePlugin, CaptureSetup, SourcePlugin, SourceSetup};
use recording::manifest::ConfigFile;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Column, Layout, LimitInfo, Origin, SourceInfo, Span};
use toml::Spanned;
use units::Quantity;

/// A run, ready.
pub struct Assembled {
    /// What is evaluated.
    pub plan: Arc<Plan>,
    /// The sources, in the order of their ids.
    pub sources: Vec<SourceSpec>,
    /// The folder recordings are made in.
    pub recordings: PathBuf,
    /// How long the run is planned to be.
    pub length: Option<Span>,
    /// Where metrics are served.
    pub metrics: Option<SocketAddr>,
    /// Every file read, for the manifest.
    pub files: Vec<ConfigFile>,
    /// The sensors that the channels name.
    pub sensors: Vec<Sensor>,
    /// What a person should know and is no error: derived quantities that are not there, signals without a unit.
    pub notes: Vec<String>,
}

/// One source, ready to be made.
#[derive(Clone)]
pub enum SourceSpec {
    /// Live.
    Live {
        /// Its plugin.
        plugin: &'static SourcePlugin,
        /// What it is made from.
        setup: SourceSetup,
        /// Messages its queue holds.
        queue: usize,
    },
    /// From files.
    Capture {
        /// Its plugin.
        plugin: &'static CapturePlugin,
        /// What it is made from.
        setup: CaptureSetup,
        /// What is done to its times.
        clock: Option<ClockFix>,
    },
}

/// Files for captures that were named elsewhere than in the run file.
#[derive(Clone, Debug, Default)]
pub struct CaptureFiles {
    /// By source name.
    pub by_source: Vec<(String, Vec<PathBuf>)>,
}

impl CaptureFiles {
    /// The files that a recording was replayed from, by the source that each was read for.
    pub fn of(manifest: &recording::Manifest) -> CaptureFiles {
        let mut by_source: Vec<(String, Vec<PathBuf>)> = Vec::new();
        for c in &manifest.captures {
            match by_source.iter_mut().find(|(s, _)| *s == c.source) {
                Some((_, files)) => files.push(PathBuf::from(&c.path)),
                None => by_source.push((c.source.clone(), vec![PathBuf::from(&c.path)])),
            }
        }
        CaptureFiles { by_source }
    }
}

/// One source while the rest is being looked up.
pub(crate) struct LoadedSource {
    pub(crate) name: String,
    pub(crate) kind: String,
    pub(crate) devices: Vec<String>,
    pub(crate) simulated: bool,
    pub(crate) decoder: Option<Decoder>,
    /// Where the file states the unit of each reading, for what contradicts it.
    pub(crate) unit_places: Vec<Option<String>>,
    pub(crate) spec: SourceSpec,
}

/// A text being read: its name and itself, for messages that point at a place in it.
#[derive(Clone)]
pub(crate) struct Text {
    pub(crate) name: String,
    pub(crate) text: Arc<str>,
}

impl Text {
    pub(crate) fn open(files: &Files, path: &Path) -> Result<Text, Problem> {
        Ok(Text { name: crate::files::key(path), text: files.text(path)? })
    }

    pub(crate) fn problem<T>(&self, at: &Spanned<T>, message: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem::at(&self.name, &self.text, Some(at.span()), message, help)
    }

    /// A duration, or the default where nothing is written.
    pub(crate) fn duration(&self, t: Option<&Spanned<String>>, default: Span, bad: &mut Problems) -> Span {
        let Some(t) = t else { return default };
        text::duration(t.get_ref()).unwrap_or_else(|e| {
            bad.0.push(self.problem(t, e, ""));
            default
        })
    }
}

/// Reads a run file and everything it names.
///
/// # Errors
/// Every problem found.
pub fn load(files: &Files, run_path: &Path, captures: &CaptureFiles) -> Result<Assembled, Problems> {
    let text = Text::open(files, run_path)?;
    let run: RunFile = config::read(&text.name, &text.text)?;
    let mut bad = Problems::default();
    check_name(&text, &run.run.name, &mut bad);
    let grid = text.duration(run.run.grid.as_ref(), Span::from_millis(100), &mut bad);
    let lateness = text.duration(run.run.lateness.as_ref(), Span::from_millis(250), &mut bad);
    check_times(&text, &run.run, grid, lateness, &mut bad);
    let length = run.run.length.as_ref().map(|l| text.duration(Some(l), Span::ZERO, &mut bad));
    let metrics = run.metrics.as_ref().and_then(|m| address(&text, &m.address, &mut bad));
    let mut notes = Vec::new();
    let (mut sources, failed) = run_sources::load(files, run_path, &text, &run, captures, &mut notes, &mut bad);
    let from = channel_map::Sources { loaded: &sources, failed: &failed };
    let mut register = register::load(files, run_path, &text, &run.run, &mut bad);
    let paths = &run.run.channels;
    let map = channel_map::load(files, run_path, &text, paths, &from, &mut register, &mut notes, &mut bad);
    databases::declare(&map.declared, &mut sources, &mut bad);
    let channels = map.mapped;
    let names: Vec<&str> = channels.iter().map(|c| c.plan.channel.spec().name.as_str()).collect();
    let arrangement = run.run.pack.as_ref().map(|p| bad.take(pack_file::load(files, run_path, &text, p)));
    // Columns that may be meant where a name is not found, and whose problems have been told.
    let told = limit_list::Told { names: map.names, everything: !map.all_read || matches!(arrangement, Some(None)) };
    let added: Vec<Option<usize>> = channels.iter().map(|c| c.plan.channel.added().map(|b| usize::from(b.0))).collect();
    let arrangement = arrangement.flatten();
    let orders = arrangement.as_ref().map(|a| pack::orders(a, &names)).unwrap_or_default();
    let facts: Vec<pack::Fact> = channels.iter().map(|c| channel_map::fact(c.plan.channel.spec().probe)).collect();
    let plan = |a: pack::Arrangement| pack::plan(&a, &names, &added, &facts);
    let pack = arrangement.map_or_else(|| pack::plan_nothing(names.len()), plan);
    let mut columns: Vec<Column> = channels.iter().map(channel_map::column).collect();
    notes.extend(pack.absent.iter().map(|a| format!("{} is missing: {}", a.name, a.missing.join(", "))));
    notes.extend(names_of_places(&names));
    for d in &pack.derived {
        let with_uncertainty = d.support.iter().all(|c| channels[*c].plan.channel.spec().uncertainty.is_some());
        let column = Column { with_uncertainty, ..derived_column(d, &columns) };
        columns.push(column);
    }
    let quantities: Vec<Quantity> = channels.iter().map(|c| c.plan.channel.spec().quantity).collect();
    let known = limit_list::Known { told: &told, columns: &columns, channels: &quantities, pack: &pack };
    let limits = limit_list::load(files, run_path, &text, &run.run.limits, &known, &mut notes, &mut bad);
    bad.none()?;
    let layout = Layout {
        run: run.run.name.get_ref().clone(),
        grid,
        sources: sources.iter().map(source_info).collect(),
        columns,
        limits: limits.iter().map(limit_info).collect(),
    };
    let folder = run.run.recordings.as_ref().map_or_else(|| PathBuf::from("recordings"), |r| beside(run_path, r));
    let (mut specs, mut source_plans) = (Vec::new(), Vec::new());
    for (i, s) in sources.into_iter().enumerate() {
        specs.push(s.spec);
        let Some(decoder) = s.decoder else { continue };
        let targets = channel_map::targets(i, decoder.readings().len(), &channels);
        source_plans.push(SourcePlan { decoder, targets });
    }
    let channels = channels.into_iter().map(|c| c.plan).collect();
    let pack = Arc::new(pack);
    let plan = Plan { layout: Arc::new(layout), lateness, sources: source_plans, channels, pack, orders, limits };
    Ok(Assembled {
        plan: Arc::new(plan),
        sources: specs,
        recordings: folder,
        length,
        metrics,
        files: stored(files, run_path),
        sensors: register.named(),
        notes,
    })
}

/// Channels that look like a place's and are none, and those that stand for what a formula would give.
fn names_of_places(names: &[&str]) -> Vec<String> {
    let scope = |d: &pack::Derived| d.scope != pack::derived::Scope::Place;
    let mut notes = Vec::new();
    for name in names {
        let plain = name.split_once('.').filter(|(p, _)| pack::place::is_pack_prefix(p)).map_or(*name, |(_, n)| n);
        if pack::DERIVED.iter().any(|d| scope(d) && pack::derived::at(d, plain).is_some()) {
            notes.push(format!("{name} is measured: the formula of that name is not used"));
        } else if let Some(meant) = meant_place(plain) {
            notes.push(format!("no formula knows {name}; did you mean {meant}?"));
        }
    }
    notes
}

/// The channel of the vocabulary that a name with one slip in it may stand for.
fn meant_place(name: &str) -> Option<String> {
    let (place, quantity) = name.rsplit_once('.')?;
    let places = || pack::PLACES.iter().map(|p| p.name);
    let words = || units::quantity::WORDS.iter().map(|(w, _)| *w);
    match (places().any(|p| p == place), words().any(|w| w == quantity)) {
        (true, false) => nearest::meant(quantity, words()).map(|w| format!("{place}.{w}")),
        (false, true) if pack::place::parse(name).is_none() => {
            nearest::meant(place, places()).map(|p| format!("{p}.{quantity}"))
        }
        _ => None,
    }
}

/// The column of a derived quantity behind the columns it may be computed from.
fn derived_column(d: &PlannedDerived, before: &[Column]) -> Column {
    let q = d.derived.quantity;
    let inputs: Vec<&str> = d.inputs.iter().filter_map(|i| before.get(*i)).map(|c| c.name.as_str()).collect();
    let about = if inputs.is_empty() { Vec::new() } else { vec![("inputs".to_owned(), inputs.join(", "))] };
    Column {
        name: d.name.clone(),
        unit: q.si_symbol().to_owned(),
        ucum: q.si_ucum().to_owned(),
        origin: Origin::Derived,
        provenance: d.provenance.clone(),
        with_uncertainty: false,
        about,
    }
}

fn check_name(text: &Text, name: &Spanned<String>, bad: &mut Problems) {
    let n = name.get_ref();
    if n.is_empty() || n.len() > 60 || !n.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_') {
        bad.0.push(text.problem(
            name,
            format!("the run's name {n:?} becomes part of a folder name"),
            "use up to 60 letters, digits, - and _",
        ));
    }
}

/// Grid and lateness as the core can keep them: it holds a bounded number of open snapshots, and a run without entries
/// for longer than its longest pause has none.
fn check_times(text: &Text, run: &RunTable, grid: Span, lateness: Span, bad: &mut Problems) {
    let (finest, coarsest) = (Span::from_millis(1), Span::from_secs(10));
    if !(finest..=coarsest).contains(&grid) {
        let at = run.grid.as_ref().unwrap_or(&run.name);
        bad.0.push(text.problem(at, "the grid must be 1ms to 10s", "write grid = \"100ms\""));
        return;
    }
    let most = (grid.0 * (pipeline::align::MOST_OPEN / 2)).min(pipeline::core::LONGEST_PAUSE.0);
    if lateness <= Span::ZERO || lateness.0 > most {
        let at = run.lateness.as_ref().unwrap_or(&run.name);
        let message = format!("with this grid the lateness must be above 0 and at most {} s", Span(most).as_secs_f64());
        bad.0.push(text.problem(at, message, "write the longest way of a message into the program: 250ms"));
    }
}

fn address(text: &Text, at: &Spanned<String>, bad: &mut Problems) -> Option<SocketAddr> {
    match at.get_ref().parse::<SocketAddr>() {
        Ok(a) if a.ip().is_loopback() => Some(a),
        Ok(a) => {
            let message = format!("{a} is not an address of this machine alone; metrics carry no password");
            bad.0.push(text.problem(at, message, "write 127.0.0.1:9773, and let a proxy of yours decide who reads"));
            None
        }
        Err(_) => {
            let message = format!("{:?} is not an address with a port", at.get_ref());
            bad.0.push(text.problem(at, message, "write 127.0.0.1:9773"));
            None
        }
    }
}

/// One of the words that a key may have.
pub(crate) fn word<T: Copy>(
    text: &Text,
    at: &Spanned<String>,
    words: &[(T, &str)],
    what: &str,
    bad: &mut Problems,
) -> Option<T> {
    let found = words.iter().find(|(_, w)| w == at.get_ref()).map(|(t, _)| *t);
    if found.is_none() {
        let known: Vec<&str> = words.iter().map(|(_, w)| *w).collect();
        let message = format!("{:?} is no {what}", at.get_ref());
        bad.0.push(text.problem(at, message, format!("one of: {}", known.join(", "))));
    }
    found
}

fn source_info(s: &LoadedSource) -> SourceInfo {
    SourceInfo { name: s.name.clone(), kind: s.kind.clone(), devices: s.devices.clone(), simulated: s.simulated }
}

fn limit_info(l: &limits::Limit) -> LimitInfo {
    let spec = l.spec();
    let entered = if spec.entered.is_empty() { String::new() } else { format!("; entered by {}", spec.entered) };
    LimitInfo { name: spec.name.clone(), column: spec.column, source: format!("{}{entered}", spec.source()) }
}

/// The run file first, then everything else that was read.
fn stored(files: &Files, run_path: &Path) -> Vec<ConfigFile> {
    let run = crate::files::key(run_path);
    let mut all: Vec<ConfigFile> = files
        .all_read()
        .into_iter()
        .map(|(path, text)| {
            let role = if path == run { "run" } else { "part" };
            ConfigFile { role: role.to_owned(), path, text: text.to_string() }
        })
        .collect();
    all.sort_by_key(|f| f.role != "run");
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_in_a_places_name_is_seen_and_other_names_are_left_alone() {
        let meant = |name| meant_place(name).unwrap_or_default();
        assert_eq!(meant("extractor_out.dewpoint"), "extractor_out.dew_point");
        assert_eq!(meant("turbine_out.temperature"), "turbine1_out.temperature");
        for own in ["meter.temperature", "acm.bearing_temperature", "pack_in.temperature", "zone.fwd.duct.temperature"]
        {
            assert_eq!(meant(own), "", "{own}");
        }
        let notes = names_of_places(&["left.fan.power", "left.pack_in.flow", "discharge.dewpoint"]);
        assert_eq!(notes.len(), 2, "{notes:?}");
    }
}
