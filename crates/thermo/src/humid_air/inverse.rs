//! Temperature sought from enthalpy or entropy: of the gas, of fog, of ice fog, or on the plateau between.

use super::humidity::{dew_point, is_supersaturated};
use super::mixture::{Function, Mixture, branch, gas, wet};
use super::terms::Terms;
use super::{T_MAX, T_MIN, check_humidity, check_pressure, check_series, finished};
use crate::domain::DomainError;
use crate::root::{Root, rising_root};
use crate::saturation::{Condensate, Phase, TRIPLE_POINT, bounds, magnus_pressure};
use units::{Dual, Real, math};

/// Temperature and distribution of the water at which a state function has this value.
pub(crate) fn from<R: Real>(
    formula: &'static str,
    argument: &'static str,
    function: Function,
    target: R,
    p: R,
    w: R,
    condensate: Condensate,
) -> Result<Mixture<R>, DomainError> {
    check_pressure(formula, "pressure", p.value())?;
    check_humidity(formula, w.value())?;
    let refused = DomainError {
        formula,
        argument,
        value: target.value(),
        valid: "that of a temperature within 150…1000 K (supercooled: from 233.15 K) at this pressure and humidity",
    };
    if !target.value().is_finite() {
        return Err(refused);
    }
    let sought = Sought { formula, function, target: target.value(), p: p.value(), w: w.value(), condensate };
    match sought.place()?.ok_or(refused)? {
        Place::Gas(root) => {
            let at = Terms::at(R::of(root.x));
            check_series(formula, &at, p, w)?;
            Ok(gas(finished(formula, root.with(function.of_gas(&at, p, w) - target))?, w))
        }
        Place::Wet(root, phase) => {
            let at = Terms::at(R::of(root.x));
            let t = root.with(function.of_wet(formula, &at, p, w, phase)? - target);
            let mixture = wet(formula, &Terms::at(finished(formula, t)?), p, w, phase)?;
            check_series(formula, &at, p, mixture.vapour)?;
            Ok(mixture)
        }
        Place::Plateau => plateau(formula, function, target, p, w),
    }
}

/// Water and ice side by side: the shares follow from the target, the temperature is known.
fn plateau<R: Real>(
    formula: &'static str,
    function: Function,
    target: R,
    p: R,
    w: R,
) -> Result<Mixture<R>, DomainError> {
    let terms = Terms::at(R::of(TRIPLE_POINT));
    let thawed = function.of_wet(formula, &terms, p, w, Phase::Water)?;
    let frozen = function.of_wet(formula, &terms, p, w, Phase::Ice)?;
    let ice_share = finished(formula, (thawed - target) / (thawed - frozen))?;
    let water_share = R::of(1.0) - ice_share;
    let (over_water, over_ice) = (wet(formula, &terms, p, w, Phase::Water)?, wet(formula, &terms, p, w, Phase::Ice)?);
    Ok(Mixture {
        temperature: terms.t,
        vapour: over_water.vapour * water_share + over_ice.vapour * ice_share,
        water: over_water.water * water_share,
        ice: over_ice.ice * ice_share,
    })
}

/// Where the temperature lies.
enum Place {
    Gas(Root),
    Wet(Root, Phase),
    Plateau,
}

/// A temperature sought, in plain numbers.
struct Sought {
    formula: &'static str,
    function: Function,
    target: f64,
    p: f64,
    w: f64,
    condensate: Condensate,
}

