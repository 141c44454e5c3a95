//! Moist air at a place, and a flow of it: what balances and capacities are formed from.

use crate::domain::{DomainError, finite};
use crate::humid_air::{Mixture, mixture_enthalpy, temperature_from_enthalpy};
use crate::saturation::Condensate;
use crate::shaft::dry_air_flow;
use units::Real;

/// Air at a place, with all its water: vapour, droplets and ice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air<R> {
    /// K.
    pub temperature: R,
    /// Pa absolute.
    pub pressure: R,
    /// kg of all water per kg of dry air.
    pub humidity_ratio: R,
}

impl<R: Real> Air<R> {
    /// Enthalpy, condensate included, J per kg of dry air: [`mixture_enthalpy`].
    pub fn enthalpy(&self, condensate: Condensate) -> Result<R, DomainError> {
        mixture_enthalpy(self.temperature, self.pressure, self.humidity_ratio, condensate)
    }
}

/// A flow of air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stream<R> {
    /// kg/s of moist air, all its water included.
    pub flow: R,
    /// Its state.
    pub air: Air<R>,
}

impl<R: Real> Stream<R> {
    /// kg/s of dry air.
    pub fn dry_air_flow(&self) -> Result<R, DomainError> {
        dry_air_flow(self.flow, self.air.humidity_ratio)
    }
}

/// Streams brought together without heat from the outside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixed<R> {
    /// kg/s of moist air.
    pub flow: R,
    /// kg/s of dry air.
    pub dry_air_flow: R,
    /// J per kg of dry air.
    pub enthalpy: R,
    /// State after mixing, at the pressure given.
    pub air: Air<R>,
    /// How its water is distributed; on the plateau at 273.16 K only this tells the enthalpy.
    pub mixture: Mixture<R>,
}

/// State after streams have mixed.
///
/// ```text
/// h = Σ ṁ_a h/Σ ṁ_a     w = Σ ṁ_a w/Σ ṁ_a     T(h, p, w) with equilibrium condensate
/// ```
/// * Units: kg/s of moist air, K, Pa absolute, kg/kg in.
/// * Range: at least one stream with a flow above 0 kg/s, none below 0 kg/s; as
///   [`mixture`](crate::humid_air::mixture). Fan heat (1…3 K for recirculated air) belongs into the stream's
///   temperature.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass and energy.
///
/// ```
/// use thermo::{saturation::Condensate, stream::{Air, Stream, mixed}};
/// let at = |t| Stream { flow: 0.5, air: Air { temperature: t, pressure: 101_325.0, humidity_ratio: 0.0 } };
/// let m = mixed(&[at(286.15), at(299.15)], 101_325.0, Condensate::Equilibrium)?;
/// assert!((m.air.temperature - 292.65).abs() < 0.005); // 13 and 26 °C: 19.5 °C
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn mixed<R: Real>(streams: &[Stream<R>], pressure: R, condensate: Condensate) -> Result<Mixed<R>, DomainError> {
    const NAME: &str = "mixing of streams";
    let (mut dry, mut water, mut energy) = (R::of(0.0), R::of(0.0), R::of(0.0));
    for stream in streams {
        let flow = stream.dry_air_flow()?;
        dry += flow;
        water += flow * stream.air.humidity_ratio;
        energy += flow * stream.air.enthalpy(condensate)?;
    }
    let valid = "above 0 kg/s: at least one stream flows";
    crate::domain::positive(NAME, "flow of dry air in all", dry, valid)?;
    let (enthalpy, w) = (finite(NAME, energy / dry)?, finite(NAME, water / dry)?);
    let mixture = temperature_from_enthalpy(enthalpy, pressure, w, condensate)?;
    let air = Air { temperature: mixture.temperature, pressure, humidity_ratio: w };
    Ok(Mixed { flow: finite(NAME, dry + water)?, dry_air_flow: dry, enthalpy, air, mixture })
}
