//! A conversion as it is written -> one that can be used.

use super::Text;
use super::accuracy::unknown_type;
use crate::config::channels::ConversionTable;
use crate::config::text;
use crate::nearest;
use crate::problem::{Problem, Problems};
use channels::{Convert, POSITIONS, Pair};
use sensors::{
    Conversion, CurrentLoop, FixedJunction, Linear, PairConversion, Platinum, Polarity, Polynomial, Ratio, Ratiometric,
    RatiometricSpec, Table, Thermocouple,
};
use stream::{ChannelId, Span};
use toml::Spanned;
use units::{Quantity, Unit};

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Linear,
    TwoPoint,
    Table,
    Polynomial,
    CurrentLoop,
    Thermocouple,
    Platinum,
    Ratiometric,
}

const KINDS: &[(Kind, &str)] = &[
    (Kind::Linear, "linear"),
    (Kind::TwoPoint, "two-point"),
    (Kind::Table, "table"),
    (Kind::Polynomial, "polynomial"),
    (Kind::CurrentLoop, "current-loop"),
    (Kind::Thermocouple, "thermocouple"),
    (Kind::Platinum, "platinum"),
    (Kind::Ratiometric, "ratiometric"),
];

impl Kind {
    /// The keys it uses.
    fn keys(self) -> &'static [&'static str] {
        match self {
            Kind::Linear => &["scale", "offset"],
            Kind::TwoPoint => &["raw", "value"],
            Kind::Table => &["raw", "value", "between"],
            Kind::Polynomial => &["coefficients", "signals"],
            Kind::CurrentLoop => &["low", "high", "open_below", "short_above", "signal"],
            Kind::Thermocouple => &["type", "with", "within", "signal"],
            Kind::Platinum => &["r0", "signal"],
            Kind::Ratiometric => {
                &["ratio", "polarity", "closed", "open", "sum", "overtravel", "with", "within", "signal"]
            }
        }
    }
}

/// Where a conversion stands, and what is known around it.
pub(crate) struct Around<'a> {
    pub(crate) text: &'a Text,
    /// Every channel's name, in the order of their ids; none where no other channel can be named.
    pub(crate) names: &'a [String],
    /// The unit that the source states for the reading.
    pub(crate) stated: Option<&'static Unit>,
    /// Where the channel is a position: the unit of its values.
    pub(crate) position: Option<&'static Unit>,
}

/// A conversion, and what the reading is multiplied by before it.
pub(crate) fn conversion(
    around: &Around<'_>,
    at: &Spanned<ConversionTable>,
    bad: &mut Problems,
) -> Option<(Convert, f64)> {
    let c = at.get_ref();
    let kind = super::word(around.text, &c.kind, KINDS, "conversion", bad)?;
    let m = Maker { around, at, c, kind };
    m.other_keys(bad);
    match m.make().and_then(|made| m.check_position().map(|()| made)) {
        Ok(made) => Some(made),
        Err(problem) => {
            bad.0.push(*problem);
            None
        }
    }
}

struct Maker<'a> {
    around: &'a Around<'a>,
    at: &'a Spanned<ConversionTable>,
    c: &'a ConversionTable,
    kind: Kind,
}

type Made<T> = Result<T, Box<Problem>>;

