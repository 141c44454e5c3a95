//! What the parser says, in the words of somebody who writes a file.

use crate::nearest;

/// Message and help for what the parser says. What is not recognised stays as it is.
pub fn plain(said: &str) -> (String, String) {
    let said = said.trim();
    if let Some(rest) = said.strip_prefix("unknown field ") {
        return unknown(rest, "key");
    }
    if let Some(rest) = said.strip_prefix("unknown variant ") {
        return unknown(rest, "word");
    }
    if let Some(key) = said.strip_prefix("missing field ") {
        return (format!("the key {key} is missing"), "add it".to_owned());
    }
    if let Some((found, expected)) = said.strip_prefix("invalid type: ").and_then(|r| r.split_once(", expected ")) {
        return wrong(found, expected);
    }
    if let Some((found, expected)) = said.strip_prefix("invalid value: ").and_then(|r| r.split_once(", expected ")) {
        return wrong(found, expected);
    }
    if let Some((found, expected)) =
        said.strip_prefix("invalid length ").and_then(|r| r.split_once(", expected an array of length "))
    {
        return (format!("a list of {expected} is expected here, not of {found}"), String::new());
    }
    let (message, help) = match said {
        "duplicate key" => ("this key stands here twice", "leave one of them out"),
        "string values must be quoted, expected literal string" => {
            ("a text must stand in quotation marks", "write \"...\"")
        }
        "invalid IP address syntax" => ("this is no IP address", "write numbers: 192.168.1.30, or ::1"),
        s if s.starts_with("invalid basic string") => ("the quotation mark that closes the text is missing", "add it"),
        s => (s, ""),
    };
    (message.to_owned(), help.to_owned())
}

/// "`gird`, expected one of `name`, `grid`".
fn unknown(rest: &str, what: &str) -> (String, String) {
    let mut words = rest.split('`').skip(1).step_by(2);
    let word = words.next().unwrap_or_default();
    let known: Vec<&str> = words.collect();
    let message = format!("the {what} `{word}` is not known here");
    if known.is_empty() {
        return (message, "leave it out".to_owned());
    }
    let meant =
        nearest::meant(word, known.iter().copied()).map(|m| format!("did you mean `{m}`? ")).unwrap_or_default();
    (message, format!("{meant}known: {}", known.join(", ")))
}

/// "string "map.toml", expected a sequence".
fn wrong(found: &str, expected: &str) -> (String, String) {
    let is = match found.split_once(' ') {
        Some(("string", text)) => format!("the text {text}"),
        Some(("integer", n)) => format!("the number {}", n.trim_matches('`')),
        Some(("floating", n)) => format!("the number {}", n.trim_start_matches("point ").trim_matches('`')),
        Some(("boolean", b)) => b.trim_matches('`').to_owned(),
        _ if found == "map" => "a table".to_owned(),
        _ if found == "sequence" => "a list".to_owned(),
        _ => found.to_owned(),
    };
    let (wanted, help) = match expected {
        "a string" => ("a text", "put it in quotation marks"),
        "a sequence" if found == "map" => ("a list", "write the table's name in two brackets: [[...]]"),
        "a sequence" => ("a list", "put it in brackets: [...]"),
        "a character" => ("one character", "write one character in quotation marks"),
        "u8" => ("a whole number from 0 to 255", ""),
        "u16" => ("a whole number from 0 to 65535", ""),
        "u32" | "u64" | "usize" => ("a whole number from 0 on", ""),
        "f64" => ("a number", ""),
        "a boolean" => ("true or false", ""),
        e if e.starts_with("struct ") || e.starts_with("a map") => ("a table", ""),
        e => (e, ""),
    };
    let help = match (found.starts_with("string"), wanted) {
        (true, w) if w.contains("number") => "write it without quotation marks",
        _ => help,
    };
    (format!("{wanted} is expected here, not {is}"), help.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_recognised_stays() {
        assert_eq!(plain("the sky is falling"), ("the sky is falling".to_owned(), String::new()));
    }

    #[test]
    fn in_plain_words() {
        let both = |said| {
            let (message, help) = plain(said);
            format!("{message} ({help})")
        };
        let told = [
            both("unknown field `gird`, expected one of `name`, `grid`"),
            both("unknown field `x`, there are no fields"),
            both("invalid type: integer `100`, expected a string"),
            both("invalid type: string \"9600\", expected u32"),
            both("invalid value: floating point `1.5`, expected u8"),
        ];
        insta::assert_snapshot!(told.join("\n"), @r#"
        the key `gird` is not known here (did you mean `grid`? known: name, grid)
        the key `x` is not known here (leave it out)
        a text is expected here, not the number 100 (put it in quotation marks)
        a whole number from 0 on is expected here, not the text "9600" (write it without quotation marks)
        a whole number from 0 to 255 is expected here, not the number 1.5 ()
        "#);
    }
}
