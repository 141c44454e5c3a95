//! The core on plans and logs made by hand.
#![allow(clippy::unwrap_used)]

mod alignment;
mod judging;
mod limits_through_the_core;
mod properties;
mod quality;
mod rig;
mod time;
