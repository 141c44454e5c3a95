//! The rules of style that a machine can check, over every file of the workspace.

use tests::{File, files};

/// A file is split before it is longer.
const LONGEST_FILE: usize = 800;
/// A function is split before it is longer.
const LONGEST_FUNCTION: usize = 70;
/// The same for tests, which may hold a table or a text.
const LONGEST_TEST: usize = 100;
/// As in `rustfmt.toml`; texts that no formatter breaks keep to it too.
const WIDEST_LINE: usize = 120;

/// What may not stand in a source file, and why. Written in pieces, so that this file does not hold it.
fn forbidden() -> Vec<(String, &'static str)> {
    let word = |a: &str, b: &str| format!("{a}{b}");
    vec![
        (word("#[ig", "nore"), "a test that does not run tells nothing"),
        (word("tod", "o!("), "nothing unfinished"),
        (word("unimplement", "ed!("), "nothing unfinished"),
        (word("db", "g!("), "left over from a search"),
        (word("FIX", "ME"), "mend it or write it down where such things are kept"),
        (word("XX", "X:"), "mend it or write it down where such things are kept"),
        (word("TO", "DO"), "mend it or write it down where such things are kept"),
    ]
}

/// What may stand in no file: the places of one machine, and numbers of a tracker that a reader does not have.
fn foreign() -> Vec<(String, &'static str)> {
    let word = |a: &str, b: &str| format!("{a}{b}");
    vec![
        (word("/wo", "rk/"), "a path of one machine"),
        (word("/ro", "ot/"), "a path of one machine"),
        (word("/ho", "me/"), "a path of one machine"),
        (word("issue", " #"), "say what it is about"),
        (word("Issue", " #"), "say what it is about"),
    ]
}

/// Everything wrong with a file of any kind.
fn any_file(f: &File) -> Vec<String> {
    let mut wrong = Vec::new();
    for (i, line) in f.text.lines().enumerate() {
        if line.ends_with([' ', '\t']) {
            wrong.push(format!("{}:{}: blanks at the end of the line", f.path, i + 1));
        }
        // A path begins there: `$folder/root/` is another.
        let begins =
            |w: &str| line.match_indices(w).any(|(at, _)| !line[..at].ends_with(|c: char| c.is_alphanumeric()));
        for (what, why) in foreign().iter().filter(|(w, _)| begins(w)) {
            wrong.push(format!("{}:{}: {what}: {why}", f.path, i + 1));
        }
    }
    if !f.text.is_empty() && !f.text.ends_with('\n') {
        wrong.push(format!("{}: no newline at the end", f.path));
    }
    wrong
}

/// Everything wrong with a Rust file.
fn source(f: &File) -> Vec<String> {
    let mut wrong = Vec::new();
    let lines: Vec<&str> = f.text.lines().collect();
    if lines.len() > LONGEST_FILE {
        wrong.push(format!("{}: {} lines; split it before {LONGEST_FILE}", f.path, lines.len()));
    }
    for (i, line) in lines.iter().enumerate() {
        if line.chars().count() > WIDEST_LINE && !line.contains("https://") && !f.is_test() {
            wrong.push(format!("{}:{}: wider than {WIDEST_LINE}", f.path, i + 1));
        }
        for (what, why) in forbidden().iter().filter(|(w, _)| line.contains(w.as_str())) {
            wrong.push(format!("{}:{}: {what}: {why}", f.path, i + 1));
        }
    }
    let longest = if f.is_test() { LONGEST_TEST } else { LONGEST_FUNCTION };
    for (name, line, length) in functions(&lines).into_iter().filter(|f| f.2 > longest) {
        wrong.push(format!("{}:{line}: fn {name} has {length} lines; split it before {longest}", f.path));
    }
    let says_what_it_is = lines.first().is_some_and(|l| l.starts_with("//! ") && l.len() > 10);
    let inner_test = f.path.ends_with("/tests.rs") || f.path.contains("/src/") && f.is_test();
    if !says_what_it_is && !inner_test {
        wrong.push(format!("{}: does not begin with //! and what it holds", f.path));
    }
    if f.path.ends_with("src/lib.rs") && !f.text.contains("//! **Invariant:** ") {
        wrong.push(format!("{}: no **Invariant:** sentence", f.path));
    }
    if !f.is_test() && !f.path.contains("/examples/") {
        wrong.extend(panics(f));
    }
    wrong
}

