//! What can be seen only from one sample of a channel to the next: a change too fast, no change for too long.

use crate::Channel;
use stream::{EventTime, Reading, Reason, Span};

/// A second: what a rate is a change in.
const SECOND: Span = Span::from_secs(1);

/// The memory of one channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Watch {
    /// The greatest believable change within a second, SI.
    rate: Option<f64>,
    frozen_after: Option<Span>,
    stale_after: Span,
    /// The value that changes are counted from: the newest believed one that was a second old when it was taken.
    anchor: Option<(EventTime, f64)>,
    /// The instrument's number, the first and the newest time it came with these bits.
    same: Option<(u64, EventTime, EventTime)>,
}

impl Watch {
    /// For a channel; `None` where it declares neither a rate nor a time after which it is frozen.
    pub fn new(channel: &Channel) -> Option<Watch> {
        let spec = channel.spec();
        let rate = spec.rate.map(|r| spec.unit.difference_to_si(r));
        (rate.is_some() || spec.frozen_after.is_some()).then_some(Watch {
            rate,
            frozen_after: spec.frozen_after,
            stale_after: spec.stale_after,
            anchor: None,
            same: None,
        })
    }

    /// Nothing of what came before counts any more: the link was down.
    pub fn forget(&mut self) {
        (self.anchor, self.same) = (None, None);
    }

    /// A sample: the instrument's number (`None`: it gave none) and the reading made of it.
    ///
    /// * no bit of the number changed for the channel's time, while numbers kept coming: uncertain (frozen)
    /// * further from what was last believed than a change of `rate` a second allows (a whole second is always
    ///   allowed, so that noise between fast samples is none): uncertain (rate), until the time that has passed
    ///   allows it
    ///
    /// A sample with an earlier time than one before is left as it is: it says nothing of a change. A reading that is
    /// not good is left as it is and not believed.
    #[inline]
    pub fn judge(&mut self, t: EventTime, raw: Option<f64>, reading: Reading) -> Reading {
        let frozen = self.frozen(t, raw);
        let Reading::Good(x) = reading else { return reading };
        let too_fast = self.too_fast(t, x);
        if frozen {
            Reading::Uncertain(x, Reason::Frozen)
        } else if too_fast {
            Reading::Uncertain(x, Reason::Rate)
        } else {
            reading
        }
    }

    fn frozen(&mut self, t: EventTime, raw: Option<f64>) -> bool {
        let Some(after) = self.frozen_after else { return false };
        let Some(bits) = raw.map(f64::to_bits) else {
            self.same = None;
            return false;
        };
        match &mut self.same {
            Some((_, _, newest)) if t < *newest => false,
            Some((same, since, newest)) if *same == bits && t - *newest <= self.stale_after => {
                *newest = t;
                t - *since >= after
            }
            other => {
                *other = Some((bits, t, t));
                false
            }
        }
    }

    fn too_fast(&mut self, t: EventTime, x: f64) -> bool {
        let Some(rate) = self.rate else { return false };
        let Some((t0, x0)) = self.anchor else {
            self.anchor = Some((t, x));
            return false;
        };
        let passed = t - t0;
        if passed < Span::ZERO {
            return false;
        }
        if (x - x0).abs() > rate * passed.max(SECOND).as_secs_f64() {
            return true;
        }
        if passed >= SECOND {
            self.anchor = Some((t, x));
        }
        false
    }
}

#[cfg(test)]
mod tests;
