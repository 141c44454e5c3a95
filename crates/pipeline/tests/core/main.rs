//! The core on plans and logs made by hand.
#![allow(clippy::unwrap_used)]

mod alignment;
mod judging;
mod properties;
mod rig;
mod time;
