//! What can be wrong with a channel map, and what to do.

use thiserror::Error;
use units::Quantity;

/// What is wrong with a channel, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ChannelError {
    /// A name that tables and metrics could not carry.
    #[error(
        "channel name '{name}' is refused; use small letters, digits and '_', in segments parted by '.', \
         as in pack_in.temperature"
    )]
    Name {
        /// The name.
        name: String,
    },
    /// Two channels of one name.
    #[error("channel '{channel}' stands in the map twice; give one of them another name")]
    NameTwice {
        /// The name of both.
        channel: String,
    },
    /// The name says another quantity than the description.
    #[error(
        "channel '{channel}' is described as {declared}, but a name that ends in '.{word}' is a {named}; \
         set quantity to {}, or rename the channel", named.key()
    )]
    NameContradictsQuantity {
        /// The channel.
        channel: String,
        /// The word its name ends in.
        word: &'static str,
        /// What that word stands for.
        named: Quantity,
        /// What the description says.
        declared: Quantity,
    },
    /// A temperature taken for a difference, or the reverse.
    #[error(
        "channel '{channel}' is described as {declared}, but a name that ends in '.{word}' is a {named}; they convert \
         differently (20 degF are 266.5 K, a difference of 20 degF is 11.1 K): set quantity to {}, or rename the \
         channel", named.key()
    )]
    TemperatureOrDifference {
        /// The channel.
        channel: String,
        /// The word its name ends in.
        word: &'static str,
        /// What that word stands for.
        named: Quantity,
        /// What the description says.
        declared: Quantity,
    },
    /// The unit measures something else.
    #[error(
        "channel '{channel}' is a {quantity}, but {unit} is a unit of {measures}; use one of {choices}, or correct the \
         quantity"
    )]
    Unit {
        /// The channel.
        channel: String,
        /// Its quantity.
        quantity: Quantity,
        /// The unit's symbol.
        unit: &'static str,
        /// What the unit measures.
        measures: String,
        /// Units of the channel's quantity.
        choices: String,
    },
    /// A pressure against nothing.
    #[error(
        "channel '{channel}' is a pressure in {unit}, which does not say against what; set reference to absolute or \
         to gauge with a barometer"
    )]
    NoReference {
        /// The channel.
        channel: String,
        /// The unit's symbol.
        unit: &'static str,
    },
    /// A gauge pressure without the pressure of the surrounding air.
    #[error(
        "channel '{channel}' is a gauge pressure without a barometer; name the channel that measures the surrounding \
         air's absolute pressure, or declare its value"
    )]
    NoBarometer {
        /// The channel.
        channel: String,
    },
    /// Unit and reference say different things.
    #[error(
        "channel '{channel}': {unit} is {says}, but reference is {declared}; write the bare unit (psi, kPa, bar), or \
         correct the reference"
    )]
    UnitContradictsReference {
        /// The channel.
        channel: String,
        /// The unit's symbol.
        unit: &'static str,
        /// What the unit says.
        says: &'static str,
        /// What the description says.
        declared: &'static str,
    },
    /// A reference that this quantity cannot have.
    #[error(
        "channel '{channel}' is a {quantity} and cannot have the reference {reference}; only a pressure is absolute or \
         gauge, only a pressure_difference has the reference difference: correct quantity or reference"
    )]
    ReferenceOfQuantity {
        /// The channel.
        channel: String,
        /// Its quantity.
        quantity: Quantity,
        /// The reference's word.
        reference: &'static str,
    },
    /// A declared barometer that no weather and no flight level gives.
    #[error(
        "channel '{channel}': a barometer of {pascal} Pa is declared, the surrounding air has 10 000 to 120 000 Pa; \
         give it in Pa, absolute, at the place of the instrument (1013.25 hPa are 101 325 Pa)"
    )]
    DeclaredBarometer {
        /// The channel.
        channel: String,
        /// The declared value.
        pascal: f64,
    },
    /// The barometer's channel is not in the map.
    #[error("channel '{channel}' has column {column} as barometer, the map has {channels} channels; name one of them")]
    BarometerMissing {
        /// The channel.
        channel: String,
        /// The id it names.
        column: u16,
        /// How many channels there are.
        channels: usize,
    },
    /// The barometer measures something else.
    #[error(
        "channel '{channel}' has '{barometer}' as barometer, which is a {quantity}; name a channel that measures an \
         absolute pressure"
    )]
    BarometerQuantity {
        /// The channel.
        channel: String,
        /// Its barometer.
        barometer: String,
        /// What that measures.
        quantity: Quantity,
    },
    /// The barometer needs a barometer.
    #[error(
        "channel '{channel}' has '{barometer}' as barometer, which is itself a gauge pressure; name a channel that \
         measures an absolute pressure, or declare the value"
    )]
    BarometerGauge {
        /// The channel.
        channel: String,
        /// Its barometer.
        barometer: String,
    },
    /// A range that nothing can lie in.
    #[error(
        "channel '{channel}': the range goes from {low} to {high} {unit}; give finite numbers, the lower one first"
    )]
    Range {
        /// The channel.
        channel: String,
        /// Its lower end.
        low: f64,
        /// Its upper end.
        high: f64,
        /// The unit's symbol.
        unit: &'static str,
    },
    /// A channel that would be stale at once.
    #[error(
        "channel '{channel}': stale after {seconds} s; give a time above 0, about three times the distance of its \
         readings"
    )]
    StaleAfter {
        /// The channel.
        channel: String,
        /// The time given.
        seconds: f64,
    },
    /// The ends of the instrument's own range.
    #[error(
        "channel '{channel}': rail goes from {low} to {high}; give both ends of the raw number, the lower one first"
    )]
    Rail {
        /// The channel.
        channel: String,
        /// The lower end.
        low: f64,
        /// The upper end.
        high: f64,
    },
    /// A rate that every change, or none, would break.
    #[error(
        "channel '{channel}': a rate of {rate} {unit} a second; give the greatest believable change within a second, \
         above 0"
    )]
    Rate {
        /// The channel.
        channel: String,
        /// The rate given.
        rate: f64,
        /// The unit's symbol.
        unit: &'static str,
    },
    /// A channel that would be frozen at once.
    #[error("channel '{channel}': frozen after {seconds} s; give a time above 0 in which at least one bit must change")]
    FrozenAfter {
        /// The channel.
        channel: String,
        /// The time given.
        seconds: f64,
    },
    /// A position that is none.
    #[error(
        "channel '{channel}': the range goes from {low} to {high} {unit}, but a position is 0 (closed) to 1 (open), \
         0 to 100 %; correct the unit, or convert into one of them"
    )]
    PositionRange {
        /// The channel.
        channel: String,
        /// Its lower end.
        low: f64,
        /// Its upper end.
        high: f64,
        /// The unit's symbol.
        unit: &'static str,
    },
    /// A scale that loses the number.
    #[error("channel '{channel}': its raw number is multiplied by {scale}; give a finite factor above 0")]
    RawScale {
        /// The channel.
        channel: String,
        /// The factor.
        scale: f64,
    },
    /// A conversion whose value is in a unit of its own.
    #[error("channel '{channel}': the value of {what} is in {needs}, the map says {unit}; write unit = \"{needs}\"")]
    ConversionUnit {
        /// The channel.
        channel: String,
        /// What is converted.
        what: &'static str,
        /// The unit its value is in.
        needs: &'static str,
        /// The unit the map says.
        unit: &'static str,
    },
    /// A pair that no two readings could make.
    #[error("channel '{channel}': the other half may be {seconds} s old; give a time above 0")]
    Within {
        /// The channel.
        channel: String,
        /// The time given.
        seconds: f64,
    },
    /// The other half of a pair is not in the map.
    #[error("channel '{channel}' goes with column {column}, the map has {channels} channels; name one of them")]
    PartnerMissing {
        /// The channel.
        channel: String,
        /// The id it names.
        column: u16,
        /// How many channels there are.
        channels: usize,
    },
    /// The other half of a pair needs another channel itself.
    #[error("channel '{channel}' goes with '{partner}', which needs another channel itself; name one that needs none")]
    PartnerOfPartner {
        /// The channel.
        channel: String,
        /// Its other half.
        partner: String,
    },
    /// The other half of a pair measures something else.
    #[error("channel '{channel}' goes with '{partner}', which is a {quantity}; it needs {second}, a {needs}")]
    PartnerQuantity {
        /// The channel.
        channel: String,
        /// Its other half.
        partner: String,
        /// What that measures.
        quantity: Quantity,
        /// What it should be.
        second: &'static str,
        /// The quantity of that.
        needs: Quantity,
    },
    /// A part of the uncertainty that is no size, or has no shape.
    #[error("channel '{channel}': {error}")]
    Uncertainty {
        /// The channel.
        channel: String,
        /// What is wrong.
        error: uncertainty::DomainError,
    },
    /// A tolerance class that the sensor does not have.
    #[error("channel '{channel}': {error}")]
    Class {
        /// The channel.
        channel: String,
        /// What is wrong.
        error: sensors::FormulaError,
    },
    /// A tolerance class of a thermometer for something else.
    #[error(
        "channel '{channel}' is a {quantity}; a tolerance class is a thermometer's: write the limits with their unit"
    )]
    ClassOfNoTemperature {
        /// The channel.
        channel: String,
        /// Its quantity.
        quantity: Quantity,
    },
    /// A share of a gauge pressure's value.
    #[error(
        "channel '{channel}' is a gauge pressure: a share of its value would be taken of the absolute pressure; write \
         the share of the span, or an amount with its unit"
    )]
    ShareOfGauge {
        /// The channel.
        channel: String,
    },
    /// A probe kind for something that has none.
    #[error(
        "channel '{channel}' is a {quantity}: total and static are for temperatures and pressures, vapour and \
         total-water for dew_point, relative_humidity and humidity_ratio; correct or leave out the probe"
    )]
    ProbeOfQuantity {
        /// The channel.
        channel: String,
        /// Its quantity.
        quantity: Quantity,
    },
    /// A recovery factor that is none.
    #[error("channel '{channel}': a recovery factor of {recovery}; it is 0 to 1, for a static temperature probe alone")]
    Recovery {
        /// The channel.
        channel: String,
        /// The factor.
        recovery: f64,
    },
    /// A duct without an opening.
    #[error("channel '{channel}': a duct area of {area} m2; give one above 0")]
    DuctArea {
        /// The channel.
        channel: String,
        /// The area, m².
        area: f64,
    },
}
