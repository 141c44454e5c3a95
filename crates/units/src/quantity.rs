//! The kinds of quantity, and the words that name them in channel names.

use std::fmt;

/// What a number measures. A unit fits one of them, or two where a reading and a difference share the unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Thermodynamic temperature; SI: K.
    Temperature,
    /// A difference of two temperatures; SI: K, and the zero of the scale plays no part.
    TemperatureDifference,
    /// Pressure, absolute once it is in SI; Pa.
    Pressure,
    /// A difference of two pressures; Pa.
    PressureDifference,
    /// Mass per time; kg/s.
    MassFlow,
    /// Volume per time at the state it is measured in; m3/s.
    VolumeFlow,
    /// Speed of rotation; rad/s.
    AngularSpeed,
    /// Speed along a line; m/s.
    Velocity,
    /// A number without a unit: position, relative humidity, efficiency, state.
    Ratio,
    /// Mass of water vapour per mass of dry air; kg/kg.
    HumidityRatio,
    /// Power; W.
    Power,
    /// Energy per mass; J/kg.
    SpecificEnergy,
    /// Voltage; V.
    Voltage,
    /// Electric current; A.
    Current,
    /// Electric resistance; ohm.
    Resistance,
    /// Length; m.
    Length,
    /// Time; s.
    Time,
    /// Mass; kg.
    Mass,
    /// Plane angle; rad.
    Angle,
    /// Mass per volume; kg/m3.
    Density,
    /// Area; m2.
    Area,
    /// Volume; m3.
    Volume,
    /// Moment of a force; N.m.
    Torque,
    /// Energy; J.
    Energy,
    /// Heat per time and temperature difference, of an exchanger UA; W/K.
    Conductance,
    /// Temperature change per time; K/s.
    TemperatureRate,
    /// Pressure change per time; Pa/s.
    PressureRate,
}

use Quantity as Q;

/// Every quantity: its name, its SI unit as people write it, the same in UCUM.
const QUANTITIES: [(Quantity, &str, &str, &str); 27] = [
    (Q::Temperature, "temperature", "K", "K"),
    (Q::TemperatureDifference, "temperature difference", "K", "K"),
    (Q::Pressure, "pressure", "Pa", "Pa"),
    (Q::PressureDifference, "pressure difference", "Pa", "Pa"),
    (Q::MassFlow, "mass flow", "kg/s", "kg/s"),
    (Q::VolumeFlow, "volume flow", "m3/s", "m3/s"),
    (Q::AngularSpeed, "speed of rotation", "rad/s", "rad/s"),
    (Q::Velocity, "velocity", "m/s", "m/s"),
    (Q::Ratio, "ratio", "1", "1"),
    (Q::HumidityRatio, "humidity ratio", "kg/kg", "kg/kg"),
    (Q::Power, "power", "W", "W"),
    (Q::SpecificEnergy, "specific energy", "J/kg", "J/kg"),
    (Q::Voltage, "voltage", "V", "V"),
    (Q::Current, "current", "A", "A"),
    (Q::Resistance, "resistance", "ohm", "Ohm"),
    (Q::Length, "length", "m", "m"),
    (Q::Time, "time", "s", "s"),
    (Q::Mass, "mass", "kg", "kg"),
    (Q::Angle, "angle", "rad", "rad"),
    (Q::Density, "density", "kg/m3", "kg/m3"),
    (Q::Area, "area", "m2", "m2"),
    (Q::Volume, "volume", "m3", "m3"),
    (Q::Torque, "torque", "N.m", "N.m"),
    (Q::Energy, "energy", "J", "J"),
    (Q::Conductance, "conductance", "W/K", "W/K"),
    (Q::TemperatureRate, "temperature rate", "K/s", "K/s"),
    (Q::PressureRate, "pressure rate", "Pa/s", "Pa/s"),
];

impl Quantity {
    /// All quantities.
    pub fn all() -> impl Iterator<Item = Quantity> {
        QUANTITIES.into_iter().map(|q| q.0)
    }

    /// Its name in messages and documentation: `mass flow`.
    pub fn name(self) -> &'static str {
        QUANTITIES[self as usize].1
    }

    /// Its name as one word in files: `mass_flow`.
    pub fn key(self) -> String {
        self.name().replace(' ', "_")
    }

    /// The quantity with this [`key`](Self::key).
    pub fn from_key(key: &str) -> Option<Quantity> {
        Self::all().find(|q| q.key() == key)
    }

    /// The coherent SI unit as people write it: `kg/s`.
    pub fn si_symbol(self) -> &'static str {
        QUANTITIES[self as usize].2
    }

    /// The coherent SI unit as a UCUM code.
    pub fn si_ucum(self) -> &'static str {
        QUANTITIES[self as usize].3
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The last words of `place.quantity` names, and the quantity each stands for.
pub const WORDS: [(&str, Quantity); 13] = [
    ("temperature", Q::Temperature),
    ("pressure", Q::Pressure),
    ("pressure_difference", Q::PressureDifference),
    ("flow", Q::MassFlow),
    ("volume_flow", Q::VolumeFlow),
    ("dew_point", Q::Temperature),
    ("relative_humidity", Q::Ratio),
    ("humidity_ratio", Q::HumidityRatio),
    ("speed", Q::AngularSpeed),
    ("position", Q::Ratio),
    ("command", Q::Ratio),
    ("state", Q::Ratio),
    ("power", Q::Power),
];

/// The word of [`WORDS`] that a channel name ends in, after a dot, and its quantity: `left.pack_in.temperature` ends
/// in `temperature`. `None` where it ends in no such word; such a channel may measure anything.
pub fn of_name(name: &str) -> Option<(&'static str, Quantity)> {
    let (_, last) = name.rsplit_once('.')?;
    WORDS.into_iter().find(|(word, _)| *word == last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_in_the_order_of_the_enum() {
        for (i, (q, ..)) in QUANTITIES.into_iter().enumerate() {
            assert_eq!(q as usize, i);
            assert_eq!(Quantity::from_key(&q.key()), Some(q));
        }
    }

    #[test]
    fn names_end_in_their_quantity() {
        assert_eq!(of_name("left.pack_in.temperature"), Some(("temperature", Q::Temperature)));
        assert_eq!(of_name("ram.pressure_difference"), Some(("pressure_difference", Q::PressureDifference)));
        assert_eq!(of_name("temperature"), None);
        assert_eq!(of_name("zone.fwd.target"), None);
    }
}
