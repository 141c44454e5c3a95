//! Standard uncertainty from what is known otherwise than by repeated readings (type B).
//!
//! ```
//! use uncertainty::standard::{AccuracyClass, Shape};
//! // A transmitter of class 0.25 % of span, span 5 bar, limits taken as rectangular:
//! let class = AccuracyClass { of_reading: 0.0, of_span: 0.0025, span: 500e3, absolute: 0.0 };
//! let u = Shape::Rectangular.from_limit(class.limit(320e3)?)?;
//! assert!((u - 1250.0 / 3f64.sqrt()).abs() < 1e-9);
//! # Ok::<(), uncertainty::DomainError>(())
//! ```

use crate::distribution::{normal, student_t};
use crate::domain::{Checks, DomainError};
use units::math;

/// How an error is thought to lie between the limits ±a.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Anywhere as likely: only limits are known. Divisor √3.
    Rectangular,
    /// The middle likelier: the difference of two equal rectangular ones. Divisor √6.
    Triangular,
    /// Near the limits likelier: a sine of unknown phase, a room's temperature under an on-off controller. Divisor √2.
    UShaped,
    /// Normal, the limits k standard deviations away. Divisor k.
    Normal {
        /// Coverage factor, above 0.
        k: f64,
    },
}

impl Shape {
    /// Standard uncertainty of an error within ±`half_width`.
    ///
    /// ```text
    /// rectangular u = a/√3    triangular u = a/√6    U-shaped u = a/√2    normal u = a/k
    /// ```
    /// * Units: those of a. * Range: a 0 or above; k above 0. * Outside: [`DomainError`].
    /// * Source: JCGM 100:2008 (GUM), 4.3.7, 4.3.9; U-shaped: H.1.3.5.
    pub fn from_limit(self, half_width: f64) -> Result<f64, DomainError> {
        let check = Checks("standard uncertainty from limits");
        let a = check.not_negative("half width", half_width)?;
        let divisor = match self {
            Shape::Rectangular => math::sqrt(3.0),
            Shape::Triangular => math::sqrt(6.0),
            Shape::UShaped => math::sqrt(2.0),
            Shape::Normal { k } => check.positive("coverage factor k", k)?,
        };
        check.result(a / divisor)
    }
}

/// Limits of error as a data sheet gives them; the parts add up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AccuracyClass {
    /// Share of the reading (0.01 for 1 %).
    pub of_reading: f64,
    /// Share of the span.
    pub of_span: f64,
    /// The span, upper less lower range value, in the unit of the reading.
    pub span: f64,
    /// A part in the unit of the reading, such as ±1 K or a count of digits.
    pub absolute: f64,
}

impl AccuracyClass {
    /// Limit of error ±a at a reading.
    ///
    /// ```text
    /// a = of_reading·|reading| + of_span·span + absolute
    /// ```
    /// * Units: of the reading. * Range: every part 0 or above, any finite reading. * Outside: [`DomainError`].
    /// * Source: common practice of data sheets, no source.
    pub fn limit(self, reading: f64) -> Result<f64, DomainError> {
        let check = Checks("limit of error");
        let reading = check.finite("reading", reading)?;
        let of_reading = check.not_negative("share of reading", self.of_reading)?;
        let of_span = check.not_negative("share of span", self.of_span)?;
        let span = check.not_negative("span", self.span)?;
        let absolute = check.not_negative("absolute part", self.absolute)?;
        check.result(of_reading * reading.abs() + of_span * span + absolute)
    }
}

/// From a certificate that gives U and k.
///
/// ```text
/// u = U/k
/// ```
/// * Units: those of U. * Range: U 0 or above, k above 0. * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), 4.3.3.
pub fn from_certificate(expanded: f64, k: f64) -> Result<f64, DomainError> {
    let check = Checks("standard uncertainty from a certificate");
    check.result(check.not_negative("expanded uncertainty", expanded)? / check.positive("coverage factor k", k)?)
}

/// From a certificate that gives U and a coverage probability, and perhaps degrees of freedom (infinite if not).
///
/// ```text
/// u = U/t_p(ν)
/// ```
/// * Units: those of U. * Range: U 0 or above, 0 < p < 1, ν 1 or above. * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), 4.3.4 and G.3.
pub fn from_coverage(expanded: f64, probability: f64, dof: f64) -> Result<f64, DomainError> {
    from_certificate(expanded, two_sided_factor(probability, dof)?)
}

/// The factor t_p(ν) that makes ±t·u hold with probability p.
///
/// * Units: dimensionless.
/// * Range: 0 < p < 1; ν 1 or above, infinite for the normal distribution. * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), G.3.
pub fn two_sided_factor(probability: f64, dof: f64) -> Result<f64, DomainError> {
    let check = Checks("coverage factor");
    let p = check.probability(probability)?;
    // The lower quantile keeps its digits for p near 1.
    let t = -student_t::quantile(0.5 * (1.0 - p), check.dof(dof)?)?;
    check.positive("the result", t)
}

/// The factor that makes "below y + z·u" hold with probability p: for limits on one side.
///
/// * Units: dimensionless.
/// * Range: 0 < p < 1. * Outside: [`DomainError`]. * Source: JCGM 106:2012, annex.
pub fn one_sided_factor(probability: f64) -> Result<f64, DomainError> {
    normal::quantile(probability)
}

