//! Which crate may depend on which: every `Cargo.toml` against the table of floors, and what pure crates may not do.
//!
//! Arrows point to a lower floor, plus the sideways edges named. Dev-dependencies keep to the same floors: a test that
//! needs a higher one belongs to a higher crate. Foreign crates in dev-dependencies are free, they never get into the
//! program.

use tests::{File, files};

/// A crate's place.
struct Place {
    name: &'static str,
    floor: u8,
    /// Foreign crates it may use; `None` = any that the workspace lists.
    foreign: Option<&'static [&'static str]>,
}

const fn pure(name: &'static str, floor: u8, foreign: &'static [&'static str]) -> Place {
    Place { name, floor, foreign: Some(foreign) }
}

const fn other(name: &'static str, floor: u8) -> Place {
    Place { name, floor, foreign: None }
}

/// The table; a crate may have its place before it is there. Pure crates name the foreign crates they may use: without I/O, clocks, threads, logging.
const PLACES: &[Place] = &[
    pure("units", 0, &["libm", "thiserror"]),
    pure("stream", 1, &["smallvec"]),
    pure("thermo", 1, &["thiserror"]),
    pure("sensors", 1, &["thiserror"]),
    // Fits: their results are not promised to the bit.
    pure("uncertainty", 1, &["levenberg-marquardt", "nalgebra", "thiserror"]),
    pure("decode", 2, &["crc", "memchr", "smallvec", "thiserror"]),
    pure("channels", 2, &["thiserror"]),
    pure("pack", 2, &["thiserror"]),
    pure("limits", 2, &["thiserror"]),
    pure("procedure", 2, &["thiserror"]),
    other("plugin-api", 2),
    pure("pipeline", 3, &["thiserror"]),
    other("recording", 3),
    other("runtime", 4),
    other("report", 4),
    other("assembly", 4),
    other("source-serial", 4),
    other("source-net", 4),
    other("source-can", 4),
    other("source-replay", 4),
    other("source-simulator", 4),
    other("sink-parquet", 4),
    other("sink-prometheus", 4),
    other("bise", 5),
    other("bench", 5),
    other("tests", 5),
];

/// Edges between crates of one floor; `*` = every plugin.
const SIDEWAYS: &[(&str, &str)] =
    &[("procedure", "limits"), ("assembly", "runtime"), ("assembly", "report"), ("assembly", "*")];

/// What any plugin may use of ours, and what single ones may beside.
const PLUGINS_USE: &[&str] = &["plugin-api", "stream", "units", "decode"];
const PLUGINS_ALSO: &[(&str, &str)] = &[
    ("source-simulator", "pack"),
    ("source-simulator", "sensors"),
    ("source-replay", "recording"),
    ("sink-parquet", "recording"),
];

/// Foreign crates that only some of ours may use.
const KEPT_TO: &[(&str, &[&str])] = &[
    ("arrow-array", &["recording", "sink-parquet", "source-replay"]),
    ("arrow-schema", &["recording", "sink-parquet", "source-replay"]),
    ("arrow-buffer", &["recording", "sink-parquet", "source-replay"]),
    ("parquet", &["recording", "sink-parquet", "source-replay"]),
    ("tokio-serial", &["source-serial"]),
];

fn place(name: &str) -> Option<&'static Place> {
    PLACES.iter().find(|p| p.name == name)
}

fn is_plugin(name: &str) -> bool {
    name.starts_with("source-") || name.starts_with("sink-")
}

/// What is wrong with a manifest.
fn check(file: &File) -> Vec<String> {
    let manifest: toml::Table = match toml::from_str(&file.text) {
        Ok(m) => m,
        Err(e) => return vec![format!("{}: {e}", file.path)],
    };
    let name = manifest["package"]["name"].as_str().unwrap_or_default().to_owned();
    let Some(of) = place(&name) else {
        return vec![format!("{}: {name} has no floor; give it one in {}", file.path, file!())];
    };
    let mut wrong = Vec::new();
    if is_plugin(&name) != file.path.starts_with("plugins/") {
        wrong.push("plugins stand in plugins/, named source-* or sink-*, and nothing else does".to_owned());
    }
    if manifest.get("lints").and_then(|l| l.get("workspace")) != Some(&toml::Value::Boolean(true)) {
        wrong.push("does not take the workspace's lints".to_owned());
    }
    for section in ["dependencies", "dev-dependencies", "build-dependencies", "target"] {
        let dev = section == "dev-dependencies";
        for (dependency, how) in manifest.get(section).and_then(toml::Value::as_table).into_iter().flatten() {
            if section == "target" {
                wrong.push(format!("[target.{dependency}] hides dependencies; name them in [dependencies]"));
                continue;
            }
            if how.get("workspace") != Some(&toml::Value::Boolean(true)) {
                wrong.push(format!("{dependency}: its version stands in the workspace's manifest, once"));
            }
            wrong.extend(edge(of, dependency, dev));
        }
    }
    wrong.into_iter().map(|w| format!("{}: {w}", file.path)).collect()
}

