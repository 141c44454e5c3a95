//! Every package that the program and its tests are built from has a licence that `deny.toml` allows.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::collections::BTreeMap;
use std::fs;
use std::process::Command;
use tests::root;

/// What `deny.toml` allows.
struct Allowed {
    all: Vec<String>,
    /// By crate, what is allowed for it alone.
    exceptions: BTreeMap<String, Vec<String>>,
    targets: Vec<String>,
}

fn allowed(text: &str) -> Allowed {
    let file: toml::Table = toml::from_str(text).unwrap();
    let words = |v: &toml::Value| -> Vec<String> {
        v.as_array().unwrap().iter().map(|w| w.as_str().unwrap().to_owned()).collect()
    };
    let one = |e: &toml::Value| (e["crate"].as_str().unwrap().to_owned(), words(&e["allow"]));
    let exceptions = file["licenses"]["exceptions"].as_array().unwrap().iter().map(one).collect();
    Allowed { all: words(&file["licenses"]["allow"]), exceptions, targets: words(&file["graph"]["targets"]) }
}

/// Whether an SPDX expression (`MIT OR (Apache-2.0 AND BSD-3-Clause)`, also `MIT/Apache-2.0` of old) is satisfied under
/// a rule for each licence. `None` where it is not understood.
fn satisfied(expression: &str, mut is_allowed: impl FnMut(&str) -> bool) -> Option<bool> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let mut words: Vec<&str> = spaced.split_whitespace().collect();
    words.reverse();
    let result = any(&mut words, &mut is_allowed)?;
    words.is_empty().then_some(result)
}

fn any(words: &mut Vec<&str>, is_allowed: &mut impl FnMut(&str) -> bool) -> Option<bool> {
    let mut result = every(words, is_allowed)?;
    while words.last() == Some(&"OR") {
        words.pop();
        result |= every(words, is_allowed)?;
    }
    Some(result)
}

fn every(words: &mut Vec<&str>, is_allowed: &mut impl FnMut(&str) -> bool) -> Option<bool> {
    let mut result = one(words, is_allowed)?;
    while words.last() == Some(&"AND") {
        words.pop();
        result &= one(words, is_allowed)?;
    }
    Some(result)
}

fn one(words: &mut Vec<&str>, is_allowed: &mut impl FnMut(&str) -> bool) -> Option<bool> {
    match words.pop()? {
        "(" => {
            let result = any(words, is_allowed)?;
            (words.pop()? == ")").then_some(result)
        }
        ")" | "AND" | "OR" | "WITH" => None,
        licence if words.last() == Some(&"WITH") => {
            words.pop();
            Some(is_allowed(&format!("{licence} WITH {}", words.pop()?)))
        }
        licence => Some(is_allowed(licence)),
    }
}

#[test]
fn expressions_are_understood() {
    let mit = |e| satisfied(e, |l| ["MIT", "BSD-3-Clause", "Apache-2.0 WITH LLVM-exception"].contains(&l));
    for yes in ["MIT", "GPL-3.0-only OR MIT", "GPL-3.0-only/MIT", "(Zlib OR MIT) AND BSD-3-Clause"] {
        assert_eq!(mit(yes), Some(true), "{yes}");
    }
    assert_eq!(mit("Apache-2.0 WITH LLVM-exception"), Some(true));
    for no in ["Apache-2.0", "MIT AND Zlib", "Zlib OR MIT AND ISC", "(MIT OR Zlib) AND ISC", "MIT WITH LLVM-exception"]
    {
        assert_eq!(mit(no), Some(false), "{no}");
    }
    for what in ["", "MIT OR", "(MIT", "MIT)", "MIT Zlib", "AND MIT", "MIT WITH"] {
        assert_eq!(mit(what), None, "{what:?}");
    }
}

#[test]
fn every_package_has_a_licence_that_is_allowed() {
    let allowed = allowed(&fs::read_to_string(root().join("deny.toml")).unwrap());
    let mut used: BTreeMap<&str, bool> = allowed.all.iter().map(|l| (l.as_str(), false)).collect();
    let mut excepted: BTreeMap<&str, bool> = allowed.exceptions.keys().map(|c| (c.as_str(), false)).collect();
    let mut wrong = Vec::new();
    let packages = packages(&allowed.targets);
    assert!(packages.len() > 100, "{} packages", packages.len());
    for (name, licence) in &packages {
        let own = allowed.exceptions.get(name);
        let mut seen = Vec::new();
        let fits = satisfied(licence, |l| {
            if let Some((l, _)) = used.get_key_value(l) {
                seen.push(*l);
                return true;
            }
            let is_excepted = own.is_some_and(|o| o.iter().any(|o| o == l));
            excepted.get_mut(name.as_str()).into_iter().for_each(|e| *e |= is_excepted);
            is_excepted
        });
        for l in seen {
            used.insert(l, true);
        }
        match fits {
            Some(true) => {}
            Some(false) => wrong.push(format!("{name}: {licence} is not allowed by deny.toml")),
            None => wrong.push(format!("{name}: {licence:?} is no licence expression")),
        }
    }
    // A list that allows more than the tree needs is no longer looked at.
    let idle = used.iter().chain(&excepted).filter(|(_, used)| !**used);
    wrong.extend(idle.map(|(l, _)| format!("deny.toml: nothing needs {l}")));
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Name and licence of every package that is built on one of these targets, if this is one; else for the first.
fn packages(targets: &[String]) -> Vec<(String, String)> {
    let here = format!("{}-unknown-linux-gnu", std::env::consts::ARCH);
    let target = targets.iter().find(|t| **t == here).or(targets.first()).unwrap();
    let found = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--filter-platform", target])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(found.status.success(), "{}", String::from_utf8_lossy(&found.stderr));
    let all: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
    let built: Vec<&str> =
        all["resolve"]["nodes"].as_array().unwrap().iter().map(|n| n["id"].as_str().unwrap()).collect();
    let of = |p: &serde_json::Value| {
        let licence = p["license"].as_str().unwrap_or_default().to_owned();
        (p["name"].as_str().unwrap().to_owned(), licence)
    };
    let packages = all["packages"].as_array().unwrap();
    packages.iter().filter(|p| built.contains(&p["id"].as_str().unwrap())).map(of).collect()
}
