//! SI units as they end a metric's name: base units, spelled out and in the plural, as the naming advice in the
//! Prometheus documentation ("Metric and label naming") asks.

/// The coherent SI units of the program's quantities, by their symbol.
const NAMES: [(&str, &str); 25] = [
    ("1", "ratio"),
    ("kg/kg", "ratio"),
    ("K", "kelvin"),
    ("Pa", "pascals"),
    ("kg/s", "kilograms_per_second"),
    ("m3/s", "cubic_meters_per_second"),
    ("rad/s", "radians_per_second"),
    ("rad", "radians"),
    ("m/s", "meters_per_second"),
    ("m", "meters"),
    ("s", "seconds"),
    ("kg", "kilograms"),
    ("W", "watts"),
    ("J/kg", "joules_per_kilogram"),
    ("V", "volts"),
    ("A", "amperes"),
    ("ohm", "ohms"),
    ("kg/m3", "kilograms_per_cubic_meter"),
    ("m2", "square_meters"),
    ("m3", "cubic_meters"),
    ("N.m", "newton_meters"),
    ("J", "joules"),
    ("W/K", "watts_per_kelvin"),
    ("K/s", "kelvin_per_second"),
    ("Pa/s", "pascals_per_second"),
];

/// The ending for a unit's symbol. A symbol that is not in the table is spelled with the characters a metric's name
/// may have: `N·m/s` becomes `N_m_per_s`.
pub fn ending(symbol: &str) -> String {
    if let Some((_, name)) = NAMES.iter().find(|(s, _)| *s == symbol) {
        return (*name).to_owned();
    }
    let mut out = String::new();
    for c in symbol.chars() {
        match c {
            '/' => out.push_str("_per_"),
            c if c.is_ascii_alphanumeric() => out.push(c),
            _ => out.push('_'),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_quantity_is_spelled_out() {
        for q in units::Quantity::all() {
            assert!(NAMES.iter().any(|(symbol, _)| *symbol == q.si_symbol()), "{q}: {}", q.si_symbol());
        }
    }

    #[test]
    fn endings_are_legal_in_a_name() {
        for (symbol, name) in NAMES {
            assert_eq!(ending(symbol), name);
            assert!(name.bytes().all(|b| b.is_ascii_lowercase() || b == b'_'), "{name}");
        }
        assert_eq!(ending("N·m/s"), "N_m_per_s");
        assert_eq!(ending("kg·√K/(s·Pa)"), "kg__K_per__s_Pa_");
    }
}
