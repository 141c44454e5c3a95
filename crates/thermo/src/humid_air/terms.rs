//! What the formulas of humid air share at one temperature.

use super::virial::{Of, Virials};
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
        moles(w) * (self.t * MOLAR_GAS_CONSTANT / p + self.virials.mixture(Of::B, mole_fraction(w)))
    }

    /// Of the gas, J per kg of dry air.
    #[inline]
    pub(crate) fn enthalpy(&self, p: R, w: R) -> R {
        let ideal = DRY_AIR.enthalpy(self.t, self.ln_t) + w * VAPOUR.enthalpy(self.t, self.ln_t);
        ideal + moles(w) * p * self.virials.mixture(Of::Enthalpy, mole_fraction(w))
    }

    /// Of the gas, J/K per kg of dry air.
    #[inline]
    pub(crate) fn entropy(&self, p: R, w: R) -> R {
        let x = mole_fraction(w);
        let ln_p = (p / REFERENCE_PRESSURE).ln();
        let air = DRY_AIR.entropy(self.t, self.ln_t) - (ln_p + (R::of(1.0) - x).ln()) * DRY_AIR_GAS_CONSTANT;
        let ln_x = x.max(R::of(NO_WATER)).ln();
        let vapour = VAPOUR.entropy(self.t, self.ln_t) - (ln_p + ln_x) * VAPOUR_GAS_CONSTANT;
        air + w * vapour - moles(w) * p * self.virials.mixture(Of::Slope, x) / self.t
    }

    /// J/(K kg of dry air).
    #[inline]
    pub(crate) fn heat_capacity(&self, p: R, w: R) -> R {
        let ideal = DRY_AIR.heat_capacity(self.t) + w * VAPOUR.heat_capacity(self.t);
        ideal - moles(w) * p * self.virials.mixture(Of::Curve, mole_fraction(w)) / self.t
    }

    /// Logarithm of x·p/p_sat for vapour over a condensed phase, air taking the share `dry` of the gas.
    #[inline]
    fn ln_enhancement(&self, p: R, curve: &Curve<R>, pure: R, dry: R) -> R {
        let water = self.virials.water(Of::B);
        let condensed = (curve.volume * MOLAR_MASS_WATER - water) * (p - pure);
        (condensed + dry * dry * p * (self.virials.dry_excess() + water)) / (self.t * MOLAR_GAS_CONSTANT)
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
        if pure.value() >= p.value() {
            return Ok(None);
        }
        // ln x = ln(p_sat/p) + (v_c − B_ww)(p − p_sat)/(R T) + (1 − x)² c, sorted by what is p and what p_sat
        let (water, excess, rt) = (self.virials.water(Of::B), self.virials.dry_excess(), self.t * MOLAR_GAS_CONSTANT);
        let condensed = curve.volume * MOLAR_MASS_WATER;
        let c = (p * (excess + water) / rt).value();
        let dilute = (curve.ln_p + p * (excess + condensed) / rt).value();
        let x = solve_share(math::exp(dilute) / p.value(), (pure * (water - condensed) / rt).value(), c);
        if !(x > 0.0 && x < 1.0) {
            return Ok(None);
        }
        // The residual's value is not used, so d ln p may stand as dp/p.
        let dry = 1.0 - x;
        let residual = p / p.value() - curve.ln_p - self.ln_enhancement(p, &curve, pure, R::of(dry));
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
        let p = pure / MOLAR_MASS_WATER;
        let h = VAPOUR.enthalpy(self.t, self.ln_t) + p * self.virials.water(Of::Enthalpy);
        let ln_p = curve.ln_p - math::ln(REFERENCE_PRESSURE);
        let s =
            VAPOUR.entropy(self.t, self.ln_t) - ln_p * VAPOUR_GAS_CONSTANT - p * self.virials.water(Of::Slope) / self.t;
        s - (h - curve.enthalpy(self.t, pure)) / self.t
    }
}

/// x = x₀ exp(a − c x (2 − x)): a series to the second power of a and c x₀, which are below 0.1 wherever there is
/// saturated air, then Newton's method until the square of the step is nothing: times c x₀, below 1e-12.
#[inline(always)]
fn solve_share(x0: f64, a: f64, c: f64) -> f64 {
    let pull = 2.0 * c * x0;
    let mut x = x0 * (1.0 + (a - pull) + 0.5 * a * a + pull * (1.5 * pull - 2.0 * a) + c * x0 * x0);
    for _ in 0..20 {
        let image = x0 * exp_near_zero(a + c * x * (x - 2.0));
        let step = (image - x) / (1.0 + 2.0 * (1.0 - x) * c * image);
        x += step;
        if step.abs() <= 1e-6 * x {
            break;
        }
    }
    x
}

/// eˣ; to x⁶ where what is left out is below 1e-14.
#[inline(always)]
fn exp_near_zero(x: f64) -> f64 {
    if x.abs() > 0.03 {
        return math::exp(x);
    }
    let z = x * x;
    let tail = (1.0 / 24.0 + x * (1.0 / 120.0)) + z * (1.0 / 720.0);
    1.0 + (x + z * ((0.5 + x * (1.0 / 6.0)) + z * tail))
}