impl Maker<'_> {
    fn make(&self) -> Made<(Convert, f64)> {
        let c = self.c;
        let one = |c: Conversion| Ok((Convert::One(c), 1.0));
        match self.kind {
            Kind::Linear => {
                let scale = c.scale.ok_or_else(|| self.needs("scale"))?;
                one(Conversion::Linear(self.sound(Linear::new(scale, c.offset.unwrap_or(0.0)))?))
            }
            Kind::TwoPoint => match self.points()?.as_slice() {
                [a, b] => one(Conversion::Linear(self.sound(Linear::through(*a, *b))?)),
                _ => Err(self.needs("exactly two points")),
            },
            Kind::Table => {
                let points = self.points()?;
                let table = match self.of(&c.between, &[(false, "lines"), (true, "curve")], "way between points")? {
                    Some(true) => Table::monotone_cubic(&points),
                    _ => Table::new(&points),
                };
                one(Conversion::Table(self.sound(table)?))
            }
            Kind::Polynomial => {
                let factors = c.coefficients.as_deref().ok_or_else(|| self.needs("coefficients"))?;
                let (from, to) = self.two(&c.signals, "signals, the lowest and the highest reading")?;
                one(Conversion::Polynomial(self.sound(Polynomial::new(factors, from, to))?))
            }
            Kind::CurrentLoop => {
                let (Some(low), Some(high)) = (c.low, c.high) else {
                    return Err(self.needs("low (the value at 4 mA) and high (at 20 mA)"));
                };
                let (open, short) = sensors::current_loop::FAULT_CURRENTS;
                let (open, short) = (c.open_below.unwrap_or(open), c.short_above.unwrap_or(short));
                let made = self.sound(CurrentLoop::with_fault_currents(low, high, open, short))?;
                let scale = self.signal("mA")?.map_or(1.0, |(_, scale)| scale);
                Ok((Convert::One(Conversion::CurrentLoop(made)), scale))
            }
            Kind::Platinum => {
                let made = self.sound(Platinum::new(c.r0.ok_or_else(|| self.needs("r0: 100 or 1000"))?))?;
                let (_, scale) = self.signal("ohm")?.ok_or_else(|| self.no_signal("ohm"))?;
                Ok((Convert::One(Conversion::Platinum(made)), scale))
            }
            Kind::Thermocouple => self.thermocouple(),
            Kind::Ratiometric => self.ratiometric(),
        }
    }

    fn thermocouple(&self) -> Made<(Convert, f64)> {
        let letter = self.c.r#type.as_ref().ok_or_else(|| self.needs("type"))?;
        let Some(kind) = Thermocouple::from_letter(letter.get_ref()) else {
            return Err(self.problem_at(letter, unknown_type(letter.get_ref()), "write the letter of the wire's type"));
        };
        let (_, scale) = self.signal("mV")?.ok_or_else(|| self.no_signal("mV"))?;
        let with = self.c.with.as_ref().ok_or_else(|| {
            self.needs("with: the channel of its reference junction, or the temperature it is held at: \"0 degC\"")
        })?;
        if with.get_ref().trim().starts_with(|c: char| c.is_ascii_digit() || c == '-') {
            let (x, unit) = text::quantity(with.get_ref()).map_err(|e| self.problem_at(with, e, ""))?;
            if unit.quantity != Quantity::Temperature {
                let message = format!("{} is no unit of a temperature", unit.symbol);
                return Err(self.problem_at(with, message, "write 0 degC"));
            }
            let fixed = self.sound(FixedJunction::new(kind, unit.to_si(x) - 273.15))?;
            return Ok((Convert::One(Conversion::FixedJunction(fixed)), scale));
        }
        self.pair(PairConversion::Thermocouple(kind), with, "degC", Span(i64::MAX), scale)
    }

    fn ratiometric(&self) -> Made<(Convert, f64)> {
        const RATIOS: &[(Ratio, &str)] =
            &[(Ratio::DifferenceOverSum, "difference-over-sum"), (Ratio::PartOfWhole, "part-of-whole")];
        const POLARITIES: &[(Polarity, &str)] =
            &[(Polarity::RisesToOpen, "rises-to-open"), (Polarity::FallsToOpen, "falls-to-open")];
        let c = self.c;
        let ratio = self.of(&c.ratio, RATIOS, "ratio")?;
        let ratio = ratio.ok_or_else(|| self.needs("ratio: difference-over-sum or part-of-whole"))?;
        let polarity = self.of(&c.polarity, POLARITIES, "polarity")?.ok_or_else(|| {
            self.needs("polarity: rises-to-open or falls-to-open. A guess would show an open valve as shut")
        })?;
        let (Some(closed), Some(open)) = (c.closed, c.open) else {
            return Err(self.needs("closed and open, the ratios at both ends"));
        };
        let window = self.two(&c.sum, "sum, the lowest and highest sum (or supply) while nothing is broken")?;
        let overtravel = c.overtravel.unwrap_or(0.05);
        let spec = RatiometricSpec { ratio, polarity, closed, open, window, overtravel };
        let made = self.sound(Ratiometric::new(spec))?;
        let with = c.with.as_ref().ok_or_else(|| self.needs("with: the channel of the other winding or the supply"))?;
        let unit = self.signal_unit()?.ok_or_else(|| self.no_signal("V"))?;
        self.pair(PairConversion::Ratiometric(made), with, unit.symbol, Span::from_millis(200), 1.0)
    }

    fn pair(
        &self,
        conversion: PairConversion,
        with: &Spanned<String>,
        second_unit: &str,
        default: Span,
        scale: f64,
    ) -> Made<(Convert, f64)> {
        let names = self.around.names;
        let Some(id) = names.iter().position(|n| n == with.get_ref()) else {
            let message = format!("there is no channel {:?}", with.get_ref());
            let known = nearest::list(with.get_ref(), names.iter().map(String::as_str));
            return Err(self.problem_at(with, message, format!("name {}: {known}", conversion.second())));
        };
        let within = match &self.c.within {
            Some(w) => text::duration(w.get_ref()).map_err(|e| self.problem_at(w, e, ""))?,
            None => default,
        };
        let second_unit = units::find(second_unit).map_err(|e| self.problem(e.to_string(), ""))?;
        let with = ChannelId(id as u16);
        Ok((Convert::Pair(Pair { conversion, with, second_unit, within }), scale))
    }

    /// The unit of the reading: as the source states it or as `signal` says; both, and they must agree.
    fn signal_unit(&self) -> Made<Option<&'static Unit>> {
        let Some(written) = &self.c.signal else { return Ok(self.around.stated) };
        let unit = units::find(written.get_ref()).map_err(|e| self.problem_at(written, e.to_string(), ""))?;
        match self.around.stated {
            Some(stated) if stated.symbol != unit.symbol => {
                let message = format!("the map says {}, the source says {}", unit.symbol, stated.symbol);
                Err(self.problem_at(written, message, "leave signal out, or correct the instrument file"))
            }
            _ => Ok(Some(unit)),
        }
    }

    /// The unit of the reading, and what makes the wanted unit of it.
    fn signal(&self, wanted: &str) -> Made<Option<(&'static Unit, f64)>> {
        let Some(unit) = self.signal_unit()? else { return Ok(None) };
        let wanted = units::find(wanted).map_err(|e| self.problem(e.to_string(), ""))?;
        if unit.quantity != wanted.quantity {
            let kind = self.c.kind.get_ref();
            let message =
                format!("a conversion {kind:?} takes a {}, the reading is in {}", wanted.quantity, unit.symbol);
            return Err(self.problem(message, "take another reading, or another conversion"));
        }
        Ok(Some((unit, unit.factor / wanted.factor)))
    }

    fn no_signal(&self, example: &str) -> Box<Problem> {
        let help = format!("write signal = {example:?}, or the unit in the instrument file: V and mV are worlds apart");
        self.problem("neither the source nor the map says the unit of the reading", help)
    }

    /// A position's values must lie where positions lie.
    fn check_position(&self) -> Made<()> {
        let Some(unit) = self.around.position else { return Ok(()) };
        let values = self.c.value.iter().flatten().copied().chain(self.c.low).chain(self.c.high);
        for value in values {
            if !(POSITIONS.0..=POSITIONS.1).contains(&unit.to_si(value)) {
                let message =
                    format!("{value} {} is no position: it is 0 (closed) to 1 (open), 0 to 100 %", unit.symbol);
                return Err(self.problem(message, "correct the channel's unit, or the values of the conversion"));
            }
        }
        Ok(())
    }

    /// A key that another conversion uses would change nothing, and whoever wrote it thinks otherwise.
    fn other_keys(&self, bad: &mut Problems) {
        let (c, own) = (self.c, self.kind.keys());
        let written = [
            ("scale", c.scale.is_some()),
            ("offset", c.offset.is_some()),
            ("raw", c.raw.is_some()),
            ("value", c.value.is_some()),
            ("between", c.between.is_some()),
            ("low", c.low.is_some()),
            ("high", c.high.is_some()),
            ("open_below", c.open_below.is_some()),
            ("short_above", c.short_above.is_some()),
            ("coefficients", c.coefficients.is_some()),
            ("signals", c.signals.is_some()),
            ("type", c.r#type.is_some()),
            ("r0", c.r0.is_some()),
            ("signal", c.signal.is_some()),
            ("with", c.with.is_some()),
            ("within", c.within.is_some()),
            ("ratio", c.ratio.is_some()),
            ("polarity", c.polarity.is_some()),
            ("closed", c.closed.is_some()),
            ("open", c.open.is_some()),
            ("sum", c.sum.is_some()),
            ("overtravel", c.overtravel.is_some()),
        ];
        for (key, _) in written.into_iter().filter(|(k, there)| *there && !own.contains(k)) {
            let message = format!("a conversion {:?} does not use {key}", c.kind.get_ref());
            bad.0.push(*self.problem(message, format!("it uses {}", own.join(", "))));
        }
    }

    fn points(&self) -> Made<Vec<(f64, f64)>> {
        match (&self.c.raw, &self.c.value) {
            (Some(r), Some(v)) if r.len() == v.len() => Ok(r.iter().copied().zip(v.iter().copied()).collect()),
            _ => Err(self.needs("raw and value, two lists of one length")),
        }
    }

    fn two(&self, at: &Option<Spanned<Vec<f64>>>, what: &str) -> Made<(f64, f64)> {
        match at.as_ref().map(|a| a.get_ref().as_slice()) {
            Some([a, b]) => Ok((*a, *b)),
            _ => Err(self.needs(what)),
        }
    }

    fn of<T: Copy>(&self, at: &Option<Spanned<String>>, words: &[(T, &str)], what: &str) -> Made<Option<T>> {
        let Some(at) = at else { return Ok(None) };
        let mut bad = Problems::default();
        let found = super::word(self.around.text, at, words, what, &mut bad);
        match bad.0.pop() {
            Some(p) => Err(Box::new(p)),
            None => Ok(found),
        }
    }

    fn needs(&self, what: &str) -> Box<Problem> {
        self.problem(format!("conversion {:?} needs {what}", self.c.kind.get_ref()), "")
    }

    fn sound<T, E: std::fmt::Display>(&self, made: Result<T, E>) -> Made<T> {
        made.map_err(|e| self.problem(e.to_string(), ""))
    }

    fn problem(&self, message: impl Into<String>, help: impl Into<String>) -> Box<Problem> {
        self.problem_at(self.at, message, help)
    }

    fn problem_at<T>(&self, at: &Spanned<T>, message: impl Into<String>, help: impl Into<String>) -> Box<Problem> {
        Box::new(self.around.text.problem(at, message, help))
    }
}
