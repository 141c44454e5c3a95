//! Case AC-29: a dry bootstrap machine computed with CoolProp 8.0.0 (dry air of Lemmon et al. 2000) with closed shaft
//! power balance. Not a publication: another program's figures, independent of this one.

use thermo::exchanger::temperature_effectiveness;
use thermo::pressure_ratio::pressure_ratio;
use units::{AbsolutePressure, Temperature};

const COOLANT_K: f64 = 313.15;

/// Bleed 200 degC, primary outlet 345.15 K: 0.8. Compressor outlet 433.6439 K, secondary outlet 331.2241 K: 0.85. Both
/// exchangers of this case have the same coolant inlet of 40 degC: the ram side is parallel.
#[test]
fn effectiveness_of_both_exchangers() {
    let k = Temperature::from_si;
    let primary = temperature_effectiveness(k(473.15), k(345.15), k(COOLANT_K)).unwrap().si();
    let hot_in = k(433.643_920_005_491_45);
    let secondary = temperature_effectiveness(hot_in, k(331.224_088_000_823_7), k(COOLANT_K)).unwrap().si();
    assert!((primary - 0.8).abs() < 1e-12 && (secondary - 0.85).abs() < 1e-12, "{primary} {secondary}");
}

/// Bleed 250 kPa less 3 % in the primary, turbine inlet 447.176 kPa after 3 % in the secondary: compressor 1.9010573.
#[test]
fn pressure_ratio_of_the_compressor() {
    let inlet = AbsolutePressure::from_si(250_000.0 * 0.97);
    let outlet = AbsolutePressure::from_si(447_176.204_428_735_54 / 0.97);
    let ratio = pressure_ratio(outlet, inlet).unwrap().si();
    assert!((ratio - 1.901_057_304_405_295_2).abs() < 1e-12, "{ratio}");
}
