//! ASHRAE Handbook Fundamentals 2017, chapter 1, table 1: p = 101325 (1 - 2.25577e-5 Z)^5.2559, as restated in the
//! test suite of PsychroLib (commit 3066345d). Its altitude is a geopotential one.

use thermo::atmosphere::{pressure_altitude, standard_air};

/// Case IN-33, 1 Pa for the rounding of the table and of the formula's constants.
#[test]
fn in_33_pressure_by_altitude() {
    let rows = [(-500.0, 107_478.0), (500.0, 95_461.0), (1000.0, 89_875.0), (4000.0, 61_640.0), (10_000.0, 26_436.0)];
    for (altitude, expected) in rows {
        let pressure = standard_air(altitude).unwrap().pressure;
        assert!((pressure - expected).abs() < 1.0, "{altitude} m: {pressure} Pa for {expected}");
        let back = pressure_altitude(expected).unwrap();
        assert!((back - altitude).abs() < 0.3, "{expected} Pa: {back} m");
    }
}
