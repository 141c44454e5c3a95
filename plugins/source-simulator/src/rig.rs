//! The instruments of the demonstration, each on a thread of its own.

use crate::can_out::{CanOut, Sender};
use crate::faults::Faults;
use crate::pack::Pack;
use crate::pty::Pty;
use crate::report::RigReport;
use crate::script::{RigDevice, RigFault, RigLine, Script};
use crate::world::World;
use crate::{hygrometer, modbus_line, signals};
use decode::can::CanDatabase;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::thread::JoinHandle;

/// What a rig is started with.
#[derive(Clone, Debug)]
pub struct RigOptions {
    /// The folder in which the links `thermocouples` and `hygrometer` are made; made itself where it is not there.
    pub folder: PathBuf,
    /// How many times faster than real time the simulated time runs: above 0, at most 1000.
    pub pace: f64,
    /// Where the noise begins.
    pub seed: u64,
    /// Where CAN frames go.
    pub can: CanOut,
    /// What happens to the unit.
    pub script: Script,
    /// What happens on the lines, by simulated seconds since the start.
    pub faults: Vec<(f64, RigFault)>,
}

impl RigOptions {
    /// The default demonstration in this folder, in real time.
    pub fn demonstration(folder: PathBuf, can: CanOut) -> RigOptions {
        let faults = RigFault::demonstration();
        RigOptions { folder, pace: 1.0, seed: 1, can, script: Script::default(), faults }
    }
}

/// Why a rig cannot be started.
#[derive(Debug, thiserror::Error)]
pub enum RigError {
    /// A pace that time cannot run at.
    #[error("a pace of {0} is refused: it must be above 0 and at most 1000")]
    Pace(f64),
    /// A fault that its device cannot have.
    #[error("the scripted fault at {at} s is refused: {why}")]
    Fault {
        /// When it is scripted.
        at: f64,
        /// Why not.
        why: &'static str,
    },
    /// The folder, a terminal, a link, a socket or a thread could not be had.
    #[error("{what}: {source}")]
    Io {
        /// What was tried.
        what: String,
        /// What the system said.
        source: io::Error,
    },
    /// The database or line format of the demonstration itself does not load.
    #[error("the demonstration's own {what} does not load: {why}; please report this")]
    Own {
        /// Which.
        what: &'static str,
        /// What is wrong.
        why: String,
    },
}

/// The running instruments. Dropping it stops them too.
pub struct Rig {
    world: Arc<World>,
    threads: Vec<(&'static str, JoinHandle<io::Result<()>>)>,
}

impl Rig {
    /// Makes the terminals and links, then starts the instruments. When it returns, the links are there.
    ///
    /// # Errors
    /// See [`RigError`]; nothing is left running then.
    pub fn start(options: RigOptions) -> Result<Rig, RigError> {
        check(&options)?;
        let own = |what| move |why: String| RigError::Own { what, why };
        let database =
            CanDatabase::load(signals::DATABASE, "demo-pack.dbc").map_err(|e| own("database")(e.to_string()));
        let database = database?;
        let format = signals::hygrometer_format().map_err(|e| own("line format")(e.to_string()))?;
        std::fs::create_dir_all(&options.folder).map_err(io_error("the folder", options.folder.display()))?;
        let open = |line: RigLine| {
            let link = options.folder.join(line.link_name());
            let pty = Pty::open(&link).map_err(io_error("a pseudo-terminal under", link.display()))?;
            let faults = options.faults.iter().filter(|(_, f)| f.line() == line).cloned().collect();
            Ok::<_, RigError>((link, pty, Faults::new(faults)))
        };
        let (modbus_link, modbus_pty, modbus_faults) = open(RigLine::Thermocouples)?;
        let (text_link, text_pty, text_faults) = open(RigLine::Hygrometer)?;
        let sender = Sender::open(&options.can).map_err(io_error("a way out for CAN frames", "socket"))?;

        let world = Arc::new(World::new(Pack::with_script(options.seed, options.script), options.pace));
        let mut rig = Rig { world, threads: Vec::new() };
        rig.spawn("modbus", move |w| modbus_line::serve(w, &modbus_link, modbus_pty, modbus_faults))?;
        rig.spawn("hygrometer", move |w| hygrometer::serve(w, &text_link, text_pty, text_faults, &format))?;
        if let Some(sender) = sender {
            rig.spawn("can", move |w| send_frames(w, &database, &sender))?;
        }
        Ok(rig)
    }

    /// Simulated seconds since the start.
    pub fn now(&self) -> f64 {
        self.world.now()
    }

    /// What it has done so far.
    pub fn report(&self) -> RigReport {
        self.world.report()
    }

    /// Stops the instruments, hangs up their terminals, removes the links and says what was done.
    pub fn stop(mut self) -> RigReport {
        self.join();
        self.world.report()
    }

    fn spawn(
        &mut self,
        name: &'static str,
        body: impl FnOnce(&World) -> io::Result<()> + Send + 'static,
    ) -> Result<(), RigError> {
        let world = self.world.clone();
        let thread = std::thread::Builder::new().name(format!("rig-{name}")).spawn(move || body(&world));
        self.threads.push((name, thread.map_err(io_error("a thread for", name))?));
        Ok(())
    }

    fn join(&mut self) {
        self.world.stop();
        for (name, thread) in self.threads.drain(..) {
            let trouble = match thread.join() {
                Ok(Ok(())) => continue,
                Ok(Err(e)) => format!("{name}: {e}"),
                Err(_) => format!("{name}: its thread panicked; please report this"),
            };
            self.world.note(|r| r.count_trouble(trouble));
        }
    }
}

impl Drop for Rig {
    fn drop(&mut self) {
        self.join();
    }
}

fn check(options: &RigOptions) -> Result<(), RigError> {
    if !(options.pace > 0.0 && options.pace <= 1000.0) {
        return Err(RigError::Pace(options.pace));
    }
    for (at, fault) in &options.faults {
        let refuse = |why| Err(RigError::Fault { at: *at, why });
        let seconds = match fault {
            RigFault::WrongCrc { device: RigDevice::Hygrometer } => return refuse("its lines carry no checksum"),
            RigFault::Silence { seconds, .. }
            | RigFault::LateAnswer { seconds, .. }
            | RigFault::Unplug { seconds, .. } => *seconds,
            RigFault::WrongCrc { .. } | RigFault::Noise { .. } => 0.0,
        };
        if !at.is_finite() || !seconds.is_finite() || *at < 0.0 || seconds < 0.0 {
            return refuse("its times must be finite and not negative");
        }
    }
    Ok(())
}

fn io_error(what: &str, which: impl std::fmt::Display) -> impl FnOnce(io::Error) -> RigError {
    let what = format!("{what} {which}");
    move |source| RigError::Io { what, source }
}

/// Sends what is due every hundredth of a second until the rig is stopped.
fn send_frames(world: &World, database: &CanDatabase, sender: &Sender) -> io::Result<()> {
    for tick in 0u64.. {
        world.wait_until(tick as f64 * 0.01);
        if world.is_stopping() {
            break;
        }
        let frames = match signals::frames(database, &world.sensed(), tick) {
            Ok(frames) => frames,
            Err(e) => {
                world.note(|r| r.count_trouble(e.to_string()));
                continue;
            }
        };
        for frame in &frames {
            let sent = sender.send(frame)?;
            world.note(|r| *(if sent { &mut r.can_frames } else { &mut r.can_unsent }) += 1);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
