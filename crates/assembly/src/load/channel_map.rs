//! Channel maps -> channels.

mod beside;
pub(in crate::load) use beside::fact;

use super::conversions::{self, Around};
use super::databases::Declared;
use super::register::{self, Chain, Register};
use super::{LoadedSource, Text, accuracy};
use crate::config::channels::{ChannelTable, ChannelsFile};
use crate::config::{self, text};
use crate::files::Files;
use crate::nearest;
use crate::problem::{Problem, Problems};
use channels::{Barometer, Channel, ChannelSpec, Convert, Reference, Uncertainty};
use pipeline::ChannelPlan;
use sensors::{Conversion, PairConversion};
use std::path::Path;
use stream::{ChannelId, Column, Origin, SourceId, Span};
use toml::Spanned;
use units::{AbsolutePressure, Quantity, Unit};

/// A channel with where it comes from.
pub(crate) struct Mapped {
    pub(crate) plan: ChannelPlan,
    pub(crate) from: String,
    about: Vec<(String, String)>,
    source: usize,
    reading: usize,
}

/// One line of a map, its file and its place there.
pub(super) struct Line {
    pub(super) text: Text,
    pub(super) name: Spanned<String>,
    pub(super) table: ChannelTable,
}

/// The sources that channels come from.
pub(crate) struct Sources<'a> {
    pub(crate) loaded: &'a [LoadedSource],
    /// Those that did not load: they have told why, and what comes from them is not told again.
    pub(crate) failed: &'a [String],
}

/// The channels of a run.
pub(crate) struct Channels {
    pub(crate) mapped: Vec<Mapped>,
    /// What the maps say of raw values that are no number.
    pub(crate) declared: Vec<Declared>,
    /// Every name in the maps, also of channels with problems.
    pub(crate) names: Vec<String>,
    /// Whether every map could be read.
    pub(crate) all_read: bool,
}

#[allow(clippy::too_many_arguments)]
pub(crate) fn load(
    files: &Files,
    run_path: &Path,
    run: &Text,
    paths: &[Spanned<String>],
    sources: &Sources<'_>,
    register: &mut Register,
    notes: &mut Vec<String>,
    bad: &mut Problems,
) -> Channels {
    let mut lines: Vec<Line> = Vec::new();
    let mut all_read = true;
    for p in paths {
        match Text::open(files, &crate::files::beside(run_path, p.get_ref())) {
            Err(e) => {
                all_read = false;
                bad.0.push(run.problem(p, e.message, e.help));
            }
            Ok(text) => {
                let file = bad.take(config::read::<ChannelsFile>(&text.name, &text.text).map_err(Problems::from));
                all_read &= file.is_some();
                for (name, table) in file.map(|f| f.channel.0).unwrap_or_default() {
                    if lines.iter().any(|l| l.name.get_ref() == name.get_ref()) {
                        let message = format!("two channels are called {:?}", name.get_ref());
                        bad.0.push(text.problem(&name, message, "give one of them another name"));
                    }
                    lines.push(Line { text: text.clone(), name, table });
                }
            }
        }
    }
    let names: Vec<String> = lines.iter().map(|l| l.name.get_ref().clone()).collect();
    let declared = lines.iter().filter_map(|l| declared(l, sources)).collect();
    let mapped: Vec<Mapped> = lines.iter().filter_map(|l| channel(l, &names, sources, register, notes, bad)).collect();
    if mapped.len() == lines.len() {
        let all: Vec<Channel> = mapped.iter().map(|m| m.plan.channel.clone()).collect();
        for e in channels::check_map(&all) {
            let message = e.to_string();
            // The channel named first is the one the problem is with.
            let named = |l: &&Line| message.find(&format!("'{}'", l.name.get_ref()));
            let at = lines.iter().filter(|l| named(l).is_some()).min_by_key(named);
            bad.0.push(match at {
                Some(l) => l.text.problem(&l.name, message, ""),
                None => Problem::bare(message, ""),
            });
        }
        for (l, m) in lines.iter().zip(&mapped) {
            one_source(l, m, &mapped, bad);
        }
    }
    Channels { mapped, declared, names, all_read }
}

