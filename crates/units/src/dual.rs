//! A number with its partial derivatives: forward-mode differentiation.

use std::cmp::Ordering;
use std::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub, SubAssign};

use crate::math;
use crate::real::{Real, power_slope};

/// A value with its derivatives by N variables. Arithmetic carries both; comparison looks at the value alone.
///
/// The value is computed with exactly the operations of the plain number, so it has the same bits. A derivative that
/// is zero stays zero through a function whose slope is infinite there (√ at 0), so constants stay constants.
#[derive(Clone, Copy, Debug)]
pub struct Dual<const N: usize> {
    /// The value.
    pub value: f64,
    /// Its derivatives by the variables, in the order of [`Dual::variables`].
    pub partials: [f64; N],
}

impl<const N: usize> Dual<N> {
    /// A constant.
    #[inline]
    pub const fn constant(value: f64) -> Self {
        Self { value, partials: [0.0; N] }
    }

    /// The variable number `index` (from 0). From N on it is a constant: a derivative nobody keeps.
    #[inline]
    pub fn variable(value: f64, index: usize) -> Self {
        let mut partials = [0.0; N];
        if let Some(own) = partials.get_mut(index) {
            *own = 1.0;
        }
        Self { value, partials }
    }

    /// N values as the N variables.
    #[inline]
    pub fn variables(values: [f64; N]) -> [Self; N] {
        std::array::from_fn(|i| Self::variable(values[i], i))
    }

    /// The partials of two numbers, put together one by one.
    #[inline]
    fn join(self, other: Self, value: f64, one: impl Fn(f64, f64) -> f64) -> Self {
        Self { value, partials: std::array::from_fn(|i| one(self.partials[i], other.partials[i])) }
    }

    #[inline]
    fn is_constant(&self) -> bool {
        self.partials.iter().all(|p| *p == 0.0)
    }
}

/// (a·b)′ = a′·b + a·b′.
#[inline]
fn product_slope(a: f64, da: f64, b: f64, db: f64) -> f64 {
    da * b + a * db
}

/// slope·partial, with 0 for a derivative that is 0 even if the slope is infinite.
#[inline]
fn scaled(slope: f64, partial: f64) -> f64 {
    if partial == 0.0 { 0.0 } else { slope * partial }
}

impl<const N: usize> Real for Dual<N> {
    #[inline]
    fn of(constant: f64) -> Self {
        Self::constant(constant)
    }

    #[inline]
    fn value(self) -> f64 {
        self.value
    }

    #[inline]
    fn chain(self, value: f64, slope: impl FnOnce() -> f64) -> Self {
        let slope = slope();
        Self { value, partials: self.partials.map(|p| scaled(slope, p)) }
    }

    #[inline]
    fn is_finite(self) -> bool {
        self.value.is_finite() && self.partials.iter().all(|p| p.is_finite())
    }

    #[inline]
    fn pow(self, exponent: Self) -> Self {
        let value = math::powf(self.value, exponent.value);
        if exponent.is_constant() {
            return self.chain(value, || power_slope(self.value, exponent.value));
        }
        let by_base = power_slope(self.value, exponent.value);
        let by_exponent = if value == 0.0 { 0.0 } else { value * math::ln(self.value) };
        self.join(exponent, value, |b, e| scaled(by_base, b) + scaled(by_exponent, e))
    }
}

impl<const N: usize> PartialEq for Dual<N> {
    #[inline]
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<const N: usize> PartialOrd for Dual<N> {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        self.value.partial_cmp(&other.value)
    }
}

impl<const N: usize> PartialEq<f64> for Dual<N> {
    #[inline]
    fn eq(&self, other: &f64) -> bool {
        self.value == *other
    }
}

impl<const N: usize> PartialOrd<f64> for Dual<N> {
    #[inline]
    fn partial_cmp(&self, other: &f64) -> Option<Ordering> {
        self.value.partial_cmp(other)
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        Self { value: -self.value, partials: self.partials.map(|p| -p) }
    }
}

impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, b: Self) -> Self {
        self.join(b, self.value + b.value, |da, db| da + db)
    }
}

impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, b: Self) -> Self {
        self.join(b, self.value - b.value, |da, db| da - db)
    }
}

impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, b: Self) -> Self {
        self.join(b, self.value * b.value, |da, db| product_slope(self.value, da, b.value, db))
    }
}

impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, b: Self) -> Self {
        let quotient = self.value / b.value;
        let inverse = 1.0 / b.value;
        self.join(b, quotient, |da, db| (da - quotient * db) * inverse)
    }
}

impl<const N: usize> Add<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, constant: f64) -> Self {
        Self { value: self.value + constant, ..self }
    }
}

impl<const N: usize> Sub<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, constant: f64) -> Self {
        Self { value: self.value - constant, ..self }
    }
}

impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, constant: f64) -> Self {
        Self { value: self.value * constant, partials: self.partials.map(|p| p * constant) }
    }
}

impl<const N: usize> Div<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, constant: f64) -> Self {
        let inverse = 1.0 / constant;
        Self { value: self.value / constant, partials: self.partials.map(|p| p * inverse) }
    }
}

impl<const N: usize> AddAssign for Dual<N> {
    #[inline]
    fn add_assign(&mut self, b: Self) {
        *self = *self + b;
    }
}

impl<const N: usize> SubAssign for Dual<N> {
    #[inline]
    fn sub_assign(&mut self, b: Self) {
        *self = *self - b;
    }
}

impl<const N: usize> MulAssign for Dual<N> {
    #[inline]
    fn mul_assign(&mut self, b: Self) {
        *self = *self * b;
    }
}

#[cfg(test)]
mod tests;
