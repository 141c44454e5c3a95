//! Case AC-22: spreadsheet "Variation of Cooling Load", case 1 (scribd document 466787695, undated student worksheet):
//! a simple aircraft air cycle with a complete station table, printed to 0.01 K and 0.01 bar.

use thermo::exchanger::temperature_effectiveness;
use thermo::pressure_ratio::pressure_ratio;
use units::{AbsolutePressure, Temperature};

/// T2 444.1 K, T3 296.17 K, cold inlet T1 288.38 K; effectiveness 0.95 was its input. The printed digits of T2 (0.05 K)
/// leave 0.000 02 and those of T1 and T3 0.000 06.
#[test]
fn effectiveness_of_the_exchanger() {
    let k = Temperature::from_si;
    let e = temperature_effectiveness(k(444.1), k(296.17), k(288.38)).unwrap().si();
    assert!((e - 0.95).abs() < 1e-4, "{e}");
}

/// P2 5.25 bar over P1 1.31 bar; pressure ratio 4 was its input. Half a digit of P1 is 0.4 %.
#[test]
fn pressure_ratio_of_the_compressor() {
    let bar = |x: f64| AbsolutePressure::from_si(x * 1e5);
    let ratio = pressure_ratio(bar(5.25), bar(1.31)).unwrap().si();
    assert!((ratio / 4.0 - 1.0).abs() < 0.005, "{ratio}");
}