/// From the step of a display or converter: the value is anywhere within half a step.
///
/// ```text
/// u = step/√12
/// ```
/// * Units: those of the step. * Range: step 0 or above. * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), F.2.2.1.
pub fn from_resolution(step: f64) -> Result<f64, DomainError> {
    let check = Checks("standard uncertainty from resolution");
    check.result(check.not_negative("step", step)? / math::sqrt(12.0))
}

/// Degrees of freedom of a type B uncertainty that is itself known to a relative Δu/u.
///
/// ```text
/// ν = ½·(Δu/u)⁻²
/// ```
/// * Units: dimensionless.
/// * Range: Δu/u 0 (infinite ν) to 1/√2 (ν = 1). * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), equation (G.3).
pub fn dof_from_reliability(relative: f64) -> Result<f64, DomainError> {
    let check = Checks("degrees of freedom");
    let r = check.that("relative uncertainty of u", relative, "0 to 0.7071", |r| {
        (0.0..=std::f64::consts::FRAC_1_SQRT_2).contains(&r)
    })?;
    Ok((0.5 / (r * r)).max(1.0))
}

/// Independent parts of one quantity's uncertainty together.
///
/// ```text
/// u = √(u₁² + u₂² + …)
/// ```
/// * Units: all parts in one unit, that of the result.
/// * Range: every part 0 or above; none gives 0. * Outside: [`DomainError`] with the part's number.
/// * Source: JCGM 100:2008 (GUM), 5.1.2.
pub fn root_sum_of_squares(parts: &[f64]) -> Result<f64, DomainError> {
    let check = Checks("root sum of squares");
    let mut sum = 0.0;
    for (i, part) in parts.iter().enumerate() {
        let u = check.uncertainty(*part).map_err(|e| e.at(i))?;
        sum += u * u;
    }
    check.result(math::sqrt(sum))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(got: Result<f64, DomainError>, expected: f64, tolerance: f64) {
        let got = got.unwrap();
        assert!((got - expected).abs() <= tolerance, "{got} {expected}");
    }

    /// JCGM 100:2008 (GUM), clause 4.3 and annexes F and G, figures from memory as printed there.
    #[test]
    fn figures_of_the_guide() {
        // 4.3.3: a certificate's 240 µg at three standard deviations is 80 µg.
        near(from_certificate(240.0, 3.0), 80.0, 1e-12);
        // 4.3.4: 129 µΩ at 99 % is 50 µΩ.
        near(from_coverage(129.0, 0.99, f64::INFINITY), 50.0, 0.1);
        // 4.3.7: 0.40e-6 as half width is 0.23e-6.
        near(Shape::Rectangular.from_limit(0.40), 0.23, 0.001);
        // F.2.2.1: 0.29 of a step.
        near(from_resolution(1.0), 0.29, 0.0015);
        // G.4.2: u known to 25 % has 8 degrees of freedom.
        near(dof_from_reliability(0.25), 8.0, 1e-12);
        // Table G.2 and the normal distribution.
        near(two_sided_factor(0.9545, f64::INFINITY), 2.00, 0.001);
        near(two_sided_factor(0.6827, f64::INFINITY), 1.00, 0.001);
        near(two_sided_factor(0.9973, 10.0), 3.96, 0.005);
        near(one_sided_factor(0.95), 1.645, 0.0005);
    }

    #[test]
    fn shapes_by_their_divisors() {
        near(Shape::Triangular.from_limit(6f64.sqrt()), 1.0, 1e-15);
        near(Shape::UShaped.from_limit(2f64.sqrt()), 1.0, 1e-15);
        near(Shape::Normal { k: 2.0 }.from_limit(3.0), 1.5, 0.0);
        near(root_sum_of_squares(&[3.0, 4.0]), 5.0, 1e-15);
        let class = AccuracyClass { of_reading: 0.01, of_span: 0.001, span: 200.0, absolute: 0.5 };
        near(class.limit(-100.0), 1.0 + 0.2 + 0.5, 1e-12);
    }

    #[test]
    fn refusals_say_what() {
        let text = Shape::Rectangular.from_limit(-1.0).unwrap_err().to_string();
        assert_eq!(text, "standard uncertainty from limits: half width is -1, must be a finite number, 0 or above");
        assert!(root_sum_of_squares(&[1.0, f64::NAN]).unwrap_err().to_string().contains("number 1 (from 0) is NaN"));
    }

    proptest! {
        #[test]
        fn no_number_gives_nan(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>()) {
            let class = AccuracyClass { of_reading: a, of_span: b, span: c, absolute: d };
            for r in [
                Shape::Rectangular.from_limit(a), Shape::Normal { k: b }.from_limit(a), class.limit(c),
                from_certificate(a, b), from_coverage(a, b.abs().fract(), 1.0 + c.abs()), from_resolution(a),
                two_sided_factor(a, b), two_sided_factor(a.abs().fract(), b), one_sided_factor(a),
                root_sum_of_squares(&[a, b]),
            ] {
                prop_assert!(r.map_or(true, f64::is_finite));
            }
            prop_assert!(dof_from_reliability(a).map_or(true, |v| v >= 1.0));
        }
    }
}
