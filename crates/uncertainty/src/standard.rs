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
