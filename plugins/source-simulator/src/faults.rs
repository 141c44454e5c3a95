//! The scripted faults of one line: which are due, and which wait for their device's next answer.

use crate::script::{RigDevice, RigFault};
use std::collections::BTreeMap;

/// What the next answer of a device suffers, and until when it is silent.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Pending {
    pub(crate) silent_until: f64,
    pub(crate) wrong_crc: u32,
    pub(crate) late: Vec<f64>,
    pub(crate) noise: Vec<Vec<u8>>,
}

/// The faults of one line, in the order of their times.
#[derive(Clone, Debug)]
pub(crate) struct Faults {
    script: Vec<(f64, RigFault)>,
    next: usize,
    devices: BTreeMap<RigDevice, Pending>,
}

impl Faults {
    pub(crate) fn new(mut script: Vec<(f64, RigFault)>) -> Faults {
        script.sort_by(|a, b| a.0.total_cmp(&b.0));
        Faults { script, next: 0, devices: BTreeMap::new() }
    }

    /// Takes what is due by `now`; returns until when the line is unplugged, if it is to be.
    pub(crate) fn due(&mut self, now: f64) -> Option<f64> {
        while let Some((at, fault)) = self.script.get(self.next).filter(|(at, _)| *at <= now) {
            self.next += 1;
            match fault {
                RigFault::Unplug { seconds, .. } => return Some(at + seconds),
                RigFault::Silence { device, seconds } => {
                    let d = self.devices.entry(*device).or_default();
                    d.silent_until = d.silent_until.max(at + seconds);
                }
                RigFault::WrongCrc { device } => self.devices.entry(*device).or_default().wrong_crc += 1,
                RigFault::LateAnswer { device, seconds } => {
                    self.devices.entry(*device).or_default().late.push(*seconds);
                }
                RigFault::Noise { device, bytes } => {
                    self.devices.entry(*device).or_default().noise.push(bytes.clone());
                }
            }
        }
        None
    }

    /// What waits for a device.
    pub(crate) fn of(&mut self, device: RigDevice) -> &mut Pending {
        self.devices.entry(device).or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::RigLine;

    #[test]
    fn each_fault_is_due_once_and_in_order() {
        let d = RigDevice::Pressures;
        let mut f = Faults::new(vec![
            (5.0, RigFault::Unplug { line: RigLine::Thermocouples, seconds: 2.0 }),
            (1.0, RigFault::WrongCrc { device: d }),
            (1.0, RigFault::Silence { device: d, seconds: 3.0 }),
            (6.0, RigFault::LateAnswer { device: d, seconds: 0.5 }),
        ]);
        assert_eq!(f.due(0.9), None);
        assert_eq!(f.of(d).wrong_crc, 0);
        assert_eq!(f.due(1.0), None);
        assert_eq!((f.of(d).wrong_crc, f.of(d).silent_until), (1, 4.0));
        assert_eq!(f.due(9.0), Some(7.0));
        assert_eq!(f.due(9.0), None);
        assert_eq!(f.of(d).late, [0.5]);
    }
}
