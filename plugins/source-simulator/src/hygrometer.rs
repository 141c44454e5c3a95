//! The hygrometer: a line of text every half second, asked or not.

use crate::faults::Faults;
use crate::pty::Pty;
use crate::script::{RigDevice, RigLine};
use crate::signals::hygrometer_line;
use crate::world::World;
use decode::text::TextFormat;
use std::io;
use std::path::Path;

/// Time between two lines, s.
const PERIOD: f64 = 0.5;

/// Sends lines until the rig is stopped.
pub(crate) fn serve(world: &World, link: &Path, first: Pty, mut faults: Faults, format: &TextFormat) -> io::Result<()> {
    let device = RigDevice::Hygrometer;
    let mut pty = first;
    let mut due = world.now();
    loop {
        world.wait_until(due);
        if world.is_stopping() {
            return Ok(());
        }
        if let Some(until) = faults.due(world.now()) {
            drop(pty);
            world.note(|r| r.count_unplugged(RigLine::Hygrometer));
            world.wait_until(until);
            pty = Pty::open(link)?;
            due = world.now() + PERIOD;
            continue;
        }
        // What was due while it could not be sent is not made up for.
        due = (due + PERIOD).max(world.now());
        world.note(|r| r.hygrometer.asked += 1);
        let line = match hygrometer_line(format, &world.sensed()) {
            Ok(line) => line + "\r\n",
            Err(e) => {
                world.note(|r| r.count_trouble(e.to_string()));
                continue;
            }
        };
        let pending = faults.of(device);
        if world.now() < pending.silent_until {
            world.note(|r| r.hygrometer.silent += 1);
            continue;
        }
        if !pending.noise.is_empty() {
            let sent = pty.write(&pending.noise.remove(0))?;
            world.note(|r| r.hygrometer.noise += u64::from(sent));
        }
        let late = (!pending.late.is_empty()).then(|| pending.late.remove(0));
        if let Some(seconds) = late {
            world.wait_until(world.now() + seconds);
        }
        let sent = pty.write(line.as_bytes())?;
        world.note(|r| {
            let c = r.device_mut(device);
            *(match (sent, late) {
                (false, _) => &mut c.unsent,
                (true, Some(_)) => &mut c.late,
                (true, None) => &mut c.good,
            }) += 1;
        });
    }
}
