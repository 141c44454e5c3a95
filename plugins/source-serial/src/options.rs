//! What a run file says about a port, and the checks of what is connected to it.

use decode::modbus::{Request, RequestError};
use plugin_api::{ConfigError, DeviceSetup, Framing, Messages, Query, SourceSetup};
use schemars::JsonSchema;
use serde::Deserialize;
use std::time::Duration;
use tokio_serial::{DataBits, StopBits};

/// A serial port.
#[derive(Clone, Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Path of the port. Take a stable one, /dev/serial/by-id/... : /dev/ttyUSB0 may be another adapter after the
    /// next plugging-in. No default.
    pub port: String,
    /// Speed in bit/s. Default 19200.
    #[serde(default = "default_baud")]
    pub baud: u32,
    /// Data bits of a character, 5 to 8. Default 8, which Modbus RTU demands.
    #[serde(default = "default_data_bits")]
    pub data_bits: u8,
    /// Parity: "none", "even" or "odd". Default "even", as the Modbus standard says.
    #[serde(default)]
    pub parity: Parity,
    /// Stop bits, 1 or 2. Default 1; the Modbus standard wants 2 where there is no parity.
    #[serde(default = "default_stop_bits")]
    pub stop_bits: u8,
    /// Extra silence before each request in ms, on top of the standard's 3.5 characters: for slow two-wire
    /// adapters. Default 0.
    #[serde(default)]
    pub gap_ms: f64,
    /// Listen only: another master asks the devices on this line. Nothing is ever written; its requests and their
    /// answers are paired. Default false.
    #[serde(default)]
    pub passive: bool,
}

/// The parity bit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Parity {
    /// No parity bit.
    None,
    /// An even number of ones.
    #[default]
    Even,
    /// An odd number of ones.
    Odd,
}

impl From<Parity> for tokio_serial::Parity {
    fn from(p: Parity) -> tokio_serial::Parity {
        match p {
            Parity::None => tokio_serial::Parity::None,
            Parity::Even => tokio_serial::Parity::Even,
            Parity::Odd => tokio_serial::Parity::Odd,
        }
    }
}

fn default_baud() -> u32 {
    19_200
}

fn default_data_bits() -> u8 {
    8
}

fn default_stop_bits() -> u8 {
    1
}

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(Line).to_value()
}

/// Why a line is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum OptionsError {
    /// No path.
    #[error("`port` is empty")]
    Port,
    /// No speed.
    #[error("`baud` is 0")]
    Baud,
    /// Data bits that no port has, or that the framing cannot use.
    #[error("`data_bits` is {0}")]
    DataBits(u8),
    /// Stop bits that no port has.
    #[error("`stop_bits` is {0}")]
    StopBits(u8),
    /// A silence that is negative or endless.
    #[error("`gap_ms` is {0}")]
    Gap(f64),
    /// Nothing on the line.
    #[error("no device is on this line")]
    NoDevice,
    /// Streaming text and something else on one line.
    #[error("device `{0}` sends lines of text and shares its line with another device")]
    Shared(String),
    /// Queries on a line that is only listened to.
    #[error("device `{0}` lists queries, and this line is passive: nothing is ever written to it")]
    PassiveQuery(String),
    /// A device that is never asked.
    #[error("Modbus device `{0}` has no query")]
    NoQuery(String),
    /// A query that is no read request.
    #[error("query {number} of device `{device}`: {cause}")]
    Query {
        /// Device.
        device: String,
        /// Place in its list, from 1.
        number: usize,
        /// What is wrong with it.
        cause: RequestError,
    },
    /// Queries of one device go to several addresses.
    #[error("device `{device}` is asked at address {first} and at address {other}")]
    Addresses {
        /// Device.
        device: String,
        /// First address.
        first: u8,
        /// Another address.
        other: u8,
    },
    /// Two devices, one address.
    #[error("devices `{first}` and `{second}` have the same address {address}")]
    SameAddress {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// Address.
        address: u8,
    },
    /// A time of zero.
    #[error("device `{device}`: {which} is 0")]
    Zero {
        /// Device.
        device: String,
        /// Which time.
        which: &'static str,
    },
    /// A query that is asked without a pause.
    #[error("query {number} of device `{device}`: its period is 0 or longer than a day")]
    QueryPeriod {
        /// Device.
        device: String,
        /// Place in its list, from 1.
        number: usize,
    },
    /// A time longer than anyone waits.
    #[error("device `{device}`: {which} is longer than a day")]
    Long {
        /// Device.
        device: String,
        /// Which time.
        which: &'static str,
    },
    /// A worst answer time below the time-out.
    #[error("device `{device}`: its worst answer time {worst:?} is shorter than its time-out {time_out:?}")]
    Worst {
        /// Device.
        device: String,
        /// Worst answer time.
        worst: Duration,
        /// Time-out.
        time_out: Duration,
    },
}

