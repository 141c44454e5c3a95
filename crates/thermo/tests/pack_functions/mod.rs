//! Every formula of the pack once, with a place where it is smooth: what derivatives, odd inputs and bits are tried on.

use thermo::DomainError;
use thermo::capacity::{bleed_power, cooling, performance, specific};
use thermo::coast_down::{mean_torque, time, time_at_density, torque};
use thermo::constant_heat_capacity::{compression_outlet, enthalpy_change, expansion_outlet, pressure_ratio};
use thermo::contaminant::{Stretch, exposure, sea_level_equivalent};
use thermo::exchanger::scaling::{Flows, Resistances, at_reference_flows, from_flows};
use thermo::exchanger::stations::{Side, flow_from_heat, rating_of_sides, side, weighted_heat};
use thermo::exchanger::{Arrangement, Mixing, hot_side_effectiveness};
use thermo::fan::{Point, efficiency, power, reduced};
use thermo::flow_resistance::{corrected_drop, drop_at_reference_flow, flow, icing_index};
use thermo::fresh_air::{per_occupant, share_of, supply};
use thermo::mixing::{added_flow, manifold_balance, recirculation_share, share_by_enthalpy, share_by_temperature};
use thermo::moisture::{
    Sampling, cold_weight, coldest_surface, dew_point_margin, extraction_efficiency, free_water, icing_margin,
    left_after_drain, removed, seen,
};
use thermo::nozzle_flow_function::{flow_function, humid_flow_function};
use thermo::reference_day::{Condition, corrected_temperature};
use thermo::saturation::Condensate::{Equilibrium, Supercooled};
use thermo::shaft::{Balance, Powers, balance, core_flow, dry_air_flow};
use thermo::speed_work::{law_speed, work_coefficient, work_per_speed_squared};
use thermo::stream::{Air, Stream, mixed};
use units::{Dual, Real};

/// The most arguments a formula has.
pub(crate) const N: usize = 12;

type Results<R> = Result<Vec<R>, DomainError>;

/// A formula, or several at once.
pub(crate) struct Case {
    pub(crate) name: &'static str,
    /// How many of the arguments are used.
    pub(crate) used: usize,
    /// Arguments at which it is smooth.
    pub(crate) place: [f64; N],
    pub(crate) plain: fn([f64; N]) -> Results<f64>,
    pub(crate) dual: fn([Dual<N>; N]) -> Results<Dual<N>>,
}

fn air<R>(temperature: R, pressure: R, humidity_ratio: R) -> Air<R> {
    Air { temperature, pressure, humidity_ratio }
}

fn stream<R>(flow: R, temperature: R, pressure: R, humidity_ratio: R) -> Stream<R> {
    Stream { flow, air: air(temperature, pressure, humidity_ratio) }
}

fn one<R>(result: Result<R, DomainError>) -> Results<R> {
    result.map(|r| vec![r])
}

macro_rules! cases {
    ($function:ident: $($name:literal, [$($x:expr),*], |$a:ident| $body:expr;)*) => {
        fn $function() -> Vec<Case> {
            vec![$({
                fn formula<R: Real>($a: [R; N]) -> Results<R> {
                    $body
                }
                let given = [$($x),*];
                let place = std::array::from_fn(|i| given.get(i).copied().unwrap_or(1.0));
                Case { name: $name, used: given.len(), place, plain: formula, dual: formula }
            }),*]
        }
    };
}

/// All of them.
pub(crate) fn all() -> Vec<Case> {
    [machine(), laws(), air_and_water(), exchangers(), occupants()].into_iter().flatten().collect()
}

