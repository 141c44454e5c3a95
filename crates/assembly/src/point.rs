//! Readings taken by hand, one line a point, through the same evaluation as a run's.

mod doubts;
mod head;
mod readings;
mod result;
mod verdicts;

pub use readings::{HandPoint, Readings};
pub use result::{Outcome, PointRow, PointVerdict, UNSTATED};

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
    /// What a person should know and is no error.
    pub notes: Vec<String>,
}

/// Evaluates a file of readings with a pack file, and judges the results by a file of limits, where there is one.
///
/// # Errors
/// Every problem found in one of the files.
pub fn evaluate(readings: &Path, pack: &Path, limits: Option<&Path>) -> Result<Points, Error> {
    let files = Files::disk();
    let arrangement = pack_file::read(&files, pack)?;
    let mut readings = readings::read(&files, readings)?;
    doubts::mark(&arrangement, &mut readings);
    let plan = Arc::new(pack::plan(&arrangement, &readings.channels, &readings.barometers, &readings.facts));
    let mut outcomes = result::outcomes(&plan, &readings);
    let mut notes = readings.notes.clone();
    if let Some(path) = limits {
        let limits = verdicts::limits(&files, path, &plan, &readings, &mut notes)?;
        verdicts::judge(&limits, &plan, &readings, &mut outcomes, &mut notes);
    }
    Ok(Points { plan, readings, outcomes, notes })
}
