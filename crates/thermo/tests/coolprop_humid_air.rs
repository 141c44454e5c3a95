//! Humid air against CoolProp 8.0.0, `HumidAirProp` (ASHRAE RP-1485: Herrmann, Kretzschmar, Gatley): another program's
//! figures, not a publication. 5 500 random states within −40…+250 °C, 0.2…6 bar, w 0…0.03, in pairs of equal humidity;
//! written by tests/peers/humid_air_fixture.py.
//!
//! The goals are 0.1 % of density, saturation humidity ratio and enthalpy differences and 0.05 K of the dew point. The
//! bounds asserted are what was found, rounded up; `cargo test coolprop -- --nocapture` prints the table.
//!
//! | quantity | worst | mean |
//! |---|---|---|
//! | density | 0.0103 % | 0.0030 % |
//! | heat capacity at constant pressure | 0.030 % | 0.011 % |
//! | speed of sound | 0.020 % | 0.0016 % |
//! | enthalpy difference | 37 J/kg | 12 J/kg |
//! | enthalpy difference over 20 K and more | 0.037 % | 0.012 % |
//! | entropy difference | 0.21 J/(kg K) | 0.043 J/(kg K) |
//! | saturation humidity ratio | 0.041 % | 0.018 % |
//! | dew or frost point | 0.0091 K | 0.0026 K |
//! | wet bulb | 0.012 K | 0.0033 K |

use thermo::humid_air::humidity::{dew_point, saturation_humidity_ratio};
use thermo::humid_air::properties::properties;
use thermo::humid_air::uncertainty::model;
use thermo::humid_air::wet_bulb::wet_bulb;
use thermo::saturation::Condensate::Equilibrium;

/// t, p, w, density, enthalpy, entropy, saturation humidity ratio, dew point, wet bulb, heat capacity, speed of
/// sound; NaN where there is none.
fn rows() -> Vec<[f64; 11]> {
    let row = |line: &str| {
        let mut row = [f64::NAN; 11];
        for (number, cell) in row.iter_mut().zip(line.split(',')) {
            *number = cell.parse().unwrap_or(f64::NAN);
        }
        row
    };
    include_str!("fixtures/humid_air.csv").lines().skip(1).map(row).collect()
}

/// Differences of one quantity.
#[derive(Default)]
struct Differences {
    worst: f64,
    at: [f64; 3],
    sum: f64,
    count: usize,
}

impl Differences {
    fn add(&mut self, difference: f64, row: &[f64; 11]) {
        let size = difference.abs();
        assert!(size.is_finite(), "{row:?}");
        self.sum += size;
        self.count += 1;
        if size > self.worst {
            (self.worst, self.at) = (size, [row[0], row[1], row[2]]);
        }
    }

    fn check(&self, name: &str, bound: f64, mean_bound: f64, least_count: usize) {
        let mean = self.sum / self.count as f64;
        let [t, p, w] = self.at;
        println!(
            "{name:<34} worst {:<9.6} at {t:>7.2} K {p:>6.0} Pa w {w:<9.7} mean {mean:<9.6} ({} states)",
            self.worst, self.count
        );
        assert!(self.worst <= bound && mean <= mean_bound, "{name}");
        assert!(self.count >= least_count, "{name}: {} states", self.count);
    }
}

#[test]
fn density_enthalpy_entropy() {
    let rows = rows();
    let ours: Vec<_> = rows.iter().map(|r| properties(r[0], r[1], r[2]).unwrap()).collect();
    let [mut density, mut enthalpy, mut share, mut entropy, mut cp, mut sound] =
        std::array::from_fn(|_| Differences::default());
    for (row, own) in rows.iter().zip(&ours) {
        density.add((own.density / row[3] - 1.0) * 100.0, row);
        cp.add((own.heat_capacity / row[9] - 1.0) * 100.0, row);
        sound.add((own.speed_of_sound / row[10] - 1.0) * 100.0, row);
    }
    for (pair, own) in rows.chunks(2).zip(ours.chunks(2)) {
        let theirs = pair[1][4] - pair[0][4];
        let difference = own[1].enthalpy - own[0].enthalpy - theirs;
        enthalpy.add(difference, &pair[1]);
        if (pair[1][0] - pair[0][0]).abs() >= 20.0 {
            share.add(difference / theirs * 100.0, &pair[1]);
        }
        entropy.add(own[1].entropy - own[0].entropy - (pair[1][5] - pair[0][5]), &pair[1]);
    }
    density.check("density, %", 0.012, 0.004, 5000);
    cp.check("heat capacity, %", 0.035, 0.012, 5000);
    sound.check("speed of sound, %", 0.022, 0.002, 5000);
    enthalpy.check("enthalpy difference, J/kg", 40.0, 13.0, 2500);
    share.check("enthalpy difference over 20 K, %", 0.04, 0.015, 2000);
    entropy.check("entropy difference, J/(kg K)", 0.22, 0.05, 2500);
}

#[test]
fn humidity() {
    let [mut saturation, mut dew, mut wet] = std::array::from_fn(|_| Differences::default());
    for row in &rows() {
        let [t, p, w, _, _, _, saturated, dew_there, wet_there, _, _] = *row;
        if saturated.is_finite() {
            saturation.add((saturation_humidity_ratio(t, p, Equilibrium).unwrap() / saturated - 1.0) * 100.0, row);
        }
        if dew_there.is_finite() {
            dew.add(dew_point(p, w, Equilibrium).unwrap() - dew_there, row);
        }
        // Near freezing water and ice both are a wet bulb, up to 1.4 K apart at 0.2 bar, and the two choose differently.
        if wet_there.is_finite() && (wet_there - 273.16).abs() > 1.5 {
            wet.add(wet_bulb(t, p, w, Equilibrium).unwrap() - wet_there, row);
        }
    }
    saturation.check("saturation humidity ratio, %", 0.05, 0.02, 1000);
    dew.check("dew or frost point, K", 0.01, 0.003, 4000);
    wet.check("wet bulb, K", 0.015, 0.004, 3000);
}

/// The standard uncertainties that the library states hold every difference found here.
#[test]
fn stated_uncertainties_hold_the_differences() {
    let rows = rows();
    for pair in rows.chunks(2) {
        let own = [0, 1].map(|i| properties(pair[i][0], pair[i][1], pair[i][2]).unwrap());
        for (row, own) in pair.iter().zip(&own) {
            let u = model(row[0], row[1], row[2]).unwrap();
            assert!((own.density / row[3] - 1.0).abs() <= u.density, "{row:?}");
            if row[6].is_finite() {
                let saturated = saturation_humidity_ratio(row[0], row[1], Equilibrium).unwrap();
                assert!((saturated / row[6] - 1.0).abs() <= u.saturation, "{row:?}");
            }
            if row[7].is_finite() {
                let dew = dew_point(row[1], row[2], Equilibrium).unwrap();
                assert!((dew - row[7]).abs() <= u.dew_point, "{row:?}");
            }
        }
        let (there, difference) = (pair[1][4] - pair[0][4], own[1].enthalpy - own[0].enthalpy);
        let u = model(pair[0][0], pair[0][1], pair[0][2]).unwrap().enthalpy_difference;
        if (pair[1][0] - pair[0][0]).abs() >= 20.0 {
            assert!((difference / there - 1.0).abs() <= u, "{pair:?}");
        }
    }
}
