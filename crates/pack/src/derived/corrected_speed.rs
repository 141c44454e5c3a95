//! Corrected speed of the machine.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::{Architecture, Arrangement};
use thermo::corrected::humid_speed;
use units::{Quantity, Real};

const NAME: &str = "acm.corrected_speed";
const FORMULA: &str = "N/sqrt(theta), theta = T compressor_in R/(288.15 K R_dry)";

pub(super) static CORRECTED_SPEED: Derived = Derived {
    name: NAME,
    scope: Scope::Pack,
    quantity: Quantity::AngularSpeed,
    summary: "shaft speed referred to 288.15 K at the compressor's inlet",
    validity: "refused where T is not above absolute zero; taken for dry air where no \
               humidity is known; no such quantity without a compressor",
    source: "common practice for turbomachines; reference state of ISO 2533",
    order: None,
    ways: |site| match site.arrangement.architecture {
        Architecture::Simple => vec![],
        _ => {
            let [speed, t] = ["acm.speed", "compressor_in.temperature"];
            let humid = Way::new(FORMULA, [speed, t, "compressor_in.humidity_ratio"], formula!(humid));
            vec![humid, Way::new(FORMULA, [speed, t], formula!(dry)).assuming("dry air")]
        }
    },
};

fn humid<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [speed, t, w] = inputs(NAME, x)?;
    humid_speed(speed, t, w)
}

fn dry<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [speed, t] = inputs(NAME, x)?;
    humid_speed(speed, t, R::of(0.0))
}
