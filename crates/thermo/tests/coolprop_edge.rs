//! The edge of what the virial series may be used for, against CoolProp 8.0.0 `HumidAirProp`: at the greatest humidity
//! ratio that the functions accept, 233…423 K and 0.2…20 bar, most of it far above saturation, where both programs
//! extrapolate. Written by tests/peers/humid_air_edge_fixture.py.
//!
//! | quantity | worst | mean |
//! |---|---|---|
//! | density | 8.6 % | 4.9 % |
//! | heat capacity | 58 % | 40 % |

use thermo::humid_air::{density, heat_capacity};

#[test]
fn error_at_the_edge() {
    let [mut worst, mut sum, mut count] = [[0.0f64; 2], [0.0; 2], [0.0; 2]];
    for line in include_str!("fixtures/humid_air_edge.csv").lines().skip(1) {
        let row: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let [t, p, w, there, cp_there] = row[..] else { panic!("{line}") };
        // An edge it is: a little more water is refused.
        assert!(density(t, p, w + 3e-5).is_err(), "{line}");
        let differences = [density(t, p, w).unwrap() / there - 1.0, heat_capacity(t, p, w).unwrap() / cp_there - 1.0];
        for (i, d) in differences.iter().enumerate() {
            (worst[i], sum[i], count[i]) = (worst[i].max(d.abs()), sum[i] + d.abs(), count[i] + 1.0);
        }
    }
    println!("worst {worst:?} mean {:?}", [sum[0] / count[0], sum[1] / count[1]]);
    assert!(count[0] >= 30.0 && worst[0] < 0.09 && worst[1] < 0.6, "{worst:?}");
}
