//! G. Halder, Introduction to Chemical Engineering Thermodynamics, example 8.10, as reproduced in the FOSSEE (IIT Bombay)
//! Python Textbook Companions, commit d34b2ae7; the book was not seen.

use crate::{near, stations};

/// Case AC-27: 0.2 %. The source calls the heat rejected (26.13 kW) work of compression and the refrigeration (17.58 kW)
/// work of expansion; only their difference is right. The true powers stand beside it.
#[test]
fn ac_27_mislabelled_terms() {
    let (t2, t4) = stations(253.0, 303.0, 4.0, 4.0, 1.0, 1.0, 1.4);
    let flow = 63_300.0 / (1.008 * (253.0 - t4)); // kg/h
    near("mass flow", flow, 1279.07, 0.002);
    let kw = |span: f64| flow / 3600.0 * 1.008 * span;
    near("heat rejected, printed as work of compression", kw(t2 - 303.0), 26.13, 0.002);
    near("net power", kw(t2 - 253.0) - kw(303.0 - t4), 8.55, 0.002);
    near("COP", (253.0 - t4) / (t2 - 303.0 - (253.0 - t4)), 2.06, 0.002);
    near("compressor", kw(t2 - 253.0), 44.035_782_436_736_15, 1e-9);
    near("expander", kw(303.0 - t4), 35.490_382_852_744_816, 1e-9);
}
