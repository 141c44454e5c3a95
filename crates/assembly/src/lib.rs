//! Configuration -> plan -> a run, a replay, a salvage: everything put together, for the program and the tests.
//!
//! * [`registry`]: the one list of plugins
//! * [`files`], [`config`], [`problem`]: texts, their structs, what is wrong in them and where
//! * [`load`]: configuration -> plan
//!
//! **Invariant:** only this crate names plugins. Nothing here computes a result.
#![forbid(unsafe_code)]

pub mod config;
pub mod files;
pub mod load;
pub mod problem;
pub mod registry;
