//! Opens the port, again and again, and runs what belongs on it.

use crate::modbus::{Device, Master, Timing};
use crate::options::{self, Devices, Line};
use crate::ports;
use crate::text;
use crate::wire::Wire;
use plugin_api::{ConfigError, Intake, LinkLost, Source, SourceSetup};
use std::future::Future;
use std::pin::Pin;
use stream::LinkState;
use tokio_serial::SerialStream;

/// A serial line, across losses of its port.
struct SerialLine {
    line: Line,
    on_it: OnIt,
}

enum OnIt {
    Modbus(Vec<Device>),
    Text { longest: usize },
}

pub(crate) fn build(setup: &SourceSetup) -> Result<Box<dyn Source>, ConfigError> {
    let (line, devices) = options::read(setup)?;
    let on_it = match devices {
        Devices::Modbus(list) => OnIt::Modbus(Device::all(&list)),
        Devices::Text { longest } => OnIt::Text { longest },
    };
    Ok(Box::new(SerialLine { line, on_it }))
}

impl Source for SerialLine {
    fn run<'a>(&'a mut self, intake: &'a mut Intake) -> Pin<Box<dyn Future<Output = Result<(), LinkLost>> + 'a>> {
        Box::pin(async move {
            let stopped = intake.stopped();
            tokio::select! {
                biased;
                () = stopped => Ok(()),
                lost = self.go(intake) => Err(lost),
            }
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
        let mut wire = Wire::new(port, &self.line.port);
        match &mut self.on_it {
            OnIt::Modbus(devices) => {
                let timing = Timing::new(&self.line, intake);
                Master::new(wire, intake, devices, timing).run().await
            }
            OnIt::Text { longest } => text::run(&mut wire, *longest, intake).await,
        }
    }

    fn opened(&self) -> String {
        let l = &self.line;
        let parity = format!("{:?}", l.parity).to_lowercase();
        let name = ports::with_target(&l.port);
        format!(
            "{name} opened, {} bit/s, {} data bits, parity {parity}, stop bits {}",
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
