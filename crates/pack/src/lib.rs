//! The pack: its places, its arrangements, and what is computed from the readings at them.
//!
//! * [`place`]: the places along the air's way, and the names of channels that stand at them
//! * [`arrangement`]: which components a pack has and how the ram air flows
//! * [`derived`]: the derived quantities, one file each
//! * [`facts`]: what is known of an instrument beside its name
//! * [`order`]: which channels cannot read lower than which while the unit runs
//! * [`plan`](mod@plan): which of them a run can have, from which inputs, and what is missing for the others
//! * [`evaluate`]: from readings to their values and uncertainties
//! * [`first_order`](mod@first_order): where first order says too little of an uncertainty
//!
//! **Invariant:** no formula stands here that is not a call into `thermo`; nothing here knows an instrument, a unit
//! other than SI, or a clock, and an evaluation allocates nothing.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod arrangement;
pub mod derived;
pub mod evaluate;
pub mod facts;
pub mod first_order;
pub mod order;
pub mod place;
pub mod plan;

pub use arrangement::{
    Architecture, Arrangement, ArrangementError, ExchangerFlow, Parameters, RamSide, WaterSeparation,
};
pub use derived::{DERIVED, Derived, Refusal};
pub use evaluate::{Contribution, Evaluator, Uncertain, Why};
pub use facts::{Fact, Facts};
pub use first_order::{FirstOrder, first_order};
pub use order::{OrderedPair, PackOrder, Running, orders};
pub use place::{PLACES, Place, PlaceName};
pub use plan::{Absent, PackPlan, PlannedDerived, plan, plan_nothing};
