//! Mix manifold, recirculation and trim air.

use crate::domain::{DomainError, check, finite};
use crate::humid_air::mixture::enthalpy_nearest;
use crate::saturation::Condensate;
use crate::stream::{Air, Stream, mixed};
use units::Real;

/// Smallest difference of two streams from which a share is formed, K: with less the result is noise. Our own choice.
pub const MIN_TEMPERATURE_DIFFERENCE: f64 = 1.0;

/// The same of enthalpies, J per kg of dry air.
pub const MIN_ENTHALPY_DIFFERENCE: f64 = 1000.0;

/// What is measured at the manifold less what its streams make.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual<R> {
    /// Temperature, K.
    pub temperature: R,
    /// Enthalpy, J per kg of dry air.
    pub enthalpy: R,
    /// Humidity ratio, kg/kg.
    pub humidity_ratio: R,
    /// Power at the flow of all streams, W.
    pub power: R,
}

/// Balance of a mix manifold: the measured state against that of the mixed streams.
///
/// ```text
/// Δh = h_mix − Σ ṁ_a h/Σ ṁ_a     ΔP = Σ ṁ_a·Δh
/// ```
/// * Units: as in [`Stream`] and [`Air`]; K, J/kg, kg/kg, W out; above 0 where the manifold is warmer than its streams.
/// * Range: as [`mixed`]. Where 273.16 K are measured and water condenses, h_mix is what is nearest to the streams'
///   between all ice and all water: the thermometer does not tell.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass and energy.
pub fn manifold_balance<R: Real>(
    streams: &[Stream<R>],
    measured: Air<R>,
    condensate: Condensate,
) -> Result<Residual<R>, DomainError> {
    const NAME: &str = "mix manifold balance";
    let expected = mixed(streams, measured.pressure, condensate)?;
    let Air { temperature: t, pressure: p, humidity_ratio: w } = measured;
    let enthalpy = finite(NAME, enthalpy_nearest(t, p, w, condensate, expected.enthalpy)? - expected.enthalpy)?;
    Ok(Residual {
        temperature: finite(NAME, measured.temperature - expected.air.temperature)?,
        enthalpy,
        humidity_ratio: finite(NAME, measured.humidity_ratio - expected.air.humidity_ratio)?,
        power: finite(NAME, expected.dry_air_flow * enthalpy)?,
    })
}

/// Share of one stream in a mixture of two, on temperatures: hot air in a zone's duct, cabin air in the mix manifold.
///
/// ```text
/// x = (T_mixed − T_base)/(T_added − T_base)
/// ```
/// Trim: base = `mix`, added = `trim`, mixed = the duct. Recirculation: base = pack discharge, added = cabin (after the
/// fan), mixed = `mix`. Equal heat capacities are assumed: 0.6 % of the share high for trim air of 180 °C.
///
/// * Units: K; ratio out: kg of added per kg of mixed. A result outside 0…1 is returned as it is.
/// * Range: temperatures above 0 K, at least [`MIN_TEMPERATURE_DIFFERENCE`] between added and base; recirculation means
///   little below 8 K (common practice, no source). Nothing condenses or evaporates.
/// * Outside: [`DomainError`].
/// * Source: conservation of energy with constant heat capacity.
///
/// ```
/// let x = thermo::mixing::share_by_temperature(285.15, 453.15, 289.15)?;
/// assert!((x - 0.023_810).abs() < 5e-7); // mix 12, trim 180, duct 16 °C
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn share_by_temperature<R: Real>(base: R, added: R, mixed: R) -> Result<R, DomainError> {
    const NAME: &str = "share of a stream on temperatures";
    let above_zero = |name, t: R| check(NAME, name, t, "above 0 K", |x| x > 0.0);
    let base = above_zero("temperature of the base stream", base)?;
    let added = above_zero("temperature of the added stream", added)?;
    let mixed = above_zero("temperature of the mixture", mixed)?;
    let valid = "at least 1 K apart, either way";
    let apart = check(NAME, "added minus base", added - base, valid, |d| d.abs() >= MIN_TEMPERATURE_DIFFERENCE)?;
    finite(NAME, (mixed - base) / apart)
}

/// Share of one stream in a mixture of two, on enthalpies.
///
/// ```text
/// x = (h_mixed − h_base)/(h_added − h_base)
/// ```
/// * Units: as in [`Air`]; ratio out: kg of dry air added per kg of dry air mixed. A result outside 0…1 is returned as
///   it is.
/// * Range: as [`mixture`](crate::humid_air::mixture), at least [`MIN_ENTHALPY_DIFFERENCE`] between added and base. The
///   humidity of the mixture is a measurement of its own; where it is not measured, all three have one humidity.
/// * Outside: [`DomainError`].
/// * Source: conservation of energy.
///
/// ```
/// use thermo::{mixing::share_by_enthalpy, saturation::Condensate, stream::Air};
/// let dry = |t, p| Air { temperature: t, pressure: p, humidity_ratio: 0.0 };
/// let share = |p| share_by_enthalpy(dry(285.15, p), dry(453.15, p), dry(289.15, p), Condensate::Equilibrium);
/// assert!((share(100.0)? - 0.023_653).abs() < 5e-7); // as an ideal gas
/// assert!((share(101_325.0)? - 0.023_670).abs() < 5e-7);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn share_by_enthalpy<R: Real>(
    base: Air<R>,
    added: Air<R>,
    mixed: Air<R>,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "share of a stream on enthalpies";
    let base = base.enthalpy(condensate)?;
    let apart = added.enthalpy(condensate)? - base;
    let valid = "at least 1000 J/kg apart, either way";
    check(NAME, "added minus base", apart, valid, |d| d.abs() >= MIN_ENTHALPY_DIFFERENCE)?;
    finite(NAME, (mixed.enthalpy(condensate)? - base) / apart)
}

/// Flow added to a measured flow of the base stream, from its share of the mixture: trim flow from mix flow.
///
/// ```text
/// ṁ_added = ṁ_base·x/(1 − x)
/// ```
/// * Units: kg/s, ratio (of dry air: kg/s of dry air; of one humidity: kg/s of moist air); kg/s out.
/// * Range: flow 0 kg/s or more, share 0 to below 1. A share below 0 by its uncertainty is no flow: the caller judges.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
pub fn added_flow<R: Real>(base_flow: R, share: R) -> Result<R, DomainError> {
    const NAME: &str = "added flow from its share";
    let flow = check(NAME, "flow of the base stream", base_flow, "0 kg/s or more", |x| x >= 0.0)?;
    let share = check(NAME, "share", share, "0 to below 1", |x| (0.0..1.0).contains(&x))?;
    finite(NAME, flow * share / (R::of(1.0) - share))
}

/// Share of recirculated air from flows.
///
/// ```text
/// x = ṁ_recirc/(ṁ_recirc + ṁ_packs)
/// ```
/// * Units: kg/s, kg/s; ratio out.
/// * Range: each 0 kg/s or more, together above 0 kg/s.
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn recirculation_share<R: Real>(recirculated: R, packs: R) -> Result<R, DomainError> {
    const NAME: &str = "recirculation share";
    let recirculated = check(NAME, "recirculated flow", recirculated, "0 kg/s or more", |x| x >= 0.0)?;
    let packs = check(NAME, "flow of the packs", packs, "0 kg/s or more", |x| x >= 0.0)?;
    let all = check(NAME, "flow in all", recirculated + packs, "above 0 kg/s", |x| x > 0.0)?;
    finite(NAME, recirculated / all)
}
