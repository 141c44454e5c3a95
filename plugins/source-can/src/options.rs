//! The options of a CAN source.

use crate::filter::{self, Filter};
use plugin_api::{ConfigError, SourceSetup};
use schemars::JsonSchema;
use serde::Deserialize;
use std::path::PathBuf;

/// Options of a CAN source in a run file.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CanOptions {
    /// The interface, as `ip link` shows it ("can0"), or "unix:/path/of/a/socket": a local link without a bus, a
    /// Unix datagram socket made at that path, on which each datagram is one struct can_frame or canfd_frame.
    pub interface: String,
    /// Says that this program may take part in the bus: a real controller that is not in listen-only mode
    /// acknowledges every frame it receives. Without it such an interface is refused.
    #[serde(default)]
    pub acknowledges: bool,
    /// Whether CAN FD frames are received too, where the interface has them. A local link carries both kinds.
    #[serde(default = "yes")]
    pub fd: bool,
    /// The kernel's receive buffer for this source in bytes, 4096 to 1073741824. More than
    /// net.core.rmem_max needs the capability CAP_NET_ADMIN; what it came to is noted when the link comes up.
    #[serde(default = "receive_buffer")]
    pub receive_buffer: u32,
    /// Only frames with these identifiers are received, the kernel drops the others: "120" (three hexadecimal digits:
    /// 11 bits), "18FEF100" (eight: 29 bits), either with a mask of the bits that must agree: "18FEF100/1FFFFF00". What
    /// is not received is not recorded, and no later channel map can use it. Default: everything is received. Error
    /// frames always are.
    #[serde(default)]
    pub keep_only: Option<Vec<String>>,
}

fn yes() -> bool {
    true
}

fn receive_buffer() -> u32 {
    16 << 20
}

/// What the option `interface` names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// A network interface of the kernel.
    Interface(String),
    /// A Unix datagram socket to be made at this path.
    Local(PathBuf),
}

/// The longest path a Unix socket can have: `sun_path` less its closing zero.
const LONGEST_PATH: usize = 107;
/// The longest interface name: IFNAMSIZ less its closing zero.
const LONGEST_NAME: usize = 15;

/// What a run asks the kernel to let through; empty where it asks for nothing.
pub(crate) fn filters(options: &CanOptions) -> Result<Vec<Filter>, String> {
    options.keep_only.iter().flatten().map(|text| Filter::parse(text)).collect()
}

fn check_filters(setup: &SourceSetup, options: &CanOptions, place: &Place) -> Result<(), ConfigError> {
    let Some(list) = &options.keep_only else { return Ok(()) };
    let wrong = |what: String, help: &str| Err(ConfigError::new(what, help, setup.options.span_of("keep_only")));
    if matches!(place, Place::Local(_)) {
        return wrong("keep_only is for the kernel's interfaces; a local link has no filter".into(), "leave it out");
    }
    if list.is_empty() || list.len() > filter::MOST {
        let what = format!("keep_only has {} identifiers; 1 to {} are possible", list.len(), filter::MOST);
        return wrong(what, "leave it out to keep every frame");
    }
    match filters(options) {
        Ok(_) => Ok(()),
        Err(what) => wrong(
            format!("keep_only: {what}"),
            "write \"120\" for an 11-bit identifier, \"18FEF100\" for one of 29 bits, a mask as \"18FEF100/1FFFFF00\"",
        ),
    }
}

/// Reads and checks the options.
pub(crate) fn read(setup: &SourceSetup) -> Result<(CanOptions, Place), ConfigError> {
    let options: CanOptions = setup.options.read()?;
    let place = place(&options.interface)
        .map_err(|what| ConfigError::new(what, INTERFACE_HELP, setup.options.span_of("interface")))?;
    if !(4096..=1 << 30).contains(&options.receive_buffer) {
        return Err(ConfigError::new(
            format!("receive_buffer = {} is not between 4096 and 1073741824 bytes", options.receive_buffer),
            "16777216 holds about two seconds of 10 000 frames/s",
            setup.options.span_of("receive_buffer"),
        ));
    }
    check_filters(setup, &options, &place)?;
    if let Some(device) = setup.devices.first() {
        return Err(ConfigError::new(
            format!("a CAN source has no devices, but source {:?} lists {:?}", setup.name, device.name),
            "what is on a CAN bus is described by its database: remove the devices",
            None,
        ));
    }
    Ok((options, place))
}

const INTERFACE_HELP: &str =
    "write interface = \"can0\" (see `ip link`), or interface = \"unix:/path/of/a/socket\" for a local link";

fn place(interface: &str) -> Result<Place, String> {
    if let Some(path) = interface.strip_prefix("unix:") {
        return match path.len() {
            0 => Err("interface = \"unix:\" names no path".into()),
            1..=LONGEST_PATH if path.contains('\0') => Err("the path of interface holds a zero byte".into()),
            1..=LONGEST_PATH => Ok(Place::Local(path.into())),
            n => Err(format!("the path of interface has {n} bytes; a Unix socket's has at most {LONGEST_PATH}")),
        };
    }
    check_name(interface)?;
    Ok(Place::Interface(interface.into()))
}

/// The kernel's own rule for an interface name (`dev_valid_name` in net/core/dev.c; from memory).
pub(crate) fn check_name(name: &str) -> Result<(), String> {
    let odd = |c: char| c == '/' || c == ':' || c == '\0' || c.is_whitespace();
    match name.len() {
        0 => Err("interface is empty".into()),
        1..=LONGEST_NAME if name == "." || name == ".." || name.contains(odd) => {
            Err(format!("interface = {name:?} is no name of an interface"))
        }
        1..=LONGEST_NAME => Ok(()),
        n => Err(format!("interface = {name:?} has {n} bytes; an interface's name has at most {LONGEST_NAME}")),
    }
}
