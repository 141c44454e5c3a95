//! The limits of use of ISO 5167-2, -3 and -4:2003 (from memory; those of the orifice plate seen quoted in the
//! documentation of the library fluids).

use super::{Convergent, Device, Limits, Meter, Tapping};
use crate::domain::{DomainError, check};
use units::Real;

/// Whether a measurement lies within all limits of use, enforced or not; p2/p1 `None` for a liquid.
pub(super) fn hold<R: Real>(meter: &Meter<R>, reynolds_number: f64, ratio: Option<f64>) -> bool {
    let enforced = Meter { limits: Limits::Enforced, ..*meter };
    let held = geometry("", &enforced).and_then(|()| reynolds("", &enforced, reynolds_number));
    held.and_then(|()| ratio.map_or(Ok(()), |r| pressure_ratio("", Limits::Enforced, r))).is_ok()
}

/// Pipe diameter, throat diameter and their ratio.
pub(super) fn geometry<R: Real>(formula: &'static str, meter: &Meter<R>) -> Result<(), DomainError> {
    if meter.limits == Limits::Extrapolated {
        return Ok(());
    }
    let row = row(meter.device);
    let (pipe, throat) = (meter.pipe_diameter.value(), meter.throat_diameter.value());
    within(formula, "pipe diameter D", pipe, row.pipe_text, row.pipe)?;
    within(formula, "throat diameter d", throat, row.throat_text, (row.throat, f64::INFINITY))?;
    within(formula, "diameter ratio d/D", throat / pipe, row.ratio_text, row.ratio)
}

/// Reynolds number by the pipe diameter.
pub(super) fn reynolds<R: Real>(formula: &'static str, meter: &Meter<R>, reynolds: f64) -> Result<(), DomainError> {
    if meter.limits == Limits::Extrapolated {
        return Ok(());
    }
    let pipe = meter.pipe_diameter.value();
    let (range, valid) = reynolds_range(meter.device, meter.throat_diameter.value() / pipe, pipe);
    within(formula, "Reynolds number Re_D", reynolds, valid, range)
}

/// p2/p1 of every device.
pub(super) fn pressure_ratio(formula: &'static str, limits: Limits, ratio: f64) -> Result<(), DomainError> {
    const VALID: &str = "at least 0.75 (ISO 5167:2003, expansibility factor)";
    let least = if limits == Limits::Enforced { 0.75 } else { 0.0 };
    check(formula, "pressure ratio p2/p1", ratio, VALID, |r| r >= least && r > 0.0).map(drop)
}

struct Row {
    pipe: (f64, f64),
    pipe_text: &'static str,
    throat: f64,
    throat_text: &'static str,
    ratio: (f64, f64),
    ratio_text: &'static str,
}

const fn row_of(
    pipe: (f64, f64),
    pipe_text: &'static str,
    throat: f64,
    throat_text: &'static str,
    ratio: (f64, f64),
    ratio_text: &'static str,
) -> Row {
    Row { pipe, pipe_text, throat, throat_text, ratio, ratio_text }
}