/// What is wrong with one dependency.
fn edge(of: &Place, on: &str, dev: bool) -> Option<String> {
    let Some(to) = place(on) else { return foreign(of, on, dev) };
    let named = SIDEWAYS.iter().any(|(a, b)| *a == of.name && (*b == on || (*b == "*" && is_plugin(on))));
    if named {
        return None;
    }
    if is_plugin(on) {
        return Some(format!("only assembly names a plugin, not {}: {on}", of.name));
    }
    if is_plugin(of.name) {
        let allowed = PLUGINS_USE.contains(&on) || PLUGINS_ALSO.contains(&(of.name, on));
        return (!allowed).then(|| format!("a plugin does I/O and nothing else; it may not use {on}"));
    }
    (to.floor >= of.floor).then(|| {
        format!("{} (floor {}) on {on} (floor {}): arrows point to a lower floor", of.name, of.floor, to.floor)
    })
}

fn foreign(of: &Place, on: &str, dev: bool) -> Option<String> {
    if dev {
        return None;
    }
    if let Some((_, by)) = KEPT_TO.iter().find(|(c, _)| *c == on)
        && !by.contains(&of.name)
    {
        return Some(format!("{on} is kept to {}", by.join(", ")));
    }
    let allowed = of.foreign.is_none_or(|f| f.contains(&on));
    (!allowed)
        .then(|| format!("{} is pure; it may use {} and not {on}", of.name, of.foreign.unwrap_or_default().join(", ")))
}

/// What pure code may not name, each with why.
const NOT_PURE: &[(&str, &str)] = &[
    ("std::time", "a clock"),
    ("Instant", "a clock"),
    ("SystemTime", "a clock"),
    ("std::fs", "files"),
    ("std::io", "input or output"),
    ("std::net", "sockets"),
    ("std::thread", "threads"),
    ("thread_local", "threads"),
    ("std::process", "processes"),
    ("std::env", "the environment"),
    ("env!(", "the environment"),
    ("tokio", "an async runtime"),
    ("async ", "async code"),
    (".await", "async code"),
    ("rand::", "random numbers"),
    ("RandomState", "random numbers"),
    ("HashMap", "a map without order"),
    ("HashSet", "a set without order"),
    ("tracing", "logging"),
    ("log::", "logging"),
    ("print!(", "output"),
    ("println!(", "output"),
    ("serde", "serialisation"),
    ("unsafe ", "unsafe code"),
    ("static mut", "state outside its values"),
    ("Mutex", "state shared between threads"),
    ("Atomic", "state shared between threads"),
];

/// Functions of the standard library whose last bits differ between machines: units::math is the one door to them. In
/// code that is generic over the number trait `Real` these names are that trait's, which goes through the door.
const NOT_EXACT: &[&str] = &[
    ".exp()",
    ".exp_m1()",
    ".ln()",
    ".ln_1p()",
    ".log10()",
    ".log2()",
    ".powf(",
    ".sin()",
    ".cos()",
    ".tan()",
    ".tanh()",
];

/// Which lines stand in a function or an implementation that is generic over the number trait.
fn over_real(code: &[(usize, String)]) -> Vec<bool> {
    let (mut of_function, mut of_impl, mut header) = (false, false, None::<String>);
    let mut generic = Vec::new();
    for (_, line) in code {
        let words: Vec<&str> = line.split([' ', '<', '(']).filter(|w| !w.is_empty()).collect();
        if line.starts_with("impl") || line.starts_with('}') {
            (of_impl, of_function) = (line.starts_with("impl") && line.contains("Real"), false);
        } else if words.iter().take(4).any(|w| *w == "fn") {
            header = Some(String::new());
        }
        if let Some(h) = &mut header {
            *h += line;
            if line.ends_with(['{', '}', ';']) {
                of_function = h.contains(": Real");
                header = None;
            }
        }
        generic.push(of_function || of_impl);
    }
    generic
}

