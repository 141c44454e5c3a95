//! I. Granet, M. Bluestein, Thermodynamics and Heat Power, problem 10.12, as reproduced in the FOSSEE (IIT Bombay) textbook
//! companion (public repository Scilab-TBC-Uploads-1, commit 713f1275). The Python companion of the same example lacks a
//! pair of brackets and prints wrong numbers.

use crate::near;
use thermo::isentropic::temperature_ratio;

/// Case AC-26: reversed Brayton from a given COP of 2.5; 0.1 %.
#[test]
fn ac_26_from_a_given_cop() {
    // COP = 1/(τ − 1): the temperature ratio of both machines, and the pressure ratio that belongs to it.
    let tau: f64 = 1.0 + 1.0 / 2.5;
    near("ratio", temperature_ratio(tau.powf(3.5), 1.4).unwrap(), tau, 1e-12);
    let (t4, t2) = (360.0, 610.0);
    let (t3, t1) = (t4 * tau, t2 / tau);
    near("expander work", 0.24 * (t3 - t4), 34.56, 0.001);
    near("compressor work", 0.24 * (t2 - t1), 41.828_571_428_571_42, 0.001);
    near("net work", 0.24 * (t2 - t1 - t3 + t4), 7.268_571_428_571_42, 0.001);
    near("flow per ton", 200.0 / (0.24 * (t1 - t4)), 11.006_289_308_176_099, 0.001);
}
