//! The source: opens the link, waits for it where it is not there, receives, watches the interface.

use crate::interface::{Interface, InterfaceError};
use crate::line::Line;
use crate::link::{self, Link, Watched};
use crate::options::{CanOptions, Place};
use crate::sys::socket::{AWAITED, BATCH, Batch, Socket};
use plugin_api::{Intake, LinkLost, Source};
use std::future::Future;
use std::io;
use std::pin::{Pin, pin};
use std::time::Duration;
use stream::{EventTime, LinkState};
use tokio::io::unix::AsyncFd;
use tokio::time::{MissedTickBehavior, interval, sleep};

/// How often the interface is looked at: a deleted interface is never heard of again through the old socket.
const WATCH: Duration = Duration::from_millis(500);
/// How many system calls may empty the receive buffer when the link ends: more than the largest usual buffer holds.
const LAST_BATCHES: usize = 1024;

/// A CAN source.
pub(crate) struct CanSource {
    options: CanOptions,
    place: Place,
    /// Why the link is not up, as it was said last; said once.
    said: String,
}

impl CanSource {
    pub(crate) fn new(options: CanOptions, place: Place) -> CanSource {
        CanSource { options, place, said: String::new() }
    }

    async fn go(&mut self, intake: &mut Intake) -> Result<(), LinkLost> {
        let mut stopped = pin!(intake.stopped());
        let (link, opened) = loop {
            let before = intake.now();
            match link::open(&self.options, &self.place) {
                Ok(link) => break (link, before),
                Err(why) if why != self.said => {
                    intake.link(None, LinkState::Down, &why);
                    self.said = why;
                }
                Err(_) => {}
            }
            tokio::select! {
                () = &mut stopped => return Ok(()),
                () = sleep(WATCH) => {}
            }
        };
        self.said.clear();
        let result = match Receiver::new(link, opened, intake) {
            Ok(mut receiver) => receiver.receive(intake, stopped).await,
            Err(e) => Err(LinkLost(format!("cannot wait for frames of {}: {e}", self.options.interface))),
        };
        if let Err(lost) = &result {
            self.said.clone_from(&lost.0);
        }
        result
    }
}

impl Source for CanSource {
    fn run<'a>(&'a mut self, intake: &'a mut Intake) -> Pin<Box<dyn Future<Output = Result<(), LinkLost>> + 'a>> {
        Box::pin(self.go(intake))
    }
}

/// A link that is up.
struct Receiver {
    socket: AsyncFd<Socket>,
    batch: Batch,
    line: Line,
    watched: Watched,
    /// Whether the last call took all there was.
    emptied: bool,
    looked: EventTime,
}

impl Receiver {
    fn new(link: Link, opened: EventTime, intake: &mut Intake) -> io::Result<Receiver> {
        let Link { socket, detail, watched } = link;
        let socket = socket.awaited()?;
        intake.link(None, LinkState::Up, detail);
        let mut line = Line::new(opened, matches!(watched, Watched::Interface(_)));
        if let Watched::Interface(Interface { state: Some(state), .. }) = watched {
            line.bus_state(intake, state, "as found");
        }
        Ok(Receiver { socket, batch: Batch::new(), line, watched, emptied: true, looked: opened })
    }

    async fn receive(
        &mut self,
        intake: &mut Intake,
        mut stopped: Pin<&mut impl Future<Output = ()>>,
    ) -> Result<(), LinkLost> {
        let mut watch = interval(WATCH);
        watch.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let result = loop {
            tokio::select! {
                biased;
                () = &mut stopped => break Ok(()),
                _ = watch.tick() => {
                    if let Err(lost) = self.look(intake) {
                        break Err(lost);
                    }
                }
                received = self.socket.async_io(AWAITED, |s| s.receive(&mut self.batch)) => match received {
                    Ok(()) => self.take(intake),
                    Err(e) => break Err(self.lost(&e)),
                },
            }
        };
        self.finish(intake);
        result
    }

    fn take(&mut self, intake: &mut Intake) {
        let mut count = 0;
        for frame in self.batch.frames() {
            self.line.take(intake, &frame);
            count += 1;
        }
        self.emptied = count < BATCH;
    }

    /// Takes what the kernel still holds; an error of the socket is told before frames received earlier.
    fn finish(&mut self, intake: &mut Intake) {
        for _ in 0..LAST_BATCHES {
            match self.socket.get_ref().receive(&mut self.batch) {
                Ok(()) => self.take(intake),
                Err(e) if e.kind() == io::ErrorKind::WouldBlock => {
                    self.emptied = true;
                    break;
                }
                Err(_) => {}
            }
        }
        self.count_drops(intake);
        self.line.close(intake);
    }

    fn lost(&self, e: &io::Error) -> LinkLost {
        LinkLost(match (&self.watched, e.raw_os_error()) {
            (Watched::Interface(i), Some(libc::ENETDOWN)) => i.down(),
            (Watched::Interface(i), Some(libc::ENODEV | libc::ENXIO)) => {
                InterfaceError::Missing(i.name.clone()).to_string()
            }
            (Watched::Interface(i), _) => format!("cannot receive from {}: {e}", i.name),
            (Watched::File(f), _) => format!("cannot receive from {}: {e}", f.path().display()),
        })
    }

    /// Looks at the interface, its counters and its state.
    fn look(&mut self, intake: &mut Intake) -> Result<(), LinkLost> {
        self.line.tick(intake);
        self.count_drops(intake);
        let before = match &self.watched {
            Watched::File(f) if !f.path().exists() => {
                return Err(LinkLost(format!("the socket {} was removed", f.path().display())));
            }
            Watched::File(_) => return Ok(()),
            Watched::Interface(before) => before,
        };
        let now = match Interface::find(&before.name) {
            Ok(now) if now.index != before.index => {
                return Err(LinkLost(format!("{} was deleted and made anew", before.name)));
            }
            Ok(now) if !now.up => return Err(LinkLost(now.down())),
            Ok(now) => now,
            Err(e @ InterfaceError::Missing(_)) => return Err(LinkLost(e.to_string())),
            Err(e) => {
                // The socket itself tells most of it; what it does not tell is looked for again.
                tracing::warn!("{e}");
                return Ok(());
            }
        };
        self.line.interface_counters(intake, before, &now, self.looked);
        self.looked = intake.now();
        if let Some(state) = now.state {
            self.line.bus_state(intake, state, "");
        }
        self.watched = Watched::Interface(now);
        Ok(())
    }

    /// The socket's own count, to notice what was lost after the last frame that came.
    fn count_drops(&mut self, intake: &mut Intake) {
        if let (Watched::Interface(_), true, Ok(total)) = (&self.watched, self.emptied, self.socket.get_ref().drops()) {
            self.line.drop_counter(intake, total);
        }
    }
}
