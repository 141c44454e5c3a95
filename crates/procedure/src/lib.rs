//! What a test does step by step, and what is read from it.
//!
//! * [`stroke`]: a valve's stroke and its slow sweep, from samples of command and position at full rate
//!
//! **Invariant:** results depend on the samples and the criteria given, on nothing else; what cannot be read from the
//! samples is refused with the reason, and no figure stands for it.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod stroke;
