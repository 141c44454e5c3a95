//! Thermocouples of IEC 60584-1: types K, T, J, E, N, S, R and B, both ways.
//!
//! A thermocouple gives E(t) − E(t_ref): the reference junction is corrected for by adding its **voltage** E(t_ref)
//! to the measured one and then looking up the temperature. Adding the temperatures is wrong by up to several kelvin.
//!
//! ```
//! use sensors::Thermocouple;
//! use units::Dual;
//!
//! // 7.138 mV at terminals of 25 °C: the hot end is at 200 °C, not at 174.8 + 25 °C.
//! let t = Thermocouple::K.junction_c(7.138, 25.0).unwrap();
//! assert!((t - 200.0).abs() < 0.01);
//! // How much 1 K at the terminals counts for: the ratio of the Seebeck coefficients.
//! let by_terminals = Thermocouple::K.junction_c(Dual::constant(7.138), Dual::<1>::variable(25.0, 0)).unwrap();
//! assert!((by_terminals.partials[0] - 1.013).abs() < 0.001);
//! ```
//! Source of the reference functions: NIST Monograph 175 (1993), coefficients as in NIST Standard Reference Database
//! 60; IEC 60584-1:2013 has the same ones (type K there to 1300 °C, here to 1372 °C as in the monograph). Scale:
//! ITS-90. The functions are polynomials in pieces whose joints do not meet exactly: at 760 °C type J steps up by
//! 7.5e-8 mV (1.2 µK), everywhere else it is less than 2.2e-9 mV (0.4 µK).

mod class;
mod function;
mod its90;

pub use class::ToleranceClass;

use crate::formula::{Argument, FormulaError};
use function::Function;
use units::Real;

/// A type of thermocouple by its letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Thermocouple {
    /// Nickel-chromium against nickel-aluminium, −270 to 1372 °C.
    K,
    /// Copper against copper-nickel, −270 to 400 °C.
    T,
    /// Iron against copper-nickel, −210 to 1200 °C.
    J,
    /// Nickel-chromium against copper-nickel, −270 to 1000 °C.
    E,
    /// Nickel-chromium-silicon against nickel-silicon, −270 to 1300 °C.
    N,
    /// Platinum-10 % rhodium against platinum, −50 to 1768.1 °C.
    S,
    /// Platinum-13 % rhodium against platinum, −50 to 1768.1 °C.
    R,
    /// Platinum-30 % rhodium against platinum-6 % rhodium, 0 to 1820 °C; read back above 42.2 °C only.
    B,
}

use Thermocouple::{B, E, J, K, N, R, S, T};

/// Type B gives an emf above 0 only above this temperature (E = 0 at 42.14 °C); below, two temperatures give each
/// emf down to the lowest, −0.00258 mV at 21.02 °C.
const B_UNIQUE_ABOVE_C: f64 = 42.15;

impl Thermocouple {
    /// Every type.
    pub const ALL: [Thermocouple; 8] = [K, T, J, E, N, S, R, B];

    /// The type of a letter, large or small.
    pub fn from_letter(letter: &str) -> Option<Thermocouple> {
        Self::ALL.into_iter().find(|t| t.letter().eq_ignore_ascii_case(letter))
    }

