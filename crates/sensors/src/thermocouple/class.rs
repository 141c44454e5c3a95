//! Tolerance classes of IEC 60584-1.

use super::Thermocouple::{self, B, E, J, K, N, R, S, T};
use crate::formula::{Argument, FormulaError};

/// A class: how far a thermocouple as delivered may be off. Class 1 is the narrowest, class 3 the one for low
/// temperatures (for type B the wider one).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ToleranceClass {
    /// Class 1.
    One,
    /// Class 2.
    Two,
    /// Class 3.
    Three,
}

use ToleranceClass::{One, Three, Two};

/// The larger of a constant and a share of |t|, over a range; or, above 1100 °C, 1 K and 0.3 % of what is above.
struct Rule {
    constant_k: f64,
    share: f64,
    from_c: f64,
    to_c: f64,
}

const fn rule(constant_k: f64, share: f64, from_c: f64, to_c: f64) -> Option<Rule> {
    Some(Rule { constant_k, share, from_c, to_c })
}

impl Thermocouple {
    /// The limit of error of a class at a temperature in °C: half the width of the tolerance band, K. The band is for
    /// the thermocouple as delivered, with the reference junction at 0 °C; it is no standard uncertainty.
    ///
    /// Formula: the larger of a constant and a share of |t|; types S and R in class 1 above 1100 °C
    /// 1 K + 0.003·(t − 1100 °C). Range: the class's own, [`class_range_c`](Self::class_range_c).
    /// Source: IEC 60584-1:2013 (before: IEC 60584-2:1982 and its amendment of 1989), from memory, agreeing with
    /// two makers' printed tables.
    ///
    /// # Errors
    /// [`FormulaError::NoClass`] where the standard gives the type no such class, [`FormulaError::Outside`] for a
    /// temperature outside the class's range and for NaN.
    pub fn tolerance_k(self, class: ToleranceClass, temperature_c: f64) -> Result<f64, FormulaError> {
        let r = self.checked_rule(class)?;
        let argument = Argument { formula: self.name(), argument: "the temperature of the class", unit: "degC" };
        let t = argument.within(temperature_c, (r.from_c, r.to_c))?;
        if matches!((self, class), (S | R, One)) {
            return Ok(r.constant_k + r.share * (t - 1100.0).max(0.0));
        }
        Ok(r.constant_k.max(r.share * t.abs()))
    }

    /// The lowest and highest temperature of a class, °C.
    ///
    /// # Errors
    /// [`FormulaError::NoClass`] where the standard gives the type no such class.
    pub fn class_range_c(self, class: ToleranceClass) -> Result<(f64, f64), FormulaError> {
        self.checked_rule(class).map(|r| (r.from_c, r.to_c))
    }

    fn checked_rule(self, class: ToleranceClass) -> Result<Rule, FormulaError> {
        self.rule(class).ok_or(FormulaError::NoClass {
            formula: self.name(),
            class: match class {
                One => "1",
                Two => "2",
                Three => "3",
            },
            classes: if self == B { "2 and 3" } else { "1 and 2" },
        })
    }

    #[rustfmt::skip]
    fn rule(self, class: ToleranceClass) -> Option<Rule> {
        match (self, class) {
            (T, One)       => rule(0.5, 0.004,   -40.0,  350.0),
            (T, Two)       => rule(1.0, 0.0075,  -40.0,  350.0),
            (T, Three)     => rule(1.0, 0.015,  -200.0,   40.0),
            (E, One)       => rule(1.5, 0.004,   -40.0,  800.0),
            (E, Two)       => rule(2.5, 0.0075,  -40.0,  900.0),
            (J, One)       => rule(1.5, 0.004,   -40.0,  750.0),
            (J, Two)       => rule(2.5, 0.0075,  -40.0,  750.0),
            (K | N, One)   => rule(1.5, 0.004,   -40.0, 1000.0),
            (K | N, Two)   => rule(2.5, 0.0075,  -40.0, 1200.0),
            (E | K | N, Three) => rule(2.5, 0.015, -200.0, 40.0),
            (S | R, One)   => rule(1.0, 0.003,     0.0, 1600.0),
            (S | R, Two)   => rule(1.5, 0.0025,    0.0, 1600.0),
            (B, Two)       => rule(1.5, 0.0025,  600.0, 1700.0),
            (B, Three)     => rule(4.0, 0.005,   600.0, 1700.0),
            (J | S | R, Three) | (B, One) => None,
        }
    }
}
