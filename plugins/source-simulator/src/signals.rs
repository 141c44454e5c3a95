//! Which number of the unit stands in which register, line or frame. The same as the example files in
//! `configs/instruments`, from the instruments' side; a test holds the two together.

use crate::pack::State;
use decode::can::{CanDatabase, EncodeError, OwnedFrame};
use decode::modbus::{Function, Register, RegisterKind, ValueError};
use decode::reading::Raw;
use decode::text::{TextField, TextFormat, TextFormatError, WriteError};
use stream::Reason;

/// The database of the CAN frames.
pub const DATABASE: &str = include_str!("../../../configs/instruments/demo-pack.dbc");

const ZERO_CELSIUS: f64 = 273.15;
const RADIANS_PER_SECOND_A_RPM: f64 = std::f64::consts::TAU / 60.0;
/// The most digits after the point that the hygrometer writes.
const TENTHS: f64 = 10.0;

/// A Modbus module: what it holds, and how it is read.
#[derive(Clone, Debug)]
pub struct Module {
    /// Its address on the line.
    pub unit: u8,
    /// The one function it answers.
    pub function: Function,
    /// Its registers, without gaps from address 0.
    pub registers: Vec<Register>,
    values: fn(&State) -> Vec<f64>,
}

impl Module {
    /// The thermocouple module.
    pub fn thermocouples() -> Module {
        let registers = (1u16..=8).map(|i| Register {
            scale: 0.1,
            unit: Some("degC".into()),
            nothing: vec![(0x7FFF, Reason::Open)],
            ..Register::new(format!("t{i}"), Function::ReadInputRegisters, i - 1, RegisterKind::I16)
        });
        let registers = registers.collect();
        Module { unit: 1, function: Function::ReadInputRegisters, registers, values: temperatures }
    }

    /// The pressure module.
    pub fn pressures() -> Module {
        let registers = (1u16..=7).map(|i| Register {
            unit: Some("kPa".into()),
            ..Register::new(format!("p{i}"), Function::ReadHoldingRegisters, 2 * (i - 1), RegisterKind::F32)
        });
        let registers = registers.collect();
        Module { unit: 2, function: Function::ReadHoldingRegisters, registers, values: pressures }
    }

    /// The words it holds, from address 0.
    ///
    /// # Errors
    /// A value that its registers cannot hold.
    pub fn words(&self, s: &State) -> Result<Vec<u16>, ValueError> {
        let mut words = Vec::new();
        for (register, value) in self.registers.iter().zip((self.values)(s)) {
            let (pair, count) = register.words(Raw::finite(value))?;
            words.extend_from_slice(&pair[..usize::from(count)]);
        }
        Ok(words)
    }
}

fn temperatures(s: &State) -> Vec<f64> {
    let kelvin = [
        s.pack_in_temperature,
        s.primary_out_temperature,
        s.compressor_out_temperature,
        s.secondary_out_temperature,
        s.turbine_out_temperature,
        s.discharge_temperature,
        s.ram_in_temperature,
        s.secondary_ram_out_temperature,
    ];
    kelvin.map(|t| t - ZERO_CELSIUS).to_vec()
}

fn pressures(s: &State) -> Vec<f64> {
    let against_ambient = [
        s.pack_in_pressure,
        s.compressor_in_pressure,
        s.compressor_out_pressure,
        s.turbine_in_pressure,
        s.turbine_out_pressure,
        s.discharge_pressure,
    ];
    let gauge = against_ambient.map(|p| p - s.ambient_pressure);
    gauge.into_iter().chain([s.bleed_pressure]).map(|p| p / 1e3).collect()
}

/// The format of the hygrometer's lines.
///
/// # Errors
/// None in practice: the format is fixed.
pub fn hygrometer_format() -> Result<TextFormat, TextFormatError> {
    let field = |position, name: &str, label: &str, unit: &str, unit_text: &str| TextField {
        name: name.into(),
        position,
        unit: Some(unit.into()),
        label: Some(label.into()),
        unit_text: Some(unit_text.into()),
        nothing: vec![("----".into(), Reason::NotAvailable)],
        scale: 1.0,
        offset: 0.0,
    };
    let fields = vec![
        field(1, "humidity", "RH=", "%", "%"),
        field(2, "temperature", "T=", "degC", "C"),
        field(3, "pressure", "P=", "hPa", "hPa"),
    ];
    TextFormat::new(None, ',', fields)
}

/// The hygrometer's line, without its end.
///
/// # Errors
/// None in practice: the unit's values are finite.
pub fn hygrometer_line(format: &TextFormat, s: &State) -> Result<String, WriteError> {
    let tenths = |x: f64| Raw::finite((x * TENTHS).round() / TENTHS);
    format.write_line(&[
        tenths(s.ambient_relative_humidity * 100.0),
        tenths(s.ambient_temperature - ZERO_CELSIUS),
        tenths(s.ambient_pressure / 100.0),
    ])
}

/// The frames that are due at the `tick`th hundredth of a second: speed at 100 Hz, flow at 50 Hz, valves and status
/// at 10 Hz.
///
/// # Errors
/// A value that its signal cannot hold.
pub fn frames(database: &CanDatabase, s: &State, tick: u64) -> Result<Vec<OwnedFrame>, EncodeError> {
    let counter = |every: u64| (tick / every % 256) as f64;
    let mut out = vec![database.encode(
        "MachineState",
        &[
            ("ShaftSpeed", (s.speed / RADIANS_PER_SECOND_A_RPM).round()),
            ("BearingTemperature", s.bearing_temperature - ZERO_CELSIUS),
            ("MachineCounter", counter(1)),
        ],
    )?];
    if tick.is_multiple_of(2) {
        out.push(database.encode(
            "FlowState",
            &[("PackFlow", s.flow), ("RamPressureDifference", s.ram_pressure_difference), ("FlowCounter", counter(2))],
        )?);
    }
    if tick.is_multiple_of(10) {
        out.push(database.encode(
            "ValveState",
            &[
                ("FlowValve", s.flow_valve_position * 100.0),
                ("RamDoorLoop", 4.0 + 16.0 * s.ram_door_position),
                ("BypassFeedback", 0.5 + 4.0 * s.bypass_position),
                ("ValveCounter", counter(10)),
            ],
        )?);
        out.push(status(database, s, tick / 10)?);
    }
    Ok(out)
}

/// The status frame: three pages in turn.
fn status(database: &CanDatabase, s: &State, number: u64) -> Result<OwnedFrame, EncodeError> {
    let phase = match (s.flow_valve_position > 0.0, s.speed > 3_000.0) {
        (false, _) => 0.0,
        (true, false) => 1.0,
        (true, true) => 2.0,
    };
    let common = [("Phase", phase), ("StatusCounter", (number % 256) as f64)];
    let page: &[(&str, f64)] = match number % 3 {
        0 => &[
            ("Page", 0.0),
            ("TurbineInletTemperature", s.turbine_in_temperature - ZERO_CELSIUS),
            ("PrimaryRamOutTemperature", s.primary_ram_out_temperature - ZERO_CELSIUS),
        ],
        1 => &[("Page", 1.0), ("SupplyTemperature", s.bleed_temperature - ZERO_CELSIUS)],
        _ => &[("Page", 2.0), ("OperatingTime", s.time)],
    };
    database.encode("UnitStatus", &[page, &common].concat())
}

#[cfg(test)]
mod tests;
