//! T.C. Edwards and W.R. Sanders, Rotary Vane Positive Displacement Air Cycle Machine for ECS Applications, Test and
//! Demonstration Report, U.S. Army contract DAAG53-76-C-0052 (scan, about 1976-77; only the abstract was seen).

use crate::{near, within};
use units::{Quantity, find};

/// Case AC-25: measured totals, 7200 Btu/h at a COP of 0.544 with a sink of 125 degF; no stations. Units only, so exact
/// but for rounding (its horsepower is 745.7 W, 745.699 87 here). The Btu is that of the international table.
#[test]
fn ac_25_measured_totals() {
    let load = find("Btu/h").unwrap().to_si(7200.0);
    near("load", load / 1e3, 2.110_111_704, 1e-9);
    let power = load / 0.544;
    near("power", find("kW").unwrap().from_si(power), 3.878_881_808_823_529, 1e-9);
    near("mechanical power", find("hp").unwrap().from_si(power), 5.201_665_292_776_624_5, 2e-7);
    let (degf, degc) = (find("degF").unwrap(), find("degC").unwrap());
    // 125, 90 and 67 degF by hand: (x - 32)/1.8.
    for (fahrenheit, celsius) in [(125.0, 93.0 / 1.8), (90.0, 58.0 / 1.8), (67.0, 35.0 / 1.8)] {
        within("temperature", degc.from_si(degf.to_si(fahrenheit)), celsius, 1e-9);
    }
    assert!(find("Btu/h").unwrap().fits(Quantity::Power));
}
