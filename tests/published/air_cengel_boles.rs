//! Y.A. Cengel, M.A. Boles, Thermodynamics: An Engineering Approach: example 11-5 as reproduced in the FOSSEE (IIT
//! Bombay) Python Textbook Companions, commit d34b2ae7; table A-2(b) from memory. The book was not seen.

use crate::{near, within};
use thermo::dry_air::{enthalpy, heat_capacity};
use thermo::isentropic::temperature;

/// Case AC-07: variable heat capacity, air tables read to the nearest degree Rankine: 0.5 °R, 1 % of the COP. The
/// tables are of an ideal gas, which air is at 100 Pa; at the example's 1 and 4 atm the outlet is 0.4 °R warmer
/// (CoolProp 8.0.0: 683.59 °R). The example adds 460 to °F.
#[test]
fn ac_07_ideal_cycle_of_air() {
    let kelvin = |rankine: f64| rankine / 1.8;
    let (t1, t3, low, high) = (kelvin(460.0), kelvin(540.0), 100.0, 400.0);
    let (t2, t4) = (temperature(t1, low, high, 0.0).unwrap(), temperature(t3, high, low, 0.0).unwrap());
    within("T2", t2 * 1.8, 683.0, 0.5);
    within("T2, real air", temperature(t1, 101_325.0, 4.0 * 101_325.0, 0.0).unwrap() * 1.8, 683.591_756, 0.05);
    within("T4", t4 * 1.8, 363.0, 0.5);
    let h = |t: f64, p: f64| enthalpy(t, p).unwrap();
    let (effect, work) = (h(t1, low) - h(t4, low), (h(t2, high) - h(t1, low)) - (h(t3, high) - h(t4, low)));
    near("COP", effect / work, 2.06, 0.01);
    near("refrigeration, Btu/s", 0.1 * effect / 2326.0, 2.32, 0.01);
}

/// Case HA-12: heat capacity of air as an ideal gas, four digits; 0.3 %, since real air at 1 atm is above.
#[test]
fn ha_12_heat_capacity() {
    for (t, published) in
        [(250.0, 1.003), (300.0, 1.005), (350.0, 1.008), (400.0, 1.013), (450.0, 1.020), (500.0, 1.029)]
    {
        near(&format!("{t} K"), heat_capacity(t, 101_325.0).unwrap() / 1e3, published, 0.003);
    }
}
