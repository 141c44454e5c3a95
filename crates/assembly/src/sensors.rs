//! The sensors a run names, and how their calibration stands when it starts.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use recording::manifest::SensorState;
use stream::{EventTime, Span};

/// A sensor, transmitter or module that channels of the run name.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensor {
    /// Its serial number.
    pub serial: String,
    /// What it is; may be empty.
    pub kind: String,
    /// The day of its calibration.
    pub calibrated: Option<Date>,
    /// The day it is due.
    pub due: Option<Date>,
    /// The certificate; may be empty.
    pub certificate: String,
    /// Why it must not be used.
    pub suspended: Option<String>,
    /// The channels that name it.
    pub channels: Vec<String>,
}

/// How a calibration stands at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CalibrationState {
    /// Calibrated and not due for a while.
    Valid,
    /// Due within 30 days.
    DueSoon,
    /// Past its day.
    Overdue,
    /// Calibrated only afterwards.
    NotYet,
    /// Must not be used.
    Suspended,
    /// No calibration, or no day it is due.
    Unknown,
}

/// So long before a calibration is due it is said (common practice, no source).
const SOON: Span = Span::from_secs(30 * 24 * 3600);
const HOUR: i64 = 3600 * 1_000_000_000;

impl CalibrationState {
    /// The word in manifests and on screens.
    pub fn word(self) -> &'static str {
        match self {
            Self::Valid => "valid",
            Self::DueSoon => "due-soon",
            Self::Overdue => "overdue",
            Self::NotYet => "not-yet",
            Self::Suspended => "suspended",
            Self::Unknown => "unknown",
        }
    }

    /// Whether values count as calibrated.
    pub fn is_good(self) -> bool {
        matches!(self, Self::Valid | Self::DueSoon)
    }
}

impl Sensor {
    /// From when until when (excluded) its calibration is valid: both days whole wherever on Earth they were written
    /// down. `None` where it is not known, or the sensor is suspended.
    pub fn validity(&self) -> Option<(EventTime, EventTime)> {
        if self.suspended.is_some() {
            return None;
        }
        let from = day_begins(self.calibrated?)?;
        let until = midnight(self.due?)?.0.saturating_add((24 + 12) * HOUR);
        Some((from, EventTime(until)))
    }

    /// How it stands at a moment.
    pub fn state_at(&self, t: EventTime) -> CalibrationState {
        match self.validity() {
            _ if self.suspended.is_some() => CalibrationState::Suspended,
            None => CalibrationState::Unknown,
            Some((from, _)) if t < from => CalibrationState::NotYet,
            Some((_, until)) if t >= until => CalibrationState::Overdue,
            Some((_, until)) if until - t <= SOON => CalibrationState::DueSoon,
            Some(_) => CalibrationState::Valid,
        }
    }
}

/// Midnight UTC at the beginning of a day; `None` beyond what event time can say.
fn midnight(day: Date) -> Option<EventTime> {
    let ns = TimeZone::UTC.to_timestamp(day.at(0, 0, 0, 0)).ok()?.as_nanosecond();
    i64::try_from(ns).ok().map(EventTime)
}

/// When a day begins where on Earth it begins first.
pub(crate) fn day_begins(day: Date) -> Option<EventTime> {
    midnight(day).map(|m| EventTime(m.0.saturating_sub(14 * HOUR)))
}

/// The sensors as a manifest stores them, for a run that starts at `t`.
pub fn states(sensors: &[Sensor], t: EventTime) -> Vec<SensorState> {
    let state = |s: &Sensor| SensorState {
        serial: s.serial.clone(),
        kind: s.kind.clone(),
        calibrated: s.calibrated.map(|d| d.to_string()),
        due: s.due.map(|d| d.to_string()),
        certificate: s.certificate.clone(),
        state: s.state_at(t).word().to_owned(),
        channels: s.channels.clone(),
    };
    sensors.iter().map(state).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> EventTime {
        let t: jiff::Timestamp = text.parse().unwrap();
        EventTime(i64::try_from(t.as_nanosecond()).unwrap())
    }

    #[test]
    fn a_calibration_stands_by_its_days() {
        let sensor = Sensor {
            serial: "T-1".into(),
            kind: String::new(),
            calibrated: Some("2026-01-10".parse().unwrap()),
            due: Some("2026-07-10".parse().unwrap()),
            certificate: String::new(),
            suspended: None,
            channels: vec![],
        };
        let state = |t: &str| sensor.state_at(at(t)).word();
        assert_eq!(state("2026-01-09T09:59:59Z"), "not-yet");
        assert_eq!(state("2026-01-09T10:00:00Z"), "valid");
        assert_eq!(state("2026-06-11T11:59:59Z"), "valid");
        assert_eq!(state("2026-06-11T12:00:00Z"), "due-soon");
        assert_eq!(state("2026-07-10T23:59:59Z"), "due-soon");
        assert_eq!(state("2026-07-11T12:00:00Z"), "overdue");
        let with = |change: fn(&mut Sensor)| {
            let mut s = sensor.clone();
            change(&mut s);
            s.state_at(at("2026-03-01T00:00:00Z")).word()
        };
        assert_eq!(with(|s| s.due = None), "unknown");
        assert_eq!(with(|s| s.calibrated = None), "unknown");
        assert_eq!(with(|s| s.suspended = Some("dropped".into())), "suspended");
    }
}