cases! { machine:
    "constant cp outlets", [310.0, 3.6, 0.85, 1.4], |a| Ok(vec![
        compression_outlet(a[0], a[1], a[2], a[3])?, expansion_outlet(a[0], a[1], a[2], a[3])?]);
    "constant cp pressure ratio", [1.4, 1.4], |a| one(pressure_ratio(a[0], a[1]));
    "constant cp enthalpy", [1005.0, 290.0, 350.0], |a| one(enthalpy_change(a[0], a[1], a[2]));
    "dry air flow", [0.5, 0.019], |a| one(dry_air_flow(a[0], a[1]));
    "core flow", [0.5, 0.02, 0.01], |a| one(core_flow(a[0], a[1], a[2]));
    "shaft balance", [35e3, 29e3, 4.5e3, 100.0], |a| {
        let Balance { residual, share, mechanical_efficiency } =
            balance(Powers { turbines: a[0], compressor: a[1], fan: a[2], motor: a[3] })?;
        Ok(vec![residual, share, mechanical_efficiency])
    };
    "fan laws", [1.2, 3e3, 5e3, 4e3, 1.1, 3.5e3, 1.225], |a| {
        let point = Point { volume_flow: a[0], pressure_rise: a[1], power: a[2], speed: a[3], density: a[4] };
        let at = reduced(point, a[5], a[6])?;
        Ok(vec![at.volume_flow, at.pressure_rise, at.power])
    };
    "fan efficiency", [1.2, 3e3, 5e3], |a| one(efficiency(a[0], a[1], a[2]));
    "fan power", [1.35, 3e3, 1.0, 0.5], |a| one(power(a[0], a[1], a[2], a[3]));
    "work per N²", [57e3, 4e3], |a| one(work_per_speed_squared(a[0], a[1]));
    "work coefficient", [57e3, 4e3, 0.15], |a| one(work_coefficient(a[0], a[1], a[2]));
    "law speed", [57e3, 0.0036, 4e3], |a| law_speed(a[0], a[1], a[2]).map(|l| vec![l.speed, l.measured_over_law]);
    "coast-down", [3000.0, 2500.0, 1000.0, 200.0, 3100.0], |a| {
        time(&[0.0, 10.0, 20.0, 30.0], &a[..4], a[4], (0.9, 0.1)).map(|c| vec![c.seconds])
    };
    "coast-down at any times", [3000.0, 2500.0, 1000.0, 200.0, 3100.0, 0.1, 1.0, 10.0, 300.0], |a| {
        let times = [a[5].value(), a[6].value(), a[7].value(), a[8].value()];
        time(&times, &a[..4], a[4], (0.9, 0.1)).map(|c| vec![c.seconds, R::of(c.resolution)])
    };
    "torque", [1e-3, -100.0], |a| one(torque(a[0], a[1]));
    "mean torque", [1e-3, 3000.0, 300.0, 20.0], |a| one(mean_torque(a[0], a[1], a[2], a[3]));
    "coast-down at density", [20.0, 1.1, 1.225, 0.9], |a| one(time_at_density(a[0], a[1], a[2], a[3]));
    "nozzle flow function", [0.5, 311.0, 336e3], |a| one(flow_function(a[0], a[1], a[2]));
    "humid nozzle flow function", [0.5, 311.0, 336e3, 0.006], |a| one(humid_flow_function(a[0], a[1], a[2], a[3]));
}

cases! { laws:
    "drop from flow", [1.35, 800.0, 1.8], |a| one(corrected_drop(a[0], a[1], a[2]));
    "flow from drop", [1500.0, 800.0, 1.8], |a| one(flow(a[0], a[1], a[2]));
    "drop at reference", [1500.0, 1.35, 1.2, 1.8], |a| one(drop_at_reference_flow(a[0], a[1], a[2], a[3]));
    "icing index", [8000.0, 0.45, 2000.0, 0.5, 1.8], |a| one(icing_index(a[0], a[1], a[2], a[3], a[4]));
    "reference day", [286.0, 1.0, 308.0, 303.0, 0.4, 20.0, 15.0], |a| one(corrected_temperature(a[0], &[
        Condition { sensitivity: a[1], actual: a[2], reference: a[3] },
        Condition { sensitivity: a[4], actual: a[5], reference: a[6] },
    ]));
    "effectiveness", [468.0, 382.0, 354.0], |a| one(hot_side_effectiveness(a[0], a[1], a[2]));
}

