//! Platinum resistance thermometers of IEC 60751, both ways.
//!
//! ```
//! use sensors::{Construction, Platinum, PlatinumClass};
//! let pt100 = Platinum::PT100;
//! assert!((pt100.resistance_ohm(100.0).unwrap() - 138.51).abs() < 0.005);
//! assert!((pt100.temperature_c(60.26).unwrap() + 100.0).abs() < 0.015);
//! assert_eq!(PlatinumClass::A.tolerance_k(Construction::WireWound, 100.0).unwrap(), 0.35);
//! ```

mod class;

pub use class::{Construction, PlatinumClass, ResistorClass};

use crate::fault::{SensorError, finite};
use crate::formula::{Argument, FormulaError};
use crate::root;
use units::Real;

/// The range of the equation, °C.
pub const RANGE_C: (f64, f64) = (-200.0, 850.0);

/// A platinum resistor by its resistance at 0 °C and the coefficients of the Callendar–Van Dusen equation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Platinum {
    r0: f64,
    a: f64,
    b: f64,
    c: f64,
}

impl Platinum {
    /// 100 Ω at 0 °C.
    pub const PT100: Platinum = Platinum::iec(100.0);
    /// 1000 Ω at 0 °C.
    pub const PT1000: Platinum = Platinum::iec(1000.0);

    /// With the coefficients of IEC 60751 for α = 3.851e-3/K, ITS-90.
    const fn iec(r0: f64) -> Platinum {
        Platinum { r0, a: 3.9083e-3, b: -5.775e-7, c: -4.183e-12 }
    }

    /// A resistor of IEC 60751 with any resistance at 0 °C, Ω.
    ///
    /// # Errors
    /// [`SensorError`] where it is not finite or not above 0.
    pub fn new(r0_ohm: f64) -> Result<Platinum, SensorError> {
        let iec = Platinum::PT100;
        Self::with_coefficients(r0_ohm, iec.a, iec.b, iec.c)
    }

    /// A resistor with coefficients of its own, of a certificate or another standard: A in 1/K, B in 1/K², C in 1/K⁴.
    ///
    /// # Errors
    /// [`SensorError`] where a number is not finite, R₀ is not above 0, or the resistance would not be above 0 and
    /// rise all the way from −200 to 850 °C.
    pub fn with_coefficients(r0_ohm: f64, a: f64, b: f64, c: f64) -> Result<Platinum, SensorError> {
        finite("the resistance at 0 degC", r0_ohm)?;
        finite("coefficient A", a)?;
        finite("coefficient B", b)?;
        finite("coefficient C", c)?;
        if r0_ohm <= 0.0 {
            return Err(SensorError::Resistance { r0_ohm });
        }
        let p = Platinum { r0: r0_ohm, a, b, c };
        // The slope of the quadratic is least at an end. The fourth-degree term adds 4·c·t²·(t − 75 °C) below 0 °C:
        // more than nothing for c ≤ 0, and never less than at the cold end for c > 0.
        let (cold, hot) = RANGE_C;
        let term = 4.0 * c.max(0.0) * cold * cold * (cold - 75.0);
        let slope = (a + 2.0 * b * cold).min(a) + term;
        let rises = slope > 0.0 && a + 2.0 * b * hot > 0.0;
        let (low, high) = p.range_ohm();
        if rises && low > 0.0 && high.is_finite() { Ok(p) } else { Err(SensorError::Coefficients { a, b, c }) }
    }

    /// The resistance at the ends of [`RANGE_C`], Ω.
    pub fn range_ohm(&self) -> (f64, f64) {
        (self.r0 * self.ratio(RANGE_C.0), self.r0 * self.ratio(RANGE_C.1))
    }

    /// The resistance in Ω at t in °C.
    ///
    /// Formula (Callendar–Van Dusen): R₀·(1 + A·t + B·t² + C·(t − 100 °C)·t³), the last term below 0 °C only.
    /// Range: −200 to 850 °C. Source: IEC 60751:2008, A = 3.9083e-3/K, B = −5.775e-7/K², C = −4.183e-12/K⁴.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] beyond the range and for NaN.
    #[inline]
    pub fn resistance_ohm<R: Real>(&self, temperature_c: R) -> Result<R, FormulaError> {
        let t = TEMPERATURE.within(temperature_c, RANGE_C)?;
        Ok(self.ratio(t) * self.r0)
    }

    /// dR/dt in Ω/K at t in °C: the slope of [`resistance_ohm`](Self::resistance_ohm), range and source as there.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] beyond the range and for NaN.
    #[inline]
    pub fn sensitivity_ohm_per_k<R: Real>(&self, temperature_c: R) -> Result<R, FormulaError> {
        let t = TEMPERATURE.within(temperature_c, RANGE_C)?;
        Ok(self.slope(t) * self.r0)
    }

    /// The temperature in °C at a resistance in Ω: the inverse of [`resistance_ohm`](Self::resistance_ohm), by
    /// Newton's method on the equation itself, to the last digits.
    ///
    /// Range: [`range_ohm`](Self::range_ohm), for Pt100 18.52 to 390.48 Ω. Source: IEC 60751:2008.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] beyond the range and for NaN.
    #[inline]
    pub fn temperature_c<R: Real>(&self, resistance_ohm: R) -> Result<R, FormulaError> {
        let ratio = RESISTANCE.within(resistance_ohm, self.range_ohm())? / self.r0;
        let target = ratio.value();
        let (low, high) = if target < 1.0 { (RANGE_C.0, 0.0) } else { (0.0, RANGE_C.1) };
        let t = root::rising(|t| (self.ratio(t) - target, self.slope(t)), low, high);
        Ok(R::at_root(t, -(ratio - self.ratio(t)), self.slope(t)))
    }

    /// R(t)/R₀.
    #[inline]
    fn ratio<R: Real>(&self, t: R) -> R {
        let quadratic = (t * self.b + self.a) * t + 1.0;
        if t < 0.0 { quadratic + (t - 100.0) * t * t * t * self.c } else { quadratic }
    }

    /// (dR/dt)/R₀.
    #[inline]
    fn slope<R: Real>(&self, t: R) -> R {
        let linear = t * (2.0 * self.b) + self.a;
        if t < 0.0 { linear + (t - 75.0) * t * t * (4.0 * self.c) } else { linear }
    }
}

const TEMPERATURE: Argument = Argument { formula: "platinum resistor", argument: "the temperature", unit: "degC" };
const RESISTANCE: Argument = Argument { formula: "platinum resistor", argument: "the resistance", unit: "ohm" };