/// What is impure in a source file of a pure crate.
fn impurities(file: &File) -> Vec<String> {
    let mut found = Vec::new();
    let in_units = file.path.starts_with("crates/units/");
    let code = file.code();
    let over_real = over_real(&code);
    for ((line, code), over_real) in code.into_iter().zip(over_real) {
        let named = |word: &str| {
            code.match_indices(word).any(|(at, _)| {
                let before = code[..at].chars().next_back();
                !word.starts_with(|c: char| c.is_alphanumeric())
                    || before.is_none_or(|c| !c.is_alphanumeric() && c != '_')
            })
        };
        for (word, what) in NOT_PURE.iter().filter(|(w, _)| named(w)) {
            found.push(format!("{}:{line}: {what} ({word}) in a pure crate", file.path));
        }
        for word in NOT_EXACT.iter().filter(|w| !in_units && !over_real && code.contains(**w)) {
            found.push(format!("{}:{line}: {word} differs between machines; use units::math", file.path));
        }
    }
    found
}

fn pure_crates() -> impl Iterator<Item = &'static Place> {
    PLACES.iter().filter(|p| p.foreign.is_some())
}

#[test]
fn every_manifest_keeps_to_the_floors() {
    let manifests: Vec<File> = files(&["Cargo.toml"]).into_iter().filter(|f| f.path != "Cargo.toml").collect();
    let wrong: Vec<String> = manifests.iter().flat_map(check).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(manifests.len() >= 20, "only {} manifests were read", manifests.len());
}

