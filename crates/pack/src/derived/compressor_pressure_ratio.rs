//! Pressure ratio of the compressor.

use super::{Derived, inputs, needs};
use crate::Architecture;
use thermo::pressure_ratio::pressure_ratio;
use units::{AbsolutePressure, Quantity, Ratio};

const NAME: &str = "compressor.pressure_ratio";

pub(super) static COMPRESSOR_PRESSURE_RATIO: Derived = Derived {
    name: NAME,
    quantity: Quantity::Ratio,
    summary: "outlet over inlet pressure of the compressor",
    formula: "p compressor_out / p compressor_in, both absolute",
    validity: "refused where a pressure is not above 0 Pa absolute",
    source: "definition",
    order: None,
    needs: |arrangement| match arrangement.architecture {
        Architecture::Simple => None,
        _ => needs([("compressor_out", "pressure"), ("compressor_in", "pressure")]),
    },
    compute: |readings| {
        let [outlet, inlet] = inputs(NAME, readings)?.map(AbsolutePressure::from_si);
        pressure_ratio(outlet, inlet).map(Ratio::si)
    },
};
