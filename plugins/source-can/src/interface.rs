//! What the kernel says about an interface, and the rules that follow from it.
//!
//! Sources: rtnetlink(7), netlink(7), linux/if_link.h, linux/can/netlink.h (Linux 6.1).

use crate::bus_error::BusState;
use crate::options::check_name;
use crate::sys::netlink;

/// What the kernel says about an interface (an `RTM_NEWLINK` message).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Interface {
    /// Its number; a deleted and created one of the same name has another.
    pub(crate) index: u32,
    pub(crate) name: String,
    /// Kind of hardware (`ARPHRD_*`).
    pub(crate) hardware: u16,
    /// `IFF_UP`.
    pub(crate) up: bool,
    /// The driver class: vcan, vxcan, can; empty where the kernel gives none.
    pub(crate) kind: String,
    /// 16 = classic frames only, 72 = CAN FD too.
    pub(crate) mtu: u32,
    pub(crate) bitrate: Option<u32>,
    pub(crate) data_bitrate: Option<u32>,
    pub(crate) state: Option<BusState>,
    /// `None` where there is no controller.
    pub(crate) listen_only: Option<bool>,
    /// Frames that the kernel dropped before any socket saw them.
    pub(crate) dropped: u64,
    /// Overruns of the controller: at least one frame each.
    pub(crate) overruns: u64,
}

/// An interface that nothing can be said about.
#[derive(Debug, thiserror::Error)]
pub enum InterfaceError {
    /// Not a name at all.
    #[error("{0}")]
    Name(String),
    /// No such interface.
    #[error("{0} does not exist: connect its adapter, or see `ip link` for the names")]
    Missing(String),
    /// The kernel could not be asked.
    #[error("cannot ask the kernel about {0}: {1}")]
    System(String, std::io::Error),
    /// The kernel's answer was of no use.
    #[error("cannot ask the kernel about {0}: {1}")]
    Answer(String, AnswerError),
}

/// An answer of the kernel that is of no use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AnswerError {
    /// The kernel refused; ENODEV = no such interface.
    #[error("the kernel answered with error {0}")]
    Refused(i32),
    /// Shorter than it says it is.
    #[error("the kernel's answer is cut off: {have} bytes where {need} are announced")]
    CutOff {
        /// Bytes announced.
        need: usize,
        /// Bytes there.
        have: usize,
    },
    /// Not an answer to the question.
    #[error("the kernel answered with message type {0}, not RTM_NEWLINK")]
    OtherMessage(u16),
}

const HEADER: usize = 16;
const IFINFO: usize = 16;
const ATTRIBUTE: usize = 4;

impl Interface {
    /// Asks the kernel about the interface with this name.
    pub(crate) fn find(name: &str) -> Result<Interface, InterfaceError> {
        check_name(name).map_err(InterfaceError::Name)?;
        let answer = netlink::ask_about(name).map_err(|e| InterfaceError::System(name.into(), e))?;
        Interface::parse(&answer).map_err(|e| match e {
            AnswerError::Refused(libc::ENODEV) => InterfaceError::Missing(name.into()),
            e => InterfaceError::Answer(name.into(), e),
        })
    }

    /// Reads one netlink message: the answer to `RTM_GETLINK`.
    pub(crate) fn parse(message: &[u8]) -> Result<Interface, AnswerError> {
        let length = u32_at(message, 0).ok_or(cut_off(HEADER, message))? as usize;
        let kind = u16_at(message, 4).ok_or(cut_off(HEADER, message))?;
        let body = message.get(HEADER..length).ok_or(cut_off(length.max(HEADER), message))?;
        match i32::from(kind) {
            libc::NLMSG_ERROR => {
                let code = u32_at(body, 0).ok_or(cut_off(HEADER + 4, message))? as i32;
                return Err(AnswerError::Refused(code.saturating_neg()));
            }
            k if k == i32::from(libc::RTM_NEWLINK) => {}
            _ => return Err(AnswerError::OtherMessage(kind)),
        }
        if body.len() < IFINFO {
            return Err(cut_off(HEADER + IFINFO, message));
        }
        let mut i = Interface {
            hardware: u16_at(body, 2).unwrap_or(0),
            index: u32_at(body, 4).unwrap_or(0),
            up: u32_at(body, 8).is_some_and(|flags| flags & libc::IFF_UP as u32 != 0),
            ..Interface::default()
        };
        for_each_attribute(&body[IFINFO..], |kind, value| {
            match kind {
                libc::IFLA_IFNAME => i.name = text(value),
                libc::IFLA_MTU => i.mtu = u32_at(value, 0).unwrap_or(0),
                libc::IFLA_STATS64 => {
                    // struct rtnl_link_stats64: rx_dropped is its 7th number, rx_over_errors its 12th.
                    i.dropped = u64_at(value, 6 * 8).unwrap_or(0);
                    i.overruns = u64_at(value, 11 * 8).unwrap_or(0);
                }
                libc::IFLA_LINKINFO => return i.link_info(value),
                _ => {}
            }
            Ok(())
        })?;
        Ok(i)
    }

