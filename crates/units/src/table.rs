//! The units met in the trade, one row each.
use crate::Unit;
/// The unit table.
pub const UNITS: &[Unit] = &[];
