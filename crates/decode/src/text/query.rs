//! What may be asked in text.

/// Why a query is refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QueryRefused {
    /// Nothing, or more than a plain line of ASCII.
    #[error("the query {0:?} is refused: it is one line of printable ASCII, its end is written in query_end")]
    Text(String),
    /// A command of the SCPI kind that is no query.
    #[error(
        "the query {0:?} is refused: a part that begins with * or holds a : is an SCPI command unless it ends in ?, \
         and this program only asks"
    )]
    Command(String),
    /// Perhaps a command.
    #[error("the query {0:?} does not end in ? and may be a command")]
    Unclear(String),
}

/// Checks a query. Every part (between semicolons) must end in `?`; where `only_reads` declares that the instrument's
/// documents say so, other words may be sent too, but never what looks like an SCPI command (IEEE 488.2 common commands
/// begin with `*`, SCPI headers hold `:`; from memory).
///
/// # Errors
/// What is not surely a question.
pub fn query(text: &str, only_reads: bool) -> Result<(), QueryRefused> {
    if text.trim().is_empty() || text.bytes().any(|b| !(b' '..=b'~').contains(&b)) {
        return Err(QueryRefused::Text(text.to_owned()));
    }
    for part in text.split(';').map(str::trim).filter(|p| !p.ends_with('?')) {
        if part.starts_with('*') || part.contains(':') {
            return Err(QueryRefused::Command(text.to_owned()));
        }
        if !only_reads {
            return Err(QueryRefused::Unclear(text.to_owned()));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn questions_pass_and_commands_do_not() {
        for good in ["MEAS:TEMP?", "*IDN?", "T?", "A?;B?"] {
            assert_eq!(query(good, false), Ok(()), "{good}");
        }
        for (words, only_reads) in [("READ", true), ("D 1", true)] {
            assert_eq!(query(words, only_reads), Ok(()));
            assert!(matches!(query(words, false), Err(QueryRefused::Unclear(_))));
        }
        for bad in ["*RST", "OUTP:STAT ON", "CONF:VOLT 10;READ?", "MEAS:VOLT? (@101)"] {
            for only_reads in [false, true] {
                assert!(matches!(query(bad, only_reads), Err(QueryRefused::Command(_))), "{bad}");
            }
        }
        for bad in ["", " ", "OUTP ON\nT?", "T?\r", "\u{b0}C?"] {
            assert!(matches!(query(bad, true), Err(QueryRefused::Text(_))), "{bad:?}");
        }
        assert!(query("OUTP ON;T?", false).is_err());
    }
}
