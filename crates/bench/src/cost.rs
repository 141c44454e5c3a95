//! What a stretch of work cost.

use crate::Figures;
use rustix::time::{ClockId, clock_gettime};
use std::time::Instant;

/// A stretch of work being measured.
pub(crate) struct Stretch {
    wall: Instant,
    cpu_s: f64,
}

/// What it cost.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cost {
    /// Processor time of all threads, user and system.
    pub(crate) cpu_s: f64,
    wall_s: f64,
}

impl Stretch {
    pub(crate) fn start() -> Stretch {
        Stretch { wall: Instant::now(), cpu_s: cpu_s() }
    }

    pub(crate) fn stop(self) -> Cost {
        Cost { cpu_s: cpu_s() - self.cpu_s, wall_s: self.wall.elapsed().as_secs_f64() }
    }
}

impl Cost {
    /// The fields of a line: per piece of work in `name` (`ns_per_frame`), and the sums.
    pub(crate) fn figures(self, name: &str, pieces: u64) -> Figures {
        let mut f = Figures::new();
        f.insert(name.to_owned(), (self.cpu_s * 1e9 / pieces.max(1) as f64).into());
        f.insert("cpu_s".to_owned(), self.cpu_s.into());
        f.insert("wall_s".to_owned(), self.wall_s.into());
        if let Some(mb) = peak_memory_mb() {
            f.insert("max_rss_mb".to_owned(), mb.into());
        }
        f
    }
}

fn cpu_s() -> f64 {
    let t = clock_gettime(ClockId::ProcessCPUTime);
    t.tv_sec as f64 + t.tv_nsec as f64 / 1e9
}

/// The most memory this process has had resident so far, in 2^20 bytes. What its parent had does not count, as it
/// would in the figure of `getrusage`.
fn peak_memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    let kib: f64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib / 1024.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_and_memory_are_seen() {
        let before = peak_memory_mb().unwrap();
        let stretch = Stretch::start();
        let filled = std::hint::black_box(vec![1u8; 64 << 20]);
        let cost = stretch.stop();
        assert!(peak_memory_mb().unwrap() > before + 32.0);
        assert!(cost.cpu_s > 0.0 && cost.wall_s > 0.0, "{cost:?}");
        let per = cost.figures("ns_per_byte", filled.len() as u64)["ns_per_byte"].as_f64().unwrap();
        assert!((per * filled.len() as f64 / 1e9 / cost.cpu_s - 1.0).abs() < 1e-9);
    }
}
