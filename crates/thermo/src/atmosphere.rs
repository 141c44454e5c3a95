//! The standard atmosphere of ISO 2533: from geopotential altitude to pressure and back.
//!
//! Pressure altitude, cabin altitude and flight levels are **geopotential** altitudes in this atmosphere, whatever the
//! weather. Tables by geometric altitude exist too: at 10 km they are 0.10 K and 0.24 % of pressure away.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Standard acceleration of free fall, m/s².
pub const GRAVITY: f64 = 9.806_65;

/// Specific gas constant of the standard's dry air, J/(kg·K).
pub const GAS_CONSTANT: f64 = 287.052_87;

/// Isentropic exponent of the standard's air.
pub const ISENTROPIC_EXPONENT: f64 = 1.4;

/// Nominal radius of the Earth, m.
pub const EARTH_RADIUS: f64 = 6_356_766.0;

/// Lowest geopotential altitude, m.
pub const LOWEST: f64 = -5_000.0;

/// Highest geopotential altitude, m.
pub const HIGHEST: f64 = 80_000.0;

/// Air at an altitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air<R> {
    /// Temperature, K.
    pub temperature: R,
    /// Pressure, Pa.
    pub pressure: R,
    /// Density, kg/m³.
    pub density: R,
    /// Speed of sound, m/s.
    pub speed_of_sound: R,
}

/// The standard atmosphere at a geopotential altitude.
///
/// ```text
/// T = T_b + L·(H − H_b)
/// p = p_b·(1 + L·(H − H_b)/T_b)^(−g/(R·L))     L = 0: p_b·e^(−g·(H − H_b)/(R·T_b))
/// ρ = p/(R·T)     a = √(1.4·R·T)
/// H_b km  −5…0   0…11   11   20   32   47   51   71…80      T_0 = 288.15 K, p_0 = 101 325 Pa at H = 0
/// L K/km  −6.5   −6.5   0    1    2.8  0    −2.8 −2
/// ```
/// * Units: m geopotential in.
/// * Range: [`LOWEST`] to [`HIGHEST`].
/// * Outside: [`DomainError`].
/// * Source: ISO 2533:1975 and its addenda (constants from memory); held against the U.S. Standard Atmosphere 1976,
///   which is the same up to 51 km but for the last digit of R.
///
/// ```
/// let air = thermo::atmosphere::standard_air(2438.4)?; // 8000 ft
/// assert!((air.pressure - 75_262.4).abs() < 0.1);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn standard_air<R: Real>(altitude: R) -> Result<Air<R>, DomainError> {
    const NAME: &str = "standard atmosphere";
    let altitude = check_altitude(NAME, "geopotential altitude", altitude)?;
    let layer = layer(|l| l.altitude <= altitude.value());
    let pressure = layer.pressure(altitude);
    let temperature = layer.temperature(altitude);
    Ok(Air {
        temperature: finite(NAME, temperature)?,
        pressure: finite(NAME, pressure)?,
        density: finite(NAME, pressure / (temperature * GAS_CONSTANT))?,
        speed_of_sound: finite(NAME, (temperature * (ISENTROPIC_EXPONENT * GAS_CONSTANT)).sqrt())?,
    })
}

/// Pressure altitude: the geopotential altitude at which the standard atmosphere has a pressure. Of the cabin
/// pressure it is the cabin altitude.
///
/// ```text
/// H = H_b + T_b/L·((p/p_b)^(−R·L/g) − 1)     L = 0: H_b − R·T_b/g·ln(p/p_b)
/// ```
/// * Units: Pa absolute in, m out.
/// * Range: the pressures of [`LOWEST`] (177 687 Pa) to [`HIGHEST`] (0.8863 Pa).
/// * Outside: [`DomainError`].
/// * Source: ISO 2533:1975, inverse of [`standard_air`].
///
/// ```
/// let altitude = thermo::atmosphere::pressure_altitude(69_681.64)?;
/// assert!((altitude / 0.3048 - 10_000.0).abs() < 0.1); // ft
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn pressure_altitude<R: Real>(pressure: R) -> Result<R, DomainError> {
    const NAME: &str = "pressure altitude";
    const VALID: &str = "0.8863 to 177 687 Pa absolute, the pressures of 80 km and -5 km";
    let pressure = check(NAME, "pressure", pressure, VALID, |p| (0.886_272..=177_687.05).contains(&p))?;
    finite(NAME, layer(|l| l.pressure >= pressure.value()).altitude_of(pressure))
}

