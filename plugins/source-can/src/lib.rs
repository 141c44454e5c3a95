//! CAN: frames of a SocketCAN interface, classic and FD, as they are received.
//!
//! * [`options`]: what a run file says about it
//! * [`bus_error`]: what error frames say
//! * `interface`: what the kernel says about an interface, and the rules: real ones in listen-only mode
//! * `filter`: identifiers that a run asks the kernel to let through
//! * `image`: the kernel's image of a frame
//! * `link`: opening an interface or a local socket
//! * `line`: received frames to records, faults, gaps and link changes
//! * `source`: the loop that receives and watches
//! * `sys`: the system calls, the one module with `unsafe`
//!
//! **Invariant:** nothing is ever sent on a CAN socket: the type that holds one can only receive. Frames are handed
//! over undecoded, and unfiltered unless the run asks for a filter; error frames are never data.
#![warn(missing_docs)]

pub mod bus_error;
mod filter;
mod image;
mod interface;
mod line;
mod link;
pub mod options;
mod source;
#[allow(unsafe_code)]
mod sys;

pub use interface::{AnswerError, InterfaceError};

use interface::Interface;
use options::{CanOptions, Place};
use plugin_api::{Carries, ConfigError, Port, Source, SourcePlugin, SourceSetup};

/// The plugin.
pub static PLUGIN: SourcePlugin = SourcePlugin {
    kind: "can",
    summary: "CAN and CAN FD frames of a SocketCAN interface, received and never sent",
    carries: Carries::CanFrames,
    schema: || schemars::schema_for!(CanOptions).to_value(),
    build,
    probe,
    list,
};

/// Whether an interface is virtual: no bus behind it. Only on such a one may a demonstration send.
///
/// # Errors
/// An interface that does not exist or that the kernel says nothing of use about.
pub fn is_virtual(interface: &str) -> Result<bool, InterfaceError> {
    Interface::find(interface).map(|i| i.is_virtual())
}

fn build(setup: &SourceSetup) -> Result<Box<dyn Source>, ConfigError> {
    let (options, place) = options::read(setup)?;
    Ok(Box::new(source::CanSource::new(options, place)))
}

fn probe(setup: &SourceSetup) -> Result<Port, ConfigError> {
    let (options, place) = options::read(setup)?;
    Ok(match place {
        Place::Local(path) => {
            let openable = link::probe_local(&path);
            Port { name: options.interface, detail: "local link, no bus".into(), openable }
        }
        Place::Interface(name) => match link::kernel_has_can() {
            Ok(()) => port(&name, options.acknowledges),
            Err(why) => Port { name, detail: String::new(), openable: Err(why) },
        },
    })
}

fn port(name: &str, acknowledges: bool) -> Port {
    match Interface::find(name) {
        Ok(i) => Port { name: name.into(), detail: i.words(), openable: i.admit(acknowledges) },
        Err(e) => Port { name: name.into(), detail: String::new(), openable: Err(e.to_string()) },
    }
}

/// Every CAN interface; none where the kernel has no CAN.
fn list() -> Vec<Port> {
    if let Err(why) = link::kernel_has_can() {
        tracing::info!("{why}");
        return Vec::new();
    }
    let names = std::fs::read_dir("/sys/class/net").into_iter().flatten().flatten();
    let mut names: Vec<String> = names
        .filter(|entry| {
            let hardware = std::fs::read_to_string(entry.path().join("type"));
            hardware.is_ok_and(|h| h.trim() == libc::ARPHRD_CAN.to_string())
        })
        .filter_map(|entry| entry.file_name().into_string().ok())
        .collect();
    names.sort();
    names.iter().map(|name| port(name, false)).collect()
}
