//! The units met in the trade, one row each.
//!
//! Factors are written as what defines them, so that they are exact to the last bit a f64 holds: the pound of
//! 0.453 592 37 kg, the inch of 25.4 mm, standard gravity 9.806 65 m/s2 (international definitions, as in NIST SP 811,
//! appendix B, from memory), the international-table Btu of 1055.055 852 62 J (5th International Conference on the
//! Properties of Steam, 1956, from memory).

use crate::unit::PressureReference::{self, Absolute, Difference, Gauge};
use crate::{Quantity as Q, Unit};

const POUND: f64 = 0.453_592_37;
const GRAIN: f64 = POUND / 7000.0;
const INCH: f64 = 0.0254;
const FOOT: f64 = 12.0 * INCH;
const GRAVITY: f64 = 9.806_65;
const PSI: f64 = POUND * GRAVITY / (INCH * INCH);
const MERCURY: f64 = 13_595.1;
const BTU: f64 = 1_055.055_852_62;
const TURN: f64 = std::f64::consts::TAU;

const SI: &str = "SI";
const SI_PREFIX: &str = "SI with decimal prefix";
const SI_ACCEPTED: &str = "accepted beside SI: SI brochure, table 8";
const NIST: &str = "NIST SP 811, appendix B (from memory), from the definitions of inch, pound and standard gravity";
const MERCURY_0: &str = "conventional mercury of 13 595.1 kg/m3, that of 0 degC: NIST SP 811, appendix B (from \
     memory); UCUM's own figure is 3 ppm lower";
const WATER_4: &str =
    "conventional water of 1000 kg/m3, that of 4 degC to 0.003 %: NIST SP 811, appendix B (from memory)";
const BTU_IT: &str = "international-table Btu; NIST SP 811 (from memory)";
const SCALE: &str = "definition of the scale; NIST SP 811, appendix B (from memory)";

/// A unit without offset and reference.
const fn row(
    symbol: &'static str,
    aliases: &'static [&'static str],
    ucum: &'static str,
    quantity: Q,
    factor: f64,
    source: &'static str,
) -> Unit {
    Unit { symbol, aliases, ucum, quantity, factor, offset: 0.0, reference: None, source }
}

/// A temperature scale.
const fn scale(
    symbol: &'static str,
    aliases: &'static [&'static str],
    ucum: &'static str,
    factor: f64,
    offset: f64,
) -> Unit {
    Unit { symbol, aliases, ucum, quantity: Q::Temperature, factor, offset, reference: None, source: SCALE }
}

/// A pressure unit that says what the pressure is measured against.
const fn against(
    reference: PressureReference,
    symbol: &'static str,
    aliases: &'static [&'static str],
    ucum: &'static str,
    factor: f64,
    source: &'static str,
) -> Unit {
    Unit { symbol, aliases, ucum, quantity: Q::Pressure, factor, offset: 0.0, reference: Some(reference), source }
}