cases! { air_and_water:
    "mixed", [0.5, 286.0, 0.3, 299.0, 101e3, 0.004, 0.009], |a| {
        let m = mixed(&[stream(a[0], a[1], a[4], a[5]), stream(a[2], a[3], a[4], a[6])], a[4], Equilibrium)?;
        Ok(vec![m.flow, m.dry_air_flow, m.enthalpy, m.air.temperature, m.air.humidity_ratio])
    };
    "mixed with droplets", [0.5, 280.0, 0.3, 305.0, 101e3, 0.012, 0.029], |a| {
        let m = mixed(&[stream(a[0], a[1], a[4], a[5]), stream(a[2], a[3], a[4], a[6])], a[4], Supercooled)?;
        Ok(vec![m.enthalpy, m.air.temperature])
    };
    "manifold", [0.5, 286.0, 0.3, 299.0, 101e3, 0.004, 0.009, 292.0, 0.006], |a| {
        let streams = [stream(a[0], a[1], a[4], a[5]), stream(a[2], a[3], a[4], a[6])];
        let r = manifold_balance(&streams, air(a[7], a[4], a[8]), Equilibrium)?;
        Ok(vec![r.temperature, r.enthalpy, r.humidity_ratio, r.power])
    };
    "share by temperature", [285.0, 453.0, 300.0], |a| one(share_by_temperature(a[0], a[1], a[2]));
    "share by enthalpy", [285.0, 453.0, 300.0, 101e3, 0.006], |a| one(share_by_enthalpy(
        air(a[0], a[3], a[4]), air(a[1], a[3], a[4]), air(a[2], a[3], a[4]), Equilibrium));
    "added flow", [0.5, 0.1], |a| one(added_flow(a[0], a[1]));
    "recirculation", [0.4, 0.6], |a| one(recirculation_share(a[0], a[1]));
    "vapour seen", [0.006, 290.0, 101e3], |a| {
        let seen = seen(Sampling::Vapour, a[0], a[1], a[2], Equilibrium, 0.97)?;
        Ok([Some(seen.vapour), seen.total].into_iter().flatten().collect())
    };
    "total seen", [0.016, 290.0, 101e3], |a| {
        let seen = seen(Sampling::Total, a[0], a[1], a[2], Equilibrium, 0.97)?;
        Ok([Some(seen.vapour), seen.total].into_iter().flatten().collect())
    };
    "water removed", [0.5, 0.019, 0.006], |a| one(removed(a[0], a[1], a[2]));
    "water left", [0.019, 6e-3, 0.5], |a| one(left_after_drain(a[0], a[1], a[2]));
    "extraction", [6e-3, 0.5, 0.019, 297.0, 346e3], |a| one(extraction_efficiency(
        a[0], a[1], a[2], a[3], a[4], Equilibrium));
    "free water", [286.0, 106e3, 0.014], |a| one(free_water(a[0], a[1], a[2], Equilibrium));
    "free ice", [258.0, 111e3, 0.006], |a| one(free_water(a[0], a[1], a[2], Equilibrium));
    "dew-point margin", [290.0, 106e3, 0.009], |a| one(dew_point_margin(a[0], a[1], a[2], Equilibrium));
    "cold weight", [900.0, 1200.0], |a| one(cold_weight(a[0], a[1]));
    "coldest surface", [258.0, 297.0, 0.5], |a| one(coldest_surface(a[0], a[1], a[2]));
    "icing margin", [258.0, 111e3, 0.001], |a| one(icing_margin(a[0], a[1], a[2]));
    "icing margin, wet", [258.0, 346e3, 0.006], |a| one(icing_margin(a[0], a[1], a[2]));
    "cooling", [0.5, 286.0, 106e3, 0.006, 300.0, 101e3, 0.010], |a| {
        let q = cooling(stream(a[0], a[1], a[2], a[3]), air(a[4], a[5], a[6]), Equilibrium)?;
        Ok(vec![q.total, q.sensible, q.latent])
    };
    "cooling with droplets", [0.5, 280.0, 106e3, 0.012, 300.0, 101e3, 0.010], |a| {
        let q = cooling(stream(a[0], a[1], a[2], a[3]), air(a[4], a[5], a[6]), Equilibrium)?;
        Ok(vec![q.total, q.sensible, q.latent])
    };
    "specific capacity", [7e3, 0.5], |a| one(specific(a[0], a[1]));
    "performance", [7e3, 29e3], |a| one(performance(a[0], a[1]));
    "bleed power", [0.5, 473.0, 330e3, 0.019, 311.0, 101e3], |a| one(bleed_power(
        stream(a[0], a[1], a[2], a[3]), a[4], a[5], Equilibrium));
}

