//! Exchangers, flow meters, valves and atmosphere at fixed inputs, values and derivatives to the bit: the same in a debug
//! and a release build, for any processor. The table is this program's own output and proves nothing but that; what is
//! right is tested elsewhere. After a change of a formula it is written anew with
//! `BLESS=1 cargo test -p thermo --test exchanger_flow_bits`.

#![allow(clippy::unwrap_used)]

use std::fmt::Write;
use thermo::exchanger::{Arrangement, Mixing, effectiveness, transfer_units};
use thermo::flow_meter::{Convergent, Device, Limits, Meter, Tapping, Upstream, mass_flow, pressure_difference};
use thermo::valve_flow::flow_function;
use thermo::{atmosphere, critical_nozzle};
use units::Dual;

#[test]
fn results_are_the_table_s_to_the_bit() {
    let mut table = String::new();
    exchangers(&mut table);
    meters(&mut table);
    for i in 0..12 {
        let x = f64::from(i);
        let [altitude] = Dual::<1>::variables([x * 6500.0 - 4000.0]);
        let air = atmosphere::standard_air(altitude).unwrap();
        row(&mut table, "pressure", air.pressure);
        row(&mut table, "pressure altitude", atmosphere::pressure_altitude(air.pressure).unwrap());
        let [ratio, kappa] = Dual::<2>::variables([x / 12.0, 1.4]);
        row(&mut table, "flow function", flow_function(ratio, kappa).unwrap());
        let [p, t] = Dual::<2>::variables([1e5 + 7e4 * x, 240.0 + 20.0 * x]);
        row(&mut table, "critical flow function", critical_nozzle::critical_flow_function(p, t).unwrap());
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/exchanger_flow_bits.txt");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &table).unwrap();
    }
    let pinned = std::fs::read_to_string(path).unwrap();
    assert_eq!(table.lines().count(), pinned.lines().count());
    for (own, pinned) in table.lines().zip(pinned.lines()) {
        assert_eq!(own, pinned);
    }
}

fn row<const N: usize>(table: &mut String, name: &str, x: Dual<N>) {
    write!(table, "{:016x}", x.value.to_bits()).unwrap();
    for partial in x.partials {
        write!(table, " {:016x}", partial.to_bits()).unwrap();
    }
    writeln!(table, " {name}").unwrap();
}

fn exchangers(table: &mut String) {
    let arrangements = [
        Arrangement::CounterFlow,
        Arrangement::ParallelFlow,
        Arrangement::CrossFlow(Mixing::BothUnmixed),
        Arrangement::CrossFlow(Mixing::MinMixed),
        Arrangement::CrossFlow(Mixing::MaxMixed),
        Arrangement::CrossFlow(Mixing::BothMixed),
        Arrangement::CrossCounterFlow { passes: 3, mixing: Mixing::BothUnmixed },
        Arrangement::ShellAndTube { shells: 2 },
    ];
    for arrangement in arrangements {
        for (ntu, ratio) in [(0.3, 0.9), (1.7, 0.45), (2.1, 1.0), (3.0, 0.02)] {
            let [n, c] = Dual::<2>::variables([ntu, ratio]);
            let e = effectiveness(arrangement, n, c).unwrap();
            row(table, "effectiveness", e);
            row(table, "transfer units", transfer_units(arrangement, Dual::variable(e.value * 0.9, 0), c).unwrap());
        }
    }
}

fn meters(table: &mut String) {
    let devices = [
        Device::Orifice(Tapping::Corner),
        Device::Orifice(Tapping::DAndHalfD),
        Device::Orifice(Tapping::Flange),
        Device::Isa1932Nozzle,
        Device::LongRadiusNozzle,
        Device::VenturiTube(Convergent::Machined),
    ];
    for device in devices {
        for difference in [3e3, 21e3] {
            let [d, p, rho, dp] = Dual::<4>::variables([0.055, 2.5e5, 2.9, difference]);
            let meter =
                Meter { device, pipe_diameter: Dual::constant(0.1), throat_diameter: d, limits: Limits::Extrapolated };
            let upstream = Upstream {
                pressure: p,
                density: rho,
                viscosity: Dual::constant(1.85e-5),
                isentropic_exponent: Some(Dual::constant(1.4)),
            };
            let flow = mass_flow(&meter, &upstream, dp).unwrap().mass_flow;
            row(table, "mass flow", flow);
            row(table, "pressure difference", pressure_difference(&meter, &upstream, flow).unwrap());
        }
    }
}