/// Rate of the pressure altitude from the rate of the pressure; of the cabin pressure: cabin altitude rate.
///
/// ```text
/// dH/dt = −R·T/(g·p)·dp/dt     T: of the standard atmosphere at the pressure altitude
/// ```
/// * Units: Pa absolute, Pa/s in; m/s out, upwards positive.
/// * Range: as [`pressure_altitude`], any finite rate.
/// * Outside: [`DomainError`].
/// * Source: derivative of [`pressure_altitude`]; hydrostatic equation.
pub fn altitude_rate<R: Real>(pressure: R, pressure_rate: R) -> Result<R, DomainError> {
    const NAME: &str = "altitude rate";
    let rate = check(NAME, "pressure rate", pressure_rate, "a finite number in Pa/s", |_| true)?;
    let altitude = pressure_altitude(pressure)?;
    let temperature = layer(|l| l.pressure >= pressure.value()).temperature(altitude);
    finite(NAME, -(temperature * (GAS_CONSTANT / GRAVITY) / pressure * rate))
}

/// Geopotential altitude from geometric altitude (height above mean sea level).
///
/// ```text
/// H = r·Z/(r + Z)     r = 6 356 766 m
/// ```
/// * Units: m. Range: Z from −5 km to 81.02 km (H to 80 km). Outside: [`DomainError`].
/// * Source: ISO 2533:1975, 2.3 (from memory).
pub fn geopotential_altitude<R: Real>(geometric: R) -> Result<R, DomainError> {
    const NAME: &str = "geopotential altitude";
    let z = check(NAME, "geometric altitude", geometric, "-5 000 to 81 030 m", |z| (LOWEST..=81_030.0).contains(&z))?;
    finite(NAME, z * EARTH_RADIUS / (z + EARTH_RADIUS))
}

/// Geometric altitude from geopotential altitude.
///
/// ```text
/// Z = r·H/(r − H)     r = 6 356 766 m
/// ```
/// * Units: m. Range: H from [`LOWEST`] − 10 m to [`HIGHEST`] + 10 m. Outside: [`DomainError`].
/// * Source: ISO 2533:1975, 2.3 (from memory).
pub fn geometric_altitude<R: Real>(geopotential: R) -> Result<R, DomainError> {
    const NAME: &str = "geometric altitude";
    const VALID: &str = "-5 010 to 80 010 m";
    let h = check(NAME, "geopotential altitude", geopotential, VALID, |h| (-5_010.0..=80_010.0).contains(&h))?;
    finite(NAME, h * EARTH_RADIUS / (-h + EARTH_RADIUS))
}

/// Dynamic viscosity of dry air.
///
/// ```text
/// μ = β·T^1.5/(T + S)     β = 1.458e−6 kg/(m·s·√K)   S = 110.4 K
/// ```
/// * Units: K in, Pa·s out.
/// * Range: 100 to 1500 K. Real air (CoolProp 8.0.0) is more viscous by 0.2 % at 250 K, 0.4 % at 300 K, 0.9 % at 400 K,
///   1.4 % at 500 K and 1 bar; another 0.2 to 0.5 % at 6 bar. A discharge coefficient hardly feels it.
/// * Outside: [`DomainError`].
/// * Source: Sutherland's formula with the constants of ISO 2533:1975 and the U.S. Standard Atmosphere 1976.
pub fn viscosity<R: Real>(temperature: R) -> Result<R, DomainError> {
    const NAME: &str = "viscosity of air";
    let t = check(NAME, "temperature", temperature, "100 to 1500 K", |t| (100.0..=1500.0).contains(&t))?;
    finite(NAME, t * t.sqrt() * 1.458e-6 / (t + 110.4))
}