/// The unit table.
pub const UNITS: &[Unit] = &[
    scale("K", &["kelvin"], "K", 1.0, 0.0),
    scale("degC", &["°C", "℃", "deg C", "DEG C", "deg_C", "celsius"], "Cel", 1.0, 273.15),
    scale("degF", &["°F", "℉", "deg F", "DEG F", "deg_F", "fahrenheit"], "[degF]", 5.0 / 9.0, 459.67),
    scale("degR", &["°R", "deg R", "DEG R", "deg_R", "rankine"], "[degR]", 5.0 / 9.0, 0.0),
    row("Pa", &["pascal"], "Pa", Q::Pressure, 1.0, SI),
    row("hPa", &[], "hPa", Q::Pressure, 1e2, SI_PREFIX),
    row("kPa", &[], "kPa", Q::Pressure, 1e3, SI_PREFIX),
    row("MPa", &[], "MPa", Q::Pressure, 1e6, SI_PREFIX),
    row("mbar", &[], "mbar", Q::Pressure, 1e2, SI_ACCEPTED),
    row("bar", &[], "bar", Q::Pressure, 1e5, SI_ACCEPTED),
    row("atm", &[], "atm", Q::Pressure, 101_325.0, "standard atmosphere: NIST SP 811, appendix B (from memory)"),
    row("kgf/cm2", &["kgf/cm²", "kp/cm2"], "kgf/cm2", Q::Pressure, GRAVITY * 1e4, NIST),
    row("psf", &["PSF", "lbf/ft2", "lb/ft2"], "[lbf_av]/[sft_i]", Q::Pressure, PSI / 144.0, NIST),
    row("psi", &["PSI", "lbf/in2", "lb/in2"], "[psi]", Q::Pressure, PSI, NIST),
    against(Absolute, "psia", &["PSIA", "psi(a)", "psi abs"], "[psi]", PSI, NIST),
    against(Gauge, "psig", &["PSIG", "psi(g)", "psi gauge"], "[psi]", PSI, NIST),
    against(Difference, "psid", &["PSID", "psi(d)", "psi diff"], "[psi]", PSI, NIST),
    against(Absolute, "kPaa", &["kPa(a)", "kPa abs", "kPa_a"], "kPa", 1e3, SI_PREFIX),
    against(Gauge, "kPag", &["kPa(g)", "kPa gauge", "kPa_g"], "kPa", 1e3, SI_PREFIX),
    against(Difference, "kPad", &["kPa(d)", "kPa diff", "kPa_d"], "kPa", 1e3, SI_PREFIX),
    against(Absolute, "mbara", &["mbar(a)", "mbar abs"], "mbar", 1e2, SI_ACCEPTED),
    against(Gauge, "mbarg", &["mbar(g)", "mbar gauge"], "mbar", 1e2, SI_ACCEPTED),
    against(Absolute, "bara", &["bar(a)", "bar abs"], "bar", 1e5, SI_ACCEPTED),
    against(Gauge, "barg", &["bar(g)", "bar gauge"], "bar", 1e5, SI_ACCEPTED),
    row(
        "inHg",
        &["inHg(0degC)", "inHg(0 degC)", "inHg(0°C)", "inHg(32degF)", "in Hg", "in. Hg", "InHg"],
        "[in_i'Hg]",
        Q::Pressure,
        MERCURY * GRAVITY * INCH,
        MERCURY_0,
    ),
    row(
        "mmHg",
        &["mmHg(0degC)", "mmHg(0 degC)", "mmHg(0°C)", "mm Hg"],
        "mm[Hg]",
        Q::Pressure,
        MERCURY * GRAVITY * 1e-3,
        MERCURY_0,
    ),
    row("mmH2O(4degC)", &["mmH2O(4 degC)", "mmH2O(4°C)"], "mm[H2O]", Q::Pressure, 1000.0 * GRAVITY * 1e-3, WATER_4),
    row(
        "inH2O(4degC)",
        &["inH2O(4 degC)", "inH2O(4°C)", "inH2O(39.2degF)"],
        "[in_i'H2O]",
        Q::Pressure,
        1000.0 * GRAVITY * INCH,
        WATER_4,
    ),
    row(
        "inH2O(20degC)",
        &["inH2O(20 degC)", "inH2O(20°C)", "inH2O(68degF)"],
        "[in_i'H2O]{20degC}",
        Q::Pressure,
        998.207 * GRAVITY * INCH,
        "water of 998.207 kg/m3 at 20 degC (from memory); UCUM has no code of its own for it",
    ),
    row("kg/s", &["kg/sec"], "kg/s", Q::MassFlow, 1.0, SI),
    row("kg/min", &[], "kg/min", Q::MassFlow, 1.0 / 60.0, SI_ACCEPTED),
    row("kg/h", &["kg/hr", "KG/H"], "kg/h", Q::MassFlow, 1.0 / 3600.0, SI_ACCEPTED),
    row("g/s", &[], "g/s", Q::MassFlow, 1e-3, SI_PREFIX),
    row("g/min", &[], "g/min", Q::MassFlow, 1e-3 / 60.0, SI_ACCEPTED),
    row("lb/s", &["lbm/s", "lb/sec", "lbs/s", "pps", "PPS"], "[lb_av]/s", Q::MassFlow, POUND, NIST),
    row("lb/min", &["lbm/min", "lbs/min", "LB/MIN"], "[lb_av]/min", Q::MassFlow, POUND / 60.0, NIST),
    row(
        "lb/h",
        &["lb/hr", "lbm/h", "lbm/hr", "lbs/h", "lbs/hr", "pph", "PPH"],
        "[lb_av]/h",
        Q::MassFlow,
        POUND / 3600.0,
        NIST,
    ),
    row("m3/s", &["m³/s"], "m3/s", Q::VolumeFlow, 1.0, SI),
    row("m3/h", &["m³/h"], "m3/h", Q::VolumeFlow, 1.0 / 3600.0, SI_ACCEPTED),
    row("l/min", &[], "L/min", Q::VolumeFlow, 1e-3 / 60.0, SI_ACCEPTED),
    row("l/s", &[], "L/s", Q::VolumeFlow, 1e-3, SI_ACCEPTED),
    row(
        "ft3/min",
        &["ft³/min", "cu ft/min", "acfm", "ACFM"],
        "[cft_i]/min",
        Q::VolumeFlow,
        FOOT * FOOT * FOOT / 60.0,
        NIST,
    ),
    row("rad/s", &[], "rad/s", Q::AngularSpeed, 1.0, SI),
    row("rpm", &["RPM", "r/min", "rev/min", "1/min", "min-1", "/min"], "{rev}/min", Q::AngularSpeed, TURN / 60.0, NIST),
    row("Hz", &["1/s", "rev/s", "r/s", "/s"], "Hz", Q::AngularSpeed, TURN, "one turn in a second; SI for the second"),
    row("m/s", &["m/sec"], "m/s", Q::Velocity, 1.0, SI),
    row("ft/s", &["fps"], "[ft_i]/s", Q::Velocity, FOOT, NIST),
    row("ft/min", &["fpm"], "[ft_i]/min", Q::Velocity, FOOT / 60.0, NIST),
    row("km/h", &["km/hr", "kph"], "km/h", Q::Velocity, 1.0 / 3.6, SI_ACCEPTED),
    row("mi/h", &["mph"], "[mi_i]/h", Q::Velocity, 5280.0 * FOOT / 3600.0, NIST),
    row(
        "kn",
        &["kt", "kts", "knot", "knots"],
        "[kn_i]",
        Q::Velocity,
        1852.0 / 3600.0,
        "1 nautical mile of 1852 m in an hour",
    ),
    row("1", &["-", "ratio"], "1", Q::Ratio, 1.0, SI),
    row("%", &["percent", "pct", "%RH", "%rh", "% RH"], "%", Q::Ratio, 1e-2, SI_ACCEPTED),
    row("mV/V", &[], "mV/V", Q::Ratio, 1e-3, SI_PREFIX),
    row("kg/kg", &["lb/lb"], "kg/kg", Q::HumidityRatio, 1.0, SI),
    row("g/kg", &[], "g/kg", Q::HumidityRatio, 1e-3, SI_PREFIX),
    row("grain/lb", &["gr/lb", "grains/lb", "grain/lbm", "gpp"], "[gr]/[lb_av]", Q::HumidityRatio, GRAIN / POUND, NIST),
    row("W", &["watt"], "W", Q::Power, 1.0, SI),
    row("kW", &["kilowatt"], "kW", Q::Power, 1e3, SI_PREFIX),
    row("hp", &["HP"], "[HP]", Q::Power, 550.0 * FOOT * POUND * GRAVITY, NIST),
    row("Btu/min", &["BTU/min"], "[Btu_IT]/min", Q::Power, BTU / 60.0, BTU_IT),
    row("Btu/h", &["BTU/h", "Btu/hr", "BTU/hr"], "[Btu_IT]/h", Q::Power, BTU / 3600.0, BTU_IT),
    row("J/kg", &[], "J/kg", Q::SpecificEnergy, 1.0, SI),
    row("kJ/kg", &[], "kJ/kg", Q::SpecificEnergy, 1e3, SI_PREFIX),
    row("Btu/lb", &["BTU/lb", "Btu/lbm", "BTU/lbm"], "[Btu_IT]/[lb_av]", Q::SpecificEnergy, BTU / POUND, BTU_IT),
    row("V", &["volt"], "V", Q::Voltage, 1.0, SI),
    row("mV", &[], "mV", Q::Voltage, 1e-3, SI_PREFIX),
    row("uV", &["\u{b5}V", "\u{3bc}V"], "uV", Q::Voltage, 1e-6, SI_PREFIX),
    row("A", &["ampere"], "A", Q::Current, 1.0, SI),
    row("mA", &[], "mA", Q::Current, 1e-3, SI_PREFIX),
    row("ohm", &["\u{3a9}", "\u{2126}", "ohms"], "Ohm", Q::Resistance, 1.0, SI),
    row("m", &["metre", "meter"], "m", Q::Length, 1.0, SI),
    row("cm", &[], "cm", Q::Length, 1e-2, SI_PREFIX),
    row("mm", &[], "mm", Q::Length, 1e-3, SI_PREFIX),
    row("in", &["inch"], "[in_i]", Q::Length, INCH, NIST),
    row("ft", &["foot", "feet"], "[ft_i]", Q::Length, FOOT, NIST),
    row("s", &["sec", "second"], "s", Q::Time, 1.0, SI),
    row("ms", &[], "ms", Q::Time, 1e-3, SI_PREFIX),
    row("min", &["minute"], "min", Q::Time, 60.0, SI_ACCEPTED),
    row("h", &["hr", "hour"], "h", Q::Time, 3600.0, SI_ACCEPTED),
    row("rad", &["radian"], "rad", Q::Angle, 1.0, SI),
    row("deg", &["degree", "degrees"], "deg", Q::Angle, TURN / 360.0, SI_ACCEPTED),
    row("kg", &["kilogram"], "kg", Q::Mass, 1.0, SI),
    row("g", &["gram"], "g", Q::Mass, 1e-3, SI_PREFIX),
    row("lb", &["lbm", "pound"], "[lb_av]", Q::Mass, POUND, NIST),
    row("kg/m3", &["kg/m³"], "kg/m3", Q::Density, 1.0, SI),
    row("g/cm3", &["g/cm³", "kg/l"], "g/cm3", Q::Density, 1e3, SI_PREFIX),
    row("lb/ft3", &["lbm/ft3", "lb/ft³"], "[lb_av]/[cft_i]", Q::Density, POUND / (FOOT * FOOT * FOOT), NIST),
    row("m2", &["m²"], "m2", Q::Area, 1.0, SI),
    row("cm2", &["cm²"], "cm2", Q::Area, 1e-4, SI_PREFIX),
    row("mm2", &["mm²"], "mm2", Q::Area, 1e-6, SI_PREFIX),
    row("in2", &["in²", "sq in"], "[sin_i]", Q::Area, INCH * INCH, NIST),
    row("ft2", &["ft²", "sq ft"], "[sft_i]", Q::Area, FOOT * FOOT, NIST),
    row("m3", &["m³"], "m3", Q::Volume, 1.0, SI),
    row("l", &["litre", "liter", "dm3"], "L", Q::Volume, 1e-3, SI_ACCEPTED),
    row("cm3", &["cm³", "cc", "ml"], "cm3", Q::Volume, 1e-6, SI_PREFIX),
    row("in3", &["in³", "cu in"], "[cin_i]", Q::Volume, INCH * INCH * INCH, NIST),
    row("ft3", &["ft³", "cu ft"], "[cft_i]", Q::Volume, FOOT * FOOT * FOOT, NIST),
    row("N.m", &["Nm", "N m", "N\u{b7}m", "N*m"], "N.m", Q::Torque, 1.0, SI),
    row(
        "lbf.ft",
        &["lbf-ft", "ft-lbf", "ft.lbf", "lb-ft", "ft-lb"],
        "[lbf_av].[ft_i]",
        Q::Torque,
        POUND * GRAVITY * FOOT,
        NIST,
    ),
    row(
        "lbf.in",
        &["lbf-in", "in-lbf", "in.lbf", "lb-in", "in-lb"],
        "[lbf_av].[in_i]",
        Q::Torque,
        POUND * GRAVITY * INCH,
        NIST,
    ),
    row("J", &["joule"], "J", Q::Energy, 1.0, SI),
    row("kJ", &[], "kJ", Q::Energy, 1e3, SI_PREFIX),
    row("kWh", &[], "kW.h", Q::Energy, 3.6e6, SI_ACCEPTED),
    row("Btu", &["BTU"], "[Btu_IT]", Q::Energy, BTU, BTU_IT),
    row("W/K", &["W/degC"], "W/K", Q::Conductance, 1.0, SI),
    row("kW/K", &["kW/degC"], "kW/K", Q::Conductance, 1e3, SI_PREFIX),
    row(
        "Btu/(h.degF)",
        &["Btu/h/degF", "Btu/(h degF)", "Btu/h-degF", "BTU/(h.degF)", "Btu/(hr.degF)", "Btu/hr-degF"],
        "[Btu_IT]/h/[degR]",
        Q::Conductance,
        BTU / 3600.0 * 1.8,
        BTU_IT,
    ),
    row("K/s", &["degC/s", "°C/s"], "K/s", Q::TemperatureRate, 1.0, SI),
    row("K/min", &["degC/min", "°C/min"], "K/min", Q::TemperatureRate, 1.0 / 60.0, SI_ACCEPTED),
    row("degF/min", &["°F/min", "degR/min"], "[degR]/min", Q::TemperatureRate, 5.0 / 9.0 / 60.0, SCALE),
    row("Pa/s", &[], "Pa/s", Q::PressureRate, 1.0, SI),
    row("kPa/min", &[], "kPa/min", Q::PressureRate, 1e3 / 60.0, SI_ACCEPTED),
    row("mbar/min", &["hPa/min"], "mbar/min", Q::PressureRate, 1e2 / 60.0, SI_ACCEPTED),
    row("psi/min", &["PSI/min"], "[psi]/min", Q::PressureRate, PSI / 60.0, NIST),
];

#[cfg(test)]
mod tests;
