//! What the formulas of humid air share at one temperature.

use super::virial::Virials;
use crate::domain::DomainError;
use crate::gas::{
    DRY_AIR, DRY_AIR_GAS_CONSTANT, EPSILON, MOLAR_GAS_CONSTANT, MOLAR_MASS_AIR, MOLAR_MASS_WATER, REFERENCE_PRESSURE,
    VAPOUR, VAPOUR_GAS_CONSTANT,
};
use crate::saturation::{Curve, Phase, in_range};
use units::{Real, math};

/// Mole fraction of water at which it counts as none in a logarithm: x ln x is 0 to all digits below.
const NO_WATER: f64 = 1e-30;

/// The costly functions of one temperature, computed once.
#[derive(Clone, Copy)]
pub(crate) struct Terms<R> {
    pub(crate) t: R,
    pub(crate) ln_t: f64,
    pub(crate) virials: Virials<R>,
}

/// Vapour in equilibrium with water or ice under air.
#[derive(Clone, Copy)]
pub(crate) struct Saturated<R> {
    /// Mole fraction of vapour.
    pub(crate) x: R,
    /// Pressure of the saturated pure vapour, Pa.
    pub(crate) pure: R,
    curve: Curve<R>,
}

impl<R: Real> Saturated<R> {
    #[inline]
    pub(crate) fn humidity_ratio(&self) -> R {
        humidity_ratio(self.x)
    }
}

/// Mole fraction of vapour.
#[inline]
pub(crate) fn mole_fraction<R: Real>(w: R) -> R {
    w / (w + EPSILON)
}

/// kg of vapour per kg of dry air.
#[inline]
pub(crate) fn humidity_ratio<R: Real>(x: R) -> R {
    x * EPSILON / (R::of(1.0) - x)
}

/// mol of gas per kg of dry air.
#[inline]
pub(crate) fn moles<R: Real>(w: R) -> R {
    w / MOLAR_MASS_WATER + 1.0 / MOLAR_MASS_AIR
}

impl<R: Real> Terms<R> {
    #[inline]
    pub(crate) fn at(t: R) -> Self {
        let ln_t = math::ln(t.value());
        Self { t, ln_t, virials: Virials::at(t, ln_t) }
    }

    /// Of the gas, m³ per kg of dry air.
    #[inline]
    pub(crate) fn volume(&self, p: R, w: R) -> R {
        moles(w) * (self.t * MOLAR_GAS_CONSTANT / p + self.virials.mixture(mole_fraction(w)).b)
    }

    /// Of the gas, J per kg of dry air.
    #[inline]
    pub(crate) fn enthalpy(&self, p: R, w: R) -> R {
        let ideal = DRY_AIR.enthalpy(self.t, self.ln_t) + w * VAPOUR.enthalpy(self.t, self.ln_t);
        ideal + moles(w) * p * self.virials.mixture(mole_fraction(w)).enthalpy()
    }

    /// Of the gas, J/K per kg of dry air.
    #[inline]
    pub(crate) fn entropy(&self, p: R, w: R) -> R {
        let x = mole_fraction(w);
        let ln_p = (p / REFERENCE_PRESSURE).ln();
        let air = DRY_AIR.entropy(self.t, self.ln_t) - (ln_p + (R::of(1.0) - x).ln()) * DRY_AIR_GAS_CONSTANT;
        let ln_x = x.max(R::of(NO_WATER)).ln();
        let vapour = VAPOUR.entropy(self.t, self.ln_t) - (ln_p + ln_x) * VAPOUR_GAS_CONSTANT;
        air + w * vapour - moles(w) * p * self.virials.mixture(x).t_slope / self.t
    }

    /// J/(K kg of dry air).
    #[inline]
    pub(crate) fn heat_capacity(&self, p: R, w: R) -> R {
        let ideal = DRY_AIR.heat_capacity(self.t) + w * VAPOUR.heat_capacity(self.t);
        ideal - moles(w) * p * self.virials.mixture(mole_fraction(w)).t2_curve / self.t
    }

    /// Logarithm of x·p/p_sat for vapour over a condensed phase, air taking the share `dry` of the gas.
    #[inline]
    fn ln_enhancement(&self, p: R, curve: &Curve<R>, pure: R, dry: R) -> R {
        let condensed = (curve.volume * MOLAR_MASS_WATER - self.virials.water.b) * (p - pure);
        (condensed + dry * dry * p * self.virials.excess()) / (self.t * MOLAR_GAS_CONSTANT)
    }

    /// Logarithm of the pure saturation pressure times the enhancement factor, for vapour of mole fraction x.
    #[inline]
    pub(crate) fn ln_vapour_pressure(&self, p: R, x: R, phase: Phase) -> R {
        let curve = Curve::at(self.t, self.ln_t, phase);
        curve.ln_p + self.ln_enhancement(p, &curve, curve.ln_p.exp(), R::of(1.0) - x)
    }

    /// The saturated gas; `None` where the condensate boils at this pressure.
    pub(crate) fn saturated(
        &self,
        formula: &'static str,
        p: R,
        phase: Phase,
    ) -> Result<Option<Saturated<R>>, DomainError> {
        in_range(formula, self.t.value(), phase)?;
        let curve = Curve::at(self.t, self.ln_t, phase);
        let pure = curve.ln_p.exp();
        let ideal = pure.value() / p.value();
        if ideal >= 1.0 {
            return Ok(None);
        }
        // x = (p_sat/p) f(x) by Newton's method in plain numbers; x·p_sat/p is a good start, f is near 1.
        let one = R::of(1.0);
        let alone = self.ln_enhancement(p, &curve, pure, R::of(0.0));
        let pull = p * self.virials.excess() / (self.t * MOLAR_GAS_CONSTANT);
        let (a, c) = (alone.value(), pull.value());
        let mut x = ideal;
        for _ in 0..20 {
            let image = ideal * math::exp(a + (1.0 - x) * (1.0 - x) * c);
            let step = (image - x) / (1.0 + 2.0 * (1.0 - x) * c * image);
            x += step;
            if step.abs() <= 1e-9 * x {
                break;
            }
        }
        if !(x > 0.0 && x < 1.0) {
            return Ok(None);
        }
        // The residual's value is not used, so d ln p may stand as dp/p.
        let dry = one - x;
        let residual = p / p.value() - curve.ln_p - alone - dry * dry * pull;
        let x = R::at_root(x, residual, 1.0 / x + 2.0 * (1.0 - x) * c);
        Ok(Some(Saturated { x, pure, curve }))
    }

    /// Of the condensate under the pressure p, J/kg.
    #[inline]
    pub(crate) fn condensed_enthalpy(&self, p: R, saturated: &Saturated<R>) -> R {
        let Saturated { pure, curve, .. } = *saturated;
        curve.enthalpy(self.t, pure) + curve.volume * (p - pure)
    }

    /// Of the condensate, J/(kg K): what makes its Gibbs function equal to that of its vapour.
    #[inline]
    pub(crate) fn condensed_entropy(&self, saturated: &Saturated<R>) -> R {
        let Saturated { pure, curve, .. } = *saturated;
        let (b, p) = (self.virials.water, pure / MOLAR_MASS_WATER);
        let h = VAPOUR.enthalpy(self.t, self.ln_t) + p * b.enthalpy();
        let ln_p = curve.ln_p - math::ln(REFERENCE_PRESSURE);
        let s = VAPOUR.entropy(self.t, self.ln_t) - ln_p * VAPOUR_GAS_CONSTANT - p * b.t_slope / self.t;
        s - (h - curve.enthalpy(self.t, pure)) / self.t
    }
}
