//! A byte stream with one way in and one way out: what every line of bytes needs, whatever carries it.

use crate::intake::Intake;
use crate::source::LinkLost;
use std::io;
use std::time::Duration;
use stream::EventTime;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::time::{Instant, timeout, timeout_at};

/// A line that takes nothing for so long is as good as lost: a query always fits a working one.
const WRITE_LIMIT: Duration = Duration::from_secs(1);

/// Says what may be written: asked with the very bytes, right before they go out.
pub type Door = Box<dyn Fn(&[u8]) -> Result<(), String> + Send>;

/// An open line and the bytes read from it that are not sorted yet.
pub struct Wire<P> {
    line: P,
    name: String,
    door: Door,
    /// Bytes not sorted yet.
    pub bytes: Vec<u8>,
    /// Event time right after the latest read.
    pub read_at: EventTime,
    /// When bytes last moved, either way.
    pub moved: Instant,
}

impl<P> Wire<P> {
    /// An open line, its name for messages, and what may be written to it.
    pub fn new(line: P, name: &str, door: Door) -> Wire<P> {
        let name = name.to_owned();
        Wire { line, name, door, bytes: Vec::new(), read_at: EventTime(0), moved: Instant::now() }
    }

    /// A line that nothing may be written to.
    pub fn silent(line: P, name: &str) -> Wire<P> {
        Wire::new(line, name, Box::new(|_| Err("nothing is ever written to this line".to_owned())))
    }

    /// The link is lost, by its name.
    pub fn lost(&self, what: &str) -> LinkLost {
        LinkLost(format!("{}: {what}", self.name))
    }
}

impl<P: AsyncRead + Unpin> Wire<P> {
    /// Reads what comes until then; false where nothing came. Takes what is there even when the time is over.
    ///
    /// # Errors
    /// The far end is gone, or reading fails.
    pub async fn more(&mut self, until: Instant, intake: &Intake) -> Result<bool, LinkLost> {
        let mut chunk = [0; 1024];
        match timeout_at(until, self.line.read(&mut chunk)).await {
            Err(_) => Ok(false),
            Ok(Ok(0)) => Err(self.lost("the far end is gone (end of file)")),
            Ok(Ok(n)) => {
                self.read_at = intake.now();
                self.moved = Instant::now();
                self.bytes.extend_from_slice(&chunk[..n]);
                Ok(true)
            }
            Ok(Err(e)) if e.kind() == io::ErrorKind::Interrupted => Ok(true),
            Ok(Err(e)) => Err(self.lost(&format!("reading failed: {e}"))),
        }
    }
}

impl<P: AsyncWrite + Unpin> Wire<P> {
    /// Writes one query, past the door.
    ///
    /// # Errors
    /// The door refuses, the line takes nothing, or writing fails.
    pub async fn send(&mut self, query: &[u8]) -> Result<(), LinkLost> {
        (self.door)(query).map_err(|why| self.lost(&why))?;
        match timeout(WRITE_LIMIT, self.line.write_all(query)).await {
            Ok(Ok(())) => {
                self.moved = Instant::now();
                Ok(())
            }
            Ok(Err(e)) => Err(self.lost(&format!("writing failed: {e}"))),
            Err(_) => Err(self.lost("it takes no bytes (is another program holding it, or flow control on?)")),
        }
    }
}