#[test]
fn pure_crates_forbid_unsafe_code_and_touch_nothing_outside() {
    let sources = files(&[".rs"]);
    let (mut wrong, mut checked) = (Vec::new(), 0);
    for p in pure_crates() {
        let folder = format!("crates/{}/src/", p.name);
        let own: Vec<&File> = sources.iter().filter(|f| f.path.starts_with(&folder)).collect();
        if own.is_empty() {
            continue;
        }
        checked += 1;
        let lib = own.iter().find(|f| f.path == format!("{folder}lib.rs"));
        if !lib.is_some_and(|f| f.text.lines().any(|l| l == "#![forbid(unsafe_code)]")) {
            wrong.push(format!("{folder}lib.rs: no #![forbid(unsafe_code)]"));
        }
        wrong.extend(own.iter().filter(|f| !f.is_test()).flat_map(|f| impurities(f)));
    }
    assert!(checked >= 9, "only {checked} pure crates were read");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn unsafe_code_is_denied_and_stands_only_where_a_system_call_demands_it() {
    /// The modules in which the compiler's own check is lifted.
    const AUDITED: &[&str] = &[
        "crates/runtime/src/clock.rs",
        "plugins/source-can/src/lib.rs",
        "plugins/source-serial/src/ports/permission.rs",
    ];
    let workspace: toml::Table = toml::from_str(&files(&["Cargo.toml"])[0].text).unwrap();
    assert_eq!(workspace["workspace"]["lints"]["rust"]["unsafe_code"].as_str(), Some("deny"));
    let mut wrong = Vec::new();
    for f in files(&[".rs"]).iter().filter(|f| f.path != "tests/tests/floors.rs") {
        if f.text.contains("allow(unsafe_code)") && !f.is_test() && !AUDITED.contains(&f.path.as_str()) {
            wrong.push(format!("{}: unsafe code in a module that is not audited", f.path));
        }
        let lines: Vec<&str> = f.text.lines().collect();
        let calls = lines.iter().enumerate().filter(|(_, l)| l.contains("unsafe {") || l.contains("unsafe fn"));
        for (i, line) in calls.filter(|_| !f.is_test()) {
            let said = lines[i.saturating_sub(6)..=i].iter().any(|l| l.contains("SAFETY"));
            if !said && !line.trim_start().starts_with("//") {
                wrong.push(format!("{}:{}: unsafe without a SAFETY comment", f.path, i + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_registry_and_assembly_name_plugins() {
    let sources = files(&[".rs"]);
    let plugins: Vec<String> = PLACES.iter().filter(|p| is_plugin(p.name)).map(|p| p.name.replace('-', "_")).collect();
    let mut wrong = Vec::new();
    for f in sources.iter().filter(|f| f.path.starts_with("crates/") && !f.path.starts_with("crates/assembly/")) {
        for (line, code) in f.code() {
            for p in plugins.iter().filter(|p| code.contains(&format!("{p}::"))) {
                wrong.push(format!("{}:{line}: names {p}", f.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

mod the_checks_find {
    use super::*;

    fn manifest(path: &str, name: &str, dependencies: &str) -> Vec<String> {
        let text = format!("[package]\nname = \"{name}\"\n{dependencies}\n[lints]\nworkspace = true\n");
        check(&File::of(path, &text))
    }

    fn of_crate(name: &str, dependencies: &str) -> Vec<String> {
        manifest(&format!("crates/{name}/Cargo.toml"), name, dependencies)
    }

    #[test]
    fn nothing_in_a_good_manifest() {
        assert_eq!(of_crate("limits", "[dependencies]\nstream.workspace = true\nthiserror.workspace = true"), [""; 0]);
        assert_eq!(
            of_crate("assembly", "[dependencies]\nruntime.workspace = true\nsource-can.workspace = true"),
            [""; 0]
        );
        let dev = "[dev-dependencies]\nproptest.workspace = true\nunits.workspace = true";
        assert_eq!(of_crate("pipeline", dev), [""; 0]);
        let plugin =
            "[dependencies]\nplugin-api.workspace = true\nrecording.workspace = true\nparquet.workspace = true";
        assert_eq!(manifest("plugins/sink-parquet/Cargo.toml", "sink-parquet", plugin), [""; 0]);
    }

    #[test]
    fn a_bad_manifest() {
        let bad = [
            ("limits", "[dependencies]\npipeline.workspace = true", "arrows point to a lower floor"),
            ("limits", "[dependencies]\nchannels.workspace = true", "arrows point to a lower floor"),
            ("limits", "[dev-dependencies]\nassembly.workspace = true", "arrows point to a lower floor"),
            ("limits", "[build-dependencies]\nruntime.workspace = true", "arrows point to a lower floor"),
            ("pipeline", "[dependencies]\nserde.workspace = true", "is pure"),
            ("stream", "[dependencies]\ntokio.workspace = true", "is pure"),
            ("runtime", "[dependencies]\nsource-can.workspace = true", "only assembly names a plugin"),
            ("bise", "[dependencies]\nsink-parquet.workspace = true", "only assembly names a plugin"),
            ("tests", "[dev-dependencies]\nsource-can.workspace = true", "only assembly names a plugin"),
            ("runtime", "[dependencies]\nparquet.workspace = true", "is kept to"),
            ("runtime", "[dependencies]\nlibc = \"0.2\"", "stands in the workspace's manifest"),
            ("runtime", "[target.'cfg(unix)'.dependencies]\nlibc.workspace = true", "hides dependencies"),
            ("novelty", "", "has no floor"),
        ];
        for (name, dependencies, expected) in bad {
            let found = of_crate(name, dependencies);
            assert!(found.len() == 1 && found[0].contains(expected), "{name}: {dependencies}: {found:?}");
        }
        for (on, expected) in [("pipeline", "does I/O and nothing else"), ("source-can", "only assembly")] {
            let text = format!("[dependencies]\n{on}.workspace = true");
            let found = manifest("plugins/source-serial/Cargo.toml", "source-serial", &text);
            assert!(found.len() == 1 && found[0].contains(expected), "{found:?}");
        }
        let found = check(&File::of("crates/limits/Cargo.toml", "[package]\nname = \"limits\"\n"));
        assert!(found.len() == 1 && found[0].contains("lints"), "{found:?}");
        assert_eq!(check(&File::of("crates/x/Cargo.toml", "[package")).len(), 1);
    }

    #[test]
    fn impure_code_and_not_its_mention_in_comments_and_tests() {
        let bad = [
            "let t = Instant::now();",
            "use std::collections::HashMap;",
            "use std::{fs, io}; use std::fs;",
            "    async fn f() {}",
            "tracing::info!(\"x\");",
            "println!(\"x\");",
            "#[derive(serde::Serialize)]",
            "let x = y.exp();",
            "let x = unsafe { *p };",
        ];
        for code in bad {
            assert_eq!(impurities(&File::of("crates/pack/src/a.rs", code)).len(), 1, "{code}");
        }
        let generic = "fn f<R: Real>(\n    x: R,\n) -> R {\n    x.exp()\n}\nfn g(x: f64) -> f64 {\n    x.exp()\n}\n";
        let found = impurities(&File::of("crates/thermo/src/a.rs", generic));
        assert!(found.len() == 1 && found[0].contains("a.rs:7:"), "{found:?}");
        let good = "/// No HashMap here.\n// std::fs\nlet instants = my_tokio;\n#[cfg(test)]\nmod tests {\n    use std::fs;\n}\n";
        assert_eq!(impurities(&File::of("crates/pack/src/a.rs", good)), [""; 0]);
    }
}