/// Both halves of a ratiometric position must be of one time, so they come from one source.
fn one_source(l: &Line, m: &Mapped, all: &[Mapped], bad: &mut Problems) {
    let Convert::Pair(pair) = &m.plan.channel.spec().conversion else { return };
    let other = all.get(usize::from(pair.with.0)).filter(|o| o.source != m.source);
    if let (PairConversion::Ratiometric(_), Some(other)) = (&pair.conversion, other) {
        let message = format!("it comes from {}, its other half from {}", m.from, other.from);
        let help = "a position needs both readings of one time: take them from one source";
        bad.0.push(l.text.problem(&l.table.from, message, help));
    }
}

fn channel(
    l: &Line,
    names: &[String],
    sources: &Sources<'_>,
    register: &mut Register,
    notes: &mut Vec<String>,
    bad: &mut Problems,
) -> Option<Mapped> {
    let before = bad.0.len();
    let t = &l.table;
    let place = find_reading(l, sources, bad);
    let unit = units::find(t.unit.get_ref()).map_err(|e| bad.0.push(l.text.problem(&t.unit, e.to_string(), ""))).ok();
    if let (Some((source, reading, _)), Some(unit)) = (place, unit) {
        check_unit(l, sources.loaded, source, reading, unit, notes, bad);
    }
    let quantity = quantity(l, unit, bad);
    let reference = reference(l, names, bad);
    let position = unit.filter(|_| l.name.get_ref().ends_with(".position"));
    let stated = place.and_then(|(s, r, _)| stated(sources.loaded, s, r)).and_then(|u| units::find(&u).ok());
    let around = Around { text: &l.text, names, stated, position };
    let made = match &t.conversion {
        Some(c) => conversions::conversion(&around, c, bad),
        None => Some((Conversion::IDENTITY.into(), 1.0)),
    };
    let range = two(l, t.range.as_ref(), "a range", "the lowest and the highest plausible value: [-60, 300]", bad);
    let rail = two(l, t.rail.as_ref(), "rail", "both ends of the raw number: [-270, 1372], or inf for none", bad);
    let frozen_after = t.frozen.as_ref().map(|f| l.text.duration(Some(f), Span::ZERO, bad));
    let probe = beside::probe(l, bad);
    let chain = quantity.zip(unit).map(|(quantity, unit)| chain(l, quantity, unit, register, bad));
    let stale_after = l.text.duration(t.stale.as_ref(), Span::from_secs(2), bad);
    if bad.0.len() > before {
        return None;
    }
    let (chain, (conversion, raw_scale)) = (chain?, made?);
    let correlation = t.correlation.as_ref().map(|c| c.get_ref().clone());
    let uncertainty = Uncertainty { parts: chain.parts.clone(), correlation };
    let spec = ChannelSpec {
        raw_scale,
        conversion,
        correction: chain.correction.clone(),
        reference,
        rail,
        range,
        rate: t.rate.as_ref().map(|r| *r.get_ref()),
        stale_after,
        frozen_after,
        uncertainty: (!uncertainty.parts.is_empty()).then_some(uncertainty),
        calibration: chain.calibration,
        probe,
        ..ChannelSpec::new(l.name.get_ref(), quantity?, unit?)
    };
    let (source, reading, device) = place?;
    let about = beside::about(l, names, &spec, &chain);
    match Channel::new(spec) {
        Ok(channel) => {
            let (plan, from) = (ChannelPlan { channel, device }, t.from.get_ref().clone());
            Some(Mapped { plan, from, about, source, reading })
        }
        Err(e) => {
            bad.0.push(l.text.problem(&l.name, e.to_string(), ""));
            None
        }
    }
}

/// What a line says of raw values that are no number; nothing where `from` names no reading, which is told elsewhere.
fn declared(l: &Line, sources: &Sources<'_>) -> Option<Declared> {
    let at = l.table.nothing.clone()?;
    let (source, reading, _) = find_reading(l, sources, &mut Problems::default())?;
    Some(Declared { text: l.text.clone(), at, source, reading })
}

