//! Pressure ratio of the compressor.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::{Architecture, Arrangement};
use thermo::pressure_ratio::ratio;
use units::{Quantity, Real};

const NAME: &str = "compressor.pressure_ratio";
const FORMULA: &str = "p compressor_out / p compressor_in, both absolute and total";

pub(super) static COMPRESSOR_PRESSURE_RATIO: Derived = Derived {
    name: NAME,
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "outlet over inlet pressure of the compressor",
    validity: "refused where a pressure is not above 0 Pa absolute",
    source: "definition",
    order: None,
    ways: |site| match site.arrangement.architecture {
        Architecture::Simple => vec![],
        _ => vec![Way::new(
            FORMULA,
            ["compressor_out.total_pressure", "compressor_in.total_pressure"],
            formula!(compute),
        )],
    },
};

fn compute<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [outlet, inlet] = inputs(NAME, x)?;
    ratio(outlet, inlet)
}
