//! Newtypes for quantities that must not be mixed up: only operators that make physical sense exist.
//!
//! Two temperatures cannot be added:
//! ```compile_fail,E0369
//! use units::Temperature;
//! let t = Temperature::from_si(300.0) + Temperature::from_si(300.0);
//! ```
//! A temperature is not a temperature difference:
//! ```compile_fail,E0308
//! use units::{Temperature, TemperatureDifference};
//! let d: TemperatureDifference = Temperature::from_si(300.0);
//! ```
//! A gauge pressure does not go where an absolute one is asked for, nor into a ratio with one:
//! ```compile_fail,E0369
//! use units::{AbsolutePressure, GaugePressure};
//! let r = GaugePressure::from_si(2e5) / AbsolutePressure::from_si(1e5);
//! ```
//! Two gauge pressures have no ratio at all:
//! ```compile_fail,E0369
//! use units::GaugePressure;
//! let r = GaugePressure::from_si(2e5) / GaugePressure::from_si(1e5);
//! ```
//! What does make sense:
//! ```
//! use units::{AbsolutePressure, GaugePressure, Temperature};
//! let rise = Temperature::from_si(440.0) - Temperature::from_si(382.0);
//! assert_eq!(rise.si(), 58.0);
//! let p = GaugePressure::from_si(100_000.0).absolute(AbsolutePressure::from_si(95_000.0));
//! assert_eq!((p / AbsolutePressure::from_si(97_500.0)).si(), 2.0);
//! ```

use std::ops::{Add, Div, Mul, Neg, Sub};

macro_rules! quantity {
    ($($(#[$doc:meta])* $name:ident)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From its number in SI.
            #[inline]
            pub const fn from_si(si: f64) -> Self {
                Self(si)
            }

            /// Its number in SI.
            #[inline]
            pub const fn si(self) -> f64 {
                self.0
            }
        }
    )*};
}

quantity! {
    /// Thermodynamic temperature, K.
    Temperature
    /// Difference of two temperatures, K.
    TemperatureDifference
    /// Pressure against vacuum, Pa.
    AbsolutePressure
    /// Pressure against the surrounding air, Pa.
    GaugePressure
    /// Difference of two pressures, Pa.
    PressureDifference
    /// Mass flow, kg/s.
    MassFlow
    /// Speed of rotation, rad/s.
    AngularSpeed
    /// Power, W.
    Power
    /// A number without a unit.
    Ratio
}

/// A scale with a zero of its own: readings are subtracted, differences are added to readings.
macro_rules! scale {
    ($reading:ident, $difference:ident) => {
        impl Sub for $reading {
            type Output = $difference;
            #[inline]
            fn sub(self, o: Self) -> $difference {
                $difference(self.0 - o.0)
            }
        }

        impl Add<$difference> for $reading {
            type Output = $reading;
            #[inline]
            fn add(self, d: $difference) -> $reading {
                $reading(self.0 + d.0)
            }
        }

        impl Sub<$difference> for $reading {
            type Output = $reading;
            #[inline]
            fn sub(self, d: $difference) -> $reading {
                $reading(self.0 - d.0)
            }
        }
    };
}

scale!(Temperature, TemperatureDifference);
scale!(AbsolutePressure, PressureDifference);
scale!(GaugePressure, PressureDifference);

/// An amount: sums, multiples and ratios of it make sense.
macro_rules! amount {
    ($($name:ident)*) => {$(
        impl Add for $name {
            type Output = $name;
            #[inline]
            fn add(self, o: Self) -> $name {
                $name(self.0 + o.0)
            }
        }

        impl Sub for $name {
            type Output = $name;
            #[inline]
            fn sub(self, o: Self) -> $name {
                $name(self.0 - o.0)
            }
        }

        impl Neg for $name {
            type Output = $name;
            #[inline]
            fn neg(self) -> $name {
                $name(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = $name;
            #[inline]
            fn mul(self, k: f64) -> $name {
                $name(self.0 * k)
            }
        }

        impl Div<f64> for $name {
            type Output = $name;
            #[inline]
            fn div(self, k: f64) -> $name {
                $name(self.0 / k)
            }
        }
    )*};
}

amount!(TemperatureDifference PressureDifference MassFlow AngularSpeed Power);

/// Quantities of which the ratio of two means something. Not gauge pressures: their zero moves with the weather.
macro_rules! ratio {
    ($($name:ident)*) => {$(
        impl Div for $name {
            type Output = Ratio;
            #[inline]
            fn div(self, o: Self) -> Ratio {
                Ratio(self.0 / o.0)
            }
        }
    )*};
}

ratio!(Temperature TemperatureDifference AbsolutePressure PressureDifference MassFlow AngularSpeed Power);

impl GaugePressure {
    /// Against vacuum, with the surrounding air's pressure: `p + p_barometer`.
    #[inline]
    pub fn absolute(self, barometer: AbsolutePressure) -> AbsolutePressure {
        AbsolutePressure(self.0 + barometer.0)
    }
}

impl AbsolutePressure {
    /// Against the surrounding air: `p − p_barometer`.
    #[inline]
    pub fn gauge(self, barometer: AbsolutePressure) -> GaugePressure {
        GaugePressure(self.0 - barometer.0)
    }
}
