//! The derived quantities, one file each.

use crate::facts::Facts;
use crate::{Arrangement, PLACES};
use units::{Dual, Quantity};

mod compressor;
mod compressor_pressure_ratio;
mod cooling;
mod core_flow;
mod corrected_flow;
mod corrected_speed;
mod distribution;
mod drops;
mod exchangers;
mod humidity_ratio;
mod moisture;
mod primary_effectiveness;
mod property_pressure;
mod secondary_effectiveness;
mod total;
mod turbine;
mod turbine_efficiency;
mod turbine_pressure_ratio;

/// All derived quantities, in the order of their columns.
pub static DERIVED: &[&Derived] = &[
    &humidity_ratio::HUMIDITY_RATIO,
    &property_pressure::PROPERTY_PRESSURE,
    &total::TOTAL_TEMPERATURE,
    &total::TOTAL_PRESSURE,
    &core_flow::CORE_FLOW,
    &core_flow::TURBINE_FLOW,
    &core_flow::DISCHARGE_FLOW,
    &primary_effectiveness::PRIMARY_EFFECTIVENESS,
    &secondary_effectiveness::SECONDARY_EFFECTIVENESS,
    &compressor_pressure_ratio::COMPRESSOR_PRESSURE_RATIO,
    &turbine_pressure_ratio::TURBINE1_PRESSURE_RATIO,
    &turbine_pressure_ratio::TURBINE2_PRESSURE_RATIO,
    &compressor::EFFICIENCY,
    &compressor::POWER,
    &compressor::WORK_PER_SPEED_SQUARED,
    &turbine_efficiency::TURBINE1_DRY_FORMULA_EFFICIENCY,
    &turbine_efficiency::TURBINE1_WET_EFFICIENCY,
    &turbine_efficiency::TURBINE1_DRY_REFERENCED_EFFICIENCY,
    &turbine_efficiency::TURBINE2_DRY_FORMULA_EFFICIENCY,
    &turbine_efficiency::TURBINE2_WET_EFFICIENCY,
    &turbine_efficiency::TURBINE2_DRY_REFERENCED_EFFICIENCY,
    &turbine::TURBINE1_POWER,
    &turbine::TURBINE2_POWER,
    &turbine::DRY_AIR_RATED_TEMPERATURE,
    &turbine::NOZZLE_AREA,
    &turbine::FAN_POWER,
    &turbine::SHAFT_BALANCE,
    &turbine::SHAFT_BALANCE_SHARE,
    &exchangers::primary::ALL[0],
    &exchangers::primary::ALL[1],
    &exchangers::primary::ALL[2],
    &exchangers::primary::ALL[3],
    &exchangers::primary::ALL[4],
    &exchangers::primary::ALL[5],
    &exchangers::primary::ALL[6],
    &exchangers::primary::ALL[7],
    &exchangers::secondary::ALL[0],
    &exchangers::secondary::ALL[1],
    &exchangers::secondary::ALL[2],
    &exchangers::secondary::ALL[3],
    &exchangers::secondary::ALL[4],
    &exchangers::secondary::ALL[5],
    &exchangers::secondary::ALL[6],
    &exchangers::secondary::ALL[7],
    &exchangers::reheater::ALL[0],
    &exchangers::reheater::ALL[1],
    &exchangers::reheater::ALL[2],
    &exchangers::reheater::ALL[3],
    &exchangers::reheater::ALL[4],
    &exchangers::reheater::ALL[5],
    &exchangers::reheater::ALL[6],
    &exchangers::reheater::ALL[7],
    &exchangers::condenser::ALL[0],
    &exchangers::condenser::ALL[1],
    &exchangers::condenser::ALL[2],
    &exchangers::condenser::ALL[3],
    &exchangers::condenser::ALL[4],
    &exchangers::condenser::ALL[5],
    &exchangers::condenser::ALL[6],
    &exchangers::condenser::ALL[7],
    &exchangers::RAM_FLOW_FROM_HEAT,
    &drops::ALL[0],
    &drops::ALL[1],
    &drops::ALL[2],
    &drops::ALL[3],
    &drops::ALL[4],
    &drops::ALL[5],
    &drops::ALL[6],
    &moisture::WATER_REMOVED,
    &moisture::EXTRACTION_EFFICIENCY,
    &moisture::FREE_WATER,
    &moisture::DISCHARGE_DEW_POINT,
    &moisture::DEW_POINT_MARGIN,
    &moisture::TURBINE_ICING_MARGIN,
    &moisture::CONDENSER_ICING_MARGIN,
    &cooling::TOTAL,
    &cooling::SENSIBLE,
    &cooling::LATENT,
    &cooling::SPECIFIC,
    &cooling::SHAFT_PERFORMANCE,
    &cooling::BLEED_PERFORMANCE,
    &distribution::MIX_HEAT_BALANCE,
    &distribution::RECIRCULATION_SHARE,
    &distribution::HOT_AIR_SHARE,
    &distribution::FRESH_AIR,
    &distribution::FRESH_AIR_14_CFR,
    &distribution::FRESH_AIR_CS,
    &distribution::PRESSURE_ALTITUDE,
    &corrected_flow::CORRECTED_FLOW,
    &corrected_speed::CORRECTED_SPEED,
];

/// Why a quantity has no value: an argument of its formula is outside the formula's range.
pub type Refusal = thermo::DomainError;