/// Density of dry air as the standard's ideal gas at any pressure and temperature.
///
/// ```text
/// ρ = p/(R·T)     R = 287.052 87 J/(kg·K)
/// ```
/// * Units: Pa absolute, K in; kg/m³ out. Range: both above 0. Outside: [`DomainError`].
/// * Source: ISO 2533:1975; the ideal gas is 0.35 % off at 0 °C and 6 bar.
pub fn density<R: Real>(pressure: R, temperature: R) -> Result<R, DomainError> {
    const NAME: &str = "density of air";
    let p = positive(NAME, "pressure", pressure, "above 0 Pa absolute")?;
    let t = positive(NAME, "temperature", temperature, "above 0 K")?;
    finite(NAME, p / (t * GAS_CONSTANT))
}

/// A layer with a constant temperature gradient, by its lower end.
struct Layer {
    altitude: f64,
    temperature: f64,
    gradient: f64,
    pressure: f64,
}

const fn layer_of(altitude: f64, temperature: f64, gradient: f64, pressure: f64) -> Layer {
    Layer { altitude, temperature, gradient, pressure }
}

/// The lowest reaches down to −5 km.
const LAYERS: [Layer; 7] = [
    layer_of(0.0, 288.15, -0.0065, 101_325.0),
    layer_of(11_000.0, 216.65, 0.0, 22_632.040_095_007_8),
    layer_of(20_000.0, 216.65, 0.001, 5_474.877_424_281_046),
    layer_of(32_000.0, 228.65, 0.0028, 868.015_776_620_213_4),
    layer_of(47_000.0, 270.65, 0.0, 110.905_773_367_309_86),
    layer_of(51_000.0, 270.65, -0.0028, 66.938_528_121_179_63),
    layer_of(71_000.0, 214.65, -0.002, 3.956_392_160_396_599),
];

/// The highest layer whose lower end fulfils a condition that the ones below it fulfil too.
fn layer(reached: impl Fn(&Layer) -> bool) -> &'static Layer {
    let above_first = LAYERS.iter().skip(1).take_while(|l| reached(l)).count();
    LAYERS.get(above_first).unwrap_or(&LAYERS[0])
}

impl Layer {
    fn temperature<R: Real>(&self, altitude: R) -> R {
        (altitude - self.altitude) * self.gradient + self.temperature
    }

    fn pressure<R: Real>(&self, altitude: R) -> R {
        let above = altitude - self.altitude;
        if self.gradient == 0.0 {
            return (above * (-GRAVITY / (GAS_CONSTANT * self.temperature))).exp() * self.pressure;
        }
        let exponent = -GRAVITY / (GAS_CONSTANT * self.gradient);
        (above * (self.gradient / self.temperature) + 1.0).powf(exponent) * self.pressure
    }

    fn altitude_of<R: Real>(&self, pressure: R) -> R {
        let log = (pressure / self.pressure).ln();
        if self.gradient == 0.0 {
            return log * (-GAS_CONSTANT * self.temperature / GRAVITY) + self.altitude;
        }
        let exponent = -GAS_CONSTANT * self.gradient / GRAVITY;
        (log * exponent).exp_m1() * (self.temperature / self.gradient) + self.altitude
    }
}

fn check_altitude<R: Real>(formula: &'static str, argument: &'static str, altitude: R) -> Result<R, DomainError> {
    check(formula, argument, altitude, "-5 000 to 80 000 m", |h| (LOWEST..=HIGHEST).contains(&h))
}
