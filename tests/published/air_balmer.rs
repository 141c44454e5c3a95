//! R.T. Balmer, Modern Engineering Thermodynamics, example 14.10, as reproduced in the FOSSEE (IIT Bombay) textbook
//! companion (public repository Scilab-TBC-Uploads-1, commit 713f1275), which remarks that the printed answer is wrong.

use crate::{near, stations};
use thermo::isentropic::temperature_ratio;

/// Case AC-17: 0.2 % against the formulas evaluated. The source adds 460 to one temperature and 459.67 to the other.
#[test]
fn ac_17_machines_of_65_percent() {
    near("COP, ideal", 1.0 / (temperature_ratio(2.0, 1.4).unwrap() - 1.0), 4.565_925_369_504_043, 0.002);
    let (t1, t3) = (530.0, 539.67);
    let (t2, t4) = stations(t1, t3, 2.0, 2.0, 0.65, 0.65, 1.4);
    near("COP", (t1 - t4) / ((t2 - t3) - (t1 - t4)), 0.461_710_939_331_958, 0.002);
    near("T4, degF", t4 - 459.67, 16.976_248_024_817_266, 0.002);
}
