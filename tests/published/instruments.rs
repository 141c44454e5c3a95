//! Sensors against published values: one module per source, source and case beside each check.

mod instruments_iec_60584_1;
mod instruments_iec_60751;
mod instruments_nist_monograph_175;
