//! The edge of what the virial series may be used for, against CoolProp 8.0.0 `HumidAirProp`: at the greatest humidity
//! ratio that the functions accept, 203…473 K and 0.2…20 bar. Above saturation both programs extrapolate. Written by
//! tests/peers/humid_air_edge_fixture.py. The bounds are the figures stated in the library.

use thermo::humid_air::{density, heat_capacity, saturation_humidity_ratio};
use thermo::saturation::Condensate::Equilibrium;

/// Worst of density and heat capacity, and how many states there are.
type Group = (f64, f64, usize);

#[test]
fn error_at_the_edge() {
    let mut groups: [Group; 4] = Default::default();
    for line in include_str!("fixtures/humid_air_edge.csv").lines().skip(1) {
        let row: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let [t, p, w, there, cp_there] = row[..] else { panic!("{line}") };
        // An edge it is: a little more water is refused.
        assert!(density(t, p, w + 3e-5).is_err(), "{line}");
        let is_unsaturated = saturation_humidity_ratio(t, p, Equilibrium).map_or(true, |saturated| w <= saturated);
        let group = match (is_unsaturated, t >= 233.0, p <= 8e5) {
            (true, ..) => 0,
            (_, true, true) => 1,
            (_, true, false) => 2,
            _ => 3,
        };
        let (worst, worst_cp, count) = &mut groups[group];
        *worst = worst.max((density(t, p, w).unwrap() / there - 1.0).abs());
        *worst_cp = worst_cp.max((heat_capacity(t, p, w).unwrap() / cp_there - 1.0).abs());
        *count += 1;
    }
    println!("{groups:?}");
    let stated = [(0.0023, 0.025, 12), (0.0036, 0.073, 30), (0.0053, 0.12, 15), (0.0076, 0.34, 14)];
    for (found, stated) in groups.iter().zip(stated) {
        assert!(found.0 <= stated.0 && found.1 <= stated.1 && found.2 >= stated.2, "{found:?}, stated {stated:?}");
    }
}