impl OptionsError {
    /// What to do about it, and the option it is about.
    fn help(&self) -> (&'static str, &'static str) {
        match self {
            Self::Port => ("write the path of the port; `bise ports` lists them", "port"),
            Self::Baud => ("write the instrument's speed, for example 19200", "baud"),
            Self::DataBits(_) => ("write 5 to 8; Modbus RTU needs 8", "data_bits"),
            Self::StopBits(_) => ("write 1 or 2", "stop_bits"),
            Self::Gap(_) => ("write a silence of 0 to 1000 ms", "gap_ms"),
            Self::NoDevice => ("add a device to this source", ""),
            Self::Shared(_) => ("give it a line of its own: its lines would run into other devices' answers", ""),
            Self::PassiveQuery(_) => ("leave passive out, or use an instrument file without queries", "passive"),
            Self::QueryPeriod { .. } => ("write how often it is asked, such as period = \"1s\"", ""),
            Self::NoQuery(_) => ("list at least one register", ""),
            Self::Query { .. } => ("list read requests only: functions 1 to 4, device addresses 1 to 247", ""),
            Self::Addresses { .. } => ("make two devices of it", ""),
            Self::SameAddress { .. } => ("list all registers of one address under one device", ""),
            Self::Zero { .. } => ("write a time above 0", ""),
            Self::Long { .. } => ("write a shorter time", ""),
            Self::Worst { .. } => ("write the longest time that the device can take for an answer at all", ""),
        }
    }
}

/// The options of a source, and what is on its line; everything checked.
pub(crate) fn read(setup: &SourceSetup) -> Result<(Line, Devices), ConfigError> {
    let line: Line = setup.options.read()?;
    let checked = check_line(&line).and_then(|()| Devices::of(&setup.devices, &line));
    let devices = checked.map_err(|e| {
        let (help, option) = e.help();
        ConfigError::new(e.to_string(), help, setup.options.span_of(option))
    })?;
    Ok((line, devices))
}

fn check_line(line: &Line) -> Result<(), OptionsError> {
    if line.port.trim().is_empty() {
        return Err(OptionsError::Port);
    }
    if line.baud == 0 {
        return Err(OptionsError::Baud);
    }
    data_bits(line.data_bits).ok_or(OptionsError::DataBits(line.data_bits))?;
    stop_bits(line.stop_bits).ok_or(OptionsError::StopBits(line.stop_bits))?;
    if !(0.0..=1000.0).contains(&line.gap_ms) {
        return Err(OptionsError::Gap(line.gap_ms));
    }
    Ok(())
}

impl Line {
    /// Start, data, parity and stop bits of a character.
    pub(crate) fn character_bits(&self) -> u32 {
        1 + u32::from(self.data_bits) + u32::from(self.parity != Parity::None) + u32::from(self.stop_bits)
    }

    /// The extra silence.
    pub(crate) fn gap(&self) -> Duration {
        Duration::from_secs_f64(self.gap_ms.clamp(0.0, 1000.0) / 1000.0)
    }
}

pub(crate) fn data_bits(n: u8) -> Option<DataBits> {
    match n {
        5 => Some(DataBits::Five),
        6 => Some(DataBits::Six),
        7 => Some(DataBits::Seven),
        8 => Some(DataBits::Eight),
        _ => None,
    }
}

pub(crate) fn stop_bits(n: u8) -> Option<StopBits> {
    match n {
        1 => Some(StopBits::One),
        2 => Some(StopBits::Two),
        _ => None,
    }
}

