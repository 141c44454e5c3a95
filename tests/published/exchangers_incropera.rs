//! F.P. Incropera, D.P. DeWitt, T.L. Bergman, A.S. Lavine, Fundamentals of Heat and Mass Transfer, as reproduced in
//! the FOSSEE (IIT Bombay) Python Textbook Companions, commit d34b2ae7.

use thermo::exchanger::duty::{effectiveness_from_heat, rating};
use thermo::exchanger::{Arrangement, Mixing};

/// Case HX-06, example 11.3: finned-tube cross-flow gas cooler, 3 % for the book's chart reading of NTU 2.1. The
/// exact figures (NTU 2.0808386, area 39.29976 m2) to the case's own digits.
#[test]
fn hx_06_area_of_a_gas_cooler() {
    let (hot_in, cold_in) = (573.15, 308.15);
    let cold_capacity = 4197.0;
    let heat = cold_capacity * 90.0;
    let hot_capacity = heat / 200.0;
    let effectiveness = effectiveness_from_heat(heat, hot_capacity, hot_in, cold_in).unwrap();
    assert!((effectiveness - 0.754_716_981_132).abs() < 1e-9, "{effectiveness}");

    let cross_flow = Arrangement::CrossFlow(Mixing::BothUnmixed);
    let found = rating(cross_flow, heat, hot_capacity, cold_capacity, hot_in, cold_in).unwrap();
    assert!((found.capacity_ratio - 0.45).abs() < 1e-12, "{found:?}");
    assert!((found.transfer_units - 2.080_838_566_404_66).abs() < 1e-9, "{found:?}");
    assert!((found.transfer_units / 2.1 - 1.0).abs() < 0.03, "{found:?}");
    let area = found.conductance / 100.0;
    assert!((area - 39.299_757_584).abs() < 1e-6 && (area / 39.7 - 1.0).abs() < 0.03, "{area}");
}
