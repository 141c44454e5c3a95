//! The sensor files of a run: calibrations by serial number.

use super::conversions::{self, Around};
use super::{Text, accuracy};
use crate::config::sensors::{SensorTable, SensorsFile};
use crate::config::{self};
use crate::files::{Files, beside};
use crate::nearest;
use crate::problem::{Problem, Problems};
use crate::sensors::Sensor;
use channels::{Calibration, Convert, Part};
use jiff::civil::Date;
use sensors::Conversion;
use std::ops::Range;
use std::path::Path;
use stream::EventTime;
use toml::Spanned;
use units::{Quantity, Unit};

/// Every sensor of the run's sensor files.
#[derive(Default)]
pub(crate) struct Register {
    entries: Vec<Entry>,
    /// Whether the run names sensor files, and all could be read.
    whole: bool,
    there: bool,
    /// Whether the run demands valid calibrations.
    required: bool,
    /// What the channels have named so far.
    named: Vec<Sensor>,
}

struct Entry {
    text: Text,
    serial: Spanned<String>,
    table: SensorTable,
    correction: Option<(Conversion, &'static Unit)>,
}

/// The calibration keys of a channel's own line.
pub(crate) struct Line<'a> {
    pub(crate) text: &'a Text,
    pub(crate) channel: &'a str,
    pub(crate) table: &'a config::channels::ChannelTable,
    pub(crate) quantity: Quantity,
    pub(crate) unit: &'static Unit,
}

/// What a channel's chain of sensors says.
#[derive(Default)]
pub(crate) struct Chain {
    pub(crate) serials: Vec<String>,
    pub(crate) correction: Option<Conversion>,
    pub(crate) parts: Vec<Part>,
    /// The parts as they were written, for tables and manifest.
    pub(crate) words: Vec<String>,
    pub(crate) calibration: Calibration,
}

pub(crate) fn load(
    files: &Files,
    run_path: &Path,
    run: &Text,
    table: &config::run::RunTable,
    bad: &mut Problems,
) -> Register {
    const DEMANDS: &[(bool, &str)] = &[(false, "told"), (true, "required")];
    let demanded = table.calibration.as_ref().and_then(|c| super::word(run, c, DEMANDS, "calibration", bad));
    let mut register = Register {
        whole: true,
        there: !table.sensors.is_empty(),
        required: demanded.unwrap_or(false),
        ..Register::default()
    };
    for path in &table.sensors {
        let text = match Text::open(files, &beside(run_path, path.get_ref())) {
            Ok(text) => text,
            Err(e) => {
                register.whole = false;
                bad.0.push(run.problem(path, e.message, e.help));
                continue;
            }
        };
        match config::read::<SensorsFile>(&text.name, &text.text) {
            Ok(file) => file.sensor.0.into_iter().for_each(|(serial, t)| register.add(&text, serial, t, bad)),
            Err(e) => {
                register.whole = false;
                bad.0.push(e);
            }
        }
    }
    register
}

impl Register {
    fn add(&mut self, text: &Text, serial: Spanned<String>, table: SensorTable, bad: &mut Problems) {
        if self.entries.iter().any(|e| e.serial.get_ref() == serial.get_ref()) {
            let message = format!("two sensors have the serial number {:?}", serial.get_ref());
            bad.0.push(text.problem(&serial, message, "keep the newest calibration of each"));
        }
        days(text, table.calibrated.as_ref(), table.due.as_ref(), bad);
        let correction = correction(text, &table, bad);
        self.entries.push(Entry { text: text.clone(), serial, table, correction });
    }

    /// Every sensor that a channel names, in the order they are named.
    pub(crate) fn named(self) -> Vec<Sensor> {
        self.named
    }

    /// What the sensors of a channel say; problems are told.
    pub(crate) fn chain(&mut self, l: &Line<'_>, bad: &mut Problems) -> Chain {
        let mut chain = Chain::default();
        let t = l.table;
        let own = days(l.text, t.calibrated.as_ref(), t.due.as_ref(), bad);
        let serials = t.sensor.as_ref().map(|s| s.get_ref().all().to_vec()).unwrap_or_default();
        let own_keys = [
            t.calibrated.as_ref().map(Spanned::span),
            t.due.as_ref().map(Spanned::span),
            t.certificate.as_ref().map(Spanned::span),
        ];
        let own_key = own_keys.into_iter().flatten().next();
        if let Some(span) = own_key.clone()
            && serials.len() != 1
        {
            let message = format!("a calibration of one sensor, where the channel names {}", serials.len());
            bad.0.push(l.problem(span, message, "name one sensor, or write each into a sensor file"));
        }
        let mut holds = Some((EventTime(i64::MIN), EventTime(i64::MAX)));
        for serial in &serials {
            let Some(sensor) = self.sensor(l, serial, own, own_key.clone(), &mut chain, bad) else { continue };
            holds = holds.zip(sensor.validity()).map(|((a, b), (from, until))| (a.max(from), b.min(until)));
            self.name(sensor, l.channel);
        }
        if let Some(why) = &t.needs_no_calibration
            && why.get_ref().trim().is_empty()
        {
            bad.0.push(l.text.problem(
                why,
                "no reason is given",
                "say why there is nothing to calibrate: \"a counter\"",
            ));
        }
        chain.calibration = match holds {
            _ if !self.required || t.needs_no_calibration.is_some() => Calibration::NotAsked,
            Some((from, until)) if !serials.is_empty() => Calibration::Valid { from, until },
            _ => Calibration::Unknown,
        };
        chain.serials = serials;
        chain
    }

