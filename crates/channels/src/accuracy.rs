//! How well a channel's instrument knows its value.

use sensors::{Construction, PlatinumClass, Thermocouple, ToleranceClass};
use uncertainty::standard::Shape;
use units::{Quantity, Unit, math};

/// The parts of a channel's standard uncertainty, and with which other channels its errors go together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Uncertainty {
    /// Independent parts: their squares add up.
    pub parts: Vec<Part>,
    /// Channels of one group share an error: one scanner, one reference junction.
    pub correlation: Option<String>,
}

/// One part: limits of error, or an expanded uncertainty, and how the error lies in between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Half the width.
    pub half_width: HalfWidth,
    /// How the error is thought to lie within it.
    pub shape: Shape,
}

/// Half the width of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HalfWidth {
    /// In the channel's unit.
    Absolute(f64),
    /// A share of the value as the channel's unit says it (4 % of 100 degC are 4 K).
    OfValue(f64),
    /// The tolerance of a thermocouple's class.
    Thermocouple(Thermocouple, ToleranceClass),
    /// The tolerance of a platinum thermometer's class.
    Platinum(PlatinumClass, Construction),
}

impl Uncertainty {
    /// The standard uncertainty at a value, both in SI: the root of the sum of the parts' squares.
    ///
    /// Range: every value. `None` where a tolerance class has no limit at this temperature, or the result is no finite
    /// number. Source: JCGM 100:2008 (GUM), 4.3 and 5.1.2; classes: IEC 60584-1, IEC 60751, as `sensors` has them.
    pub fn standard(&self, quantity: Quantity, unit: &Unit, value_si: f64) -> Option<f64> {
        let difference = matches!(quantity, Quantity::TemperatureDifference | Quantity::PressureDifference);
        let mut sum = 0.0;
        for part in &self.parts {
            let half_width = match part.half_width {
                HalfWidth::Absolute(a) => unit.difference_to_si(a),
                HalfWidth::OfValue(share) if difference => share * value_si.abs(),
                HalfWidth::OfValue(share) => unit.difference_to_si(share * unit.from_si(value_si).abs()),
                HalfWidth::Thermocouple(t, class) => t.tolerance_k(class, value_si - ZERO_C).ok()?,
                HalfWidth::Platinum(class, made_as) => class.tolerance_k(made_as, value_si - ZERO_C).ok()?,
            };
            let u = part.shape.from_limit(half_width).ok()?;
            sum += u * u;
        }
        Some(math::sqrt(sum)).filter(|u| u.is_finite())
    }
}

/// 0 °C, K.
const ZERO_C: f64 = 273.15;

#[cfg(test)]
mod tests {
    use super::*;

    fn u(parts: &[Part], quantity: Quantity, unit: &str, value_si: f64) -> Option<f64> {
        let u = Uncertainty { parts: parts.to_vec(), correlation: None };
        u.standard(quantity, units::find(unit).unwrap(), value_si)
    }

    const fn part(half_width: HalfWidth, shape: Shape) -> Part {
        Part { half_width, shape }
    }

    fn near(got: Option<f64>, expected: f64) {
        assert!((got.unwrap() - expected).abs() < 1e-9 * expected.max(1.0), "{got:?} {expected}");
    }

    /// A class 0.25 % transmitter of 0 to 500 kPa with limits taken as rectangular, by hand; GUM 4.3.7.
    #[test]
    fn parts_in_the_channels_unit_become_si() {
        let limits = part(HalfWidth::Absolute(1.25), Shape::Rectangular);
        near(u(&[limits], Quantity::Pressure, "kPa", 320e3), 1250.0 / 3f64.sqrt());
        let certificate = part(HalfWidth::Absolute(0.9), Shape::Normal { k: 2.0 });
        near(u(&[certificate], Quantity::Temperature, "degF", 300.0), 0.25);
        near(
            u(&[limits, certificate], Quantity::Pressure, "kPa", 0.0),
            (1250.0 * 1250.0 / 3.0 + 450.0 * 450.0f64).sqrt(),
        );
        near(u(&[], Quantity::Pressure, "kPa", 0.0), 0.0);
    }

    #[test]
    fn a_share_of_the_value_is_one_of_the_value_in_its_own_unit() {
        let share = part(HalfWidth::OfValue(0.04), Shape::Normal { k: 1.0 });
        near(u(&[share], Quantity::Temperature, "degC", 373.15), 4.0);
        near(u(&[share], Quantity::Temperature, "degC", 173.15), 4.0);
        near(u(&[share], Quantity::Temperature, "K", 373.15), 14.926);
        near(u(&[share], Quantity::TemperatureDifference, "degC", -20.0), 0.8);
        near(u(&[share], Quantity::MassFlow, "kg/min", 0.5), 0.02);
    }

    /// IEC 60584-1 type K class 1: 1.5 K or 0.4 %; IEC 60751 class A: 0.15 K + 0.002 |t|.
    #[test]
    fn tolerance_classes_have_their_own_ranges() {
        let k = part(HalfWidth::Thermocouple(Thermocouple::K, ToleranceClass::One), Shape::Rectangular);
        near(u(&[k], Quantity::Temperature, "degC", 473.15), 1.5 / 3f64.sqrt());
        near(u(&[k], Quantity::Temperature, "degC", 773.15), 2.0 / 3f64.sqrt());
        assert_eq!(u(&[k], Quantity::Temperature, "degC", 200.0), None);
        let pt = part(HalfWidth::Platinum(PlatinumClass::A, Construction::Film), Shape::Normal { k: 1.0 });
        near(u(&[pt], Quantity::Temperature, "degC", 373.15), 0.35);
        assert_eq!(u(&[pt], Quantity::Temperature, "degC", f64::NAN), None);
    }
}
