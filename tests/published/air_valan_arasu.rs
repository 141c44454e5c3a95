//! A. Valan Arasu, Thermal Engineering, examples 6.11 and 6.13, as reproduced in the FOSSEE (IIT Bombay) Python Textbook
//! Companions, commit d34b2ae7; the book was not seen.

use crate::{near, stations, within};

/// Case AC-10: 1 K, 0.5 %.
#[test]
fn ac_10_ideal_cycle() {
    let (t1, t3) = (255.15, 300.15);
    let (t2, t4) = stations(t1, t3, 4.0, 4.0, 1.0, 1.0, 1.4);
    within("T2", t2 - 273.15, 106.0, 1.0);
    within("T4", t4 - 273.15, -71.0, 1.0);
    near("COP", (t1 - t4) / (t2 - t3 - (t1 - t4)), 2.06, 0.005);
    near("refrigeration", 0.045 * 1.005 * (t1 - t4), 2.4, 0.005);
    // Variable heat capacity agrees within 1 K at these temperatures.
    within("T2, variable", thermo::isentropic::temperature(t1, 1e5, 4e5, 0.0).unwrap(), t2, 1.0);
    within("T4, variable", thermo::isentropic::temperature(t3, 4e5, 1e5, 0.0).unwrap(), t4, 1.0);
}

/// Case AC-12, second half: three tonnes of 3.52 kW; 1 %.
#[test]
fn ac_12_tonnes_of_3_52_kw() {
    let (t2, t4) = stations(277.0, 328.0, 3.0, 3.0, 0.72, 0.78, 1.4);
    let (work, effect) = (1.005 * (t2 - 277.0 - (328.0 - t4)), 1.005 * (277.0 - t4));
    near("flow", 3.0 * 3.52 / effect, 0.59, 0.01);
    near("power", 3.0 * 3.52 / effect * work, 43.0, 0.01);
}
