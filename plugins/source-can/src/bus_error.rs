//! Error frames: what a controller says about itself and the bus.
//!
//! Source: the Linux header linux/can/error.h (classes in the id, details in the eight data bytes), Linux 6.1.

/// The error state of a controller (ISO 11898-1 fault confinement), as enum can_state of linux/can/netlink.h
/// numbers it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BusState {
    /// Error counters below 96.
    Active,
    /// An error counter at 96 or more.
    Warning,
    /// An error counter at 128 or more: the controller no longer marks errors for others.
    Passive,
    /// The controller has left the bus: nothing is received.
    BusOff,
    /// The controller is stopped.
    Stopped,
    /// The controller sleeps.
    Sleeping,
}

impl BusState {
    /// The state with this number in `IFLA_CAN_STATE`.
    pub fn from_number(n: u32) -> Option<BusState> {
        use BusState::*;
        [Active, Warning, Passive, BusOff, Stopped, Sleeping].get(n as usize).copied()
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            BusState::Active => "error-active",
            BusState::Warning => "error-warning",
            BusState::Passive => "error-passive",
            BusState::BusOff => "bus-off",
            BusState::Stopped => "stopped",
            BusState::Sleeping => "sleeping",
        }
    }
}

/// What an error frame says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BusError {
    /// The state the controller is in now, where the frame says so.
    pub state: Option<BusState>,
    /// Everything it says, in words.
    pub words: String,
    /// Whether it says anything but the state.
    pub more: bool,
}

const CONTROLLER: u32 = 0x04;
const PROTOCOL: u32 = 0x08;
const BUS_OFF: u32 = 0x40;
const RESTARTED: u32 = 0x100;
const COUNTERS: u32 = 0x200;

/// Classes that say no more than their bit; the others have details in the data.
const CLASSES: [(u32, &str); 9] = [
    (0x01, "transmit time-out"),
    (0x02, "lost arbitration"),
    (PROTOCOL, "protocol violation"),
    (0x10, "transceiver trouble"),
    (0x20, "no acknowledgement"),
    (BUS_OFF, "bus-off"),
    (0x80, "bus error"),
    (RESTARTED, "controller restarted"),
    (CONTROLLER, "controller"),
];

/// Bits of data byte 1 (class controller); true = a state.
const CONTROLLER_BITS: [(u8, &str, bool); 7] = [
    (0x01, "receive buffer overflow", false),
    (0x02, "transmit buffer overflow", false),
    (0x04, "receive error warning", true),
    (0x08, "transmit error warning", true),
    (0x10, "receive error-passive", true),
    (0x20, "transmit error-passive", true),
    (0x40, "error-active again", true),
];

/// Bits of data byte 2 (class protocol).
const PROTOCOL_BITS: [(u8, &str); 8] = [
    (0x01, "single bit"),
    (0x02, "frame format"),
    (0x04, "bit stuffing"),
    (0x08, "dominant bit not sent"),
    (0x10, "recessive bit not sent"),
    (0x20, "overload"),
    (0x40, "active error flag"),
    (0x80, "while transmitting"),
];

/// Decodes an error frame: its id (the flag bit does not matter) and its data.
pub fn decode(id: u32, data: &[u8; 8]) -> BusError {
    let class = id & libc::CAN_ERR_MASK;
    let controller = if class & CONTROLLER != 0 { data[1] } else { 0 };
    let state = match () {
        () if class & BUS_OFF != 0 => Some(BusState::BusOff),
        () if class & RESTARTED != 0 => Some(BusState::Active),
        () if controller & 0x30 != 0 => Some(BusState::Passive),
        () if controller & 0x0C != 0 => Some(BusState::Warning),
        () if controller & 0x40 != 0 => Some(BusState::Active),
        () => None,
    };
    let mut words: Vec<String> = Vec::new();
    for (bit, word) in CLASSES.into_iter().filter(|(bit, _)| class & bit != 0) {
        words.push(match bit {
            CONTROLLER => bits(word, CONTROLLER_BITS.iter().filter(|b| controller & b.0 != 0).map(|b| b.1)),
            PROTOCOL => bits(word, PROTOCOL_BITS.iter().filter(|b| data[2] & b.0 != 0).map(|b| b.1)),
            _ => word.into(),
        });
    }
    if class & COUNTERS != 0 {
        words.push(format!("error counters: transmit {}, receive {}", data[6], data[7]));
    }
    let states: u8 = CONTROLLER_BITS.iter().filter(|b| b.2).map(|b| b.0).sum();
    let only_state = class & !(CONTROLLER | BUS_OFF | RESTARTED | COUNTERS) == 0 && controller & !states == 0;
    if words.is_empty() {
        words.push(format!("error class {class:#x}"));
    }
    BusError { state, words: words.join("; "), more: state.is_none() || !only_state }
}