#[rustfmt::skip]
fn row(device: Device) -> Row {
    const ANY: &str = "above 0 m";
    match device {
        Device::Orifice(_) => row_of(
            (0.05, 1.0), "0.05 to 1 m (ISO 5167-2:2003, 5.3.1)",
            0.0125, "at least 0.0125 m (ISO 5167-2:2003, 5.3.1)",
            (0.1, 0.75), "0.10 to 0.75 (ISO 5167-2:2003, 5.3.1)"),
        Device::Isa1932Nozzle => row_of(
            (0.05, 0.5), "0.05 to 0.5 m (ISO 5167-3:2003, ISA 1932 nozzle)", 0.0, ANY,
            (0.3, 0.8), "0.30 to 0.80 (ISO 5167-3:2003, ISA 1932 nozzle)"),
        Device::LongRadiusNozzle => row_of(
            (0.05, 0.63), "0.05 to 0.63 m (ISO 5167-3:2003, long-radius nozzle)", 0.0, ANY,
            (0.2, 0.8), "0.20 to 0.80 (ISO 5167-3:2003, long-radius nozzle)"),
        Device::VenturiNozzle => row_of(
            (0.065, 0.5), "0.065 to 0.5 m (ISO 5167-3:2003, Venturi nozzle)",
            0.05, "at least 0.05 m (ISO 5167-3:2003, Venturi nozzle)",
            (0.316, 0.775), "0.316 to 0.775 (ISO 5167-3:2003, Venturi nozzle)"),
        Device::VenturiTube(Convergent::AsCast) => row_of(
            (0.1, 0.8), "0.1 to 0.8 m (ISO 5167-4:2003, as-cast convergent)", 0.0, ANY,
            (0.3, 0.75), "0.30 to 0.75 (ISO 5167-4:2003, as-cast convergent)"),
        Device::VenturiTube(Convergent::Machined) => row_of(
            (0.05, 0.25), "0.05 to 0.25 m (ISO 5167-4:2003, machined convergent)", 0.0, ANY,
            (0.4, 0.75), "0.40 to 0.75 (ISO 5167-4:2003, machined convergent)"),
        Device::VenturiTube(Convergent::RoughWelded) => row_of(
            (0.2, 1.2), "0.2 to 1.2 m (ISO 5167-4:2003, rough-welded convergent)", 0.0, ANY,
            (0.4, 0.7), "0.40 to 0.70 (ISO 5167-4:2003, rough-welded convergent)"),
    }
}

#[rustfmt::skip]
fn reynolds_range(device: Device, ratio: f64, pipe: f64) -> ((f64, f64), &'static str) {
    match device {
        Device::Orifice(Tapping::Flange) => (
            (f64::max(5000.0, 170.0 * ratio * ratio * pipe * 1000.0), f64::INFINITY),
            "at least 5000 and at least 170·β²·D with D in mm (ISO 5167-2:2003, 5.3.1)"),
        Device::Orifice(_) if ratio <= 0.56 => (
            (5000.0, f64::INFINITY),
            "at least 5000 for β up to 0.56 (ISO 5167-2:2003, 5.3.1)"),
        Device::Orifice(_) => (
            (16_000.0 * ratio * ratio, f64::INFINITY),
            "at least 16 000·β² for β above 0.56 (ISO 5167-2:2003, 5.3.1)"),
        Device::Isa1932Nozzle if ratio < 0.44 => (
            (7e4, 1e7), "7e4 to 1e7 for β below 0.44 (ISO 5167-3:2003, ISA 1932 nozzle)"),
        Device::Isa1932Nozzle => (
            (2e4, 1e7), "2e4 to 1e7 for β from 0.44 (ISO 5167-3:2003, ISA 1932 nozzle)"),
        Device::LongRadiusNozzle => ((1e4, 1e7), "1e4 to 1e7 (ISO 5167-3:2003, long-radius nozzle)"),
        Device::VenturiNozzle => ((1.5e5, 2e6), "1.5e5 to 2e6 (ISO 5167-3:2003, Venturi nozzle)"),
        Device::VenturiTube(Convergent::Machined) => (
            (2e5, 1e6), "2e5 to 1e6 (ISO 5167-4:2003, machined convergent)"),
        Device::VenturiTube(_) => ((2e5, 2e6), "2e5 to 2e6 (ISO 5167-4:2003, as-cast or rough-welded convergent)"),
    }
}

/// Inside the range but for the last places: 0.05 m may have come from 50 mm.
fn within(
    formula: &'static str,
    argument: &'static str,
    value: f64,
    valid: &'static str,
    (low, high): (f64, f64),
) -> Result<(), DomainError> {
    const ROUNDING: f64 = 1e-12;
    check(formula, argument, value, valid, |x| x >= low * (1.0 - ROUNDING) && x <= high * (1.0 + ROUNDING)).map(drop)
}
