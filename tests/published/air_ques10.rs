//! University question with partial solution, ques10.com/p/19044 (undated): a bootstrap cycle of 20 tonnes.

use crate::{near, stations, within};
use thermo::isentropic::temperature_ratio;

/// Case AC-23: two published points to 0.2 K; the others were computed outside this program. The given pressures do not
/// balance the shaft: turbine 108 kJ/kg, secondary compressor 32 kJ/kg; a real machine must balance.
#[test]
fn ac_23_bootstrap() {
    let t2 = 288.0 * temperature_ratio(1.1 / 0.9, 1.4).unwrap();
    within("ram", t2, 305.0, 0.2);
    within("T3s", t2 * temperature_ratio(3.5 / 1.1, 1.4).unwrap(), 424.5, 0.2);
    let (t3, _) = stations(t2, 300.0, 3.5 / 1.1, 1.0, 0.85, 0.9, 1.4);
    within("T3", t3, 445.630_970_439_915_36, 1e-9);
    let t4 = t3 - 0.6 * (t3 - t2);
    let (t5, _) = stations(t4, 300.0, 4.5 / 3.5, 1.0, 0.85, 0.9, 1.4);
    within("T5", t5, 392.888_318_390_376_64, 1e-9);
    let t6 = t5 - 0.6 * (t5 - t2);
    let (_, t7) = stations(t4, t6, 1.0, 4.5, 0.85, 0.9, 1.4);
    within("T7", t7, 233.212_646_229_717_62, 1e-9);
    near("turbine work", 1.01 * (t6 - t7), 108.009_000_591_930_94, 1e-9);
    near("secondary compressor work", 1.01 * (t5 - t4), 31.955_396_862_320_995, 1e-9);
}
