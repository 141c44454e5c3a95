//! What the property model itself may be wrong by: to be added where an uncertainty is propagated.
//!
//! Differences to CoolProp 8.0.0 `HumidAir` over −40…+250 °C, 0.2…6 bar, w 0…0.03, 5 500 states (worst, mean): density
//! 0.010 %, 0.003 %; heat capacity 0.030 %, 0.011 %; speed of sound 0.020 %, 0.002 %; enthalpy differences over more
//! than 20 K 0.037 %, 0.012 %; saturation humidity ratio 0.041 %, 0.018 %; dew point 0.009 K, 0.003 K.
//! [`model`] holds them and the uncertainty of the equations of state behind both programs.
//!
//! Outside that range there is no figure to add. Differences found at the corners, dry air or its saturation:
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
//! Right at the edge of what is accepted, the differences at most (an edge test against CoolProp, 203…473 K):
//!
//! | vapour | density | heat capacity |
//! |---|---|---|
//! | not above saturation, 20 bar | 0.23 % | 2.5 % |
//! | far above saturation, 233 K and more, 8 bar | 0.36 % | 7.3 % |
//! | far above saturation, 233 K and more, 20 bar | 0.53 % | 12 % |
//! | far above saturation, 203…213 K, 20 bar | 0.76 % | 34 % |
//!
//! Beyond saturation CoolProp extrapolates as well. The reason is the third virial coefficient, which is left out;
//! above 412 K also that a saturation humidity ratio of more than 1 magnifies any difference of the vapour's share.

use crate::domain::{DomainError, check};

/// Standard uncertainties of the property model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ModelUncertainty {
    /// Of a density, relative: the equation of state of air 0.1 % (k = 2, Lemmon et al. 2000) outweighs the 0.01 %
    /// between the two programs.
    pub density: f64,
    /// Of an enthalpy difference over 20 K or more, relative: 0.037 % at most between the two programs.
    pub enthalpy_difference: f64,
    /// Of a saturation humidity ratio, relative: saturation pressure 300 ppm, enhancement factor the rest.
    pub saturation: f64,
    /// Of a dew or frost point, K: the same seen as a temperature.
    pub dew_point: f64,
}

/// What the property model may be wrong by at a state.
///
/// * Units: K, Pa absolute, kg/kg in; relative, and K for the dew point, out.
/// * Range: 233.15…523.15 K, 20…600 kPa, w 0…0.03: where the model was compared at random states.
/// * Outside: [`DomainError`]; corners looked at are listed at [`uncertainty`](self).
/// * Source: comparison with CoolProp 8.0.0; Lemmon et al. (2000); Hyland & Wexler (1983). Rounded up; the figure of
///   the enthalpy is a judgement: heat capacity of air as an ideal gas 0.1 % at k = 2.
///
/// ```
/// assert_eq!(thermo::humid_air::uncertainty::model(300.0, 3e5, 0.01)?.density, 5e-4);
/// assert!(thermo::humid_air::uncertainty::model(300.0, 15e5, 0.01).is_err());
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn model(t: f64, p: f64, w: f64) -> Result<ModelUncertainty, DomainError> {
    const NAME: &str = "uncertainty of the model of humid air";
    check(NAME, "temperature", t, "within 233.15…523.15 K, where it is known", |t| (233.15..=523.15).contains(&t))?;
    check(NAME, "pressure", p, "within 20…600 kPa absolute, where it is known", |p| (2e4..=6e5).contains(&p))?;
    check(NAME, "humidity ratio", w, "within 0…0.03 kg/kg, where it is known", |w| (0.0..=0.03).contains(&w))?;
    Ok(ModelUncertainty { density: 5e-4, enthalpy_difference: 5e-4, saturation: 5e-4, dew_point: 0.01 })
}
