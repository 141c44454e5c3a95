//! Connects or listens, again and again, and runs what belongs there.

use crate::door;
use crate::modbus::Client;
use crate::options::{self, Devices, Net, Transport};
use plugin_api::asking::ask;
use plugin_api::messages::{Listener, listen};
use plugin_api::{ConfigError, Intake, LinkLost, Messages, Port, Source, SourceSetup, Wire, until_stopped};
use std::future::Future;
use std::io;
use std::net::ToSocketAddrs;
use std::pin::Pin;
use std::time::Duration;
use stream::LinkState;
use tokio::io::split;
use tokio::net::{TcpStream, UdpSocket};
use tokio::time::timeout;

/// A connection that is not made within so long is not there.
const CONNECT_LIMIT: Duration = Duration::from_secs(5);
/// The check before the run does not wait so long.
const PROBE_LIMIT: Duration = Duration::from_secs(2);
/// The longest datagram (RFC 768: 65 535 with its header).
const LONGEST_DATAGRAM: usize = 65_535;
/// The one instrument in a place of messages.
const DEVICE: u16 = 0;

/// A place on the network, across losses of its connection.
struct Place {
    net: Net,
    devices: Devices,
}

pub(crate) fn build(setup: &SourceSetup) -> Result<Box<dyn Source>, ConfigError> {
    let (net, devices) = options::read(setup)?;
    Ok(Box::new(Place { net, devices }))
}

/// Whether somebody answers there, or the port is free to listen on.
pub(crate) fn probe(setup: &SourceSetup) -> Result<Port, ConfigError> {
    let (net, _) = options::read(setup)?;
    let (detail, tried) = match net.transport {
        Transport::Udp => ("udp, listened on", std::net::UdpSocket::bind(&net.address).map(|_| ())),
        Transport::Tcp => ("tcp", connect_once(&net.address)),
    };
    let openable = tried.map_err(|e| why(&net, &e));
    Ok(Port { name: net.address, detail: detail.to_owned(), openable })
}

fn connect_once(address: &str) -> io::Result<()> {
    let mut last = io::Error::new(io::ErrorKind::NotFound, "no address is known under this name");
    for a in address.to_socket_addrs()? {
        match std::net::TcpStream::connect_timeout(&a, PROBE_LIMIT) {
            Ok(_) => return Ok(()),
            Err(e) => last = e,
        }
    }
    Err(last)
}

/// What went wrong with opening, and what to do.
fn why(net: &Net, e: &io::Error) -> String {
    let address = &net.address;
    let hint = match (net.transport, e.kind()) {
        (Transport::Udp, io::ErrorKind::AddrInUse) => "another program listens there; end it or take another port",
        (Transport::Udp, _) => "check that the address is one of this machine's, and the port above 1023",
        (_, io::ErrorKind::ConnectionRefused) => {
            "the machine is there and nothing listens on that port: check the port"
        }
        (_, io::ErrorKind::TimedOut) => "nobody answers: check address, cable and supply",
        _ => "check address, cable and supply",
    };
    format!("{address} cannot be opened: {e}; {hint}")
}

impl Source for Place {
    fn run<'a>(&'a mut self, intake: &'a mut Intake) -> Pin<Box<dyn Future<Output = Result<(), LinkLost>> + 'a>> {
        Box::pin(async move {
            let stopped = intake.stopped();
            until_stopped(stopped, self.go(intake)).await
        })
    }
}

impl Place {
    /// Runs until the link is lost, and says why.
    async fn go(&mut self, intake: &mut Intake) -> LinkLost {
        let Place { net, devices } = self;
        if let (Transport::Udp, Devices::Messages(_, messages)) = (net.transport, &devices) {
            return datagrams(net, messages, intake).await;
        }
        let connection = match connect(net).await {
            Ok(c) => c,
            Err(lost) => return lost,
        };
        intake.link(None, LinkState::Up, format!("{} connected, tcp", net.address));
        let name = &net.address;
        match devices {
            Devices::Modbus(list) => Client::new(Wire::new(connection, name, door::modbus()), list, intake).run().await,
            // The writing half is kept, for dropping it would close the connection; nothing reaches it.
            Devices::Messages(device, messages) if device.queries.is_empty() => {
                let (reading, _writing) = split(connection);
                listen(&mut Wire::silent(reading, name), DEVICE, messages, net.quiet(), intake).await
            }
            Devices::Messages(device, messages) => {
                let mut wire = Wire::new(connection, name, door::listed(&device.queries));
                ask(&mut wire, DEVICE, device, messages, intake).await
            }
        }
    }
}

async fn connect(net: &Net) -> Result<TcpStream, LinkLost> {
    let late = || io::Error::new(io::ErrorKind::TimedOut, "no connection within 5 s");
    let made = timeout(CONNECT_LIMIT, TcpStream::connect(&net.address)).await.unwrap_or_else(|_| Err(late()));
    let connection = made.map_err(|e| LinkLost(why(net, &e)))?;
    // Queries are short and answered one by one: waiting for more to send only makes them late.
    connection.set_nodelay(true).map_err(|e| LinkLost(why(net, &e)))?;
    Ok(connection)
}

/// Hands over what datagrams say until the socket fails. Of others than the wanted sender nothing is taken.
async fn datagrams(net: &Net, messages: &Messages, intake: &mut Intake) -> LinkLost {
    let socket = match UdpSocket::bind(&net.address).await {
        Ok(s) => s,
        Err(e) => return LinkLost(why(net, &e)),
    };
    let from = net.from.map_or_else(String::new, |ip| format!(", from {ip} only"));
    intake.link(None, LinkState::Up, format!("{} listened on, udp{from}", net.address));
    let mut listener = Listener::new(DEVICE, messages);
    let mut buffer = vec![0; LONGEST_DATAGRAM];
    loop {
        match socket.recv_from(&mut buffer).await {
            Ok((n, sender)) if net.from.is_none_or(|ip| ip == sender.ip().to_canonical()) => {
                listener.take_datagram(intake.now(), &buffer[..n], intake);
            }
            Ok(_) => {}
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return LinkLost(format!("{}: reading failed: {e}", net.address)),
        }
    }
}
