//! The byte stream: one way in, one way out.

use crate::door;
use plugin_api::{Intake, LinkLost};
use std::io;
use std::time::Duration;
use stream::EventTime;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::time::{Instant, timeout, timeout_at};

/// A port that takes nothing for so long is as good as lost: eight bytes always fit a working one.
const WRITE_LIMIT: Duration = Duration::from_secs(1);

/// An open port and the bytes read from it that are not sorted yet.
pub(crate) struct Wire<P> {
    port: P,
    /// The path, for messages.
    name: String,
    /// Bytes not sorted yet.
    pub(crate) bytes: Vec<u8>,
    /// Event time right after the latest read.
    pub(crate) read_at: EventTime,
    /// When bytes last moved, either way.
    pub(crate) moved: Instant,
}

impl<P: AsyncRead + AsyncWrite + Unpin> Wire<P> {
    pub(crate) fn new(port: P, name: &str) -> Wire<P> {
        Wire { port, name: name.to_owned(), bytes: Vec::new(), read_at: EventTime(0), moved: Instant::now() }
    }

    /// Reads what comes until then; false where nothing came. Takes what is there even when the time is over.
    pub(crate) async fn more(&mut self, until: Instant, intake: &Intake) -> Result<bool, LinkLost> {
        let mut chunk = [0; 1024];
        match timeout_at(until, self.port.read(&mut chunk)).await {
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

    /// Writes one read request, past the last door.
    pub(crate) async fn send(&mut self, request: &[u8]) -> Result<(), LinkLost> {
        let request = door::check(request).map_err(|e| self.lost(&e.to_string()))?;
        match timeout(WRITE_LIMIT, self.port.write_all(request)).await {
            Ok(Ok(())) => {
                self.moved = Instant::now();
                Ok(())
            }
            Ok(Err(e)) => Err(self.lost(&format!("writing failed: {e}"))),
            Err(_) => Err(self.lost("it takes no bytes (is another program holding it, or flow control on?)")),
        }
    }

    fn lost(&self, what: &str) -> LinkLost {
        LinkLost(format!("{}: {what}", self.name))
    }
}
