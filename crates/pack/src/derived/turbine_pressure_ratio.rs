//! Expansion ratio of the turbines.

use super::{Derived, Refusal, inputs, needs};
use crate::Architecture;
use thermo::pressure_ratio::pressure_ratio;
use units::{AbsolutePressure, Quantity, Ratio};

const NAME1: &str = "turbine1.pressure_ratio";
const NAME2: &str = "turbine2.pressure_ratio";
const VALIDITY: &str = "refused where a pressure is not above 0 Pa absolute";

/// The turbine, or the first of two.
pub(super) static TURBINE1_PRESSURE_RATIO: Derived = Derived {
    name: NAME1,
    quantity: Quantity::Ratio,
    summary: "inlet over outlet pressure of the turbine; of the first one, where there are two",
    formula: "p turbine1_in / p turbine1_out, both absolute",
    validity: VALIDITY,
    source: "definition",
    order: None,
    needs: |_| needs([("turbine1_in", "pressure"), ("turbine1_out", "pressure")]),
    compute: |readings| ratio(NAME1, readings),
};

/// The second turbine of a four-wheel machine.
pub(super) static TURBINE2_PRESSURE_RATIO: Derived = Derived {
    name: NAME2,
    quantity: Quantity::Ratio,
    summary: "inlet over outlet pressure of a four-wheel machine's second turbine",
    formula: "p turbine2_in / p turbine2_out, both absolute",
    validity: VALIDITY,
    source: "definition",
    order: None,
    needs: |arrangement| match arrangement.architecture {
        Architecture::FourWheel => needs([("turbine2_in", "pressure"), ("turbine2_out", "pressure")]),
        _ => None,
    },
    compute: |readings| ratio(NAME2, readings),
};

fn ratio(name: &'static str, readings: &[f64]) -> Result<f64, Refusal> {
    let [inlet, outlet] = inputs(name, readings)?.map(AbsolutePressure::from_si);
    pressure_ratio(inlet, outlet).map(Ratio::si)
}