cases! { exchangers:
    "hot side", [0.5, 468.0, 265e3, 0.019, 382.0, 255e3], |a| {
        let side = side(stream(a[0], a[1], a[2], a[3]), air(a[4], a[5], a[3]), Equilibrium)?;
        Ok(vec![side.heat, side.capacity_flow])
    };
    "condensing side", [0.5, 316.0, 353e3, 0.019, 297.0, 346e3], |a| {
        let side = side(stream(a[0], a[1], a[2], a[3]), air(a[4], a[5], a[3]), Equilibrium)?;
        Ok(vec![side.heat, side.capacity_flow])
    };
    "ram flow from heat", [44e3, 354.0, 101e3, 0.019, 386.0], |a| one(flow_from_heat(
        a[0], air(a[1], a[2], a[3]), air(a[4], a[2], a[3]), Equilibrium));
    "weighted heat", [44e3, 43e3], |a| one(weighted_heat(a[0], 1e3, a[1], 2e3));
    "rating", [44e3, 515.0, 1380.0, 468.0, 354.0], |a| {
        let (hot, cold) = (Side { heat: a[0], capacity_flow: a[1] }, Side { heat: a[0], capacity_flow: a[2] });
        let r = rating_of_sides(Arrangement::CrossFlow(Mixing::BothUnmixed), a[0], hot, cold, a[3], a[4])?;
        Ok(vec![r.effectiveness, r.transfer_units, r.conductance])
    };
    "UA at reference", [800.0, 0.4, 1.0, 0.5, 1.2, 0.4, 0.45], |a| one(at_reference_flows(
        a[0], Flows { hot: a[1], cold: a[2] }, Flows { hot: a[3], cold: a[4] }, a[5], a[6]));
    "UA from flows", [5e-4, 6e-4, 1e-4, 0.5, 1.2], |a| one(from_flows(
        Resistances { hot: a[0], cold: a[1], wall: a[2] }, Flows { hot: a[3], cold: a[4] }));
}

cases! { occupants:
    "supply", [1.0, 0.05, 0.01], |a| one(supply(a[0], a[1], a[2]));
    "per occupant", [1.0, 180.0], |a| one(per_occupant(a[0], a[1]));
    "share of the rule", [5e-3, 4.1579e-3], |a| one(share_of(a[0], a[1]));
    "exposure", [5e-8, 3600.0, 8e-8, 3000.0, 16e-8, 4000.0], |a| {
        let stretch = |i: usize| Stretch { share: a[i], seconds: a[i + 1] };
        exposure(&[stretch(0), stretch(2), stretch(4)]).map(|e| vec![e.mean, e.peak, e.seconds])
    };
    "sea level equivalent", [1e-7, 75e3, 297.0], |a| one(sea_level_equivalent(a[0], a[1], a[2]));
}