/// What the channel's sensors say, and its own uncertainty before theirs.
fn chain(l: &Line, quantity: Quantity, unit: &'static Unit, register: &mut Register, bad: &mut Problems) -> Chain {
    let line = register::Line { text: &l.text, channel: l.name.get_ref(), table: &l.table, quantity, unit };
    let mut chain = register.chain(&line, bad);
    if let Some(u) = &l.table.uncertainty {
        chain.parts.splice(0..0, accuracy::parts(&l.text, u, quantity, unit, bad));
    }
    chain
}

/// Source, reading and device that `from` names.
fn find_reading(l: &Line, sources: &Sources<'_>, bad: &mut Problems) -> Option<(usize, usize, Option<u16>)> {
    let Sources { loaded, failed } = sources;
    let from = &l.table.from;
    let (source, reading) = from.get_ref().split_once('/').unwrap_or((from.get_ref(), ""));
    let Some(s) = loaded.iter().position(|s| s.name == source) else {
        if !failed.iter().any(|f| f == source) {
            let known = loaded.iter().map(|s| s.name.as_str()).chain(failed.iter().map(String::as_str));
            let help = format!("the run's sources are: {}", nearest::list(source, known));
            bad.0.push(l.text.problem(from, format!("there is no source {source:?}"), help));
        }
        return None;
    };
    // A source that did not load has told its own problem.
    let decoder = loaded[s].decoder.as_ref()?;
    let readings = decoder.readings();
    if let Some(why) = decoder.refusal(reading) {
        bad.0.push(l.text.problem(from, format!("{reading:?} cannot be mapped: {why}"), "correct the database"));
        return None;
    }
    let Some(r) = readings.iter().position(|i| i.name == reading) else {
        let message = match reading {
            "" => format!("{source:?} names a source and none of its readings"),
            _ => format!("source {source:?} has no reading {reading:?}"),
        };
        let known = nearest::list(reading, readings.iter().map(|i| i.name.as_str()));
        bad.0.push(l.text.problem(from, message, format!("it has: {known}; write them as {source}/...")));
        return None;
    };
    let device = reading.split_once('/').and_then(|(d, _)| loaded[s].devices.iter().position(|n| n == d));
    Some((s, r, device.map(|d| d as u16)))
}

/// The unit that the instrument states for a reading.
fn stated(sources: &[LoadedSource], source: usize, reading: usize) -> Option<String> {
    sources[source].decoder.as_ref()?.readings()[reading].unit.clone()
}

/// The map's unit against the one the instrument states: where nothing is converted they must be the same.
fn check_unit(
    l: &Line,
    sources: &[LoadedSource],
    source: usize,
    reading: usize,
    unit: &'static Unit,
    notes: &mut Vec<String>,
    bad: &mut Problems,
) {
    let Some(info) = sources[source].decoder.as_ref().map(|d| &d.readings()[reading]) else { return };
    let Some(stated) = stated(sources, source, reading) else {
        // CSV columns without a unit are told with the capture; a converted signal has its own.
        if l.table.conversion.is_none() && unit.quantity != Quantity::Ratio {
            let name = l.name.get_ref();
            notes.push(format!(
                "{name}: its source states no unit; it is taken to be in {}, as the map says",
                unit.symbol
            ));
        }
        return;
    };
    let same = |known: &Unit| known.ucum == unit.ucum || known.symbol == unit.symbol;
    match units::find(&stated) {
        Ok(known) if same(known) || l.table.conversion.is_some() => {}
        Ok(known) => {
            let place = sources[source].unit_places.get(reading).and_then(Option::as_deref);
            let place = place.map_or_else(String::new, |p| format!(" ({p})"));
            let (name, known) = (&info.name, known.symbol);
            let message = format!("the map says {}, the source of {name} says {known}{place}", unit.symbol);
            bad.0.push(l.text.problem(&l.table.unit, message, "write the source's unit, or a conversion"));
        }
        Err(_) => {
            notes.push(format!("{}: the source calls its unit {stated:?}, the map {}", l.name.get_ref(), unit.symbol));
        }
    }
}

