//! Opens the port, again and again, and runs what belongs on it.

use crate::door;
use crate::modbus::{Device, Master, Timing};
use crate::options::{self, Devices, Line};
use crate::overheard::Overheard;
use crate::ports;
use plugin_api::asking::ask;
use plugin_api::messages::listen;
use plugin_api::{ConfigError, DeviceSetup, Intake, LinkLost, Messages, Source, SourceSetup, Wire, until_stopped};
use std::future::Future;
use std::pin::Pin;
use stream::LinkState;
use tokio::io::split;
use tokio_serial::SerialStream;

/// A serial line, across losses of its port.
struct SerialLine {
    line: Line,
    on_it: OnIt,
}

enum OnIt {
    Modbus(Vec<Device>),
    Overheard(Overheard),
    Messages(DeviceSetup, Messages),
}

/// The one instrument on a line of messages.
const DEVICE: u16 = 0;

pub(crate) fn build(setup: &SourceSetup) -> Result<Box<dyn Source>, ConfigError> {
    let (line, devices) = options::read(setup)?;
    let on_it = match devices {
        Devices::Modbus(list) => OnIt::Modbus(Device::all(&list)),
        Devices::Overheard { units, worst } => OnIt::Overheard(Overheard::new(units, worst)),
        Devices::Messages(device, messages) => OnIt::Messages(device, messages),
    };
    Ok(Box::new(SerialLine { line, on_it }))
}

impl Source for SerialLine {
    fn run<'a>(&'a mut self, intake: &'a mut Intake) -> Pin<Box<dyn Future<Output = Result<(), LinkLost>> + 'a>> {
        Box::pin(async move {
            let stopped = intake.stopped();
            until_stopped(stopped, self.go(intake)).await
        })
    }
}

impl SerialLine {
    /// Runs until the link is lost, and says why.
    async fn go(&mut self, intake: &mut Intake) -> LinkLost {
        let port = match open(&self.line) {
            Ok(port) => port,
            Err(lost) => return lost,
        };
        intake.link(None, LinkState::Up, self.opened());
        let name = &self.line.port;
        match &mut self.on_it {
            OnIt::Modbus(devices) => {
                let timing = Timing::new(&self.line, intake);
                Master::new(Wire::new(port, name, door::modbus()), intake, devices, timing).run().await
            }
            // The writing half is dropped: what is left cannot write.
            OnIt::Overheard(devices) => devices.run(&mut Wire::silent(split(port).0, name), intake).await,
            OnIt::Messages(device, messages) if device.queries.is_empty() => {
                listen(&mut Wire::silent(split(port).0, name), DEVICE, messages, None, intake).await
            }
            OnIt::Messages(device, messages) => {
                let mut wire = Wire::new(port, name, door::listed(&device.queries));
                ask(&mut wire, DEVICE, device, messages, intake).await
            }
        }
    }

    fn opened(&self) -> String {
        let l = &self.line;
        let parity = format!("{:?}", l.parity).to_lowercase();
        let name = ports::with_target(&l.port);
        let passive = if l.passive { ", only listened to" } else { "" };
        format!(
            "{name} opened, {} bit/s, {} data bits, parity {parity}, stop bits {}{passive}",
            l.baud, l.data_bits, l.stop_bits
        )
    }
}

fn open(line: &Line) -> Result<SerialStream, LinkLost> {
    let mut builder = tokio_serial::new(&line.port, line.baud).parity(line.parity.into());
    if let Some(bits) = options::data_bits(line.data_bits) {
        builder = builder.data_bits(bits);
    }
    if let Some(bits) = options::stop_bits(line.stop_bits) {
        builder = builder.stop_bits(bits);
    }
    SerialStream::open(&builder).map_err(|e| LinkLost(ports::why_not_opened(&line.port, &e.to_string())))
}

#[cfg(test)]
mod tests;
