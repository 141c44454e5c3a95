//! What happens during a run: to the unit, and to the lines between it and the program.

/// What happens to the unit, in seconds of simulated time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Script {
    /// The flow control valve begins to open; until then the unit rests at ambient.
    pub flow_opens: f64,
    /// How long it takes to open, s.
    pub opening_time: f64,
    /// The ram door begins to be blocked.
    pub ram_blocked: f64,
    /// It begins to be free again.
    pub ram_free: f64,
    /// What is left of the ram door's area while blocked, 0 to 1.
    pub ram_area_blocked: f64,
}

impl Default for Script {
    /// One minute that shows everything: rest, start, steady, a short blockage of the ram door, recovery.
    fn default() -> Script {
        Script { flow_opens: 4.0, opening_time: 4.0, ram_blocked: 24.0, ram_free: 36.0, ram_area_blocked: 0.45 }
    }
}

/// How long the ram door takes from free to blocked and back, s.
const BLOCKING_TIME: f64 = 1.0;

impl Script {
    /// Position of the flow control valve, 0 to 1.
    pub fn flow_valve(&self, t: f64) -> f64 {
        ramp(t, self.flow_opens, self.opening_time)
    }

    /// Free area of the ram door, 0 to 1.
    pub fn ram_area(&self, t: f64) -> f64 {
        let blocked = ramp(t, self.ram_blocked, BLOCKING_TIME) - ramp(t, self.ram_free, BLOCKING_TIME);
        1.0 - blocked * (1.0 - self.ram_area_blocked)
    }
}

/// 0 before `from`, 1 after `from + length`, straight between.
fn ramp(t: f64, from: f64, length: f64) -> f64 {
    ((t - from) / length.max(1e-9)).clamp(0.0, 1.0)
}

/// A line of the rig.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RigLine {
    /// The Modbus RTU line with the thermocouple and pressure modules: link name `thermocouples`.
    Thermocouples,
    /// The text line of the hygrometer: link name `hygrometer`.
    Hygrometer,
}

impl RigLine {
    /// The name of its link in the rig's folder.
    pub fn link_name(self) -> &'static str {
        match self {
            RigLine::Thermocouples => "thermocouples",
            RigLine::Hygrometer => "hygrometer",
        }
    }
}

/// An instrument of the rig.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RigDevice {
    /// Address 1 on the Modbus line: eight temperatures.
    Thermocouples,
    /// Address 2 on the Modbus line: eight pressures.
    Pressures,
    /// The text line.
    Hygrometer,
}

impl RigDevice {
    /// The line it is on.
    pub fn line(self) -> RigLine {
        match self {
            RigDevice::Thermocouples | RigDevice::Pressures => RigLine::Thermocouples,
            RigDevice::Hygrometer => RigLine::Hygrometer,
        }
    }
}

/// A fault between instrument and program. Times are simulated seconds.
#[derive(Clone, Debug, PartialEq)]
pub enum RigFault {
    /// The device says nothing for so long.
    Silence {
        /// Which.
        device: RigDevice,
        /// How long, s.
        seconds: f64,
    },
    /// The next answer of a Modbus device carries a wrong checksum.
    WrongCrc {
        /// Which.
        device: RigDevice,
    },
    /// The next answer (or line) comes so much later.
    LateAnswer {
        /// Which.
        device: RigDevice,
        /// How late, s.
        seconds: f64,
    },
    /// These bytes appear on the line before the device's next answer (or line).
    Noise {
        /// Which.
        device: RigDevice,
        /// The bytes.
        bytes: Vec<u8>,
    },
    /// The line is unplugged and comes back on another terminal under the same link.
    Unplug {
        /// Which.
        line: RigLine,
        /// For how long, s.
        seconds: f64,
    },
}

impl RigFault {
    /// The line it happens on.
    pub fn line(&self) -> RigLine {
        match self {
            RigFault::Unplug { line, .. } => *line,
            RigFault::Silence { device, .. }
            | RigFault::WrongCrc { device }
            | RigFault::LateAnswer { device, .. }
            | RigFault::Noise { device, .. } => device.line(),
        }
    }

    /// The faults of the default demonstration: one wrong checksum, one late answer, one pulled plug.
    pub fn demonstration() -> Vec<(f64, RigFault)> {
        vec![
            (14.0, RigFault::WrongCrc { device: RigDevice::Thermocouples }),
            (17.0, RigFault::LateAnswer { device: RigDevice::Pressures, seconds: 0.55 }),
            (43.0, RigFault::Unplug { line: RigLine::Hygrometer, seconds: 4.0 }),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_minute_opens_blocks_and_recovers() {
        let s = Script::default();
        assert_eq!((s.flow_valve(0.0), s.flow_valve(6.0), s.flow_valve(60.0)), (0.0, 0.5, 1.0));
        assert_eq!(s.ram_area(20.0), 1.0);
        assert!((s.ram_area(30.0) - s.ram_area_blocked).abs() < 1e-12);
        assert_eq!(s.ram_area(40.0), 1.0);
    }
}
