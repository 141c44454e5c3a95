//! Decimal numbers, strictly.

/// Powers of ten that a double holds exactly.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];

/// The number that the whole text is: sign, digits with at most one point, exponent. `None` for anything else
/// (words, `inf`, `nan`, a decimal comma, blanks), and for a number too large for a double.
///
/// Correctly rounded: where mantissa and power of ten are exact doubles one division or multiplication rounds once;
/// elsewhere the standard library does it.
pub(crate) fn parse(text: &[u8]) -> Option<f64> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        rest => (false, rest),
    };
    let mut mantissa: u64 = 0;
    let (mut count, mut fraction, mut point) = (0usize, 0i32, false);
    let mut rest = digits;
    while let [b, tail @ ..] = rest {
        match b {
            b'0'..=b'9' => {
                mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(b - b'0'));
                count += 1;
                fraction += i32::from(point);
            }
            b'.' if !point => point = true,
            _ => break,
        }
        rest = tail;
    }
    if count == 0 {
        return None;
    }
    let exponent = match rest {
        [] => 0,
        [b'e' | b'E', e @ ..] => exponent(e)?,
        _ => return None,
    };
    let power = exponent - fraction;
    if count <= 19 && mantissa <= 1 << 53 && power.unsigned_abs() <= 22 {
        let ten = TENS[power.unsigned_abs() as usize];
        let x = if power < 0 { mantissa as f64 / ten } else { mantissa as f64 * ten };
        return Some(if negative { -x } else { x });
    }
    std::str::from_utf8(text).ok()?.parse::<f64>().ok().filter(|x| x.is_finite())
}

/// The number that stands at the beginning of a cell, and how many bytes it takes; only for what needs no second
/// thought: a sign, digits, a point, at most 15 digits in all. `None` sends the caller to [`parse`].
#[inline]
pub(crate) fn prefix(text: &[u8]) -> Option<(f64, usize)> {
    let negative = text.first() == Some(&b'-');
    let begin = usize::from(negative);
    let (mut at, mut mantissa, mut point) = (begin, 0u64, None);
    while let Some(b) = text.get(at) {
        let digit = b.wrapping_sub(b'0');
        if digit < 10 {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
        } else if *b == b'.' && point.is_none() {
            point = Some(at);
        } else {
            break;
        }
        at += 1;
    }
    let digits = at - begin - usize::from(point.is_some());
    let places = point.map_or(0, |p| at - p - 1);
    if !(1..=15).contains(&digits) {
        return None;
    }
    let x = mantissa as f64 / TENS.get(places)?;
    Some((if negative { -x } else { x }, at))
}

/// A decimal exponent; beyond ±99999 it saturates there, where every double is 0 or too large anyway.
fn exponent(text: &[u8]) -> Option<i32> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        rest => (false, rest),
    };
    if digits.is_empty() || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let size = digits.iter().fold(0i32, |n, d| (n * 10 + i32::from(d - b'0')).min(99_999));
    Some(if negative { -size } else { size })
}

#[cfg(test)]
mod tests {
    use super::{parse, prefix};
    use proptest::prelude::*;

    #[test]
    fn takes_plain_decimals_and_nothing_else() {
        for good in
            ["0", "-0", "+1.5", "1.", ".5", "1e3", "1E-3", "-12.25e+2", "123456789012345678901234567890", "1e-400"]
        {
            assert_eq!(parse(good.as_bytes()).map(f64::to_bits), good.parse().ok().map(f64::to_bits), "{good}");
        }
        for bad in [
            "", "-", ".", "e3", "1e", "1e+", "inf", "nan", "NaN", "infinity", "1,5", " 1", "1 ", "0x10", "1e999",
            "1.2.3", "--1",
        ] {
            assert_eq!(parse(bad.as_bytes()), None, "{bad}");
        }
    }

    proptest! {
        #[test]
        fn equals_the_standard_library(
            x in any::<f64>().prop_filter("finite", |x| x.is_finite()),
            places in 0usize..25,
        ) {
            let bits = |text: &str| text.parse().ok().map(f64::to_bits);
            for text in [format!("{x}"), format!("{x:e}"), format!("{:.*}", places, x % 1e9)] {
                if let Some((y, end)) = prefix(text.as_bytes()) {
                    prop_assert_eq!(Some(y.to_bits()), bits(&text[..end]), "{}", text);
                }
                prop_assert_eq!(parse(text.as_bytes()).map(f64::to_bits), bits(&text), "{}", text);
            }
        }

        #[test]
        fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..40)) {
            let _ = (parse(&bytes), prefix(&bytes));
        }
    }
}
