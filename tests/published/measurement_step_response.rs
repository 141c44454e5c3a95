//! Step-response definitions of control theory (any text; closed forms).

use crate::near;
use uncertainty::step_response::{overshoot, peak_time, rise_time, settling_time, time_to_share};

/// Case MS-21. Tolerance 1e-4.
#[test]
fn ms_21_first_and_second_order() {
    let to_63 = time_to_share(1.0, 1.0 - (-1f64).exp()).unwrap();
    near("63.2 %, s", to_63, 1.0, 1e-4);
    near("10 to 90 %, s", rise_time(1.0).unwrap(), 2.1972, 1e-4);
    near("settling to 2 %, s", settling_time(1.0, 0.02).unwrap(), 3.912, 1e-4);
    near("settling to 5 %, s", settling_time(1.0, 0.05).unwrap(), 2.9957, 1e-4);
    near("overshoot, damping 0.5", overshoot(0.5).unwrap(), 0.163_03, 1e-4);
    near("overshoot, damping 0.2", overshoot(0.2).unwrap(), 0.526_62, 1e-4);
    near("peak time, damping 0.5, s", peak_time(1.0, 0.5).unwrap(), 3.6276, 1e-4);
}
