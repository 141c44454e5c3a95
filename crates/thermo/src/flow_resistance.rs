//! The law that ties a pressure drop to the flow of one geometry, and what is read from it: ram flow without a meter,
//! drops at a reference flow, ice in a condenser.
//!
//! ```text
//! σΔp = K·ṁⁿ     n = 1.6…1.9 for exchangers (common practice, no source); K, n learned on that unit
//! ```
//! σΔp is the [`corrected_pressure_drop`](crate::pressure_drop::corrected_pressure_drop), ṁ the actual mass flow.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

const DROP: &str = "0 Pa or more";
const FLOW: &str = "above 0 kg/s";

/// Corrected pressure drop at a flow, by the law.
///
/// ```text
/// σΔp = K·ṁⁿ
/// ```
/// * Units: kg/s, Pa·(s/kg)ⁿ, exponent; Pa out.
/// * Range: flow above 0 kg/s, K above 0, n within 1…2 (laminar to fully rough).
/// * Outside: [`DomainError`].
/// * Source: common practice for exchangers, no source.
pub fn corrected_drop<R: Real>(flow: R, coefficient: R, exponent: R) -> Result<R, DomainError> {
    const NAME: &str = "corrected pressure drop from flow";
    let flow = positive(NAME, "mass flow", flow, FLOW)?;
    let (coefficient, exponent) = law(NAME, coefficient, exponent)?;
    finite(NAME, coefficient * flow.pow(exponent))
}

/// Flow from a corrected pressure drop, the inverse of [`corrected_drop`]: ram flow where no meter is.
///
/// ```text
/// ṁ = (σΔp/K)^(1/n)
/// ```
/// * Units: Pa, Pa·(s/kg)ⁿ, exponent; kg/s out. Good to 3…8 % (common practice, no source): K changes with dirt.
/// * Range: σΔp above 0 Pa, else as [`corrected_drop`].
/// * Outside: [`DomainError`].
/// * Source: as [`corrected_drop`].
///
/// ```
/// let flow = thermo::flow_resistance::flow(1600.0, 400.0, 2.0)?;
/// assert!((flow - 2.0).abs() < 1e-12);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn flow<R: Real>(corrected_drop: R, coefficient: R, exponent: R) -> Result<R, DomainError> {
    const NAME: &str = "flow from corrected pressure drop";
    let drop = positive(NAME, "corrected pressure drop", corrected_drop, "above 0 Pa (reversed tubes?)")?;
    let (coefficient, exponent) = law(NAME, coefficient, exponent)?;
    finite(NAME, (drop / coefficient).pow(R::of(1.0) / exponent))
}

/// Corrected pressure drop brought to a reference flow.
///
/// ```text
/// Δp_c = σΔp·(ṁ_ref/ṁ)ⁿ
/// ```
/// * Units: Pa, kg/s, kg/s, exponent; Pa out.
/// * Range: σΔp 0 Pa or more, flows above 0 kg/s, n within 1…2.
/// * Outside: [`DomainError`].
/// * Source: as [`corrected_drop`].
pub fn drop_at_reference_flow<R: Real>(
    corrected_drop: R,
    flow: R,
    reference_flow: R,
    exponent: R,
) -> Result<R, DomainError> {
    const NAME: &str = "pressure drop at reference flow";
    let drop = check(NAME, "corrected pressure drop", corrected_drop, DROP, |x| x >= 0.0)?;
    let flow = positive(NAME, "mass flow", flow, FLOW)?;
    let reference = positive(NAME, "reference flow", reference_flow, FLOW)?;
    let (_, exponent) = law(NAME, R::of(1.0), exponent)?;
    finite(NAME, drop * (reference / flow).pow(exponent))
}

/// Icing index of a condenser: how much its drop exceeds that of the clean one at the same flow.
///
/// ```text
/// i = σΔp·(ṁ_clean/ṁ)ⁿ/σΔp_clean − 1
/// ```
/// * Units: Pa and kg/s of now, Pa and kg/s of the clean unit, exponent; ratio out: 0 clean, 3 at four times the drop.
/// * Range: σΔp 0 Pa or more, σΔp_clean above 0 Pa, flows above 0 kg/s, n within 1…2. Dirt and water raise it too;
///   ice comes and goes within minutes.
/// * Outside: [`DomainError`].
/// * Source: common practice, no source.
///
/// ```
/// let index = thermo::flow_resistance::icing_index(8000.0, 0.5, 2000.0, 0.5, 1.8)?;
/// assert!((index - 3.0).abs() < 1e-12);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn icing_index<R: Real>(
    corrected_drop: R,
    flow: R,
    clean_drop: R,
    clean_flow: R,
    exponent: R,
) -> Result<R, DomainError> {
    const NAME: &str = "icing index";
    let clean = positive(NAME, "corrected pressure drop when clean", clean_drop, "above 0 Pa")?;
    finite(NAME, drop_at_reference_flow(corrected_drop, flow, clean_flow, exponent)? / clean - 1.0)
}

fn law<R: Real>(formula: &'static str, coefficient: R, exponent: R) -> Result<(R, R), DomainError> {
    let coefficient = positive(formula, "coefficient K", coefficient, "above 0")?;
    Ok((coefficient, check(formula, "exponent n", exponent, "within 1…2", |n| (1.0..=2.0).contains(&n))?))
}
