//! Case AC-30: humid expansion in a cooling turbine with condensation of supercooled water, computed outside this program
//! with ideal gases, constant heat capacities (1005, 1860, 4186 J/(kg K)) and Hyland–Wexler saturation. Not published:
//! property models part by about 1 K.

use crate::{near, within};
use thermo::humid_air::properties::enthalpy;
use thermo::isentropic;
use thermo::machine::{State, turbine};
use thermo::saturation::Condensate::{Equilibrium, Supercooled};

const W: f64 = 0.012;
const WET: f64 = 264.468_270_969_661_5;

fn inlet() -> State<f64> {
    State::new(313.15, 350e3)
}

#[test]
fn ac_30_wet_outlet() {
    let out = turbine::outlet(inlet(), 110e3, W, 0.8, Supercooled).unwrap();
    within("wet outlet", out.temperature, WET, 1.0);
    near("condensed", out.water, 0.010_197_816_330_843_698, 0.02);
    let work = turbine::specific_work(inlet(), State::new(out.temperature, 110e3), W, Supercooled).unwrap();
    near("wet work", work, 75_722.384_172_114_4, 0.01);
    let eta = turbine::wet_efficiency(inlet(), State::new(WET, 110e3), W, Supercooled).unwrap();
    within("wet efficiency", eta, 0.8, 0.01);
}

/// The case's "dry-rated" outlet, 242.8 K and 72.27 kJ/kg, is that of the same humid air were nothing to condense. The
/// dry-air-rated temperature as defined here, of the same enthalpy drop as the wet machine's, is colder.
#[test]
fn ac_30_dry() {
    let ideal = isentropic::temperature(313.15, 350e3, 110e3, W).unwrap();
    let h = |t: f64, p: f64| enthalpy(t, p, W).unwrap();
    let work = 0.8 * (h(313.15, 350e3) - h(ideal, 110e3));
    near("dry work", work, 72_272.728_546_930_25, 0.01);
    within("dry outlet", 313.15 - 0.8 * (313.15 - ideal), 242.799_253_838_209_84, 1.0);
    // The machine in dry air, against CoolProp 8.0.0.
    let dry = turbine::outlet(inlet(), 110e3, 0.0, 0.8, Equilibrium).unwrap();
    within("outlet in dry air", dry.temperature, 242.335_295_335_090_54, 0.05);
    let work = turbine::specific_work(inlet(), State::new(dry.temperature, 110e3), 0.0, Equilibrium).unwrap();
    near("work in dry air", work, 70_751.437_5, 0.0005);
    let rated = turbine::dry_air_rated_temperature(inlet(), State::new(WET, 110e3), W, Supercooled).unwrap();
    within("dry-air-rated", rated, 313.15 - 75_722.384 / 1005.0, 1.5);
}

/// The wet temperature in the dry formula gives 0.5536, with heat capacity and gas constant of the humid air: refused
/// with the humidity, reproduced without it to what the vapour changes (dry air of CoolProp 8.0.0: 0.548 30).
#[test]
fn ac_30_the_classic_slip() {
    let outlet = State::new(WET, 110e3);
    let refused = turbine::dry_efficiency(inlet(), outlet, W).unwrap_err();
    assert_eq!(refused.argument, "humidity ratio");
    let slip = turbine::dry_efficiency(inlet(), outlet, 0.0).unwrap();
    within("slip", slip, 0.553_588_772_672_085, 0.006);
    within("slip, dry air", slip, 0.548_296_798_1, 0.0003);
}
