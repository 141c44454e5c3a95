//! Transfer units from effectiveness.

use super::arrangement::{Arrangement, MAX_TRANSFER_UNITS, Mixing, check_passes, check_ratio, formula};
use super::{closed_form, passes};
use crate::domain::{DomainError, check, finite};
use units::{Dual, Real};

const NAME: &str = "transfer units from effectiveness";
const REACHED: &str = "below the arrangement's highest at this capacity ratio";

/// Transfer units NTU = UA/C_min of an exchanger, the inverse of [`effectiveness`](super::effectiveness).
///
/// Closed forms where there are; cross-flow with both fluids unmixed or both mixed by Newton's method, from the
/// counter-flow exchanger's transfer units upwards, until the last place stands. Where both fluids are mixed the
/// smaller of the two solutions is given.
///
/// * Units: ratios.
/// * Range: ε from 0 to below the arrangement's limit for [`MAX_TRANSFER_UNITS`], C from 0 to 1. Towards the limit
///   the result's uncertainty grows without bound.
/// * Outside: [`DomainError`]: an effectiveness above the limit is an error of measurement, or of the arrangement.
/// * Source: as [`effectiveness`](super::effectiveness).
///
/// ```
/// use thermo::exchanger::{Arrangement, Mixing, transfer_units};
/// let ntu = transfer_units(Arrangement::CrossFlow(Mixing::BothUnmixed), 0.732_409_252_482_147_5, 0.5)?;
/// assert!((ntu - 2.0).abs() < 1e-12);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn transfer_units<R: Real>(
    arrangement: Arrangement,
    effectiveness: R,
    capacity_ratio: R,
) -> Result<R, DomainError> {
    let e = check(NAME, "effectiveness", effectiveness, "0 to below 1", |e| (0.0..1.0).contains(&e))?;
    let ratio = check_ratio(NAME, capacity_ratio)?;
    check_passes(NAME, arrangement)?;
    let ntu = match arrangement {
        Arrangement::CounterFlow => closed_form::counter_flow_inverse(e, ratio),
        Arrangement::ParallelFlow => closed_form::parallel_flow_inverse(e, ratio),
        Arrangement::CrossFlow(mixing) => cross_flow(mixing, e, ratio)?,
        Arrangement::CrossCounterFlow { passes: n, mixing } => {
            cross_flow(mixing, passes::of_one(e, ratio, n), ratio)? * f64::from(n)
        }
        Arrangement::ShellAndTube { shells: n } => {
            closed_form::one_shell_inverse(passes::of_one(e, ratio, n), ratio) * f64::from(n)
        }
    };
    if ntu.value() <= MAX_TRANSFER_UNITS { finite(NAME, ntu) } else { Err(beyond(e)) }
}

fn cross_flow<R: Real>(mixing: Mixing, effectiveness: R, ratio: R) -> Result<R, DomainError> {
    match mixing {
        Mixing::MaxMixed => Ok(closed_form::max_mixed_inverse(effectiveness, ratio)),
        Mixing::MinMixed => Ok(closed_form::min_mixed_inverse(effectiveness, ratio)),
        Mixing::BothUnmixed | Mixing::BothMixed => iterated(mixing, effectiveness, ratio),
    }
}

/// The curve bends downwards, so that Newton's steps from below never pass the root.
fn iterated<R: Real>(mixing: Mixing, effectiveness: R, ratio: R) -> Result<R, DomainError> {
    const STEPS: u32 = 200;
    let cross_flow = Arrangement::CrossFlow(mixing);
    let mut ntu = closed_form::counter_flow_inverse(effectiveness.value(), ratio.value());
    for _ in 0..STEPS {
        let at = formula(cross_flow, Dual::<1>::variable(ntu, 0), Dual::constant(ratio.value()));
        let slope = at.partials[0];
        let next = ntu + (effectiveness.value() - at.value) / slope;
        if !(slope > 0.0 && next <= MAX_TRANSFER_UNITS) {
            break;
        }
        if next <= ntu || next - ntu <= 2.0 * f64::EPSILON * ntu {
            let residual = formula(cross_flow, R::of(ntu), ratio) - effectiveness;
            return Ok(R::at_root(ntu, residual, slope));
        }
        ntu = next;
    }
    Err(beyond(effectiveness))
}

fn beyond<R: Real>(effectiveness: R) -> DomainError {
    DomainError { formula: NAME, argument: "effectiveness", value: effectiveness.value(), valid: REACHED }
}
