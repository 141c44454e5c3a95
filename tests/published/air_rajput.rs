//! R.K. Rajput, Engineering Thermodynamics, example 14.11, as reproduced in the FOSSEE (IIT Bombay) Python Textbook
//! Companions, commit d34b2ae7; the book was not seen.

use crate::near;
use thermo::isentropic::temperature_ratio;

/// Case AC-16: 0.1 %. Its bores are printed alike for both machines: a slip of the companion, the volumes are right.
#[test]
fn ac_16_bell_coleman() {
    // The example's exponent is 0.286 of air with cp 1.003 and R 0.287: γ = 1.4 as stated.
    let down = temperature_ratio(1.0 / 5.2, 1.4).unwrap();
    let (t1, t3) = (289.0, 314.0);
    let (t4, t2) = (t3 * down, t1 / down);
    near("T4", t4, 196.045_674_316_910_27, 0.001);
    let cop = (t1 - t4) / ((t2 - t3) - (t1 - t4));
    near("COP", cop, 1.662, 0.001);
    let flow = 84_000.0 / 60.0 / (1.003 * (t1 - t4));
    near("mass flow", flow, 15.016, 0.001);
    near("compressor volume", flow * 287.0 * t1 / 1e5, 12.45, 0.001);
    near("expander volume", flow * 287.0 * t4 / 1e5, 8.449, 0.001);
    near("power", 84_000.0 / 3600.0 / cop, 14.039, 0.001);
}