/// The most inputs a formula may have: an evaluation gathers them without allocating.
pub const MAX_INPUTS: usize = 12;

/// A number with its derivatives by the inputs of one formula.
pub type Sensitive = Dual<MAX_INPUTS>;

/// A derived quantity: what it is, what it needs, and the formula it calls.
#[derive(Debug)]
pub struct Derived {
    /// Its name, without a pack's prefix. `<place>` and `<id>` stand for a place and for a zone: see `scope`.
    pub name: &'static str,
    /// For what there is one.
    pub scope: Scope,
    /// What it measures; its value is in that quantity's SI unit.
    pub quantity: Quantity,
    /// In one line.
    pub summary: &'static str,
    /// What the formula refuses, and which results are kept with a doubt.
    pub validity: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
    /// Lowest and highest result that the order along the air's way allows. Beyond it the number is kept and marked
    /// uncertain (`order`): a transient or a swapped probe, not a value to trust.
    pub order: Option<(f64, f64)>,
    /// How it can be found there, the best way first; empty where the arrangement has no such thing.
    pub ways: fn(&Site) -> Vec<Way>,
}

/// For what there is one of a derived quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// One a pack.
    Pack,
    /// One for the installation.
    Common,
    /// One a zone; its name has `<id>`.
    Zone,
    /// One a place of a pack or of the installation; its name has `<place>`. Made where its own instruments stand, or
    /// another quantity needs it.
    Place,
}

/// What a quantity is planned for.
#[derive(Clone, Copy, Debug)]
pub struct Site<'a> {
    /// The installation.
    pub arrangement: &'a Arrangement,
    /// The place's name or the zone's id; empty for the other scopes.
    pub at: &'a str,
    /// What is known of the instruments.
    pub facts: Facts<'a>,
}

/// One way to find a quantity.
#[derive(Clone, Debug)]
pub struct Way {
    /// The formula as text, with the places in it.
    pub formula: &'static str,
    /// What it needs, in the order the formula takes them: channels (`pack_in.temperature`) and derived quantities,
    /// without the pack's prefix. With one where the quantity is the installation's and needs something of each pack.
    pub needs: Vec<String>,
    /// Figures from the channels' descriptions that the formula takes after its inputs.
    pub constants: Vec<f64>,
    /// What is taken for granted because nothing measures it; empty where nothing is.
    pub assumes: &'static str,
    /// The formula; `None` where the quantity is its one input under another name, and needs no column of its own.
    pub compute: Option<Compute>,
}

/// A formula over plain numbers and over numbers with derivatives. Both give the same bits.
#[derive(Clone, Copy, Debug)]
pub struct Compute {
    /// The value from the inputs in SI, in the order of `needs`.
    pub plain: fn(&Arrangement, &[f64]) -> Result<f64, Refusal>,
    /// The same with derivatives.
    pub sensitive: fn(&Arrangement, &[Sensitive]) -> Result<Sensitive, Refusal>,
    /// Lowest and highest value where the inputs leave it open, given them with their standard uncertainties (0 where
    /// not known); `None` where they do not.
    pub interval: Option<Interval>,
}

/// What the inputs leave open: see [`Compute::interval`].
pub type Interval = fn(&Arrangement, &[f64], &[f64]) -> Result<Option<(f64, f64)>, Refusal>;

/// The two forms of a formula that is written once over `R: Real`.
macro_rules! formula {
    ($f:ident) => {
        $crate::derived::Compute { plain: $f::<f64>, sensitive: $f::<$crate::derived::Sensitive>, interval: None }
    };
}
use formula;

impl Way {
    fn new<const N: usize>(formula: &'static str, needs: [&str; N], compute: Compute) -> Way {
        Way {
            formula,
            needs: needs.map(str::to_owned).to_vec(),
            constants: vec![],
            assumes: "",
            compute: Some(compute),
        }
    }

    /// Another quantity stands for this one.
    fn same_as(formula: &'static str, other: String) -> Way {
        Way { formula, needs: vec![other], constants: vec![], assumes: "", compute: None }
    }

    fn assuming(self, assumes: &'static str) -> Way {
        Way { assumes, ..self }
    }
}

/// What stands for `<place>` or `<id>` in the quantity's name where this is its name; empty where neither stands there.
pub fn at(derived: &Derived, name: &str) -> Option<String> {
    let parts = derived.name.split_once("<place>").or_else(|| derived.name.split_once("<id>"));
    match parts {
        None => (derived.name == name).then(String::new),
        Some((before, after)) => {
            let at = name.strip_prefix(before)?.strip_suffix(after)?;
            let fits = match derived.scope {
                Scope::Place => PLACES.iter().any(|p| p.name == at),
                _ => !at.is_empty() && !at.contains('.'),
            };
            fits.then(|| at.to_owned())
        }
    }
}

/// The inputs as an array; a wrong count is refused like any other argument that the formula cannot take.
fn inputs<R: Copy, const N: usize>(formula: &'static str, inputs: &[R]) -> Result<[R; N], Refusal> {
    inputs.try_into().map_err(|_| wrong_count(formula, inputs.len()))
}

fn wrong_count(formula: &'static str, count: usize) -> Refusal {
    let valid = "as many as the quantity needs: a programming error, please report it";
    Refusal { formula, argument: "the count of inputs", value: count as f64, valid }
}

#[cfg(test)]
mod tests;
