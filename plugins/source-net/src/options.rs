//! What a run file says about a place on the network, and the checks of what is connected to it.

use decode::modbus::{Request, RequestError};
use plugin_api::{ConfigError, DeviceSetup, Framing, Messages, Query, SourceSetup};
use schemars::JsonSchema;
use serde::Deserialize;
use std::net::IpAddr;
use std::time::Duration;

/// A place on the network.
#[derive(Clone, Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Net {
    /// Over TCP: host and port to connect to, such as "192.168.1.20:502". Over UDP: the address and port of this
    /// machine to listen on, such as "0.0.0.0:5500". No default.
    pub address: String,
    /// What carries it: "tcp" or "udp". Default "tcp". Over UDP it is only listened to.
    #[serde(default)]
    pub transport: Transport,
    /// For UDP: only datagrams from this IP address are taken. Default: from any, which anybody on the network can
    /// send.
    #[serde(default)]
    pub from: Option<IpAddr>,
    /// For an instrument that sends unasked: after so many seconds without a byte the connection counts as lost and is
    /// made anew; a connection whose far end lost its supply is not noticed otherwise. Default 0: never.
    #[serde(default)]
    pub quiet_s: f64,
}

/// What carries it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Transport {
    /// A connection that this program makes.
    #[default]
    Tcp,
    /// Datagrams that come to this machine.
    Udp,
}

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(Net).to_value()
}

const DAY: Duration = Duration::from_secs(86_400);

/// Why a place is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum OptionsError {
    /// No host, or no port.
    #[error("`address` is {0:?}, which is no address with a port")]
    Address(String),
    /// To listen on a name that is looked up elsewhere is no way to know where.
    #[error("`address` is {0:?}; over UDP it is an IP address of this machine and a port")]
    Listen(String),
    /// Over TCP the address says from where.
    #[error("`from` belongs to udp")]
    From,
    /// A time that is negative or endless.
    #[error("`quiet_s` is {0}")]
    Quiet(f64),
    /// Nothing there.
    #[error("no device is there")]
    NoDevice,
    /// Messages and something else in one place.
    #[error("device `{0}` sends lines or frames and shares its address with another device")]
    Shared(String),
    /// Something that is asked, over UDP.
    #[error("device `{0}` is asked, and over udp it is only listened to")]
    Asked(String),
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
    /// A time that is 0 or longer than anyone waits.
    #[error("device `{device}`: {which} is 0 or longer than a day")]
    Time {
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
            Self::Address(_) => ("write host and port: \"192.168.1.20:502\" (Modbus TCP is usually at 502)", "address"),
            Self::Listen(_) => ("write \"0.0.0.0:5500\" for every address of this machine", "address"),
            Self::From => ("leave it out: over TCP the address says who sends", "from"),
            Self::Quiet(_) => ("write 0 to 86400 seconds; 0 for never", "quiet_s"),
            Self::NoDevice => ("add a device to this source", ""),
            Self::Shared(_) => ("give it a source of its own: one instrument of this kind an address", ""),
            Self::Asked(_) => ("write transport = \"tcp\", or use an instrument that sends unasked", "transport"),
            Self::NoQuery(_) => ("list at least one register", ""),
            Self::Query { .. } => ("only read functions 1 to 4 may be listed", ""),
            Self::Time { .. } => ("write a duration such as \"1s\"", ""),
            Self::Worst { .. } => ("write worst_answer at least as long as time_out", ""),
        }
    }
}

/// What is there.
#[derive(Clone, Debug)]
pub(crate) enum Devices {
    /// Modbus devices, each with its requests.
    Modbus(Vec<(DeviceSetup, Vec<Request>)>),
    /// One instrument that sends messages: unasked, or in answer to its queries.
    Messages(DeviceSetup, Messages),
}

/// The options of a source, and what is there; everything checked.
pub(crate) fn read(setup: &SourceSetup) -> Result<(Net, Devices), ConfigError> {
    let net: Net = setup.options.read()?;
    let devices = check(&net).and_then(|()| devices(&net, &setup.devices)).map_err(|e| {
        let (help, option) = e.help();
        ConfigError::new(e.to_string(), help, setup.options.span_of(option))
    })?;
    Ok((net, devices))
}

fn check(net: &Net) -> Result<(), OptionsError> {
    let port = net.address.rsplit_once(':').filter(|(host, _)| !host.is_empty()).and_then(|(_, p)| p.parse().ok());
    if port.is_none_or(|p: u16| p == 0) {
        return Err(OptionsError::Address(net.address.clone()));
    }
    if net.transport == Transport::Udp && net.address.parse::<std::net::SocketAddr>().is_err() {
        return Err(OptionsError::Listen(net.address.clone()));
    }
    if net.transport == Transport::Tcp && net.from.is_some() {
        return Err(OptionsError::From);
    }
    if !(0.0..=86_400.0).contains(&net.quiet_s) {
        return Err(OptionsError::Quiet(net.quiet_s));
    }
    Ok(())
}

impl Net {
    /// How long no byte may come; `None` = for ever.
    pub(crate) fn quiet(&self) -> Option<Duration> {
        Duration::try_from_secs_f64(self.quiet_s).ok().filter(|d| !d.is_zero())
    }
}

fn devices(net: &Net, setups: &[DeviceSetup]) -> Result<Devices, OptionsError> {
    let Some(first) = setups.first() else { return Err(OptionsError::NoDevice) };
    let udp = net.transport == Transport::Udp;
    for d in setups {
        let asked = !d.queries.is_empty() || matches!(d.framing, Framing::Modbus);
        if udp && asked {
            return Err(OptionsError::Asked(d.name.clone()));
        }
        if asked {
            times(d)?;
        }
    }
    let messages = setups.iter().find_map(|d| match &d.framing {
        Framing::Messages(m) => Some((d, m)),
        Framing::Modbus => None,
    });
    match messages {
        Some((d, _)) if setups.len() > 1 => Err(OptionsError::Shared(d.name.clone())),
        Some((_, m)) => Ok(Devices::Messages(first.clone(), m.clone())),
        None => setups.iter().map(requests).collect::<Result<_, _>>().map(Devices::Modbus),
    }
}

fn times(d: &DeviceSetup) -> Result<(), OptionsError> {
    let periods = d.queries.iter().filter_map(|q| q.period).map(|p| ("a query's period", p));
    let own = [("period", d.period), ("time-out", d.time_out), ("worst answer time", d.worst_answer)];
    if let Some((which, _)) = own.into_iter().chain(periods).find(|(_, t)| t.is_zero() || *t > DAY) {
        return Err(OptionsError::Time { device: d.name.clone(), which });
    }
    if d.worst_answer < d.time_out {
        let (worst, time_out) = (d.worst_answer, d.time_out);
        return Err(OptionsError::Worst { device: d.name.clone(), worst, time_out });
    }
    Ok(())
}

fn requests(d: &DeviceSetup) -> Result<(DeviceSetup, Vec<Request>), OptionsError> {
    let parse = |(i, q): (usize, &Query)| {
        let device = d.name.clone();
        Request::parse_any_unit(&q.bytes).map_err(|cause| OptionsError::Query { device, number: i + 1, cause })
    };
    let requests: Vec<Request> = d.queries.iter().enumerate().map(parse).collect::<Result<_, _>>()?;
    if requests.is_empty() {
        return Err(OptionsError::NoQuery(d.name.clone()));
    }
    Ok((d.clone(), requests))
}

#[cfg(test)]
mod tests;
