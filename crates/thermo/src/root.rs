//! The root of a rising function by Newton's method, kept between bounds.

use crate::domain::DomainError;
use units::{Dual, Real};

/// A root with the slope there.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Root {
    pub(crate) x: f64,
    pub(crate) slope: f64,
}

impl Root {
    /// The root with its derivatives, from the residual at the root with the arguments as they are.
    #[inline]
    pub(crate) fn with<R: Real>(self, residual: R) -> R {
        R::at_root(self.x, residual, self.slope)
    }
}

/// Newton's step is the last one when it is smaller than this share of x: what remains is its square.
const LAST_STEP: f64 = 1e-7;

/// The root of a rising function between two bounds; `None` if it is not between them.
///
/// A step that leaves the bracket goes to the bound first, then halves the bracket, so a root that exists is found.
pub(crate) fn rising_root(
    (mut low, mut high): (f64, f64),
    guess: f64,
    f: impl Fn(Dual<1>) -> Result<Dual<1>, DomainError>,
) -> Result<Option<Root>, DomainError> {
    if low >= high || low.is_nan() || high.is_nan() {
        return Ok(None);
    }
    let range = (low, high);
    let (mut low_seen, mut high_seen) = (false, false);
    let mut x = if guess > low && guess < high { guess } else { 0.5 * (low + high) };
    let mut slope = f64::NAN;
    for _ in 0..200 {
        let y = f(Dual::variable(x, 0))?;
        slope = y.partials[0];
        if y.value == 0.0 {
            return Ok(Some(Root { x, slope }));
        }
        if y.value > 0.0 {
            if x <= low {
                return Ok(None);
            }
            (high, high_seen) = (x, true);
        } else if y.value < 0.0 {
            if x >= high {
                return Ok(None);
            }
            (low, low_seen) = (x, true);
        } else {
            return Ok(None);
        }
        let newton = x - y.value / slope;
        if (newton - x).abs() <= LAST_STEP * x.abs() {
            return Ok(Some(Root { x: newton.clamp(range.0, range.1), slope }));
        }
        x = if newton > low && newton < high {
            newton
        } else if newton <= low && !low_seen {
            low
        } else if newton >= high && !high_seen {
            high
        } else {
            0.5 * (low + high)
        };
        if high - low <= 1e-15 * high.abs() {
            break;
        }
    }
    Ok(Some(Root { x, slope }))
}
