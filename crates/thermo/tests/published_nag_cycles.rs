//! P.K. Nag, Basic and Applied Thermodynamics, worked examples, as reproduced in the FOSSEE (IIT Bombay) textbook
//! companions (public repositories Scilab-TBC-Uploads-1, commit 713f1275, and Python-Textbook-Companions, commit
//! d34b2ae7; the book itself was not seen).

use thermo::exchanger::temperature_effectiveness;
use thermo::pressure_ratio::pressure_ratio;
use units::{AbsolutePressure, Temperature};

/// Case AC-02, example 14.11: 4 bar, losses of 0.1 bar before and 0.08 bar after the turbine, printed 3.611.
/// Tolerance 0.2 % as the case states; the printed digits alone would be 0.014 %.
#[test]
fn example_14_11_turbine_pressure_ratio() {
    let bar = |x: f64| AbsolutePressure::from_si(x * 1e5);
    let ratio = pressure_ratio(bar(4.0 - 0.1), bar(1.0 + 0.08)).unwrap().si();
    assert!((ratio / 3.611 - 1.0).abs() < 0.000_14, "{ratio}");
}

/// Case AC-01, example 14.12: a cooler of effectiveness 0.9 with the ram total temperature as its cold inlet. The
/// stations are an independent evaluation of the example (its printed refrigerating effect is met to 0.075 %).
#[test]
fn example_14_12_cooler_effectiveness() {
    let k = Temperature::from_si;
    let e = temperature_effectiveness(k(511.102_972_848_976_15), k(308.595_371_911_763_27), k(286.094_527_363_184_06));
    assert!((e.unwrap().si() - 0.9).abs() < 1e-12);
}
