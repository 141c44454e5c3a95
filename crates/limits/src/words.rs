//! Numbers and names as people read them.

use stream::ChannelId;
use units::{PressureReference, Unit};

/// The fewest digits that say a number, at most seven, never in powers of ten: 0.0041667 kg/s and 46000 rpm are both
/// told from their neighbours.
pub fn plain(x: f64) -> String {
    let rounded: f64 = format!("{x:.6e}").parse().unwrap_or(x);
    format!("{}", rounded + 0.0)
}

/// A column as texts call it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Named<'a> {
    /// Its name.
    pub name: &'a str,
    /// The SI unit its values are in.
    pub unit: &'a str,
}

/// How the numbers of one limit are shown: as its document writes them.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// The unit of the limit.
    pub unit: &'static Unit,
    /// What a pressure is measured against.
    pub reference: Option<PressureReference>,
    /// The column it watches.
    pub column: Named<'a>,
    /// The second column.
    pub other: Named<'a>,
}

impl Shown<'_> {
    /// A value of the column.
    pub fn value(&self, si: f64) -> String {
        let reference = self.reference.filter(|_| self.unit.reference.is_none());
        let against = reference.map_or_else(String::new, |r| format!(" {}", r.word()));
        format!("{} {}{against}", plain(self.unit.from_si(si)), self.unit.symbol)
    }

    /// A difference of two values: in SI where the unit's name would make a value of it (degC, psia).
    pub fn difference(&self, si: f64) -> String {
        if self.unit.offset != 0.0 || self.unit.reference.is_some() {
            return format!("{} {}", plain(si), self.unit.quantity.si_symbol());
        }
        format!("{} {}", plain(self.unit.difference_from_si(si)), self.unit.symbol)
    }
}

/// What names columns for texts.
pub type Names<'a> = &'a dyn Fn(ChannelId) -> Named<'a>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_plain_and_have_seven_digits_at_most() {
        let said = [
            0.004_157_9,
            0.004_166_7,
            1.0 / 240.0,
            189.999_999_999_999_97,
            46_000.0,
            -0.1,
            -0.0,
            101_325.04,
            2e-9 / 3.0,
            1e15,
            f64::MAX,
        ]
        .map(plain);
        let want = [
            "0.0041579",
            "0.0041667",
            "0.004166667",
            "190",
            "46000",
            "-0.1",
            "0",
            "101325",
            "0.0000000006666667",
            "1000000000000000",
        ];
        assert_eq!(said[..10], want);
        assert!(said[10].starts_with("1797693") && said[10].len() == 309, "{}", said[10]);
    }

    #[test]
    fn a_difference_is_not_shown_as_a_value() {
        let shown = |unit| Shown {
            unit: units::find(unit).unwrap(),
            reference: Some(PressureReference::Absolute),
            column: Named::default(),
            other: Named::default(),
        };
        assert_eq!(shown("kPa").value(250_000.0), "250 kPa absolute");
        assert_eq!(shown("kPa").difference(10_000.0), "10 kPa");
        assert_eq!(shown("psia").value(6_894.757_293_168_361), "1 psia");
        assert_eq!(shown("psia").difference(100.0), "100 Pa");
        assert_eq!(Shown { reference: None, ..shown("degC") }.value(273.15), "0 degC");
        assert_eq!(shown("degF").difference(5.0), "5 K");
    }
}
