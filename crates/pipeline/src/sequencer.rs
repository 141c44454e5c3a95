//! Gives what arrives its one order. Pure: the time comes in with each call.

use stream::{EntryBody, EventTime, LogEntry, Span};

/// Numbers entries and stamps them so that neither number ever goes back.
#[derive(Debug)]
pub struct Sequencer {
    next: u64,
    last: Option<EventTime>,
    tick: Span,
}

impl Sequencer {
    /// A sequencer that writes a tick where nothing else came for `tick`.
    pub fn new(tick: Span) -> Sequencer {
        Sequencer { next: 0, last: None, tick }
    }

    /// Takes one thing that arrived at `now`.
    pub fn push(&mut self, body: EntryBody, now: EventTime) -> LogEntry {
        let logged_at = self.last.map_or(now, |l| l.max(now));
        let entry = LogEntry { ordinal: self.next, logged_at, body };
        self.last = Some(logged_at);
        self.next += 1;
        entry
    }

    /// A tick, if nothing was logged for long enough.
    pub fn tick(&mut self, now: EventTime) -> Option<LogEntry> {
        let due = self.last.is_none_or(|l| now - l >= self.tick);
        due.then(|| self.push(EntryBody::Tick, now))
    }

    /// The ordinal of the next entry.
    pub fn next_ordinal(&self) -> u64 {
        self.next
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neither_number_goes_back() {
        let mut s = Sequencer::new(Span::from_millis(100));
        let times = [5, 3, 7, i64::MIN, 7];
        let entries: Vec<_> = times.map(|t| s.push(EntryBody::Tick, EventTime(t))).into();
        let at: Vec<i64> = entries.iter().map(|e| e.logged_at.0).collect();
        assert_eq!(at, [5, 5, 7, 7, 7]);
        assert_eq!(entries.last().map(|e| e.ordinal), Some(4));
    }

    #[test]
    fn ticks_only_when_nothing_came() {
        let mut s = Sequencer::new(Span(100));
        assert!(s.tick(EventTime(0)).is_some());
        assert!(s.tick(EventTime(99)).is_none());
        assert!(s.tick(EventTime(100)).is_some());
    }
}