fn bits<'a>(class: &str, set: impl Iterator<Item = &'a str>) -> String {
    let set: Vec<&str> = set.collect();
    if set.is_empty() { class.into() } else { format!("{class}: {}", set.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(id: u32, data: [u8; 8], state: Option<BusState>, more: bool, words: &str) {
        let e = decode(id | libc::CAN_ERR_FLAG, &data);
        assert_eq!((e.state, e.more, e.words.as_str()), (state, more, words), "{id:#x} {data:x?}");
    }

    /// Bit by bit after linux/can/error.h.
    #[test]
    fn error_frames_by_the_header() {
        use BusState::*;
        let crtl = |b| [0, b, 0, 0, 0, 0, 0, 0];
        check(0x40, [0; 8], Some(BusOff), false, "bus-off");
        check(0x100, [0; 8], Some(Active), false, "controller restarted");
        check(0x04, crtl(0x04), Some(Warning), false, "controller: receive error warning");
        check(0x04, crtl(0x08), Some(Warning), false, "controller: transmit error warning");
        check(0x04, crtl(0x10), Some(Passive), false, "controller: receive error-passive");
        check(
            0x04,
            crtl(0x2C),
            Some(Passive),
            false,
            "controller: receive error warning, transmit error warning, transmit error-passive",
        );
        check(0x04, crtl(0x40), Some(Active), false, "controller: error-active again");
        check(0x04, crtl(0x01), None, true, "controller: receive buffer overflow");
        check(0x04, crtl(0x05), Some(Warning), true, "controller: receive buffer overflow, receive error warning");
        check(0x04, crtl(0x00), None, true, "controller");
        check(
            0x44,
            crtl(0x30),
            Some(BusOff),
            false,
            "bus-off; controller: receive error-passive, transmit error-passive",
        );
        check(0x140, [0; 8], Some(BusOff), false, "bus-off; controller restarted");
        check(0x01, [0; 8], None, true, "transmit time-out");
        check(0x02, [5, 0, 0, 0, 0, 0, 0, 0], None, true, "lost arbitration");
        check(
            0x88,
            [0, 0, 0x84, 0x0A, 0, 0, 0, 0],
            None,
            true,
            "protocol violation: bit stuffing, while transmitting; bus error",
        );
        check(0x10, [0, 0, 0, 0, 4, 0, 0, 0], None, true, "transceiver trouble");
        check(0x20, [0; 8], None, true, "no acknowledgement");
        check(
            0x204,
            [0, 0x10, 0, 0, 0, 0, 12, 130],
            Some(Passive),
            false,
            "controller: receive error-passive; error counters: transmit 12, receive 130",
        );
        check(
            0x8C,
            [0, 0x20, 0, 0, 0, 0, 0, 0],
            Some(Passive),
            true,
            "protocol violation; bus error; controller: transmit error-passive",
        );
        check(0, [0; 8], None, true, "error class 0x0");
        check(0x1000_0000, [0xFF; 8], None, true, "error class 0x10000000");
    }

    /// Data of another class is no state: byte 1 counts only with class controller.
    #[test]
    fn data_of_another_class_is_no_state() {
        check(0x02, [0, 0x30, 0, 0, 0, 0, 0, 0], None, true, "lost arbitration");
    }

    #[test]
    fn states_by_number() {
        let words: Vec<_> = (0..7).map(|n| BusState::from_number(n).map(BusState::word)).collect();
        let expected = ["error-active", "error-warning", "error-passive", "bus-off", "stopped", "sleeping"];
        assert_eq!(words[..6], expected.map(Some));
        assert_eq!(words[6], None);
    }
}
