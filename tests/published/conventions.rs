//! Conventions that trip people: the wrong way gives the stated wrong figure, the right way the right one.
//!
//! Numbers (CV-…) are those of the project's list; source and inputs are those of the cases named beside each.

mod encodings;
mod humidity;
mod machines;
mod ram_and_exchangers;