    fn link_info(&mut self, nest: &[u8]) -> Result<(), AnswerError> {
        for_each_attribute(nest, |kind, value| {
            match kind {
                libc::IFLA_INFO_KIND => self.kind = text(value),
                // Its content is of the driver class named just before; only "can" has a controller.
                libc::IFLA_INFO_DATA if self.kind == "can" => return self.controller(value),
                _ => {}
            }
            Ok(())
        })
    }

    fn controller(&mut self, nest: &[u8]) -> Result<(), AnswerError> {
        for_each_attribute(nest, |kind, value| {
            // Each structure starts with the number that is wanted, ctrlmode with a mask before it.
            let number = u32_at(value, 0);
            match i32::from(kind) {
                libc::IFLA_CAN_BITTIMING => self.bitrate = number.filter(|b| *b != 0),
                libc::IFLA_CAN_DATA_BITTIMING => self.data_bitrate = number.filter(|b| *b != 0),
                libc::IFLA_CAN_STATE => self.state = number.and_then(BusState::from_number),
                libc::IFLA_CAN_CTRLMODE => {
                    self.listen_only = u32_at(value, 4).map(|f| f & libc::CAN_CTRLMODE_LISTENONLY != 0);
                }
                _ => {}
            }
            Ok(())
        })
    }

    /// Whether there is no bus behind it.
    pub(crate) fn is_virtual(&self) -> bool {
        self.kind == "vcan" || self.kind == "vxcan"
    }

    pub(crate) fn is_can(&self) -> bool {
        self.hardware == libc::ARPHRD_CAN
    }

    /// Whether frames may be received from it, or why not and what to do.
    pub(crate) fn admit(&self, acknowledges: bool) -> Result<(), String> {
        let name = &self.name;
        if !self.is_can() {
            return Err(format!("{name} is not a CAN interface"));
        }
        if !self.is_virtual() && self.listen_only != Some(true) && !acknowledges {
            let bitrate = self.bitrate.map_or("BITRATE".into(), |b| b.to_string());
            return Err(format!(
                "{name} is not in listen-only mode and would acknowledge frames on the bus; set the mode with: ip link \
                 set {name} down; ip link set {name} type can bitrate {bitrate} listen-only on; ip link set {name} up; \
                 or allow it with acknowledges = true"
            ));
        }
        if !self.up {
            return Err(self.down());
        }
        Ok(())
    }

    /// That it is down, and what to do.
    pub(crate) fn down(&self) -> String {
        format!("{0} is down: ip link set {0} up", self.name)
    }

    /// Frames lost before any socket saw them: at least as many.
    pub(crate) fn lost(&self) -> u64 {
        self.dropped.saturating_add(self.overruns)
    }

    /// What it is, for a person.
    pub(crate) fn words(&self) -> String {
        let mut words = vec![if self.kind.is_empty() { "no driver class".into() } else { self.kind.clone() }];
        words.push(if self.is_virtual() { "virtual" } else { "real" }.into());
        match self.listen_only {
            Some(true) => words.push("listen-only".into()),
            _ if self.is_virtual() => {}
            Some(false) => words.push("not listen-only".into()),
            None => words.push("listen-only unknown".into()),
        }
        words.extend(self.bitrate.map(|b| format!("{b} bit/s")));
        words.extend(self.data_bitrate.map(|b| format!("data {b} bit/s")));
        words.extend(self.state.map(|s| s.word().into()));
        words.push(if self.has_fd() { "classic and FD" } else { "classic" }.into());
        words.join(", ")
    }

    pub(crate) fn has_fd(&self) -> bool {
        self.mtu >= libc::CANFD_MTU as u32
    }
}

fn cut_off(need: usize, message: &[u8]) -> AnswerError {
    AnswerError::CutOff { need, have: message.len() }
}

/// Walks over attributes: length and type, u16 each, then the value, padded to 4 bytes.
fn for_each_attribute(
    mut bytes: &[u8],
    mut each: impl FnMut(u16, &[u8]) -> Result<(), AnswerError>,
) -> Result<(), AnswerError> {
    while let (Some(length), Some(kind)) = (u16_at(bytes, 0), u16_at(bytes, 2)) {
        let length = usize::from(length);
        let value = bytes.get(ATTRIBUTE..length).ok_or(cut_off(length.max(ATTRIBUTE), bytes))?;
        // The two top bits say "nested" and "network order".
        each(kind & 0x3FFF, value)?;
        bytes = bytes.get(length.next_multiple_of(4)..).unwrap_or(&[]);
    }
    if bytes.is_empty() { Ok(()) } else { Err(cut_off(ATTRIBUTE, bytes)) }
}

fn text(value: &[u8]) -> String {
    String::from_utf8_lossy(value.split(|b| *b == 0).next().unwrap_or(&[])).into_owned()
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    bytes.get(at..)?.first_chunk().map(|b| u16::from_ne_bytes(*b))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..)?.first_chunk().map(|b| u32::from_ne_bytes(*b))
}

fn u64_at(bytes: &[u8], at: usize) -> Option<u64> {
    bytes.get(at..)?.first_chunk().map(|b| u64::from_ne_bytes(*b))
}

#[cfg(test)]
#[path = "interface/tests.rs"]
mod tests;