/// Calls that panic on what was not foreseen, in code that gets into the program.
fn panics(f: &File) -> Vec<String> {
    const PANICS: [&str; 4] = [".unwrap()", ".expect(", "panic!(", "unreachable!("];
    // The one crate whose panics are test failures.
    if f.path.starts_with("tests/") {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (line, code) in f.code() {
        for p in PANICS.iter().filter(|p| code.contains(**p)) {
            found.push(format!("{}:{line}: {p}: say what to do instead", f.path));
        }
    }
    found
}

/// Name, line and length of every function. The code is formatted: a function ends at the brace with the indentation
/// of its first line.
fn functions<'a>(lines: &[&'a str]) -> Vec<(&'a str, usize, usize)> {
    let mut found = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        let Some(name) = function_name(line) else { continue };
        let indent = &line[..line.len() - line.trim_start().len()];
        let end = lines[i..].iter().enumerate().find(|(n, l)| {
            let one_line = *n == 0 && l.ends_with(['}', ';']);
            let declaration = l.starts_with(&format!("{indent})")) && l.ends_with(';');
            one_line || declaration || **l == format!("{indent}}}")
        });
        if let Some((n, _)) = end {
            found.push((name, i + 1, n + 1));
        }
    }
    found
}

fn function_name(line: &str) -> Option<&str> {
    let words = line.trim_start().split(' ').take_while(|w| !w.contains('(')).chain(line.trim_start().split(' '));
    let mut before = words.clone().take_while(|w| *w != "fn");
    let known =
        |w: &str| matches!(w, "pub" | "const" | "async" | "unsafe" | "extern") || w.starts_with("pub(") || w == "\"C\"";
    if !line.contains("fn ") || !before.all(known) {
        return None;
    }
    let rest = &line[line.find("fn ")? + 3..];
    Some(rest.split(['(', '<']).next().unwrap_or(rest))
}

#[test]
fn every_source_file_is_tidy() {
    let all = files(&[".rs"]);
    assert!(all.len() > 100, "only {} files were read", all.len());
    let wrong: Vec<String> = all.iter().flat_map(source).collect();
    assert!(wrong.is_empty(), "{} things:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn no_file_speaks_of_one_machine_or_ends_lines_with_blanks() {
    let endings = [".rs", ".toml", ".md", ".dbc", ".sh", ".py", ".csv", ".yml", ".txt", ".ci/run"];
    let wrong: Vec<String> = files(&endings).iter().flat_map(any_file).collect();
    assert!(wrong.is_empty(), "{} things:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn most_files_are_short() {
    let mut lengths: Vec<usize> =
        files(&[".rs"]).iter().filter(|f| !f.is_test()).map(|f| f.text.lines().count()).collect();
    lengths.sort_unstable();
    let median = lengths[lengths.len() / 2];
    assert!(median <= 150, "the median source file has {median} lines; 150 is healthy");
}

mod the_checks_find {
    use super::*;

    fn in_source(path: &str, text: &str) -> Vec<String> {
        source(&File::of(path, text))
    }

    const HEAD: &str = "//! What this file holds.\n";

    #[test]
    fn nothing_in_a_tidy_file() {
        let text = format!(
            "{HEAD}\nfn f() -> Option<u8> {{\n    None\n}}\n\n#[cfg(test)]\nmod tests {{\n    fn g() {{\n        f().unwrap();\n    }}\n}}\n"
        );
        assert_eq!(in_source("crates/x/src/a.rs", &text), [""; 0]);
        assert_eq!(any_file(&File::of("a.md", &text)), [""; 0]);
    }

    #[test]
    fn each_thing_that_is_not_tidy() {
        let long_function = format!("{HEAD}fn f() {{\n{}}}\n", "    g();\n".repeat(69));
        let bad = [
            ("crates/x/src/a.rs", "fn f() {}\n".to_owned(), "does not begin"),
            ("crates/x/src/lib.rs", HEAD.to_owned(), "Invariant"),
            ("crates/x/src/a.rs", format!("{HEAD}{}", "\n".repeat(800)), "801 lines"),
            ("crates/x/src/a.rs", long_function, "fn f has 71 lines"),
            ("crates/x/src/a.rs", format!("{HEAD}// {}\n", "x".repeat(118)), "wider than"),
            ("crates/x/src/a.rs", format!("{HEAD}fn f() {{ g().unwrap() }}\n"), "unwrap"),
            ("crates/x/src/a.rs", format!("{HEAD}fn f() {{ g().expect(\"x\") }}\n"), "expect"),
            ("crates/x/src/a.rs", format!("{HEAD}// {}\n", forbidden()[4].0), "mend it"),
            ("crates/x/tests/a.rs", format!("{HEAD}{}]\nfn f() {{}}\n", forbidden()[0].0), "does not run"),
        ];
        for (path, text, expected) in bad {
            let found = in_source(path, &text);
            assert!(found.len() == 1 && found[0].contains(expected), "{expected}: {found:?}");
        }
        for text in ["a \n".to_owned(), "a".to_owned(), format!("see {}x\n", foreign()[0].0)] {
            assert_eq!(any_file(&File::of("a.md", &text)).len(), 1, "{text:?}");
        }
    }

    #[test]
    fn where_functions_end() {
        let text = "fn one() {}\n    fn two(\n        a: u8,\n    ) -> u8;\npub(crate) async fn three<T>(\n) {\n    if x {\n    }\n}\nlet a = fn_of(x);\nlet g: fn (u8) = f;\n";
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(functions(&lines), [("one", 1, 1), ("two", 2, 3), ("three", 5, 5)]);
    }
}