/// What is on a line.
#[derive(Clone, Debug)]
pub(crate) enum Devices {
    /// Modbus RTU devices, each with its requests.
    Modbus(Vec<(DeviceSetup, Vec<Request>)>),
    /// Modbus RTU devices that another master asks: their addresses, in order, and the longest worst answer time.
    Overheard { units: Vec<u8>, worst: Duration },
    /// One instrument that sends messages: unasked, or in answer to its queries.
    Messages(DeviceSetup, Messages),
}

impl Devices {
    fn of(setups: &[DeviceSetup], line: &Line) -> Result<Devices, OptionsError> {
        let Some(first) = setups.first() else { return Err(OptionsError::NoDevice) };
        if let Some((d, messages)) = setups.iter().find_map(|d| match &d.framing {
            Framing::Messages(messages) => Some((d, messages)),
            Framing::Modbus => None,
        }) {
            if setups.len() > 1 {
                return Err(OptionsError::Shared(d.name.clone()));
            }
            if line.passive && !d.queries.is_empty() {
                return Err(OptionsError::PassiveQuery(d.name.clone()));
            }
            queries(first)?;
            return Ok(Devices::Messages(first.clone(), messages.clone()));
        }
        if line.data_bits != 8 {
            return Err(OptionsError::DataBits(line.data_bits));
        }
        let mut devices: Vec<(DeviceSetup, Vec<Request>)> = Vec::new();
        for setup in setups {
            let requests = requests(setup)?;
            let unit = |r: &[Request]| r.first().map(Request::unit);
            if let Some((same, r)) = devices.iter().find(|(_, r)| unit(r) == unit(&requests)) {
                let address = unit(r).unwrap_or(0);
                let (first, second) = (same.name.clone(), setup.name.clone());
                return Err(OptionsError::SameAddress { first, second, address });
            }
            devices.push((setup.clone(), requests));
        }
        if line.passive {
            let units = devices.iter().filter_map(|(_, r)| r.first().map(Request::unit)).collect();
            let worst = setups.iter().map(|d| d.worst_answer).max().unwrap_or_default();
            return Ok(Devices::Overheard { units, worst });
        }
        Ok(Devices::Modbus(devices))
    }
}

const DAY: Duration = Duration::from_secs(86_400);

/// The queries of an instrument that sends messages.
fn queries(d: &DeviceSetup) -> Result<(), OptionsError> {
    if d.queries.is_empty() {
        return Ok(());
    }
    times(d)?;
    let wrong = |q: &Query| q.period.is_some_and(|p| p.is_zero() || p > DAY);
    match d.queries.iter().position(wrong) {
        Some(i) => Err(OptionsError::QueryPeriod { device: d.name.clone(), number: i + 1 }),
        None => Ok(()),
    }
}

fn times(d: &DeviceSetup) -> Result<(), OptionsError> {
    let device = d.name.clone();
    for (which, time) in [("period", d.period), ("time-out", d.time_out), ("worst answer time", d.worst_answer)] {
        if time.is_zero() {
            return Err(OptionsError::Zero { device, which });
        }
        if time > DAY {
            return Err(OptionsError::Long { device, which });
        }
    }
    if d.worst_answer < d.time_out {
        return Err(OptionsError::Worst { device, worst: d.worst_answer, time_out: d.time_out });
    }
    Ok(())
}

fn requests(d: &DeviceSetup) -> Result<Vec<Request>, OptionsError> {
    times(d)?;
    let device = d.name.clone();
    let parse = |(i, q): (usize, &Query)| {
        let device = d.name.clone();
        Request::parse(&q.bytes).map_err(|cause| OptionsError::Query { device, number: i + 1, cause })
    };
    let requests: Vec<Request> = d.queries.iter().enumerate().map(parse).collect::<Result<_, _>>()?;
    let Some(first) = requests.first().map(Request::unit) else { return Err(OptionsError::NoQuery(device)) };
    match requests.iter().map(Request::unit).find(|u| *u != first) {
        Some(other) => Err(OptionsError::Addresses { device, first, other }),
        None => Ok(requests),
    }
}

#[cfg(test)]
mod tests;
