//! Stations of invented packs: name, value and standard uncertainty in SI.

pub(crate) type Station = (&'static str, f64, f64);

/// What an installation has once.
pub(crate) const COMMON: [Station; 16] = [
    ("ambient.temperature", 311.0, 0.4),
    ("ambient.pressure", 101_300.0, 30.0),
    ("ambient.dew_point", 297.0, 0.3),
    ("recirc.temperature", 299.0, 0.4),
    ("recirc.pressure", 103_000.0, 150.0),
    ("recirc.dew_point", 285.0, 0.3),
    ("recirc.flow", 0.3, 0.006),
    ("mix.temperature", 289.0, 0.4),
    ("mix.pressure", 103_500.0, 150.0),
    ("trim.temperature", 450.0, 1.0),
    ("trim.flow", 0.02, 0.0005),
    ("zone.fwd.duct.temperature", 296.0, 0.4),
    ("zone.fwd.cabin.pressure", 95_000.0, 60.0),
    ("zone.aft.duct.temperature", 294.0, 0.4),
    ("zone.aft.cabin.pressure", 94_000.0, 60.0),
    ("bleed.pressure", 330_000.0, 400.0),
];

/// The hot path up to the secondary exchanger's outlet, and the ram side.
const FRONT: [Station; 15] = [
    ("pack_in.temperature", 468.0, 0.8),
    ("pack_in.pressure", 265_000.0, 400.0),
    ("pack_in.flow", 0.5, 0.008),
    ("primary_out.temperature", 383.0, 0.6),
    ("compressor_in.pressure", 255_000.0, 400.0),
    ("compressor_out.temperature", 440.0, 0.6),
    ("compressor_out.pressure", 372_000.0, 500.0),
    ("secondary_out.temperature", 326.0, 0.5),
    ("secondary_out.pressure", 359_000.0, 500.0),
    ("acm.speed", 4_200.0, 4.0),
    ("ram_in.temperature", 311.3, 0.4),
    ("secondary_ram_out.temperature", 354.0, 1.0),
    ("primary_ram_out.temperature", 384.0, 1.0),
    ("fan_out.temperature", 390.0, 1.0),
    ("valve.bypass.position", 0.0, 0.0),
];

pub(crate) fn three_wheel() -> Vec<Station> {
    let back = [
        ("ram_in.flow", 1.35, 0.04),
        ("bypass.flow", 0.02, 0.001),
        ("anti_ice.flow", 0.01, 0.0005),
        ("reheater_hot_out.temperature", 317.0, 0.4),
        ("reheater_hot_out.pressure", 352_000.0, 500.0),
        ("condenser_cold_out.pressure", 108_500.0, 150.0),
        ("ram_in.pressure", 101_200.0, 30.0),
        ("secondary_ram_out.pressure", 99_900.0, 30.0),
        ("primary_ram_out.pressure", 98_600.0, 30.0),
        ("condenser_hot_out.temperature", 297.0, 0.4),
        ("condenser_hot_out.pressure", 346_000.0, 500.0),
        ("drain.flow", 5.9e-3, 0.1e-3),
        ("extractor_out.temperature", 297.2, 0.4),
        ("extractor_out.pressure", 341_000.0, 500.0),
        ("turbine1_in.temperature", 311.0, 0.4),
        ("turbine1_in.pressure", 336_000.0, 500.0),
        ("turbine1_out.temperature", 262.0, 0.4),
        ("turbine1_out.pressure", 111_000.0, 200.0),
        ("condenser_cold_out.temperature", 283.0, 0.4),
        ("discharge.temperature", 290.0, 0.4),
        ("discharge.pressure", 106_000.0, 150.0),
    ];
    [FRONT.to_vec(), back.to_vec()].concat()
}

/// Without a meter in the ram air.
pub(crate) fn four_wheel() -> Vec<Station> {
    let back = [
        ("reheater_hot_out.temperature", 317.0, 0.4),
        ("condenser_hot_out.temperature", 297.0, 0.4),
        ("condenser_hot_out.pressure", 346_000.0, 500.0),
        ("drain.flow", 6.3e-3, 0.1e-3),
        ("extractor_out.temperature", 297.2, 0.4),
        ("extractor_out.pressure", 341_000.0, 500.0),
        ("turbine1_in.temperature", 311.0, 0.4),
        ("turbine1_in.pressure", 336_000.0, 500.0),
        ("turbine1_out.temperature", 279.0, 0.4),
        ("turbine1_out.pressure", 190_000.0, 300.0),
        ("condenser_cold_out.temperature", 290.0, 0.4),
        ("turbine2_in.pressure", 184_000.0, 300.0),
        ("turbine2_out.temperature", 268.0, 0.4),
        ("turbine2_out.pressure", 108_000.0, 200.0),
        ("discharge.temperature", 268.0, 0.4),
        ("discharge.pressure", 106_000.0, 150.0),
    ];
    [FRONT.to_vec(), back.to_vec()].concat()
}

/// The same on dried air: no water anywhere, no extractor's drain.
pub(crate) fn dry_four_wheel() -> Vec<Station> {
    let wet = four_wheel().into_iter().filter(|(name, ..)| *name != "drain.flow");
    let dried = [
        ("drain.flow", 0.0, 0.0),
        ("bleed.temperature", 470.0, 1.0),
        ("bleed.pressure", 330_000.0, 400.0),
        ("bleed.dew_point", 250.0, 0.5),
        ("ambient.pressure", 101_300.0, 30.0),
    ];
    wet.chain(dried).collect()
}

/// A turbine and a fan, its water taken out behind the turbine.
pub(crate) fn simple() -> Vec<Station> {
    vec![
        ("pack_in.temperature", 468.0, 0.8),
        ("pack_in.pressure", 265_000.0, 400.0),
        ("pack_in.flow", 0.5, 0.008),
        ("primary_out.temperature", 350.0, 0.6),
        ("secondary_out.temperature", 330.0, 0.5),
        ("secondary_out.pressure", 245_000.0, 400.0),
        ("turbine1_out.temperature", 285.0, 0.4),
        ("turbine1_out.pressure", 108_000.0, 200.0),
        ("drain.flow", 1.5e-3, 0.05e-3),
        ("separator_out.temperature", 285.0, 0.4),
        ("discharge.temperature", 286.0, 0.4),
        ("discharge.pressure", 106_000.0, 150.0),
        ("ram_in.temperature", 311.3, 0.4),
        ("primary_ram_out.temperature", 384.0, 1.0),
        ("fan_out.temperature", 390.0, 1.0),
        ("ram_in.flow", 1.35, 0.04),
    ]
}

/// Dried air through a machine with a separate fan.
pub(crate) fn dry_bench() -> Vec<Station> {
    let back = [
        ("ram_in.flow", 1.35, 0.04),
        ("turbine1_out.temperature", 262.0, 0.4),
        ("turbine1_out.pressure", 111_000.0, 200.0),
        ("ambient.pressure", 101_300.0, 30.0),
        ("bleed.temperature", 470.0, 1.0),
        ("bleed.pressure", 330_000.0, 400.0),
        ("bleed.dew_point", 250.0, 0.5),
    ];
    [FRONT.to_vec(), back.to_vec()].concat()
}
