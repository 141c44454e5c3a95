//! What the property model itself may be wrong by: to be added where an uncertainty is propagated.
//!
//! Differences to CoolProp 8.0.0 `HumidAir` over −40…+250 °C, 0.2…6 bar, w 0…0.03, 5 500 states (worst, mean): density
//! 0.010 %, 0.003 %; enthalpy differences over more than 20 K 0.037 %, 0.012 %; saturation humidity ratio 0.041 %,
//! 0.018 %; dew point 0.009 K, 0.003 K. The standard uncertainties below hold them and the uncertainty of the equations
//! of state behind both programs.
//!
//! Outside that range they do not hold. Differences found at the corners, dry air or its saturation:
//!
//! | state | density | enthalpy | saturation humidity ratio |
//! |---|---|---|---|
//! | 150 K, 6 bar | 0.08 % | 130 J/kg | 0.3 % |
//! | 173 K, 10 bar | 0.03 % | 160 J/kg | 0.4 % |
//! | 233 K, 20 bar | 0.15 % | below 100 J/kg | 0.2 % |
//! | 150 K, 20 bar | 1.1 % | 1.9 kJ/kg | 3.7 % |
//! | 423 K, 6…20 bar | 0.05 % | 65 J/kg | 0.5 % |
//! | 423 K, 10 bar, w 0.5 | 0.16 % | 1.5 kJ/kg | |
//!
//! The reason is the third virial coefficient, which is left out; above 412 K also that a saturation humidity ratio of
//! more than 1 magnifies any difference of the vapour's share.

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
