//! Corrected speed of the machine.

use super::{Derived, inputs, needs};
use crate::Architecture;
use thermo::corrected;
use units::{AngularSpeed, Quantity, Temperature};

const NAME: &str = "acm.corrected_speed";

pub(super) static CORRECTED_SPEED: Derived = Derived {
    name: NAME,
    quantity: Quantity::AngularSpeed,
    summary: "shaft speed referred to 288.15 K at the compressor's inlet",
    formula: "N/sqrt(theta), theta = T compressor_in / 288.15 K",
    validity: "refused where T is not above absolute zero; dry air; no such quantity without a compressor",
    source: "common practice for turbomachines; reference state of ISO 2533",
    order: None,
    needs: |arrangement| match arrangement.architecture {
        Architecture::Simple => None,
        _ => needs([("acm", "speed"), ("compressor_in", "temperature")]),
    },
    compute: |readings| {
        let [speed, t] = inputs(NAME, readings)?;
        corrected::corrected_speed(AngularSpeed::from_si(speed), Temperature::from_si(t)).map(AngularSpeed::si)
    },
};
