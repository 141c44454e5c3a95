//! Spreadsheet "Variation of Cooling Load", case 1 (scribd document 466787695, undated student worksheet): a simple
//! aircraft air cycle with a complete station table.

use crate::{near, stations, within};
use thermo::humid_air::properties::speed_of_sound;
use thermo::isentropic::temperature_ratio;
use thermo::total_static::{brought_to_rest, intake_pressure};

/// Case AC-22. The sheet takes 343 m/s for the speed of sound: Mach 0.80 and 288.38 K. At 255.53 K it is 320.4 m/s, so
/// that the right ram temperature is 293.2 K: this program must disagree with the sheet by 4.8 K.
#[test]
fn ac_22_ram_temperature_disagrees() {
    let (t1, _) = brought_to_rest(255.53, 87.5e3, 275.0, 0.0).unwrap();
    within("ram temperature", t1, 293.173_106_022_896_95, 0.1);
    within("against the sheet", t1 - 288.38, 4.8, 0.1);
    let a = speed_of_sound(255.53, 87.5e3, 0.0).unwrap();
    within("Mach", 275.0 / a, 0.858_236_103_611_850_8, 0.001);
}

/// The rest of the sheet from its own ram temperature: 0.05 %, pressures 0.5 % (printed to 0.01 bar).
#[test]
fn ac_22_stations_from_the_sheets_ram_temperature() {
    let t1 = 288.381_033_582_945_9;
    let ideal = 0.875 * (t1 / 255.53_f64).powf(3.5);
    near("ideal pressure", ideal, 1.34, 0.005);
    let p1 = intake_pressure(87.5e3, ideal * 1e5, 0.95).unwrap() / 1e5;
    near("P1", p1, 1.31, 0.005);
    let p2 = 4.0 * p1;
    near("P2", p2, 5.25, 0.001);
    let (t2, _) = stations(t1, 300.0, 4.0, 4.0, 0.9, 0.88, 1.4);
    within("T2s", t1 * temperature_ratio(4.0, 1.4).unwrap(), 428.53, 0.02);
    within("T2", t2, 444.1, 0.02);
    let t3 = t2 - 0.95 * (t2 - t1);
    within("T3", t3, 296.17, 0.02);
    let (_, t4s) = stations(t1, t3, 4.0, p2, 0.9, 1.0, 1.4);
    within("T4s", t4s, 184.38, 0.02);
    let (_, t4) = stations(t1, t3, 4.0, p2, 0.9, 0.88, 1.4);
    within("T4", t4, 197.8, 0.02);
    let flow = 21_000.0 / (1.005 * (298.0 - t4));
    near("mass flow", flow, 208.53, 0.0005);
    near("compressor work", flow * 1.005 * (t2 - t1), 32_636.2, 0.0005);
    near("COP", 21_000.0 / (flow * 1.005 * (t2 - t1)), 0.6435, 0.0005);
}