/// Two numbers of a key.
fn two(l: &Line, at: Option<&Spanned<Vec<f64>>>, what: &str, help: &str, bad: &mut Problems) -> Option<(f64, f64)> {
    let at = at?;
    match at.get_ref().as_slice() {
        [low, high] => Some((*low, *high)),
        other => {
            let message = format!("{what} has two numbers, this one has {}", other.len());
            bad.0.push(l.text.problem(at, message, format!("write {help}")));
            None
        }
    }
}

fn quantity(l: &Line, unit: Option<&'static Unit>, bad: &mut Problems) -> Option<Quantity> {
    if let Some(q) = &l.table.quantity {
        let found = Quantity::from_key(q.get_ref());
        if found.is_none() {
            let known: Vec<String> = Quantity::all().map(Quantity::key).collect();
            let message = format!("quantity {:?} is not known", q.get_ref());
            bad.0.push(l.text.problem(q, message, format!("one of: {}", known.join(", "))));
        }
        return found;
    }
    units::quantity::of_name(l.name.get_ref()).map(|(_, q)| q).or(unit.map(|u| u.quantity))
}

fn reference(l: &Line, names: &[String], bad: &mut Problems) -> Option<Reference> {
    const WORDS: &[(u8, &str)] = &[(0, "absolute"), (1, "gauge"), (2, "difference")];
    let word = l.table.reference.as_ref().and_then(|r| super::word(&l.text, r, WORDS, "pressure reference", bad));
    let barometer = l.table.barometer.as_ref().and_then(|b| barometer(l, b, names, bad));
    let known = word.is_some() || l.table.reference.is_none();
    if known
        && word != Some(1)
        && let Some(b) = &l.table.barometer
    {
        bad.0.push(l.text.problem(b, "a barometer is for a gauge pressure", "write reference = \"gauge\""));
    }
    match word? {
        0 => Some(Reference::Absolute),
        1 => Some(Reference::Gauge { barometer }),
        _ => Some(Reference::Difference),
    }
}

fn barometer(l: &Line, at: &Spanned<String>, names: &[String], bad: &mut Problems) -> Option<Barometer> {
    let word = at.get_ref().trim();
    if word.starts_with(|c: char| c.is_ascii_digit()) {
        return match text::quantity(word) {
            Ok((x, u)) if u.fits(Quantity::Pressure) && u.reference != Some(units::PressureReference::Gauge) => {
                Some(Barometer::Declared(AbsolutePressure::from_si(u.to_si(x))))
            }
            Ok((_, u)) => {
                let message = format!("{} is no unit of an absolute pressure", u.symbol);
                bad.0.push(l.text.problem(at, message, "write 101.3 kPa"));
                None
            }
            Err(e) => {
                bad.0.push(l.text.problem(at, e, ""));
                None
            }
        };
    }
    match names.iter().position(|n| n == word) {
        Some(i) => Some(Barometer::Channel(ChannelId(i as u16))),
        None => {
            let message = format!("there is no channel {word:?}");
            bad.0.push(l.text.problem(at, message, "name a channel of the map, or declare a value: 101.3 kPa"));
            None
        }
    }
}

/// The snapshot's column of a channel.
pub(crate) fn column(m: &Mapped) -> Column {
    let spec = m.plan.channel.spec();
    Column {
        name: spec.name.clone(),
        unit: spec.quantity.si_symbol().to_owned(),
        ucum: spec.quantity.si_ucum().to_owned(),
        origin: Origin::Channel(SourceId(m.source as u16)),
        provenance: m.from.clone(),
        with_uncertainty: false,
        about: m.about.clone(),
    }
}

/// For each reading of a source, the channels that take it.
pub(crate) fn targets(source: usize, readings: usize, channels: &[Mapped]) -> Vec<Vec<ChannelId>> {
    let mut targets = vec![Vec::new(); readings];
    for (i, c) in channels.iter().enumerate().filter(|(_, c)| c.source == source) {
        targets[c.reading].push(ChannelId(i as u16));
    }
    targets
}
