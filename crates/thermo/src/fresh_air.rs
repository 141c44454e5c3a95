//! Fresh air per occupant. The figures of the rules stand here as references; which applies, and to what, is the
//! document's to say.

use crate::domain::{DomainError, check, finite, positive};
use units::{MassFlow, Real};

/// 0.55 lb/min = 0.004 157 93 kg/s: 14 CFR 25.831(a), per occupant.
pub const CFR_25_831: MassFlow = MassFlow::from_si(0.55 * 0.453_592_37 / 60.0);

/// 0.25 kg/min = 0.004 166 67 kg/s: CS 25.831(a) (ED Decision 2019/013/R), the same rule rounded, 0.2 % more.
pub const CS_25_831: MassFlow = MassFlow::from_si(0.25 / 60.0);

/// Bleed air that reaches the cabin.
///
/// ```text
/// ṁ = ṁ_packs + ṁ_trim − ṁ_leaks
/// ```
/// * Units: kg/s.
/// * Range: each 0 kg/s or more, leaks not above the rest. Trim tapped behind the packs' flow meters is in `packs`
///   already: then `trim` is 0. Recirculated air is not fresh.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
pub fn supply<R: Real>(packs: R, trim: R, leaks: R) -> Result<R, DomainError> {
    const NAME: &str = "fresh air supply";
    const FLOW: &str = "0 kg/s or more";
    let packs = check(NAME, "flow of the packs", packs, FLOW, |x| x >= 0.0)?;
    let trim = check(NAME, "trim flow", trim, FLOW, |x| x >= 0.0)?;
    let leaks = check(NAME, "leakage", leaks, FLOW, |x| x >= 0.0)?;
    let supply = packs + trim - leaks;
    check(NAME, "supply", supply, "0 kg/s or more: more leaks than is supplied", |x| x >= 0.0)?;
    finite(NAME, supply)
}

/// Fresh air per occupant.
///
/// ```text
/// ṁ_1 = ṁ/n
/// ```
/// * Units: kg/s; occupants counted as the document does (seats or persons, crew included or not); kg/s out.
/// * Range: supply 0 kg/s or more, occupants 1 or more.
/// * Outside: [`DomainError`].
/// * Source: definition.
///
/// ```
/// use thermo::fresh_air::{CFR_25_831, per_occupant, share_of};
/// let each = per_occupant(1.0, 180.0)?;
/// assert!((share_of(each, CFR_25_831.si())? - 1.3361).abs() < 5e-5);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn per_occupant<R: Real>(supply: R, occupants: R) -> Result<R, DomainError> {
    const NAME: &str = "fresh air per occupant";
    let supply = check(NAME, "supply", supply, "0 kg/s or more", |x| x >= 0.0)?;
    finite(NAME, supply / check(NAME, "occupants", occupants, "1 or more", |x| x >= 1.0)?)
}

/// Fresh air per occupant as a share of what a rule asks for.
///
/// ```text
/// r = ṁ_1/ṁ_rule
/// ```
/// * Units: kg/s, kg/s ([`CFR_25_831`], [`CS_25_831`]); ratio out, 1 where the rule is just met.
/// * Range: 0 kg/s or more, rule above 0 kg/s.
/// * Outside: [`DomainError`].
/// * Source: 14 CFR 25.831(a), CS 25.831(a).
pub fn share_of<R: Real>(per_occupant: R, rule: R) -> Result<R, DomainError> {
    const NAME: &str = "fresh air as a share of the rule";
    let each = check(NAME, "fresh air per occupant", per_occupant, "0 kg/s or more", |x| x >= 0.0)?;
    finite(NAME, each / positive(NAME, "flow of the rule", rule, "above 0 kg/s")?)
}
