//! Expansion ratio of the turbines.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::{Architecture, Arrangement};
use thermo::pressure_ratio::ratio;
use units::{Quantity, Real};

const FORMULA1: &str = "p turbine1_in / p turbine1_out, both absolute and total";
const FORMULA2: &str = "p turbine2_in / p turbine2_out, both absolute and total";
const VALIDITY: &str = "refused where a pressure is not above 0 Pa absolute";

/// The turbine, or the first of two.
pub(super) static TURBINE1_PRESSURE_RATIO: Derived = Derived {
    name: "turbine1.pressure_ratio",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "inlet over outlet pressure of the turbine; of the first one, where there are two",
    validity: VALIDITY,
    source: "definition",
    order: None,
    ways: |_| {
        vec![Way::new(FORMULA1, ["turbine1_in.total_pressure", "turbine1_out.total_pressure"], formula!(compute))]
    },
};

/// The second turbine of a four-wheel machine.
pub(super) static TURBINE2_PRESSURE_RATIO: Derived = Derived {
    name: "turbine2.pressure_ratio",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "inlet over outlet pressure of a four-wheel machine's second turbine",
    validity: VALIDITY,
    source: "definition",
    order: None,
    ways: |site| match site.arrangement.architecture {
        Architecture::FourWheel => {
            vec![Way::new(FORMULA2, ["turbine2_in.total_pressure", "turbine2_out.total_pressure"], formula!(compute))]
        }
        _ => vec![],
    },
};

fn compute<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [inlet, outlet] = inputs("expansion ratio of a turbine", x)?;
    ratio(inlet, outlet)
}
