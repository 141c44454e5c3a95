//! J.H. Lienhard IV and V, A Heat Transfer Textbook, as reproduced in the FOSSEE (IIT Bombay) Python Textbook
//! Companions, commit d34b2ae7.

use thermo::exchanger::{Arrangement, duty::duty};

/// Case HX-08, example 3.5: parallel flow, NTU 1.5; the book reads 0.596 from a chart, 0.2 %. Heat and outlets follow
/// from the rounded effectiveness: the exact heat is 656.04 kW, not 655.6 kW.
#[test]
fn hx_08_parallel_flow() {
    let d = duty(Arrangement::ParallelFlow, 500.0 * 30.0, 10_000.0, 20_000.0, 423.15, 313.15).unwrap();
    assert!((d.effectiveness - 0.596_400_516_958_757).abs() < 1e-12, "{d:?}");
    assert!((d.effectiveness / 0.596 - 1.0).abs() < 0.002, "{d:?}");
    assert!((d.heat - 656_040.568_654_6).abs() < 1e-3, "{d:?}");
    assert!((d.heat / 655.6e3 - 1.0).abs() < 0.002, "{d:?}");
    assert!((d.hot_out - 273.15 - 84.44).abs() < 0.002 * 84.44, "{d:?}");
    assert!((d.cold_out - 273.15 - 72.78).abs() < 0.002 * 72.78, "{d:?}");
}
