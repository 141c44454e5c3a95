//! The Modbus RTU polling master.
//!
//! # Why a late answer never becomes another register's value
//! An RTU answer carries no transaction number. It names device, function and byte count; two requests that agree in
//! these have answers that no one can tell apart. What is assumed: a device answers requests in the order in which
//! they came, each at most once (a master must wait for the answer, so a device has no reason to do otherwise:
//! common practice, no source), perhaps late, perhaps never; and on the way an answer may be damaged, repeated or
//! lost. Then:
//! 1. A request is sent only when no earlier one to that device can still be answered, or when its answer differs
//!    in shape (function, byte count) from all that can.
//! 2. After a time-out or a useless answer the line is kept silent until the device's worst answer time is over;
//!    what comes is recorded as a fault.
//! 3. Then the device is *suspect*: it is asked a [`probe`], whose answer is never used as a value. Its shape differs
//!    from every answer still owed, so when it comes, those before it will not come any more. Where shapes cannot
//!    differ (single registers), silence is kept for the worst answer time once more instead.
//! 4. An answer with the very bytes of an earlier answer to *another* request may be a repetition that came late. The
//!    same request is asked again; the value is used only if the answer is the same again.
//!
//! Not covered, since the protocol gives no means: a device that answers out of order; a single-register device
//! whose answers come later than twice the worst answer time; a repetition that comes later than the worst answer
//! time; several faults at once around a repetition (the true answer damaged or late as well, and the repeated bytes
//! not seen before, or seen long ago); a repetition late by a whole poll while its register changed in between.
//!
//! * [`master`]: the schedule   * [`exchange`]: one request, one answer   * [`suspicion`]: probes and second askings
//! * [`device`]: what is known of a device   * [`probe`]: choosing the probe   * [`timing`]: silences

mod device;
mod exchange;
mod master;
mod probe;
mod suspicion;
mod timing;

pub(crate) use device::Device;
pub(crate) use master::Master;
pub(crate) use timing::Timing;

#[cfg(test)]
mod tests;
