//! Configuration -> plan -> a run, a replay, a salvage: everything put together, for the program and the tests.
//!
//! * [`registry`]: the one list of plugins
//! * [`files`], [`config`], [`problem`]: texts, their structs, what is wrong in them and where
//! * [`load`]: configuration -> plan
//! * [`sensors`]: what the channels' sensors are and how their calibration stands; [`affected`]: what used one
//! * [`record`]: a live run
//! * [`replay`]: recordings and captures through the same core; [`what_if`]: other limits on a recording;
//!   [`compare`], [`merge`], [`assign`], [`clock`],
//!   [`rename`]
//! * [`align`]: a proposal for the clock of another recorder, which nothing applies by itself
//! * [`salvage`]: what a crash left -> a complete recording
//! * [`listen`]: every word on the lines of a run, for what is not mapped yet
//! * [`point`]: readings taken by hand
//! * [`demo`], [`check`], [`understood`], [`shortfalls`], [`explain`], [`starter`], [`schema`]: what the program
//!   offers beside
//!
//! **Invariant:** only this crate names plugins. Nothing here computes a result of a run.
#![forbid(unsafe_code)]

pub mod affected;
pub mod align;
pub mod assign;
pub mod check;
pub mod clock;
pub mod compare;
pub mod config;
pub mod demo;
pub mod error;
pub mod explain;
pub mod files;
pub mod listen;
pub mod load;
pub mod merge;
mod nearest;
pub mod point;
pub mod problem;
pub mod record;
pub mod registry;
pub mod rename;
pub mod replay;
pub mod salvage;
pub mod schema;
pub mod sensors;
pub mod shortfalls;
pub mod starter;
pub mod understood;
pub mod what_if;

pub use error::Error;
