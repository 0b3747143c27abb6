//! Licences of all crates in Cargo.lock against a list, and no C library behind any of them.
//!
//! After a change of Cargo.lock the test prints the lines that `tests/sturdy/licences.txt` lacks.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

const LIST: &str = include_str!("licences.txt");

/// Names ending in `-sys` that bind to the operating system or the browser itself; nothing is compiled or linked.
const BINDINGS: [&str; 4] = ["js-sys", "linux-raw-sys", "web-sys", "windows-sys"];

fn allowed() -> BTreeSet<&'static str> {
    LIST.lines().filter_map(|l| l.strip_prefix("allow ")).collect()
}

/// `name version` and licence.
fn listed() -> BTreeMap<(&'static str, &'static str), &'static str> {
    let rows = LIST.lines().filter(|l| !l.starts_with(['#']) && !l.starts_with("allow "));
    rows.map(|l| {
        let mut words = l.splitn(3, ' ');
        let mut next = || words.next().unwrap_or_else(|| panic!("name version licence: {l}"));
        ((next(), next()), next())
    })
    .collect()
}

/// Name and version of every crate in Cargo.lock but our own.
fn locked() -> BTreeSet<(String, String)> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.lock");
    let lock: toml::Table = std::fs::read_to_string(path).unwrap().parse().unwrap();
    let text = |p: &toml::Value, key: &str| p[key].as_str().unwrap().to_owned();
    let packages = lock["package"].as_array().unwrap().iter();
    packages
        .filter(|p| p["name"].as_str() != Some("tautgrid"))
        .map(|p| (text(p, "name"), text(p, "version")))
        .collect()
}

/// Can an SPDX expression be met with the allowed licences alone? `OR` binds weaker than `AND`.
fn met(expression: &str, allowed: &BTreeSet<&str>) -> bool {
    let expression = expression.trim();
    let split = |word: &str| -> Vec<String> {
        let (mut depth, mut parts, mut part) = (0_i32, Vec::new(), Vec::new());
        for token in expression.replace('(', "( ").replace(')', " )").split_whitespace() {
            depth += i32::from(token == "(") - i32::from(token == ")");
            if token == word && depth == 0 {
                parts.push(part.join(" "));
                part = Vec::new();
            } else {
                part.push(token.to_owned());
            }
        }
        parts.push(part.join(" "));
        parts
    };
    let (any, all) = (split("OR"), split("AND"));
    if any.len() > 1 {
        any.iter().any(|e| met(e, allowed))
    } else if all.len() > 1 {
        all.iter().all(|e| met(e, allowed))
    } else if let Some(inner) = expression.strip_prefix('(').and_then(|e| e.strip_suffix(')')) {
        met(inner, allowed)
    } else {
        allowed.contains(expression)
    }
}

#[test]
fn every_licence_is_listed_and_allowed() {
    let (allowed, listed) = (allowed(), listed());
    let locked = locked();
    let missing: Vec<_> =
        locked.iter().filter(|(n, v)| !listed.contains_key(&(n.as_str(), v.as_str()))).collect();
    assert!(missing.is_empty(), "add name, version and licence to licences.txt: {missing:?}");
    let gone: Vec<_> =
        listed.keys().filter(|(n, v)| !locked.contains(&((*n).to_owned(), (*v).to_owned()))).collect();
    assert!(gone.is_empty(), "no longer in Cargo.lock, take them out of licences.txt: {gone:?}");
    let bad: Vec<_> = listed.iter().filter(|(_, licence)| !met(licence, &allowed)).collect();
    assert!(bad.is_empty(), "not allowed: {bad:?}");
    println!("{} crates, {} licences allowed", listed.len(), allowed.len());
}

/// The list says what the crates' own manifests say, for those that this machine builds.
#[test]
fn the_list_is_true() {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let version = Command::new(&cargo).arg("-vV").output().unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let mut metadata = Command::new(&cargo);
    metadata.args(["metadata", "--offline", "--locked", "--format-version", "1", "--filter-platform", host]);
    let output = metadata.current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let listed = listed();
    let mut compared = 0;
    for package in metadata["packages"].as_array().unwrap().iter().filter(|p| p["name"] != "tautgrid") {
        let text = |key: &str| package[key].as_str().unwrap_or_default();
        let stated = text("license").split('/').map(str::trim).collect::<Vec<_>>().join(" OR ");
        assert_eq!(listed.get(&(text("name"), text("version"))), Some(&stated.as_str()), "{}", text("name"));
        compared += 1;
    }
    assert!(compared > 100, "{compared}");
}

#[test]
fn no_c_library_is_needed() {
    let builders = ["cc", "cmake", "pkg-config", "bindgen", "vcpkg"];
    let found: Vec<_> = locked()
        .into_iter()
        .filter(|(n, _)| {
            builders.contains(&n.as_str()) || (n.ends_with("-sys") && !BINDINGS.contains(&n.as_str()))
        })
        .collect();
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn expressions_are_understood() {
    let allowed = BTreeSet::from(["MIT", "BSD-3-Clause", "Apache-2.0 WITH LLVM-exception"]);
    for (expression, ok) in [
        ("MIT", true),
        ("GPL-3.0", false),
        ("MIT OR GPL-3.0", true),
        ("MIT AND GPL-3.0", false),
        ("(GPL-3.0 OR MIT) AND BSD-3-Clause", true),
        ("(GPL-3.0 OR LGPL-2.1) AND BSD-3-Clause", false),
        ("Apache-2.0 WITH LLVM-exception OR GPL-3.0", true),
    ] {
        assert_eq!(met(expression, &allowed), ok, "{expression}");
    }
}
