//! Readings taken by hand, one line a point, through the same evaluation as a run's.

mod readings;
mod result;

pub use readings::{HandPoint, Readings};
pub use result::{Outcome, PointRow, UNSTATED};

use crate::Error;
use crate::files::Files;
use crate::load::pack_file;
use pack::PackPlan;
use std::path::Path;
use std::sync::Arc;

/// Points with everything that could be derived at each.
pub struct Points {
    /// Which quantities, from what.
    pub plan: Arc<PackPlan>,
    /// The readings.
    pub readings: Readings,
    /// By point, in the order of the file.
    pub outcomes: Vec<Outcome>,
}

/// Evaluates a file of readings with a pack file.
///
/// # Errors
/// Every problem found in either file.
pub fn evaluate(readings: &Path, pack: &Path) -> Result<Points, Error> {
    let files = Files::disk();
    let arrangement = pack_file::read(&files, pack)?;
    let readings = readings::read(&files, readings)?;
    let plan = Arc::new(pack::plan(&arrangement, &readings.channels, &readings.barometers));
    let outcomes = result::outcomes(&plan, &readings);
    Ok(Points { plan, readings, outcomes })
}
