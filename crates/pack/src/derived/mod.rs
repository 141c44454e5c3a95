//! The derived quantities, one file each.

use crate::Arrangement;
use units::Quantity;

mod compressor_pressure_ratio;
mod corrected_flow;
mod corrected_speed;
mod primary_effectiveness;
mod secondary_effectiveness;
mod turbine_pressure_ratio;

/// All derived quantities, in the order of their columns.
pub static DERIVED: &[&Derived] = &[
    &primary_effectiveness::PRIMARY_EFFECTIVENESS,
    &secondary_effectiveness::SECONDARY_EFFECTIVENESS,
    &compressor_pressure_ratio::COMPRESSOR_PRESSURE_RATIO,
    &turbine_pressure_ratio::TURBINE1_PRESSURE_RATIO,
    &turbine_pressure_ratio::TURBINE2_PRESSURE_RATIO,
    &corrected_flow::CORRECTED_FLOW,
    &corrected_speed::CORRECTED_SPEED,
];

/// Why a quantity has no value: an argument of its formula is outside the formula's range.
pub type Refusal = thermo::DomainError;

/// The most inputs a derived quantity may have: an evaluation gathers them without allocating.
pub const MAX_INPUTS: usize = 8;

/// A derived quantity: what it is, what it needs, and the formula it calls.
#[derive(Debug)]
pub struct Derived {
    /// Its name, without a pack's prefix.
    pub name: &'static str,
    /// What it measures; its value is in that quantity's SI unit.
    pub quantity: Quantity,
    /// In one line.
    pub summary: &'static str,
    /// The formula as text, with the places in it.
    pub formula: &'static str,
    /// What the formula refuses, and which results are kept with a doubt.
    pub validity: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
    /// Lowest and highest result that the order along the air's way allows. Beyond it the number is kept and marked
    /// uncertain (`order`): a transient or a swapped probe, not a value to trust.
    pub order: Option<(f64, f64)>,
    /// What it needs in this arrangement, in the order `compute` takes them; `None` where the arrangement has no such
    /// thing.
    pub needs: fn(&Arrangement) -> Option<Vec<Need>>,
    /// The value from the needed readings in SI, in the order of `needs`.
    pub compute: fn(&[f64]) -> Result<f64, Refusal>,
}

/// A quantity at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// The place's name.
    pub place: &'static str,
    /// The quantity's word.
    pub quantity: &'static str,
}

/// The needs with these places and quantities.
fn needs<const N: usize>(list: [(&'static str, &'static str); N]) -> Option<Vec<Need>> {
    Some(list.into_iter().map(|(place, quantity)| Need { place, quantity }).collect())
}

/// The inputs as an array; a wrong count is refused like any other argument that the formula cannot take.
fn inputs<const N: usize>(formula: &'static str, inputs: &[f64]) -> Result<[f64; N], Refusal> {
    inputs.try_into().map_err(|_| Refusal {
        formula,
        argument: "the count of inputs",
        value: inputs.len() as f64,
        valid: "as many as the quantity needs: a programming error, please report it",
    })
}

#[cfg(test)]
mod tests;
