//! Reads the figures kept under tests/reference.

use std::path::Path;

use serde::de::DeserializeOwned;

/// The text of a reference file.
pub fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// A CSV file with a header line; lines that start with # are comments.
#[allow(dead_code)]
pub fn rows<T: DeserializeOwned>(name: &str) -> Vec<T> {
    let text = text(name);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.deserialize().collect::<Result<_, _>>().unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// A TOML file.
#[allow(dead_code)]
pub fn toml<T: DeserializeOwned>(name: &str) -> T {
    toml::from_str(&text(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Asserts |found - expected| <= tolerance, and says all three if not.
#[track_caller]
pub fn close(what: &str, found: f64, expected: f64, tolerance: f64) {
    let error = (found - expected).abs();
    assert!(error <= tolerance, "{what}: {found} for {expected}, off by {error:e}, allowed {tolerance:e}");
}
