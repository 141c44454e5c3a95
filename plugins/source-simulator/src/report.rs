//! What the rig has sent and what it has injected, to be held against what the program has seen.

use crate::script::{RigDevice, RigLine};

/// The counts of one instrument.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Requests understood (Modbus), or lines due (hygrometer).
    pub asked: u64,
    /// Answers or lines sent in time and undamaged.
    pub good: u64,
    /// Answers sent with a wrong checksum.
    pub wrong_crc: u64,
    /// Answers or lines sent too late on purpose.
    pub late: u64,
    /// Answers or lines left out on purpose.
    pub silent: u64,
    /// Times noise was put on the line before an answer or line.
    pub noise: u64,
    /// Exceptions answered.
    pub exceptions: u64,
    /// Answers or lines that found nobody listening.
    pub unsent: u64,
}

/// What the rig has done so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RigReport {
    /// Simulated seconds since the start.
    pub seconds: f64,
    /// Address 1 of the Modbus line.
    pub thermocouples: Counts,
    /// Address 2 of the Modbus line.
    pub pressures: Counts,
    /// The text line.
    pub hygrometer: Counts,
    /// Bytes on the Modbus line that were no request with a right checksum: how many times.
    pub bad_requests: u64,
    /// How often the Modbus line was unplugged.
    pub unplugged_thermocouples: u64,
    /// How often the hygrometer was unplugged.
    pub unplugged_hygrometer: u64,
    /// CAN frames sent.
    pub can_frames: u64,
    /// CAN frames that found nobody listening or no room.
    pub can_unsent: u64,
    /// What went wrong in the rig itself, in words; empty when nothing did.
    pub trouble: Vec<String>,
}

impl RigReport {
    /// The counts of an instrument.
    pub fn device(&self, device: RigDevice) -> &Counts {
        match device {
            RigDevice::Thermocouples => &self.thermocouples,
            RigDevice::Pressures => &self.pressures,
            RigDevice::Hygrometer => &self.hygrometer,
        }
    }

    pub(crate) fn device_mut(&mut self, device: RigDevice) -> &mut Counts {
        match device {
            RigDevice::Thermocouples => &mut self.thermocouples,
            RigDevice::Pressures => &mut self.pressures,
            RigDevice::Hygrometer => &mut self.hygrometer,
        }
    }

    /// How often a line was unplugged.
    pub fn unplugged(&self, line: RigLine) -> u64 {
        match line {
            RigLine::Thermocouples => self.unplugged_thermocouples,
            RigLine::Hygrometer => self.unplugged_hygrometer,
        }
    }

    pub(crate) fn count_unplugged(&mut self, line: RigLine) {
        match line {
            RigLine::Thermocouples => self.unplugged_thermocouples += 1,
            RigLine::Hygrometer => self.unplugged_hygrometer += 1,
        }
    }

    /// Keeps what went wrong; a fault that repeats is kept once.
    pub(crate) fn count_trouble(&mut self, what: String) {
        if self.trouble.len() < 16 && !self.trouble.contains(&what) {
            self.trouble.push(what);
        }
    }
}
