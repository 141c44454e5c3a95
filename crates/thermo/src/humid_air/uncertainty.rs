//! What the property model itself may be wrong by: to be added where an uncertainty is propagated.
//!
//! Standard uncertainties over −40…+250 °C, 0.2…6 bar, w 0…0.03. They hold the differences to CoolProp's `HumidAir`
//! (see the tests) and the uncertainty of the equations of state behind both.

/// Of a density, relative: the equation of state of air 0.1 % (k = 2, Lemmon et al. 2000) outweighs the 0.01 % between
/// the two programs.
pub const DENSITY: f64 = 5e-4;

/// Of an enthalpy difference, relative: 0.02 % between the two programs; heat capacity of air as a real gas 1 % at most
/// in that source, 0.1 % as an ideal gas.
pub const ENTHALPY_DIFFERENCE: f64 = 5e-4;

/// Of a saturation humidity ratio, relative: saturation pressure 300 ppm, enhancement factor the rest.
pub const SATURATION: f64 = 5e-4;

/// Of a dew point, K: the same seen as a temperature.
pub const DEW_POINT: f64 = 0.01;
