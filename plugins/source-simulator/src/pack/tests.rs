use super::*;

fn at(seconds: f64) -> State {
    let mut p = Pack::new(7);
    p.advance(seconds);
    p.state()
}

fn temperatures(s: &State) -> [f64; 12] {
    [
        s.ambient_temperature,
        s.pack_in_temperature,
        s.primary_out_temperature,
        s.compressor_out_temperature,
        s.secondary_out_temperature,
        s.turbine_in_temperature,
        s.turbine_out_temperature,
        s.discharge_temperature,
        s.ram_in_temperature,
        s.secondary_ram_out_temperature,
        s.primary_ram_out_temperature,
        s.bearing_temperature,
    ]
}

#[test]
fn rests_at_ambient_until_the_valve_opens() {
    let s = at(3.9);
    assert_eq!((s.flow, s.speed), (0.0, 0.0));
    for t in temperatures(&s) {
        assert!((t - AMBIENT_T).abs() < 1e-9, "{s:?}");
    }
    assert_eq!(s.pack_in_pressure, s.ambient_pressure);
}

#[test]
fn steady_temperatures_and_pressures_have_the_order_of_the_path() {
    let s = at(23.0);
    let falling = [
        s.pack_in_temperature,
        s.compressor_out_temperature,
        s.primary_out_temperature,
        s.secondary_out_temperature,
        s.turbine_in_temperature,
        s.discharge_temperature,
        s.turbine_out_temperature,
    ];
    assert!(falling.is_sorted_by(|a, b| a > b), "{s:?}");
    let ram = [s.ram_in_temperature, s.secondary_ram_out_temperature, s.primary_ram_out_temperature];
    assert!(ram.is_sorted_by(|a, b| a < b), "{s:?}");
    assert!(s.primary_ram_out_temperature < s.pack_in_temperature);
    let pressures = [
        s.bleed_pressure,
        s.compressor_out_pressure,
        s.turbine_in_pressure,
        s.pack_in_pressure,
        s.compressor_in_pressure,
        s.turbine_out_pressure,
        s.discharge_pressure,
        s.ambient_pressure,
    ];
    assert!(pressures.is_sorted_by(|a, b| a > b), "{s:?}");
}

/// Over the whole unit in the steady state: what the air loses, the ram air and the shaft's fan and losses gain.
#[test]
fn steady_energy_balance_closes() {
    let s = at(300.0);
    let core = core_flow(&s);
    let q_ram = s.ram_flow * CP * (s.primary_ram_out_temperature - s.ram_in_temperature);
    let shaft = core * CP * (turbine_drop(&s) - compressor_rise(&s));
    let lost = s.flow * CP * (s.pack_in_temperature - s.discharge_temperature);
    assert!((lost - q_ram - shaft).abs() < 0.01 * lost, "air {lost} ram {q_ram} shaft {shaft}");
    let n = s.speed / SPEED;
    let used = FAN_POWER * n.powi(3) + LOSS_POWER * n * n;
    assert!((shaft - used).abs() < 0.02 * core * CP * turbine_drop(&s), "shaft {shaft} used {used}");
}

#[test]
fn a_blocked_ram_door_heats_the_compressor_outlet_and_passes() {
    let (before, blocked, after) = (at(23.0), at(36.0), at(58.0));
    let rise = blocked.compressor_out_temperature - before.compressor_out_temperature;
    assert!(rise > 15.0, "{rise}");
    assert!(blocked.primary_out_temperature > before.primary_out_temperature + 10.0);
    assert!((after.compressor_out_temperature - before.compressor_out_temperature).abs() < 3.0);
}

#[test]
fn finite_bounded_and_never_above_the_supply_at_any_time() {
    let mut p = Pack::new(3);
    for _ in 0..6000 {
        p.advance(0.02);
        let s = p.state();
        for t in temperatures(&s) {
            assert!((200.0..500.0).contains(&t), "{s:?}");
        }
        assert!(s.pack_in_pressure < s.bleed_pressure && s.discharge_pressure >= s.ambient_pressure, "{s:?}");
        assert!((0.0..6_000.0).contains(&s.speed), "{s:?}");
    }
}

#[test]
fn same_seed_same_run_however_the_time_is_cut() {
    let mut a = Pack::new(11);
    let mut b = Pack::new(11);
    a.advance(30.0);
    for _ in 0..480 {
        b.advance(0.0625); // a power of two, so that the sum is exact
    }
    assert_eq!(a.state(), b.state());
    assert_eq!(a.sensed(), b.sensed());
    let mut other = Pack::new(12);
    other.advance(30.0);
    assert_ne!(a.sensed(), other.sensed());
    assert_ne!(a.sensed(), a.state());
    a.advance(f64::NAN);
    a.advance(-1.0);
    assert_eq!(a.state(), b.state());
}

#[test]
fn noise_has_no_mean_and_unit_variance() {
    let n = 20_000;
    let (mut sum, mut squares) = (0.0, 0.0);
    for step in 0..n {
        let x = normal(5, step, 3);
        sum += x;
        squares += x * x;
    }
    let (mean, variance) = (sum / n as f64, squares / n as f64);
    assert!(mean.abs() < 0.03 && (variance - 1.0).abs() < 0.05, "{mean} {variance}");
}