    /// One sensor of a channel: from the sensor files, or as the channel's own line says.
    fn sensor(
        &self,
        l: &Line<'_>,
        serial: &str,
        own: (Option<Date>, Option<Date>),
        own_key: Option<Range<usize>>,
        chain: &mut Chain,
        bad: &mut Problems,
    ) -> Option<Sensor> {
        let found = self.entries.iter().find(|e| e.serial.get_ref() == serial);
        match (found, own_key) {
            (Some(_), Some(span)) => {
                let message = format!("the calibration of {serial:?} stands here and in a sensor file");
                bad.0.push(l.problem(span, message, "keep one of them"));
                None
            }
            (Some(entry), None) => {
                entry.add_to(l, serial, chain, bad);
                Some(entry.sensor())
            }
            (None, None) if self.there => {
                if self.whole {
                    let known = self.entries.iter().map(|e| e.serial.get_ref().as_str());
                    let help = format!("the sensor files have: {}", nearest::list(serial, known));
                    let span = l.table.sensor.as_ref().map_or(0..0, Spanned::span);
                    bad.0.push(l.problem(span, format!("no sensor file of the run has a sensor {serial:?}"), help));
                }
                None
            }
            (None, _) => Some(Sensor {
                serial: serial.to_owned(),
                kind: String::new(),
                calibrated: own.0,
                due: own.1,
                certificate: l.table.certificate.as_ref().map(|c| c.get_ref().clone()).unwrap_or_default(),
                suspended: None,
                channels: Vec::new(),
            }),
        }
    }

    fn name(&mut self, sensor: Sensor, channel: &str) {
        match self.named.iter_mut().find(|s| s.serial == sensor.serial) {
            Some(s) => s.channels.push(channel.to_owned()),
            None => self.named.push(Sensor { channels: vec![channel.to_owned()], ..sensor }),
        }
    }
}

impl Line<'_> {
    fn problem(&self, span: Range<usize>, message: String, help: impl Into<String>) -> Problem {
        Problem::at(&self.text.name, &self.text.text, Some(span), message, help)
    }
}

impl Entry {
    fn sensor(&self) -> Sensor {
        let day = |d: &Option<Spanned<String>>| d.as_ref().and_then(|d| d.get_ref().parse().ok());
        Sensor {
            serial: self.serial.get_ref().clone(),
            kind: self.table.kind.clone(),
            calibrated: day(&self.table.calibrated),
            due: day(&self.table.due),
            certificate: self.table.certificate.clone(),
            suspended: self.table.suspended.as_ref().map(|s| s.get_ref().clone()),
            channels: Vec::new(),
        }
    }

    fn add_to(&self, l: &Line<'_>, serial: &str, chain: &mut Chain, bad: &mut Problems) {
        if let Some(u) = &self.table.uncertainty {
            chain.parts.extend(accuracy::parts(&self.text, u, l.quantity, l.unit, bad));
            chain.words.extend(u.get_ref().all().iter().map(|w| format!("{serial}: {w}")));
        }
        let Some((correction, unit)) = &self.correction else { return };
        let Some(at) = &l.table.sensor else { return };
        if unit.symbol != l.unit.symbol {
            let message =
                format!("the correction of {serial:?} is in {}, the channel in {}", unit.symbol, l.unit.symbol);
            bad.0.push(l.text.problem(at, message, "give the channel the correction's unit"));
        } else if chain.correction.is_some() {
            let message = "two sensors of this chain have a correction";
            bad.0.push(l.text.problem(at, message, "calibrate the chain as a whole, with one correction"));
        } else {
            chain.correction = Some(correction.clone());
        }
    }
}

fn correction(text: &Text, t: &SensorTable, bad: &mut Problems) -> Option<(Conversion, &'static Unit)> {
    let at = t.correction.as_ref()?;
    let around = Around { text, names: &[], stated: None, position: None };
    let made = conversions::conversion(&around, at, bad);
    let Some(unit) = &t.unit else {
        bad.0.push(text.problem(at, "the correction says no unit", "write unit = \"degC\" beside it"));
        return None;
    };
    let unit = units::find(unit.get_ref()).map_err(|e| bad.0.push(text.problem(unit, e.to_string(), ""))).ok()?;
    match made? {
        (Convert::One(c @ (Conversion::Linear(_) | Conversion::Table(_) | Conversion::Polynomial(_))), _) => {
            Some((c, unit))
        }
        _ => {
            let message = format!("{:?} is no correction of a value", at.get_ref().kind.get_ref());
            bad.0.push(text.problem(at, message, "use linear, two-point, table or polynomial"));
            None
        }
    }
}

/// Both days of a calibration, in their order.
fn days(
    text: &Text,
    calibrated: Option<&Spanned<String>>,
    due: Option<&Spanned<String>>,
    bad: &mut Problems,
) -> (Option<Date>, Option<Date>) {
    let mut day = |at: Option<&Spanned<String>>| {
        let at = at?;
        let parsed = at.get_ref().parse::<Date>();
        if parsed.is_err() {
            bad.0.push(text.problem(at, format!("{:?} is not a day", at.get_ref()), "write it so: 2026-01-31"));
        }
        parsed.ok()
    };
    let (from, until) = (day(calibrated), day(due));
    if let (Some(from), Some(until), Some(at)) = (from, until, due)
        && until < from
    {
        let message = format!("due on {until}, before the calibration of {from}");
        bad.0.push(text.problem(at, message, "correct one of the days"));
    }
    (from, until)
}
