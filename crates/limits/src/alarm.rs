//! The life of an alarm: what became of it beside crossing and returning.
//!
//! A limit has two alarms, that it is crossed and that it has no data. Both are acknowledged, shelved and taken out of
//! service together. While they are hidden (shelved, suppressed by design, out of service) nothing is announced; the
//! limit itself goes on being judged, and what it does stays in the log. What waited for an acknowledgement when it was
//! hidden is taken as seen; what is there when it comes out of hiding is announced anew.
//!
//! The states are those of ISA-18.2 and IEC 62682 as public texts give them (from memory). Own rules, where those texts
//! leave it to the system: an acknowledgement before the return is kept over a lost value; a limit that crosses again
//! while latched must be acknowledged again; a reset does not acknowledge.

use crate::{Change, Limit};
use stream::{AlarmState, Alarms, EventTime};

/// The alarms of one limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Alarm {
    crossed: One,
    no_data: One,
    shelved_until: Option<EventTime>,
    suppressed: bool,
    out_of_service: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct One {
    there: bool,
    latched: bool,
    /// Announced and not yet acknowledged.
    waiting: bool,
}

impl Alarm {
    /// Where both stand.
    pub fn states(&self) -> Alarms {
        let hidden = if self.out_of_service {
            Some(AlarmState::OutOfService)
        } else if self.shelved_until.is_some() {
            Some(AlarmState::Shelved)
        } else {
            self.suppressed.then_some(AlarmState::SuppressedByDesign)
        };
        let state = |one: One| hidden.unwrap_or_else(|| one.state());
        Alarms { crossed: state(self.crossed), no_data: state(self.no_data) }
    }

    /// Whether nothing is announced.
    pub fn is_hidden(&self) -> bool {
        self.out_of_service || self.suppressed || self.shelved_until.is_some()
    }

    /// Whether another limit explains it.
    pub fn is_suppressed(&self) -> bool {
        self.suppressed
    }

    /// Until when it is shelved.
    pub fn shelved_until(&self) -> Option<EventTime> {
        self.shelved_until
    }

    /// The limit made a step or was reset, and this changed. Whether it is announced that it is crossed.
    pub fn follow(&mut self, limit: &Limit, change: Option<&Change>) -> bool {
        let hidden = self.is_hidden();
        let again = matches!(change, Some(Change::Crossed { .. }));
        self.no_data.step(limit.has_no_data(), false, false, hidden);
        self.crossed.step(limit.state().is_outside(), limit.is_latched(), again, hidden)
    }

    /// An operator has seen it. Whether something waited for that.
    pub fn acknowledge(&mut self) -> bool {
        let waiting = self.crossed.waiting || self.no_data.waiting;
        (self.crossed.waiting, self.no_data.waiting) = (false, false);
        waiting
    }

    /// An operator sets it aside until a moment.
    pub fn shelve(&mut self, until: EventTime) {
        self.hide(|a| a.shelved_until = Some(until));
    }

    /// An operator ends that. Whether it was shelved; and whether something is announced by it.
    pub fn unshelve(&mut self) -> (bool, bool) {
        let was = self.shelved_until.is_some();
        (was, self.hide(|a| a.shelved_until = None))
    }

    /// Time passes. Whether the shelving ended; and whether something is announced by that.
    pub fn pass(&mut self, time: EventTime) -> (bool, bool) {
        if self.shelved_until.is_some_and(|until| time >= until) { self.unshelve() } else { (false, false) }
    }

    /// Whether another limit explains it. Whether something is announced by that.
    pub fn suppress(&mut self, on: bool) -> bool {
        self.hide(|a| a.suppressed = on)
    }

    /// Maintenance takes it away or brings it back. Whether that changed something; and whether something is announced.
    pub fn take_out(&mut self, out: bool) -> (bool, bool) {
        (self.out_of_service != out, self.hide(|a| a.out_of_service = out))
    }

    /// Changes what hides it. Whether something is announced since it came out of hiding.
    fn hide(&mut self, change: impl FnOnce(&mut Alarm)) -> bool {
        let before = self.is_hidden();
        change(self);
        let after = self.is_hidden();
        if after {
            (self.crossed.waiting, self.no_data.waiting) = (false, false);
        } else if before {
            (self.crossed.waiting, self.no_data.waiting) = (self.crossed.there, self.no_data.there);
        }
        before && !after && (self.crossed.waiting || self.no_data.waiting)
    }
}

impl One {
    fn state(self) -> AlarmState {
        match (self.there, self.latched, self.waiting) {
            (false, _, false) => AlarmState::Normal,
            (false, _, true) => AlarmState::ReturnedUnacknowledged,
            (true, false, true) => AlarmState::Unacknowledged,
            (true, false, false) => AlarmState::Acknowledged,
            (true, true, true) => AlarmState::LatchedUnacknowledged,
            (true, true, false) => AlarmState::LatchedAcknowledged,
        }
    }

    fn step(&mut self, there: bool, latched: bool, again: bool, hidden: bool) -> bool {
        let raised = (there && !self.there) || again;
        (self.there, self.latched) = (there, latched);
        let announced = raised && !hidden;
        self.waiting |= announced;
        announced
    }
}
