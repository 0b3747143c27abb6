//! What is not TOML, said so that a person who never heard of TOML can put it right.

use crate::mistake::{MOST, Mistake, in_order};

/// One mistake a line, in the order of the file.
pub(super) fn mistakes(text: &str, errors: &[toml::de::Error]) -> Vec<Mistake> {
    let all: Vec<Mistake> = errors
        .iter()
        .take(MOST)
        .map(|e| {
            let (title, expected) = e.message().split_once(", expected ").unwrap_or((e.message(), ""));
            let mut mistake = Mistake::new(e.span().unwrap_or(0..0), "the line cannot be read").found(title);
            if !expected.is_empty() {
                mistake = mistake.expected(expected);
            }
            mistake
        })
        .collect();
    let mut all = in_order(text, all);
    all.dedup_by_key(|m| m.line);
    let mut lines = text.lines().zip(1..);
    for mistake in &mut all {
        mistake.help = lines.find(|(_, n)| *n == mistake.line).and_then(|(line, _)| hint(line));
    }
    all
}

/// The likeliest slip in a line.
fn hint(line: &str) -> Option<String> {
    let line = line.split('#').next().unwrap_or_default().trim();
    let (key, value) = match line.split_once('=') {
        Some((key, value)) => (key.trim(), value.trim()),
        None if line.starts_with('[') => {
            return Some("a table's name stands in brackets: [sheet]".to_owned());
        }
        None => {
            let (key, value) = line.split_once(':')?;
            return Some(format!("write {} = {}", key.trim(), value.trim()));
        }
    };
    if value.is_empty() {
        return Some(format!("give {key} a value, or delete the line"));
    }
    let comma = value.replacen(',', ".", 1);
    if comma != value && comma.parse::<f64>().is_ok() {
        return Some(format!("write a decimal point: {key} = {comma}"));
    }
    if value.starts_with('0') && value.parse::<f64>().is_ok() {
        return Some(format!("write {key} = {}", value.trim_start_matches('0')));
    }
    let number: String = value.chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-')).collect();
    if number.parse::<f64>().is_ok() {
        return Some(format!(
            "a number stands alone, without a unit or a fraction: {key} = {number} \
             (the unit of all lengths is set once, at the top)"
        ));
    }
    (!value.starts_with(['"', '\'', '[', '{'])).then(|| format!("put text in quotes: {key} = \"{value}\""))
}
