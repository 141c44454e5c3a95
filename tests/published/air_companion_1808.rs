//! FOSSEE (IIT Bombay) Scilab Textbook Companion no. 1808, example 6.16 (public repository Scilab-TBC-Uploads-1, commit
//! 713f1275; the book's title is not visible there). Formulas read, numbers recomputed.

use crate::near;
use thermo::isentropic::{compression_efficiency, expansion_efficiency};

/// Case AC-13: efficiencies and COP from measured station temperatures; 0.1 %.
#[test]
fn ac_13_from_station_temperatures() {
    let (t1, t2, t3, t4) = (293.0, 363.0, 308.0, 273.0);
    near("compressor", compression_efficiency(t1, t2, 2.0, 1.4).unwrap(), 0.916_728_581_170_161, 0.001);
    near("turbine", expansion_efficiency(t3, t4, 2.0, 1.4).unwrap(), 0.632_491_519_261_823, 0.001);
    near("q_L", 1.005 * (t1 - t4), 20.1, 0.001);
    near("COP", (t1 - t4) / ((t2 - t1) - (t3 - t4)), 0.571_428_571_428_571_5, 0.001);
    // 1 K at the turbine's outlet is 2.9 % of its efficiency.
    let warmer = expansion_efficiency(t3, t4 + 1.0, 2.0, 1.4).unwrap();
    near("sensitivity", 1.0 - warmer / 0.632_491_519_261_823, 0.029, 0.02);
}
