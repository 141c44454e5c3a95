//! Corrected flow and speed against plain arithmetic done outside this program, to the digits given: no published
//! source.

use thermo::corrected::{corrected_flow, corrected_speed};
use units::{AbsolutePressure, AngularSpeed, MassFlow, Temperature};

/// 0.5 kg/s at 468.15 K and 265.3 kPa: 0.243407 kg/s.
#[test]
fn corrected_flow_to_six_digits() {
    let (t, p) = (Temperature::from_si(468.15), AbsolutePressure::from_si(265_300.0));
    let w = corrected_flow(MassFlow::from_si(0.5), t, p).unwrap().si();
    assert!((w - 0.243_407).abs() <= 0.5e-6, "{w}");
}

/// 40 000 rpm at 382.39 K: 34 722.9 rpm.
#[test]
fn corrected_speed_to_six_digits() {
    let rpm = units::find("rpm").unwrap();
    let n = corrected_speed(AngularSpeed::from_si(rpm.to_si(40_000.0)), Temperature::from_si(382.39)).unwrap();
    assert!((rpm.from_si(n.si()) - 34_722.9).abs() <= 0.05, "{}", rpm.from_si(n.si()));
}
