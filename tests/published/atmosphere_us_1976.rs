//! U.S. Standard Atmosphere 1976, table "Atmosphere to 86 km by 2 km" (pdas.com), as reproduced in the test suite of
//! the library fluids (commit 091070e9). Equal to ISO 2533 up to 51 km.

use thermo::atmosphere::{geometric_altitude, geopotential_altitude, standard_air};

/// Case IN-31, by **geometric** altitude, 5e-5 relative for five digits: m, K, Pa, kg/m3, m/s.
const ROWS: [(f64, f64, f64, f64, f64); 6] = [
    (-2000.0, 301.15, 127_780.0, 1.4782, 347.89),
    (0.0, 288.15, 101_320.0, 1.225, 340.29),
    (4000.0, 262.17, 61_660.0, 0.819_35, 324.59),
    (6000.0, 249.19, 47_218.0, 0.660_11, 316.45),
    (10_000.0, 223.25, 26_500.0, 0.413_51, 299.53),
    (12_000.0, 216.65, 19_399.0, 0.311_94, 295.07),
];

#[test]
fn in_31_by_geometric_altitude() {
    for (geometric, temperature, pressure, density, sound) in ROWS {
        let air = standard_air(geopotential_altitude(geometric).unwrap()).unwrap();
        let pairs = [
            (air.temperature, temperature),
            (air.pressure, pressure),
            (air.density, density),
            (air.speed_of_sound, sound),
        ];
        for (value, expected) in pairs {
            assert!((value / expected - 1.0).abs() < 5e-5, "{geometric} m: {value} for {expected}");
        }
    }
}

/// CV-11: at 10 km of geometric and of geopotential altitude, 0.10 K and 0.24 % of pressure lie between.
#[test]
fn cv_11_geometric_is_not_geopotential() {
    let by_geometric = standard_air(geopotential_altitude(10_000.0).unwrap()).unwrap();
    let by_geopotential = standard_air(10_000.0).unwrap();
    assert!((by_geometric.temperature - by_geopotential.temperature - 0.10).abs() < 0.005);
    assert!((by_geometric.pressure / by_geopotential.pressure - 1.0024).abs() < 5e-5);
    assert!((geometric_altitude(geopotential_altitude(10_000.0).unwrap()).unwrap() - 10_000.0).abs() < 1e-8);
}
