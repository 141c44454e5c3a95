//! The arrangements of flow, and effectiveness as a function of transfer units.

use super::{closed_form, passes, unmixed};
use crate::domain::{DomainError, check, finite};
use units::Real;

/// The most transfer units taken. Real exchangers have up to about 20; far above, the effectiveness only shows how
/// it is computed. Our own choice, no source.
pub const MAX_TRANSFER_UNITS: f64 = 500.0;

/// The most passes or shells taken. Our own choice, no source.
pub const MAX_PASSES: u32 = 64;

/// How the two fluids flow past each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrangement {
    /// In opposite directions.
    CounterFlow,
    /// In the same direction.
    ParallelFlow,
    /// At right angles, one pass.
    CrossFlow(Mixing),
    /// Several equal cross-flow passes with the same share of the transfer units each, connected overall in
    /// counter-flow; **both fluids are mixed between the passes** (each enters a pass with one temperature).
    CrossCounterFlow {
        /// Number of passes, 1…[`MAX_PASSES`].
        passes: u32,
        /// Mixing inside each pass.
        mixing: Mixing,
    },
    /// Shell and tube, shell fluid mixed, an even number of tube passes in each shell; several shells in series in
    /// overall counter-flow, both fluids mixed between them.
    ShellAndTube {
        /// Number of shells in series, 1…[`MAX_PASSES`].
        shells: u32,
    },
}

/// Which fluid of a cross-flow pass is mixed across its own direction. Fins or tubes keep a fluid unmixed; "min" and
/// "max" are the fluids with the smaller and the greater capacity flow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mixing {
    /// Neither: a plate-fin exchanger.
    BothUnmixed,
    /// The fluid with the smaller capacity flow.
    MinMixed,
    /// The fluid with the greater capacity flow.
    MaxMixed,
    /// Both. The effectiveness has a maximum over the transfer units and falls beyond it.
    BothMixed,
}

impl Mixing {
    /// The mixing where the hot fluid alone is mixed, by the two capacity flows, W/K.
    pub fn hot_mixed<R: Real>(hot: R, cold: R) -> Mixing {
        if hot <= cold { Mixing::MinMixed } else { Mixing::MaxMixed }
    }

    /// The mixing where the cold fluid alone is mixed, by the two capacity flows, W/K.
    pub fn cold_mixed<R: Real>(hot: R, cold: R) -> Mixing {
        if cold <= hot { Mixing::MinMixed } else { Mixing::MaxMixed }
    }
}

/// Effectiveness of an exchanger, ε = q / (C_min·(T_hot,in − T_cold,in)).
///
/// ```text
/// N = UA/C_min    C = C_min/C_max
/// counter-flow     ε = (1 − e^(−N(1−C))) / (1 − C·e^(−N(1−C)))          C = 1: N/(1 + N)
/// parallel-flow    ε = (1 − e^(−N(1+C))) / (1 + C)
/// cross-flow, both unmixed (exact)
///                  ε = 1/(C·N) · Σ_{n≥0} P(n+1, N)·P(n+1, C·N)   P: 1 − e^−x Σ_{k≤n} x^k/k!
///   C_max mixed    ε = (1 − e^(−C(1 − e^−N))) / C
///   C_min mixed    ε = 1 − e^(−(1 − e^(−C·N))/C)
///   both mixed     1/ε = 1/(1 − e^−N) + C/(1 − e^(−C·N)) − 1/N
/// n passes in counter-flow, each with N/n and ε_p
///                  ε = (F − 1)/(F − C)   F = ((1 − C·ε_p)/(1 − ε_p))^n   C = 1: n·ε_p/(1 + (n−1)·ε_p)
/// shell and tube, one shell
///                  ε = 2 / (1 + C + S·(1 + e^(−N·S))/(1 − e^(−N·S)))   S = √(1 + C²)
/// ```
/// The limits C = 0 (1 − e^−N for every arrangement) and C = 1 are reached without a step. The series for cross-flow
/// is summed until what is left is below 1e−17; the closed form printed in most texts for it is an approximation up to
/// 3.8 % off and not used.
///
/// * Units: ratios.
/// * Range: N from 0 to [`MAX_TRANSFER_UNITS`], C from 0 to 1, 1 to [`MAX_PASSES`] passes.
/// * Outside: [`DomainError`].
/// * Source: W.M. Kays, A.L. London, Compact Heat Exchangers (from memory); J. L. Mason, Heat transfer in cross-flow,
///   2nd U.S. National Congress of Applied Mechanics, 1954, for the series (from memory). Held against the library ht.
///
/// ```
/// use thermo::exchanger::{Arrangement, Mixing, effectiveness};
/// let e = effectiveness(Arrangement::CrossFlow(Mixing::BothUnmixed), 2.0, 0.5)?;
/// assert!((e - 0.732_409_3).abs() < 1e-7);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn effectiveness<R: Real>(arrangement: Arrangement, ntu: R, capacity_ratio: R) -> Result<R, DomainError> {
    const NAME: &str = "exchanger effectiveness";
    let ntu = check(NAME, "transfer units", ntu, "0 to 500", |n| (0.0..=MAX_TRANSFER_UNITS).contains(&n))?;
    let ratio = check_ratio(NAME, capacity_ratio)?;
    check_passes(NAME, arrangement)?;
    // Near 1 the quotients may round to one place above it.
    finite(NAME, formula(arrangement, ntu, ratio).min(R::of(1.0)))
}

/// The formula alone, arguments checked beforehand.
pub(super) fn formula<R: Real>(arrangement: Arrangement, ntu: R, ratio: R) -> R {
    match arrangement {
        Arrangement::CounterFlow => closed_form::counter_flow(ntu, ratio),
        Arrangement::ParallelFlow => closed_form::parallel_flow(ntu, ratio),
        Arrangement::CrossFlow(mixing) => cross_flow(mixing, ntu, ratio),
        Arrangement::CrossCounterFlow { passes, mixing } => {
            passes::in_counter_flow(cross_flow(mixing, ntu / f64::from(passes), ratio), ratio, passes)
        }
        Arrangement::ShellAndTube { shells } => {
            passes::in_counter_flow(closed_form::one_shell(ntu / f64::from(shells), ratio), ratio, shells)
        }
    }
}

fn cross_flow<R: Real>(mixing: Mixing, ntu: R, ratio: R) -> R {
    match mixing {
        Mixing::BothUnmixed => unmixed::effectiveness(ntu, ratio),
        Mixing::MinMixed => closed_form::min_mixed(ntu, ratio),
        Mixing::MaxMixed => closed_form::max_mixed(ntu, ratio),
        Mixing::BothMixed => closed_form::both_mixed(ntu, ratio),
    }
}

pub(super) fn check_ratio<R: Real>(formula: &'static str, ratio: R) -> Result<R, DomainError> {
    const VALID: &str = "0 to 1 (the smaller capacity flow over the greater)";
    check(formula, "capacity ratio", ratio, VALID, |c| (0.0..=1.0).contains(&c))
}

pub(super) fn check_passes(formula: &'static str, arrangement: Arrangement) -> Result<(), DomainError> {
    let passes = match arrangement {
        Arrangement::CrossCounterFlow { passes, .. } => passes,
        Arrangement::ShellAndTube { shells } => shells,
        _ => return Ok(()),
    };
    check(formula, "number of passes", f64::from(passes), "1 to 64", |_| (1..=MAX_PASSES).contains(&passes)).map(drop)
}