impl Sought {
    /// `None` outside the range.
    fn place(&self) -> Result<Option<Place>, DomainError> {
        let (p, w) = (Dual::constant(self.p), Dual::constant(self.w));
        let guess = self.function.guess(self.target, self.p, self.w);
        let gas = rising_root((T_MIN, T_MAX), guess, |t| Ok(self.function.of_gas(&Terms::at(t), p, w) - self.target))?;
        let coldest = match gas {
            Some(root) if self.w == 0.0 => return Ok(Some(Place::Gas(root))),
            Some(root) if root.x >= self.condensate.coldest() => {
                if !self.is_supersaturated(root.x)? {
                    return Ok(Some(Place::Gas(root)));
                }
                root.x
            }
            Some(root) => root.x,
            // Too cold for gas alone, or too hot altogether.
            None if self.w > 0.0 && self.function.of_gas(&Terms::at(T_MIN), self.p, self.w) > self.target => T_MIN,
            None => return Ok(None),
        };
        // Condensation warms: the temperature lies between that of gas alone and the dew point.
        let dew = dew_point(self.p, self.w, self.condensate)?;
        self.wet(coldest.max(self.condensate.coldest()), dew)
    }

    fn wet(&self, cold: f64, dew: f64) -> Result<Option<Place>, DomainError> {
        let (mut low, mut high) = (cold, dew);
        let mut phase = self.condensate.phase(high);
        let freezes = self.condensate == Condensate::Equilibrium && phase == Phase::Water && low < TRIPLE_POINT;
        if freezes {
            let terms = Terms::at(TRIPLE_POINT);
            let at = |phase| self.function.of_wet(self.formula, &terms, self.p, self.w, phase);
            if self.target >= at(Phase::Water)? {
                low = TRIPLE_POINT;
            } else if self.target <= at(Phase::Ice)? {
                (high, phase) = (TRIPLE_POINT, Phase::Ice);
            } else {
                return Ok(Some(Place::Plateau));
            }
        }
        // The curve breaks at both ends: a hair beyond, so that rounding does not lose a root there.
        let (floor, ceiling) = bounds(phase);
        let range = ((low - 1e-6).max(floor), (high + 1e-6).min(ceiling));
        let (p, w) = (Dual::constant(self.p), Dual::constant(self.w));
        let guess = wet_guess(self.function, self.target, self.p, self.w, phase, high);
        let root = rising_root(range, guess, |t| {
            Ok(self.function.of_wet(self.formula, &Terms::at(t), p, w, phase)? - self.target)
        })?;
        Ok(root.map(|root| Place::Wet(root, phase)))
    }

    fn is_supersaturated(&self, t: f64) -> Result<bool, DomainError> {
        if self.condensate == Condensate::Equilibrium {
            return is_supersaturated(self.formula, t, self.p, self.w);
        }
        Ok(branch(self.formula, &Terms::at(t), self.p, self.w, self.condensate)?.is_some())
    }
}

/// Temperature at which saturated air with w − w_s of condensate has this enthalpy or entropy, to a few tenths of a
/// kelvin: constant heat capacities and Magnus' formula.
pub(crate) fn wet_guess(function: Function, target: f64, p: f64, w: f64, phase: Phase, warmest: f64) -> f64 {
    let (fusion, c, latent, latent_slope) =
        if phase == Phase::Water { (0.0, 4186.0, 2.501e6, -2326.0) } else { (333_400.0, 2050.0, 2.834e6, -190.0) };
    let mut t = warmest.min(300.0);
    for _ in 0..12 {
        let (e, e_slope) = magnus_pressure(t, phase);
        let e = e.min(0.9 * p);
        let (ws, celsius) = (0.622 * e / (p - e), t - 273.15);
        let ws_slope = ws * e_slope * p / (p - e);
        let vaporisation = latent + latent_slope * celsius;
        // J/(kg K) of air, condensate and what evaporates
        let rise = 1006.0 + w * c + ws_slope * vaporisation + ws * latent_slope;
        let (value, slope) = match function {
            Function::Enthalpy => (1006.0 * celsius + w * (c * celsius - fusion) + ws * vaporisation, rise),
            Function::Entropy => {
                let sensible = (1006.0 + w * c) * math::ln(t / 273.15) - w * fusion / 273.15;
                let value = sensible - 287.05 * math::ln((p - e) / 101_325.0) + ws * vaporisation / t;
                (value, rise / t)
            }
        };
        let step = (target - value) / slope;
        t += step.clamp(-40.0, 40.0);
        if step.abs() < 0.5 {
            break;
        }
    }
    t
}
