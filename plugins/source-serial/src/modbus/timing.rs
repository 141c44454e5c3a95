//! Silences and transmission times, as durations to wait.

use crate::options::Line;
use decode::modbus::frame_silence_ns;
use plugin_api::Intake;
use std::time::Duration;

/// Times of a line; shortened where the demonstration runs fast.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Timing {
    /// One character.
    character: Duration,
    /// Silence before a request.
    pub(crate) silence: Duration,
    /// A line that never falls silent for so long is asked all the same.
    pub(crate) babble: Duration,
}

impl Timing {
    pub(crate) fn new(line: &Line, intake: &Intake) -> Timing {
        let bits = line.character_bits();
        let character = Duration::from_secs_f64(f64::from(bits) / f64::from(line.baud.max(1)));
        let silence = Duration::from_nanos(frame_silence_ns(line.baud, bits).unwrap_or(0)) + line.gap();
        Timing {
            character: intake.scaled(character),
            silence: intake.scaled(silence),
            babble: intake.scaled(Duration::from_secs(1)),
        }
    }

    /// So many characters.
    pub(crate) fn characters(&self, n: usize) -> Duration {
        self.character * u32::try_from(n).unwrap_or(u32::MAX)
    }
}
