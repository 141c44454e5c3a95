//! Listening to the sources of a run while they speak. Nothing is recorded.

use super::Listening;
use crate::error::Error;
use crate::load::{Assembled, SourceSpec};
use pipeline::Plan;
use plugin_api::{Clock, Counters};
use runtime::{Outcome, Run, RunSetup, SourceSlot, Timing};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, sync_channel};
use stream::{LogEntry, OperatorAction};

/// Blocks of entries that may wait.
const WAITING: usize = 1024;

/// A run that is listened to.
pub struct Live {
    run: Run,
    entries: Receiver<Arc<Vec<LogEntry>>>,
    listening: Listening,
    counters: Arc<Counters>,
}

/// What was heard, and how the run went.
pub struct LiveEnd {
    /// What was heard.
    pub listening: Listening,
    /// How the run went.
    pub outcome: Outcome,
}

impl Live {
    /// Starts the sources of a run as `record` would, without a recording and without metrics.
    ///
    /// # Errors
    /// Where a plugin refuses, the channel is not there, or a thread cannot be started.
    pub fn start(
        assembled: Assembled,
        with: Option<&str>,
        clock: Arc<dyn Clock>,
        timing: Timing,
    ) -> Result<Live, Error> {
        let Assembled { plan, sources, .. } = assembled;
        let listening = Listening::new(&plan, with)?;
        let mut slots = Vec::new();
        for s in sources {
            let SourceSpec::Live { plugin, setup, queue } = s else {
                return Err(Error::Refused("only live sources can be listened to live".to_owned()));
            };
            let source = (plugin.build)(&setup)?;
            slots.push(SourceSlot { plugin, setup, source, queue });
        }
        let counters = Arc::new(Counters::new(&plan.layout));
        let (tap, entries) = sync_channel(WAITING);
        let setup = RunSetup {
            plan,
            sources: slots,
            sinks: Vec::new(),
            log: None,
            tap: Some(tap),
            listener: None,
            clock,
            counters: Arc::clone(&counters),
            timing,
        };
        Ok(Live { run: Run::start(setup)?, entries, listening, counters })
    }

    /// Takes what has come since.
    pub fn hear(&mut self) -> &Listening {
        for block in self.entries.try_iter() {
            block.iter().for_each(|e| self.listening.push(e));
        }
        &self.listening
    }

    /// The plan.
    pub fn plan(&self) -> &Arc<Plan> {
        self.listening.plan()
    }

    /// What is counted.
    pub fn counters(&self) -> &Arc<Counters> {
        &self.counters
    }

    /// Hands over what an operator did; false where too much waits already.
    pub fn operator(&self, action: OperatorAction) -> bool {
        self.run.operator(action)
    }

    /// Whether the run has come to its end by itself, which is a failure.
    pub fn is_over(&self) -> bool {
        self.run.is_over()
    }

    /// Stops in order.
    pub fn stop(self) -> LiveEnd {
        let Live { run, entries, mut listening, .. } = self;
        let outcome = run.stop();
        for block in entries.try_iter() {
            block.iter().for_each(|e| listening.push(e));
        }
        LiveEnd { listening, outcome }
    }
}
