//! I. Granet, M. Bluestein, Thermodynamics and Heat Power, problem 10.12, as reproduced in the FOSSEE (IIT Bombay)
//! textbook companion (public repository Scilab-TBC-Uploads-1, commit 713f1275). The Python companion of the same
//! example lacks a pair of brackets and prints wrong numbers.

use crate::near;
use thermo::capacity::performance;
use thermo::constant_heat_capacity::{compression_outlet, enthalpy_change, expansion_outlet, pressure_ratio};

/// Case AC-26: reversed Brayton from a given COP of 2.5; 0.1 %.
#[test]
fn ac_26_from_a_given_cop() {
    // COP = 1/(τ − 1): the temperature ratio of both machines, and the pressure ratio that belongs to it.
    let ratio = pressure_ratio(1.0 + 1.0 / 2.5, 1.4).unwrap();
    let (lowest, highest) = (360.0, 610.0); // expander outlet, compressor outlet
    // Ideal machines backwards: the compressor's inlet is where its outlet would expand to, and the other way round.
    let compressor_inlet = expansion_outlet(highest, ratio, 1.0, 1.4).unwrap();
    let expander_inlet = compression_outlet(lowest, ratio, 1.0, 1.4).unwrap();
    let rise = |from, to| enthalpy_change(0.24, from, to).unwrap();
    let (taken_up, given_off) = (rise(compressor_inlet, highest), rise(lowest, expander_inlet));
    near("expander work", given_off, 34.56, 0.001);
    near("compressor work", taken_up, 41.828_571_428_571_42, 0.001);
    near("net work", taken_up - given_off, 7.268_571_428_571_42, 0.001);
    let effect = rise(lowest, compressor_inlet);
    near("COP", performance(effect, taken_up - given_off).unwrap(), 2.5, 0.001);
    near("flow per ton", 200.0 / effect, 11.006_289_308_176_099, 0.001);
}
