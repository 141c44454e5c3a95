//! Exchangers, flow meters, the standard atmosphere and figures of the rules against published values: one module per
//! source.
//!
//! Case numbers (HX-…, IN-…, RG-…, CV-…) are those of the project's list of validation cases; the tolerance of each is
//! the case's. RG-05 (ozone as an average over three hours) has no formula here: it is a limit over a window of time.

#![allow(clippy::unwrap_used)]

mod atmosphere_ashrae;
mod atmosphere_us_1976;
mod exchangers_ht;
mod exchangers_incropera;
mod exchangers_kays_london;
mod exchangers_lienhard;
mod exchangers_mitchell_braun;
mod flow_iso_5167;
mod rules_cs_25_and_14_cfr_25;