    /// The letter.
    pub fn letter(self) -> &'static str {
        match self {
            K => "K",
            T => "T",
            J => "J",
            E => "E",
            N => "N",
            S => "S",
            R => "R",
            B => "B",
        }
    }

    /// The lowest and highest temperature of the reference function, °C.
    pub fn range_c(self) -> (f64, f64) {
        (self.function().from_c, self.function().to_c())
    }

    /// The lowest and highest emf of the reference function, mV. Type B is read back only above 0 mV.
    pub fn range_mv(self) -> (f64, f64) {
        (self.function().lowest_mv(), self.function().to_mv())
    }

    /// The reference function E(t): emf in mV with the measuring junction at t in °C, the reference junction at 0 °C.
    ///
    /// Formula: Σ cᵢ·tⁱ in pieces; type K above 0 °C with + a₀·exp(a₁·(t − a₂)²).
    /// Range: [`range_c`](Self::range_c). Source: NIST Monograph 175 (1993).
    ///
    /// # Errors
    /// [`FormulaError::Outside`] beyond the range and for NaN.
    #[inline]
    pub fn emf_mv<X: Real>(self, temperature_c: X) -> Result<X, FormulaError> {
        self.emf_of(temperature_c, "the temperature")
    }

    /// The Seebeck coefficient dE/dt in mV/K at t in °C: the slope of [`emf_mv`](Self::emf_mv), range and source as
    /// there.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] beyond the range and for NaN.
    #[inline]
    pub fn seebeck_mv_per_k<X: Real>(self, temperature_c: X) -> Result<X, FormulaError> {
        let t = self.argument("the temperature", "degC").within(temperature_c, self.range_c())?;
        Ok(self.function().slope(t))
    }

    /// The temperature in °C at which the reference function has an emf in mV: its inverse, found by Newton's method
    /// on the function itself to the last digits (not by the published approximate inverse polynomials, which are
    /// 0.02…0.06 K off). The round trip closes to 1e-9 K; for E below −250 °C to 1e-8 K and for T below −200 °C to
    /// 1e-7 K, where the polynomial's terms cancel; and to 4e-7 K just above the joints of S, R and B.
    ///
    /// Range: [`range_mv`](Self::range_mv); type B above 0 mV (42.15 °C).
    ///
    /// # Errors
    /// [`FormulaError::Outside`] beyond the range and for NaN; [`FormulaError::TwoTemperatures`] for type B from its
    /// lowest emf to 0 mV.
    #[inline]
    pub fn temperature_c<X: Real>(self, emf_mv: X) -> Result<X, FormulaError> {
        let f = self.function();
        let emf = self.argument("the emf referred to 0 degC", "mV").within(emf_mv, self.range_mv())?;
        if f.turn.is_some() && emf <= 0.0 {
            let (formula, emf_mv) = (self.name(), emf.value());
            return Err(FormulaError::TwoTemperatures { formula, emf_mv, unique_above_c: B_UNIQUE_ABOVE_C });
        }
        Ok(f.temperature(emf))
    }

    /// The temperature of the measuring junction in °C from the emf measured in mV and the temperature of the
    /// reference junction in °C: E⁻¹(emf + E(t_ref)). Voltages are added, never temperatures.
    ///
    /// Range: both temperatures in [`range_c`](Self::range_c). Source: IEC 60584-1; NIST Monograph 175.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] for a reference junction or a sum beyond the range; else as
    /// [`temperature_c`](Self::temperature_c).
    #[inline]
    pub fn junction_c<X: Real>(self, measured_mv: X, reference_c: X) -> Result<X, FormulaError> {
        let (low, high) = self.range_mv();
        let most = high - low;
        let measured = self.argument("the measured emf", "mV").within(measured_mv, (-most, most))?;
        self.temperature_c(measured + self.emf_of(reference_c, "the reference junction's temperature")?)
    }

    /// The emf in mV that is measured with the measuring junction and the reference junction at temperatures in °C:
    /// E(t) − E(t_ref). Range: both in [`range_c`](Self::range_c).
    ///
    /// # Errors
    /// [`FormulaError::Outside`] for a temperature beyond the range and for NaN.
    #[inline]
    pub fn measured_mv<X: Real>(self, junction_c: X, reference_c: X) -> Result<X, FormulaError> {
        Ok(self.emf_mv(junction_c)? - self.emf_of(reference_c, "the reference junction's temperature")?)
    }

    #[inline]
    fn emf_of<X: Real>(self, temperature_c: X, argument: &'static str) -> Result<X, FormulaError> {
        let t = self.argument(argument, "degC").within(temperature_c, self.range_c())?;
        Ok(self.function().emf(t))
    }

    #[inline]
    fn argument(self, argument: &'static str, unit: &'static str) -> Argument {
        Argument { formula: self.name(), argument, unit }
    }

    fn name(self) -> &'static str {
        match self {
            K => "thermocouple type K",
            T => "thermocouple type T",
            J => "thermocouple type J",
            E => "thermocouple type E",
            N => "thermocouple type N",
            S => "thermocouple type S",
            R => "thermocouple type R",
            B => "thermocouple type B",
        }
    }

    #[inline]
    fn function(self) -> &'static Function {
        match self {
            K => &its90::K,
            T => &its90::T,
            J => &its90::J,
            E => &its90::E,
            N => &its90::N,
            S => &its90::S,
            R => &its90::R,
            B => &its90::B,
        }
    }
}
