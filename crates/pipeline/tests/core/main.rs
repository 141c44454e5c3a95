//! The core on plans and logs made by hand.

mod alignment;
mod judging;
mod properties;
mod rig;
mod time;
