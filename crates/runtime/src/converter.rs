//! Turns closed segments of the log into Parquet on a thread of its own, one after the other.

use recording::log::segment_to_parquet;
use recording::{ClosedSegment, Disk};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;

pub(crate) struct Converter {
    to: Option<Sender<ClosedSegment>>,
    thread: Option<JoinHandle<Vec<String>>>,
}

impl Converter {
    pub(crate) fn start(disk: Arc<dyn Disk>, folder: PathBuf, sources: Vec<String>) -> Converter {
        let (to, from) = channel::<ClosedSegment>();
        let thread = std::thread::Builder::new().name("log-parquet".to_owned()).spawn(move || {
            let convert = |c: ClosedSegment| segment_to_parquet(&disk, &folder, &c, &sources).err();
            from.into_iter().filter_map(convert).map(|e| format!("log segment to Parquet: {e}")).collect()
        });
        Converter { to: Some(to), thread: thread.ok() }
    }

    pub(crate) fn take(&self, closed: ClosedSegment) {
        if let Some(to) = &self.to
            && to.send(closed).is_err()
        {
            tracing::error!("the thread that turns log segments into Parquet is gone; it is done at the end");
        }
    }

    /// Waits for what is left; what went wrong, in words. A segment that was not converted is still there.
    pub(crate) fn finish(&mut self) -> Vec<String> {
        self.to = None;
        match self.thread.take().map(JoinHandle::join) {
            Some(Ok(troubles)) => troubles,
            Some(Err(_)) => vec!["turning log segments into Parquet panicked".to_owned()],
            None => vec!["no thread to turn log segments into Parquet".to_owned()],
        }
    }
}
