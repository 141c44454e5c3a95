//! The CAN source on real SocketCAN sockets: virtual interfaces vcan0 (classic) and vcan1 (FD), two emulated
//! controllers can0 and can1. Run by tests/can-vm/run.sh in a virtual machine.
//!
//! Frames are sent only here, in the test, by another library, and only on virtual interfaces.
#![allow(clippy::unwrap_used, reason = "tests may panic")]

mod frames;
mod harness;
mod interfaces;
mod load;
