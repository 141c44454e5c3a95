//! Two questions with solutions on byjus.com (web pages, undated).

use crate::{near, within};
use thermo::isentropic::temperature_ratio;

/// Case AC-19: 0.1 %. The source takes n/(n−1) R ΔT for the expander: more work than the enthalpy drop, which no
/// adiabatic turbine gives off. Its figure is reproduced and the right one stated beside it.
#[test]
fn ac_19_open_cycle() {
    let t2s = 273.0 * temperature_ratio(12.0, 1.4).unwrap();
    near("T2s", t2s, 555.245, 0.001);
    let t4 = 298.0 * temperature_ratio(1.0 / 12.0, 1.35).unwrap();
    near("T4", t4, 156.47, 0.001);
    let t2 = 273.0 + (t2s - 273.0) / 0.9;
    near("T2", t2, 586.6, 0.001);
    near("compressor work", 1.005 * (t2 - 273.0), 315.168, 0.001);
    let printed = 1.35 / 0.35 * 0.287 * (298.0 - t4);
    near("expander work as printed", printed, 156.673, 0.001);
    near("net work as printed", 1.005 * (t2 - 273.0) - printed, 158.494, 0.001);
    let right = 1.005 * (298.0 - t4);
    assert!(printed / right > 1.1, "the enthalpy drop is {right} kJ/kg");
    near("COP as printed", 1.005 * (273.0 - t4) / (1.005 * (t2 - 273.0) - printed), 0.739, 0.001);
}

/// Case AC-20: 0.5 %. Asked for the refrigerating effect the page chooses 36.72 kJ/kg, which is the net work; the
/// effect is 76.9 kJ/kg.
#[test]
fn ac_20_bell_coleman() {
    let t2 = 263.0 * temperature_ratio(6.5, 1.2).unwrap();
    let t4 = 303.0 * temperature_ratio(1.0 / 6.5, 1.35).unwrap();
    near("T4", t4, 186.5, 0.005);
    let (up, down) = (1.2 / 0.2 * 0.287 * (t2 - 263.0), 1.35 / 0.35 * 0.287 * (303.0 - t4));
    near("compressor work", up, 165.75, 0.005);
    near("expander work", down, 129.03, 0.005);
    near("net work, printed as the effect", up - down, 36.72, 0.005);
    within("refrigerating effect", 1.005 * (263.0 - t4), 76.878_841_176_528_78, 0.01);
}
