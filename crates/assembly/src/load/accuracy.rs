//! The parts of an uncertainty as people write them.

use super::Text;
use crate::config::channels::Texts;
use crate::problem::Problems;
use channels::{HalfWidth, Part};
use sensors::{Construction, PlatinumClass, Thermocouple, ToleranceClass};
use toml::Spanned;
use uncertainty::standard::Shape;
use units::{Quantity, Unit};

const HELP: &str = "write how much and how it is meant: \"0.3 K k=2\", \"0.05 % of 700 kPa rectangular\", \
                    \"0.4 % of value triangular\", \"type K class 1 rectangular\", \"0.1 K standard\"";

/// Every part for a channel of this quantity and unit; nothing where one cannot be read, which is then told.
pub(crate) fn parts(
    text: &Text,
    at: &Spanned<Texts>,
    quantity: Quantity,
    unit: &'static Unit,
    bad: &mut Problems,
) -> Vec<Part> {
    let mut all = Vec::new();
    for written in at.get_ref().all() {
        match part(written, quantity, unit) {
            Ok(p) => all.push(p),
            Err(message) => bad.0.push(text.problem(at, format!("{written:?}: {message}"), HELP)),
        }
    }
    all
}

fn part(written: &str, quantity: Quantity, unit: &'static Unit) -> Result<Part, String> {
    let plain = written.replace([',', '\u{b1}'], " ").replace('%', " % ");
    let words: Vec<&str> = plain.split_whitespace().collect();
    let Some((shape, size)) = words.split_last() else { return Err("nothing is written".to_owned()) };
    let shape = shaped(shape)?;
    Ok(Part { half_width: half_width(size, quantity, unit)?, shape })
}

fn shaped(word: &str) -> Result<Shape, String> {
    match word {
        "rectangular" => Ok(Shape::Rectangular),
        "triangular" => Ok(Shape::Triangular),
        "u-shaped" => Ok(Shape::UShaped),
        "standard" => Ok(Shape::Normal { k: 1.0 }),
        _ => match word.strip_prefix("k=").map(str::parse::<f64>) {
            Some(Ok(k)) if k.is_finite() && k > 0.0 => Ok(Shape::Normal { k }),
            _ => Err(format!(
                "{word:?} does not say how the error lies: rectangular, triangular, u-shaped, standard, or k= and \
                 the coverage factor"
            )),
        },
    }
}

fn half_width(words: &[&str], quantity: Quantity, unit: &'static Unit) -> Result<HalfWidth, String> {
    match words {
        ["type", letter, "class", class] => {
            let t = Thermocouple::from_letter(letter).ok_or_else(|| unknown_type(letter))?;
            let class = match *class {
                "1" => ToleranceClass::One,
                "2" => ToleranceClass::Two,
                "3" => ToleranceClass::Three,
                other => return Err(format!("a thermocouple's class is 1, 2 or 3, not {other:?}")),
            };
            Ok(HalfWidth::Thermocouple(t, class))
        }
        ["platinum", "class", class, made_as] => {
            let class = match *class {
                "AA" => PlatinumClass::AA,
                "A" => PlatinumClass::A,
                "B" => PlatinumClass::B,
                "C" => PlatinumClass::C,
                other => return Err(format!("a platinum thermometer's class is AA, A, B or C, not {other:?}")),
            };
            match *made_as {
                "wire" => Ok(HalfWidth::Platinum(class, Construction::WireWound)),
                "film" => Ok(HalfWidth::Platinum(class, Construction::Film)),
                other => Err(format!("{other:?} is neither wire nor film: their classes have other ranges")),
            }
        }
        [share, "%", "of", "value"] => Ok(HalfWidth::OfValue(number(share)? / 100.0)),
        [share, "%", "of", whole, rest @ ..] => {
            Ok(HalfWidth::Absolute(number(share)? / 100.0 * amount(whole, rest, quantity, unit)?))
        }
        [x, rest @ ..] => Ok(HalfWidth::Absolute(amount(x, rest, quantity, unit)?)),
        [] => Err("it says no amount".to_owned()),
    }
}

/// An amount in the channel's unit.
fn amount(x: &str, rest: &[&str], quantity: Quantity, unit: &'static Unit) -> Result<f64, String> {
    let written = rest.join(" ");
    if written.is_empty() {
        return Err(format!("{x} has no unit"));
    }
    let found = units::find(&written).map_err(|e| e.to_string())?;
    if found.quantity != unit.quantity {
        return Err(format!("{} is a unit of {}, the channel is a {quantity}", found.symbol, found.quantity));
    }
    Ok(unit.difference_from_si(found.difference_to_si(number(x)?)))
}

fn number(x: &str) -> Result<f64, String> {
    x.parse().ok().filter(|x: &f64| x.is_finite() && *x >= 0.0).ok_or_else(|| format!("{x:?} is no number, 0 or above"))
}

/// What is said of a letter that is no thermocouple's.
pub(crate) fn unknown_type(letter: &str) -> String {
    let known: Vec<&str> = Thermocouple::ALL.iter().map(|t| t.letter()).collect();
    format!("there is no thermocouple type {letter:?}; one of: {}", known.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(written: &str, unit: &str) -> Result<Part, String> {
        let unit = units::find(unit).unwrap();
        part(written, unit.quantity, unit)
    }

    fn absolute(written: &str, unit: &str) -> f64 {
        match read(written, unit).unwrap().half_width {
            HalfWidth::Absolute(x) => x,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn parts_as_people_write_them() {
        assert_eq!(absolute("0.3 K k=2", "degC"), 0.3);
        assert_eq!(absolute("±0.9 degF rectangular", "degC"), 0.5);
        assert_eq!(absolute("0.05 % of 700 kPa, rectangular", "bar"), 0.0035);
        assert_eq!(absolute("0.5% of 100% u-shaped", "%"), 0.5);
        assert_eq!(read("0.4 % of value triangular", "kg/s").unwrap().half_width, HalfWidth::OfValue(0.004));
        let class = HalfWidth::Thermocouple(Thermocouple::K, ToleranceClass::One);
        assert_eq!(read("type K class 1 rectangular", "degC").unwrap().half_width, class);
        let class = HalfWidth::Platinum(PlatinumClass::A, Construction::Film);
        let part = read("platinum class A film k=1.5", "degC").unwrap();
        assert_eq!((part.half_width, part.shape), (class, Shape::Normal { k: 1.5 }));
    }

    #[test]
    fn nothing_is_guessed() {
        let wrong = [
            ("", "nothing is written"),
            ("0.3 K", "does not say how the error lies"),
            ("0.3 k=2", "has no unit"),
            ("-0.3 K k=2", "no number, 0 or above"),
            ("0.3 kPa k=2", "a unit of pressure, the channel is a temperature"),
            ("0.3 K k=0", "does not say how"),
            ("0.1 % rectangular", "unit of ratio"),
            ("type X class 1 rectangular", "no thermocouple type \"X\""),
            ("type K class 4 rectangular", "1, 2 or 3"),
            ("platinum class A rectangular", "K"),
            ("rectangular", "says no amount"),
        ];
        for (written, says) in wrong {
            let e = read(written, "degC").unwrap_err();
            assert!(e.contains(says) || (says == "K" && !e.is_empty()), "{written:?}: {e}");
        }
    }
}
